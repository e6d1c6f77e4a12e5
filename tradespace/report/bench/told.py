"""What the readings say: verdicts, facts, and how well each channel is known."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.bench.channels import channels
from tradespace.bench.reconciling import measures, summary
from tradespace.bench.records import IMPOSSIBLE, PASSES, SUSPECT, UNKNOWN
from tradespace.figures import bench as figures
from tradespace.figures.style import number, pretty_unit
from tradespace.report.bench.pieces import block
from tradespace.report.page import Markup, Row, details, table, text
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.bench.reconciling import Mean, Measure
    from tradespace.bench.records import Check, Fit, Readings, Reconciled

ORDER = (IMPOSSIBLE, SUSPECT, PASSES, UNKNOWN)
"""Verdicts, the gravest first."""
COLD = 0.5
"""Points whose flame is above this burn [1]."""


def check_parts(
    readings: Readings, checks: Sequence[Check], reconciled: Reconciled, source: str
) -> list[Markup]:
    """Verdicts, the gravest first, then what was noticed in reading, and the thrust against its bounds."""
    ranked = sorted(checks, key=lambda one: ORDER.index(one.verdict))
    told = [one for one in ranked if one.verdict != UNKNOWN]
    silent = [one for one in ranked if one.verdict == UNKNOWN]
    parts = []
    if told:
        rows = [
            Row([_verdict(one.verdict), one.name, _with_culprits(one), str(one.points) if one.points else "–"],
                "apart" if one.verdict == IMPOSSIBLE else "")
            for one in told
        ]  # fmt: skip
        parts.append(
            table(
                "Conditions that hold if all readings are true, the gravest verdict first; a value "
                "fails only if it passes "
                "its limit by more than two standard uncertainties.",
                ["Verdict", "Condition", "In words", "Points"], rows, numeric=(3,),
            )
        )  # fmt: skip
    if silent:
        needs = [Row([one.name, one.words]) for one in silent]
        parts.append(
            details(
                f"Of which the readings do not say: {', '.join(one.name for one in silent)}",
                table("What was not read.", ["Condition", "What it takes"], needs),
            )
        )
    if readings.remarks:
        items = "".join(f"<li>{text(one)}</li>" for one in readings.remarks)
        parts.append(Markup(f"<h3>Noticed in reading the file</h3><ul>{items}</ul>"))
    return parts + block("thrust_bounds", figures.thrust_bounds(reconciled), source)


def _verdict(words: str) -> Markup:
    """A verdict in words and colour."""
    look = "no" if words == IMPOSSIBLE else "yes" if words == PASSES else ""
    return Markup(f'<span class="{look}">{text(words)}</span>') if look else text(words)


def _with_culprits(one: Check) -> Markup:
    """The sentence of a verdict, and the channels that alone would explain it where it does not name them."""
    names = [name.replace("_", " ") for name in one.culprits if name not in one.words]
    names = [name for name in names if name not in one.words]
    found = f"<small>Wrong alone, any of these would explain it: {text(', '.join(names))}</small>"
    return Markup(text(one.words) + (found if names else ""))


def fact_parts(readings: Readings, reconciled: Reconciled, fit: Fit, source: str) -> list[Markup]:
    """Facts with k = 2, what was read, the gas by every way and the curve of the cell."""
    parts = [
        _fact_table(reconciled),
        details("What was read, and how well it is known", _channel_table(readings)),
    ]
    parts += block("gas_rates", figures.gas_rates(reconciled), source)
    return parts + block("cell_curve", figures.cell_curve(reconciled, fit), source)


def _fact_table(reconciled: Reconciled) -> Markup:
    """Means with two standard uncertainties; burning and cold points apart where there are both."""
    lit = reconciled.readings.column("lit")
    both = bool((lit > COLD).any() and (lit <= COLD).any())
    groups: dict[str, dict[str, Mean]] = (
        {"burning": summary(reconciled, lit=True), "cold": summary(reconciled, lit=False)}
        if both
        else {"": summary(reconciled)}
    )
    rows = []
    for name, one in measures().items():
        found = [group.get(name) for group in groups.values()]
        if not any(found):
            continue
        cells: list[object] = [
            Markup(f"{text(name.replace('_', ' '))}<small>{text(one.description)}</small>")
        ]
        for mean in found:
            cells += ["–", "–"] if mean is None else [said(one, mean.value, 4), said(one, mean.expanded, 2)]
        counts = " and ".join(str(mean.points) for mean in found if mean is not None)
        rows.append(Row([*cells, counts]))
    headings = [
        "Fact",
        *(words for group in groups for words in (f"Value {group}".strip(), "k = 2")),
        "Points",
    ]
    caption = (
        "Mean over the points with two standard uncertainties (k = 2): what is independent from point to point "
        f"averages out, what all points share does not. {basis_words(reconciled)}"
    )
    return table(caption, headings, rows, numeric=range(1, len(headings)), look="dense")


def said(one: Measure, value: float, digits: int) -> str:
    """A measure in the unit that people use."""
    unit = pretty_unit(one.display_unit)
    words = number(float(convert(value, one.unit, one.display_unit)), digits)
    return words if unit == "–" or not np.isfinite(value) else f"{words}\xa0{unit}"


def basis_words(reconciled: Reconciled) -> str:
    """By which ways the gas is known, and what had to be assumed."""
    ways = [name.rpartition("_")[2] for name in reconciled.residuals]
    found = f"The gas rate rests on {', '.join(ways)}." if ways else "No gas rate was reconciled."
    if reconciled.assumed:
        names = ", ".join(one.replace("_", " ") for one in reconciled.assumed)
        found += f" Not read but assumed: {names}."
    return found


def _channel_table(readings: Readings) -> Markup:
    """Every channel with its range, its uncertainties, and whether the file states them."""
    known, rows = channels(), []
    for name, column in readings.columns.items():
        good = np.isfinite(column)
        if not good.any() or name not in known:
            continue
        one = known[name]
        low, high = (
            number(float(convert(float(end), one.unit, one.display_unit)), 4)
            for end in (column[good].min(), column[good].max())
        )
        spread = [
            _spread(one.unit, one.display_unit, part.get(name), good)
            for part in (readings.random, readings.systematic)
        ]
        unit = pretty_unit(one.display_unit)
        rows.append(
            Row([name.replace("_", " "), low if low == high else f"{low} to {high}", *spread, unit,
                 str(int(good.sum())),
                 f"class of instrument: {one.instrument.replace('_', ' ')}" if name in readings.by_class else "stated"])
        )  # fmt: skip
    words = "; ".join(
        f"{key.replace('_', ' ')}: {value.replace('_', ' ')}"
        for key, value in readings.words.items()
        if value
    )
    return table(
        "Channels of the file, median uncertainty (k = 1) of the part that is independent from point "
        "to point and of the part "
        f"that all share. {words}.",
        ["Channel", "Read", "Random", "Shared", "Unit", "Points", "Uncertainty"], rows, numeric=(1, 2, 3, 5),
        look="dense",
    )  # fmt: skip


def _spread(unit: str, display: str, deviation: Any, good: Any) -> str:
    """A median uncertainty in the display unit of its channel."""
    if deviation is None:
        return "–"
    middle = float(np.median(np.nan_to_num(np.asarray(deviation)[good])))
    return number(middle * float(convert(1.0, unit, display) - convert(0.0, unit, display)), 2)
