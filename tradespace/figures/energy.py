"""What a kilogram of mined water costs in energy, item by item, at the stop and on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace.evaluate.devices import AT_STOP, IN_FLIGHT, Opened, energy_items
from tradespace.figures import style
from tradespace.figures.cells import efficiency
from tradespace.figures.designs import ROOMY, crowded, massless_words, ranked_rows, row_labels, state_words
from tradespace.figures.insides import inside
from tradespace.figures.registry import captioned, figure
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.results import Results

LOOKS = {
    "digging": ("digging and hauling the soil", style.TOL_MUTED[7], "."),
    "ideal_heat": ("ideal heat: warming, driving the water off", style.TOL_MUTED[0], ""),
    "heat_lost": ("heat lost, water not captured", style.TOL_MUTED[5], "/"),
    "cleaning": ("cleaning the water", style.TOL_MUTED[6], "x"),
    "extraction": ("extraction, as given", style.TOL_MUTED[0], "+"),
    "stored": ("splitting: stored in the gases", style.TOL_MUTED[4], ""),
    "cell_loss": ("splitting: lost in the cell", style.TOL_MUTED[1], "\\"),
    "plant": ("splitting: pumps, conversion, heat", style.TOL_MUTED[3], "-"),
    "compression": ("compressing or liquefying", style.TOL_MUTED[2], "|"),
    "store_heat": ("heat store of the landing engine", style.TOL_MUTED[8], "x"),
    "engine": ("heating and accelerating", style.BLACK, ""),
    "auxiliary": ("valves, feed, compression in flight", style.GREY, "/"),
    "sunlight": ("sunlight of its own mirror", style.ORANGE, "."),
}
"""Items with words, colour and pattern, in the order of the stack."""
LEAST = 1e-3
"""Items below this [kWh/kg] in every bar are not drawn."""
WIDEST = 4.5
"""The axis ends at this many times the median of the bars [1]."""
PARTS = (("At the stop, to fill the tanks", AT_STOP), ("On the way, to empty them", IN_FLIGHT))


def split_apart(one: Opened, energy: float) -> dict[str, float]:
    """Energy for splitting as what the gases store, what the cell loses, and what the plant around it takes."""
    plant = 1.0 + float(one.row.balance_of_plant_fraction + one.row.cell_heat_supplied)
    stack = energy / plant
    stored = min(stack * efficiency(one), stack)
    found = {"stored": stored, "cell_loss": stack - stored, "plant": energy - stack}
    return {name: amount for name, amount in found.items() if amount > 0.0}


def items_of(one: Opened, wanted: tuple[str, ...]) -> dict[str, float]:
    """Items of a part in kWh/kg, splitting taken apart."""
    found: dict[str, float] = {}
    for name, amount in energy_items(one).items():
        if name not in wanted:
            continue
        parts = split_apart(one, amount) if name in {"split", "split_in_flight"} else {name: amount}
        for part, energy in parts.items():
            found[part] = found.get(part, 0.0) + float(convert(energy, "J/kg", "kWh/kg"))
    return found


@figure("energy_breakdown", title="Energy for a kilogram of mined water", section="water", width=180)
def energy_breakdown(results: Results) -> go.Figure | None:
    """Stacked energy of the design that stands for each architecture: at the stop, and on the way."""
    names = [
        name
        for name in ranked_rows(results)
        if (one := inside(results, name)) is not None
        and one.architecture.refuels
        and one.study.kind != "burn"
    ]
    if not names:
        return None
    designs = {name: one for name in names if (one := inside(results, name)) is not None}
    labels = row_labels(results, names)
    rows_height = (62 if len(names) <= ROOMY else 36) * len(names)
    drawn = style.panels([title for title, _ in PARTS], rows_height + 60, shared_yaxes=True)
    shown: set[str] = set()
    totals = []
    for place, (_, wanted) in enumerate(PARTS):
        bars = {name: items_of(one, wanted) for name, one in designs.items()}
        whole = {name: sum(items.values()) for name, items in bars.items()}
        totals.append(whole)
        end = axis_end(list(whole.values()))
        for key, looks in LOOKS.items():
            lengths = [bars[name].get(key, 0.0) for name in names]
            if max(lengths) > LEAST:
                drawn.add_trace(
                    stack(labels, lengths, looks, shown=key not in shown), **style.place(place, 2)
                )
                shown.add(key)
        add_ends(drawn, place, dict(zip(labels, whole.values(), strict=True)), end)
        drawn.update_xaxes(title_text="Energy per water (kWh/kg)", range=[0.0, end], **style.place(place, 2))
    drawn.update_layout(
        barmode="stack",
        legend={"y": -64 / rows_height, "yanchor": "top", "traceorder": "normal"},
        height=rows_height + 300,
        margin={"t": 50, "b": 190},
    )
    drawn.update_yaxes(showgrid=False, autorange="reversed", type="category", **crowded(names))
    words = (
        energy_words(results, designs, totals)
        + state_words(results)
        + massless_words(results, ranked_rows(results))
    )
    return captioned(drawn, words)


def axis_end(totals: list[float]) -> float:
    """End of an axis on which the usual bars can be read; longer ones are cut [kWh/kg]."""
    some = [total for total in totals if total > LEAST]
    if not some:
        return 1.0
    usual = WIDEST * float(np.median(some))
    return 1.15 * (max(some) if max(some) < 2.0 * usual else usual)


def stack(labels: list[str], lengths: list[float], looks: tuple[str, str, str], *, shown: bool) -> go.Bar:
    """One item of all bars."""
    words, colour, pattern = looks
    return go.Bar(
        y=labels,
        x=np.round(lengths, 5),
        orientation="h",
        name=words,
        legendgroup=words,
        showlegend=shown,
        marker={
            "color": colour,
            "pattern": {
                "fillmode": "overlay", "shape": pattern, "fgcolor": style.WHITE, "size": 6, "solidity": 0.3
            },
            "line": {"color": style.WHITE, "width": 0.8},
        },
        hovertemplate=f"%{{x:.3g}} kWh/kg<extra>{words}</extra>",
    )  # fmt: skip


def add_ends(drawn: go.Figure, place: int, totals: dict[str, float], end: float) -> None:
    """The sum at the end of each bar, or at the edge where the bar is cut."""
    side = "" if place == 0 else str(place + 1)
    for text, total in totals.items():
        cut = total > 0.9 * end
        drawn.add_annotation(
            x=end if cut else total,
            y=text,
            xref=f"x{side}",
            yref=f"y{side}",
            text=f"{style.number(total, 3 if total >= 1.0 else 2)}{' ▶' if total > end else ''}",
            showarrow=False,
            xanchor="right" if cut else "left",
            xshift=0 if cut else 3,
            bgcolor=style.WHITE if cut else None,
            borderpad=1,
            font={"size": 11},
        )


def energy_words(results: Results, designs: dict[str, Opened], totals: list[dict[str, float]]) -> str:
    """Cheapest and dearest, and what splitting holds of it."""
    whole = {name: sum(part[name] for part in totals) for name in designs}
    cheap, dear = min(whole, key=whole.__getitem__), max(whole, key=whole.__getitem__)
    lead = next(iter(designs))
    there = {**items_of(designs[lead], AT_STOP)}
    largest = max(there, key=there.__getitem__)
    own = any(np.isfinite(stop.extraction_energy) for stop in results.mission.stops if stop.mines)
    text = (
        f"Energy for each kilogram of water mined, best design of each architecture, new stack. Least: "
        f"{style.title_of(results, cheap)}, {style.number(whole[cheap])}{style.NARROW}kWh; most: "
        f"{style.title_of(results, dear)}, {style.number(whole[dear])}{style.NARROW}kWh. Only what is spent at the "
        f"stop lengthens the refuelling: {style.number(totals[0][lead])}{style.NARROW}kWh for "
        f"{style.title_of(results, lead)}, the largest part {LOOKS[largest][0]} "
        f"({style.percent(there[largest] / totals[0][lead])})."
    )
    if any("sunlight" in items_of(one, IN_FLIGHT) for one in designs.values()):
        text += " Sunlight that a mirror gathers is heat, not electricity."
    return text + (" Stops with a source of water of their own differ at extraction." if own else "")
