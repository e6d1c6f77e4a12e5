"""The architectures a study makes itself: a thruster with storage, excess, landing engine and values of its own."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.constants import Value, value
from tradespace.errors import TradespaceError, UnitError
from tradespace.study.document import Document, Path_, shown
from tradespace.study.engines import sections
from tradespace.study.values import hint
from tradespace.units import parse_quantity

if TYPE_CHECKING:
    from tradespace.thrusters.architecture import Architecture
    from tradespace.thrusters.contract import Conditions, Thruster

WORDS = ("name", "title", "thruster", "storage", "excess", "landing_engine")
KEYS = (*WORDS, "mixture_ratio", "values")
NEEDED = ("name", "thruster")
BELOW_ONE = ("efficiency", "_share", "waste_heat_fraction", "emissivity", "recombination")
"""Ends of the names of rows that are shares."""
ABOVE_ZERO = (
    "specific_impulse", "efficiency", "temperature", "life", "_each", "_thrust", "density", "pressure",
    "expansion_ratio",
)  # fmt: skip
"""Ends of the names of rows that cannot be zero."""
READINESS = (1.0, 9.0)
"""Lowest and highest technology readiness level."""
ROUNDING = 1e-6


def made_architectures(
    document: Document, engines: Mapping[str, Thruster], taken: set[str]
) -> dict[str, Architecture]:
    """All architectures that a study makes, by name in order."""
    made: dict[str, Architecture] = {}
    for number, raw in enumerate(sections(document, "architecture")):
        one = made_architecture(document, ("architecture", number), raw, engines, {*taken, *made})
        if one is not None:
            made[one.name] = one
    return made


def made_architecture(
    document: Document, base: Path_, raw: object, engines: Mapping[str, Thruster], taken: set[str]
) -> Architecture | None:
    """One architecture; None with a problem noted when it cannot be read."""
    from tradespace.thrusters.architecture import Architecture

    before = len(document.problems)
    if not isinstance(raw, dict):
        document.problem(base, "must be a section, written [[architecture]]")
        return None
    for key in raw:
        if key not in KEYS:
            document.problem((*base, key), f"unknown key{hint(key, KEYS) or '; allowed: ' + ', '.join(KEYS)}")
    for key in NEEDED:
        if key not in raw:
            document.problem((*base, key), "is missing")
    words: dict[str, Any] = {key: document.words((*base, key), raw[key]) for key in WORDS if key in raw}
    _check_names(document, base, words, engines, taken)
    ratio = _ratio(document, (*base, "mixture_ratio"), raw.get("mixture_ratio"))
    own = _own_values(document, (*base, "values"), raw.get("values", {}), words.get("thruster", ""))
    if len(document.problems) > before:
        return None
    thruster = engines[words.pop("thruster")]
    if ratio is not None and "mixture_ratio" in own:
        document.problem(
            (*base, "values", "mixture_ratio"), "is given twice, as mixture_ratio too; keep one of them"
        )
        return None
    try:
        made = Architecture(words.pop("name"), thruster, mixture_ratio=ratio, own=own, **words)
        require_energy(made)
    except TradespaceError as error:
        document.problem((*base, "values") if "values" in str(error)[:6] else base, str(error))
        return None
    return made


def check_kept_as_gas(document: Document, options: Mapping[str, str]) -> None:
    """Refuse an architecture that asks for compressed gas in a study whose gas tanks hold liquids."""
    raw = document.tree.get("architecture", [])
    if options.get("gas_storage") != "liquefied" or not isinstance(raw, list):
        return
    for number, one in enumerate(raw):
        if isinstance(one, dict) and one.get("storage") == "gas":
            document.problem(
                ("architecture", number, "storage"),
                'storage "gas" contradicts gas_storage "liquefied"; set storage to "liquid"',
            )


def require_energy(architecture: Architecture) -> None:
    """Refuse values that make a jet carry more than live power, and burning where there is some, can give.

    Raises
    ------
    DomainError
        With the energy of the jet and what there is for it.
    """
    from tradespace.errors import DomainError
    from tradespace.thrusters.values import number

    if not (architecture.own and architecture.refuels):
        return
    engine = architecture.engine(_usual_conditions(architecture.mixture_ratio))
    speed, given = float(engine.exhaust_velocity), float(engine.power_per_thrust)
    burning = (
        number("shared", "chemical_exhaust_velocity_bound") if architecture.thruster.feed == "gases" else 0.0
    )
    offered = given + burning * burning / (2.0 * speed)
    if speed / 2.0 > offered * (1.0 + ROUNDING):
        impulse = speed / value("standard_gravity")
        raise DomainError(
            f"values make a jet of {impulse:.4g} s, which carries {speed / 2.0:.4g} W/N, from {offered:.4g} W/N; "
            f"lower its specific impulse or its efficiency"
        )


def _usual_conditions(mixture_ratio: float | None) -> Conditions:
    """The defaults of all inputs, with the Sun at 1 au on the usual array."""
    from tradespace.quantities import quantities
    from tradespace.thrusters.contract import Conditions

    known = quantities()
    numbers = {
        name: known[name].default if name in known and known[name].default is not None else 0.0
        for name, field in Conditions.__dataclass_fields__.items()
        if field.default_factory is dataclasses.MISSING  # what only a bench tells stays unset
    }
    usual = {name: float(known[name].default or 0.0) for name in ("array_area", "array_efficiency")}
    numbers["solar_flux"] = value("solar_constant")
    numbers["live_power"] = usual["array_area"] * usual["array_efficiency"] * value("solar_constant")
    numbers["split_energy"] = value("reaction_enthalpy_water") / value("molar_mass_water")
    if mixture_ratio is not None:
        numbers["mixture_ratio"] = mixture_ratio
    return Conditions(**{name: np.asarray(number, dtype=np.float64) for name, number in numbers.items()})


def _check_names(
    document: Document,
    base: Path_,
    words: Mapping[str, str],
    engines: Mapping[str, Thruster],
    taken: set[str],
) -> None:
    name, thruster = words.get("name", ""), words.get("thruster", "")
    if name and not name.replace("_", "").isalnum():
        document.problem((*base, "name"), f"{shown(name)} may hold letters, digits and underscores only")
    elif name in taken:
        document.problem((*base, "name"), f"{shown(name)} is the name of another one; choose a new one")
    if thruster and thruster not in engines:
        told = hint(thruster, engines, "tradespace list thrusters")
        document.problem((*base, "thruster"), f"unknown thruster {shown(thruster)}{told}")


def _ratio(document: Document, path: Path_, raw: object) -> float | None:
    """A mixture ratio of its own, within the bounds of the quantity."""
    from tradespace.quantities import quantity

    if raw is None:
        return None
    bounds = quantity("mixture_ratio")
    try:
        ratio = parse_quantity(raw, bounds.unit)
    except UnitError as error:
        document.problem(path, str(error))
        return None
    if bounds.low is not None and bounds.high is not None and not bounds.low <= ratio <= bounds.high:
        document.problem(path, f"{shown(raw)} must lie between {bounds.low:g} and {bounds.high:g}")
    return ratio


def _own_values(document: Document, path: Path_, raw: object, thruster: str) -> dict[str, float]:
    """Rows of the thruster's table that the study gives [SI]."""
    from tradespace.thrusters.values import architecture_values

    if not isinstance(raw, dict):
        document.problem(path, f"{shown(raw)} must be a table of values of the thruster, in braces")
        return {}
    rows = architecture_values(thruster)
    found: dict[str, float] = {}
    for key, given in raw.items():
        if not rows:
            document.problem(
                (*path, key), f"{thruster} has no table of values; set it in its [[thruster]] section"
            )
            continue
        if key not in rows:
            document.problem((*path, key), f"unknown value of {thruster}{hint(key, rows)}")
            continue
        amount = _amount(document, (*path, key), given, rows[key].unit)
        if amount is not None and _sensible(document, (*path, key), key, given, amount, rows[key]):
            found[key] = amount
    return found


def _sensible(document: Document, path: Path_, key: str, raw: object, amount: float, row: Value) -> bool:
    """Whether a value can be one of that row at all; a problem is noted when not."""
    from tradespace.quantities import quantity

    low, high = (0.0 if row.low >= 0.0 else -math.inf), math.inf
    if key.endswith(BELOW_ONE):
        high = 1.0
    if key == "readiness":
        low, high = READINESS
    if key == "mixture_ratio":
        bounds = quantity(key)
        low, high = bounds.low or 0.0, bounds.high or math.inf
    if not low <= amount <= high:
        limit = f"lie between {low:g} and {high:g}" if high < math.inf else "not be below zero"
        document.problem(path, f"{shown(raw)} must {limit}")
    elif amount == 0.0 and key.endswith(ABOVE_ZERO):
        document.problem(path, f"{shown(raw)} must be above zero")
    else:
        return True
    return False


def _amount(document: Document, path: Path_, raw: Any, unit: str) -> float | None:
    try:
        return float(parse_quantity(raw, unit))
    except UnitError as error:
        document.problem(path, str(error))
        return None
