"""A cell or a stack for people: ranges checked, kind by name, every part of the voltage and every heat named."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.domain import floats, require_each
from tradespace.physics.electrolysis.cell import cell_rows
from tradespace.physics.electrolysis.energy import efficiency_hhv
from tradespace.physics.electrolysis.point import fill_points_kernel
from tradespace.physics.electrolysis.rates import hydrogen_rate, oxygen_rate, water_split_rate
from tradespace.physics.electrolysis.record import CELL, cell_record
from tradespace.physics.electrolysis.steam import (
    cold_water_voltage,
    steam_reversible_voltage,
    steam_thermoneutral_voltage,
)
from tradespace.physics.electrolysis.thermoneutral import cold_feed_voltage, vapour_laden_voltage
from tradespace.physics.electrolysis.voltage import (
    _require_liquid,
    standard_reversible_voltage,
    thermoneutral_voltage,
)
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.units import convert

Given = Mapping[str, Any] | None
"""Fields of a cell by name."""

_FLAMMABLE = value("flammable_hydrogen_in_oxygen", "electrolysis_values.csv")

PARTS = ("reversible", "activation", "ohmic", "concentration", "microgravity", "ageing")
"""Parts of the cell voltage, in the order in which :func:`cell_parts_kernel` returns them."""


def _ranged(name: str, numbers: ArrayLike, si: str, unit: str, low: float, high: float) -> FloatArray:
    """Numbers in SI that lie in a range; the message is in the unit people use."""
    given = floats(numbers)
    shown, ends = convert(given, si, unit), [float(convert(end, si, unit)) for end in (low, high)]
    limit = f"lies outside {ends[0]:.6g} to {ends[1]:.6g} {unit}"
    require_each((given >= low) & (given <= high), name, unit, shown, limit)
    return given


def _operating_points(
    kind: str, current_density: ArrayLike, temperature: ArrayLike, pressure: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Operating points that lie in the range of the kind, with the water of a liquid cell kept liquid."""
    limits = cell_rows()[kind]
    dense = _ranged(
        "current density", current_density, "A/m2", "A/cm2", 0.0, limits["highest_current_density"]
    )
    require_each(dense > 0.0, "current density", "A/cm2", dense, "must be above 0 A/cm2")
    coldest, hottest = limits["lowest_temperature"], limits["highest_temperature"]
    warm = _ranged("temperature", temperature, "K", "degC", coldest, hottest)
    total = _ranged("pressure", pressure, "Pa", "bar", 0.0, limits["highest_pressure"])
    require_each(total > 0.0, "pressure", "bar", total, "must be above 0 bar")
    if kind != "solid_oxide":
        _require_liquid(total, broadcast(saturation_pressure_kernel, warm), "bar")
    return dense, warm, total


def _solve(
    kind: str, current_density: ArrayLike, temperature: ArrayLike, pressure: ArrayLike, given: Given
) -> tuple[FloatArray, FloatArray]:
    """Parts of the voltage and outcomes, shape (..., 6) each."""
    record = cell_record(kind, **(given or {}))
    points = np.broadcast_arrays(*_operating_points(kind, current_density, temperature, pressure))
    flat = [np.ascontiguousarray(array, dtype=np.float64).reshape(-1) for array in points]
    parts, outcome = np.empty((flat[0].size, 6)), np.empty((flat[0].size, 6))
    rows = np.array([tuple(record)], dtype=CELL).view(np.recarray)
    fill_points_kernel(rows, flat[0], flat[1], flat[2], parts, outcome)
    shape = (*points[0].shape, 6)
    return parts.reshape(shape), outcome.reshape(shape)


def cell_voltage(
    kind: str, current_density: ArrayLike, temperature: ArrayLike, pressure: ArrayLike, given: Given = None
) -> FloatArray:
    """Voltage of a cell of any kind.

    Parameters
    ----------
    kind : str
        ``alkaline``, ``membrane``, ``solid_oxide`` or ``common_duct``.
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    temperature : array_like, shape (...)
        Cell temperature [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].
    given : mapping of str to float, optional
        Fields of the cell put in place of the table's, in SI, such as ``electrode_gap`` [m].

    Returns
    -------
    ndarray, shape (...)
        Cell voltage [V].

    Raises
    ------
    UnknownNameError
        If no kind or field has that name.
    DomainError
        If the operating point lies outside the range of the kind, the water would boil, or a field its range.

    Notes
    -----
    The alkaline cell is a published fit; lye, gap and diaphragm enter as the change from the lye and gap of the
    fit, whose Faradaic efficiency holds the cross-over and bypass of its plant (ducts that are given add to it). The
    others add activation, ohmic and concentration losses to the reversible voltage.

    References
    ----------
    .. [1] ulleberg_2003 (alkaline), springer_1991 and bernt_2016 (membrane), hauch_2020 (solid oxide),
       milewski_2014 (nickel electrodes on common ducts).

    Examples
    --------
    >>> print(f"{cell_voltage('alkaline', 3000.0, 353.15, 1e5):.4f}")
    1.7424
    """
    return np.asarray(_solve(kind, current_density, temperature, pressure, given)[1][..., 0])


