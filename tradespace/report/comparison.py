"""The section in which the architectures stand side by side: numbers, evidence, and who overtakes whom."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tradespace.comparison import NUMBERS, SHOWN, compare
from tradespace.figures.style import label, number, pretty_unit, quantity_text, title_of
from tradespace.quantities import quantities, quantity
from tradespace.report.page import Markup, Row, details, paragraph, table, text
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.comparison import BreakEven, Compared, Comparison, Shown
    from tradespace.results import Results

LOOK = "wide"
LEAST_HOPS = 0.01
"""Shares of a hop below this are not told apart."""
MOST_OPEN = 8
"""Architectures up to which the table of break-evens stands open."""


def comparison_parts(results: Results) -> list[Markup]:
    """Words and three tables."""
    found = compare(results)
    return [
        number_table(results, found),
        evidence_table(found),
        *break_even_parts(results, found),
    ]


def number_table(results: Results, found: Comparison) -> Markup:
    """One row per architecture with its numbers."""
    names = [
        name for name in NUMBERS
        if name in quantities() and any(not math.isnan(one.numbers[name]) for one in found.rows)
    ]  # fmt: skip
    headings = [
        "Architecture",
        *(f"{label(name)}{unit_words(name)}" for name in names),
        "Mass payback (hops)",
        "Start mass ratio",
    ]
    rows = [
        Row(
            [
                title_cell(one),
                *(number_cell(name, one.numbers[name]) for name in names),
                payback_cell(one),
                ratio_cell(one),
            ],
            "" if one.standing.refuels else "apart",
        )
        for one in found.rows
    ]
    return table(number_caption(results, found), headings, rows, range(1, len(names) + 3), look=LOOK)


def unit_words(name: str) -> str:
    """Display unit in brackets, where there is one."""
    unit = pretty_unit(quantity(name).display_unit)
    return "" if unit == "–" else f" ({unit})"


def number_cell(name: str, value: float) -> str:
    """A number in its display unit, without the unit."""
    if name == "hops_in_life" and 0.0 < value < LEAST_HOPS:
        return f"below {LEAST_HOPS:g}"
    return number(value if not math.isfinite(value) else quantity(name).shown(value))


def title_cell(one: Compared) -> Markup:
    """Title, then in small letters what holds it back."""
    small = "" if one.standing.closes else f"<small>does not close: {text(limit_words(one))}</small>"
    return Markup(f"{numbered(one.place, one.standing.title)}{small}")


def numbered(place: int, title: str) -> Markup:
    """A title after the number by which figures and the break-evens call it."""
    return Markup(f"<b>{place}</b>\N{NO-BREAK SPACE}{text(title)}")


def limit_words(one: Compared) -> str:
    """What holds a design back."""
    row = one.standing.row
    return "no design" if row is None else str(row["limited_by"])


def sources_words(one: Compared) -> str:
    """Keys of the sources in words."""
    return "; ".join(key.replace("_", " ") for key in one.evidence.sources) or "study file"


def payback_cell(one: Compared) -> str:
    """Hops to mass payback; never where it does not come."""
    if not one.standing.refuels:
        return "–"
    return "never" if math.isinf(one.payback_hops) else number(one.payback_hops, 2)


def ratio_cell(one: Compared) -> str:
    """Start mass against that of the best craft that does not refuel."""
    if math.isinf(one.start_mass_ratio):
        return "only refuelling closes"
    return number(one.start_mass_ratio)


def number_caption(results: Results, found: Comparison) -> str:
    """What the columns mean."""
    carried = (
        "no craft that carries all its propellant closes"
        if found.carried is None
        else f"the best craft that carries all its propellant is {found.carried.title}, "
        f"{quantity_text('start_mass', float(found.carried.row['start_mass']))} at the start"  # type: ignore[index]
    )
    return (
        "The design that stands for each architecture: the best that closes, else the nearest to closing. Power per "
        "thrust and energy spent hold splitting, storing and live power; mining is left out of them and held in the "
        "energy per hop. Mass payback: hops after which more water has been mined than the mass of plant and power "
        "that only refuelling needs (extraction plant, electrolyser, and of array, source and battery the share that "
        "payload and keep-alive leave to refuelling, each with growth and margin); never where the design does not "
        "close. Start mass ratio: start mass of the best craft that does not refuel over its own, so above 1 "
        f"refuelling saves mass; {carried}."
    )


def evidence_table(found: Comparison) -> Markup:
    """One row per architecture with what has been shown of it, and where."""
    kinds = [
        (name, words) for name, (words, _) in SHOWN.items() if any(name in one.evidence.shown for one in found.rows)
    ]  # fmt: skip
    headings = ["Architecture", "Maturity", *(words for _, words in kinds), "Grade", "Sources"]
    rows = [
        Row(
            [
                numbered(one.place, one.standing.title),
                one.evidence.maturity or "–",
                *(shown_cell(one.evidence.shown.get(name)) for name, _ in kinds),
                one.evidence.grade,
                sources_words(one),
            ],
            "" if one.standing.refuels else "apart",
        )
        for one in found.rows
    ]
    caption = (
        "What has been shown of each. A cell holds the value, its range and its grade; a dash: nothing found. The "
        "grade in the last but one column is the weakest among the values that the specific impulse and efficiency of "
        "this page rest on."
    )
    return table(caption, headings, rows, look=LOOK)


def shown_cell(shown: Shown | None) -> Markup | str:
    """A demonstrated value with its range and grade."""
    if shown is None:
        return "–"
    value, low, high = (
        float(convert(number_, shown.value.unit, shown.unit))
        for number_ in (shown.value.value, shown.value.low, shown.value.high)
    )
    unit = "" if shown.unit == "1" else f" {pretty_unit(shown.unit)}"
    span = "" if low == high else f"{number(low)} to {number(high)}, "
    return Markup(
        f'<span class="nb">{text(number(value) + unit)}</span><small>{text(span + shown.value.grade)}</small>'
    )


def break_even_parts(results: Results, found: Comparison) -> list[Markup]:
    """The matrix of break-even prices, with words before it."""
    order = found.order()
    if len(order) < 2 or not math.isfinite(found.delta_v):
        return []
    places = {one.standing.name: one.place for one in found.rows}
    cells = {(one.slow, one.fast): one for one in found.pairs}
    headings = ["Mines more per hop", *(str(places[name]) for name in order[1:])]
    rows = []
    for line, slow in enumerate(order[:-1]):
        row = [
            "" if column <= line else pair_cell(cells[(slow, fast)], places)
            for column, fast in enumerate(order)
        ][1:]
        rows.append(Row([numbered(places[slow], title_of(results, slow)), *row]))
    price = quantity_text("extraction_energy", found.price) if math.isfinite(found.price) else "not told"
    caption = (
        "Break-even extraction energy in kWh per kilogram of water: below it the architecture of the row takes less "
        "energy in all for a hop of the same craft, above it that of the column (by number), which needs less water. "
        f"At {quantity_text('delta_v', found.delta_v)} a hop. “n always”: number n takes less at any price. The "
        f"underlined side is ahead at this study's price, {price}: R the row, C the column."
    )
    drawn = table(caption, headings, rows, range(1, len(headings)), look=f"{LOOK} pairs")
    words = paragraph(lead(results, found, price))
    if len(order) <= MOST_OPEN:
        return [words, drawn]
    return [words, details(f"Break-even extraction energies, {len(found.pairs)} pairs", drawn)]


def pair_cell(one: BreakEven, places: dict[str, int]) -> Markup:
    """One pair."""
    if one.always:
        return Markup(f"<small>{places[one.ahead]} always</small>")
    words = number(float(convert(one.energy, "J/kg", "kWh/kg")), 2)
    side = "" if not one.ahead else "C" if one.ahead == one.fast else "R"
    return Markup(f'{text(words)}<small class="side">{side}</small>')


def lead(results: Results, found: Comparison, price: str) -> str:
    """Which architecture takes least energy in all at the study's own price, and from where on another does."""
    wins: dict[str, int] = {}
    for one in found.pairs:
        if one.ahead:
            wins[one.ahead] = wins.get(one.ahead, 0) + 1
    if not wins:
        return "Which takes less energy in all depends on what a kilogram of water costs to mine."
    best = max(wins, key=lambda name: wins[name])
    dearer = [one for one in found.pairs if one.slow == best and math.isfinite(one.energy)]
    following = min(dearer, key=lambda one: one.energy, default=None)
    later = (
        ""
        if following is None
        else f" Above {quantity_text('extraction_energy', following.energy)} "
        f"{title_of(results, following.fast)} takes less."
    )
    return (
        f"At the study's own price of water, {price}, {title_of(results, best)} takes the least energy in all per hop, "
        f"mining included, for the same dry craft; whether that craft closes is another question.{later}"
    )
