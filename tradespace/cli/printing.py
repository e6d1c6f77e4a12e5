"""Tables and JSON on standard output."""

from __future__ import annotations

import contextlib
import json
import math
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from tradespace.errors import printable

if TYPE_CHECKING:
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


def print_table(headings: Sequence[str], rows: Iterable[Sequence[object]], title: str = "") -> None:
    """Print columns: drawn on a terminal, plain text elsewhere."""
    cells = [[printable(cell) for cell in row] for row in rows]
    if sys.stdout.isatty():
        from rich.console import Console
        from rich.table import Table
        from rich.text import Text

        drawn = Table(title=Text(printable(title)) if title else None, title_justify="left")
        for place, heading in enumerate(headings):
            drawn.add_column(heading, overflow="fold", no_wrap=place == 0)
        for row in cells:
            drawn.add_row(*(Text(cell) for cell in row))
        Console().print(drawn)
        return
    if title:
        click.echo(printable(title))
    widths = [max(len(row[column]) for row in [list(headings), *cells]) for column in range(len(headings))]
    for row in [list(headings), *cells]:
        click.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def print_pairs(pairs: Iterable[tuple[str, object]]) -> None:
    """Print names and values, one pair a line."""
    rows = [(name, printable(value)) for name, value in pairs]
    width = max((len(name) for name, _ in rows), default=0)
    for name, value in rows:
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
