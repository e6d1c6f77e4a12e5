"""From what the readings told to a calibration that a study can read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tradespace.bench.calibration import CalibratedValue, Calibration
from tradespace.bench.records import IMPOSSIBLE, Check, Fit, Readings
from tradespace.errors import CalibrationError
from tradespace.quantities import quantities
from tradespace.tables import read_table

RULES = "bench_rules.csv"
CELL = "electrolysis"


def calibration_of(
    readings: Readings, fit: Fit, checks: Sequence[Check], *, date: str = "", version: str = ""
) -> Calibration:
    """What a fit says of the inputs of a study, with where it comes from.

    Parameters
    ----------
    readings, fit, checks
        Of one bench.
    date, version : str
        Day of writing, and version of the program.

    Raises
    ------
    CalibrationError
        If the readings tell of no input of a study.
    """
    known = quantities()
    places = [place for place, name in enumerate(fit.names) if name in known and known[name].role != "output"]
    if not places:
        raise CalibrationError(
            "the readings tell neither of a cell nor of an engine: a cell needs current, stack_voltage, "
            "cells_in_series and electrode_area, an engine thrust or chamber_pressure with a flow and throat_diameter"
        )
    values = {fit.names[place]: _value(fit, place) for place in places}
    sections = {known[name].section for name in values}
    about = {"cell"} if sections == {CELL} else {"cell", "engine"} if CELL in sections else {"engine"}
    return Calibration(
        title=readings.title or (readings.path.stem if readings.path else "bench"),
        values=values,
        covariance=fit.covariance[np.ix_(places, places)],
        cell_kind=readings.words.get("cell_kind", "") if CELL in sections else "",
        readings=readings.path.name if readings.path else "",
        readings_hash=readings.hash,
        points=readings.points,
        date=date,
        version=version,
        invented=readings.invented,
        derived={
            name: (fit.value(name), fit.deviation(name))
            for place, name in enumerate(fit.names)
            if place not in places and np.isfinite(fit.values[place])
        },
        checks=tuple((check.name, check.verdict, check.words) for check in checks),
        rules=tuple(row["rule"] for row in read_table(RULES).rows if row["about"] in about),
    )


def _value(fit: Fit, place: int) -> CalibratedValue:
    """One parameter inside the bounds of its quantity."""
    name = fit.names[place]
    item = quantities()[name]
    low = -np.inf if item.low is None else item.low
    high = np.inf if item.high is None else item.high
    value, least, most = (
        float(np.clip(number[place], low, high)) for number in (fit.values, fit.low, fit.high)
    )
    return CalibratedValue(
        name, value, min(least, value), max(most, value), fit.deviation(name), fit.informed[place]
    )


def impossible(checks: Sequence[Check]) -> list[Check]:
    """What cannot be true if all readings are."""
    return [check for check in checks if check.verdict == IMPOSSIBLE]
