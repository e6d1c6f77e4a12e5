"""Commands that bring bodies into the user's own catalogue, and take them out again."""

from __future__ import annotations

import contextlib
import math
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.cataloguing import GROUP, NEAR, WITHIN, distance
from tradespace.cli.printing import print_json, print_pairs
from tradespace.errors import UnitError, printable
from tradespace.units import from_si, parse_quantity

if TYPE_CHECKING:
    from tradespace.bodies.found import Keep
    from tradespace.bodies.importing import Imported


@contextlib.contextmanager
def _bar() -> Iterator[Callable[[int, int], None] | None]:
    """A bar of bytes read on stderr; nothing when stderr is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeRemainingColumn

    bar = Progress(
        TextColumn("reading"), BarColumn(), DownloadColumn(), TimeRemainingColumn(),
        console=Console(stderr=True), transient=True,
    )  # fmt: skip
    with bar:
        task = bar.add_task("reading", total=None)
        yield lambda done, whole: bar.update(task, completed=done, total=whole)


@click.command("import", epilog=example('tradespace import --online "2867 Steins"'))
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option(
    "--online", multiple=True, metavar="NAME", help="Look a body up in JPL's database; may be repeated."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(["mpcorb", "sbdb-csv", "sbdb-json"]),
    help="Of FILE; found from its content by default.",
)
@NEAR
@WITHIN
@GROUP
@click.option("--largest-h", type=float, metavar="H", help="Leave out bodies of a larger absolute magnitude.")
@click.option("--replace", is_flag=True, help="Let bodies of the file take the place of shipped ones.")
@click.option(
    "--valid-for", metavar="TIME", help='How long either way of its epoch an orbit holds; default "5 yr".'
)
@json_option
def import_(
    file: Path | None, online: tuple[str, ...], form: str | None, near: str | None, within: str | None,
    groups: tuple[str, ...], largest_h: float | None, replace: bool, valid_for: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Add bodies of FILE (MPCORB, or CSV or JSON of JPL's small-body database) to your catalogue."""
    from tradespace.bodies.importing import import_file
    from tradespace.bodies.online import import_online

    if (file is None) == (not online):
        raise click.UsageError("give either a file or --online NAME")
    span = _span(valid_for)
    if file is None:
        if form or near or within or groups or largest_h is not None:
            raise click.UsageError("--format and the filters are for a file, not for --online")
        done = import_online(list(online), replace=replace, valid_for=span)
    else:
        keep = _keep(near, within, groups, largest_h)
        with _bar() as progress:
            done = import_file(file, form=form, keep=keep, replace=replace, valid_for=span, progress=progress)
    if as_json:
        print_json(_described(done))
        return
    print_pairs(_told(done))


def _span(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return parse_quantity(text, "s")
    except UnitError as error:
        raise UnitError(f'--valid-for: {error}, or "10 yr"') from error


def _keep(near: str | None, within: str | None, groups: tuple[str, ...], largest_h: float | None) -> Keep:
    from tradespace.bodies.found import Keep
    from tradespace.bodies.selection import body_groups

    if within is not None and near is None:
        raise UnitError('--within needs --near, such as --near "3.1 au"')
    if largest_h is not None and not math.isfinite(largest_h):
        raise UnitError("--largest-h must be a finite number")
    return Keep(distance(near, "--near"), distance(within, "--within"), largest_h, body_groups(groups))


def _told(done: Imported) -> list[tuple[str, object]]:
    """What an import did, in words."""
    lines = done.lines
    pairs: list[tuple[str, object]] = [("read", f"{lines.seen} bodies of {done.source} ({done.form_title})")]
    for name, count, words in (
        ("added", len(done.added), ""),
        ("updated", len(done.updated), ", imported before"),
        ("replaced", len(done.replaced), ", shipped ones: orbit and measured numbers now from the file"),
        ("kept", len(done.kept), " as shipped; --replace takes the file's orbits instead"),
        ("left out", lines.left_out, " by the filters"),
        ("repeated", lines.repeated, ": the first of a name counts"),
        ("open orbits", lines.open_orbits, ", which no ellipse describes"),
        ("no size", done.without_size, ": neither diameter nor brightness, so no landing there"),
        ("skipped", lines.bad, f" that cannot be read; first {lines.first_bad}"),
    ):
        if count or name == "added":
            pairs.append((name, f"{count}{words}"))
    if done.folder is not None:
        years = from_si(done.span, "yr")
        pairs.append(
            ("positions", f"{done.valid[0]} to {done.valid[1]} ({years:g} yr either way of the epoch)")
        )
        pairs.append(("written", done.folder))
    return pairs


def _described(done: Imported) -> dict[str, Any]:
    return {
        "source": done.source, "format": done.format, "read": done.lines.seen, "added": done.added,
        "updated": done.updated, "replaced": done.replaced, "kept_as_shipped": done.kept,
        "left_out": done.lines.left_out, "repeated": done.lines.repeated, "open_orbits": done.lines.open_orbits,
        "without_size": done.without_size, "skipped": done.lines.bad, "first_skipped": done.lines.first_bad or None,
        "positions_from": done.valid[0] or None, "positions_until": done.valid[1] or None,
        "folder": None if done.folder is None else str(done.folder),
    }  # fmt: skip


@click.command(epilog=example('tradespace forget "2867 Steins"'))
@click.argument("names", nargs=-1, metavar="[NAME]...")
@click.option("--all", "everything", is_flag=True, help="Forget all imported bodies.")
@json_option
def forget(names: tuple[str, ...], everything: bool, as_json: bool) -> None:
    """Take imported bodies out of your catalogue; shipped ones stay."""
    from tradespace.bodies.forgetting import forget_all, forget_bodies

    if bool(names) == everything:
        raise click.UsageError("give either names or --all")
    gone = forget_all() if everything else forget_bodies(names)
    if as_json:
        print_json({"forgotten": gone})
        return
    for name in gone:
        click.echo(f"forgot {printable(name)}")
    if not gone:
        click.echo("there was nothing to forget")
