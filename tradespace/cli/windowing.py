"""Commands about departures: one transfer, the windows of a pair, and all pairs of a list of bodies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryFile
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.cataloguing import body_filters
from tradespace.cli.completing import complete_body
from tradespace.cli.departures import WINDOW, cautions, print_cautions, print_rows, window_row, write_rows
from tradespace.cli.links import MOST_TURNS, option_date, option_value
from tradespace.cli.pairing import all_pairs, chosen_names
from tradespace.cli.printing import print_json
from tradespace.constants import value
from tradespace.errors import OutputError, UnitError, printable
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.mission import WindowCurve

PICTURES = ("html", "svg", "pdf", "csv")
SHOWN = 20
UNKNOWN = "a body is not known then, or nothing joins them"


@click.command(epilog=example("tradespace windows Themis Antiope --after 2031-05-01 --before 2041-12-31"))
@click.argument("bodies", metavar="[FROM TO [MORE]...]", nargs=-1, shell_complete=complete_body)
@click.option("--after", metavar="DATE", help="Earliest departure.")
@click.option("--before", metavar="DATE", help="Latest departure.")
@click.option("--all", "everything", is_flag=True, help="All pairs of the bodies that the filters leave.")
@body_filters
@click.option(
    "--flight-time", nargs=2, metavar="SHORTEST LONGEST",
    help='Flight times allowed, such as "200 d" "900 d"; else shares of half the period between both orbits.',
)  # fmt: skip
@click.option(
    "--turns",
    type=click.IntRange(0, MOST_TURNS),
    default=0,
    metavar="NUMBER",
    help="Most full turns around the Sun on the way.",
)
@click.option("--retrograde", is_flag=True, help="Also try flights against the sense of the planets.")
@click.option("--step", metavar="TIME", help='Spacing of departure dates; "5 d" if not given.')
@click.option(
    "--capacity",
    metavar="SPEED",
    help='Sum of both speeds that can be flown, such as "3 km/s", for the figure.',
)
@click.option(
    "--figure", metavar="FILE", help="Draw the pair: a file that ends in .html, .svg, .pdf or .csv."
)
@click.option(
    "--show", type=click.IntRange(1), default=SHOWN, show_default=True, metavar="NUMBER",
    help="Rows to print, the cheapest of them.",
)  # fmt: skip
@click.option("--out", metavar="FILE", help="Write all rows to a CSV file.")
@click.option("--clear-cache", is_flag=True, help="Delete the stored curves and stop.")
@json_option
def windows(
    bodies: tuple[str, ...], after: str | None, before: str | None, everything: bool,
    flight_time: tuple[str, str] | None, turns: int, retrograde: bool, step: str | None, capacity: str | None,
    figure: str | None, show: int, out: str | None, clear_cache: bool, as_json: bool, **filters: Any,
) -> None:  # fmt: skip
    """List the departures worth waiting for.

    Two bodies give the windows from the first to the second; more bodies, or --all, the best departure of every
    ordered pair.
    """
    if clear_cache:
        _clear(as_json)
        return
    _refuse_options(bodies, everything, figure, after, before)
    if bodies and any(filters.values()):
        given = next(name for name, text in filters.items() if text)
        raise click.UsageError(
            f"--{given.rstrip('s')} chooses among --all; give no bodies", click.get_current_context()
        )
    first, last = option_date("--after", str(after)), option_date("--before", str(before))
    bounds = None if flight_time is None else (
        option_value("--flight-time", flight_time[0], "s"), option_value("--flight-time", flight_time[1], "s")
    )  # fmt: skip
    spacing = None if step is None else option_value("--step", step, "s")
    limit = None if capacity is None else option_value("--capacity", capacity, "m/s")
    if limit is not None and limit <= 0.0:
        raise UnitError(f"--capacity: {printable(capacity)} must be above zero, such as 3 km/s")
    from tradespace.windows import transfer_kinds

    kinds = transfer_kinds(retrograde, turns)
    if len(bodies) == 2:
        _pair(bodies, (first, last), bounds, spacing, kinds, turns, limit, figure, out, show, as_json)
        return
    names = list(bodies) if bodies else chosen_names(filters)
    all_pairs(names, (first, last), bounds, spacing, kinds, out, show, as_json)


def _refuse_options(
    bodies: tuple[str, ...], everything: bool, figure: str | None, after: str | None, before: str | None
) -> None:
    """Options that do not go together."""
    context = click.get_current_context()
    if everything == bool(bodies) or len(bodies) == 1:
        both = everything and bodies
        raise click.UsageError(
            "--all takes every body; give no bodies, or leave it out"
            if both
            else "give two bodies or more, or --all",
            context,
        )
    if after is None or before is None:
        raise click.UsageError("give --after and --before, such as --after 2030-01-01", context)
    if figure is not None and len(bodies) != 2:
        raise click.UsageError("--figure draws one pair; give two bodies", context)
    if figure is not None and Path(figure).suffix.lower().removeprefix(".") not in PICTURES:
        raise click.UsageError(
            f"--figure: {printable(figure)} must end in {', '.join('.' + kind for kind in PICTURES)}", context
        )


def _clear(as_json: bool) -> None:
    from tradespace.windows import clear_cache

    count = clear_cache()
    if as_json:
        print_json({"deleted": count})
    else:
        click.echo(f"deleted {count} files of stored curves")


def _pair(
    bodies: tuple[str, ...], dates: tuple[float, float], bounds: tuple[float, float] | None,
    step: float | None, kinds: tuple[str, ...], turns: int, capacity: float | None, figure: str | None,
    out: str | None, show: int, as_json: bool,
) -> None:  # fmt: skip
    """The windows of one pair: printed, and drawn or written if asked for."""
    from tradespace import windows as search

    (first, last), (one, other) = dates, bodies
    search.check_pair(one, other, first, last)
    given = bounds or (None, None)
    shortest, longest = search.flight_range(one, other, first, given[0], given[1], turns)
    curve = search.window_curve(one, other, first, last, shortest, longest, step, kinds=kinds)
    found = search.opportunities(curve)
    rows = [window_row(item) for item in found]
    cheapest = sorted(range(len(found)), key=lambda place: found[place].v_inf_sum)[:show]
    written = [] if out is None else [write_rows(out, rows, curve.departure_body, curve.arrival_body)]
    if figure is not None:
        drawn = _drawn(curve, (shortest, longest), kinds, capacity)
        written.append(_write_figure(drawn, Path(figure)))
    content: dict[str, Any] = {
        "from": curve.departure_body,
        "to": curve.arrival_body,
        "after": format_date(float(curve.departure[0])),
        "before": format_date(float(curve.departure[-1])),
        "shortest_flight_d": float(convert(shortest, "s", "d")),
        "longest_flight_d": float(convert(longest, "s", "d")),
        "kinds": list(kinds),
        "windows": rows,
        "cautions": cautions(
            place
            for item in found
            for place in (
                (curve.departure_body, item.departure),
                (curve.arrival_body, item.departure + item.time_of_flight),
            )
        ),
        "written": written,
    }
    if as_json:
        print_json(content)
        return
    print_rows([rows[place] for place in sorted(cheapest)], WINDOW, f"{content['from']} to {content['to']}")
    spacing = value("window_step", "orbits.csv") if step is None else step
    _print_notes(content, dates, spacing, len(rows), show)


def _print_notes(
    content: dict[str, Any], dates: tuple[float, float], spacing: float, count: int, show: int
) -> None:
    """What the table does not show by itself."""
    asked = format_date(dates[0]), format_date(dates[1] - spacing)
    if content["after"] > asked[0]:
        click.echo(f"no departure before {content['after']}: {UNKNOWN}")
    if content["before"] < asked[1]:
        click.echo(f"no departure after {content['before']}: {UNKNOWN}")
    click.echo(
        f"flights of {content['shortest_flight_d']:.0f} to {content['longest_flight_d']:.0f} d; leaving and meeting: "
        "speeds far from each body; open: within 10 % of the cheapest"
    )
    if any(row["cut"] for row in content["windows"]):
        click.echo("+ reaches the first or last date searched")
    if count > show:
        click.echo(f"the {show} cheapest of {count}; --show gives more")
    print_cautions(content["cautions"])
    for path in content["written"]:
        click.echo(f"wrote {printable(path)}")


def _drawn(
    curve: WindowCurve, bounds: tuple[float, float], kinds: tuple[str, ...], capacity: float | None
) -> Any:
    """The figure of one pair, with its cheapest departure marked."""
    import numpy as np

    import tradespace
    from tradespace import windows as search
    from tradespace.figures.windows import Mark, Panel, pair_figure

    dates = float(curve.departure[0]), float(curve.departure[-1])
    found = search.window_map(curve.departure_body, curve.arrival_body, *dates, *bounds, kinds)
    best = int(np.argmin(curve.v_inf_sum))
    mark = Mark(
        "cheapest of all",
        float(curve.departure[best]),
        float(curve.time_of_flight[best]),
        float(curve.v_inf_sum[best]),
    )
    limits = () if capacity is None else (float(convert(capacity, "m/s", "km/s")),)
    title = f"{curve.departure_body} to {curve.arrival_body}"
    program = f"tradespace {tradespace.__version__}".replace("not installed", "").strip()
    source = f"Computed by {program}; kinds of transfer: {', '.join(kinds)}."
    return pair_figure(Panel(title, found, curve, limits, (mark,)), source)


def _write_figure(drawn: Any, path: Path) -> str:
    """The figure as a page, a drawing or its data."""
    from tradespace.figures import export

    kind = path.suffix.lower().removeprefix(".")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with TemporaryFile(dir=path.parent):
            pass  # a browser that cannot write there would not say why
        if kind == "html":
            from tradespace.report.page import Markup, Section, figure_block, page, text

            sections = [Section("departures", "Departure date against flight time", [figure_block(drawn)])]
            title = f"Departures, {drawn.title}"
            header = Markup(f"<h1>{text(title)}</h1>")
            path.write_text(page(title, header, sections), encoding="utf-8")
        elif kind == "csv":
            export.write_csv(drawn, path)
        else:
            named = replace(drawn, key=path.stem)
            made = export.write_images([named], path.parent, [kind])[0]
            if made != path:
                made.replace(path)
    except OutputError:
        raise
    except OSError as error:
        raise OutputError(f"cannot write {printable(path)}: {error.strerror or error}") from error
    return str(path)
