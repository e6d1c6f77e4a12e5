"""Laminar flame speeds of hydrogen in oxygen or air, and the table the package ships.

Needs Cantera; its hydrogen and oxygen mechanism ``h2o2.yaml``, mixture-averaged transport, freely propagating
flat flame at 298.15 K. Air is oxygen with 3.76 parts of nitrogen.
"""

from __future__ import annotations

import csv
from pathlib import Path

from tradespace.constants import series, value
from tradespace.data.make.combustion import AXES, INPUTS
from tradespace.tables import DATA


def laminar_flame_speed(hydrogen_fraction: float, pressure: float, oxidiser: str = "oxygen") -> float:
    """Speed of a flat flame into gas at rest [m s-1].

    Parameters
    ----------
    hydrogen_fraction : float
        Hydrogen in the mixture by volume [1].
    pressure : float
        Pressure [Pa].
    oxidiser : str
        ``"oxygen"`` or ``"air"``.
    """
    import cantera

    nitrogen = value("nitrogen_to_oxygen", INPUTS) if oxidiser == "air" else 0.0
    rest = (1.0 - hydrogen_fraction) / (1.0 + nitrogen)
    gas = cantera.Solution("h2o2.yaml")
    gas.TPX = (
        value("reactant_temperature", INPUTS),
        pressure,
        {"H2": hydrogen_fraction, "O2": rest, "N2": rest * nitrogen},
    )
    flame = cantera.FreeFlame(
        gas, width=value("flame_domain", INPUTS) * value("standard_atmosphere") / pressure
    )
    flame.set_refine_criteria(ratio=3.0, slope=0.05, curve=0.08)
    flame.transport_model = "mixture-averaged"
    flame.solve(loglevel=0, auto=True)
    return float(flame.velocity[0])


def main(folder: Path = DATA) -> None:
    """Write ``combustion_flame.csv`` (some minutes)."""
    import cantera

    with (folder / "combustion_flame.csv").open("w", newline="", encoding="utf-8") as handle:
        handle.write(
            f"# made by: python -m tradespace.data.make.flame (Cantera {cantera.__version__})\n"
            "# h2o2.yaml, mixture-averaged transport, 298.15 K; source goodwin_2024; grade computed\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["hydrogen_fraction", "pressure", "flame_speed"])
        writer.writerow(["unit:1", "Pa", "m/s"])
        for fraction in series("flame_hydrogen_fraction", AXES):
            for pressure in series("flame_pressure", AXES):
                speed = laminar_flame_speed(fraction, pressure)
                writer.writerow([f"{fraction:.7g}", f"{pressure:.7g}", f"{speed:.3f}"])
                handle.flush()


if __name__ == "__main__":
    main()
