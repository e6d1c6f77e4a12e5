"""The benchmark of the tour search runs and says what it measured; it judges no clock."""

from __future__ import annotations

from bench_tour import candidates, report


def test_there_are_sixty_bodies_to_search() -> None:
    names = candidates(60)
    assert len(set(names)) == 60
    assert names[0] == "Themis"


def test_lines_say_what_was_done() -> None:
    lines = report(4, 2, 1)
    assert "4 bodies, up to 2 hops" in lines[0]
    assert "times faster" in lines[1]
    assert lines[2].startswith("Best tour: Themis > ")
