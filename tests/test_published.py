"""Our values beside published ones: each row of ``tradespace/data/published`` is one test."""

from __future__ import annotations

from collections import Counter

import pytest

from tradespace.tables import read_table
from tradespace.validation import Check, checks

ALL = list(checks())
LEAST_PER_LINK = {"extraction": 2}


@pytest.mark.parametrize("check", ALL, ids=[f"{check.link}-{check.name}" for check in ALL])
def test_value_agrees_with_its_source(check: Check) -> None:
    if check.needs_cantera:
        pytest.importorskip("cantera")
    ours = check.ours()
    assert check.passes(ours), (
        f"{check.quantity}: ours {ours:.8g} {check.unit}, published {check.value:.8g} "
        f"(tolerance {check.allowed():.3g}; {check.source} {check.where})"
    )


def test_there_are_enough_checks_for_every_link() -> None:
    counts = Counter(check.link for check in ALL)
    assert len(ALL) >= 60
    for link, count in counts.items():
        assert count >= LEAST_PER_LINK.get(link, 4), (link, count)
    assert {
        "sunlight",
        "extraction",
        "electrolysis",
        "storage",
        "combustion",
        "nozzle",
        "rocket",
        "transfer",
    } <= set(counts)


def test_each_check_names_a_known_source_and_an_honest_status() -> None:
    sources = {row["key"] for row in read_table("sources.csv").rows}
    for check in ALL:
        assert check.source in sources, (check.name, check.source)
        assert check.status in {"seen", "memory", "computed"}, check.name
        assert check.where, check.name
        assert check.tolerance > 0.0, check.name
        assert check.tolerance_kind in {"abs", "rel"}, check.name


def test_a_wrong_value_would_fail() -> None:
    check = next(check for check in ALL if not check.needs_cantera)
    ours = check.ours()
    assert not check.passes(ours + 3.0 * check.allowed())
