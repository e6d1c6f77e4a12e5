"""Commands about what can be asked: new, check and list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.planning import described_plan, described_uncertain, print_uncertain
from tradespace.cli.printing import print_json, print_pairs, print_table
from tradespace.errors import StudyError, nearest, printable
from tradespace.quantities import display, json_key, quantities
from tradespace.tables import DATA
from tradespace.units import format_date

if TYPE_CHECKING:
    from click import Context, Parameter
    from click.shell_completion import CompletionItem

    from tradespace.study import Study

TEMPLATE = DATA / "template.toml"

json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")


def example(line: str, caution: str = "") -> str:
    """The end of a command's help: one worked example, on a line of its own, after a caution where there is one.

    Examples
    --------
    >>> print(example("tradespace check my_study").replace(chr(8), "").strip())
    Example:
      tradespace check my_study
    """
    return (f"{caution}\n\n" if caution else "") + f"\b\nExample:\n  {line}"


def complete_study(context: Context, parameter: Parameter, incomplete: str) -> list[CompletionItem]:
    """Studies that are found by name, and files."""
    from click.shell_completion import CompletionItem

    del context, parameter
    found = [CompletionItem(name, help=str(path)) for name, path in sorted(shipped_studies().items())]
    return [one for one in found if one.value.startswith(incomplete)] or [
        CompletionItem(incomplete, type="file")
    ]


def shelves() -> list[Path]:
    """Folders in which studies are looked up by name, nearest first."""
    return [Path("studies"), DATA / "studies", DATA.parents[1] / "studies"]


def shipped_studies() -> dict[str, Path]:
    """Study files by name; the nearest folder wins."""
    found: dict[str, Path] = {}
    for shelf in shelves():
        for path in sorted(shelf.glob("*.toml")):
            found.setdefault(path.stem, path)
    return found


def study_path(text: str) -> Path:
    """The file of a study given by path or by name.

    Raises
    ------
    StudyError
        If there is neither.
    """
    path = Path(text)
    try:
        if path.exists():
            return path
    except (OSError, ValueError) as error:
        raise StudyError(f"{printable(text)[:200]}: is not a usable file name") from error
    known = shipped_studies()
    if text in known:
        return known[text]
    close = nearest(path.stem, known)
    words = (
        f"did you mean {' or '.join(repr(item) for item in close)}?"
        if close
        else "see: tradespace list studies"
    )
    raise StudyError(f"{printable(text)}: no such study file; {words}")


def load(text: str) -> Study:
    """Read a study given by path or by name."""
    from tradespace.study import load_study

    return load_study(study_path(text))


def renamed(text: str, name: str) -> str:
    """The text of a study under another name."""
    from tradespace.study.document import entry_lines

    lines = text.split("\n")
    for path, number in entry_lines(text):
        if path == ("study", "name"):
            lines[number - 1] = f'name = "{name}"'
    return "\n".join(lines)


@click.command(epilog=example("tradespace new my_study --from outer_belt_ice_tour"))
@click.argument("name")
@click.option(
    "--from", "source", metavar="STUDY", help="Start from this study instead of the commented example."
)
@json_option
def new(name: str, source: str | None, as_json: bool) -> None:
    """Write NAME.toml, a commented study that runs as it is."""
    from tradespace.study import parse_study
    from tradespace.study.document import read_text
    from tradespace.study.new_file import require_name, write_new

    stem = name.removesuffix(".toml")
    require_name(stem)
    path = Path(f"{stem}.toml")
    origin = TEMPLATE if source is None else study_path(source)
    text = renamed(read_text(origin), stem)
    text = parse_study(text, str(origin), origin.parent).text  # a list beside the study comes along inside it
    write_new(path, text)
    if as_json:
        print_json({"written": str(path)})
        return
    click.echo(f"wrote {path}; next: tradespace run {path}")


@click.command(epilog=example("tradespace check outer_belt_ice_tour"))
@click.argument("study", shell_complete=complete_study)
@json_option
def check(study: str, as_json: bool) -> None:
    """Read STUDY and say what would be run."""
    from tradespace import sampling

    asked = load(study)
    designs = sampling.design_count(asked)
    if as_json:
        print_json(_described(asked, designs))
        return
    print_pairs(_summary(asked, designs))
    if asked.sweep:
        click.echo()
        rows = [
            (item.name, display(item.name, item.points.min()), display(item.name, item.points.max()),
             sampling.swept_words(asked, item).removesuffix(" points"), item.spacing)
            for item in asked.sweep
        ]  # fmt: skip
        print_table(("swept", "from", "to", "points", "spacing"), rows)
    print_uncertain(asked)
    click.echo()
    given = [
        (name, display(name, asked.values[name]))
        for name in quantities()
        if name in asked.given & set(asked.values)
    ]
    print_table(("given", "value"), given)
    others = len(asked.values) - len(given)
    click.echo(f"the other {others} inputs keep their defaults; see: tradespace list quantities")


def _summary(asked: Study, designs: int) -> list[tuple[str, object]]:
    from tradespace.sampling import plan_words

    pairs: list[tuple[str, object]] = [
        ("study", asked.name),
        ("title", asked.title),
        ("question", asked.question or "-"),
        ("route", asked.route),
        ("dates", f"{format_date(asked.start_date)} to {format_date(asked.horizon)}"),
        ("architectures", ", ".join(asked.architectures)),
        ("designs", f"{designs:,}".replace(",", " ")),
        ("plan", plan_words(asked)),
        ("figure of merit", f"{asked.figure_of_merit}, {asked.figure_of_merit_better} is better"),
        ("seed", asked.seed),
    ]
    pairs += [(name.replace("_", " "), taken) for name, taken in asked.options.items()]
    if asked.calibration is not None:
        told = asked.calibration
        words = f"{told.title}: {', '.join(told.names)}, from {told.points} readings"
        pairs.append(("calibration", words + (", invented" if told.invented else "")))
    if asked.conditions:
        pairs.append(("conditions", ", ".join(asked.conditions)))
    if asked.map_axes:
        pairs.append(("closure map", " by ".join(asked.map_axes)))
    if asked.solve is not None:
        limit = display(asked.solve.column, asked.solve.limit)
        pairs.append(
            ("solve", f"{asked.solve.variable} until {asked.solve.column} {asked.solve.relation} {limit}")
        )
    return pairs


def _described(asked: Study, designs: int) -> dict[str, Any]:
    known = quantities()
    solve = asked.solve
    return {
        "study": asked.name,
        "title": asked.title,
        "question": asked.question,
        "kind": asked.kind,
        "stops": list(asked.stops),
        "hops": asked.hops,
        "start_date": format_date(asked.start_date),
        "horizon": format_date(asked.horizon),
        "architectures": list(asked.architectures),
        "designs": designs,
        "figure_of_merit": asked.figure_of_merit,
        "better": asked.figure_of_merit_better,
        "map": list(asked.map_axes),
        "seed": asked.seed,
        "sweep": {
            json_key(item.name): [known[item.name].shown(float(point)) for point in item.points]
            for item in asked.sweep
        },
        "plan": described_plan(asked),
        "uncertain": described_uncertain(asked),
        "values": {json_key(name): known[name].shown(value) for name, value in asked.values.items()},
        "given": sorted(asked.given),
        "options": asked.options,
        "calibration": None if asked.calibration is None else {
            "title": asked.calibration.title, "readings": asked.calibration.readings,
            "points": asked.calibration.points, "invented": asked.calibration.invented,
            "quantities": list(asked.calibration.names),
        },
        "solve": None if solve is None else {
            "variable": solve.variable, "column": solve.column, "relation": solve.relation,
            "limit": known[solve.column].shown(solve.limit), "unit": known[solve.column].display_unit,
        },
        "study_hash": asked.hash,
    }  # fmt: skip
