"""What has been shown of an architecture, and the mark of one whose rank rests on something that has not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tradespace.constants import GRADES, Value
from tradespace.thrusters import values as numbers

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from tradespace.results import Results

OWN = "assumed_here"
"""Source key of our own assumptions, told by their grade already."""
GIVEN = "given"
"""Stands for a grade where a study gives the number itself."""
MARKS = {"assumed": "†", "estimated": "‡", GIVEN: "*"}
"""Sign of each kind of evidence that is no demonstration."""
MEANINGS = {
    "assumed": "rests on a specific impulse, efficiency or life that is assumed, with a factor of two either way",
    "estimated": "rests on a specific impulse, efficiency or life that is estimated and has not been shown",
    GIVEN: "rests on numbers that the study gives",
}
SHOWN = {
    "demonstrated_specific_impulse": ("Specific impulse", "s"),
    "demonstrated_thrust": ("Thrust", "N"),
    "demonstrated_efficiency": ("Jet over input", "%"),
    "demonstrated_life": ("Life", "h"),
    "specific_mass": ("Specific mass", "kg/kW"),
    "readiness": ("Readiness level", "1"),
}
"""Rows of a thruster's table that tell what has been shown, with words and the unit in which they are printed."""


@dataclass(frozen=True)
class Shown:
    """One thing that has been shown of a thruster."""

    words: str
    unit: str
    """In which it is printed."""
    value: Value
    """In SI, with its range, grade and source."""


@dataclass(frozen=True)
class Evidence:
    """What has been shown of an architecture."""

    grade: str
    """The weakest grade of what its rank rests on; ``given`` where the study gives it."""
    demonstrated: bool
    """Whether that was measured, reviewed or computed."""
    maturity: str
    """In words, with the source key."""
    shown: Mapping[str, Shown]
    """By row name; what nobody has shown is missing."""
    sources: tuple[str, ...]
    """Keys of the sources of all these."""

    @property
    def mark(self) -> str:
        """Words and sign that go with its title wherever it is ranked; empty when it has been demonstrated.

        Examples
        --------
        >>> Evidence("assumed", False, "", {}, ()).mark, Evidence("measured", True, "", {}, ()).mark
        ('assumed†', '')
        """
        return "" if self.demonstrated else f"{self.grade}{MARKS.get(self.grade, '')}"


def evidence_of(results: Results, architecture: str) -> Evidence:
    """What has been shown of an architecture of a study.

    Parameters
    ----------
    results : Results
        Of the study in which it stands.
    architecture : str
        Its name there.
    """
    return evidence(results.study.thrusters.get(architecture))


def evidence(craft: Any) -> Evidence:
    """What has been shown of an architecture, or of a thruster of the registry.

    Parameters
    ----------
    craft : Architecture or Thruster
        Anything with ``rests_on``, itself or its ``thruster``; None for nothing known.
    """
    if craft is None:
        return Evidence("assumed", False, "unknown", {}, ())
    engine = getattr(craft, "thruster", craft)
    rows = numbers.architecture_values(engine.name)
    names: Iterable[str] = getattr(engine, "rests_on", ())
    own = set(getattr(craft, "own", ()))
    grades = [GIVEN if name in own else rows[name].grade for name in names if name in rows]
    grade = weakest(grades) if rows else str(getattr(engine, "grade", GIVEN))
    shown = {name: Shown(*looks, rows[name]) for name, looks in SHOWN.items() if name in rows}
    used = [one.value.source for one in shown.values()] + [
        rows[name].source for name in names if name in rows
    ]
    named = dict.fromkeys(key for cell in used for key in cell.split(";") if key)
    keys = [key for key in named if key != OWN] or list(named)
    maturity = str(getattr(craft, "maturity", ""))
    return Evidence(grade, is_demonstrated(grade), maturity, shown, tuple(keys))


def weakest(grades: Iterable[str]) -> str:
    """The weakest of some grades; a number that a study gives is weaker than what has been shown.

    Examples
    --------
    >>> weakest(["measured", "estimated"]), weakest(["measured", "given"]), weakest([])
    ('estimated', 'given', 'assumed')
    """
    order = [*GRADES[: GRADES.index("estimated")], GIVEN, *GRADES[GRADES.index("estimated") :]]
    return max(grades, key=order.index, default="assumed")


def is_demonstrated(grade: str) -> bool:
    """Whether something of that grade may be ranked without a mark."""
    return grade in GRADES[: GRADES.index("estimated")]


def plain_title(results: Results, architecture: str) -> str:
    """The title of an architecture in words, without a mark."""
    craft = results.study.thrusters.get(architecture)
    return str(craft.title) if craft is not None else architecture.replace("_", " ")


def title_of(results: Results, architecture: str) -> str:
    """The title of an architecture with the mark of its evidence, so that no picture or sentence ranks it unmarked."""
    mark = evidence_of(results, architecture).mark
    title = plain_title(results, architecture)
    return f"{title} ({mark})" if mark else title


def mark_words(results: Results) -> str:
    """What the marks in the titles of these results mean; empty when there is none."""
    found = {evidence_of(results, name).grade for name in results.architectures}
    return " ".join(f"{MARKS[grade]} {grade}: {MEANINGS[grade]}." for grade in MARKS if grade in found)


def refuels(results: Results, architecture: str) -> bool:
    """Whether an architecture mines its propellant at each stop."""
    craft = results.study.thrusters.get(architecture)
    return bool(craft.refuels) if craft is not None else True
