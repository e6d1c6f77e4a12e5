"""Verdicts in plain words on every condition, and which single reading would set things right."""

from __future__ import annotations

import numpy as np

from tradespace.bench import trends
from tradespace.bench.conditions import Condition, conditions
from tradespace.bench.culprits import TOLD, Culprit, culprits
from tradespace.bench.records import PASSES, SUSPECT, UNKNOWN, Check, Reconciled
from tradespace.units import convert

_SHOWN = {"kg/s": "mg/s"}
_MILLI = 1e-3


@np.errstate(divide="ignore", invalid="ignore")  # a point without current or flow is no number
def check(reconciled: Reconciled) -> list[Check]:
    """Every condition with its verdict, the broken bounds of the thrust first, the lowest bound leading.

    Parameters
    ----------
    reconciled : Reconciled
        Facts of every point.

    Returns
    -------
    list of Check
        One for each condition, always the same ones; ``not known`` where the readings do not say.
    """
    found = conditions(reconciled)
    broken = [one for one in found if one.fails.any()]
    wrong = culprits(reconciled, broken) if broken else ()
    checks = [_verdict(one, wrong) for one in found]
    thrust_broken = any(one.name.startswith("thrust") and one.fails.any() for one in found)
    checks += trends.trend_checks(reconciled) + trends.artefact_checks(reconciled, thrust_broken)
    bounds = [one for one in checks if one.name.startswith("thrust against")]
    failing = sorted((one for one in bounds if one.points), key=lambda one: one.limit)
    rest = [one for one in bounds if not one.points]
    return [*failing, *rest, *(one for one in checks if one not in bounds)]


def shown(number: float, unit: str) -> str:
    """A number with its unit, in milli where it is small."""
    if unit == "1":
        return f"{number:.3g}"
    if unit == "N" and abs(number) < 0.1:
        return f"{number / _MILLI:.3g} mN"
    other = _SHOWN.get(unit, unit)
    return f"{float(convert(number, unit, other)):.4g} {other}"


def _verdict(one: Condition, wrong: tuple[Culprit, ...]) -> Check:
    """One condition as a verdict: at its worst point."""
    if not one.known.any():
        return Check(
            one.name,
            UNKNOWN,
            f"The readings do not say; it needs {one.needs}",
            float("nan"),
            float("nan"),
            one.unit,
        )
    scale = np.where(one.known, np.maximum(np.abs(one.limit), 1e-300), 1.0)
    worst = int(np.argmax(np.where(one.known, one.excess / scale, -np.inf)))
    value, limit = float(one.value[worst]), float(one.limit[worst])
    count = int(one.fails.sum())
    said = {"value": shown(value, one.unit), "limit": shown(limit, one.unit)}
    if not count:
        beyond = (value > limit) == one.below and value != limit
        words = (
            one.failed.format(**said).split("; ")[0] + ", by no more than its uncertainty"
            if beyond
            else one.passed.format(**said)
        )
        return Check(one.name, PASSES, _sentence(words), value, limit, one.unit)
    words = one.failed.format(**said)
    if count < one.known.sum():
        words += f" ({count} of {int(one.known.sum())} points)"
    usual = f"; usual causes: {', '.join(one.suspects[:5])}" if one.suspects else ""
    wrong = () if one.name in TOLD else wrong
    alone = "; ".join(item.words for item in wrong[:3])
    ends = f". One reading alone, if wrong, would set everything right: {alone}" if alone else ""
    return Check(
        one.name, one.severity, _sentence(words + usual + ends), value, limit, one.unit, count, one.suspects,
        tuple(item.channel for item in wrong),
    )  # fmt: skip


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def worst(checks: list[Check]) -> str:
    """The gravest verdict of all."""
    found = {one.verdict for one in checks}
    order = ("impossible", SUSPECT, PASSES, UNKNOWN)
    return next(verdict for verdict in order if verdict in found)
