"""Steam hotter than ``steam_nozzle.csv`` holds, for jets of microwave and arc heating. Needs Cantera.

The same gas and the same assumptions as :mod:`tradespace.data.make.steam`, up to the end of the species data
(6000 K). Charged particles are left out: below 6000 K they carry under a thousandth of the energy.
"""

from __future__ import annotations

import csv
from pathlib import Path

from tradespace.constants import series, value
from tradespace.data.make import combustion
from tradespace.data.make.steam import AXES, KINDS, expansions, steam_energy
from tradespace.tables import DATA

TABLE = "steam_hot.csv"
COLUMNS = {
    "temperature": "K",
    "pressure": "Pa",
    "expansion_ratio": "1",
    "energy": "J/kg",
    "exhaust_velocity_equilibrium": "m/s",
    "exhaust_velocity_frozen": "m/s",
}


def main(folder: Path = DATA) -> None:
    """Write ``steam_hot.csv`` (seconds)."""
    import cantera

    hydroxyl = value("hydroxyl_formation_enthalpy", combustion.INPUTS)
    areas = series("expansion_ratio", AXES)
    with (folder / TABLE).open("w", newline="", encoding="utf-8") as handle:
        handle.write(
            f"# made by: python -m tradespace.data.make.steam_hot (Cantera {cantera.__version__})\n"
            "# ideal gas, chamber in chemical equilibrium, vacuum; no charged particles\n"
            f"# NASA polynomials; OH formation enthalpy {hydroxyl / 1e3:g} kJ/mol\n"
            "# grade computed; sources goodwin_2024, mcbride_2002\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(COLUMNS)
        units = list(COLUMNS.values())
        writer.writerow([f"unit:{units[0]}", *units[1:]])
        for temperature in series("hot_temperature", AXES):
            for pressure in series("pressure", AXES):
                both = [expansions("H2O", temperature, pressure, areas, kind) for kind in KINDS]
                heat = f"{steam_energy(temperature, pressure):.0f}"
                for index, area in enumerate(areas):
                    speeds = [f"{expanded[index].exhaust_velocity_vacuum:.3f}" for expanded in both]
                    writer.writerow([f"{temperature:g}", f"{pressure:.7g}", f"{area:g}", heat, *speeds])


if __name__ == "__main__":
    main()
