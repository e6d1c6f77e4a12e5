"""Our values beside published ones: what the tests hold, ``tradespace validate`` prints and the report shows."""

from tradespace.validation.checks import KINDS, Check, checks, resolve
from tradespace.validation.models import Model, models
from tradespace.validation.outcomes import (
    LinkSummary,
    Outcome,
    evaluate,
    keep,
    known_outcomes,
    link_names,
    summaries,
    summary,
)

__all__ = [
    "KINDS", "Check", "LinkSummary", "Model", "Outcome", "checks", "evaluate", "keep", "known_outcomes", "link_names",
    "models", "resolve", "summaries", "summary",
]  # fmt: skip
