"""The models that answered a run, with what their docstrings say of them: equation, scope and sources."""

from __future__ import annotations

import functools
import importlib
import inspect
import json
import os
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tradespace.physics
from tradespace.tables import read_table

PHYSICS = "tradespace.physics."
KERNEL = "_kernel"
ENGINE_ROOMS = ("tradespace.spacecraft.", "tradespace.campaign.")
PATIENCE = 300.0
"""Longest time a run is followed; a machine that needs more has other work to do [s]."""
LINKS = {
    "sunlight": "Sunlight and power",
    "extraction": "Winning water",
    "water": "Water and ice",
    "electrolysis": "Splitting water",
    "storage": "Storage",
    "combustion": "Combustion",
    "combustion_table": "Combustion",
    "detonation": "Detonation",
    "electrothermal": "Electrothermal thrusters",
    "electric": "Electric thrusters",
    "nozzle": "Nozzles",
    "divergence": "Nozzles",
    "thermal": "Heat and cold",
    "rocket": "Rocket equation and margins",
    "transfer": "Transfers and landings",
    "lambert": "Transfers and landings",
    "kepler": "Orbits",
    "cheapest": "Orbits",
}
"""Headings under which the links stand, in this order."""


PLUMBING = {
    "compiled",
    "domain",
    "interpolation",
    "combustion_table",
    "electrolysis.record",
    "detonation.table",
}
"""Modules of the physics that hold no formula."""
STANDS_FOR = {
    "electrolysis.point.cell_kernel": "electrolysis.state.cell_voltage",
    "electrolysis.point.fitted_activation_kernel": "electrolysis.cell.ulleberg_2003",
    "electrolysis.cell.faradaic_share_kernel": "electrolysis.cell.faradaic_efficiency",
    "electrolysis.membrane.crossover_kernel": "electrolysis.membrane.hydrogen_crossover",
    "electrolysis.kinetics.activation_kernel": "electrolysis.kinetics.activation_overvoltage",
    "sunlight.ageing.faded_kernel": "sunlight.ageing.life_degradation",
    "sunlight.array.new_power_density_kernel": "sunlight.array.array_power_density",
    "sunlight.array.working_efficiency_kernel": "sunlight.array.cell_efficiency",
    "electrothermal.tables.steam_exhaust_velocity_kernel": "electrothermal.heated.steam_exhaust_velocity",
    "electrothermal.tables.steam_energy_kernel": "electrothermal.heated.steam_energy",
    "transfer.landing.vertical_landing_kernel": "transfer.landing.landing_loss",
}
"""Kernels that the engine calls and that are told by a function of another name."""


@dataclass(frozen=True)
class Model:
    """A formula of the physics that was used, as its docstring tells it."""

    path: str
    """Where it is: module and name below ``tradespace.physics``."""
    link: str
    """Heading under which it stands."""
    title: str
    """What it gives, one sentence."""
    equations: tuple[str, ...]
    """In the notation of the docstring."""
    takes: tuple[str, ...]
    """What goes in, each in words with its unit in brackets."""
    notes: str
    """What it holds for and what it leaves out; may be empty."""
    references: tuple[str, ...]
    """Lines of the References section."""
    keys: tuple[str, ...]
    """Keys of the bibliography named there and in the notes."""


@dataclass(frozen=True)
class Account:
    """What answered a run."""

    models: tuple[Model, ...]
    """By link, then in the order in which they were first called."""
    steps: tuple[tuple[str, str], ...]
    """Functions that join the links into a craft and a campaign: name and first sentence, in order."""
    rows: tuple[tuple[str, str], ...]
    """Rows of value tables that were read: table and name."""
    remark: str = ""
    """Why the account is empty; nothing when it is not."""


def account_of(folder: Path | str) -> Account:
    """Follow the reference designs of a finished run through the models, in a process with compilation off.

    Parameters
    ----------
    folder : path
        A finished run.

    Returns
    -------
    Account
        Empty, with a remark, when the process could not be followed to its end.
    """
    paths = os.pathsep.join(path for path in sys.path if path)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "tradespace.findings.tracing", str(Path(folder).resolve())],
            check=True, capture_output=True, text=True, timeout=PATIENCE,
            env={**os.environ, "PYTHONPATH": paths, "NUMBA_DISABLE_JIT": "1", "PYTHONWARNINGS": "ignore"},
        )  # fmt: skip
        found = json.loads(done.stdout)
    except (OSError, subprocess.SubprocessError, ValueError) as error:
        words = str(getattr(error, "stderr", "") or error).strip().splitlines()
        return Account((), (), (), f"the models could not be followed: {words[-1] if words else 'no answer'}")
    called = [(str(module), str(name)) for module, name in found["functions"]]
    rows = tuple((str(table), str(name)) for table, name in found["rows"])
    return Account(tuple(models_of(called)), tuple(steps_of(called)), rows)


