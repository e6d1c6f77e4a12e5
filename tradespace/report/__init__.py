"""The report: one page with the verdict first and its evidence after it, readable without a network."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tradespace.comparison import standings
from tradespace.errors import OutputError
from tradespace.figures import draw_figures, write_figures
from tradespace.figures.crossing import crossing_words
from tradespace.report import sources, tables
from tradespace.report.campaign import CSV_NAME, campaign_parts, write_campaign
from tradespace.report.certainty import certainty_parts
from tradespace.report.checks import check_parts
from tradespace.report.comparison import comparison_parts
from tradespace.report.improvements import improvement_parts
from tradespace.report.page import Markup, Section, details, facts, figure_block, page, paragraph, text
from tradespace.report.stacking import stackup_parts
from tradespace.report.water import water_parts
from tradespace.report.words import left_out_note, mark_note, reference_words, verdict
from tradespace.sampling import plan_words
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.figures import DrawnFigure
    from tradespace.results import Results

__all__ = ["CSV_NAME", "report_page", "write_campaign", "write_report", "write_report_of_run"]

LONGEST_FILE = 400
"""Lines of a study file that are shown; of a longer one, which holds a list of designs, the middle is left out."""


def write_report(results: Results, path: str | Path) -> Path:
    """Write the report as one HTML file.

    Parameters
    ----------
    results : Results
        What a run gave.
    path : str or Path
        File to write; its folder is made if it is missing.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    target = Path(path)
    content = report_page(results)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(content, encoding="utf-8")
    except OSError as error:
        raise OutputError(f"cannot write the report {target}: {error.strerror or error}") from error
    return target


def write_report_of_run(folder: str | Path, figures: Sequence[str] = ()) -> list[Path]:
    """Write ``report.html`` and ``campaign.csv`` of a finished run again, and its figures as files on request.

    Parameters
    ----------
    folder : str or Path
        Folder of a run.
    figures : sequence of str
        Any of ``pdf``, ``svg``, ``csv``; they go into ``figures`` below the folder.

    Returns
    -------
    list of Path
        The files written, the report first, the hops as CSV next.

    Raises
    ------
    OutputError
        If a file cannot be written, or PDF and SVG are asked for and no browser is on the machine.
    """
    from tradespace.sweep import read_run

    place = Path(folder)
    results = read_run(place)
    written = [write_report(results, place / "report.html"), write_campaign(results, place / CSV_NAME)]
    return written + (write_figures(results, place / "figures", figures) if figures else [])


def report_page(results: Results) -> str:
    """The report as text."""
    drawn = list(draw_figures(results))
    ranked = standings(results)
    sections = [
        verdict_section(results),
        Section("closure", "Where it closes, and what binds", blocks(drawn, "closure")),
        Section("certainty", "How sure we are", certainty_parts(results, blocks(drawn, "certainty"))),
        Section("power", "Power, efficiency and refuelling", blocks(drawn, "power")),
        Section("water", "What a kilogram of water costs", [*blocks(drawn, "water"), *water_parts(results)]),
        Section("devices", "The cell and the engine", blocks(drawn, "devices")),
        Section("crossing", "Which is better where", blocks(drawn, "crossing")),
        moving_section(results, drawn),
        Section("driving", "What drives the answer", blocks(drawn, "driving")),
        Section(
            "stackup", "What naive estimates leave out", stackup_parts(results, blocks(drawn, "stackup"))
        ),
        solve_section(results),
        Section(
            "improvements",
            "What it would take to close",
            [*blocks(drawn, "improvements"), *improvement_parts(results)],
        ),
        Section(
            "designs",
            "The best designs",
            [*blocks(drawn, "designs"), tables.best_designs(results, ranked)],
        ),
        Section(
            "comparison",
            "The architectures side by side",
            [*blocks(drawn, "comparison"), *comparison_parts(results)],
        ),
        Section("calendar", "Calendar", blocks(drawn, "calendar")),
        Section("campaign", "Hop by hop", campaign_parts(results, ranked)),
        Section("assumptions", "Assumptions", [tables.assumptions(results)]),
        Section("thrusters", "Thrusters", [tables.thruster_table(results)]),
        Section("checks", "Checks against published values", check_parts()),
        Section("sources", "Sources", [sources.bibliography(results)]),
        run_section(results),
        Section("cautions", "Cautions", [caution_lead(), *sources.cautions()]),
    ]
    return page(
        f"{results.study.title} - tradespace report", header(results), [one for one in sections if one.parts]
    )


