"""The tables of a run with their numbers, for print and for CSV; the words are written by whoever prints them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tradespace.findings import evidence_tables, standing_tables
from tradespace.findings.table import Cell, Column, ResultTable

if TYPE_CHECKING:
    from tradespace.results import Results

__all__ = ["MAKERS", "Cell", "Column", "ResultTable", "result_tables"]

MAKERS: tuple[Callable[[Results], ResultTable], ...] = (
    standing_tables.ranking,
    standing_tables.designs,
    standing_tables.masses,
    standing_tables.hops,
    standing_tables.thrusters,
    evidence_tables.improvements,
    evidence_tables.exchange,
    evidence_tables.stack_up,
    evidence_tables.chances,
    evidence_tables.assumptions,
    evidence_tables.choices_taken,
    evidence_tables.checks,
)
"""Every table, in the order in which a paper would show them."""


def result_tables(results: Results) -> list[ResultTable]:
    """Every table of a run that has rows.

    Parameters
    ----------
    results : Results
        What a run gave.
    """
    return [found for make in MAKERS if (found := make(results)).rows]
