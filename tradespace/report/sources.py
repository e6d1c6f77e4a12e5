"""The bibliography and the cautions, both from the data files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tradespace.errors import TradespaceError
from tradespace.findings import sources_used
from tradespace.report.page import Markup, Row, paragraph, table, text
from tradespace.tables import read_table

if TYPE_CHECKING:
    from tradespace.results import Results


def source_keys(results: Results) -> list[str]:
    """Keys of the sources behind the values that were used."""
    return [one.key for one in sources_used(results)] if source_rows() else []


def source_rows() -> tuple[dict[str, str], ...]:
    """The bibliography; empty when the table is not there."""
    try:
        return read_table("sources.csv").rows
    except TradespaceError:
        return ()


def bibliography(results: Results) -> Markup:
    """The sources behind the values that were used."""
    keys = set(source_keys(results))
    rows = [
        Row(
            [
                row["key"].replace("_", " "),
                row["authors"],
                row["year"],
                row["title"],
                row["where"],
                row["note"],
            ]
        )
        for row in source_rows()
        if row["key"] in keys
    ]
    if not rows:
        return paragraph(
            "The bibliography is not part of this installation; the keys above name the sources."
        )
    return table(
        "Sources of the values used in this run, by key.",
        ["Key", "Authors", "Year", "Title", "Where", "Remark"],
        rows,
    )


def cautions() -> list[Markup]:
    """The usual cautions, with the documents that decide."""
    return [
        Markup(
            f'<div class="caution"><h3>{text(row["title"])}</h3>{paragraph(row["caution"])}'
            f"{paragraph('See: ', row['documents'], look='note')}</div>"
        )
        for row in read_table("cautions.csv").rows
    ]
