"""Invented tables of how sure an invented study is, for tests of figures and report."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.results import LINKS, Certainty
from tradespace.uncertainty.chances import CHANCE, LIMITS, PERCENTILES, SHARES, metrics_of
from tradespace.uncertainty.drivers import COLUMNS as DRIVERS
from tradespace.uncertainty.intervals import chance_interval
from tradespace.uncertainty.planes import COLUMNS as PLANE
from tradespace.uncertainty.robust import COLUMNS as OPTIMA
from tradespace.uncertainty.solving import CURVE, SOLUTIONS

if TYPE_CHECKING:
    from tradespace.results import Results

DRAWS, ASKED = 256, 0.8
CLOSING = (213, 40, 170)
"""Closing draws of the first architectures."""


def invented_certainty(results: Results) -> Certainty:
    """Three architectures: one likely, one unlikely, one in between that is preferred on a part of the map."""
    study, names = results.study, results.architectures[: len(CLOSING)]
    calendars = ("free", "frozen") if study.kind == "tour" else ("free",)
    both = [(name, calendar) for name in names for calendar in calendars]
    tables = [_chance(names, calendars), _percentiles(study, both), _limits(both), _drivers(names)]
    tables += [_optima(study, names), _solutions(names), _curve(names), _plane(study, names)]
    return Certainty(ASKED, DRAWS, 12345, *tables)


def _chance(names: list[str], calendars: tuple[str, ...]) -> pd.DataFrame:
    rows = []
    for name, count in zip(names, CLOSING, strict=True):
        for calendar in calendars:
            closing = count if calendar == "free" else count - 30
            low, high = chance_interval(closing, DRAWS)
            rows.append(
                (name, calendar, "its best closing design of the sweep", DRAWS, closing, closing / DRAWS, float(low),
                 float(high), True, 0.05, 3.0e8)
            )  # fmt: skip
    return pd.DataFrame(rows, columns=CHANCE)


def _percentiles(study: object, both: list[tuple[str, str]]) -> pd.DataFrame:
    rows = [
        (*key, among, metric, share, 1e8 * (1.0 + share + 0.1 * place))
        for place, key in enumerate(both)
        for among in ("all", "closing")
        for metric in metrics_of(study)  # type: ignore[arg-type]
        for share in SHARES
    ]
    return pd.DataFrame(rows, columns=PERCENTILES)


def _limits(both: list[tuple[str, str]]) -> pd.DataFrame:
    rows = [
        (*key, link, share, 0.1) for key in both for link, share in zip(LINKS[:2], (0.7, 0.3), strict=True)
    ]
    return pd.DataFrame(rows, columns=LIMITS)


def _drivers(names: list[str]) -> pd.DataFrame:
    rows = [
        (name, "free", metric, quantity, sign * share**0.5, share, share + 0.05, share, share + 0.1, 512)
        for name in names
        for metric in ("margin", "closes")
        for quantity, sign, share in (("ice_fraction", 1.0, 0.6), ("keep_alive_power", -1.0, 0.3))
    ]
    return pd.DataFrame(rows, columns=DRIVERS)


def _optima(study: object, names: list[str]) -> pd.DataFrame:
    swept = [variable.name for variable in study.sweep]  # type: ignore[attr-defined]
    values = [float(variable.points[-1]) for variable in study.sweep]  # type: ignore[attr-defined]
    rows = [
        (name, kind, 3e8, 3.1e8, 0.05, chance, chance - 0.05, chance + 0.05, DRAWS, 900, "", *values)
        for name in names[:2]
        for kind, chance in (("nominal", 0.5), ("robust", 0.85))
    ]
    nothing = (
        names[2],
        "robust",
        *([np.nan] * 6),
        0,
        900,
        "none of 196 designs closes with 80 %",
        *([np.nan] * len(swept)),
    )
    return pd.DataFrame([*rows, nothing], columns=[*OPTIMA, *swept])


def _solutions(names: list[str]) -> pd.DataFrame:
    found = (names[0], "array_area", "closes", 20.0, 31.0, 0.81, 0.76, 0.86, DRAWS, True, "")
    none = (names[1], "array_area", "closes", 40.0, *([np.nan] * 4), DRAWS, False, "not reached")
    return pd.DataFrame([found, none], columns=SOLUTIONS)


def _curve(names: list[str]) -> pd.DataFrame:
    rows = []
    for place, name in enumerate(names):
        for area in np.geomspace(8.0, 120.0, 9):
            closing = round(DRAWS / (1.0 + (20.0 * (1 + place) / area) ** 4))
            low, high = chance_interval(closing, DRAWS)
            rows.append((name, "array_area", float(area), closing / DRAWS, float(low), float(high), DRAWS))
    return pd.DataFrame(rows, columns=CURVE)


def _plane(study: object, names: list[str]) -> pd.DataFrame:
    first, second = study.sweep[:2]  # type: ignore[attr-defined]
    x, y = (np.linspace(0.0, 1.0, count) for count in (8, 6))
    ends = [np.geomspace(item.points[0], item.points[-1], count) for item, count in ((first, 8), (second, 6))]
    rows = []
    for place, name in enumerate(names):
        for up, b in zip(y, ends[1], strict=True):
            for across, a in zip(x, ends[0], strict=True):
                margin = (across + 0.3 * up - 0.4 - 0.1 * place) * (0.2 if place == 1 else 1.0)
                merit = 1e8 * (2.0 + (across if place == 0 else 0.55 + 0.1 * up))
                chance = float(np.clip(0.5 + 2.0 * margin, 0.0, 1.0))
                rows.append(
                    (
                        name,
                        first.name,
                        second.name,
                        float(a),
                        float(b),
                        chance,
                        margin,
                        merit,
                        32 if up else 128,
                    )
                )
    return pd.DataFrame(rows, columns=PLANE)
