"""Finished runs asked with a WHERE clause, through DuckDB or else through Arrow; they are only read."""

from __future__ import annotations

import ast
import difflib
import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from tradespace.errors import TradespaceError, nearest, printable
from tradespace.quantities import Quantity, quantities
from tradespace.sweep.evidence import EVIDENCE, SUMMARY, UNREADABLE, check_run, refuse_no_run
from tradespace.sweep.ledger import DESIGNS
from tradespace.sweep.parts import PATTERN
from tradespace.units import NUMBER, parse_quantity

if TYPE_CHECKING:
    from tradespace.study import Study

LITERAL = re.compile(r"('(?:[^']|'')*')")
QUANTITY = re.compile(rf"'\s*{NUMBER}\s*[A-Za-z%°][^']*'")
WORD = re.compile(r"[A-Za-z_]\w*")
LONGEST = 4000
"""Characters of a WHERE clause."""
TIES = ("margin", "architecture")
SMALLER = (
    "without DuckDB a clause compares columns with numbers and words through = != <> < <= > >= in and or not ( ); "
    "for more: pip install 'tradespace[query]'"
)


@dataclass(frozen=True)
class Answer:
    """Designs of a run that meet a clause."""

    rows: pd.DataFrame
    """The first of them in the order asked for [SI]."""
    matching: int
    """How many meet it."""
    designs: int
    """How many there are."""


class Run:
    """A finished run that is asked about its designs."""

    def __init__(self, folder: Path | str, *, verify: bool = False) -> None:
        self.folder = Path(folder)
        refuse_no_run(self.folder)
        check_run(self.folder, whole=verify)
        self.data = self._dataset()

    def _dataset(self) -> Any:
        from pyarrow import ArrowInvalid, dataset

        files = sorted(str(path) for path in (self.folder / DESIGNS).glob(PATTERN))
        try:
            return dataset.dataset(files, format="parquet")
        except (*UNREADABLE, ArrowInvalid) as error:
            raise TradespaceError(f"{self.folder} is not a complete run; run the study again") from error

    @cached_property
    def study(self) -> Study:
        """What was asked."""
        from tradespace.study import parse_study

        place = self.folder / EVIDENCE / "study.toml"
        try:
            return parse_study(place.read_text(encoding="utf-8"), str(place))
        except OSError as error:
            raise TradespaceError(f"{self.folder} is not a complete run; run the study again") from error

    @property
    def names(self) -> list[str]:
        """Names of all columns."""
        return list(self.data.schema.names)

    def column(self, name: str) -> str:
        """A name that is a column.

        Raises
        ------
        TradespaceError
            If it is none; the message gives the nearest.
        """
        if name in self.names:
            return name
        close = difflib.get_close_matches(name, self.names, n=3) or nearest(name, self.names)
        words = f"did you mean {' or '.join(close)}?" if close else "see them all with: --columns all --top 1"
        raise TradespaceError(f"{printable(name)[:60]!r} is no column of {self.folder}; {words}")

    def numeric(self, name: str) -> bool:
        """Whether a column holds numbers with a fraction."""
        from pyarrow import types

        return bool(types.is_floating(self.data.schema.field(name).type))

    def ask(self, where: str, columns: Sequence[str], by: str, *, highest: bool, top: int) -> Answer:
        """The designs that meet a clause, the best first.

        Parameters
        ----------
        where : str
            Clause over the columns: SI values, or quantities with their unit in quotes. Empty for all designs.
        columns : sequence of str
            What to give of them.
        by : str
            Column of the order; ties go to the larger margin, then by architecture and swept variables.
        highest : bool
            The largest value first.
        top : int
            How many to give at most.

        Raises
        ------
        TradespaceError
            If the clause is none, or a name is no column.
        """
        shown = [self.column(name) for name in dict.fromkeys(columns)]
        self.column(by)
        clause = self.in_si(where)
        order = [(by, highest)]
        order += [(name, name == "margin") for name in (*TIES, *(item.name for item in self.study.sweep))]
        order = [(name, down) for place, (name, down) in enumerate(order) if name not in dict(order[:place])]
        try:
            import duckdb  # noqa: F401
        except ImportError:
            return _through_arrow(self, clause, shown, order, top)
        return _through_duckdb(self, clause, shown, order, top)

    def in_si(self, where: str) -> str:
        """A clause with quantities such as ``'400 kg'`` turned into the SI value of the column before them.

        Raises
        ------
        TradespaceError
            If one has no column before it, or the wrong unit.
        """
        if len(where) > LONGEST:
            raise TradespaceError(f"--where is longer than {LONGEST} characters")
        pieces = LITERAL.split(where)
        for place in range(1, len(pieces), 2):
            if QUANTITY.fullmatch(pieces[place]):
                known = [word for word in WORD.findall("".join(pieces[:place:2])) if word in self.names]
                if not known:
                    raise TradespaceError(f"--where: write the column before {pieces[place]}")
                if self.numeric(known[-1]):
                    item = quantity_of(known[-1])
                    pieces[place] = repr(parse_quantity(pieces[place][1:-1], item.unit if item else ""))
        return "".join(pieces).strip()


