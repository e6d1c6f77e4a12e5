"""A bench as a page of its own: cautions, what cannot be true, reconciled facts, calibration, and the mission."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tradespace.bench import CAUTION
from tradespace.bench.records import IMPOSSIBLE, PASSES, SUSPECT
from tradespace.errors import OutputError
from tradespace.report.bench.fitted import calibration_parts, loss_parts
from tradespace.report.bench.flown import mission_parts
from tradespace.report.bench.told import ORDER, check_parts, fact_parts
from tradespace.report.page import Markup, Section, details, facts, page, paragraph, tag, text
from tradespace.report.sources import cautions
from tradespace.sweep import versions

if TYPE_CHECKING:
    from tradespace.bench.calibration import Calibration
    from tradespace.bench.records import Check, Fit, Loss, Readings, Reconciled
    from tradespace.bench_mission import Carried

HAZARDS = (
    "Hydrogen with oxygen burns and detonates over a wide range, hot caustic electrolyte blinds and "
    "burns, oxygen under "
    "pressure feeds fires, and a current source raises the pressure of a closed volume without "
    "limit. This page describes "
    "readings that were taken. It approves no set-up and tells nobody how to build one: the "
    "documents below, local codes "
    "and licensed practice rule."
)
DOUBTFUL = (
    "Not all of these readings can be true, so what follows is no better than the reading that is wrong: settle that "
    "first, then read this part again."
)
INVENTED = (
    "These readings are invented, and so is everything that follows from them. No bench like it exists."
)


def write_page(
    readings: Readings,
    reconciled: Reconciled,
    checks: Sequence[Check],
    fit: Fit,
    losses: Sequence[Loss],
    carried: Carried | None,
    calibration: Calibration | None,
    path: Path,
) -> Path:
    """Everything that a bench told, as one HTML file that asks nothing of the network.

    Parameters
    ----------
    readings, reconciled, checks, fit, losses
        Of one bench, step by step.
    carried : Carried, optional
        What its cell and engine do for a mission; None where no mission was asked.
    calibration : Calibration, optional
        What a study can read; None where the readings tell of neither cell nor engine.
    path : Path
        Where the page goes.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    title = title_of(readings)
    source = source_note(readings)
    broken = any(one.verdict == IMPOSSIBLE for one in checks)
    warned = [paragraph(DOUBTFUL, look="verdict open")] if broken else []
    sections = [
        Section("cautions", "Cautions", [paragraph(HAZARDS, look="verdict open"), *_documents()]),
        Section("checks", "Can all of it be true?", check_parts(readings, checks, reconciled, source)),
        Section("facts", "Reconciled facts", fact_parts(readings, reconciled, fit, source)),
    ]
    if losses:
        sections.append(Section("losses", "Where the power went", loss_parts(losses, source)))
    if calibration is not None:
        sections.append(
            Section("calibration", "Calibration", [*warned, *calibration_parts(calibration, fit, source)])
        )
    if carried is not None:
        sections.append(
            Section("mission", "What it does for the mission", [*warned, *mission_parts(carried, source)])
        )
    sections.append(Section("origin", "Where the numbers come from", origin_parts(readings, calibration)))
    content = page(f"{title} - bench", _header(title, readings, checks), sections)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from error
    return path


def title_of(readings: Readings) -> str:
    """What the bench is called: the title of its file, or the name of the file."""
    return readings.title or (readings.path.stem if readings.path is not None else "Readings of a bench")


def source_note(readings: Readings) -> str:
    """Which readings a figure is drawn from, so that a copy can be traced back."""
    program = f"tradespace {versions().get('tradespace', '')}".replace("not installed", "").strip()
    name = "readings" if readings.path is None else readings.path.name
    mark = f" ({readings.hash[:12]})" if readings.hash else ""
    invented = ", invented" if readings.invented else ""
    return f"Computed by {program} from {name}{mark}: {readings.points} points{invented}."


def _header(title: str, readings: Readings, checks: Sequence[Check]) -> Markup:
    """Title, whether it is invented, the gravest verdict, and the cautions in one sentence."""
    parts = [Markup(f"<h1>{text(title)}</h1>")]
    if readings.invented:
        parts.append(paragraph(tag("invented", "given"), " ", INVENTED))
    parts.append(paragraph(overall(checks)))
    parts.append(paragraph(CAUTION, Markup(' <a href="#cautions">Hazards and the documents that decide</a>')))
    return Markup("".join(parts))


def overall(checks: Sequence[Check]) -> str:
    """How many verdicts of each kind, in words."""
    counts = {verdict: sum(one.verdict == verdict for one in checks) for verdict in ORDER}
    if counts[IMPOSSIBLE]:
        lead = "No: not all of these readings can be true."
    elif counts[SUSPECT]:
        lead = "Perhaps: nothing is impossible, but something is suspect."
    elif counts[PASSES]:
        lead = "Yes, as far as they say: nothing contradicts anything else."
    else:
        lead = "The readings do not say."
    return f"{lead} Of {len(checks)} conditions: {', '.join(f'{counts[one]} {one}' for one in ORDER if counts[one])}."


def _documents() -> list[Markup]:
    """The usual cautions with the documents that decide, folded away behind their lead."""
    found = cautions()
    return [
        details(
            f"The {len(found)} hazards of this work and the documents that decide", Markup("\n".join(found))
        )
    ]


def origin_parts(readings: Readings, calibration: Calibration | None) -> list[Markup]:
    """File, hash, notes and version."""
    pairs: list[tuple[str, object]] = [
        ("Readings", readings.path.name if readings.path is not None else "given in the program"),
        ("SHA-256", readings.hash or "–"),
        ("Points kept", readings.points),
        ("Invented", "yes" if readings.invented else "not said to be"),
        ("Version", versions().get("tradespace", "")),
    ]
    if calibration is not None and calibration.date:
        pairs.append(("Written", calibration.date))
    if readings.notes:
        pairs.append(("Notes of the file", readings.notes))
    return [facts(pairs)]
