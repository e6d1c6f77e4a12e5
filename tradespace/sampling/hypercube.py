"""A Latin hypercube whose points can be made alone: a shuffle of any size that nobody needs to hold in memory."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray

ROUNDS = 6
"""Rounds of the shuffle: half as many again as make a good one of a good mixing function."""
MIXING = ((30, 0xBF58476D1CE4E5B9), (27, 0x94D049BB133111EB))
"""Shifts and factors that spread every bit of a number over all others (steele_2014)."""
LAST_SHIFT = 31
MANTISSA = 53
"""Bits of a float."""

Words = NDArray[np.uint64]


def latin_hypercube_between(start: int, stop: int, count: int, dimensions: int, seed: int) -> FloatArray:
    """The points numbered ``start`` to ``stop - 1`` of a Latin hypercube of ``count`` points.

    Along every axis each of ``count`` equal slices holds one point, anywhere in its slice.

    Parameters
    ----------
    start, stop : int
        Numbers of the points.
    count : int
        Points of the whole hypercube.
    dimensions : int
        Of the cube.
    seed : int
        Zero is a seed like any other.

    Returns
    -------
    ndarray, shape (stop - start, dimensions)
        From 0 to 1.

    Examples
    --------
    >>> whole = latin_hypercube_between(0, 10, 10, 2, seed=3)
    >>> sorted((10 * whole[:, 1]).astype(int).tolist())
    [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]
    >>> bool((latin_hypercube_between(4, 6, 10, 2, seed=3) == whole[4:6]).all())
    True
    """
    numbers = np.arange(start, stop, dtype=np.uint64)
    points = np.empty((len(numbers), dimensions))
    for axis, child in enumerate(np.random.SeedSequence(seed).spawn(dimensions)):
        keys = child.generate_state(ROUNDS + 1, np.uint64).astype(np.uint64)
        inside = (_mixed(numbers + keys[-1:]) >> np.uint64(64 - MANTISSA)) * 2.0**-MANTISSA
        points[:, axis] = (_shuffled(numbers, count, keys[:-1]) + inside) / count
    return points


def _mixed(words: Words) -> Words:
    """Numbers that look random, one for each number."""
    for shift, factor in MIXING:
        words = (words ^ (words >> np.uint64(shift))) * np.uint64(factor)
    return words ^ (words >> np.uint64(LAST_SHIFT))


def _shuffled(numbers: Words, count: int, keys: Words) -> Words:
    """Place of each number in a shuffle of all from 0 to ``count - 1``.

    The numbers of the next power of two are shuffled in rounds, each of which changes one half of the bits by a
    function of the other half and so can be undone; a place past the end is shuffled again until it is none.
    """
    places = _one_shuffle(numbers, count, keys)
    outside = np.flatnonzero(places >= np.uint64(count))
    while outside.size:
        places[outside] = _one_shuffle(places[outside], count, keys)
        outside = outside[places[outside] >= np.uint64(count)]
    return places


def _one_shuffle(numbers: Words, count: int, keys: Words) -> Words:
    bits = max((count - 1).bit_length(), 2)
    low_bits = np.uint64(bits // 2)
    low_mask = np.uint64((1 << (bits // 2)) - 1)
    high_mask = np.uint64((1 << (bits - bits // 2)) - 1)
    high, low = numbers >> low_bits, numbers & low_mask
    for place in range(0, len(keys), 2):
        high = high ^ (_mixed(low + keys[place : place + 1]) & high_mask)
        low = low ^ (_mixed(high + keys[place + 1 : place + 2]) & low_mask)
    return (high << low_bits) | low
