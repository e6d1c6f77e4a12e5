"""Models for which nobody has published a value to check against: graded estimated, with a range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tradespace.tables import DATA, read_table

GRADE = "estimated"


@dataclass(frozen=True)
class Model:
    """A model without a published value: its central coefficient, the range, and the test that holds its limits."""

    link: str
    name: str
    title: str
    function: str
    value: float
    unit: str
    low: float
    high: float
    tested_by: str
    note: str

    @property
    def grade(self) -> str:
        """How much the number can be trusted."""
        return GRADE


def models() -> Iterator[Model]:
    """Every model without a published value, in the order of the files.

    Examples
    --------
    >>> all(model.low <= model.value <= model.high for model in models())
    True
    """
    for path in sorted((DATA / "estimated").glob("*.csv")):
        for row in read_table(f"estimated/{path.name}").rows:
            yield Model(
                path.stem, row["id"], row["model"], row["function"], float(row["value"]), row["unit"],
                float(row["low"]), float(row["high"]), row["tested_by"], row["note"],
            )  # fmt: skip
