"""What it would take, in the report: the inputs that make a design close alone, and how far they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tradespace.breakeven import RULE, comfortable
from tradespace.figures.improvements import leading
from tradespace.figures.style import label, number, pretty_unit, quantity_text, shown, title_of
from tradespace.figures.style import words as words_of
from tradespace.quantities import quantity
from tradespace.report.page import Markup, Row, paragraph, table

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Improvements, Results

MOST = 8
"""Inputs shown for each architecture and question."""
CAPTIONS = {
    "close": "the value of each input alone at which it would close",
    "spare": "the value of each input alone at which it would close with {} to spare",
    "fail": "how far each input alone may get worse before it stops closing",
}


def improvement_parts(results: Results) -> list[Markup]:
    """Tables of the inputs nearest to closing, or to failing, one for each architecture and question."""
    found = results.improvements
    if found is None or (found.reached.empty and found.missed.empty):
        return []
    parts = [
        paragraph(f"{RULE}. The command breakeven asks about every architecture and prints every input.")
    ]
    names = dict.fromkeys(
        [*found.reached["architecture"].astype(str), *found.missed["architecture"].astype(str)]
    )
    for name in names:
        parts += _tables(results, found, name)
    return parts


def _tables(results: Results, found: Improvements, architecture: str) -> list[Markup]:
    rows = leading(found, architecture)
    missed = found.missed[found.missed["architecture"] == architecture]
    parts = []
    for asked, caption in CAPTIONS.items():
        part, far = rows[rows["question"] == asked], missed[missed["question"] == asked]
        if part.empty and far.empty:
            continue
        words = caption.format(f"{number(100.0 * comfortable(), 2)} %")
        title = f"{title_of(results, architecture)}: {words}"
        if part.empty:
            nearest = far.iloc[0]
            parts.append(
                paragraph(
                    f"{title}: none does within its bounds; the nearest is {words_of(str(nearest['quantity']))}, "
                    f"with a margin of {_percent(float(nearest['margin']))} at {_value(nearest, 'value')}."
                )
            )
            continue
        parts.append(
            table(
                f"{title} ({min(MOST, len(part))} of {len(part)}; {len(far)} others move the margin and cannot alone).",
                [
                    "Input",
                    "Today",
                    "Value",
                    "Change",
                    "Its range",
                    "Inside",
                    "Limited there by",
                    "Next",
                    "Remark",
                ],
                [_row(row) for _, row in part.head(MOST).iterrows()],
                numeric=(1, 2, 3, 4),
            )
        )
    return parts


def _row(row: pd.Series) -> Row:
    name = str(row["quantity"])
    has_range = row["high"] > row["low"]
    change = _percent(float(row["change"]) / abs(float(row["today"]))) if row["today"] else _from_zero(row)
    notes = [str(row["note"])] if row["note"] else []
    if row["extrapolated"]:
        notes.append("beyond the data of a model")
    return Row(
        [
            label(name),
            _value(row, "today"),
            _value(row, "value"),
            change,
            _range(row) if has_range else "–",
            ("yes" if row["inside"] == "range" else "beyond it") if has_range else "none given",
            f"{row['limited_by']} at hop {int(row['limited_at'])}",
            f"{row['next_by']} {_percent(float(row['next_margin']))}",
            "; ".join(notes),
        ]
    )


def _value(row: pd.Series, column: str) -> str:
    return quantity_text(str(row["quantity"]), float(row[column]), 4)


def _from_zero(row: pd.Series) -> str:
    sign = "+" if row["value"] > 0.0 else ""
    return sign + _value(row, "value")


def _range(row: pd.Series) -> str:
    name = str(row["quantity"])
    low, high = (number(float(shown(name, float(row[end])))) for end in ("low", "high"))
    unit = pretty_unit(quantity(name).display_unit)
    return f"{low} to {high}" + ("" if unit == "–" else f" {unit}")


def _percent(share: float) -> str:
    return f"{number(100.0 * share)} %" if share < 0.0 else f"+{number(100.0 * share)} %"
