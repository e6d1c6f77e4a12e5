"""What it would take to close: the command breakeven."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import counting_bar, print_json, print_table, rows_of
from tradespace.errors import printable, unknown_name
from tradespace.quantities import display, json_key, quantity

if TYPE_CHECKING:
    from tradespace.breakeven import Boundary, BreakEven
    from tradespace.mission import Mission
    from tradespace.study import Study

SHOWN, MISSED, CURVE = 12, 5, 11
"""Rows printed of the inputs that do it, of those that cannot, and of a boundary curve; all of them with --json."""
DIGITS = 6
TITLES = {
    "close": "One input at a time: the value at which it would close",
    "spare": "One input at a time: the value at which it would close with {} to spare",
    "fail": "One input at a time: how far it may get worse before it stops closing",
}
HEADINGS = {"close": "closes at", "spare": "spare at", "fail": "closes up to"}


@click.command(epilog=example("tradespace breakeven ceres_ice_unknown"))
@click.argument("study", shell_complete=complete_study)
@click.option("--architecture", metavar="NAME", help="Only this one.")
@click.option(
    "--pair",
    nargs=2,
    metavar="A B",
    help="Two inputs together instead: the curve on which it begins to close.",
)
@json_option
def breakeven(study: str, architecture: str | None, pair: tuple[str, str] | None, as_json: bool) -> None:
    """Say what each input alone would have to become for STUDY to close.

    For a design that does not close, the value of each input at which it would, how far that is from today's value and
    whether it is inside its range; for one that closes, how far each may get worse.
    """
    asked = load(study)
    if architecture is not None and architecture not in asked.architectures:
        raise unknown_name("architecture", architecture, asked.architectures, f"tradespace check {study}")
    names = list(asked.architectures) if architecture is None else [architecture]
    from tradespace import breakeven as room
    from tradespace.evaluate import mission_of

    mission = mission_of(asked)
    if pair is not None:
        _print_pairs(asked, mission, names, pair, as_json)
        return
    with counting_bar("architectures", lambda rate: f"{rate:,.0f} designs/s") as progress:
        found = room.analyse(asked, mission, names, progress)
    if as_json:
        content = {item.architecture: break_even_content(item) for item in found}
        print_json({"study": asked.name, "rule": room.RULE, "architectures": content})
        return
    for place, item in enumerate(found):
        if place:
            click.echo()
        print_break_even(asked, item)
    click.echo(f"\n{room.RULE}.")
    click.echo(
        "A value is the last on the side that closes, rounded here; --json gives all inputs and every digit."
    )


def standing(found: BreakEven) -> str:
    """Whether a design closes, and every link in which it falls short."""
    if found.closes:
        link, margin, hop = found.links[0]
        word = "barely closes" if "spare" in found.questions else "closes"
        return f"{word}: the smallest margin is {100.0 * margin:.3g} % in {link} at hop {hop}"
    short = [f"{link} {_percent(margin)} at hop {hop}" for link, margin, hop in found.links if margin < 0.0]
    return f"does not close: {', '.join(short)}"


def _percent(share: float) -> str:
    """A share with its sign, in per cent."""
    return f"{100.0 * share:+.3g} %"


def print_break_even(asked: Study, found: BreakEven) -> None:
    """What each input alone would have to become, for one architecture."""
    from tradespace.breakeven import comfortable

    click.echo(printable(f"{asked.title} - {asked.thrusters[found.architecture].title}"))
    click.echo(f"Today it {standing(found)}")
    for name in found.questions:
        reached = rows_of(found.reached[found.reached["question"] == name])
        title = TITLES[name].format(f"{100.0 * comfortable():.3g} %")
        count = f" ({SHOWN} of {len(reached)})" if len(reached) > SHOWN else ""
        click.echo()
        if reached:
            print_table(
                ("input", "today", HEADINGS[name], "change", "its range", "limited there by", "next", "note"),
                [_reached_cells(row) for row in reached[:SHOWN]],
                title=title + count,
            )
        else:
            click.echo(f"{title}: no input does it alone")
        _print_missed(found, name)


def _reached_cells(row: dict[str, Any]) -> tuple[str, ...]:
    name = row["quantity"]
    return (
        name,
        display(name, row["today"], DIGITS),
        display(name, row["value"], DIGITS),
        _change(row),
        _inside(row),
        f"{row['limited_by']} at hop {row['limited_at']}",
        f"{row['next_by']} {_percent(row['next_margin'])}",
        "; ".join(filter(None, (row["note"], "beyond the data of a model" if row["extrapolated"] else ""))),
    )


def _change(row: dict[str, Any]) -> str:
    """How far a value is from today's, in per cent, or in its unit where today's is zero."""
    if row["today"]:
        return _percent(row["change"] / abs(row["today"]))
    item = quantity(row["quantity"])
    change = item.shown(row["value"]) - item.shown(row["today"])
    return f"{change:+.3g} {item.display_unit}".removesuffix(" 1")


def _inside(row: dict[str, Any]) -> str:
    """Inside its range or beyond it, and the range."""
    if row["high"] <= row["low"]:
        return "none given"
    name = row["quantity"]
    place = "inside" if row["inside"] == "range" else "beyond"
    return f"{place} ({display(name, row['low'])} to {display(name, row['high'])})"


def _print_missed(found: BreakEven, name: str) -> None:
    """Inputs that move the margin and cannot do it alone, in a line each."""
    missed = rows_of(found.missed[found.missed["question"] == name])
    if not missed:
        return
    count = f" ({MISSED} of {len(missed)})" if len(missed) > MISSED else ""
    title = f"Inputs that cannot do it alone within their bounds, and the margin they reach{count}"
    if name == "fail":
        title = f"Inputs that cannot stop it alone within their bounds, and the margin that is left{count}"
    click.echo()
    print_table(
        ("input", "today", "margin", "at", "limited by"),
        [
            (row["quantity"], display(row["quantity"], row["today"], DIGITS), _percent(row["margin"]),
             display(row["quantity"], row["value"], DIGITS), f"{row['limited_by']} at hop {row['limited_at']}")
            for row in missed[:MISSED]
        ],
        title=title,
    )  # fmt: skip


def break_even_content(found: BreakEven) -> dict[str, Any]:
    """One architecture for JSON; values in the unit that stands beside them."""
    short = [{"link": link, "margin": margin, "hop": hop} for link, margin, hop in found.links]
    content: dict[str, Any] = {
        "closes": found.closes, "margin": found.margin, "limited_by": short[0]["link"], "limited_at": short[0]["hop"],
        "margins": short, "designs_evaluated": found.evaluated,
    }  # fmt: skip
    for name in found.questions:
        reached = [_shown(row) for row in rows_of(found.reached[found.reached["question"] == name])]
        missed = [_shown(row) for row in rows_of(found.missed[found.missed["question"] == name])]
        content[name] = {"reached": reached, "out_of_reach": missed}
    return content


def _shown(row: dict[str, Any]) -> dict[str, Any]:
    """A row with its values in display units; what does not exist is left out as null."""
    item = quantity(row["quantity"])
    change = item.shown(row["value"]) - item.shown(row["today"])
    cells = {key: row[key] for key in row if key not in {"architecture", "question", "change", "low", "high"}}
    for key in ("today", "value", "beyond", "least", "most"):
        if key in row:
            cells[key] = item.shown(float(row[key]))
    cells |= {"unit": item.display_unit, "change": change}
    cells["change_percent"] = (
        100.0 * (row["value"] - row["today"]) / abs(row["today"]) if row["today"] else None
    )
    if "low" in row:
        ends = [item.shown(float(row[end])) if row["high"] > row["low"] else None for end in ("low", "high")]
        cells |= {"range": ends}
    return cells


def _print_pairs(
    asked: Study, mission: Mission, names: list[str], pair: tuple[str, str], as_json: bool
) -> None:
    """The boundary in the plane of two inputs, for each architecture that has both."""
    from tradespace import breakeven as room
    from tradespace.errors import UnknownNameError

    found = []
    for place, name in enumerate(names):
        question = room.question_of(asked, mission, name)
        try:
            found.append(room.boundary(question, pair))
        except UnknownNameError:
            if (
                place + 1 == len(names) and not found
            ):  # an input of one thruster alone is unknown to the others
                raise
    if as_json:
        print_json(
            {
                "study": asked.name,
                "pair": list(pair),
                "architectures": [boundary_content(one) for one in found],
            }
        )
        return
    for place, one in enumerate(found):
        if place:
            click.echo()
        print_boundary(asked, one)


def print_boundary(asked: Study, found: Boundary) -> None:
    """A curve as a short table."""
    first, second = found.first.name, found.second.name
    click.echo(printable(f"{asked.title} - {asked.thrusters[found.architecture].title}"))
    spans = [
        f"{name} {display(name, values[0])} to {display(name, values[-1])}"
        for name, values in ((first, found.x), (second, found.y))
    ]
    share = 100.0 * float((found.margin >= 0.0).mean())
    today = ", ".join(f"{item.name} {display(item.name, item.today)}" for item in (found.first, found.second))
    click.echo(f"{' by '.join(spans)}: {share:.3g} % of the plane closes; today {today}")
    if len(found.points) == 0:
        best = float(found.margin.max()) if share == 0.0 else float(found.margin.min())
        click.echo(
            f"no boundary in this plane: the {'best' if share == 0.0 else 'least'} margin is {_percent(best)}"
        )
        return
    order = found.points[:, 0].argsort(kind="stable")
    step = max(1, (len(order) - 1) // (CURVE - 1))
    print_table(
        (first, second, "note"),
        [
            (display(first, found.points[place, 0], DIGITS), display(second, found.points[place, 1], DIGITS),
             "the margin jumps here" if found.jump[place] else "")
            for place in order[::step]
        ],
        title=f"Where it begins to close ({len(order[::step])} of {len(order)} points of the curve)",
    )  # fmt: skip


def boundary_content(found: Boundary) -> dict[str, Any]:
    """A curve for JSON, in display units."""
    names = found.first.name, found.second.name
    items = [quantity(name) for name in names]
    points = [
        {
            **{
                json_key(name): item.shown(float(value))
                for name, item, value in zip(names, items, point, strict=True)
            },
            "margin": float(height),
            "jump": bool(jump),
        }
        for point, height, jump in zip(found.points, found.height, found.jump, strict=True)
    ]
    axes = {
        json_key(name): [item.shown(float(values[0])), item.shown(float(values[-1]))]
        for name, item, values in zip(names, items, (found.x, found.y), strict=True)
    }
    return {
        "architecture": found.architecture, "axes": axes, "closing_share": float((found.margin >= 0.0).mean()),
        "curve": points, "joined": found.segments, "designs_evaluated": found.evaluated,
    }  # fmt: skip
