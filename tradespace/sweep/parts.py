"""Designs that do not stay in memory: read from the files of a run, or evaluated again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.results import SLIM

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

SETTINGS = "engine_settings.csv"
SWEEP_SETTINGS = "sweep_settings.csv"
PATTERN = "part-*.parquet"


def fits(designs: int, columns: int) -> bool:
    """Whether the table of answers stays in memory with all its columns."""
    return designs * columns <= int(constants.value("whole_table_numbers", SETTINGS))


def slim_columns(study: Study, names: Sequence[str]) -> list[str]:
    """Columns that stay in memory of a very large run, in the order of the table."""
    wanted = {"architecture", *(variable.name for variable in study.sweep), *SLIM, study.figure_of_merit}
    return [name for name in names if name in wanted]


def slimmed(frame: pd.DataFrame, study: Study, total: int) -> pd.DataFrame:
    """Some columns of a very large run as they stay in memory.

    Of the largest, numbers keep seven digits; only swept variables, figure of merit and margin keep all of theirs, so
    that the best design is the best, and :meth:`Parts.row` has the rest.

    Parameters
    ----------
    frame : DataFrame
        Some designs, with the columns of :func:`slim_columns`.
    study : Study
        What is asked.
    total : int
        Designs of the whole run.
    """
    if total * len(frame.columns) <= int(constants.value("all_digits_numbers", SWEEP_SETTINGS)):
        return frame
    exact = {*(variable.name for variable in study.sweep), study.figure_of_merit, "margin"}
    kinds: dict[str, Any] = {}
    for name, kind in frame.dtypes.items():
        if kind == np.float64 and name not in exact:
            kinds[str(name)] = np.float32
        elif kind == np.int64:
            kinds[str(name)] = np.int16
    return frame.astype(kinds)


def write_parquet(frame: pd.DataFrame, path: Path) -> None:
    """Write a table with the SI unit of each column in the schema, under a temporary name first.

    What is not a number is written as missing. A column that holds one value throughout takes almost no room.
    """
    import pyarrow as pa
    from pyarrow import parquet

    from tradespace.quantities import quantities

    known = quantities()
    columns: list[Any] = []
    fields: list[Any] = []
    repeated: list[str] = []
    varied: list[str] = []
    numbers = frame.select_dtypes(np.float64)
    block = numbers.to_numpy()  # no copy of a table that was made in one
    places = {str(name): place for place, name in enumerate(numbers.columns)}
    for name in frame.columns:
        if name in places:
            values = block[:, places[name]]
            gaps = bool(np.isnan(values.sum())) and bool(np.isnan(values).any())
            columns.append(pa.array(values, from_pandas=gaps or None))
            (repeated if one_value(values) else varied).append(str(name))
        else:
            columns.append(pa.array(frame[name]))
            repeated.append(str(name))
        stem = str(name) if name in known else str(name).rpartition("_")[0]
        unit = known[stem].unit if stem in known else ""
        fields.append(pa.field(str(name), columns[-1].type, metadata={"unit": unit} if unit else None))
    temporary = path.with_suffix(".writing")
    parquet.write_table(
        pa.table(columns, schema=pa.schema(fields)),
        temporary,
        compression="zstd",
        use_dictionary=repeated or False,
        use_byte_stream_split=varied or False,
    )
    temporary.replace(path)


def one_value(values: np.ndarray) -> bool:
    """Whether numbers are all the same; most that are not are told apart by the first, middle and last of them."""
    if not (values.size and values[0] == values[-1] == values[values.size // 2]):
        return False
    return bool(values.min() == values.max())


def read_parquet(path: Path, columns: Sequence[str] | None = None) -> pd.DataFrame:
    """Read a table written by :func:`write_parquet`, or some of its columns."""
    from pyarrow import parquet

    table: pd.DataFrame = parquet.read_table(
        path, columns=None if columns is None else list(columns), use_threads=False
    ).to_pandas()
    return table


class Table:
    """One table from many pieces, filled in place: no second copy of a large one is ever made."""

    def __init__(self, study: Study, total: int) -> None:
        self.total = total
        self.filled = 0
        self.architectures = pd.Index(study.architectures)
        self.columns: dict[str, np.ndarray] = {}
        self.words: dict[str, pd.Index] = {"architecture": self.architectures}

    def add(self, frame: pd.DataFrame) -> None:
        """Put the next designs behind those that are there.

        Raises
        ------
        ValueError
            If there are more than expected.
        """
        places = slice(self.filled, self.filled + len(frame))
        if places.stop > self.total:
            raise ValueError(f"more than {self.total} designs are there")
        for name in frame.columns:
            values = self._values(name, frame[name])
            if name not in self.columns:
                empty = np.nan if values.dtype.kind == "f" else 0
                self.columns[name] = np.full(self.total, empty, dtype=values.dtype)
            self.columns[name][places] = values
        self.filled = places.stop

    def _values(self, name: str, column: pd.Series) -> np.ndarray:
        if name == "architecture":
            held = column.astype("category").cat
            return np.asarray(self.architectures.get_indexer(held.categories.astype(str)))[held.codes]
        if isinstance(column.dtype, pd.CategoricalDtype):
            self.words.setdefault(name, column.cat.categories)
            return np.asarray(column.cat.codes)
        return column.to_numpy()

    def frame(self, *, whole: bool) -> pd.DataFrame:
        """The table; the arrays are its own unless it is ``whole``, when rows are better found side by side.

        Raises
        ------
        ValueError
            If there are fewer designs than expected.
        """
        if self.filled != self.total:
            raise ValueError(f"{self.filled} of {self.total} designs are there")
        found: dict[str, Any] = {
            name: pd.Categorical.from_codes(values, categories=self.words[name])
            if name in self.words
            else values
            for name, values in self.columns.items()
        }
        return pd.DataFrame(found, copy=whole)


def column_names(path: Path) -> list[str]:
    """Names of the columns of a file."""
    from pyarrow import parquet

    return list(parquet.read_schema(path).names)


class Parts:
    """The designs of a run in its folder, by number; the folder may be moved."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._rows: dict[int, pd.Series] = {}
        self._ends: list[int] = []

    def files(self) -> list[Path]:
        """The files in the order of the designs."""
        return sorted((self.folder / "designs").glob(PATTERN))

    def names(self) -> list[str]:
        """Names of all columns."""
        return column_names(self.files()[0])

    def row(self, place: int) -> pd.Series:
        """One design with every column."""
        if place not in self._rows:
            from pyarrow import parquet

            files = self.files()
            if not self._ends:
                self._ends = list(np.cumsum([parquet.read_metadata(file).num_rows for file in files]))
            part = int(np.searchsorted(self._ends, place, side="right"))
            inside = place - (self._ends[part - 1] if part else 0)
            one = parquet.read_table(files[part]).slice(inside, 1).to_pandas()
            self._rows[place] = one.iloc[0].rename(place)
        return self._rows[place]

    def column(self, name: str) -> pd.Series:
        """One column of all designs."""
        pieces = [read_parquet(file, [name])[name] for file in self.files()]
        return pd.concat(pieces, ignore_index=True)


