"""Checks in words, the same on the terminal and in the report."""

from __future__ import annotations

import math

from tradespace.validation.outcomes import Outcome

PERCENT = 100.0
DIGITS = 12
LARGE = 1e12  # written out below, in powers of ten above


def value_words(value: float, unit: str) -> str:
    """A published value with its unit."""
    return f"{number_words(value)}{unit_end(unit)}"


def number_words(value: float) -> str:
    """A number as its table gives it."""
    return f"{value:.{DIGITS}g}"


def told(outcome: Outcome) -> str:
    """Our value with one digit more than the published one, or than the tolerance asks for.

    Examples
    --------
    >>> from tradespace.validation import Outcome, checks
    >>> told(Outcome(next(checks()), remark="not run"))
    '-'
    """
    if outcome.ours is None:
        return "-"
    size, step = abs(outcome.ours), outcome.check.allowed()
    needed = math.ceil(math.log10(size / step)) + 1 if size > step else 2
    given = len(number_words(abs(outcome.check.value)).partition("e")[0].replace(".", "").strip("0"))
    text = f"{outcome.ours:.{min(max(needed, given + 1, 4), DIGITS)}g}"
    return f"{outcome.ours:.0f}" if "e+" in text and size < LARGE else text


def error_words(outcome: Outcome) -> str:
    """Relative error in percent; the difference itself where that has no meaning."""
    if outcome.difference is None:
        return "-"
    if outcome.relative_error is None:
        return f"{outcome.difference:+.2g}{unit_end(outcome.check.unit)}"
    return f"{PERCENT * outcome.relative_error:+.2g} %"


def allowed_words(outcome: Outcome) -> str:
    """The tolerance as it was agreed."""
    check = outcome.check
    if check.tolerance_kind == "rel":
        return f"{PERCENT * check.tolerance:.2g} %"
    return f"{check.tolerance:g}{unit_end(check.unit)}"


def unit_end(unit: str) -> str:
    """A unit after a number; pure numbers have none."""
    return f" {unit}" if unit not in {"", "1"} else ""


def holds_words(holds: bool | None) -> str:
    """Yes, NO, or a dash where it was not run."""
    return "-" if holds is None else "yes" if holds else "NO"


def source_words(outcome: Outcome) -> str:
    """Source, place in it, and kind of value."""
    check = outcome.check
    return f"{check.kind}: {check.source.replace('_', ' ')}, {check.where}"


def share_words(outcome: Outcome | None) -> str:
    """How much of its tolerance a check takes."""
    if outcome is None:
        return "-"
    share = outcome.share
    return "-" if share is None or math.isinf(share) else f"{share:.2f}"
