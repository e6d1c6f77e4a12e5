"""Makes ``water_split.csv``: enthalpy and Gibbs energy of splitting liquid water, from the NASA species data.

Run with ``python -m tradespace.data.make.water_split``; needs Cantera (extra ``tables``).

The form ``G = c0 + c1 T + c2 T ln T + c3 T^2 + c4 T^3 + c5 T^4`` carries its own enthalpy, ``G - T dG/dT``,
so the two stay consistent. Standard state: 1 bar. Cantera labels these species files "1 atm", but the
entropies in them are the 1 bar values of the CODATA key table, which :func:`main` checks.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

TARGET = Path(__file__).parents[1] / "water_split.csv"
KEY_ENTROPIES = {
    "H2": 130.680,
    "O2": 205.152,
    "H2O(L)": 69.95,
}  # J/mol/K at 298.15 K and 1 bar: Cox et al. 1989
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
    """Thermodynamic functions of H2, O2 and liquid water."""
    import cantera

    found = {item.name: item.thermo for item in cantera.Species.list_from_file("nasa_gas.yaml")}
    found |= {item.name: item.thermo for item in cantera.Species.list_from_file("nasa_condensed.yaml")}
    return {name: found[name] for name in KEY_ENTROPIES}


def split_functions(temperature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gibbs energy and enthalpy of H2O(l) -> H2 + 1/2 O2 at 1 bar [J/mol]."""
    hydrogen, oxygen, water = species().values()
    enthalpy = np.array([hydrogen.h(t) + 0.5 * oxygen.h(t) - water.h(t) for t in temperature]) / 1000
    entropy = np.array([hydrogen.s(t) + 0.5 * oxygen.s(t) - water.s(t) for t in temperature]) / 1000
    return enthalpy - temperature * entropy, enthalpy


def fit() -> FloatArray:
    """The six coefficients, fitted to both functions at once."""
    low, high = (
        value(f"water_split_{end}_temperature", "physics_values.csv") for end in ("lowest", "highest")
    )
    t = np.linspace(low, high, 301)
    gibbs, enthalpy = split_functions(t)
    one = np.ones_like(t)
    rows = np.concatenate(
        [
            np.stack([one, t, t * np.log(t), t**2, t**3, t**4], axis=1),
            np.stack([one, 0 * t, -t, -(t**2), -2 * t**3, -3 * t**4], axis=1),
        ]
    )
    scale = np.abs(rows).max(axis=0)
    found = np.linalg.lstsq(rows / scale, np.concatenate([gibbs, enthalpy]), rcond=None)[0]
    return np.asarray(found / scale, dtype=np.float64)


def main() -> None:
    """Check the standard state, fit and write."""
    at = value("standard_temperature")
    for name, thermo in species().items():
        if abs(thermo.s(at) / 1000 - KEY_ENTROPIES[name]) > 0.02:
            raise SystemExit(f"{name}: the species data are not on the 1 bar standard state")
    import cantera

    made = f"# made by: python -m tradespace.data.make.water_split (Cantera {cantera.__version__})\n"
    with TARGET.open("w", newline="", encoding="utf-8") as handle:
        handle.write(made)
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(HEADER)
        cells = [f"{number:.12e}" for number in fit()]
        writer.writerow(
            ["gibbs_energy", *cells, "J/mol and K", "", "", "computed", "mcbride_2002",
             "fit to H2, O2 and H2O(L) species data within 0.01 mV",
             "Gibbs energy of splitting liquid water: c0 + c1 T + c2 T ln T + c3 T^2 + c4 T^3 + c5 T^4"]
        )  # fmt: skip


if __name__ == "__main__":
    main()
