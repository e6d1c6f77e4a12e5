"""Reading which inputs are uncertain: the sections ``[uncertain]`` and ``[uncertainty]``."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache

import numpy as np

from tradespace import constants
from tradespace.bench.calibration import Calibration
from tradespace.options import Setting
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import REPLACES, Quantity, display
from tradespace.study.calibrated import bench_correlation
from tradespace.study.correlation import rank_correlation
from tradespace.study.distributions import distribution_numbers, share
from tradespace.study.document import Document, EntryError, Path_, shown
from tradespace.study.effects import naive_values
from tradespace.study.model import Distribution, Uncertain
from tradespace.study.plans import neighbours, power_of_two
from tradespace.study.values import hint, inputs
from tradespace.tables import read_table

GRADES = "uncertainty_grades.csv"
VALUES = "sampling_values.csv"
RANGE = "range"
USES = ("stated", "all")
KEYS = ("inputs", "samples", "chance", "correlation")


@cache
def grade_distributions() -> Mapping[str, str]:
    """Which distribution stands for a range, by the grade of its value; ``none`` for what is not uncertain.

    Examples
    --------
    >>> grade_distributions()["measured"], grade_distributions()["assumed"], grade_distributions()["defined"]
    ('triangular', 'uniform', 'none')
    """
    return {row["grade"]: row["distribution"] for row in read_table(GRADES).rows}


class Grounds:
    """What the rest of a study says about its inputs."""

    def __init__(
        self,
        values: Mapping[str, float],
        ranges: Mapping[str, tuple[float, float]],
        own_ranges: Mapping[str, tuple[float, float]],
        settings: Mapping[str, Setting],
        fixed: Mapping[str, str],
        conditions: tuple[str, ...],
    ) -> None:
        self.values, self.ranges, self.own_ranges, self.settings = values, ranges, own_ranges, settings
        self.fixed = fixed
        """Inputs that cannot be uncertain, with the reason in words."""
        self.conditions = conditions
        """Swept inputs that are not the designer's to choose."""

    def grade(self, item: Quantity) -> str:
        """Grade of the value of an input; a range that the study gives itself is no better than assumed."""
        grade = self.settings[item.name].grade if item.name in self.settings else item.grade
        return "assumed" if grade == "defined" and item.name in self.own_ranges else grade


def read_uncertain(
    document: Document,
    grounds: Grounds,
    measured: Mapping[str, Distribution],
    calibration: Calibration | None = None,
) -> Uncertain:
    """Which inputs are uncertain, and what is asked of them; what a bench has ``measured`` is so unless stated."""
    stated = _stated(document, grounds)
    table = document.table("uncertainty")
    for key in table:
        if key not in KEYS:
            document.problem(("uncertainty", key), f"unknown key{hint(key, KEYS) or _allowed(KEYS)}")
    use = table.get("inputs", "stated" if document.table("uncertain") else "all")
    if use not in USES:
        document.problem(("uncertainty", "inputs"), f"{shown(use)} is unknown{_allowed(USES)}")
    if use == "stated" and not document.table("uncertain"):
        document.problem(
            ("uncertainty", "inputs"), 'is "stated", but nothing is; add a section [uncertain] or write "all"'
        )
    found = {**(_by_grade(grounds, stated) if use == "all" else {}), **measured, **stated}
    chosen = tuple(found[name] for name in inputs() if name in found)
    names = tuple(item.name for item in chosen)
    return Uncertain(
        chosen,
        bench_correlation(calibration, names, _correlation(document, names)),
        _samples(document),
        _chance(document),
    )


def _allowed(names: tuple[str, ...]) -> str:
    return f"; allowed: {', '.join(names)}"


def _limits(item: Quantity) -> tuple[float, float]:
    """Bounds of a quantity as numbers."""
    return -math.inf if item.low is None else item.low, math.inf if item.high is None else item.high


def _of_range(item: Quantity, grounds: Grounds, stated: bool) -> Distribution | None:
    """The distribution that the range and the grade of an input stand for; None when it is not uncertain."""
    grade = grounds.grade(item)
    kind = grade_distributions()[grade]
    if kind == "none" or item.name not in grounds.ranges:
        return None
    low, high = grounds.ranges[item.name]
    mode = min(max(grounds.values.get(item.name, 0.5 * (low + high)), low), high)
    numbers = (low, mode, high) if kind == "triangular" else (low, high)
    return Distribution(item.name, kind, numbers, *_limits(item), grade, stated)


def _by_grade(grounds: Grounds, stated: Mapping[str, Distribution]) -> dict[str, Distribution]:
    """Every input that has a range, is not fixed and not replaced by a stated one.

    A condition stays uncertain although it is swept: nature decides it, not the designer.
    """
    replaced = {name for derived, names in REPLACES.items() if derived in stated for name in names}
    found = {}
    for name, item in inputs().items():
        if (name in grounds.fixed and name not in grounds.conditions) or name in replaced:
            continue
        distribution = _of_range(item, grounds, stated=False)
        if distribution is not None:
            found[name] = distribution
    return found


