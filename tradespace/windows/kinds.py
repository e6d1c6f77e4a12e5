"""Kinds of transfers: sense of turning, full turns on the way, and which of the two orbits those allow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tradespace.errors import TransferError, unknown_name

MOST_TURNS = 5
PATHS = ("low", "high")
SENSES = ("prograde", "retrograde")
KINDS: tuple[str, ...] = (
    *SENSES,
    *(f"{sense} {turns} {path}" for turns in range(1, MOST_TURNS + 1) for sense in SENSES for path in PATHS),
)
"""Every kind by name; its place in this tuple is its code in a curve."""


def transfer_kinds(retrograde: bool = False, revolutions: int = 0) -> tuple[str, ...]:
    """Names of all kinds with the senses of turning and at most the full turns asked for.

    Parameters
    ----------
    retrograde : bool
        Whether orbits against the sense of the planets are tried as well.
    revolutions : int
        Most full turns on the way.

    Raises
    ------
    TransferError
        If there are less than no turns, or more than are tried.

    Examples
    --------
    >>> transfer_kinds(revolutions=1)
    ('prograde', 'prograde 1 low', 'prograde 1 high')
    """
    if revolutions not in range(MOST_TURNS + 1):
        raise TransferError(f"revolutions must be a whole number from 0 to {MOST_TURNS}, not {revolutions}")
    senses = SENSES if retrograde else SENSES[:1]
    names = [kind for kind in KINDS if kind.split()[0] in senses]
    return tuple(kind for kind in names if int([*kind.split(), "0"][1]) <= revolutions)


def kind_table(kinds: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows (full turns, prograde, low path) for the solver, in the order of codes, and the codes.

    Raises
    ------
    UnknownNameError
        If no kind has that name.
    TransferError
        If no kind is given.
    """
    names = (kinds,) if isinstance(kinds, str) else tuple(kinds)
    for name in names:
        if name not in KINDS:
            raise unknown_name("kind of transfer", str(name), KINDS)
    if not names:
        raise TransferError(f"no kind of transfer is given; choose from {', '.join(KINDS)}")
    codes = sorted({KINDS.index(name) for name in names})
    rows = []
    for code in codes:
        words = KINDS[code].split()
        turns = int(words[1]) if len(words) > 1 else 0
        rows.append((turns, words[0] == "prograde", words[-1] != "high"))
    return np.array(rows, dtype=np.int64).reshape(-1, 3), np.array(codes, dtype=np.int64)
