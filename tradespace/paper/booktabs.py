"""Tables of a run as LaTeX with horizontal rules only, and as CSV."""

from __future__ import annotations

import csv
import math
import textwrap
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tradespace.figures.style import number, pretty_unit
from tradespace.paper.latex import cited, escaped

if TYPE_CHECKING:
    from tradespace.findings import Column, ResultTable
    from tradespace.findings.tables import Cell

LETTERS = 102
"""Letters of a line of text at the size of tables, on a page 160 mm wide."""
GAP, CLOSE = 2.6, 1.3
"""Room between two columns, in letters: as usual, and where there are many."""
WIDEST = 18
"""Text wider than this may be broken into lines."""
UPRIGHT = 8
"""Columns of numbers from which on their headings stand upright."""
LONG = 26
"""Rows past which a table may run over pages."""
DIGITS = 10


def cell_text(column: Column, cell: Cell) -> str:
    """A cell as plain text."""
    if cell is None:
        return "–"
    if isinstance(cell, str):
        return pretty_unit(cell) if column.kind == "unit" else cell
    if isinstance(cell, int) or column.digits >= 9:
        return f"{int(cell)}"
    return number(float(cell), column.digits)


def cell_words(column: Column, cell: Cell, keys: Collection[str]) -> str:
    """A cell as LaTeX, sources as citations."""
    if isinstance(cell, str) and column.kind == "source":
        return ", ".join(
            rf"\cite{{{key}}}" if key in keys else escaped(key.replace("_", " ")) for key in cell.split(";")
        )
    if isinstance(cell, str):
        return cited(cell_text(column, cell), keys)
    return escaped(cell_text(column, cell)).replace("~", r"\,")


def is_number(table: ResultTable, place: int) -> bool:
    """Whether a column holds numbers."""
    return any(isinstance(row[place], int | float) for row in table.rows)


def heading_words(column: Column) -> str:
    """Heading with its unit, plain text."""
    unit = pretty_unit(column.unit)
    return column.heading if unit == "–" else f"{column.heading} ({unit})"


def latex_table(table: ResultTable, keys: Collection[str]) -> str:
    """A table as LaTeX; it needs the packages booktabs, longtable and graphicx.

    Parameters
    ----------
    table : ResultTable
        What to print; of its columns and rows those meant for print.
    keys : collection of str
        Keys of the bibliography.
    """
    first = 1 if table.grouped else 0
    places = [place for place, column in enumerate(table.columns) if column.printed and place >= first]
    rows = table.in_print
    shapes = column_shapes(table, places)
    head = " & ".join(headings(table, places)) + r" \\"
    body = list(body_lines(table, places, keys))
    start = rf"\begin{{tabular}}{{@{{}}{shapes}@{{}}}}"
    caption = rf"\caption{{{cited(table.caption, keys)}}}"
    size = r"\footnotesize" + (r"\setlength{\tabcolsep}{3pt}" if is_upright(table, places) else "")
    label = rf"\label{{tab:{table.key}}}"
    if len(rows) > LONG:
        lines = [
            rf"\begingroup{size}", rf"\begin{{longtable}}{{@{{}}{shapes}@{{}}}}", f"{caption}{label}" + r"\\[4pt]",
            r"\toprule", head, r"\midrule", r"\endfirsthead", r"\toprule", head, r"\midrule", r"\endhead",
            r"\bottomrule", r"\endfoot", *body, r"\end{longtable}", r"\endgroup",
        ]  # fmt: skip
    else:
        lines = [
            r"\begin{table}[htbp]", rf"\centering{size}", caption, label, r"\par\smallskip", start, r"\toprule", head,
            r"\midrule", *body, r"\bottomrule", r"\end{tabular}", r"\end{table}",
        ]  # fmt: skip
    return "\n".join(lines) + "\n"


def headings(table: ResultTable, places: Sequence[int]) -> Iterator[str]:
    """Headings in lines, or upright over many columns of numbers."""
    upright = is_upright(table, places)
    for place in places:
        words = heading_words(table.columns[place])
        if upright and is_number(table, place):
            yield rf"\rotatebox{{90}}{{{escaped(words)}}}"
        else:
            side = "r" if is_number(table, place) else "l"
            lines = textwrap.wrap(words, heading_width(table, place), break_long_words=False) or [""]
            stacked = r"\\".join(escaped(line) for line in lines)
            yield stacked if len(lines) == 1 else rf"\shortstack[{side}]{{{stacked}}}"


def is_upright(table: ResultTable, places: Sequence[int]) -> bool:
    """Whether there are so many columns of numbers that their headings stand upright."""
    return sum(is_number(table, place) for place in places) >= UPRIGHT


def heading_width(table: ResultTable, place: int) -> int:
    """Letters of a line of a heading."""
    return max(8, cells_width(table, place)) if is_number(table, place) else WIDEST


def cells_width(table: ResultTable, place: int) -> int:
    """Letters of the widest cell of a column."""
    column = table.columns[place]
    return max((len(cell_text(column, row[place])) for row in table.in_print), default=0)


def column_shapes(table: ResultTable, places: Sequence[int]) -> str:
    """Numbers to the right; text to the left, in lines where the page is too narrow for it."""
    upright = is_upright(table, places)
    widths: dict[int, float] = {}
    for place in places:
        words = heading_words(table.columns[place])
        lines = textwrap.wrap(words, heading_width(table, place), break_long_words=False) or [""]
        heading = 2 if upright and is_number(table, place) else max(map(len, lines))
        widths[place] = max(cells_width(table, place), heading)
    room = LETTERS - (CLOSE if upright else GAP) * (len(places) - 1)
    broken = [place for place in places if not is_number(table, place) and widths[place] > WIDEST]
    left = room - sum(width for place, width in widths.items() if place not in broken)
    wanted = {place: min(widths[place], 90.0) ** 0.7 for place in broken}
    if sum(widths[place] for place in broken) <= left:
        broken = []
    whole = math.fsum(wanted.values())
    shapes = []
    for place in places:
        if place in broken:
            share = max(left, 12.0 * len(broken)) * wanted[place] / whole / LETTERS
            shapes.append(rf">{{\raggedright\arraybackslash}}p{{{share:.3f}\linewidth}}")
        else:
            shapes.append("r" if is_number(table, place) else "l")
    return "".join(shapes)


def body_lines(table: ResultTable, places: Sequence[int], keys: Collection[str]) -> Iterator[str]:
    """Rows, under headings of their own where the table is grouped."""
    last: Cell = None
    for row in table.in_print:
        if table.grouped and row[0] != last:
            if last is not None:
                yield r"\addlinespace"
            yield rf"\multicolumn{{{len(places)}}}{{@{{}}l}}{{\emph{{{escaped(row[0])}}}}} \\"
            last = row[0]
        yield " & ".join(cell_words(table.columns[place], row[place], keys) for place in places) + r" \\"


def write_csv(table: ResultTable, path: Path) -> None:
    """All rows and columns of a table, numbers in the unit of the heading."""
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow([column.titled for column in table.columns])
        for row in table.rows:
            writer.writerow([file_cell(cell) for cell in row])


def file_cell(cell: Cell) -> str:
    """A cell of the file; text that a spreadsheet would take for a formula is kept from being one."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if cell[:1] in "=+@" or (cell[:1] == "-" and len(cell) > 1) else cell
    return f"{cell}" if isinstance(cell, int) else f"{float(cell):.{DIGITS}g}"