def _stated(document: Document, grounds: Grounds) -> dict[str, Distribution]:
    """The distributions of the section ``[uncertain]``."""
    known = inputs()
    table = document.table("uncertain")
    found: dict[str, Distribution] = {}
    for name, raw in table.items():
        path = ("uncertain", name)
        if name not in known:
            document.problem(path, f"unknown quantity{hint(name, known, 'tradespace list quantities')}")
            continue
        reason = grounds.fixed.get(name)
        replacing = [derived for derived, names in REPLACES.items() if name in names and derived in table]
        if replacing:
            reason = (
                f"has no effect, because {replacing[0]} is uncertain too and replaces it; drop one of them"
            )
        if reason is not None:
            document.problem(path, reason)
            continue
        try:
            found[name] = _distribution(known[name], raw, grounds)
        except EntryError as error:
            document.problem(path, str(error))
    return found


def _distribution(item: Quantity, raw: object, grounds: Grounds) -> Distribution:
    """One stated distribution."""
    if raw == RANGE:
        found = _of_range(item, grounds, stated=True)
        if found is None:
            what = "has no range of its own" if item.name not in grounds.ranges else "is exact by definition"
            raise EntryError(f"{what}; state a distribution, or give low and high in [ranges]")
        return found
    if not isinstance(raw, dict):
        raise EntryError(f'{shown(raw)} must be "range" or {{ kind = "uniform", low = ..., high = ... }}')
    kind, numbers = distribution_numbers(item, raw)
    return Distribution(item.name, kind, numbers, *_limits(item), grounds.grade(item), True)


def _samples(document: Document) -> int:
    """How many samples of the uncertain inputs are drawn."""
    largest = int(constants.value("largest_samples", VALUES))
    raw = document.table("uncertainty").get("samples", int(constants.value("samples", VALUES)))
    path = ("uncertainty", "samples")
    if isinstance(raw, bool) or not isinstance(raw, int) or not 2 <= raw <= largest:
        document.problem(path, f"{shown(raw)} must be a power of two from 2 to {largest:,}")
        return 2
    if not power_of_two(raw):
        document.problem(path, f"{raw} is not a power of two; write {neighbours(raw)}")
    return raw


def _chance(document: Document) -> float:
    """The asked probability of closing."""
    own = constants.value("chance", VALUES)
    raw = document.table("uncertainty").get("chance", own)
    try:
        found = share("the chance", raw)
        if not 0.0 < found < 1.0:
            raise EntryError(f'{shown(raw)} must lie between 0 and 1, such as "90 %"; nothing is certain')
    except EntryError as error:
        document.problem(("uncertainty", "chance"), str(error))
        return own
    return found


def _correlation(document: Document, names: tuple[str, ...]) -> FloatArray | None:
    """Rank correlation of all uncertain inputs; those that the study does not name are independent."""
    raw = document.table("uncertainty").get("correlation")
    if raw is None:
        return None
    path: Path_ = ("uncertainty", "correlation")
    if not isinstance(raw, dict) or set(raw) != {"inputs", "rank"}:
        document.problem(path, "needs inputs = [...] and rank = [[...], ...] and nothing else")
        return None
    key = "inputs"
    try:
        places = _places(raw["inputs"], names)
        key = "rank"
        rank = rank_correlation(raw["rank"], [names[place] for place in places])
    except EntryError as error:
        document.problem((*path, key), str(error))
        return None
    whole = np.eye(len(names))
    whole[np.ix_(places, places)] = rank
    return whole


def _places(named: object, names: tuple[str, ...]) -> list[int]:
    """Places of the inputs that are correlated among the uncertain ones."""
    if not isinstance(named, list) or len(named) < 2 or not all(isinstance(name, str) for name in named):
        raise EntryError(f"{shown(named)} must be a list of at least two uncertain inputs")
    for name in named:
        if name not in names:
            words = hint(name, names) or "; add it to [uncertain]"
            raise EntryError(f"{shown(name)} is not uncertain{words}")
    if len(set(named)) < len(named):
        raise EntryError("an input is named twice")
    return [names.index(name) for name in named]


def fixed_inputs(
    sweep: tuple[str, ...],
    conditions: tuple[str, ...],
    given: set[str],
    effects: Mapping[str, bool],
    solved: str,
    kind: str,
) -> dict[str, str]:
    """Inputs that cannot be uncertain in a study, with the reason in words."""
    found: dict[str, str] = {}
    for derived, names in REPLACES.items():
        if derived in given:
            found.update(
                dict.fromkeys(
                    names, f"has no effect, because {derived} is given and replaces it; drop one of them"
                )
            )
        for name in names:
            if name in sweep:
                found[derived] = f"replaces {name}, which is swept; drop one of them"
    naive = naive_values()
    for effect, reckoned in effects.items():
        for name in () if reckoned else naive[effect]:
            at = display(name, naive[effect][name])
            found[name] = f"contradicts effects.{effect} = false, which holds it at {at}; drop one of them"
    if kind != "surface":
        found["hop_distance"] = f'is for a study of kind "surface"; this one is a "{kind}"'
    if solved:
        found[solved] = "is what [solve] looks for, so it cannot be uncertain as well; drop one of them"
    for name in sweep:
        also = ", as one of study.conditions" if name in conditions else ""
        found[name] = f"is swept as well{also}; an input is either swept or uncertain, drop one of them"
    return found