def quantity_of(column: str) -> Quantity | None:
    """The quantity that a column holds, of one hop too; None for a column that is no quantity."""
    known = quantities()
    return known.get(column) or known.get(column.rpartition("_")[0])


def _through_duckdb(
    run: Run, clause: str, columns: list[str], order: list[tuple[str, bool]], top: int
) -> Answer:
    """Ask DuckDB, which may read these designs and nothing else, and write nothing."""
    import duckdb

    with duckdb.connect(":memory:") as connection:
        connection.register("designs", run.data)
        for setting in ("python_enable_replacements", "enable_external_access"):
            connection.execute(f"SET {setting} = false")
        connection.execute("SET lock_configuration = true")
        designs = connection.sql("FROM designs")
        try:
            found = designs.filter(clause) if clause else designs
            matching = found.aggregate("count(*)").fetchall()[0][0]
            words = [
                f"{_not_a_number(run, name)}{_quoted(name)} {'DESC' if down else 'ASC'} NULLS LAST"
                for name, down in order
            ]
            rows = (
                found.order(", ".join(words)).limit(top).project(", ".join(map(_quoted, columns))).fetchall()
            )
        except duckdb.BinderException as error:
            unknown = re.search(r'Referenced column "([^"]*)"', str(error))
            if unknown:
                run.column(unknown[1])
            raise TradespaceError(f"--where: {_first_line(error)}") from error
        except duckdb.Error as error:
            raise TradespaceError(f"--where: {_first_line(error)}") from error
    return Answer(pd.DataFrame(rows, columns=columns), int(matching), run.data.count_rows())


def _not_a_number(run: Run, name: str) -> str:
    return f"isnan({_quoted(name)}), " if run.numeric(name) else ""


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _first_line(error: Exception) -> str:
    return printable(str(error).splitlines()[0])[:200]


def _through_arrow(
    run: Run, clause: str, columns: list[str], order: list[tuple[str, bool]], top: int
) -> Answer:
    """Ask Arrow, which knows a smaller clause; never more than a batch and the best so far in memory."""
    import pyarrow as pa

    wanted = list(dict.fromkeys((*columns, *(name for name, _ in order))))
    chosen = _expression(run, clause) if clause else None
    best, matching = pd.DataFrame(columns=wanted), 0
    names, ups = [name for name, _ in order], [not down for _, down in order]
    try:
        for batch in run.data.to_batches(columns=wanted, filter=chosen):
            matching += batch.num_rows
            if batch.num_rows:
                frame = pa.Table.from_batches([batch]).to_pandas()
                frame["architecture"] = frame["architecture"].astype(str)
                both = pd.concat([best, frame]) if len(best) else frame
                best = both.sort_values(names, ascending=ups, kind="stable", na_position="last").head(top)
    except pa.ArrowException as error:
        raise TradespaceError(f"--where: {_first_line(error)}; {SMALLER}") from error
    return Answer(best[columns].reset_index(drop=True), matching, run.data.count_rows())


