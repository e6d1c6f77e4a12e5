"""From the readings of a test stand to reconciled facts and to a mission: the command bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.bench import CAUTION
from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.doubting import chance_words
from tradespace.cli.printing import print_heading, print_json, print_table, print_toned, rows_of
from tradespace.errors import OutputError, ReadingsError, nearest, printable
from tradespace.quantities import display
from tradespace.tables import read_table

if TYPE_CHECKING:
    from click import Context, Parameter
    from click.shell_completion import CompletionItem

    from tradespace.bench.calibration import Calibration
    from tradespace.bench.records import Check, Fit, Loss, Readings, Reconciled
    from tradespace.bench_mission import Carried

TONES = {"impossible": "red", "suspect": "yellow", "passes": "green", "not known": "bright_black"}
FILES = ("calibration.toml", "reconciled.csv", "bench.html")
DAY = "d"


def complete_readings(context: Context, parameter: Parameter, incomplete: str) -> list[CompletionItem]:
    """Readings that come with the package, and files."""
    from click.shell_completion import CompletionItem

    from tradespace.bench.demo import demo_names

    del context, parameter
    found = [CompletionItem(name) for name in demo_names() if name.startswith(incomplete)]
    return found or [CompletionItem(incomplete, type="file")]


def readings_path(text: str) -> Path:
    """The file of readings given by path or by the name of shipped ones.

    Raises
    ------
    ReadingsError
        If there is neither.
    """
    from tradespace.bench.demo import demo_names, demo_path

    path = Path(text)
    try:
        if path.exists():
            return path
    except (OSError, ValueError) as error:
        raise ReadingsError(f"{printable(text)[:200]}: is not a usable file name") from error
    if text in demo_names():
        return demo_path(text)
    close = nearest(path.stem, demo_names())
    words = f"did you mean {' or '.join(map(repr, close))}?" if close else "see: tradespace list readings"
    raise ReadingsError(f"{printable(text)}: no such file of readings; {words}")


@click.command(
    epilog=example("tradespace bench whole_chain --study ceres_surface_hopper --out my_bench", CAUTION)
)
@click.argument("readings", shell_complete=complete_readings)
@click.option(
    "--study", metavar="STUDY", shell_complete=complete_study,
    help="Fly this mission with the cell and the engine that were measured.",
)  # fmt: skip
@click.option(
    "--architecture",
    "names",
    metavar="NAME",
    multiple=True,
    help="Only this one; may be given more than once.",
)
@click.option(
    "--design", "which", default="best", metavar="best|baseline|NUMBER",
    help="Which design of the study is flown with both.",
)  # fmt: skip
@click.option(
    "--samples", type=int, default=2048, show_default=True, metavar="N", help="Draws for each chance."
)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FOLDER",
    help="Write calibration.toml, reconciled.csv and bench.html there.",
)  # fmt: skip
@json_option
def bench(
    readings: str,
    study: str | None,
    names: tuple[str, ...],
    which: str,
    samples: int,
    out: Path | None,
    as_json: bool,
) -> None:
    """Reconcile READINGS of a test stand, say what cannot be true, and carry the rest into a mission.

    READINGS is a CSV file with a row of units, a TOML file, or the name of readings that come with the package.
    """
    asked = None if study is None else load(study)
    if out is not None:
        _require_place(out)
    from tradespace.bench.checks import check
    from tradespace.bench.fitting import calibrate
    from tradespace.bench.losses import losses
    from tradespace.bench.readings import read_readings
    from tradespace.bench.reconciling import reconcile

    taken = read_readings(readings_path(readings))
    found = reconcile(taken)
    verdicts = check(found)
    fit = calibrate(found)
    lost = losses(found, fit)
    calibration = _calibration(taken, fit, verdicts, needed=asked is not None)
    carried = None
    if asked is not None and calibration is not None:
        from tradespace.bench_mission import carry

        carried = carry(asked, calibration, names or None, which=which, samples=samples)
    written = [] if out is None else _write(out, taken, found, verdicts, fit, lost, calibration, carried)
    if as_json:
        print_json(_content(taken, found, verdicts, fit, lost, calibration, carried, written))
        return
    _print(taken, found, verdicts, fit, lost)
    if calibration is not None:
        _print_calibration(calibration)
    if carried is not None:
        _print_carried(carried)
    for path in written:
        click.echo(f"wrote {printable(path)}")


def _require_place(out: Path) -> None:
    """Say at once when nothing can be written there."""
    if out.exists() and not out.is_dir():
        raise OutputError(f"--out {printable(out)}: is a file; give a folder")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"--out {printable(out)}: cannot be made ({error.strerror})") from error


def _calibration(taken: Readings, fit: Fit, verdicts: list[Check], *, needed: bool) -> Calibration | None:
    """What a study can read; None where the readings tell of neither cell nor engine and no study asks."""
    import datetime

    import tradespace
    from tradespace.bench.making import calibration_of
    from tradespace.errors import CalibrationError

    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    try:
        return calibration_of(taken, fit, verdicts, date=today, version=tradespace.__version__)
    except CalibrationError:
        if needed:
            raise
        return None


def _write(
    out: Path,
    taken: Readings,
    found: Reconciled,
    verdicts: list[Check],
    fit: Fit,
    lost: list[Loss],
    calibration: Calibration | None,
    carried: Carried | None,
) -> list[Path]:
    """The calibration, the facts of every point, and the page; each whole or not there."""
    from tradespace.bench.calibration import write_calibration
    from tradespace.bench.measures import write_reconciled
    from tradespace.report.bench import write_page

    written = [] if calibration is None else [write_calibration(calibration, out / FILES[0])]
    written.append(write_reconciled(found, out / FILES[1]))
    written.append(write_page(taken, found, verdicts, fit, lost, carried, calibration, out / FILES[2]))
    return written


def _print(taken: Readings, found: Reconciled, verdicts: list[Check], fit: Fit, lost: list[Loss]) -> None:
    """Cautions, verdicts and facts for people."""
    from tradespace.bench.measures import burns_and_not, summary

    click.echo(CAUTION)
    title = printable(taken.title or (taken.path.name if taken.path else "readings"))
    click.echo(f"\n{title}: {taken.points} points{', invented' if taken.invented else ''}")
    for remark in taken.remarks:
        click.echo(f"  {printable(remark)}")
    click.echo()
    print_heading("Can all of it be true?")
    for verdict in sorted(verdicts, key=lambda item: list(TONES).index(item.verdict)):
        if verdict.verdict != "not known":
            print_toned(f"{verdict.verdict:<10} {printable(verdict.words)}", TONES[verdict.verdict])
    unknown = [verdict.name for verdict in verdicts if verdict.verdict == "not known"]
    if unknown:
        click.echo(f"{'not known':<10} {printable(', '.join(unknown))}: the readings do not say")
    click.echo()
    which = "points that burn" if burns_and_not(found) else "points"
    print_heading(f"Reconciled facts, mean of the {which}, k = 2")
    print_table(("fact", "value", "k = 2", "points"), [row.cells() for row in summary(found)])
    if lost:
        click.echo()
        print_heading("Where the power went")
        whole = sum(item.power for item in lost if item.begins == lost[0].begins)
        rows = [
            (item.name, item.ends, f"{item.power:.4g} W", f"{100.0 * item.power / whole:.1f} %", item.basis)
            for item in lost
        ]
        print_table(("part", "goes to", "power", "of the supply", "basis"), rows)
    for words in fit.words:
        click.echo(printable(words))


def _print_calibration(calibration: Calibration) -> None:
    """The values that a study would read."""
    click.echo()
    print_heading("Calibration: value with 95 % interval")
    rows = [
        (name, display(name, one.value), display(name, one.low), display(name, one.high),
         "readings" if one.informed else "assumed before")
        for name, one in calibration.values.items()
    ]  # fmt: skip
    print_table(("quantity", "value", "from", "to", "told by"), rows)


def _print_carried(carried: Carried) -> None:
    """The mission with the catalogue's and with the bench's cell and engine."""
    click.echo()
    print_heading(f"{printable(carried.study.title)}: the same design with catalogue and bench")
    standing = [
        (row["architecture"], row["source"], row["calendar"],
         "closes" if row["closes"] else f"fails ({row['limited_by']})",
         display("specific_impulse", row["specific_impulse"]), display("split_energy", row["split_energy"]),
         display("refuel_time_mean", row["refuel_time_mean"]), display("start_mass", row["start_mass"]))
        for row in rows_of(carried.standing)
    ]  # fmt: skip
    print_table(
        (
            "architecture",
            "cell, engine",
            "dates",
            "design",
            "Isp",
            "split energy",
            "refuelling",
            "start mass",
        ),
        standing,
    )
    click.echo()
    chances = [
        (
            row["architecture"],
            "the bench alone" if row["uncertain"] == "bench" else "all inputs",
            chance_words(row),
        )
        for row in rows_of(carried.chance)
    ]
    print_table(("architecture", "uncertain", "closes with"), chances)
    click.echo()
    print_heading(
        "What a tenth of a loss removed would buy (time per hop: refuelling and the longest burn, departures kept)"
    )
    rows = [
        (row["architecture"], row["quantity"], display(row["quantity"], row["value"]),
         display(row["quantity"], row["improved"]), display("refuel_time", row["work_time_gain"]),
         display("start_mass", row["start_mass_gain"]), f"{row['margin_gain']:+.3f}")
        for row in rows_of(carried.exchange)
    ]  # fmt: skip
    print_table(
        ("architecture", "number of the bench", "now", "then", "time per hop", "start mass", "margin"), rows
    )
    for words in carried.words:
        click.echo(printable(words))


def _content(
    taken: Readings,
    found: Reconciled,
    verdicts: list[Check],
    fit: Fit,
    lost: list[Loss],
    calibration: Calibration | None,
    carried: Carried | None,
    written: list[Path],
) -> dict[str, Any]:
    """Everything as one object, SI throughout."""
    import dataclasses

    from tradespace.bench.measures import summary

    return {
        "cautions": [row["caution"] for row in read_table("cautions.csv").rows],
        "title": taken.title, "invented": taken.invented, "points": taken.points, "remarks": list(taken.remarks),
        "checks": [dataclasses.asdict(verdict) for verdict in verdicts],
        "facts": {row.name: row.content() for row in summary(found)},
        "losses": [dataclasses.asdict(item) for item in lost],
        "fit": {
            name: {"value": float(fit.values[place]), "low": float(fit.low[place]), "high": float(fit.high[place]),
                   "informed": fit.informed[place]}
            for place, name in enumerate(fit.names)
        },
        "calibration": {} if calibration is None else {
            name: {"value": one.value, "low": one.low, "high": one.high, "deviation": one.deviation}
            for name, one in calibration.values.items()
        },
        "mission": None if carried is None else {
            "standing": rows_of(carried.standing), "chance": rows_of(carried.chance),
            "exchange": rows_of(carried.exchange), "notes": list(carried.words),
        },
        "written": [str(path) for path in written],
    }  # fmt: skip