def polarisation_curve(
    kind: str, current_density: ArrayLike, temperature: ArrayLike, pressure: ArrayLike, given: Given = None
) -> dict[str, FloatArray]:
    """Voltage of a cell split into its parts.

    Parameters
    ----------
    kind : str
        ``alkaline``, ``membrane``, ``solid_oxide`` or ``common_duct``.
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    temperature : array_like, shape (...)
        Cell temperature [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].
    given : mapping of str to float, optional
        Fields of the cell put in place of the table's, in SI, such as ``electrode_gap`` [m].

    Returns
    -------
    dict
        Arrays of shape (...): ``reversible``, ``activation``, ``ohmic``, ``concentration``, ``microgravity``,
        ``ageing`` and their sum ``cell_voltage`` [V], ``faradaic_efficiency``, ``hydrogen_in_oxygen`` and
        ``bypass`` [1].

    Raises
    ------
    UnknownNameError
        If no kind or field has that name.
    DomainError
        If the operating point lies outside the range of the kind, the water would boil, or a field its range.

    References
    ----------
    .. [1] ulleberg_2003; springer_1991; hauch_2020; milewski_2014, as for :func:`cell_voltage`.

    Examples
    --------
    >>> print(f"{polarisation_curve('membrane', 1e4, 353.15, 1e5)['ohmic']:.3f}")
    0.121
    """
    parts, outcome = _solve(kind, current_density, temperature, pressure, given)
    found = {name: np.asarray(parts[..., column]) for column, name in enumerate(PARTS)}
    found["cell_voltage"] = np.asarray(outcome[..., 0])
    for name, column in (("faradaic_efficiency", 1), ("hydrogen_in_oxygen", 4), ("bypass", 5)):
        found[name] = np.asarray(outcome[..., column])
    return found


def _thermoneutral(kind: str, record: Any, temperature: float, pressure: float) -> dict[str, float]:
    """Standard reversible voltage and the three thermoneutral voltages, by name."""
    if kind == "solid_oxide":
        found = (
            steam_reversible_voltage(temperature),
            steam_thermoneutral_voltage(temperature),
            cold_water_voltage(temperature, record.heat_recovery),
            cold_water_voltage(temperature, 0.0),
        )
    else:
        caustic = kind != "membrane" and record.electrolyte == 0.0
        lye = float(record.electrolyte_strength) if caustic else 0.0
        found = (
            standard_reversible_voltage(temperature),
            thermoneutral_voltage(temperature),
            cold_feed_voltage(temperature),
            vapour_laden_voltage(temperature, pressure, lye),
        )
    names = ("standard_reversible", "thermoneutral", "thermoneutral_cold_feed", "thermoneutral_vapour_laden")
    return {f"{name}_voltage_v": float(number) for name, number in zip(names, found, strict=True)}