class Again:
    """The designs of a run that was written nowhere, evaluated once more when one is asked for."""

    def __init__(self, study: Study, mission: Mission) -> None:
        self.study, self.mission = study, mission
        self._rows: dict[int, pd.Series] = {}

    def _evaluated(self, start: int, stop: int) -> pd.DataFrame:
        from tradespace import sampling
        from tradespace.evaluate import evaluate

        number, first = divmod(start, sampling.designs_per_architecture(self.study))
        designs = sampling.designs_between(self.study, first, first + stop - start)
        return evaluate(self.study, self.mission, list(self.study.architectures)[number], designs)

    def _pieces(self) -> Iterator[pd.DataFrame]:
        from tradespace import sampling

        size, count = (
            int(constants.value("chunk_designs", SETTINGS)),
            sampling.designs_per_architecture(self.study),
        )
        for number in range(len(self.study.architectures)):
            for start in range(0, count, size):
                yield self._evaluated(number * count + start, number * count + min(start + size, count))

    def names(self) -> list[str]:
        """Names of all columns."""
        return list(self.row(0).index)

    def row(self, place: int) -> pd.Series:
        """One design with every column."""
        if place not in self._rows:
            self._rows[place] = self._evaluated(place, place + 1).iloc[0].rename(place)
        return self._rows[place]

    def column(self, name: str) -> pd.Series:
        """One column of all designs."""
        return pd.concat([piece[name] for piece in self._pieces()], ignore_index=True)
