"""Points that fill the unit cube evenly: scrambled Sobol' sequence, Latin hypercube, plain random."""

from __future__ import annotations

from threading import Lock
from typing import Any

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.sampling.hypercube import latin_hypercube_between

KINDS = ("sobol", "latin_hypercube", "random")
EDGE = 2.0**-53
"""Nothing closer to 0 or 1 is given, so that quantiles stay finite."""


def unit_points(count: int, dimensions: int, seed: int, kind: str = "sobol") -> FloatArray:
    """Points in the open unit cube, the same ones for the same seed.

    Parameters
    ----------
    count : int
        How many; of a Sobol' sequence best a power of two.
    dimensions : int
        Of the cube.
    seed : int
        Zero is a seed like any other.
    kind : str
        ``sobol`` (scrambled), ``latin_hypercube`` or ``random``.

    Returns
    -------
    ndarray, shape (count, dimensions)
        Above 0 and below 1.

    Raises
    ------
    ValueError
        If the kind is unknown, or a number is not a count.

    Examples
    --------
    >>> unit_points(4, 2, seed=0).shape
    (4, 2)
    """
    if kind not in KINDS:
        raise ValueError(f"points of kind {kind!r} are unknown; allowed: {', '.join(KINDS)}")
    if count < 0 or dimensions < 0:
        raise ValueError(f"{count} points of {dimensions} dimensions; neither may be negative")
    if count == 0 or dimensions == 0:
        return np.empty((count, dimensions))
    if kind == "sobol":
        return sobol_between(0, count, dimensions, seed)
    if kind == "latin_hypercube":
        return hypercube_between(0, count, count, dimensions, seed)
    return _opened(np.random.default_rng(seed).random((count, dimensions)))


def _opened(points: FloatArray) -> FloatArray:
    return np.clip(points, EDGE, 1.0 - EDGE, out=points)


class _Sequence:
    """A scrambled Sobol' sequence that remembers how far it has come."""

    def __init__(self, dimensions: int, seed: int) -> None:
        from scipy.stats import qmc

        self._engine: Any = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed))

    @property
    def place(self) -> int:
        return int(self._engine.num_generated)

    def between(self, start: int, stop: int) -> FloatArray:
        """The points numbered so; the sequence must not be past them."""
        if start > self.place:
            self._engine.fast_forward(start - self.place)
        points = np.empty((stop - start, self._engine.d))
        head = 1 if start == 0 else 0  # the library warns of a first draw that is not a power of two
        if head:
            points[:1] = self._engine.random(1)
        if stop - start > head:
            points[head:] = self._engine.random(stop - start - head)
        return _opened(points)


_lock = Lock()
_latest: dict[tuple[int, int], _Sequence] = {}


def sobol_between(start: int, stop: int, dimensions: int, seed: int) -> FloatArray:
    """The points numbered ``start`` to ``stop - 1`` of a scrambled Sobol' sequence.

    Pieces asked for in order cost no more than all at once: the last sequence is kept where it stands.

    Examples
    --------
    >>> whole = sobol_between(0, 64, 3, seed=1)
    >>> bool((sobol_between(10, 20, 3, seed=1) == whole[10:20]).all())
    True
    """
    if stop <= start:
        return np.empty((0, dimensions))
    with _lock:
        sequence = _latest.pop((dimensions, seed), None)
        if sequence is None or sequence.place > start:
            sequence = _Sequence(dimensions, seed)
        points = sequence.between(start, stop)
        _latest.clear()
        _latest[dimensions, seed] = sequence
    return points


def hypercube_between(start: int, stop: int, count: int, dimensions: int, seed: int) -> FloatArray:
    """The points numbered ``start`` to ``stop - 1`` of a Latin hypercube, inside the open cube."""
    return _opened(latin_hypercube_between(start, stop, count, dimensions, seed))
