"""Makes ``gas_oxygen.csv`` and ``gas_steam.csv``: compressibility of stored oxygen and of stored steam.

Run with ``python -m tradespace.data.make.gas_properties``; needs CoolProp (extra ``tables``).
Oxygen follows Schmidt and Wagner 1985, fitted up to about 80 MPa; the last nodes extrapolate it.
Steam follows IAPWS-95 (Wagner and Pruss 2002) through a density series whose factors are polynomials in 1/T.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

FOLDER = Path(__file__).parents[1]
OXYGEN_TEMPERATURES = np.linspace(200.0, 400.0, 21)  # K
OXYGEN_PRESSURES = np.geomspace(1e5, 1e8, 37)  # Pa
STEAM_POWERS, STEAM_TERMS = 5, 6
TAIL = ("unit", "low", "high", "grade", "source", "where", "description")


def oxygen_compressibility(temperature: float, pressure: float) -> float:
    """Z of oxygen from the reference equation, solved for density to reach past its melting-line check."""
    from CoolProp.CoolProp import PropsSI
    from scipy.optimize import brentq

    def excess(density: float) -> float:
        return float(PropsSI("P", "T", temperature, "D", density, "Oxygen")) - pressure

    density = brentq(excess, 1e-3, 1400.0, xtol=1e-10)
    specific = value("gas_constant") / value("molar_mass_oxygen")
    return float(pressure / (density * specific * temperature))


def steam_points() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Temperature, density and Z of superheated steam over the fitted range, up to saturation."""
    from CoolProp.CoolProp import PropsSI

    low, high, top = (
        value(name, "physics_values.csv")
        for name in ("steam_lowest_temperature", "steam_highest_temperature", "steam_highest_pressure")
    )
    critical = value("water_critical_temperature", "physics_values.csv")
    rows = []
    for t in np.linspace(low, high, 150):
        cap = top if t >= critical else min(top, 0.99999 * float(PropsSI("P", "T", t, "Q", 1, "Water")))
        key = "T" if t >= critical else "T|gas"
        rows += [(t, float(PropsSI("D", key, t, "P", p, "Water")), p) for p in np.geomspace(2e4, cap, 25)]
    t, density, p = np.array(rows).T
    specific = value("gas_constant") / value("molar_mass_water")
    return t, density, p / (density * specific * t)


def steam_fit() -> FloatArray:
    """Factors of Z - 1 = sum over powers of density of polynomials in 1/T, shape (powers, terms)."""
    t, density, z = steam_points()
    x = density / value("steam_reference_density", "physics_values.csv")
    shift = value("steam_temperature_shift", "physics_values.csv")
    y = value("steam_reference_temperature", "physics_values.csv") / t - shift
    terms = [x**k * y**j for k in range(1, STEAM_POWERS + 1) for j in range(STEAM_TERMS)]
    found = np.linalg.lstsq(np.stack(terms, axis=1) / z[:, None], (z - 1) / z, rcond=None)[0]
    return np.asarray(found, dtype=np.float64).reshape(STEAM_POWERS, STEAM_TERMS)


def _provenance() -> str:
    import CoolProp

    return f"# made by: python -m tradespace.data.make.gas_properties (CoolProp {CoolProp.__version__})\n"


def _write(name: str, count: int, rows: list[list[str]]) -> None:
    with (FOLDER / name).open("w", newline="", encoding="utf-8") as handle:
        handle.write(_provenance())
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["name", *(f"c{i}" for i in range(count)), *TAIL])
        writer.writerows(rows)


def main() -> None:
    """Write both tables."""
    pad = [""] * (len(OXYGEN_PRESSURES) - len(OXYGEN_TEMPERATURES))
    rows = [
        ["temperature", *(f"{t:g}" for t in OXYGEN_TEMPERATURES), *pad,
         "K", "", "", "defined", "schmidt_1985", "grid", "Temperatures of the rows below"],
        ["pressure", *(f"{p:.9g}" for p in OXYGEN_PRESSURES),
         "Pa", "", "", "defined", "schmidt_1985", "grid", "Pressures of the columns"],
    ]  # fmt: skip
    for t in OXYGEN_TEMPERATURES:
        cells = [f"{oxygen_compressibility(float(t), float(p)):.7f}" for p in OXYGEN_PRESSURES]
        where = "reference equation of state; extrapolated above 80 MPa"
        rows.append(
            [
                f"compressibility_{t:g}",
                *cells,
                "1",
                "",
                "",
                "computed",
                "schmidt_1985",
                where,
                f"Z at {t:g} K",
            ]
        )
    _write("gas_oxygen.csv", len(OXYGEN_PRESSURES), rows)
    where = "density series fitted to the reference equation of state within 0.1 %"
    series = [
        [f"density_power_{k}", *(f"{cell:.10e}" for cell in row),
         "1", "", "", "computed", "wagner_2002", where,
         f"Polynomial in inverse temperature at power {k} of density"]
        for k, row in enumerate(steam_fit(), start=1)
    ]  # fmt: skip
    _write("gas_steam.csv", STEAM_TERMS, series)


if __name__ == "__main__":
    main()