def _expression(run: Run, clause: str) -> Any:
    """A clause as an expression of Arrow; Python's own grammar reads it once its operators are spelt Python's way."""
    pieces = LITERAL.split(clause)
    for place in range(0, len(pieces), 2):
        text = re.sub(r"<>", "!=", pieces[place])
        text = re.sub(r"(?<![<>!=])=(?!=)", "==", text)
        pieces[place] = re.sub(r"\b(and|or|not|in|true|false)\b", _python_word, text, flags=re.IGNORECASE)
    for place in range(1, len(pieces), 2):
        pieces[place] = repr(pieces[place][1:-1].replace("''", "'"))
    try:
        return _node(run, ast.parse("".join(pieces).strip(), mode="eval").body)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise TradespaceError(f"--where: {printable(clause)[:100]!r} is not understood; {SMALLER}") from error


def _python_word(found: re.Match[str]) -> str:
    word = found[0].lower()
    return word.capitalize() if word in {"true", "false"} else word


COMPARED: dict[type[ast.cmpop], Callable[[Any, Any], Any]] = {
    ast.Eq: lambda a, b: a == b,
    ast.NotEq: lambda a, b: a != b,
    ast.Lt: lambda a, b: a < b,
    ast.LtE: lambda a, b: a <= b,
    ast.Gt: lambda a, b: a > b,
    ast.GtE: lambda a, b: a >= b,
}


def _node(run: Run, node: ast.expr) -> Any:
    """One node of a clause.

    Raises
    ------
    ValueError
        If it is none of those a clause without DuckDB may have.
    """
    from pyarrow import compute

    if isinstance(node, ast.BoolOp):
        parts = [_node(run, item) for item in node.values]
        both = isinstance(node.op, ast.And)
        return reduce((lambda a, b: a & b) if both else (lambda a, b: a | b), parts)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return ~_node(run, node.operand)
    if isinstance(node, ast.Name):
        return compute.field(run.column(node.id))
    if isinstance(node, ast.Compare):
        return reduce(lambda a, b: a & b, _comparisons(run, node))
    raise ValueError(type(node).__name__)


def _comparisons(run: Run, node: ast.Compare) -> Iterator[Any]:
    left = node.left
    for kind, right in zip(node.ops, node.comparators, strict=True):
        if isinstance(kind, ast.In | ast.NotIn):
            values = ast.literal_eval(right)
            found = _side(run, left).isin(list(values) if isinstance(values, tuple | list) else [values])
            yield ~found if isinstance(kind, ast.NotIn) else found
        elif type(kind) in COMPARED:
            yield COMPARED[type(kind)](_side(run, left), _side(run, right))
        else:
            raise ValueError(type(kind).__name__)
        left = right


def _side(run: Run, node: ast.expr) -> Any:
    from pyarrow import compute

    if isinstance(node, ast.Name):
        field = compute.field(run.column(node.id))
        text = not run.numeric(node.id) and "dictionary" in str(run.data.schema.field(node.id).type)
        return field.cast("string") if text else field
    return compute.scalar(ast.literal_eval(node))


def about(folder: Path) -> dict[str, Any]:
    """What the summary of a run says.

    Raises
    ------
    TradespaceError
        If it is no run.
    """
    refuse_no_run(folder)
    try:
        found: dict[str, Any] = json.loads((folder / SUMMARY).read_text(encoding="utf-8"))
    except UNREADABLE as error:
        raise TradespaceError(f"{folder} is not a complete run; run the study again") from error
    return found
