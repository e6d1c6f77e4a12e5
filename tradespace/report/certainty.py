"""How sure we are, in the report and as a page of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace.errors import OutputError
from tradespace.figures import draw_figures
from tradespace.figures.style import label, number, quantity_text, title_of
from tradespace.figures.style import words as words_of
from tradespace.report.page import Markup, Row, Section, figure_block, page, paragraph, table, text
from tradespace.results import LINKS, Results
from tradespace.sweep import versions
from tradespace.uncertainty import percentiles_of

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.results import Certainty
    from tradespace.study import Study

SECTION = "certainty"
TITLE = "How sure we are"
MOST = 3
"""Inputs named for each architecture."""
FIGURES = ("closing_chance", "merit_spread", "chance_curve", "chance_map", "preferred_map")


def chance_text(share: float) -> str:
    r"""A chance as a percentage that does not round to certainty.

    Examples
    --------
    >>> chance_text(0.834), chance_text(0.9996), chance_text(0.0)
    ('83\xa0%', '99.96\xa0%', '0\xa0%')
    """
    away = min(share, 1.0 - share)
    digits = 0 if away >= 0.05 or away <= 0.0 else 1 if away >= 0.005 else 2
    return f"{100.0 * share:.{digits}f}\xa0%"


def interval_text(row: Any) -> str:
    """A chance with its interval."""
    low, high = (chance_text(float(row[end])).removesuffix("\xa0%") for end in ("low", "high"))
    return f"{chance_text(float(row['chance']))} ({low} to {high}\xa0%)"


def chance_phrase(results: Results, architecture: str) -> str:
    """How likely the design of an architecture closes, for a sentence; empty where that was not worked out."""
    found = results.certainty
    if found is None:
        return ""
    rows = found.chance[(found.chance["architecture"] == architecture) & (found.chance["calendar"] == "free")]
    if rows.empty:
        return ""
    inputs = results.study.uncertain.inputs
    drawn = (
        "drawn as the study states" if all(item.stated for item in inputs) else "drawn from its whole range"
    )
    many = f"each of {len(inputs)} uncertain inputs" if len(inputs) > 1 else "its uncertain input"
    return f"With {many} {drawn} it closes with {interval_text(rows.iloc[0])}"


def inputs_words(study: Study) -> str:
    """Which inputs are uncertain."""
    inputs = study.uncertain.inputs
    count = len(inputs)
    if all(item.stated for item in inputs):
        return (
            f"the {count} inputs that the study states as uncertain"
            if count > 1
            else "the one input stated so"
        )
    return f"{count} inputs, every one with a range of its own by that range and its grade"


def lead(study: Study, found: Certainty) -> str:
    """What was done."""
    together = "" if study.uncertain.correlation is None else ", correlated as stated"
    return (
        f"Uncertain are {inputs_words(study)}{together}. {found.samples} draws (scrambled Sobol' points, the same for "
        "every design); intervals are exact binomial ones at 95 %, which hold for independent draws and are wider than "
        "need be for these. Every chance is conditional on the stated "
        "distributions and on the models: what no model has, and a range that is wrong, is not in it."
    )


def certainty_parts(results: Results, drawn: list[Markup]) -> list[Markup]:
    """The section of the report."""
    found = results.certainty
    if found is None:
        return []
    more = paragraph(
        "The command uncertainty does the same for every architecture, with more draws, total indices and a longer "
        "search for the robust optimum."
    )
    parts = [paragraph(lead(results.study, found)), chance_table(results, found), *drawn]
    parts += [
        driver_table(results, found),
        optimum_table(results, found),
        solution_table(results, found),
        more,
    ]
    return [part for part in parts if part]


def chance_table(results: Results, found: Certainty) -> Markup:
    """Chance, limits and percentiles of the figure of merit, a row for each architecture and calendar."""
    merit = results.study.figure_of_merit
    spread = percentiles_of(found.percentiles, merit, "closing", (0.05, 0.5, 0.95))
    rows = []
    for row in found.chance.to_dict("records"):
        name, calendar = str(row["architecture"]), str(row["calendar"])
        cells = [
            title_of(results, name),
            calendar,
            interval_text(row),
            "closes" if row["nominal_closes"] else "fails",
        ]
        cells.append(limits_text(found, name, calendar))
        cells += [quantity_text(merit, value) for value in spread.get((name, calendar), [])] or ["–"] * 3
        rows.append(Row(cells))
    designs = " or ".join(dict.fromkeys(found.chance["design"].astype(str)))
    caption = (
        f"Chance that a design closes: for each architecture {designs}. Free: each draw chooses its departures. "
        f"Frozen: it keeps those of the nominal design. {label(merit)} at 5, 50 and 95 % of the draws that close."
    )
    headings = ["Architecture", "Calendar", "Closes with", "Nominal", "Limited by", "5 %", "Median", "95 %"]
    return table(caption, headings, rows, numeric=(2, 5, 6, 7), look="dense")


def limits_text(found: Certainty, architecture: str, calendar: str) -> str:
    """The two links that bind most often."""
    rows = found.limits[
        (found.limits["architecture"] == architecture) & (found.limits["calendar"] == calendar)
    ]
    return ", ".join(
        f"{row['link']} {chance_text(float(row['binding']))}" for row in rows.head(2).to_dict("records")
    )


def driver_table(results: Results, found: Certainty) -> Markup:
    """The inputs that carry most of the variance."""
    rows = []
    free = found.drivers[found.drivers["calendar"] == "free"] if len(found.drivers) else found.drivers
    for name in dict.fromkeys(free["architecture"].astype(str)):
        cells: list[object] = [title_of(results, name)]
        for metric in ("margin", "closes"):
            part = free[(free["architecture"] == name) & (free["metric"] == metric)]
            column = "total" if part["total"].notna().any() else "rank_share"
            first = part.sort_values(column, ascending=False, kind="stable").head(MOST)
            cells.append(
                "; ".join(
                    f"{words_of(str(row['quantity']))} {number(100.0 * float(row[column]), 2)}\xa0% "
                    f"({'+' if row['correlation'] > 0.0 else '−'})"
                    for row in first.to_dict("records")
                    if row[column] > 0.0
                )
                or "–"
            )
        rows.append(Row(cells))
    if not rows:
        return Markup("")
    caption = (
        f"The {MOST} inputs that carry most of the variance, calendar free: share of the variance of the rank, or "
        "total index where one was worked out; + when more of the input is better."
    )
    return table(caption, ["Architecture", "Of the smallest margin", "Of closing or not"], rows)


def optimum_table(results: Results, found: Certainty) -> Markup:
    """Nominal and robust optimum."""
    if not len(found.optima):
        return Markup("")
    study, merit, rows = results.study, results.study.figure_of_merit, []
    for row in found.optima.to_dict("records"):
        there = int(row["samples"]) > 0
        cells = [title_of(results, str(row["architecture"])), row["kind"]]
        cells += [quantity_text(merit, float(row[key])) if there else "–" for key in ("merit", "median")]
        cells += [interval_text(row) if there else "–"]
        cells += [quantity_text(name, float(row[name])) if there else "–" for name in study.swept]
        rows.append(Row([*cells, row["note"]]))
    asked = chance_text(found.asked)
    caption = (
        f"Best designs of the sweep by nominal {words_of(merit)}: nominal, of all that close; robust, of those that "
        f"close with {asked}. Median over all draws."
    )
    headings = [
        "Architecture",
        "Optimum",
        label(merit),
        "Median",
        "Closes with",
        *map(label, study.swept),
        "Remark",
    ]
    return table(caption, headings, rows, numeric=range(2, 5 + len(study.swept)), look="dense")


def solution_table(results: Results, found: Certainty) -> Markup:
    """The smallest value that will do."""
    if not len(found.solutions):
        return Markup("")
    rows = []
    for row in found.solutions.to_dict("records"):
        values = [
            quantity_text(str(row["variable"]), float(row[key])) if np.isfinite(row[key]) else "none"
            for key in ("nominal", "value")
        ]
        chance = interval_text(row) if np.isfinite(row["value"]) else "–"
        rows.append(
            Row([title_of(results, str(row["architecture"])), row["condition"], *values, chance, row["note"]])
        )
    variable = words_of(str(found.solutions["variable"].iloc[0]))
    asked = chance_text(found.asked)
    return table(
        f"Smallest {variable} from which it holds, all else as in the design examined: at nominal values and with "
        f"{asked}.",
        ["Architecture", "Until it", "Nominal", f"With {asked}", "Chance there", "Remark"],
        rows,
        numeric=(2, 3, 4),
    )


def write_page(study: Study, mission: Mission, found: Certainty, path: Path) -> Path:
    """The answer of the command as one HTML file that asks nothing of the network.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    results = stand_in(study, mission, found)
    drawn = [figure_block(one) for one in draw_figures(results, FIGURES)]
    header = Markup(f"<h1>{text(TITLE + ': ' + study.title)}</h1>" + paragraph(study.question))
    section = Section(SECTION, TITLE, certainty_parts(results, drawn)[:-1])
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(page(f"{study.title} - {TITLE.lower()}", header, [section]), encoding="utf-8")
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from error
    return path


def stand_in(study: Study, mission: Mission, found: Certainty) -> Results:
    """Results in which the design that was examined is the only one of its architecture."""
    free = found.chance[found.chance["calendar"] == "free"]
    names = list(study.architectures)
    designs = pd.DataFrame(
        {
            "architecture": pd.Categorical(free["architecture"].astype(str), categories=names),
            "closes": free["nominal_closes"].to_numpy(dtype=bool),
            "margin": free["nominal_margin"].to_numpy(dtype=np.float64),
            "limited_by": LINKS[0],
            "limited_at": 1,
        }
    )
    designs[study.figure_of_merit] = free["nominal_merit"].to_numpy(dtype=np.float64)
    results = Results(
        study, mission, designs, designs, 0.0, versions(), certainty=found, evaluated=found.evaluated
    )
    for name, point in results.conditions().items():
        designs[name] = point
    return results
