"""Thruster architectures: one file each, found by themselves, all with the same contract.

To add one, write a module in this folder with a class that satisfies ``contract.Thruster`` and is decorated
with :func:`register`, and its rows in ``data/thrusters/<name>.csv``.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache
from typing import TypeVar

from tradespace.errors import TradespaceError, unknown_name
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Performance, Store, Thruster

__all__ = [
    "Conditions", "Engine", "Keeping", "Performance", "Store", "Thruster", "register", "registry", "thruster",
]  # fmt: skip

Architecture = TypeVar("Architecture", bound=type)
_REGISTERED: dict[str, Thruster] = {}


def register(architecture: Architecture) -> Architecture:
    """Enter a thruster class in the registry under its ``name``.

    Raises
    ------
    TradespaceError
        If another class holds that name.
    """
    found = architecture()
    held = _REGISTERED.get(found.name)
    if held is not None and type(held).__qualname__ != architecture.__qualname__:
        raise TradespaceError(f"two thrusters are called {found.name!r}; rename one of them")
    _REGISTERED[found.name] = found
    return architecture


@cache
def _discover() -> None:
    for module in pkgutil.iter_modules(__path__):
        importlib.import_module(f"{__name__}.{module.name}")


def registry() -> dict[str, Thruster]:
    """All registered architectures by name: those that refuel first, each group in alphabetical order.

    Examples
    --------
    >>> "electrolysis_bipropellant" in registry()
    True
    """
    _discover()
    return dict(sorted(_REGISTERED.items(), key=lambda item: (not item[1].refuels, item[0])))


def thruster(name: str) -> Thruster:
    """One registered architecture.

    Raises
    ------
    UnknownNameError
        If none has that name.

    Examples
    --------
    >>> thruster("xenon_hall").refuels
    False
    """
    known = registry()
    if name not in known:
        raise unknown_name("thruster", name, known, "tradespace list thrusters")
    return known[name]
