"""Tables and JSON on standard output."""

from __future__ import annotations

import contextlib
import json
import math
import os
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from tradespace.errors import printable

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress

DIGITS = 7


def number(value: float) -> str:
    """A number with the digits that matter.

    Examples
    --------
    >>> number(0.123456789), number(3.0)
    ('0.1234568', '3')
    """
    return f"{value:.{DIGITS}g}"


def _plain(value: Any) -> Any:
    """What JSON can hold: finite numbers, text, lists and objects; missing and infinite become null."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if hasattr(value, "tolist"):
        return _plain(value.tolist())
    if isinstance(value, float):
        return float(f"{value:.15g}") if math.isfinite(value) else None  # drops the dust of unit conversion
    if value is None or isinstance(value, bool | int | str):
        return value
    return str(value)


def print_json(content: Mapping[str, Any]) -> None:
    """Print exactly one JSON object."""
    click.echo(json.dumps(_plain(content), indent=2, allow_nan=False))


NUMBER = re.compile(
    r"(?P<whole>[-−+]?\d[\d,\xa0]*)(?P<rest>\.\d+)?(?P<power>e[-+]?\d+)?(?P<unit> (?:1/|[^\d\s]).*)?"
)
TONES = {"good": "bold cyan", "bad": "bold magenta", "quiet": "dim", "heading": "bold"}
"""Looks of words on a terminal; two colours that colour-blind people tell apart, and the words say it as well."""
Tone = Callable[[str], str]
"""Gives a cell one of :data:`TONES`, or an empty string."""


def coloured() -> bool:
    """Whether standard output shows colours: a terminal that can, and nobody who asked for none."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def console() -> Console:
    """The terminal, without any colour where none is wanted."""
    from rich.console import Console

    return Console(highlight=False) if coloured() else Console(highlight=False, color_system=None)


def margin_tone(cell: str) -> str:
    """Tone of a margin: below zero something is missing.

    Examples
    --------
    >>> margin_tone("-0.2"), margin_tone("0.3"), margin_tone("-")
    ('bad', 'good', '')
    """
    found = NUMBER.fullmatch(cell.strip())
    return "" if found is None else "bad" if cell.strip()[0] in "-−" else "good"


def closing_tone(cell: str) -> str:
    """Tone of a word on whether something closes.

    Examples
    --------
    >>> closing_tone("yes"), closing_tone("no: mass"), closing_tone("none closes"), closing_tone("3 d")
    ('good', 'bad', 'bad', '')
    """
    return (
        "good" if cell.startswith("yes") else "bad" if cell.startswith(("no:", "no ", "none closes")) else ""
    )


def aligned(cells: Sequence[str]) -> list[str]:
    """Cells of a column, numbers set under each other by their decimal points, units under each other.

    A column in which hardly a cell is a number is left as it is.

    Examples
    --------
    >>> aligned(["3.25 kg", "110 kg", "none"])
    ['  3.25 kg', '110    kg', 'none']
    """
    found = [NUMBER.fullmatch(cell) for cell in cells]
    if 2 * sum(one is not None for one in found) < len(cells) or not any(found):
        return list(cells)
    whole = max(len(one["whole"]) for one in found if one)
    rest = max(len((one["rest"] or "") + (one["power"] or "")) for one in found if one)
    lines = []
    for cell, one in zip(cells, found, strict=True):
        if one is None:
            lines.append(cell)
            continue
        tail = (one["rest"] or "") + (one["power"] or "")
        lines.append(f"{one['whole'].rjust(whole)}{tail.ljust(rest)}{one['unit'] or ''}".rstrip())
    return lines


def print_heading(text: str) -> None:
    """Print the heading of a part, in bold on a terminal."""
    print_toned(text, "heading")


def print_toned(text: str, tone: str) -> None:
    """Print a line that has a tone on a terminal and is plain text elsewhere."""
    words = printable(text)
    if not coloured():
        click.echo(words)
        return
    from rich.text import Text

    console().print(Text(words, style=TONES.get(tone, "")), soft_wrap=True)


def print_table(
    headings: Sequence[str],
    rows: Iterable[Sequence[object]],
    title: str = "",
    tones: Mapping[str, Tone] | None = None,
) -> None:
    """Print columns, numbers under each other: drawn on a terminal, plain text elsewhere.

    Parameters
    ----------
    headings, rows
        One heading a column, one cell a column in each row.
    title : str
        Line above the table.
    tones : mapping of str to callable, optional
        By heading, what gives the cells of a column their tone on a terminal.
    """
    cells = [[printable(cell) for cell in row] for row in rows]
    if cells:
        columns = [aligned(column) for column in zip(*cells, strict=True)]
        cells = [list(row) for row in zip(*columns, strict=True)]
    if sys.stdout.isatty():
        _draw_table(headings, cells, title, tones or {})
        return
    if title:
        click.echo(printable(title))
    widths = [max(len(row[column]) for row in [list(headings), *cells]) for column in range(len(headings))]
    for row in [list(headings), *cells]:
        click.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _draw_table(
    headings: Sequence[str], cells: list[list[str]], title: str, tones: Mapping[str, Tone]
) -> None:
    """The table on a terminal, with a rule below its headings."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    heading_line = Text(printable(title), style=TONES["heading"]) if title else None
    drawn = Table(
        title=heading_line, title_justify="left", box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1, 0, 0)
    )
    for place, heading in enumerate(headings):
        word = max((len(word) for word in heading.split()), default=0)  # no heading is broken inside a word
        drawn.add_column(heading, overflow="fold", no_wrap=place == 0, min_width=word)
    for row in cells:
        toned = [
            Text(cell, style=TONES.get(tones[heading](cell.strip()), "") if heading in tones else "")
            for heading, cell in zip(headings, row, strict=True)
        ]
        drawn.add_row(*toned)
    console().print(drawn)


def print_pairs(pairs: Iterable[tuple[str, object]]) -> None:
    """Print names and values, one pair a line; numbers under each other, units under each other."""
    rows = [(name, printable(value)) for name, value in pairs]
    width = max((len(name) for name, _ in rows), default=0)
    values = aligned([value for _, value in rows])
    for (name, _), value in zip(rows, values, strict=True):
        click.echo(f"{name.ljust(width)}  {value}")


def rows_of(frame: Any) -> list[dict[str, Any]]:
    """The rows of a data frame as dictionaries."""
    return [dict(zip(frame.columns, row, strict=True)) for row in frame.itertuples(index=False, name=None)]


@contextlib.contextmanager
def counting_bar(
    what: str, words: Callable[[float], str]
) -> Iterator[Callable[[int, int, int], None] | None]:
    """A bar that is told what is done, of how much, and a count whose rate it shows in words; None off a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    bar = rate_bar()
    with bar:
        task = bar.add_task(what, total=None, rate="")
        begun = time.monotonic()

        def show(done: int, everything: int, count: int) -> None:
            seconds = time.monotonic() - begun
            rate = words(count / seconds) if seconds > 0.0 else ""
            bar.update(task, total=everything, completed=done, rate=rate)

        yield show


def rate_bar() -> Progress:
    """A bar on stderr with a count, a rate and the time left; it vanishes when the work is done."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )
