"""A cell as one row of numbers: every parameter that the compiled cell model reads."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from tradespace.constants import table_values, value
from tradespace.errors import DomainError, unknown_name
from tradespace.physics.domain import above, at_least, finite, within
from tradespace.physics.electrolysis.cell import cell_rows
from tradespace.physics.electrolysis.electrolyte import electrolyte_code, strength_range
from tradespace.tables import read_table
from tradespace.units import convert

KINDS = ("alkaline", "membrane", "solid_oxide", "common_duct")
"""Kinds of cell; the position is the code in the row."""

ALKALINE, MEMBRANE, SOLID_OXIDE, COMMON_DUCT = (float(code) for code in range(len(KINDS)))

FIT_FIELDS = ("r1 r2 s t1 t2 t3 f1 f2 lowest_temperature highest_temperature highest_pressure").split()
"""From ``electrolysis_cells.csv``."""

FIELDS = (
    "electrolyte electrolyte_strength reference_strength electrode_gap reference_gap gas_void_fraction "
    "diaphragm_length membrane_thickness membrane_water contact_resistance "
    "anode_exchange_current_density anode_transfer anode_activation_energy "
    "cathode_exchange_current_density cathode_transfer cathode_activation_energy reference_temperature "
    "resistance resistance_activation_energy limiting_current_density steam_utilisation heat_recovery "
    "hydrogen_permeability oxygen_permeability permeability_activation_energy "
    "permeability_reference_temperature crossover_thickness supersaturation "
    "microgravity_overvoltage ageing_rate operating_time "
    "stack_cells cell_area duct_count duct_length duct_area manifold_length manifold_area"
).split()
"""From ``electrolysis_values.csv`` under the name of the kind and the field; 0 where the kind has no such part."""

CORRECTIONS = {"ohmic_factor": 1.0, "activation_factor": 1.0, "bypass_conductance": 0.0, "gas_loss": 0.0}
"""What a measured cell differs by from its kind, with what stands for no difference."""

CELL = np.dtype([(name, np.float64) for name in ("kind", *FIT_FIELDS, *FIELDS, *CORRECTIONS)])
"""One row per cell, everything in SI."""

_VALUES = "electrolysis_values.csv"
_SHARES = ("gas_void_fraction", "steam_utilisation", "heat_recovery", "f2", "gas_loss")
_POSITIVE = {
    "alkaline": (),
    "membrane": ("membrane_thickness",),
    "solid_oxide": ("steam_utilisation",),
    "common_duct": ("electrode_gap",),
}


@cache
def _defaults(kind: str) -> tuple[float, ...]:
    """The row of a kind as the tables have it."""
    fit, known = cell_rows()[kind], table_values(_VALUES)
    row = dict.fromkeys(CELL.names or (), 0.0)
    row |= {name: fit[name] for name in FIT_FIELDS}
    row |= {name: value(f"{kind}_{name}", _VALUES) for name in FIELDS if f"{kind}_{name}" in known}
    row |= CORRECTIONS
    row["kind"] = float(KINDS.index(kind))
    row["stack_cells"] = max(row["stack_cells"], 1.0)
    return tuple(row.values())


def cell_record(kind: str, **given: float | str) -> Any:
    """One row that describes a cell, from the tables with what is given put in their place.

    Parameters
    ----------
    kind : str
        ``alkaline``, ``membrane``, ``solid_oxide`` or ``common_duct``.
    given : float
        Any field of the row in SI, such as ``electrode_gap`` [m]; ``electrolyte`` takes a name.

    Returns
    -------
    record
        One row of the type ``CELL`` in SI, for :func:`cell_kernel`; its shares are numbers [1].

    Raises
    ------
    UnknownNameError
        If no kind, field or electrolyte has that name.
    DomainError
        If a value is negative, not finite, or outside the range of its field.

    References
    ----------
    .. [1] ulleberg_2003 (alkaline row; each value names its own source in ``electrolysis_values.csv``).

    Examples
    --------
    >>> print(f"{1e6 * cell_record('membrane', membrane_thickness=50e-6).membrane_thickness:.0f}")
    50
    """
    if kind not in KINDS:
        raise unknown_name("cell kind", kind, KINDS)
    rows = np.zeros(1, dtype=CELL).view(np.recarray)
    rows[0] = _defaults(kind)
    for name, wanted in given.items():
        if name == "kind" or name not in (CELL.names or ()):
            raise unknown_name("cell field", name, [field for field in (CELL.names or ()) if field != "kind"])
        number = electrolyte_code(wanted) if isinstance(wanted, str) and name == "electrolyte" else wanted
        if isinstance(number, str):
            raise DomainError(f"{name.replace('_', ' ')} {number!r} must be a number in SI")
        rows[name] = number
    _check(kind, rows[0], given)
    return rows[0]


@cache
def _units() -> dict[str, tuple[str, str]]:
    """Unit that people use and SI unit of every field."""
    rows = {row["name"]: row for row in read_table(_VALUES).rows}
    found = {"operating_time": ("h", "s"), "microgravity_overvoltage": ("V", "V"), "f2": ("1", "1")}
    found |= {"bypass_conductance": ("S/m2", "S/m2")}
    for field in FIELDS:
        own = [rows[f"{kind}_{field}"] for kind in KINDS if f"{kind}_{field}" in rows]
        if own:
            found[field] = own[0]["unit"], own[0]["si_unit"] or own[0]["unit"]
    return found


def _check(kind: str, row: Any, given: dict[str, float | str]) -> None:
    """Raise unless what was given lies in the range of its field; the message is in the unit people use."""
    for name in given:
        words, (unit, si) = name.replace("_", " "), _units().get(name, ("1", "1"))
        number = float(convert(float(row[name]), si, unit))
        if name in FIT_FIELDS and name not in _SHARES:
            finite(words, unit, number)
        else:
            at_least(words, unit, number, 1.0 if name == "stack_cells" else 0.0)
        if name in _SHARES:
            within(words, unit, number, 0.0, 1.0, open_high=name not in {"heat_recovery", "f2"})
        if name in _POSITIVE[kind]:
            above(words, unit, number)
    if kind in ("alkaline", "common_duct") and {"electrolyte", "electrolyte_strength"} & set(given):
        named = given.get("electrolyte", "potassium_hydroxide")
        if isinstance(named, str):
            low, high = (float(convert(float(end), "1", "%")) for end in strength_range(named))
            strength = float(convert(float(row.electrolyte_strength), "1", "%"))
            within("electrolyte strength", "%", strength, low, high)
