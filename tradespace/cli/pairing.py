"""The best departure of every ordered pair of a list of bodies."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.cataloguing import chosen_bodies
from tradespace.cli.departures import WINDOW, cautions, print_cautions, print_rows, window_row, write_rows
from tradespace.cli.printing import counting_bar, print_json
from tradespace.errors import TransferError, printable
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.windows import PairCurves

WINDOW_OF_PAIR = {name: heading for name, heading in WINDOW.items() if name != "width_d"}


def chosen_names(filters: dict[str, Any]) -> list[str]:
    """Every body of the catalogue that circles the Sun and meets the filters, but no barycentre beside its planet."""
    from tradespace.windows.question import STAND_INS

    found = [item.id for item in chosen_bodies(filters) if item.group != "moon" and item.id not in STAND_INS]
    if len(found) < 2:
        raise TransferError(
            "fewer than two bodies around the Sun meet the filters, and pairs need two; see: tradespace list bodies"
        )
    return found


def all_pairs(
    names: list[str], dates: tuple[float, float], bounds: tuple[float, float] | None, step: float | None,
    kinds: tuple[str, ...], out: str | None, show: int, as_json: bool,
) -> None:  # fmt: skip
    """The best departure of every ordered pair."""
    from tradespace import windows as search

    shortest, longest = bounds or (None, None)
    try:
        with counting_bar(
            "departure bodies", lambda rate: f"{rate / 1e6:.2f} million transfers/s"
        ) as progress:
            found = search.all_pairs(
                names, *dates, step, shortest=shortest, longest=longest, kinds=kinds, progress=progress
            )
    except KeyboardInterrupt:
        click.echo("\nstopped; finished bodies are kept: the same command goes on from there", err=True)
        raise click.exceptions.Exit(130) from None
    rows, places = _pair_rows(found)
    warned = cautions(places)
    written = [] if out is None else [write_rows(out, rows)]
    without = [{"from": one, "to": other, "why": why} for (one, other), why in found.without.items()]
    if as_json:
        print_json(
            {
                "bodies": list(found.names),
                "after": format_date(float(found.departure[0])),
                "before": format_date(float(found.departure[-1])),
                "kinds": list(kinds),
                "pairs": rows,
                "without": without,
                "transfers": found.transfers,
                "solved": found.solved,
                "cautions": warned,
                "written": written,
            }
        )
        return
    count = min(show, len(rows))
    print_rows(
        rows[:count],
        {"from": "from", "to": "to", **WINDOW_OF_PAIR},
        f"The {count} cheapest of {len(rows)} pairs",
    )
    if not rows:
        raise TransferError(f"no pair has a departure on these dates; {without[0]['why']}")
    if without:
        one = without[0]
        click.echo(
            f"{len(without)} pairs have none, such as {printable(one['from'])} to {printable(one['to'])}: {one['why']}"
        )
    print_cautions(warned)
    for path in written:
        click.echo(f"wrote {printable(path)}")


def _pair_rows(found: PairCurves) -> tuple[list[dict[str, Any]], list[tuple[str, float]]]:
    """The best departure of each pair that has one, the cheapest pair first; and which body is met on which date."""
    import numpy as np

    from tradespace.windows import Opportunity

    cost = np.where(np.isfinite(found.v_inf_sum), found.v_inf_sum, math.inf)
    rows, places = [], []
    for one, other in np.argwhere(np.isfinite(cost).any(axis=2)):
        spot = one, other, int(np.argmin(cost[one, other]))
        best = float(found.departure[spot[2]])
        flight, leave, meet = (
            float(part[spot]) for part in (found.time_of_flight, found.v_inf_departure, found.v_inf_arrival)
        )
        row = window_row(Opportunity(best, flight, leave, meet, int(found.kind[spot]), best, best, False))
        names = {"from": found.names[one], "to": found.names[other]}
        rows.append(names | {name: row[name] for name in WINDOW_OF_PAIR})
        places += [(names["from"], best), (names["to"], best + flight)]
    return sorted(rows, key=lambda row: (row["v_inf_sum_km_s"], row["from"], row["to"])), places
