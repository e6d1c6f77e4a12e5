"""The stack-up in the report and as a page of its own: tables of the steps beside the waterfalls."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace import stackup
from tradespace.errors import OutputError
from tradespace.figures import DrawnFigure, export
from tradespace.figures.waterfall import best_fed, waterfall
from tradespace.report.page import Markup, Row, Section, details, figure_block, page, paragraph, table, text
from tradespace.sweep import versions

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results
    from tradespace.study import Study

LEAD = (
    "The reference design, started from what a naive estimate takes (ideal specific impulse, cells of 80 %, full sun "
    "at 1 au, free water, no tanks, no margins) and led to the study's own one effect after the other. "
)
SWITCH = (
    "Each effect is a switch in the section [effects] of the study, such as night = false, which every command "
    "honours."
)
STEPS = ("Effect", "Refuelling", "own", "Time per hop", "own", "Mass", "own", "Closes; tightest")
MULTIPLES = (
    "Effect",
    "Refuelling",
    "hop",
    "mass",
    "alone: refuelling",
    "hop",
    "mass",
    "Closes alone; tightest",
)
NUMERIC = tuple(range(1, 7))
WIDTH = 85


def stackup_parts(results: Results, drawn: list[Markup]) -> list[Markup]:
    """The section of the report: figures of the best water-fed architectures, and a table for each of them."""
    names = list(best_fed(results))
    if not names or results.sensitivity is None:
        return []
    found = results.sensitivity.stackup
    parts = [paragraph(LEAD, stackup.ORDER, " ", SWITCH), *drawn]
    for name in names:
        title, rows = results.study.thrusters[name].title, found[found["architecture"] == name]
        parts.append(details(f"The steps of {title}", Markup("\n".join(step_tables(rows, title)))))
    return parts


def step_tables(rows: pd.DataFrame, title: str) -> list[Markup]:
    """Every step of one architecture with its own multiplier, then the products so far and each effect alone."""
    steps, multiples = [], []
    for row in rows.to_dict("records"):
        own: list[object] = [row["title"]]
        for metric in stackup.METRICS:
            own += [stackup.said(metric, row[metric], 3), stackup.factor_said(row[f"{metric}_step"])]
        products: list[object] = [row["title"]]
        products += [
            stackup.factor_said(row[f"{metric}_{kind}"])
            for kind in ("total", "alone_step")
            for metric in stackup.METRICS
        ]
        for cells, ending in ((own, ""), (products, "_alone")):
            place = row[f"limited_by{ending}"], row[f"limited_at{ending}"]
            cells.append(stackup.verdict_said(row[f"closes{ending}"], *place))
        steps.append(Row(own))
        multiples.append(Row(products))
    first = (
        f"{title}, one effect after the other: refuelling is the mean of the hops, own is the multiplier of the step. "
        f"{stackup.closing_words(rows)}"
    )
    second = "Multiples of the naive estimate: with all effects so far, and with that one alone."
    return [table(first, STEPS, steps, NUMERIC), table(second, MULTIPLES, multiples, NUMERIC)]


def drawings(study: Study, found: pd.DataFrame) -> list[DrawnFigure]:
    """The waterfall of every architecture of a stack-up."""
    program = f"tradespace {versions().get('tradespace', '')}".replace("not installed", "").strip()
    source = f"Computed by {program} from study {study.name} ({study.hash[:12]}): the reference design."
    drawn = []
    for name, rows in found.groupby("architecture", sort=False):
        title = study.thrusters[str(name)].title
        figure = waterfall(rows, title)
        caption = str((figure.layout.meta or {}).get("caption", ""))
        heading = f"What naive estimates leave out: {title}"
        drawn.append(DrawnFigure(f"stackup_{name}", heading, "stackup", figure, caption, source, WIDTH))
    return drawn


def write_page(study: Study, found: pd.DataFrame, path: Path) -> Path:
    """The stack-up as one HTML file that asks nothing of the network.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    header = Markup(
        f"<h1>{text('Stack-up: ' + study.title)}</h1>"
        + paragraph(study.question)
        + paragraph(LEAD, stackup.ORDER, " ", SWITCH)
    )
    sections = []
    for drawn in drawings(study, found):
        name = drawn.key.removeprefix("stackup_")
        rows = found[found["architecture"] == name]
        title = study.thrusters[name].title
        sections.append(Section(name, title, [figure_block(drawn), *step_tables(rows, title)]))
    return _written(
        path, lambda target: target.write_text(page(f"{study.title} - stack-up", header, sections), "utf-8")
    )


def write_waterfalls(study: Study, found: pd.DataFrame, path: Path) -> list[Path]:
    """The waterfalls as PDF, SVG or CSV; the name of the architecture is added where there are several.

    Raises
    ------
    OutputError
        If a file cannot be written, or no browser is on the machine for PDF and SVG.
    """
    drawn = drawings(study, found)
    kind = path.suffix.lower().removeprefix(".")
    several = len(drawn) > 1
    targets = {
        item.key: path.with_name(f"{path.stem}{item.key.removeprefix('stackup') if several else ''}.{kind}")
        for item in drawn
    }
    written = []
    for item in drawn:
        target = targets[item.key]
        if kind == "csv":
            written.append(_written(target, lambda where, item=item: export.write_csv(item, where)))
            continue
        _written(target, lambda where: None)
        made = export.write_images([item], target.parent, [kind])[0]
        written.append(made.replace(target))
    return written


def _written(path: Path, write: Any) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(path)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from error
    return path
