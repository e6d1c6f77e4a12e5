"""Contract: the report is one page that needs nothing else, says everything it must, and trusts no text."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from invented_results import HOSTILE, invented_results

import tradespace.sweep
from tradespace.comparison import standings
from tradespace.errors import OutputError
from tradespace.quantities import quantities
from tradespace.report import report_page, write_report, write_report_of_run
from tradespace.report.words import verdict
from tradespace.tables import read_table

SECTIONS = (
    "verdict", "closure", "certainty", "power", "moving", "driving", "stackup", "solve", "improvements", "designs",
    "comparison", "calendar", "campaign", "assumptions", "thrusters", "checks", "sources", "run", "cautions",
)  # fmt: skip
VOID = {"meta", "link", "br", "img", "hr", "input"}
LARGEST = 6_000_000


class Outline(HTMLParser):
    """What a test needs to know of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in {"script", "style"}:
            self.words.append(data)


@cache
def page(case: str) -> str:
    cases: dict[str, dict[str, Any]] = {
        "tour": {}, "surface": {"surface": True}, "nothing": {"closing": False},
        "hostile": {"hostile": True, "extra": 3, "count": 6}, "bare": {"sensitivity": False},
    }  # fmt: skip
    return report_page(invented_results(**cases[case]))


def outline(case: str) -> Outline:
    parser = Outline()
    parser.feed(page(case))
    parser.close()
    return parser


CASES = ("tour", "surface", "nothing", "hostile", "bare")


@pytest.mark.parametrize("case", CASES)
def test_every_tag_is_closed_and_ids_are_unique(case: str) -> None:
    parser = outline(case)
    assert parser.open == []
    names = [attrs["id"] for _, attrs in parser.tags if "id" in attrs]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("case", CASES)
def test_nothing_is_fetched(case: str) -> None:
    for tag, attrs in outline(case).tags:
        for name in ("src", "href", "action", "data", "srcset", "poster"):
            address = attrs.get(name) or ""
            assert not re.match(r"(https?:)?//", address), (tag, address)
        if tag in {"script", "iframe", "img", "object", "embed"}:
            assert "src" not in attrs
    styles = "".join(re.findall(r"<style>(.*?)</style>", page(case).split("</head>")[0], flags=re.DOTALL))
    assert "@import" not in styles
    assert "url(" not in styles
    policy = [
        attrs["content"] for tag, attrs in outline(case).tags if tag == "meta" and "http-equiv" in attrs
    ]
    assert policy and str(policy[0]).startswith("default-src 'none'")


@pytest.mark.parametrize("case", CASES)
def test_sections_are_there_in_order_with_navigation(case: str) -> None:
    parser = outline(case)
    found = [attrs["id"] for tag, attrs in parser.tags if tag == "section"]
    skipped = {"bare": {"certainty", "driving", "solve", "stackup", "improvements"}}.get(case, set())
    wanted = [key for key in SECTIONS if key not in skipped]
    wanted = [key for key in wanted if not (case == "bare" and key == "power") or key in found]
    assert [key for key in found if key != "crossing"] == wanted
    assert ("crossing" in found) == (case == "surface")
    links = [attrs["href"] for tag, attrs in parser.tags if tag == "a" and str(attrs["href"]).startswith("#")]
    assert links == ["#main", *(f"#{key}" for key in found)]


