"""What the checks say of this version: evaluated, summed up by link, and kept for the next report."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import math
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from tradespace.sweep.evidence import versions
from tradespace.sweep.folder import source_mark
from tradespace.validation.checks import Check, checks
from tradespace.validation.models import models

CHAIN = (
    "sunlight", "thermal", "power", "extraction", "water", "electrolysis", "storage", "combustion", "detonation",
    "nozzle", "electrothermal", "electric", "rocket", "transfer",
)  # fmt: skip
"""Links in the order of the chain; others follow by name."""
NEEDS_TABLES = "not run: needs the extra `tables`"
LEFT_OUT = "not run here: takes seconds; tradespace validate runs it"
KEPT = "checks"
CHILD = "import json; from tradespace.validation.outcomes import quick_answers; print(json.dumps(quick_answers()))"
PATIENCE = 120.0  # s
SCALES = ("degC",)
"""Units whose zero is a convention."""

Progress = Callable[[int, int], None]
"""Called with checks done and checks in all."""


@dataclass(frozen=True)
class Outcome:
    """One check and what came of it."""

    check: Check
    ours: float | None = None
    """Our value in the unit of the published one; None if it was not computed."""
    remark: str = ""
    """Why there is no value of ours."""
    failed: bool = False
    """Whether computing ours ended in an error."""

    @property
    def holds(self) -> bool | None:
        """Whether ours agrees within the tolerance; None if the check was not run."""
        if self.failed:
            return False
        return None if self.ours is None else self.check.passes(self.ours)

    @property
    def difference(self) -> float | None:
        """Ours minus the published value, in the unit of that."""
        return None if self.ours is None else self.ours - self.check.value

    @property
    def relative_error(self) -> float | None:
        """That difference over the published value; None where the latter is 0, or its scale has another zero."""
        if self.difference is None or self.check.value == 0.0 or self.check.unit in SCALES:
            return None
        return self.difference / abs(self.check.value)

    @property
    def share(self) -> float | None:
        """How much of the tolerance the difference takes; above 1 the check does not hold."""
        if self.failed:
            return math.inf
        return None if self.difference is None else abs(self.difference) / self.check.allowed()


@dataclass(frozen=True)
class LinkSummary:
    """The checks of one link in numbers."""

    link: str
    checks: int
    seen: int
    memory: int
    computed: int
    practice: int
    not_run: int
    missed: int
    worst: Outcome | None
    """The check that takes the largest share of its tolerance."""

    @property
    def published(self) -> int:
        """Checks whose value is printed in its source."""
        return self.seen + self.memory

    @property
    def holds(self) -> bool:
        """Whether no check misses."""
        return self.missed == 0


def link_names() -> list[str]:
    """Links that have checks or models without one, in the order of the chain.

    Examples
    --------
    >>> link_names()[0]
    'sunlight'
    """
    found = {check.link for check in checks()} | {model.link for model in models()}
    return [link for link in CHAIN if link in found] + sorted(found - set(CHAIN))


def evaluate(chosen: Iterable[Check], progress: Progress | None = None) -> list[Outcome]:
    """Compute our value of each check.

    Parameters
    ----------
    chosen : iterable of Check
        The checks, in any order.
    progress : callable, optional
        Called after each check.

    Returns
    -------
    list of Outcome
        One per check, link after link in the order of the chain.
    """
    places = {link: place for place, link in enumerate(link_names())}
    asked = sorted(chosen, key=lambda check: places.get(check.link, len(places)))
    found = []
    for number, check in enumerate(asked, start=1):
        found.append(_outcome(check))
        if progress is not None:
            progress(number, len(asked))
    return found


def lacks_library(check: Check) -> bool:
    """Whether a check needs a library that is not installed."""
    return bool(check.needed_library) and find_spec(check.needed_library) is None


def _outcome(check: Check) -> Outcome:
    if lacks_library(check):
        return Outcome(check, remark=NEEDS_TABLES)
    try:
        ours = check.ours()
    except Exception as error:  # noqa: BLE001  (whatever goes wrong in a formula is a miss, and is said)
        return Outcome(check, remark=f"{type(error).__name__}: {error}", failed=True)
    if not math.isfinite(ours):
        return Outcome(check, remark=f"gave {ours}", failed=True)
    return Outcome(check, ours)


def summaries(outcomes: Iterable[Outcome]) -> list[LinkSummary]:
    """One summary per link, in the order of the outcomes."""
    groups: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        groups.setdefault(outcome.check.link, []).append(outcome)
    return [summary(link, group) for link, group in groups.items()]


def summary(link: str, outcomes: list[Outcome]) -> LinkSummary:
    """Some checks in numbers, under a name."""
    statuses = [outcome.check.status for outcome in outcomes]
    run = [outcome for outcome in outcomes if outcome.share is not None]
    return LinkSummary(
        link=link,
        checks=len(outcomes),
        seen=statuses.count("seen"),
        memory=statuses.count("memory"),
        computed=statuses.count("computed"),
        practice=statuses.count("practice"),
        not_run=len(outcomes) - len(run),
        missed=sum(outcome.holds is False for outcome in outcomes),
        worst=max(run, key=lambda outcome: outcome.share or 0.0, default=None),
    )


def keep(outcomes: Iterable[Outcome]) -> None:
    """Write the values beside the compiled kernels, so that the next report of this version need not compute them."""
    path = _kept_path()
    if path is None:
        return
    values = {
        **_kept(),
        **{outcome.check.key: outcome.ours for outcome in outcomes if outcome.ours is not None},
    }
    temporary = path.with_suffix(f".{os.getpid()}")
    with contextlib.suppress(OSError):
        temporary.write_text(json.dumps(values), encoding="utf-8")
        temporary.replace(path)


def _kept() -> Mapping[str, float]:
    """Values that this very version computed before; empty if there are none."""
    path = _kept_path()
    if path is None:
        return {}
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        return {str(key): float(value) for key, value in content.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return {}


@functools.cache
def _kept_path() -> Path | None:
    """A file whose name changes with the code, the data and the libraries."""
    folder = os.environ.get("NUMBA_CACHE_DIR")  # chosen when the kernels are imported
    mark = hashlib.sha256(" ".join([source_mark(), *versions().values()]).encode()).hexdigest()
    return Path(folder) / f"{KEPT}-{mark[:16]}.json" if folder else None


def quick_answers() -> dict[str, float]:
    """Our values of the checks that take no time."""
    found = evaluate(check for check in checks() if not check.is_slow)
    return {outcome.check.key: outcome.ours for outcome in found if outcome.ours is not None}


def _plain_answers() -> dict[str, float]:
    """Those values from another process with compilation off: compiling takes longer than single numbers do.

    Nothing depends on its success: what it does not give is computed here.
    """
    paths = os.pathsep.join(path for path in sys.path if path)
    try:
        done = subprocess.run(
            [sys.executable, "-c", CHILD], check=True, capture_output=True, text=True, timeout=PATIENCE,
            env={**os.environ, "PYTHONPATH": paths, "NUMBA_DISABLE_JIT": "1"},
        )  # fmt: skip
        return {str(key): float(value) for key, value in json.loads(done.stdout).items()}
    except (OSError, subprocess.SubprocessError, ValueError, TypeError, AttributeError):
        return {}


@functools.cache
def known_outcomes() -> tuple[Outcome, ...]:
    """All checks for a report: what takes seconds only if :func:`keep` has it from an earlier call of this version."""
    every = list(checks())
    kept = dict(_kept())
    if any(check.key not in kept for check in every if not check.is_slow):
        kept |= _plain_answers()
    wanted = [check for check in every if check.key not in kept and not check.is_slow]
    fresh = evaluate(wanted)
    keep([*fresh, *(Outcome(check, kept[check.key]) for check in every if check.key in kept)])
    values = {outcome.check.key: outcome for outcome in fresh}
    found = []
    for check in every:
        if check.key in kept:
            found.append(Outcome(check, kept[check.key]))
        else:
            missing = NEEDS_TABLES if lacks_library(check) else LEFT_OUT
            found.append(values.get(check.key) or Outcome(check, remark=missing))
    places = {link: place for place, link in enumerate(link_names())}
    return tuple(sorted(found, key=lambda outcome: places[outcome.check.link]))
