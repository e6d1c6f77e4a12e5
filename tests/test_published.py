"""Our values beside published ones: each row of ``tradespace/data/published`` is one test."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tradespace.tables import DATA, read_table
from tradespace.units import to_si
from tradespace.validation import KINDS, Check, checks

ALL = list(checks())
COLUMNS = (
    "id quantity function inputs output value unit tolerance tolerance_kind source where status note".split()
)
LEAST_PER_LINK = {"extraction": 2}
PARTS = {
    "sunlight and thermal": ("sunlight", "thermal", "power"),
    "extraction": ("extraction", "water"),
    "electrolysis": ("electrolysis",),
    "storage": ("storage",),
    "combustion and nozzle": ("combustion", "nozzle", "detonation"),
    "electrothermal and electric": ("electrothermal", "electric"),
    "transfer and rocket": ("transfer", "rocket"),
}
"""The seven parts of the chain, each of which needs values printed in a source."""


@pytest.mark.parametrize("check", ALL, ids=[f"{check.link}-{check.name}" for check in ALL])
def test_value_agrees_with_its_source(check: Check) -> None:
    if check.needed_library:
        pytest.importorskip(check.needed_library)
    ours = check.ours()
    assert check.passes(ours), (
        f"{check.quantity}: ours {ours:.8g} {check.unit}, published {check.value:.8g} "
        f"(tolerance {check.allowed():.3g}; {check.source} {check.where})"
    )


def test_there_are_enough_checks() -> None:
    statuses = Counter(check.status for check in ALL)
    assert len(ALL) >= 200
    assert statuses["seen"] + statuses["memory"] >= 120
    assert statuses["seen"] >= 60
    assert len({check.key for check in ALL}) == len(ALL)


def test_there_are_enough_checks_for_every_link() -> None:
    counts = Counter(check.link for check in ALL)
    for link, count in counts.items():
        assert count >= LEAST_PER_LINK.get(link, 4), (link, count)


@pytest.mark.parametrize("part", PARTS)
def test_each_part_of_the_chain_meets_values_printed_in_a_source(part: str) -> None:
    printed = [check for check in ALL if check.link in PARTS[part] and check.is_published]
    assert len(printed) >= 2
    assert len({(check.function, str(check.inputs), check.output) for check in printed}) >= 2


@pytest.mark.parametrize("path", sorted((DATA / "published").glob("*.csv")), ids=lambda path: path.stem)
def test_tables_of_checks_have_the_same_columns(path: Path) -> None:
    assert list(read_table(f"published/{path.name}").columns) == COLUMNS


def test_each_check_names_a_known_source_and_an_honest_status() -> None:
    sources = {row["key"] for row in read_table("sources.csv").rows}
    for check in ALL:
        assert set(check.source.split(";")) <= sources, (check.name, check.source)
        assert check.status in KINDS, check.name
        assert check.where, check.name
        assert check.quantity, check.name
        assert check.tolerance > 0.0, check.name
        assert check.tolerance_kind in {"abs", "rel"}, check.name
        assert to_si(1.0, check.unit) > 0.0, check.name
        assert bool(check.needed_library) == check.function.startswith("data.make."), check.name


def test_a_wrong_value_would_fail() -> None:
    check = next(check for check in ALL if not check.needed_library)
    ours = check.ours()
    assert not check.passes(ours + 3.0 * check.allowed())
