"""Designs shared out over the processors, in parts of one size."""

from __future__ import annotations

import contextvars
import itertools
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from tradespace import constants
from tradespace.processors import processors

SETTINGS = "engine_settings.csv"
Result = TypeVar("Result")


def part_count(count: int, threads: int, most: int | None = None) -> int:
    """Number of parts of a set of designs: as many for each thread, none too small to be worth one."""
    most = most or int(constants.value("answers_piece", SETTINGS))
    least = int(constants.value("answers_least", SETTINGS))
    parts = max(-(-count // most), min(threads, count // least), 1)
    return -(-parts // threads) * threads if parts > threads else parts


def shared_out(count: int, part: Callable[[slice], Result], most: int | None = None) -> list[Result]:
    """What a function gives for the parts of a set of designs, in their order.

    Parameters
    ----------
    count : int
        Designs in the set.
    part : callable
        Takes the slice of the set that is a part of it; called in threads when there are several, with the context
        variables of the caller.
    most : int, optional
        Designs in a part at most; by default that of the engine's settings.
    """
    threads = processors()
    parts = part_count(count, threads, most)
    edges = [count * number // parts for number in range(parts + 1)]
    slices = [slice(begin, end) for begin, end in itertools.pairwise(edges)]
    if parts == 1:
        return [part(slices[0])]
    tasks = [(contextvars.copy_context(), one) for one in slices]
    with ThreadPoolExecutor(min(threads, parts)) as pool:
        return list(pool.map(lambda task: task[0].run(part, task[1]), tasks))
