"""What the measured cell and engine do for a mission."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tradespace.figures import bench as figures
from tradespace.figures.style import label, number, quantity_text
from tradespace.report.bench.pieces import block
from tradespace.report.page import Markup, Row, paragraph, table, text

if TYPE_CHECKING:
    from tradespace.bench_mission import Carried


def mission_parts(carried: Carried, source: str) -> list[Markup]:
    """Standing, chance and exchange rates, with what carrying over takes for granted."""
    parts = [paragraph(f"{carried.study.title}. {carried.study.question}")]
    parts += block("bench_standing", figures.bench_standing(carried), source)
    parts += [_standing_table(carried), *_chance_table(carried)]
    parts += block("bench_exchange", figures.bench_exchange(carried), source)
    parts += _exchange_table(carried)
    items = "".join(f"<li>{text(words)}</li>" for words in carried.words)
    return parts + ([Markup(f"<h3>What this takes for granted</h3><ul>{items}</ul>")] if items else [])


def _standing_table(carried: Carried) -> Markup:
    """The same design with either cell and engine."""
    rows = [
        Row([_title(carried, row), row["source"], row["calendar"],
             "closes" if row["closes"] else f"fails: {row['limited_by']}",
             *(quantity_text(name, float(row[name])) for name in ("specific_impulse", "cell_voltage", "split_energy")),
             quantity_text("refuel_time", float(row["refuel_time_mean"])),
             quantity_text("start_mass", float(row["start_mass"])), number(float(row["margin"]), 2)])
        for row in carried.standing.to_dict("records")
    ]  # fmt: skip
    designs = "; ".join(dict.fromkeys(one.words for one in carried.designs.values()))
    return table(
        f"One design per architecture ({designs}), with the cell and engine of the catalogue and with "
        f"those of the bench. "
        "Frozen: the dates of departure are those with the catalogue.",
        ["Architecture", "Cell, engine", "Dates", "Design", "Specific impulse", "Cell voltage", "Split energy",
         "Refuelling", "Start mass", "Margin"],
        rows, numeric=range(4, 10), look="dense",
    )  # fmt: skip


def _chance_table(carried: Carried) -> list[Markup]:
    """Chances with their intervals."""
    from tradespace.report.certainty import interval_text

    whose = {"bench": "what the bench leaves open", "all": "all that is uncertain"}
    rows = [
        Row([_title(carried, row), whose.get(str(row["uncertain"]), row["uncertain"]), interval_text(row),
             str(row["samples"])])
        for row in carried.chance.to_dict("records")
    ]  # fmt: skip
    if not rows:
        return []
    caption = "Chance that the design closes, with 95 % interval; it holds under the stated distributions and models."
    return [table(caption, ["Architecture", "Uncertain", "Closes with", "Draws"], rows, numeric=(2, 3))]


def _exchange_table(carried: Carried) -> list[Markup]:
    """What each number of the bench is worth."""
    rows = []
    for row in carried.exchange.to_dict("records"):
        name = str(row["quantity"])
        values = [quantity_text(name, float(row[key])) for key in ("value", "improved")]
        gains = [
            quantity_text("refuel_time", float(row[key]))
            for key in ("work_time_gain", "work_time_ideal_gain")
        ]
        gains += [
            quantity_text("start_mass", float(row["start_mass_gain"])),
            number(float(row["margin_gain"]), 2),
        ]
        rows.append(Row([_title(carried, row), label(name), *values, *gains]))
    if not rows:
        return []
    return [
        table(
            "What a tenth of a loss removed would buy, the number worth most days per hop first: "
            "time for which power is at "
            "work on a hop, the same without that loss at all, mass at the start, and smallest margin.",
            ["Architecture", "Number", "Now", "Then", "Shorter hop", "Without the loss", "Lighter by", "Margin by"],
            rows, numeric=range(2, 8), look="dense",
        )
    ]  # fmt: skip


def _title(carried: Carried, row: dict[Any, Any]) -> str:
    """What the architecture of a row is called."""
    return str(carried.study.thrusters[str(row["architecture"])].title)
