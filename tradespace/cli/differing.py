"""Two finished runs side by side, printed."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.printing import print_json, print_table
from tradespace.errors import OutputError, printable

if TYPE_CHECKING:
    from tradespace.sweep.two_runs import Comparison, Pair, Side

NONE = "none closes"


def compare_two(first: str, second: str, *, as_json: bool) -> None:
    """Print how two finished runs differ.

    Raises
    ------
    OutputError
        If one of them is no finished run.
    """
    from tradespace.sweep import two_runs

    places = (Path(first), Path(second))
    for place in places:
        if not place.is_dir():
            raise OutputError(
                f"{printable(place)} is no finished run; two can be compared: tradespace compare RUN RUN"
            )
    found = two_runs.compare_runs(*places)
    if as_json:
        print_json(content(places, found))
        return
    if found.differences:
        print_table(
            ("what", "first", "second"),
            [(item.what, item.first, item.second) for item in found.differences],
            title="Asked or made otherwise",
        )
    else:
        click.echo("the same question, code and versions")
    click.echo()
    print_table(
        (
            "architecture",
            "closing",
            "of",
            "closing",
            "of",
            "best",
            "best",
            "change",
            "now closes",
            "no longer",
        ),
        [_row(pair, found) for pair in found.pairs],
        title=f"{printable(first)} and then {printable(second)}: {' | '.join(dict.fromkeys(found.merits))}",
    )
    click.echo("best: figure of merit of the best design that closes; change: second less first")
    if found.same_designs:
        click.echo("now closes, no longer: designs that close in the second run only, in the first only")
    else:
        click.echo("the runs are not about the same designs: which of them flipped cannot be counted")
    for pair in found.pairs:
        _print_best(pair)


def _row(pair: Pair, found: Comparison) -> list[object]:
    from tradespace.sweep.two_runs import merit_words

    sides = ((pair.first, found.merits[0]), (pair.second, found.merits[1]))
    counts = [
        cell for side, _ in sides for cell in (("-", "-") if side is None else (side.closing, side.designs))
    ]
    best = [_best(side, merit) for side, merit in sides]
    change = merit_words(found.merits[0], pair.change)
    flips = ["-" if count is None else count for count in (pair.opened, pair.closed)]
    return [pair.architecture, *counts, *best, change, *flips]


def _best(side: Side | None, merit: str) -> str:
    from tradespace.sweep.two_runs import merit_words

    if side is None:
        return "not asked"
    return NONE if side.best is None else merit_words(merit, side.merit)


def _print_best(pair: Pair) -> None:
    """The best designs of an architecture where it closes in both runs and they differ."""
    if pair.first is None or pair.second is None or pair.first.best is None or pair.second.best is None:
        return
    one, two = pair.first.best, pair.second.best
    changed = [key for key in one if key in two and one[key] != two[key]]
    if not changed:
        return
    click.echo()
    print_table(
        ("of the best design", "first", "second"),
        [(key, _cell(one[key]), _cell(two[key])) for key in changed],
        title=pair.architecture,
    )


def _cell(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else "-" if value is None else str(value)


def content(places: tuple[Path, Path], found: Comparison) -> dict[str, Any]:
    """Everything as one object; best designs in the unit in their keys."""
    return {
        "first": str(places[0]),
        "second": str(places[1]),
        "figures_of_merit": list(found.merits),
        "differences": [asdict(item) for item in found.differences],
        "same_designs": found.same_designs,
        "architectures": [asdict(pair) for pair in found.pairs],
    }
