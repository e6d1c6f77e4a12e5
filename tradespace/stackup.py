"""What each neglected effect is worth: from the naive estimate up to the study's own design, one effect at a time."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace.evaluate import all_inputs, evaluate, mission_of
from tradespace.evaluate.inputs import with_storage, without_margin
from tradespace.quantities import display
from tradespace.results import placeholder
from tradespace.study.effects import TABLE, naive_values
from tradespace.tables import read_table

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.physics.compiled import FloatArray
    from tradespace.study import Study

NAIVE = "naive"
METRICS = ("refuel_time_mean", "hop_time", "wet_mass")
"""What is followed: mean refuelling per hop, time per hop with wait and flight, and mass with full tanks."""
TITLES = {
    NAIVE: "Naive estimate",
    "refuel_time_mean": "Refuelling, mean per hop",
    "hop_time": "Time per hop, wait and flight included",
    "wet_mass": "Mass with full tanks",
}
LIKE = {"hop_time": "refuel_time"}
"""The quantity whose unit and words for "never" a metric shares."""
READ = "refuel_time refuel_time_mean mission_time wet_mass margin_mass closes limited_by limited_at margin".split()
"""Columns of the answers that are looked at."""
ORDER = (
    "The order matters: an effect multiplies what stands before it, and what it is worth to the naive design alone is "
    "given beside it. Where both differ, it works through the mass, or a limit, of another one."
)


@dataclass(frozen=True)
class Effect:
    """Something a naive estimate leaves out."""

    name: str
    title: str
    naive: Mapping[str, float]
    """Inputs and the values they have without it [SI]."""


@cache
def effects() -> Mapping[str, Effect]:
    """The effects by name, in the order in which they are added.

    Examples
    --------
    >>> list(effects())[:3]
    ['distance', 'night', 'pointing']
    """
    titles = {row["effect"]: row["title"] for row in read_table(TABLE).rows}
    return {name: Effect(name, titles[name], values) for name, values in naive_values().items()}


def naive_overrides(off: Iterable[str]) -> dict[str, float]:
    """Inputs and the values they have when the named effects are left out [SI].

    Examples
    --------
    >>> naive_overrides(["pointing"])
    {'pointing_factor': 1.0}
    """
    return {name: value for effect in off for name, value in effects()[effect].naive.items()}


def stack_up(study: Study, mission: Mission | None = None, architecture: str | None = None) -> pd.DataFrame:
    """Add the effects one after the other to the naive estimate of the reference design, and each alone.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it (looked up here when not given).
    architecture : str, optional
        Only this one; otherwise every one of the study that refuels.

    Returns
    -------
    DataFrame
        One row per architecture and step: the naive estimate first, then each effect that the study does not switch
        off. For every metric its value with all effects so far (SI; infinite where there is none), as a multiple
        of the step before (``_step``) and of the naive one (``_total``), and with that effect ``_alone`` and what that
        is as a multiple of the naive one (``_alone_step``). Then whether it closes and what limits it, both ways.
    """
    mission = mission or mission_of(study)
    names = (
        [architecture]
        if architecture
        else [name for name in study.architectures if study.thrusters[name].refuels]
    )
    frames = [_one_stack(study, mission, name) for name in names]
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=["architecture"])


def switched_on(study: Study) -> list[str]:
    """Effects that the study does not leave out, in order."""
    return [name for name in effects() if study.effects.get(name, True)]


def _one_stack(study: Study, mission: Mission, architecture: str) -> pd.DataFrame:
    names = switched_on(study)
    left_out = [names[place:] for place in range(len(names) + 1)]
    left_out += [[name for name in names if name != one] for one in names]
    answers = without(study, mission, architecture, left_out)
    count = len(names) + 1
    table = pd.DataFrame(
        {
            "architecture": architecture,
            "effect": [NAIVE, *names],
            "title": [TITLES[NAIVE], *(effects()[name].title for name in names)],
        }
    )
    alone = np.r_[0, count : 2 * count - 1]  # the naive one stands for itself
    for metric in METRICS:
        values = answers[metric].to_numpy(dtype=np.float64)
        table[metric] = values[:count]
        table[f"{metric}_step"] = [math.nan, *map(multiple, values[1:count], values[: count - 1])]
        table[f"{metric}_total"] = [multiple(value, values[0]) for value in values[:count]]
        table[f"{metric}_alone"] = values[alone]
        table[f"{metric}_alone_step"] = [math.nan, *(multiple(value, values[0]) for value in values[count:])]
    for name in ("closes", "limited_by", "limited_at", "margin"):
        kept = answers[name].astype(str).to_numpy() if name == "limited_by" else answers[name].to_numpy()
        table[name], table[f"{name}_alone"] = kept[:count], kept[alone]
    return table


def multiple(value: float, before: float) -> float:
    """One value over another; not a number where that has no meaning, infinite where only the first has no end.

    Examples
    --------
    >>> multiple(3.0, 2.0), multiple(3.0, 0.0), multiple(float("inf"), 2.0)
    (1.5, nan, inf)
    """
    if not math.isfinite(before) or before <= 0.0:
        return math.nan
    return value / before


def without(study: Study, mission: Mission, architecture: str, left_out: list[list[str]]) -> pd.DataFrame:
    """The reference design with some effects left out, one row per list of them.

    The columns are :data:`READ` with ``hop_time`` added; a time or a mass that has no end is infinite.
    """
    usual = with_storage(study, study.thrusters[architecture], all_inputs(study, {}), {})
    columns: dict[str, FloatArray] = {}
    for effect in effects().values():
        off = np.array([effect.name in names for names in left_out])
        for name, value in effect.naive.items():
            columns[name] = np.where(off, value, usual.get(name, math.nan))
        if effect.name == "margins":
            columns["hop_delta_v_capacity"] = np.where(
                off, without_margin(usual), usual["hop_delta_v_capacity"]
            )
    free = np.array(["extraction" in names for names in left_out])
    parts = []
    for given, stops in ((free, False), (~free, True)):
        if given.any():
            rows = {name: column[given] for name, column in columns.items()}
            found = evaluate(study, mission if stops else without_own_sources(mission), architecture, rows)
            parts.append(found[READ].set_index(np.flatnonzero(given)))
    answers = pd.concat(parts).sort_index()
    answers["hop_time"] = answers["mission_time"] / study.hops
    for metric in METRICS:
        answers.loc[[bool(endless(row, metric)) for _, row in answers.iterrows()], metric] = math.inf
    return answers


def without_own_sources(mission: Mission) -> Mission:
    """The mission with no water that costs its own energy at a stop."""
    stops = tuple(dataclasses.replace(stop, extraction_energy=math.nan) for stop in mission.stops)
    return dataclasses.replace(mission, stops=stops)


def endless(row: Any, metric: str) -> str:
    """Words for a metric that has no finite value in a row of answers; empty when it has one."""
    return placeholder(row, "wet_mass") or placeholder(row, LIKE.get(metric, metric))


def said(metric: str, value: float, digits: int = 4) -> str:
    """A value of a metric with its unit, or words where there is none.

    Examples
    --------
    >>> said("hop_time", 86400.0 * 365.25), said("wet_mass", math.inf)
    ('365.2 d', 'no finite mass')
    """
    if not math.isfinite(value):
        return "no finite mass" if metric == "wet_mass" else "never"
    return display(LIKE.get(metric, metric), value, digits)


def factor_said(value: float) -> str:
    """A multiplier in words.

    Examples
    --------
    >>> factor_said(1.2345), factor_said(math.inf), factor_said(math.nan)
    ('x1.23', 'no end', '-')
    """
    if math.isnan(value):
        return "-"
    if not math.isfinite(value):
        return "no end"
    return f"x{value:,.0f}" if value >= 1000.0 else f"x{value:.3g}"


def verdict_said(closes: bool, link: str, hop: int) -> str:
    """Whether a step closes, and what limits it.

    Examples
    --------
    >>> verdict_said(False, "mass", 1)
    'no: mass at hop 1'
    >>> verdict_said(True, "water", 2)
    'yes (water at hop 2)'
    """
    return f"yes ({link} at hop {hop})" if closes else f"no: {link} at hop {hop}"


def closing_words(table: pd.DataFrame) -> str:
    """Where along the steps of one architecture it stops to close, or begins to, in a sentence."""
    closes = table["closes"].to_numpy(dtype=bool)
    turns = [place for place in range(1, len(closes)) if closes[place] != closes[place - 1]]
    if not turns:
        last = table.iloc[-1]
        if closes[0]:
            return "It closes at every step."
        return f"It closes at no step ({last['limited_by']} at hop {last['limited_at']})."
    parts = []
    for place in turns:
        row = table.iloc[place]
        what = str(row["title"]).lower()
        if closes[place]:
            parts.append(f"closes with: {what}")
        else:
            parts.append(f"no longer closes with: {what} ({row['limited_by']} at hop {row['limited_at']})")
    return f"It {', '.join(parts)}."
