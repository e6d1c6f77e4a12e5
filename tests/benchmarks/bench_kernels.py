"""Microseconds per element of every public physics function on long arrays; prints, never fails on a clock.

Each function is called as the example in its docstring calls it, its numbers repeated and shaken a little.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from example_calls import FUNCTIONS, broadcasting, enlarged, example_call

from tradespace.errors import DomainError

LENGTH = 100_000
REPEATS = 3
SHAKE = 1e-6
SLOW, NOTABLE = 2.0, 0.5  # microseconds per element


def long_call(name: str, length: int = LENGTH, shake: float = SHAKE) -> dict[str, object]:
    """The call of the docstring over arrays; counts stay as they are."""
    call = example_call(name)
    steps = 1.0 - shake * np.random.default_rng(0).random(
        length
    )  # inwards, where an example sits on an upper limit
    long: dict[str, object] = dict(call)
    for argument in broadcasting(name):
        array = enlarged(call[argument], (length,))
        if not isinstance(call[argument], int):
            array = array * steps.reshape(length, *(1,) * (array.ndim - 1))
        long[argument] = array
    return long


def microseconds(name: str, length: int = LENGTH) -> float | None:
    """Least time per element of some calls; None for a function that takes no arrays."""
    if not broadcasting(name):
        return None
    function, call = FUNCTIONS[name], long_call(name, length)
    try:
        function(**call)  # compiles
    except DomainError:  # the example sits on a lower limit
        call = long_call(name, length, 0.0)
        function(**call)
    spent = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        function(**call)
        spent.append(time.perf_counter() - start)
    return 1e6 * min(spent) / length


def table(length: int = LENGTH) -> list[tuple[float, str]]:
    """Microseconds per element and function, the slowest first."""
    times = ((microseconds(name, length), name) for name in FUNCTIONS)
    return sorted(((spent, name) for spent, name in times if spent is not None), reverse=True)


def flag(spent: float) -> str:
    """A mark on what is slow."""
    return "<< above 2" if spent > SLOW else "<  above 0.5" if spent > NOTABLE else ""


def main() -> None:
    """Print one line per function."""
    with np.errstate(all="ignore"):  # compiled code may try both sides of a branch
        rows = table()
    width = max(len(name) for _, name in rows)
    for spent, name in rows:
        print(f"{name:<{width}}  {spent:8.4f} us  {flag(spent)}".rstrip())
    slow = sum(spent > SLOW for spent, _ in rows)
    print(f"{len(rows)} functions on arrays of {LENGTH}: {slow} above {SLOW:g} microseconds per element")


if __name__ == "__main__":
    main()
