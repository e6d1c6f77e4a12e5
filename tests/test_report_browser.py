"""The report in a real browser: it draws, asks nothing of the network, and complains of nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from invented_results import invented_results

from tradespace.report import write_report

sync_api = pytest.importorskip("playwright.sync_api", reason="the test extra is not installed")

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PATIENCE = 1200  # looks, 50 ms apart
CASES: dict[str, dict[str, Any]] = {
    "tour": {}, "surface": {"surface": True}, "nothing": {"closing": False},
    "hostile": {"hostile": True, "extra": 2, "count": 6},
}  # fmt: skip


def browser_path() -> str | None:
    return os.environ.get("BROWSER_PATH") or next(
        (path for name in NAMES if (path := shutil.which(name))), None
    )


pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(browser_path() is None, reason="no Chrome or Chromium on this machine"),
]


def until(page: Any, condition: str) -> None:
    """Wait for a condition, asked from outside: the page itself may evaluate no text."""
    for _ in range(PATIENCE):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    raise AssertionError(condition)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture(scope="module", params=list(CASES))
def visited(
    request: pytest.FixtureRequest, chromium: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Any]:
    path: Path = write_report(
        invented_results(**CASES[request.param]), tmp_path_factory.mktemp("report") / "report.html"
    )
    page = chromium.new_page(viewport={"width": 1366, "height": 900})
    page.notes = []
    page.on("console", lambda message: page.notes.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: page.notes.append(f"error: {error}"))
    page.on(
        "request",
        lambda sent: page.notes.append(f"request: {sent.url}") if sent.url != path.as_uri() else None,
    )
    page.goto(path.as_uri())
    until(page, "document.querySelectorAll('.plotly-graph-div:not(.js-plotly-plot)').length == 0")
    page.wait_for_timeout(500)
    page.case = request.param
    yield page
    page.close()


def test_no_complaint_and_no_request(visited: Any) -> None:
    assert [note for note in visited.notes if not note.startswith("request: data:")] == []


def test_title_is_the_study_and_not_what_its_text_tried(visited: Any) -> None:
    assert visited.title().startswith("An invented tour")
    assert visited.locator("main img").count() == 0


def test_every_trace_that_can_be_seen_is_drawn(visited: Any) -> None:
    counts = visited.evaluate(
        """() => [...document.querySelectorAll('.js-plotly-plot')].map(plot => {
            const wanted = {heatmap: 0, contour: 0, bar: 0, scatter: 0};
            for (const trace of plot.data) wanted[trace.type] += 1;
            const drawn = {
                heatmap: plot.querySelectorAll('.heatmaplayer image').length,
                contour: plot.querySelectorAll('.contourlayer .contour').length,
                bar: plot.querySelectorAll('.barlayer .trace').length,
                scatter: plot.querySelectorAll('.scatterlayer .trace').length,
            };
            return [plot.id, wanted, drawn, plot.clientWidth, plot.querySelectorAll('.barlayer path').length];
        })"""
    )
    assert len(counts) >= 8
    kinds = set()
    for name, wanted, drawn, width, bars in counts:
        assert width > 600, name
        for kind, number in wanted.items():
            assert drawn[kind] == number, (name, kind)
            kinds |= {kind} if number else set()
        assert bool(bars) == bool(wanted["bar"]), name
    assert kinds == {"heatmap", "contour", "bar", "scatter"}


def test_page_does_not_scroll_sideways_and_panel_titles_do_not_touch(visited: Any) -> None:
    assert visited.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    overlaps, seen = visited.evaluate(
        """() => {
            const found = [];
            let seen = 0;
            for (const plot of document.querySelectorAll('.js-plotly-plot')) {
                const marks = '.xtick text, .g-xtitle text, .annotation text, .legend .legendtext';
                const boxes = [...plot.querySelectorAll(marks)].filter(one => one.textContent.trim())
                    .map(one => [one.textContent, one.getBoundingClientRect()]);
                seen += boxes.length;
                for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++) {
                    const [a, b] = [boxes[i][1], boxes[j][1]];
                    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                    if (wide > 2 && high > 3) found.push([plot.id, boxes[i][0], boxes[j][0]]);
                }
            }
            return [found, seen];
        }"""
    )
    assert seen > 50
    if visited.case != "hostile":  # its names are longer than any panel
        assert overlaps == []


def test_a_narrow_page_keeps_its_words_in_view(visited: Any) -> None:
    if visited.case in {"surface", "nothing"}:
        pytest.skip("a page of a surface study is made of the same parts")
    visited.set_viewport_size({"width": 600, "height": 900})
    visited.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    wide = visited.evaluate(
        """() => [...document.querySelectorAll('main *')].filter(one => one.tagName === 'CAPTION'
                || !one.closest('.scroll, .plot, pre')).filter(one => one.getBoundingClientRect().right > innerWidth)
            .map(one => one.tagName + ' ' + one.textContent.slice(0, 60))"""
    )
    checks = visited.evaluate(
        """() => [...document.querySelectorAll('#checks table')].filter(one => one.querySelector('td.n'))
            .map(one => [one.caption.textContent, one.scrollWidth - one.parentElement.clientWidth])"""
    )
    visited.evaluate("document.querySelectorAll('details').forEach(one => { one.open = false; })")
    visited.set_viewport_size({"width": 1366, "height": 900})
    assert visited.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert wide == []
    assert checks
    assert [one for one in checks if one[1] > 0] == []


def test_keys_alone_reach_a_section(visited: Any) -> None:
    visited.evaluate("window.scrollTo(0, 0); document.activeElement.blur()")
    visited.keyboard.press("Tab")
    assert visited.evaluate("document.activeElement.className") == "skip"
    visited.keyboard.press("Tab")
    visited.keyboard.press("Tab")
    assert visited.evaluate("document.activeElement.getAttribute('href')") == "#closure"
    visited.keyboard.press("Enter")
    until(visited, "location.hash === '#closure'")


def test_paper_shows_no_navigation(visited: Any) -> None:
    if visited.case != "tour":
        pytest.skip("the rules of print do not depend on the study")
    visited.emulate_media(media="print")
    assert not visited.locator("nav").is_visible()
    assert visited.locator("#cautions").is_visible()
    visited.evaluate("dispatchEvent(new Event('beforeprint'))")
    plots = "[...document.querySelectorAll('.js-plotly-plot .main-svg')]"
    widest = f"Math.max(...{plots}.map(one => one.width.baseVal.value))"
    assert visited.evaluate(widest) <= 680
    assert visited.evaluate("[...document.querySelectorAll('details:not(.long)')].every(one => one.open)")
    assert not visited.evaluate("[...document.querySelectorAll('details.long')].some(one => one.open)")
    visited.evaluate("dispatchEvent(new Event('afterprint'))")
    visited.emulate_media(media="screen")
    until(visited, f"{widest} > 700")
    assert not visited.evaluate("[...document.querySelectorAll('details')].some(one => one.open)")
