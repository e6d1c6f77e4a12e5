"""What a measured cell and engine do for a mission, and which number of the bench is worth most."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import plotly.graph_objects as go

from tradespace.bench_mission import SOURCES
from tradespace.figures import style
from tradespace.figures.registry import captioned

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.bench_mission import Carried
    from tradespace.physics.compiled import FloatArray

LOOKS = (
    (style.BLUE, ""),
    (style.VERMILLION, "/"),
    (style.GREEN, "."),
    (style.PURPLE, "x"),
    (style.ORANGE, "\\"),
)
"""Colour and pattern of an architecture."""
SOURCE_LOOKS = dict(zip(SOURCES, ((style.GREY, "/"), (style.BLUE, "")), strict=True))
MOST = len(LOOKS)
"""Architectures that are drawn."""
LINE = 17
"""Height of one bar [px]."""
UNCERTAIN = {
    "bench": ("with what the bench leaves open", style.SKY, ""),
    "all": ("with all that is uncertain", style.BLUE, "/"),
}


class Gain(NamedTuple):
    """A thing that a better number of the bench brings."""

    column: str
    like: str
    """The quantity in whose unit it is shown."""
    title: str
    axis: str
    least: float
    """Below this it counts as no change [SI]."""


GAINS = (
    Gain("work_time_gain", "refuel_time", "Time of power at work per hop", "Shorter by (d)", 60.0),
    Gain("start_mass_gain", "start_mass", "Mass at the start", "Lighter by (kg)", 1e-3),
    Gain("margin_gain", "margin", "Smallest margin", "Larger by (–)", 5e-4),
)


def drawn_names(carried: Carried) -> list[str]:
    """Architectures that have room in a figure."""
    return list(carried.designs)[:MOST]


def title_of(carried: Carried, name: str) -> str:
    """What an architecture is called."""
    return str(carried.study.thrusters[name].title)


def left_out(carried: Carried) -> str:
    """Which architectures are not drawn, as a sentence; empty where all are."""
    rest = list(carried.designs)[MOST:]
    return (
        f" Not drawn, but in the table: {', '.join(title_of(carried, name) for name in rest)}."
        if rest
        else ""
    )


def bench_exchange(carried: Carried) -> go.Figure | None:
    """What a tenth of each loss removed brings: days of work per hop, mass and margin, for every architecture.

    None where the calibration has no number whose loss could be removed.
    """
    table, names = carried.exchange, drawn_names(carried)
    table = table[table["architecture"].isin(names)]
    if table.empty:
        return None
    numbers = list(dict.fromkeys(table["quantity"].astype(str)))
    first = table.groupby("quantity")["work_time_gain"].max()
    numbers.sort(key=lambda name: -float(np.nan_to_num(first[name])))
    gains = [one for one in GAINS if bool((np.abs(np.nan_to_num(table[one.column])) > one.least).any())] or [
        GAINS[0]
    ]
    labels = {name: _number_label(table[table["quantity"] == name].iloc[0]) for name in numbers}
    height = 60 + max(LINE * len(names), 34) * len(numbers)
    drawn = style.panels([one.title for one in gains], height, columns=1, gap=86)
    for row, gain in enumerate(gains, start=1):
        for place, name in enumerate(names):
            part = table[table["architecture"] == name].set_index("quantity")
            kept = [number for number in numbers if number in part.index]
            if not kept:
                continue
            colour, shape = LOOKS[place]
            drawn.add_trace(
                _bar(
                    style.escape(title_of(carried, name)), [labels[one] for one in kept],
                    style.shown(gain.like, part.loc[kept, gain.column].to_numpy(dtype=np.float64)), colour, shape,
                    shown=row == 1,
                ),
                row=row, col=1,
            )  # fmt: skip
        drawn.update_xaxes(title_text=gain.axis, zeroline=True, zerolinecolor=style.INK, row=row, col=1)
    drawn.update_yaxes(
        type="category", categoryorder="array", categoryarray=[labels[one] for one in numbers], autorange="reversed",
        showgrid=False, tickfont={"size": 11},
    )  # fmt: skip
    drawn.update_layout(barmode="group", bargap=0.3)
    return captioned(drawn, exchange_words(carried, table, gains))


def _number_label(row: pd.Series[Any]) -> str:
    """A number of the bench with what it is and what it would be."""
    name = str(row["quantity"])
    now, then = (style.quantity_text(name, float(row[key])) for key in ("value", "improved"))
    return f"{style.escape(style.label(name))}<br>{now} → {then}"


def _bar(
    words: str, y: Sequence[str], x: FloatArray, colour: str, shape: str, *, shown: bool, **more: Any
) -> go.Bar:
    """Bars of one kind."""
    return go.Bar(
        y=list(y), x=np.asarray(x, dtype=np.float64), orientation="h", name=words, legendgroup=words, showlegend=shown,
        marker={
            "color": colour, "line": {"color": style.BLACK, "width": 0.6},
            "pattern": {
                "shape": shape, "fillmode": "overlay", "size": 7, "solidity": 0.25,
                "fgcolor": style.INK if colour == style.GREY else style.WHITE,
            },
        },
        hovertemplate="%{x:.4g}<extra>" + words + "</extra>", **more,
    )  # fmt: skip


def exchange_words(carried: Carried, table: pd.DataFrame, gains: Sequence[Gain]) -> str:
    """The number worth most for each architecture, and what removing all of its loss would bring."""
    parts = []
    for name in drawn_names(carried):
        rows = table[table["architecture"] == name]
        if rows.empty:
            continue
        row = rows.sort_values("work_time_gain", ascending=False, kind="stable").iloc[0]
        if not float(row["work_time_gain"]) > GAINS[0].least:
            parts.append(f"{title_of(carried, name)}: no number of the bench shortens its hops")
            continue
        quantity = str(row["quantity"])
        now, then = (style.quantity_text(quantity, float(row[key])) for key in ("value", "improved"))
        parts.append(
            f"{title_of(carried, name)}: {style.words(quantity)} from {now} to {then} saves "
            f"{style.quantity_text('refuel_time', float(row['work_time_gain']))} a hop, without that loss at all "
            f"{style.quantity_text('refuel_time', float(row['work_time_ideal_gain']))}"
        )
    missing = [one.title.lower() for one in GAINS if one not in gains]
    kept = set(table["calendar"].astype(str)) == {"frozen"}
    return (
        "What a tenth of each loss removed brings the design, the other numbers as measured. "
        f"{'; '.join(parts)}."
        + (f" No change: {', '.join(missing)}." if missing else "")
        + (" Dates of departure are kept." if kept else "")
        + left_out(carried)
    )


def bench_standing(carried: Carried) -> go.Figure:
    """Catalogue against bench: specific impulse and refuelling of the same design, and its chance of closing."""
    names = drawn_names(carried)
    free = carried.standing[carried.standing["calendar"] == "free"]
    titles = {name: style.wrapped(title_of(carried, name), 24) for name in names}
    drawn = style.panels(
        ["Refuelling, mean of the hops", "Specific impulse", "Chance that it closes"],
        64 + 46 * len(names), columns=1, gap=86,
    )  # fmt: skip
    for row, column in enumerate(("refuel_time_mean", "specific_impulse"), start=1):
        for source in SOURCES:
            part = free[free["source"] == source].set_index("architecture").reindex(names)
            values = np.asarray(style.shown(column, part[column].to_numpy(dtype=np.float64)))
            values = np.where(np.isfinite(values), values, np.nan)
            colour, shape = SOURCE_LOOKS[source]
            text = [_beside(one, value) for one, value in zip(part.to_dict("records"), values, strict=True)]
            trace = _bar(
                f"cell and engine of the {source}", [titles[name] for name in names], values, colour, shape,
                shown=row == 1, text=text, textposition="outside", cliponaxis=False, textfont={"size": 11},
            )  # fmt: skip
            drawn.add_trace(trace, row=row, col=1)
        largest = float(np.nanmax(np.append(style.shown(column, _known(free[column])), 0.0)))
        title = "Refuelling per hop (d)" if row == 1 else style.axis_title(column)
        drawn.update_xaxes(title_text=title, range=[0.0, 1.32 * largest or 1.0], row=row, col=1)
    _chances(drawn, carried, titles)
    drawn.update_xaxes(title_text="Chance of closing (%)", range=[0, 100], row=3, col=1)
    drawn.update_yaxes(
        type="category",
        categoryorder="array",
        categoryarray=list(titles.values()),
        autorange="reversed",
        showgrid=False,
    )
    drawn.update_layout(barmode="group", bargap=0.3)
    return captioned(drawn, standing_words(carried, free))


def _known(column: pd.Series[float]) -> FloatArray:
    values = column.to_numpy(dtype=np.float64)
    return np.where(np.isfinite(values), values, np.nan)


def _beside(row: dict[Any, Any], value: float) -> str:
    """Words at the end of a bar."""
    number = style.number(value) if np.isfinite(value) else "none"
    return (
        number if bool(row.get("closes")) else f"{number}, fails: {style.escape(row.get('limited_by', ''))}"
    )


def _chances(drawn: go.Figure, carried: Carried, titles: dict[str, str]) -> None:
    """Chances of closing with their intervals."""
    table = carried.chance[carried.chance["architecture"].isin(list(titles))]
    for kind, (words, colour, shape) in UNCERTAIN.items():
        part = table[table["uncertain"] == kind]
        if part.empty:
            continue
        value, low, high = (100.0 * part[one].to_numpy(dtype=np.float64) for one in ("chance", "low", "high"))
        drawn.add_trace(
            _bar(
                words, [titles[str(name)] for name in part["architecture"]], value, colour, shape, shown=True,
                error_x={"array": high - value, "arrayminus": value - low, "thickness": 1.5, "color": style.BLACK},
            ),
            row=3, col=1,
        )  # fmt: skip
    if table.empty:
        drawn.add_trace(
            go.Scatter(
                x=[2.0], y=[next(iter(titles.values()))], mode="text", text=["nothing uncertain reaches it"],
                textposition="middle right", showlegend=False, meta={"drawing_only": True},
            ),
            row=3, col=1,
        )  # fmt: skip


def standing_words(carried: Carried, free: pd.DataFrame) -> str:
    """The same design with either cell and engine, in words."""
    parts = []
    for name in drawn_names(carried):
        said = [
            f"{row['source']} {style.quantity_text('specific_impulse', float(row['specific_impulse']))}, refuelling "
            f"{style.quantity_text('refuel_time', float(row['refuel_time_mean']))}, "
            f"{'closes' if bool(row['closes']) else 'fails at ' + str(row['limited_by'])}"
            for row in free[free["architecture"] == name].to_dict("records")
        ]
        chance = carried.chance[carried.chance["architecture"] == name]
        sure = [
            f"chance {UNCERTAIN[str(row['uncertain'])][0]} {style.percent(float(row['chance']))}"
            for row in chance.to_dict("records")
        ]
        parts.append(f"{title_of(carried, name)}: {'; '.join([*said, *sure])}")
    return (
        f"The same design with the cell and engine of the catalogue and with those of the bench. {'. '.join(parts)}. "
        "Chances with 95 % intervals; they hold under the stated distributions and models."
        + left_out(carried)
    )
