"""Ideal expansion of hot steam, and the table the package ships. Needs Cantera.

Ideal-gas steam of fixed composition. The expansion crosses the vapour dome at these temperatures:
condensation in the nozzle is not modelled, which a performance factor has to cover.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from tradespace.constants import series, value
from tradespace.data.make.combustion import new_gas
from tradespace.tables import DATA

AXES = "steam_axes.csv"


def _state(gas: Any, enthalpy: float, entropy: float, pressure: float) -> tuple[float, float]:
    gas.SP = entropy, pressure
    speed = float(np.sqrt(max(2.0 * (enthalpy - gas.h), 0.0)))
    return speed, float(gas.density) * speed


def steam_specific_impulse(temperature: float, expansion_ratio: float) -> float:
    """Ideal specific impulse of steam in vacuum [s].

    Parameters
    ----------
    temperature : float
        Temperature before the nozzle [K].
    expansion_ratio : float
        Exit area over throat area [1].
    """
    gas = new_gas()
    gas.TPX = temperature, value("standard_pressure"), {"H2O": 1.0}
    enthalpy, entropy, pressure = float(gas.h), float(gas.s), float(gas.P)
    found = minimize_scalar(
        lambda x: -_state(gas, enthalpy, entropy, pressure * np.exp(x))[1],
        bounds=(-1.0, -0.3),
        method="bounded",
        options={"xatol": 1e-7},
    )
    most = -float(found.fun)

    def excess(logarithm: float) -> float:
        flux = _state(gas, enthalpy, entropy, pressure * np.exp(logarithm))[1]
        return float(np.log(most / flux / expansion_ratio))

    lower = float(found.x) - 0.5
    while excess(lower) < 0.0:
        lower -= 0.5
    exit_log = brentq(excess, lower, lower + 0.5, xtol=1e-10)
    speed, flux = _state(gas, enthalpy, entropy, pressure * np.exp(exit_log))
    return float((speed + pressure * np.exp(exit_log) / flux) / value("standard_gravity"))


def steam_energy(temperature: float) -> float:
    """Heat that turns liquid water at 298.15 K into steam as an ideal gas [J/kg]."""
    gas = new_gas()
    gas.TPX = temperature, value("standard_pressure"), {"H2O": 1.0}
    liquid = -value("reaction_enthalpy_water") / value("molar_mass_water")
    return float(gas.h) - liquid


def main(folder: Path = DATA) -> None:
    """Write ``steam_expansion.csv``."""
    import cantera

    area = series("expansion_ratio", AXES)[0]
    with (folder / "steam_expansion.csv").open("w", newline="", encoding="utf-8") as handle:
        handle.write(f"# made by: python -m tradespace.data.make.steam (Cantera {cantera.__version__})\n")
        handle.write(f"# ideal-gas steam, area ratio {area:g}, vacuum; grade computed; source goodwin_2024\n")
        handle.write(
            "# heat counted from liquid water at 298.15 K; real steam needs up to 4 % less at 30 bar\n"
        )
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["temperature", "specific_impulse", "energy"])
        writer.writerow(["unit:K", "s", "J/kg"])
        for temperature in series("temperature", AXES):
            impulse = steam_specific_impulse(temperature, area)
            writer.writerow([f"{temperature:g}", f"{impulse:.3f}", f"{steam_energy(temperature):.0f}"])


if __name__ == "__main__":
    main()
