"""Published studies run as studies: the number a source printed beside the one the engine gives for its inputs."""

from __future__ import annotations

import functools
import json
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from tradespace.errors import TradespaceError, unknown_name
from tradespace.tables import DATA, read_table
from tradespace.units import from_si, parse_quantity
from tradespace.validation.checks import KINDS

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.study import Study

TABLE = "studies/published.csv"
FOLDER = DATA.parents[1] / "studies" / "published"
"""Where the study files are: they come with the source tree, not with an installed package."""
SHOWN = "shown"
LEFT_OUT = "not run: the study files come with the source tree"
CALCULATION = re.compile(r"(\w+)(?: ([-+/]) (\w+))?")


@dataclass(frozen=True)
class StudyCheck:
    """One number a published study states, and how to get ours from its study file."""

    name: str
    study: str
    quantity: str
    architecture: str
    changes: dict[str, str]
    """Inputs put in place of the study's, with units."""
    body: str
    """Body put in place of the study's start body; empty for its own."""
    output: str
    """A column of the answer, or two of them with ``+``, ``-`` or ``/`` between."""
    value: float
    unit: str
    tolerance: float | None
    """Largest difference that passes; None where the two numbers are only shown side by side."""
    tolerance_kind: str
    """``abs``, ``rel`` or ``shown``."""
    source: str
    where: str
    status: str
    note: str

    @property
    def kind(self) -> str:
        """Where the published value comes from, in words."""
        return KINDS[self.status]

    def passes(self, ours: float) -> bool:
        """Whether our value agrees within the tolerance; true where it is only shown."""
        if self.tolerance is None:
            return True
        allowed = self.tolerance * (abs(self.value) if self.tolerance_kind == "rel" else 1.0)
        return bool(abs(ours - self.value) <= allowed * (1.0 + 1e-12))

    def ours(self) -> float:
        """Our value, in the unit of the published one.

        Raises
        ------
        TradespaceError
            If the study cannot be read, or gives no such column.
        """
        row = _row(self.study, self.architecture, json.dumps(self.changes), self.body)
        match = CALCULATION.fullmatch(self.output)
        if match is None:
            raise TradespaceError(f"{self.output!r}: write one column, or two with +, - or / between")
        first, sign, second = match.groups()
        amount = _column(row, first)
        if sign:
            other = _column(row, second)
            amount = {"/": amount / (other or math.nan), "-": amount - other, "+": amount + other}[sign]
        return float(from_si(amount, self.unit))


@dataclass(frozen=True)
class StudyOutcome:
    """One number of a published study and what came of it."""

    check: StudyCheck
    ours: float | None = None
    remark: str = ""
    """Why there is no value of ours."""

    @property
    def holds(self) -> bool | None:
        """Whether ours agrees; None where it is only shown, or was not run."""
        if self.remark and self.remark != LEFT_OUT:
            return False
        if self.ours is None or self.check.tolerance is None:
            return None
        return self.check.passes(self.ours)

    @property
    def relative_error(self) -> float | None:
        """Ours minus the published value, over that."""
        if self.ours is None or self.check.value == 0.0:
            return None
        return (self.ours - self.check.value) / abs(self.check.value)


def study_checks() -> Iterator[StudyCheck]:
    """Every number of the published studies, in the order of the table.

    Examples
    --------
    >>> len({check.study for check in study_checks()}) >= 5
    True
    """
    for row in read_table(TABLE).rows:
        shown = row["tolerance_kind"] == SHOWN
        yield StudyCheck(
            row["id"], row["study"], row["quantity"], row["architecture"], json.loads(row["changes"] or "{}"),
            row["body"], row["output"], float(row["value"]), row["unit"],
            None if shown else float(row["tolerance"]), row["tolerance_kind"], row["source"], row["where"],
            row["status"], row["note"],
        )  # fmt: skip


def study_files() -> list[Path]:
    """The published studies as files; empty where only the package is installed."""
    return sorted(FOLDER.glob("*.toml"))


def study_title(name: str) -> str:
    """What a published study is called."""
    try:
        return _study(name, "").title
    except TradespaceError:
        return name


def study_outcomes(chosen: Iterable[StudyCheck]) -> list[StudyOutcome]:
    """Run the published studies as far as they are asked for; no error stops the others."""
    found = []
    for check in chosen:
        if not study_files():
            found.append(StudyOutcome(check, remark=LEFT_OUT))
            continue
        try:
            found.append(StudyOutcome(check, check.ours()))
        except Exception as error:  # noqa: BLE001  (whatever goes wrong in a study is a miss, and is said)
            found.append(StudyOutcome(check, remark=f"{type(error).__name__}: {error}"))
    return found


@functools.cache
def _study(name: str, body: str) -> Study:
    from tradespace.study import load_study

    study = load_study(FOLDER / f"{name}.toml")
    if not body:
        return study
    place = replace(study.places[0], body=body)
    return replace(study, start_body=body, places=(place,) * len(study.places))


@functools.cache
def _mission(name: str, body: str) -> Mission:
    from tradespace.evaluate import mission_of

    return mission_of(_study(name, body))


@functools.cache
def _row(name: str, architecture: str, changes: str, body: str) -> pd.Series:
    """Every column of the answer to one design of a study."""
    from tradespace.evaluate import evaluate
    from tradespace.quantities import quantity

    study = _study(name, body)
    if architecture not in study.architectures:
        raise unknown_name("architecture", architecture, study.architectures)
    designs = {key: parse_quantity(text, quantity(key).unit) for key, text in json.loads(changes).items()}
    return evaluate(study, _mission(name, body), architecture, designs, everything=True).iloc[0]


def _column(row: pd.Series, name: str) -> float:
    if name not in row.index:
        raise unknown_name("column", name, [str(item) for item in row.index])
    return float(row[name])
