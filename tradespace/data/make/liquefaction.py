"""Makes ``gas_liquefaction.csv``: least work and heat to turn hydrogen and oxygen at one atmosphere into liquid.

Run with ``python -m tradespace.data.make.liquefaction``; needs CoolProp (extra ``tables``).
Normal hydrogen follows Leachman and others 2009, oxygen Schmidt and Wagner 1985. The work is the exergy of the
liquid against gas at the temperature at which heat is rejected.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from tradespace.constants import value

FOLDER = Path(__file__).parents[1]
TEMPERATURES = np.linspace(150.0, 400.0, 26)  # K, of the gas at first and of heat rejection
SOURCES = {"Hydrogen": "leachman_2009", "Oxygen": "schmidt_1985"}
TAIL = ("unit", "low", "high", "grade", "source", "where", "description")


def liquefaction(fluid: str, temperature: float) -> tuple[float, float]:
    """Least work and heat removed per mass [J kg-1], spin states of hydrogen left as they are."""
    from CoolProp.CoolProp import PropsSI

    pressure = value("standard_atmosphere")
    gas = [PropsSI(name, "T", temperature, "P", pressure, fluid) for name in ("H", "S")]
    liquid = [PropsSI(name, "P", pressure, "Q", 0, fluid) for name in ("H", "S")]
    heat = float(gas[0] - liquid[0])
    return float(temperature * (gas[1] - liquid[1])) - heat, heat


def main() -> None:
    """Write the table."""
    import CoolProp

    grid = "Temperature of the gas and of heat rejection"
    rows = [["temperature", *(f"{t:g}" for t in TEMPERATURES),
             "K", "", "", "defined", "leachman_2009", "grid", grid]]  # fmt: skip
    for fluid, source in SOURCES.items():
        found = np.array([liquefaction(fluid, float(t)) for t in TEMPERATURES])
        for column, word in enumerate(("work", "heat")):
            cells = [f"{cell:.1f}" for cell in found[:, column]]
            where = "reference equation of state evaluated with CoolProp"
            text = f"{word.capitalize()} to liquefy {fluid.lower()} at one atmosphere"
            rows.append([f"{fluid.lower()}_{word}", *cells, "J/kg", "", "", "computed", source, where, text])
    with (FOLDER / "gas_liquefaction.csv").open("w", newline="", encoding="utf-8") as handle:
        handle.write(
            f"# made by: python -m tradespace.data.make.liquefaction (CoolProp {CoolProp.__version__})\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["name", *(f"c{i}" for i in range(len(TEMPERATURES))), *TAIL])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