def cell_state(
    kind: str, current_density: float, temperature: float, pressure: float, given: Given = None
) -> dict[str, Any]:
    """One cell at one operating point, as names and numbers.

    Parameters
    ----------
    kind : str
        ``alkaline``, ``membrane``, ``solid_oxide`` or ``common_duct``.
    current_density : float
        Current per electrode area [A m-2].
    temperature : float
        Cell temperature [K].
    pressure : float
        Total pressure on both sides [Pa].
    given : mapping of str to float, optional
        Fields of the cell put in place of the table's, in SI, such as ``electrode_gap`` [m].

    Returns
    -------
    dict
        Voltages and their parts [V], efficiencies and shares [1], water split per electrode area [kg h-1 m-2] and
        heat to reject or to supply per electrode area [W m-2].

    Raises
    ------
    UnknownNameError
        If no kind or field has that name.
    DomainError
        If the operating point lies outside the range of the kind, the water would boil, or a field its range.

    Notes
    -----
    ``thermoneutral``: reaction at the temperature of the cell; ``cold_feed``: water fed at 25 degC;
    ``vapour_laden``: the vapour in the gases included (solid oxide: the heat of its products lost). Heat to reject is
    the power less what the reaction stores: what the vapour carries off comes back where it condenses. Oxygen with
    more hydrogen than the flammable share, a ratio above 1, burns; no design may store it. Cells on common ducts give
    both gases mixed, which burn at any current.

    References
    ----------
    .. [1] ulleberg_2003; springer_1991; hauch_2020; milewski_2014; leroy_1980, thermoneutral voltages.

    Examples
    --------
    >>> print(f"{cell_state('alkaline', 3000.0, 353.15, 1e5)['cell_voltage_v']:.3f}")
    1.742
    """
    parts, outcome = _solve(kind, current_density, temperature, pressure, given)
    volts, eta, rejected, supplied, impurity, past = (float(number) for number in outcome)
    neutral = _thermoneutral(kind, cell_record(kind, **(given or {})), temperature, pressure)
    power = volts * float(current_density)
    efficiency = float(efficiency_hhv(volts, eta))
    return {
        "kind": kind,
        "standard_reversible_voltage_v": neutral.pop("standard_reversible_voltage_v"),
        "reversible_voltage_v": float(parts[0]),
        "thermoneutral_voltage_v": neutral.pop("thermoneutral_voltage_v"),
        "cell_voltage_v": volts,
        "faradaic_efficiency": eta,
        "efficiency_hhv": efficiency,
        "water_kg_per_h_per_m2": float(
            convert(float(water_split_rate(current_density, 1, eta)), "kg/s", "kg/h")
        ),
        **{f"{name}_part_v": float(part) for name, part in zip(PARTS[1:], parts[1:], strict=True)},
        **neutral,
        "efficiency_hhv_with_heat": efficiency / (1.0 + supplied),
        "heat_to_reject_w_per_m2": rejected * power,
        "heat_to_supply_w_per_m2": supplied * power,
        "heat_to_reject_share": rejected,
        "hydrogen_in_oxygen": impurity,
        "hydrogen_in_oxygen_over_flammable": impurity / _FLAMMABLE,
        "bypass_share": past,
    }


def stack_state(
    kind: str, current_density: float, temperature: float, pressure: float, given: Given = None
) -> dict[str, float]:
    """A whole stack at one operating point, as names and numbers.

    Parameters
    ----------
    kind : str
        ``alkaline``, ``membrane``, ``solid_oxide`` or ``common_duct``.
    current_density : float
        Current per electrode area [A m-2].
    temperature : float
        Cell temperature [K].
    pressure : float
        Total pressure on both sides [Pa].
    given : mapping of str to float, optional
        Fields of the cell put in place of the table's, in SI, such as ``cell_area`` [m2].

    Returns
    -------
    dict
        Current and bypass current [A], stack voltage [V], electric power, heat for the radiator to reject and heat to
        supply [W], water, hydrogen and oxygen [kg h-1].

    Raises
    ------
    UnknownNameError
        If no kind or field has that name.
    DomainError
        If the operating point lies outside the range of the kind, the water would boil, or a field its range.

    References
    ----------
    .. [1] ulleberg_2003; springer_1991; hauch_2020; milewski_2014; kaminski_1983, bypass current.

    Examples
    --------
    >>> print(f"{stack_state('alkaline', 3000.0, 353.15, 1e5)['power_w'] / 1000:.1f}")  # kW
    27.4
    """
    record = cell_record(kind, **(given or {}))
    volts, eta, rejected, supplied, _, past = (
        float(number) for number in _solve(kind, current_density, temperature, pressure, given)[1]
    )
    cells, current = float(record.stack_cells), float(current_density) * float(record.cell_area)
    power = cells * volts * current
    masses = {"water": water_split_rate, "hydrogen": hydrogen_rate, "oxygen": oxygen_rate}
    return {
        "cells": cells,
        "current_a": current,
        "bypass_current_a": past * current,
        "stack_voltage_v": cells * volts,
        "power_w": power,
        "heat_to_reject_w": rejected * power,
        "heat_to_supply_w": supplied * power,
        **{
            f"{name}_kg_per_h": float(convert(float(rate(current, cells, eta)), "kg/s", "kg/h"))
            for name, rate in masses.items()
        },
    }