@pytest.mark.parametrize("case", CASES)
def test_headings_go_down_one_step_at_a_time(case: str) -> None:
    levels = [int(tag[1]) for tag, _ in outline(case).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("case", CASES)
def test_tables_name_their_columns_and_rows(case: str) -> None:
    parser = outline(case)
    heads = [attrs for tag, attrs in parser.tags if tag == "th"]
    assert heads and all(attrs.get("scope") in {"col", "row", "rowgroup"} for attrs in heads)
    count = {
        name: sum(tag == name for tag, _ in parser.tags)
        for name in ("table", "caption", "figure", "figcaption")
    }
    assert count["table"] == count["caption"] >= 5
    assert count["figure"] == count["figcaption"] >= 5
    assert dict(parser.tags)["html"] == {"lang": "en"}


def test_hostile_text_stays_text() -> None:
    content = page("hostile")
    assert HOSTILE not in content
    body = content[content.index("<body>") :]
    assert "<img" not in body
    assert "<script>document" not in body
    scripts = [place.start() for place in re.finditer("<script", body)]
    assert len(scripts) == body.count("</script>") == body.count('class="plotly-graph-div"')
    words = "".join(outline("hostile").words)
    assert HOSTILE in words  # shown as it was written


def test_data_inside_scripts_cannot_end_them() -> None:
    body = page("hostile").split("<body>")[1]
    for script in re.findall(r"<script[^>]*>(.*?)</script>", body, flags=re.DOTALL):
        assert "<img" not in script
        assert "<script" not in script


def test_size_stays_below_six_megabytes_for_a_full_map() -> None:
    results = invented_results(count=60)
    assert len(results.designs) == 6 * 3600
    assert len(report_page(results).encode()) < LARGEST


def test_the_verdict_comes_first_and_is_computed() -> None:
    results = invented_results()
    words, closes = verdict(results)
    assert closes
    closing = [one for one in standings(results) if one.closes and one.refuels]
    first = min(closing, key=lambda one: float(one.row["mission_time"]))
    shown = min((one for one in closing if one.demonstrated), key=lambda one: float(one.row["mission_time"]))
    assert not first.demonstrated
    assert f"best by mission time of those whose performance has been demonstrated is {shown.title}" in words
    assert f"Ahead of it on what has not been demonstrated: {first.title}" in words
    assert "Hydrazine, all carried falls 6" in words
    text = " ".join("".join(outline("tour").words).split())
    assert (
        text.index("Yes:") == text.index(" ".join(words.split())) < text.index("Best closing design of each")
    )


def test_the_verdict_when_nothing_closes_names_the_nearest_and_what_it_lacks() -> None:
    results = invented_results(closing=False)
    words, closes = verdict(results)
    assert not closes
    assert words.startswith("No: none of the")
    water = results.designs[
        results.designs["architecture"].isin(["bipropellant", "steam", "hall", "microwave"])
    ]
    nearest = water.loc[water["margin"].idxmax()]
    assert results.study.thrusters[nearest["architecture"]].title in words.split(".")[0] + words
    assert f"short in {nearest['limited_by']}" in words


def test_standings_put_closing_designs_first_and_follow_the_figure_of_merit() -> None:
    results = invented_results()
    ranked = standings(results)
    assert [one.closes for one in ranked] == sorted((one.closes for one in ranked), reverse=True)
    merits = [float(one.row["mission_time"]) for one in ranked if one.closes]
    assert merits == sorted(merits)
    higher = replace(results.study, figure_of_merit="hops_per_year", figure_of_merit_better="higher")
    merits = [
        float(one.row["hops_per_year"]) for one in standings(replace(results, study=higher)) if one.closes
    ]
    assert merits == sorted(merits, reverse=True)


def test_every_value_used_is_listed_with_grade_and_source() -> None:
    results = invented_results()
    words = " ".join("".join(outline("tour").words).split())
    section = words[
        words.index("Every input of the run") : words.index("Specific impulse and thrust of the reference")
    ]
    for name in results.study.values:
        assert quantities()[name].symbol
        head = name.replace("_", " ")
        assert re.search(head, section, flags=re.IGNORECASE) or "velocity change" in section.lower(), name
    assert section.count("given in the study") == len(results.study.given)
    assert "swept 8 to 120, 14 points" in section


def test_jumps_are_called_jumps_and_dated() -> None:
    words = " ".join("".join(outline("tour").words).split())
    assert "jump" in words
    assert "departure of hop 2 moves from 2035-03-02 to 2034-08-11" in words


def test_what_it_takes_shows_values_and_says_when_there_is_none() -> None:
    words = " ".join("".join(outline("tour").words).split())
    assert "Array area at which longest refuelling <= 300 d" in words.replace("\xa0", " ")
    assert "none in bounds" in words


def test_cautions_cover_the_dangers_and_defer_to_codes() -> None:
    words = " ".join("".join(outline("tour").words).split())
    for title in (
        "Hydrogen with oxygen",
        "Oxygen under pressure",
        "Caustic electrolyte",
        "Pressure vessels",
        "High current",
    ):
        assert title in words
    assert "local codes" in words
    assert "licensed practice" in words
    for row in read_table("cautions.csv").rows:
        assert row["documents"], row["title"]


def test_seed_hash_and_versions_allow_another_run() -> None:
    words = "".join(outline("tour").words)
    results = invented_results()
    assert results.study.hash in words
    assert "Version of tradespace" in words
    assert "# invented" in words


def test_numbers_that_are_missing_are_dashes_not_nan() -> None:
    results = invented_results()
    designs = results.designs.copy()
    designs.loc[:, "window_slack_d"] = np.nan
    words = re.sub(
        r"<script.*?</script>", "", report_page(replace(results, designs=designs)), flags=re.DOTALL
    )
    assert not re.search(r"\bnan\b", words)
    assert '<td class="n">–</td>' in words


def test_same_results_give_the_same_page() -> None:
    assert report_page(invented_results()) == page("tour")


def test_write_report_makes_the_folder_and_says_when_it_cannot(tmp_path: Path) -> None:
    results = invented_results(sensitivity=False, count=4)
    path = write_report(results, tmp_path / "new" / "report.html")
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot write the report"):
        write_report(results, tmp_path / "file" / "report.html")


def test_report_of_a_run_rewrites_the_page_and_the_figures(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    results = invented_results(count=4)
    monkeypatch.setattr(tradespace.sweep, "read_run", lambda folder: results)
    written = write_report_of_run(tmp_path, ["csv"])
    assert written[0] == tmp_path / "report.html"
    assert (tmp_path / "figures" / "timeline.csv") in written
    assert all(path.is_file() for path in written)


@pytest.mark.parametrize(
    "pair",
    [
        ("--ink", "#fff"),
        ("--soft", "--wash"),
        ("--accent", "--wash"),
        ("--yes", "--wash"),
        ("--no", "--wash"),
    ],
)
def test_text_contrast_is_at_least_four_and_a_half(pair: tuple[str, str]) -> None:
    style = (Path(tradespace.report.__file__).parents[1] / "data" / "report.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"(--\w+): (#[0-9a-f]{6})", style)) | {"#fff": "#ffffff"}

    def luminance(colour: str) -> float:  # WCAG 2.1, relative luminance
        parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        red, green, blue = (
            one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    dark, light = sorted(luminance(colours[name]) for name in pair)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_figure_data_is_json() -> None:
    found = re.findall(
        r'<div id="(plot-[^"]+)"[^>]*></div><script type="application/json" data-plot="([^"]+)">(.*?)</script>',
        page("tour"),
        flags=re.DOTALL,
    )
    assert len(found) >= 10
    for place, key, content in found:
        assert place == key
        assert set(json.loads(content)) >= {"data", "layout", "config"}