def blocks(drawn: list[DrawnFigure], section: str) -> list[Markup]:
    """Figures of one section."""
    return [figure_block(one) for one in drawn if one.section == section]


def header(results: Results) -> Markup:
    """Title, question and route."""
    study = results.study
    route = study.route.replace(" > ", " → ")
    lines = [
        Markup(f"<h1>{text(study.title)}</h1>"),
        paragraph(study.question),
        paragraph(
            f"Route: {route}; start {format_date(study.start_date)}, horizon {format_date(study.horizon)}."
        ),
    ]
    if study.note:
        lines.append(paragraph(study.note, look="note"))
    return Markup("\n".join(lines))


def verdict_section(results: Results) -> Section:
    """The answer, and all architectures side by side."""
    words, closes = verdict(results)
    parts = [
        paragraph(words, look=f"verdict {'closes' if closes else 'open'}"),
        paragraph(reference_words(results)),
        *([paragraph(crossing_words(results))] if crossing_words(results) else []),
        tables.ranking(results, standings(results)),
        *[paragraph(words, look="note") for words in (mark_note(results), left_out_note(results)) if words],
    ]
    parts += [paragraph(note, look="note") for note in results.notes]
    return Section("verdict", "Verdict", parts)


def moving_section(results: Results, drawn: list[DrawnFigure]) -> Section:
    """Tornado and exchange rates."""
    if results.sensitivity is None:
        return Section(
            "moving", "What moves the answer", [paragraph("No sensitivities were computed for this run.")]
        )
    return Section(
        "moving", "What moves the answer", [*blocks(drawn, "moving"), tables.exchange_table(results)]
    )


def solve_section(results: Results) -> Section:
    """The solver's answer, when one was asked for."""
    found = tables.solutions(results)
    return Section("solve", "What it takes", [] if found is None else [found])


def shortened(words: str) -> str:
    """A study file without the middle of a long list."""
    lines = words.split("\n")
    left_out = len(lines) - LONGEST_FILE
    if left_out <= 0:
        return words
    half = LONGEST_FILE // 2
    middle = f"... ({left_out} lines of the list left out here; they stand in evidence/study.toml) ..."
    return "\n".join([*lines[:half], middle, *lines[-half:]])


def run_section(results: Results) -> Section:
    """What is needed to run it again."""
    study = results.study
    rate = "" if results.designs_per_second is None else f" ({results.designs_per_second:.0f} a second)"
    pairs = [
        ("Study", study.name),
        ("Hash of the study", study.hash),
        ("Seed", study.seed),
        ("Plan", f"for each architecture: {plan_words(study)}"),
        (
            "Designs",
            f"{len(results.designs)}; {results.evaluated} evaluated in {results.seconds:.1f} s{rate}",
        ),
        *((f"Version of {name}", version) for name, version in sorted(results.versions.items())),
    ]
    source = details("The study file", Markup(f"<pre>{text(shortened(study.text))}</pre>"))
    return Section("run", "How to run it again", [facts(pairs), source])


def caution_lead() -> Markup:
    """Where the cautions apply."""
    return paragraph(
        "For anyone who takes a result of this page to a bench: water-fed propulsion means hydrogen, "
        "oxygen, caustic, pressure, heat and "
        "current in one place. What follows are reminders, not limits and not instructions; the "
        "documents named decide, with local codes "
        "and licensed practice."
    )
