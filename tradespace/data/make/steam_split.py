"""Makes ``electrolysis_steam.csv``: energies of splitting steam, from the NASA species data.

Run with ``python -m tradespace.data.make.steam_split``; needs Cantera (extra ``tables``). The Gibbs energy has the
form of :mod:`tradespace.data.make.water_split`, so that it carries its own enthalpy; the heat of the products is
a polynomial of its own.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

TARGET = Path(__file__).parents[1] / "electrolysis_steam.csv"
VALUES = "electrolysis_values.csv"
HEADER = (
    "name",
    *(f"c{i}" for i in range(6)),
    "unit",
    "low",
    "high",
    "grade",
    "source",
    "where",
    "description",
)


def species() -> dict[str, Any]:
    """Thermodynamic functions of H2, O2 and steam."""
    import cantera

    found = {item.name: item.thermo for item in cantera.Species.list_from_file("nasa_gas.yaml")}
    return {name: found[name] for name in ("H2", "O2", "H2O")}


def split_functions(temperature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gibbs energy and enthalpy of H2O(g) -> H2 + 1/2 O2 at 1 bar [J/mol]."""
    hydrogen, oxygen, steam = species().values()
    enthalpy = np.array([hydrogen.h(t) + 0.5 * oxygen.h(t) - steam.h(t) for t in temperature]) / 1000
    entropy = np.array([hydrogen.s(t) + 0.5 * oxygen.s(t) - steam.s(t) for t in temperature]) / 1000
    return enthalpy - temperature * entropy, enthalpy


def product_heat(temperature: FloatArray) -> FloatArray:
    """Enthalpy of H2 + 1/2 O2 above 25 degC [J/mol]."""
    hydrogen, oxygen, _ = species().values()
    at = value("standard_temperature")
    zero = hydrogen.h(at) + 0.5 * oxygen.h(at)
    return np.array([hydrogen.h(t) + 0.5 * oxygen.h(t) - zero for t in temperature]) / 1000


def _solve(rows: FloatArray, wanted: FloatArray) -> list[float]:
    scale = np.abs(rows).max(axis=0)
    found = np.linalg.lstsq(rows / scale, wanted, rcond=None)[0] / scale
    return [float(number) for number in found]


def fits() -> tuple[list[float], list[float]]:
    """Coefficients of the Gibbs energy and of the heat of the products."""
    low, high = (value(f"steam_split_{end}_temperature", VALUES) for end in ("lowest", "highest"))
    t = np.linspace(low, high, 301)
    gibbs, enthalpy = split_functions(t)
    one = np.ones_like(t)
    energy = np.stack([one, t, t * np.log(t), t**2, t**3, t**4], axis=1)
    heat = np.stack([one, 0 * t, -t, -(t**2), -2 * t**3, -3 * t**4], axis=1)
    powers = np.stack([t**k for k in range(5)], axis=1)
    first = _solve(np.concatenate([energy, heat]), np.concatenate([gibbs, enthalpy]))
    return first, _solve(powers, product_heat(t))


def main() -> None:
    """Fit and write."""
    import cantera

    gibbs, heat = fits()
    with TARGET.open("w", newline="", encoding="utf-8") as handle:
        handle.write(
            f"# made by: python -m tradespace.data.make.steam_split (Cantera {cantera.__version__})\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(HEADER)
        writer.writerow(
            ["steam_gibbs_energy", *(f"{number:.12e}" for number in gibbs), "J/mol and K", "", "", "computed",
             "mcbride_2002", "fit to H2, O2 and H2O species data within 0.05 mV",
             "Gibbs energy of splitting steam: c0 + c1 T + c2 T ln T + c3 T^2 + c4 T^3 + c5 T^4"]
        )  # fmt: skip
        writer.writerow(
            ["product_heat", *(f"{number:.12e}" for number in heat), "", "J/mol and K", "", "", "computed",
             "mcbride_2002", "fit to H2 and O2 species data within 30 J/mol",
             "Heat of H2 + 1/2 O2 above 25 degC: c0 + c1 T + c2 T^2 + c3 T^3 + c4 T^4"]
        )  # fmt: skip


if __name__ == "__main__":
    main()
