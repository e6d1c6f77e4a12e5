"""Where the power went, and the numbers that a study can read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from tradespace.figures import bench as figures
from tradespace.figures.style import label, number, pretty_unit, quantity_text
from tradespace.quantities import quantities
from tradespace.report.bench.pieces import block
from tradespace.report.page import Markup, Row, paragraph, table, text
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.bench.calibration import Calibration
    from tradespace.bench.records import Fit, Loss


def loss_parts(losses: Sequence[Loss], source: str) -> list[Markup]:
    """Every part of the power as a row, beside the drawing."""
    whole = sum(one.power for one in losses if one.begins == losses[0].begins and np.isfinite(one.power))
    rows = [
        Row([one.name, one.begins, one.ends, number(one.power), number(2.0 * one.deviation, 2),
             f"{number(100.0 * one.power / whole, 3)}\xa0%" if whole > 0.0 else "–", one.basis])
        for one in losses
    ]  # fmt: skip
    caption = (
        f"Every part of the power with two standard uncertainties; shares of that in the {losses[0].begins}."
    )
    headings = ["Part", "Leaves", "Goes to", "Power (W)", "k = 2 (W)", "Share", "Basis"]
    drawn = block("power_flow", figures.power_flow(losses), source)
    return [*drawn, table(caption, headings, rows, numeric=(3, 4, 5))]


def calibration_parts(calibration: Calibration, fit: Fit, source: str) -> list[Markup]:
    """Values that a study reads, how sure they are, where they come from, and how they are carried to a flight."""
    rows = []
    for name, one in calibration.values.items():
        ends = [quantity_text(name, end) for end in (one.value, one.low, one.high)]
        told = "readings" if one.informed else "assumed before; the readings say little"
        rows.append(
            Row(
                [
                    Markup(f"{text(label(name))}<small>{text(quantities()[name].description)}</small>"),
                    *ends,
                    told,
                ]
            )
        )
    parts = [
        table(
            "Numbers of the models as the readings have them, with 95 % intervals; a study reads them with "
            '[calibration] file = "calibration.toml".',
            ["Number", "Value", "From", "To", "Told by"], rows, numeric=(1, 2, 3),
        ),
        *block("calibrated_values", figures.calibrated_values(fit), source),
    ]  # fmt: skip
    if calibration.derived:
        derived = [Row([_label(name), *_derived(name, pair)]) for name, pair in calibration.derived.items()]
        caption = "What these values imply at the bench; carried nowhere."
        parts.append(table(caption, ["Number", "Value", "k = 2"], derived, numeric=(1, 2)))
    if fit.freedom > 0:
        parts.append(
            paragraph(
                f"Squared residuals {number(fit.chi_square)} with {fit.freedom} degrees of freedom.",
                *(f" {words}" for words in fit.words),
            )
        )
    if calibration.rules:
        items = "".join(f"<li>{text(rule)}</li>" for rule in calibration.rules)
        parts.append(Markup(f"<h3>How the values are carried to a flight</h3><ul>{items}</ul>"))
    return parts


def _label(name: str) -> str:
    """The name of a measure or quantity in words."""
    return name.replace("_", " ").capitalize()


def _derived(name: str, pair: tuple[float, float]) -> Iterator[str]:
    """A derived number and twice its deviation in the unit that people use."""
    from tradespace.bench.reconciling import measures

    found = measures().get(name)
    unit, display = ("1", "1") if found is None else (found.unit, found.display_unit)
    ending = "" if display == "1" else f"\xa0{pretty_unit(display)}"
    for value in (pair[0], 2.0 * pair[1]):
        yield f"{number(float(convert(value, unit, display)))}{ending}"
