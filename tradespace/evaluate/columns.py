"""Fields of the records of a set of designs, each held once where all designs share it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from tradespace.physics.compiled import FloatArray, records


class Columns:
    """The fields of the design records by name: a number that all designs share, or an array of shape (count,)."""

    def __init__(self, count: int) -> None:
        from tradespace.spacecraft import DESIGN

        self.count = count
        self._shared = np.zeros(1, dtype=DESIGN)
        self._own: dict[str, FloatArray] = {}

    def __setitem__(self, name: str, value: ArrayLike) -> None:
        """Take a field from a number or an array of shape (count,)."""
        column = np.asarray(value, dtype=np.float64)
        if column.size == 1 or column.strides == (0,):
            self._shared[name] = column.flat[0]
            self._own.pop(name, None)
        else:
            self._own[name] = column

    def __getitem__(self, name: str) -> FloatArray:
        """A field as an array of shape () where all designs share it, else (count,)."""
        return self._own[name] if name in self._own else np.asarray(self._shared[name][0])

    def _block(self) -> tuple[np.ndarray, FloatArray]:
        """Places of the fields that differ from design to design, and their values, shapes (m,) and (m, count)."""
        names = self._shared.dtype.names or ()
        places = np.array([names.index(name) for name in self._own], dtype=np.int64)
        block = np.empty((len(self._own), self.count))
        for line, column in zip(block, self._own.values(), strict=True):
            line[:] = column
        return places, block

    def find_live_power(self, distance: float) -> None:
        """Fill the power left for propulsion in cruise at a distance from the Sun [m]."""
        from tradespace import spacecraft

        powers = np.zeros(self.count if self._own else 1)
        scratch = self._shared.copy()
        spacecraft.find_live_power(
            records(scratch), scratch.view(np.float64), *self._block(), distance, powers
        )
        self["live_power"] = powers

    def rows(self) -> np.ndarray:
        """The records, shape (count,)."""
        from tradespace import spacecraft

        rows = np.empty(self.count, dtype=spacecraft.DESIGN)
        fields = rows.view(np.float64).reshape(self.count, -1)
        spacecraft.lay_out(self._shared.view(np.float64), *self._block(), fields)
        return rows