def models_of(called: list[tuple[str, str]]) -> list[Model]:
    """Public formulas behind the functions that were called, by link."""
    found: dict[str, Model] = {}
    for module, name in called:
        if not module.startswith(PHYSICS) or "." in name or name == "known_kind":
            continue
        for function in faces(module, name):
            path = f"{function.__module__.removeprefix(PHYSICS)}.{function.__name__}"
            if path not in found:
                found[path] = model(path, function)
    places = {heading: place for place, heading in enumerate(dict.fromkeys(LINKS.values()))}
    return sorted(found.values(), key=lambda one: places.get(one.link, len(places)))


def faces(module: str, name: str) -> list[Callable[..., Any]]:
    """The documented functions that stand for a function: itself, the one a kernel is the inside of, or none.

    A kernel shared by several public functions and named after none of them is told by those of its own module
    that call it, if they are not more than two.
    """
    found = documented()
    short = f"{module.removeprefix(PHYSICS)}.{name}"
    told = STANDS_FOR.get(short, short.removesuffix(KERNEL))
    own = found.get((PHYSICS + told.rpartition(".")[0], told.rpartition(".")[2]))
    if own is not None:
        return [own]
    if not name.endswith(KERNEL):
        return []
    callers = [
        function
        for (where, _), function in found.items()
        if where == module and name in inspect.unwrap(function).__code__.co_names
    ]
    return callers if len(callers) <= 2 else []


@functools.cache
def documented() -> dict[tuple[str, str], Callable[..., Any]]:
    """Public functions of the physics with sources of their own, by module and name."""
    found: dict[tuple[str, str], Callable[..., Any]] = {}
    for entry in pkgutil.walk_packages(tradespace.physics.__path__, PHYSICS):
        module = importlib.import_module(entry.name)
        for name, thing in vars(module).items():
            if entry.name.removeprefix(PHYSICS) in PLUMBING:
                break
            mine = inspect.isfunction(thing) and thing.__module__ == entry.name
            if mine and not name.startswith("_") and "References" in sections(inspect.getdoc(thing) or ""):
                found[(entry.name, name)] = thing
    return found


def sections(text: str) -> dict[str, str]:
    """Underlined sections of a docstring by title; what stands before the first is under the empty title."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", text, flags=re.MULTILINE)
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def model(path: str, function: Callable[..., Any]) -> Model:
    """What the docstring of a function says."""
    parts = sections(inspect.getdoc(function) or "")
    words = parts[""].strip()
    title = " ".join(words.split("\n\n")[0].split())
    references = tuple(reference_lines(parts.get("References", "")))
    return Model(
        path,
        LINKS.get(path.split(".", maxsplit=1)[0], "Other models"),
        title,
        tuple(equations(words)),
        tuple(described(parts.get("Parameters", ""))),
        " ".join(parts.get("Notes", "").split()),
        references,
        tuple(keys_in(" ".join((*references, parts.get("Notes", ""))))),
    )


def equations(words: str) -> Iterator[str]:
    """The displayed equations of the head of a docstring."""
    for found in re.finditer(
        r"^\.\. math::(.*(?:\n(?:[ \t]+\S.*|[ \t]*(?=\n[ \t]+\S)))*)", words, re.MULTILINE
    ):
        yield " ".join(found.group(1).split())


def described(text: str) -> Iterator[str]:
    """What a Parameters section says of each argument."""
    for part in re.split(r"^\S.*\n", text, flags=re.MULTILINE)[1:]:
        yield " ".join(part.split())


def reference_lines(text: str) -> Iterator[str]:
    """Entries of a References section without their numbers, each on one line."""
    for part in re.split(r"^\.\. \[\d+\] ", text, flags=re.MULTILINE)[1:]:
        yield " ".join(part.split())


def keys_in(text: str) -> list[str]:
    """Keys of the bibliography that a text names, each once, in order."""
    known = known_keys()
    return list(dict.fromkeys(word for word in re.findall(r"[A-Za-z0-9_]+", text) if word in known))


@functools.cache
def known_keys() -> frozenset[str]:
    """Keys of the bibliography."""
    return frozenset(row["key"] for row in read_table("sources.csv").rows)


def steps_of(called: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Functions of the rooms that size a craft and fly it, with their first sentence."""
    for module, name in called:
        if not f"{module}.".startswith(ENGINE_ROOMS) or "." in name or name.startswith("_"):
            continue
        thing = getattr(importlib.import_module(module), name, None)
        words = inspect.getdoc(inspect.unwrap(thing)) if callable(thing) else None
        if words:
            yield f"{module.removeprefix('tradespace.')}.{name}", " ".join(words.split("\n\n")[0].split())
