"""Burned gas that starts with less heat than dry gases at 298.15 K bring: wet feed, heat lost to the walls.

Water vapour in the feed is the same as burned hydrogen and oxygen without their heat, so wet gas burns to the
state of dry gas of the same elements whose enthalpy is lower. One more direction, the share of the heat of
burning that is missing, therefore covers vapour and wall loss alike. Needs Cantera.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from tradespace.constants import series, value
from tradespace.data.make.combustion import (
    AXES,
    INPUTS,
    KINDS,
    Chamber,
    NozzlePerformance,
    _burn,
    _describe,
    _expand,
    _provenance,
    _reactants,
    new_gas,
)
from tradespace.tables import DATA

DIRECTIONS = ("feed_mixture_ratio", "feed_chamber_pressure", "feed_expansion_ratio", "enthalpy_deficit")


def _heat(gas: Any, mixture_ratio: float) -> float:
    """Heat of burning what can burn to water vapour, per mass of gas [J kg-1]."""
    gas.TPX = value("reactant_temperature", INPUTS), value("standard_pressure"), {"H2O": 1.0}
    whole = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
    water = min(mixture_ratio * (1.0 + 1.0 / whole), 1.0 + whole) / (1.0 + mixture_ratio)
    return -water * float(gas.h)


def _wet(
    mixture_ratio: float, pressure: float, feed_humidity: float, heat_loss: float
) -> tuple[Any, Chamber]:
    """Burned gas of wet reactants that lost a share of their heat: the definition, without the short cut."""
    gas = new_gas()
    heat = (1.0 - feed_humidity) * _heat(gas, mixture_ratio)
    dry = (1.0 - feed_humidity) / (1.0 + mixture_ratio)
    gas.TPY = (
        value("reactant_temperature", INPUTS),
        value("standard_pressure"),
        {"H2": dry, "O2": dry * mixture_ratio, "H2O": feed_humidity},
    )
    _burn(gas, gas.h - heat_loss * heat, pressure)
    return gas, _describe(gas)


def wet_chamber(
    mixture_ratio: float, chamber_pressure: float, feed_humidity: float = 0.0, heat_loss: float = 0.0
) -> Chamber:
    """Burned gas of reactants that carry water vapour and lose heat to the walls.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    feed_humidity : float
        Mass of water vapour per mass of feed [1].
    heat_loss : float
        Heat lost per heat of burning what can burn to vapour [1].
    """
    return _wet(mixture_ratio, chamber_pressure, feed_humidity, heat_loss)[1]


def wet_nozzle_performance(
    mixture_ratio: float,
    chamber_pressure: float,
    expansion_ratio: float,
    kind: str = "equilibrium",
    feed_humidity: float = 0.0,
    heat_loss: float = 0.0,
) -> NozzlePerformance:
    """Ideal performance of such a chamber; the kinds are those of ``nozzle_performance``."""
    gas, burned = _wet(mixture_ratio, chamber_pressure, feed_humidity, heat_loss)
    return _expand(gas, burned, kind, (expansion_ratio,))[0]


def main(folder: Path = DATA) -> None:
    """Write ``combustion_feed_chamber.csv`` and ``combustion_feed_nozzle.csv`` (about a minute)."""
    ratios, pressures, areas, deficits = (series(name, AXES) for name in DIRECTIONS)
    chambers: list[list[str]] = []
    nozzles: list[list[str]] = []
    for ratio in ratios:
        for pressure in pressures:
            expanded: dict[float, list[list[NozzlePerformance]]] = {}
            for deficit in deficits:
                gas = new_gas()
                heat = _heat(gas, ratio)
                _reactants(gas, ratio)
                _burn(gas, gas.h - deficit * heat, pressure)
                burned = _describe(gas)
                expanded[deficit] = [_expand(gas, burned, kind, areas) for kind in KINDS]
            dry = [row[0] for row in expanded[0.0]]
            place = [f"{ratio:g}", f"{pressure:g}"]
            for deficit in deficits:
                here = [row[0] for row in expanded[deficit]]
                pairs = [
                    (here[0].chamber_temperature, dry[0].chamber_temperature),
                    (here[0].molar_mass, dry[0].molar_mass),
                    (here[0].isentropic_exponent, dry[0].isentropic_exponent),
                    (here[0].heat_capacity_ratio, dry[0].heat_capacity_ratio),
                    (here[0].characteristic_velocity, dry[0].characteristic_velocity),
                    (here[1].characteristic_velocity, dry[1].characteristic_velocity),
                ]
                chambers.append([*place, f"{deficit:g}", *(f"{a / b:.6f}" for a, b in pairs)])
            for index, area in enumerate(areas):
                for deficit in deficits:
                    shares = (
                        expanded[deficit][kind][index].exhaust_velocity_vacuum
                        / expanded[0.0][kind][index].exhaust_velocity_vacuum
                        for kind in range(len(KINDS))
                    )
                    nozzles.append(
                        [*place, f"{area:g}", f"{deficit:g}", *(f"{share:.6f}" for share in shares)]
                    )
    _write(
        folder / "combustion_feed_chamber.csv",
        ["mixture_ratio", "chamber_pressure", "enthalpy_deficit", "chamber_temperature", "molar_mass",
         "isentropic_exponent", "heat_capacity_ratio", "characteristic_velocity_equilibrium",
         "characteristic_velocity_frozen"],
        ["1", "Pa", *["1"] * 7], chambers,
    )  # fmt: skip
    _write(
        folder / "combustion_feed_nozzle.csv",
        ["mixture_ratio", "chamber_pressure", "expansion_ratio", "enthalpy_deficit",
         *(f"specific_impulse_vacuum_{kind}" for kind in KINDS)],
        ["1", "Pa", *["1"] * 5], nozzles,
    )  # fmt: skip


def _write(path: Path, header: list[str], units: list[str], rows: list[list[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as handle:
        handle.write("\n".join(_provenance("combustion_feed")) + "\n")
        handle.write(
            "# values over those of dry gas that keeps all its heat; deficit: share of the heat missing\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(header)
        writer.writerow([f"unit:{units[0]}", *units[1:]])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
