"""Integrated burns out of a circular orbit, and the two tables the package ships.

Everything is counted in the circular speed ``v``, the radius ``r`` and ``v**2 / r`` of the orbit at the start. The
energy grows all the time the engine runs, so it is the variable of integration: escape and every later energy
are reached exactly, without a search for the moment. The steps are those of Dormand and Prince's pair of
orders five and four.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numba
import numpy as np
from numpy.typing import NDArray

from tradespace.constants import series
from tradespace.tables import DATA

AXES = "burn_axes.csv"
TOLERANCE = 1e-13
STAGES = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1 / 5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3 / 40, 9 / 40, 0.0, 0.0, 0.0, 0.0],
        [44 / 45, -56 / 15, 32 / 9, 0.0, 0.0, 0.0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0.0, 0.0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0.0],
        [35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
MISS = np.array([71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])


@numba.njit(error_model="numpy")
def _slope(energy, state, acceleration, inverse_exhaust, sideways, out):  # type: ignore[no-untyped-def]
    """Change of radius, flight-path angle and speed spent, per change of twice the energy."""
    radius, climb, spent = state
    speed = math.sqrt(energy + 2.0 / radius)
    pace = math.exp(-inverse_exhaust * spent) / acceleration  # time per speed spent
    gain = 2.0 * speed * (math.cos(climb) if sideways else 1.0)
    out[0] = speed * math.sin(climb) * pace / gain
    turn = (speed / radius - 1.0 / (radius * radius * speed)) * math.cos(climb) * pace
    out[1] = (turn - (math.sin(climb) / speed if sideways else 0.0)) / gain
    out[2] = 1.0 / gain


@numba.njit(error_model="numpy")
def _burn(energies, acceleration, inverse_exhaust, sideways, tolerance, stages, miss):  # type: ignore[no-untyped-def]
    """State at each energy of an ascending list."""
    state, trial = np.array([1.0, 0.0, 0.0]), np.empty(3)
    slopes, found = np.empty((7, 3)), np.empty((energies.size, 3))
    energy, step = -1.0, 1e-3 * min(acceleration, 1.0)
    _slope(energy, state, acceleration, inverse_exhaust, sideways, slopes[0])
    for place in range(energies.size):
        while energy < energies[place]:
            last = energies[place] - energy <= step
            size = energies[place] - energy if last else step
            for stage in range(1, 7):
                for item in range(3):
                    trial[item] = state[item]
                    for other in range(stage):
                        trial[item] += size * stages[stage, other] * slopes[other, item]
                _slope(
                    energy + size * stages[stage].sum(),
                    trial,
                    acceleration,
                    inverse_exhaust,
                    sideways,
                    slopes[stage],
                )
            worst = 0.0
            for item in range(3):
                error = 0.0
                for stage in range(7):
                    error += size * miss[stage] * slopes[stage, item]
                worst = max(worst, abs(error) / (tolerance * (1.0 + abs(trial[item]))))
            if worst <= 1.0:
                energy = energies[place] if last else energy + size
                state[:] = trial
                slopes[0] = slopes[6]
            if worst > 1.0 or not last:
                step = size * min(5.0, max(0.2, 0.9 * max(worst, 1e-10) ** -0.2))
        found[place] = state
    return found


def burn(
    energies: NDArray[np.float64], acceleration: float, inverse_exhaust: float, sideways: bool = False
) -> NDArray[np.float64]:
    """Radius, flight-path angle and speed spent when a burn out of a circular orbit reaches some energies.

    Parameters
    ----------
    energies : ndarray, shape (n,)
        Twice the orbital energies, ascending, in units of the circular speed squared [1].
    acceleration : float
        Acceleration at the start over the local acceleration of gravity [1].
    inverse_exhaust : float
        Circular speed over exhaust velocity; zero for a constant acceleration [1].
    sideways : bool
        Thrust along the local horizontal instead of along the velocity [1].

    Returns
    -------
    ndarray, shape (n, 3)
        Radius, angle and speed spent, in units of the orbit and radians [1].

    Examples
    --------
    >>> print(f"{burn(np.zeros(1), 0.5, 0.0)[0, 2]:.5f}")  # escape at half of local gravity
    0.42045
    """
    return np.asarray(_burn(energies, acceleration, inverse_exhaust, sideways, TOLERANCE, STAGES, MISS))


def _nodes(name: str) -> NDArray[np.float64]:
    return np.array(series(name, AXES))


def _write(path: Path, what: str, columns: list[str], rows: list[list[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as handle:
        handle.write(f"# made by: python -m tradespace.data.make.spirals (numba {numba.__version__})\n")
        handle.write(f"# {what}; grade computed; source tsien_1953 (the problem), integrated here\n")
        handle.write("# units of the circular orbit at the start: its speed, radius and local gravity\n")
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(columns)
        writer.writerow(["unit:1", *["rad" if column.endswith("angle") else "1" for column in columns[1:]]])
        writer.writerows(rows)


def main(folder: Path = DATA) -> None:
    """Write ``escape_spiral.csv`` and ``finite_burn.csv``."""
    rows = []
    for acceleration in 10.0 ** _nodes("spiral_acceleration_decade"):
        along = burn(np.zeros(1), acceleration, 0.0)[0]
        level = burn(np.zeros(1), acceleration, 0.0, sideways=True)[0]
        rows.append(
            [f"{acceleration:.10g}", *(f"{cell:.9g}" for cell in (along[2], along[0], along[1], level[2]))]
        )
    columns = ["acceleration", "spent_along", "radius", "path_angle", "spent_level"]
    _write(
        folder / "escape_spiral.csv",
        "escape at constant acceleration along the velocity or level",
        columns,
        rows,
    )
    rows = []
    energies = _nodes("burn_excess_speed") ** 2
    ideals = np.sqrt(energies + 2.0) - 1.0
    for acceleration in 10.0 ** _nodes("burn_acceleration_decade"):
        for logarithm in _nodes("burn_mass_logarithm"):
            lost = [
                burn(np.array([energy]), acceleration, logarithm / ideal)[0, 2] - ideal
                for energy, ideal in zip(energies, ideals, strict=True)
            ]
            rows.append([f"{acceleration:.10g}", f"{logarithm:g}", *(f"{extra:.7g}" for extra in lost)])
    columns = ["acceleration", "mass_logarithm", *(f"loss_{place}" for place in range(energies.size))]
    what = (
        "constant thrust along the velocity: speed lost at each excess speed of burn_axes.csv;"
        " mass_logarithm is the ideal speed over the exhaust velocity"
    )
    _write(folder / "finite_burn.csv", what, columns, rows)


if __name__ == "__main__":
    main()
