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
from tradespace.validation.studies import (
    StudyCheck,
    StudyOutcome,
    study_checks,
    study_files,
    study_outcomes,
    study_title,
)

__all__ = [
    "KINDS", "Check", "LinkSummary", "Model", "Outcome", "StudyCheck", "StudyOutcome", "checks", "evaluate", "keep",
    "known_outcomes", "link_names", "models", "resolve", "study_checks", "study_files", "study_outcomes",
    "study_title", "summaries", "summary",
]  # fmt: skip
