"""The switches of a study: effects that naive estimates leave out, each on unless the study writes false."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from tradespace.quantities import display, quantity
from tradespace.study.document import Document, shown
from tradespace.study.values import hint
from tradespace.tables import read_table
from tradespace.units import convert

TABLE = "effects.csv"


@cache
def naive_values() -> Mapping[str, Mapping[str, float]]:
    """What each effect makes of its inputs when it is left out [SI], by effect in their stated order.

    Examples
    --------
    >>> naive_values()["keep_alive"]["keep_alive_power"]
    0.0
    """
    found: dict[str, dict[str, float]] = {}
    for row in read_table(TABLE).rows:
        unit = quantity(row["quantity"]).unit
        found.setdefault(row["effect"], {})[row["quantity"]] = float(
            convert(float(row["value"]), row["unit"], unit)
        )
    return found


def check_left_out(document: Document, effects: Mapping[str, bool], swept: set[str]) -> None:
    """Refuse to vary what an effect that is left out holds at its naive value."""
    naive = naive_values()
    solved = document.table("solve").get("solve")
    held = {name: effect for effect, reckoned in effects.items() if not reckoned for name in naive[effect]}
    varied = [(("sweep", name), name) for name in held if name in swept]
    varied += [(("solve", "solve"), name) for name in held if name == solved]
    for path, name in varied:
        at = display(name, naive[held[name]][name])
        document.problem(
            path, f"{name} contradicts effects.{held[name]} = false, which holds it at {at}; drop one of them"
        )


def read_effects(document: Document) -> dict[str, bool]:
    """Every effect, and whether the study reckons with it."""
    effects = dict.fromkeys(naive_values(), True)
    for name, wanted in document.table("effects").items():
        if name not in effects:
            document.problem(
                ("effects", name),
                f"unknown effect{hint(name, effects) or '; allowed: ' + ', '.join(effects)}",
            )
        elif not isinstance(wanted, bool):
            document.problem(("effects", name), f"{shown(wanted)} must be true or false")
        else:
            effects[name] = wanted
    return effects
