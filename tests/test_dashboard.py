"""The live page: what it answers is what the engine answers, it serves this machine alone, and it obeys no text."""

from __future__ import annotations

import json
import math
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from small_studies import SURFACE, TOUR

from tradespace import load_study, parse_study, run
from tradespace.cli import main
from tradespace.errors import OutputError, StudyError
from tradespace.evaluate import baseline, evaluate, mission_of
from tradespace.results import LINKS
from tradespace.units import parse_quantity

pytest.importorskip("dash", reason="the extra dashboard is not installed")
from tradespace.dashboard import explorer_of, make_app
from tradespace.dashboard.drawings import closure_map, energies, mass_bars, timeline
from tradespace.dashboard.explorer import Design, Explorer
from tradespace.dashboard.saving import save, study_text
from tradespace.dashboard.serving import ADDRESS, open_socket
from tradespace.dashboard.tour_map import flown, tour_map
from tradespace.dashboard.variables import variables_of
from tradespace.dashboard.words import hint, verdict

HOSTILE = "<script>alert(1)</script>"
SWEPT_SURFACE = (
    SURFACE
    + 'stack_cells = { values = [14, 28, 42] }\nhop_distance = { low = "5 km", high = "60 km", count = 4 }\n'
)
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PATIENCE = 60_000
"""Longest wait for the page [ms]; a busy machine compiles while it answers."""


def browser_path() -> str | None:
    return os.environ.get("BROWSER_PATH") or next(
        (path for name in NAMES if (path := shutil.which(name))), None
    )


DRAGGED = 60
DRAG = f"""async () => {{
    const track = document.querySelector('label:has(#value-current_density) input');
    const put = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, 'value').set;
    for (let step = 0; step < {DRAGGED}; step++) {{
        put.call(track, String(step % 2));
        track.dispatchEvent(new Event('input', {{bubbles: true}}));
        await new Promise(done => setTimeout(done, 4));
    }}
}}"""
"""A slider with two positions dragged to and fro, let go at the second."""


@pytest.fixture(scope="module")
def tour() -> Explorer:
    text = TOUR.replace('title = "Small tour"', f'title = "{HOSTILE}"').replace(
        'title = "Bench engine"', f'title = "Bench {HOSTILE}"'
    )
    return explorer_of(parse_study(text))


@pytest.fixture(scope="module")
def surface() -> Explorer:
    return explorer_of(parse_study(SWEPT_SURFACE))


def moved(explorer: Explorer, architecture: str, **places: int) -> Design:
    """The study's own design with some sliders elsewhere."""
    own = {name: track.own_position for name, track in explorer.variables.items()} | places
    return Design(architecture, tuple(own[name] for name in explorer.variables))


@pytest.mark.parametrize("text", [TOUR, SWEPT_SURFACE])
def test_what_a_slider_says_is_what_is_reckoned_with(text: str) -> None:
    study = parse_study(text)
    tracks = variables_of(study)
    assert set(study.swept) <= set(tracks)
    for name, track in tracks.items():
        values = [track.value(place) for place in range(track.steps + 1)]
        assert track.value(track.own_position) == study.values[name] == track.own
        assert all(np.diff(values) > 0), name
        for place, value in enumerate(values):
            assert track.item.within(value)
            assert parse_quantity(track.text(place), track.item.unit) == pytest.approx(value, rel=1e-12)
            assert track.position(value) == place


def test_inputs_that_another_one_replaces_are_no_sliders(surface: Explorer) -> None:
    assert "array_power" in surface.variables
    assert "array_area" not in surface.variables
    own = SURFACE.replace('launch_mass = "420 kg"', 'launch_mass = "420 kg"\nwater_on_board = "0 kg"')
    assert "water_on_board" not in variables_of(parse_study(own))


def test_the_live_answer_is_that_of_the_engine(tour: Explorer) -> None:
    design = moved(tour, "steam_resistojet", array_area=150, payload_mass=20)
    row = tour.row(design)
    table = evaluate(
        tour.study, tour.mission, "steam_resistojet",
        {name: tour.variables[name].value(place) for name, place in (("array_area", 150), ("payload_mass", 20))},
    )  # fmt: skip
    for name in ("margin", "dry_mass", "mission_time", "refuel_time", "limited_by"):
        assert row[name] == table.iloc[0][name]
    said, closes = verdict(tour, design)
    assert closes == bool(row["closes"])
    assert str(row["limited_by"]) in said or "every kilogram" in said


def test_the_map_holds_the_margin_of_its_designs(tour: Explorer) -> None:
    design, axes = moved(tour, "electrolysis_bipropellant", payload_mass=120), ("array_area", "ice_fraction")
    field = tour.field(design, axes)
    assert tour.field(moved(tour, "electrolysis_bipropellant", payload_mass=120, array_area=7), axes) is field
    for line, column in ((0, 0), (20, 31), (32, 5)):
        values = {**tour.values(design), "array_area": field.x[column], "ice_fraction": field.y[line]}
        row = evaluate(tour.study, tour.mission, design.architecture, values).iloc[0]
        assert field.margin[line, column] == row["margin"]
        assert LINKS[int(field.limited_by[line, column])] == row["limited_by"]
    drawn = closure_map(tour, field, [("pin 1", moved(tour, "bench_engine")), ("this design", design)])
    shown = np.array(drawn["data"][0]["z"], dtype=float)
    np.testing.assert_allclose(shown, np.clip(field.margin, -1, 1), atol=1e-3)
    assert (drawn["data"][-1]["x"], drawn["data"][-1]["y"]) == ([tour.study.values["array_area"]], [10.0])
    assert json.dumps(drawn) == json.dumps(
        closure_map(tour, field, [("pin 1", moved(tour, "bench_engine")), ("this design", design)])
    )


@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "steam_resistojet", "bench_engine"])
def test_what_a_slider_alone_would_do_is_found_by_trying_every_position(
    tour: Explorer, architecture: str
) -> None:
    design = moved(tour, architecture, payload_mass=30)
    needs, closes = tour.needs(design), bool(tour.row(design)["closes"])
    for name, track in tour.variables.items():
        values = {key: np.full(track.steps + 1, value) for key, value in tour.values(design).items()}
        values[name] = np.array([track.value(place) for place in range(track.steps + 1)])
        table = evaluate(tour.study, tour.mission, architecture, values)
        other = np.flatnonzero(table["closes"].to_numpy() != closes)
        here = tour.positions(design)[name]
        if not other.size:
            assert name not in needs
            continue
        place = int(other[np.argmin(np.abs(other - here))])
        assert abs(needs[name].position - here) == abs(place - here), name
        assert needs[name].limited_by == table.iloc[needs[name].position]["limited_by"]
        assert hint(needs[name], closes).startswith("stops closing" if closes else "alone closes")


def test_sliders_and_breakeven_agree(tour: Explorer) -> None:
    design = moved(tour, "electrolysis_bipropellant")
    found = tour.improvements(design)
    question = "close" if not found.closes else "fail"
    exact = found.reached[found.reached["question"] == question].set_index("quantity")["value"]
    both = [name for name in tour.needs(design) if name in exact.index]
    assert both
    for name in both:
        track, place = tour.variables[name], tour.needs(design)[name].position
        side = 1 if place < tour.positions(design)[name] else -1
        ends = sorted((track.value(place), track.value(place + side)))
        assert ends[0] * (1 - 1e-3) <= exact[name] <= ends[1] * (1 + 1e-3), name


def test_pictures_add_up_and_name_their_units(tour: Explorer, surface: Explorer) -> None:
    for explorer in (tour, surface):
        for architecture in explorer.study.architectures:
            design = moved(explorer, architecture)
            row = explorer.row(design)
            bars = mass_bars(explorer, [("this design", design)])
            total = sum(trace["x"][0] for trace in bars["data"] if trace["type"] == "bar")
            if math.isfinite(row["wet_mass"]) and row["margin_mass"] > -1.0:
                assert total == pytest.approx(row["wet_mass"], rel=2e-3)
            if row["stop_mined"] > 0.0 and row["margin_mass"] > -1.0:
                assert sum(energies(row)) == pytest.approx(row["energy_per_mined"] / 3.6e6, rel=1e-9)
            for drawn in (bars, timeline(explorer, [("this design", design)])):
                assert "(" in drawn["layout"]["xaxis"]["title"]["text"]
    assert tour_map(surface, moved(surface, "steam_resistojet")) is None


def test_the_way_around_the_sun_joins_the_bodies_on_their_dates(tour: Explorer) -> None:
    from tradespace import constants, ephemeris

    design = moved(tour, "electrolysis_bipropellant")
    one, unit = flown(tour, design)[0], constants.value("astronomical_unit")
    drawn = tour_map(tour, design)
    assert drawn is not None
    path = next(
        trace for trace in drawn["data"] if trace["name"].startswith("hop 1") and trace["mode"] == "lines"
    )
    for body, date, end in (("24", one.departure, 0), ("90", one.arrival, -1)):
        place = ephemeris.state(body, date)[0][0] / unit
        assert (path["x"][end], path["y"][end]) == pytest.approx((place[0], place[1]), abs=1e-3)


@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "bench_engine"])
def test_a_saved_design_gives_the_same_answer(tour: Explorer, tmp_path: Path, architecture: str) -> None:
    design = moved(tour, architecture, array_area=171, current_density=0, payload_mass=11)
    path = save(tour, design, "kept_design", tmp_path)
    again = load_study(path)
    assert again.architectures == tuple(
        dict.fromkeys([architecture, *(name for name in again.architectures)])
    )
    assert architecture in again.architectures
    row = baseline(again, mission_of(again), architecture).iloc[0]
    for name in ("margin", "start_mass", "mission_time", "limited_by"):
        assert row[name] == tour.row(design)[name]
    assert again.swept == tour.study.swept
    assert HOSTILE in again.title
    with pytest.raises(OutputError, match="exists already"):
        save(tour, design, "kept_design", tmp_path)


def test_a_saved_surface_design_gives_the_same_answer(surface: Explorer, tmp_path: Path) -> None:
    design = moved(surface, "steam_resistojet", array_power=160, stack_cells=2, hop_distance=40)
    again = load_study(save(surface, design, "hopper", tmp_path))
    assert again.architectures == ("steam_resistojet",)
    row = baseline(again, mission_of(again)).iloc[0]
    assert row["margin"] == surface.row(design)["margin"]


def test_a_burn_in_free_space_has_its_page_and_its_file(tmp_path: Path) -> None:
    study = load_study(Path(__file__).parents[1] / "studies" / "published" / "water_resistojet_cubesat.toml")
    explorer = explorer_of(study)
    name = study.architectures[0]
    design = moved(explorer, name, launch_mass=50)
    page = json.dumps(
        make_app(explorer, 8620, tmp_path).layout.to_plotly_json(), default=lambda part: part.to_plotly_json()
    )
    assert all(f'"value-{track}"' in page for track in explorer.variables)
    assert timeline(explorer, [("this design", design)])["data"] is not None
    again = load_study(save(explorer, design, "burn", tmp_path))
    assert baseline(again, mission_of(again), name).iloc[0]["margin"] == explorer.row(design)["margin"]


@pytest.mark.parametrize("name", ["", "../away", "a b", HOSTILE, "x" * 81, "name\n"])
def test_a_name_that_is_no_name_is_refused(surface: Explorer, tmp_path: Path, name: str) -> None:
    with pytest.raises(StudyError, match="cannot name a study"):
        study_text(surface, surface.first, name)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_would_answer_otherwise_is_not_written(surface: Explorer, tmp_path: Path) -> None:
    wrong = Explorer(
        replace(surface.study, text=surface.study.text.replace('"40 kg"', '"60 kg"')), surface.mission
    )
    with pytest.raises(StudyError, match="nothing was saved"):
        save(wrong, wrong.first, "wrong", tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.fixture(scope="module")
def client(tour: Explorer, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return make_app(tour, 8620, tmp_path_factory.mktemp("saved")).server.test_client()


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Host": "127.0.0.1:8620"}, 200),
        ({"Host": "localhost:8620"}, 200),
        ({"Host": "127.0.0.1:8620", "Origin": "http://127.0.0.1:8620", "Sec-Fetch-Site": "same-origin"}, 200),
        ({"Host": "example.org"}, 403),
        ({"Host": "example.org:8620"}, 403),
        ({"Host": "127.0.0.1:8621"}, 403),
        ({"Host": "127.0.0.1.example.org:8620"}, 403),
        ({"Host": "127.0.0.1:8620", "Origin": "http://example.org"}, 403),
        ({"Host": "127.0.0.1:8620", "Origin": "null"}, 403),
        ({"Host": "127.0.0.1:8620", "Sec-Fetch-Site": "cross-site"}, 403),
    ],
)
def test_only_this_machine_is_answered(client: Any, headers: dict[str, str], status: int) -> None:
    for path in ("/", "/_dash-layout", "/page/dashboard.js"):
        assert client.get(path, headers=headers).status_code == status


def test_the_page_holds_no_markup_of_the_study_and_may_load_nothing_from_elsewhere(client: Any) -> None:
    answer = client.get("/", headers={"Host": "127.0.0.1:8620"})
    text = answer.get_data(as_text=True)
    assert HOSTILE not in text
    assert "&lt;script&gt;alert(1)" in text
    assert "http://" not in text.replace("http://www.w3.org", "")
    assert "https://" not in text
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "'unsafe-inline'" not in policy.partition("style-src")[0]
    assert client.get("/page/report.css", headers={"Host": "127.0.0.1:8620"}).status_code == 404


ODD: list[Any] = [
    None, 7, "__import__('os')", [], {}, {"number": 1}, {"number": True, "architecture": "steam_resistojet"},
    {"number": 1, "architecture": "os.system", "positions": [], "axes": [], "pins": []},
    {"number": 1, "architecture": "steam_resistojet", "positions": ["__import__('os')"] * 6, "axes": ["a", "b"],
     "pins": []},
    {"number": 1, "architecture": ["steam_resistojet"], "positions": {"a": 1}, "axes": None, "pins": None},
]  # fmt: skip


def posted(client: Any, raw: Any) -> Any:
    """The answer to a request for the quick part."""
    body = {
        "output": "told-quick.data",
        "outputs": {"id": "told-quick", "property": "data"},
        "inputs": [{"id": "asked", "property": "data", "value": raw}],
        "changedPropIds": ["asked.data"], "parsedChangedPropsIds": ["asked.data"],
    }  # fmt: skip
    return client.post(
        "/_dash-update-component", data=json.dumps(body),
        headers={"Host": "127.0.0.1:8620", "Content-Type": "application/json"},
    )  # fmt: skip


@pytest.mark.parametrize("raw", ODD)
def test_odd_requests_get_no_answer(client: Any, raw: Any) -> None:
    answer = posted(client, raw)
    assert answer.status_code == 204
    assert answer.data == b""


def test_a_position_beyond_the_track_or_an_endless_request_gets_no_answer(
    client: Any, tour: Explorer
) -> None:
    good = {"number": 3, "architecture": "bench_engine", "positions": list(tour.first.positions),
            "axes": ["array_area", "ice_fraction"], "pins": []}  # fmt: skip
    assert posted(client, good).status_code == 200
    for wrong in (-1, 201, 1.5, "1e2", True, None, "9" * 30):
        assert posted(client, good | {"positions": [wrong, *good["positions"][1:]]}).status_code == 204
    assert posted(client, good | {"pins": [{"number": 1}] * 7}).status_code == 204
    assert posted(client, "x" * 300_000).status_code == 413


def test_a_design_that_cannot_be_worked_out_is_told(
    client: Any, tour: Explorer, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise StudyError("no such craft <b>")

    monkeypatch.setattr(Explorer, "row", refuse)
    asked = {"number": 5, "architecture": "bench_engine", "positions": list(tour.first.positions),
             "axes": ["array_area", "ice_fraction"], "pins": []}  # fmt: skip
    answer = posted(client, asked)
    assert answer.status_code == 200
    told = answer.get_json()["response"]["told-quick"]["data"]
    assert (told["number"], told["verdict"]) == (5, ["Cannot be worked out: no such craft <b>"])


def test_an_answer_takes_less_than_its_time(tour: Explorer) -> None:
    spent = []
    for place in range(60, 66):
        design = moved(tour, "electrolysis_bipropellant", payload_mass=place)
        start = time.process_time()
        tour.row(design)
        verdict(tour, design)
        closure_map(tour, tour.field(design, ("array_area", "current_density")), [("this design", design)])
        spent.append(time.process_time() - start)
    assert sorted(spent)[len(spent) // 2] < 0.3


def test_a_port_in_use_and_a_missing_extra_are_told_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.toml").write_text(SURFACE, encoding="utf-8")
    with open_socket(0) as taken:
        assert taken.getsockname()[0] == ADDRESS
        port = str(taken.getsockname()[1])
        result = CliRunner().invoke(main, ["dashboard", "small.toml", "--port", port, "--no-browser"])
    assert result.exit_code == 2
    assert f"port {port} cannot be used" in result.stderr
    result = CliRunner().invoke(main, ["dashboard", "small.toml", "--save-in", "nowhere", "--no-browser"])
    assert (result.exit_code, result.stderr.count("\n")) == (2, 1)
    monkeypatch.setitem(sys.modules, "dash", None)
    result = CliRunner().invoke(main, ["dashboard", "small.toml", "--no-browser"])
    assert result.exit_code == 2
    assert "pip install 'tradespace[dashboard]'" in result.stderr


LISTENING = """
import signal
from tradespace.cli import main
signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever started the tests may ignore it
main()
"""


def test_the_command_serves_and_stops_on_an_interrupt(tmp_path: Path) -> None:
    import urllib.request

    study = tmp_path / "small.toml"
    study.write_text(SURFACE, encoding="utf-8")
    command = [sys.executable, "-c", LISTENING, "dashboard", str(study), "--port", "0", "--no-browser"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path
    ) as process:
        try:
            assert process.stdout is not None
            address = process.stdout.readline().split()[0]
            assert address.startswith("http://127.0.0.1:")
            with urllib.request.urlopen(address) as answer:
                assert answer.status == 200
            process.send_signal(signal.SIGINT)
            rest, errors = process.communicate(timeout=60)
        finally:
            process.kill()
    assert process.returncode == 0
    assert rest.strip() == "stopped"
    assert "Traceback" not in errors


@pytest.fixture
def served(tour: Explorer, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """The page on a free port, and the folder in which it saves."""
    from werkzeug.serving import make_server

    listening = open_socket(0)
    port = listening.getsockname()[1]
    app = make_app(tour, port, tmp_path)
    server = make_server(ADDRESS, port, app.server, threaded=True, fd=listening.fileno())
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://{ADDRESS}:{port}/", tmp_path
    server.shutdown()
    thread.join()
    server.server_close()
    listening.close()


@pytest.mark.browser
@pytest.mark.skipif(browser_path() is None, reason="no Chrome or Chromium on this machine")
def test_sliders_move_the_verdict_and_the_map_and_a_pinned_design_is_kept(
    tour: Explorer, served: tuple[str, Path]
) -> None:
    sync_api = pytest.importorskip("playwright.sync_api", reason="the test extra is not installed")
    address, folder = served
    notes: list[str] = []
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(QUIET))
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.set_default_timeout(PATIENCE)
        sent: list[str] = []
        page.on(
            "request", lambda one: sent.append(one.url) if "told-quick" in (one.post_data or "") else None
        )
        page.on("console", lambda message: notes.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: notes.append(f"error: {error}"))
        page.on("dialog", lambda dialog: notes.append(f"dialog: {dialog.message}"))
        page.on(
            "request",
            lambda sent: (
                notes.append(f"request: {sent.url}") if not sent.url.startswith((address, "data:")) else None
            ),
        )
        page.goto(address)
        design = tour.first
        agree(page, tour, design)
        assert HOSTILE in page.title()
        assert page.locator("h1").inner_text() == HOSTILE
        assert page.locator("main script, main img").count() == 0
        seen = {map_of(page)}
        for name, keys in (
            ("array_area", ["End"]),
            ("payload_mass", ["Home"]),
            ("ice_fraction", ["ArrowLeft"] * 3),
        ):
            page.locator(f"label:has(#value-{name}) input").focus()
            for key in keys:
                page.keyboard.press(key)
            track, place = tour.variables[name], tour.positions(design)[name]
            place = {"End": track.steps, "Home": 0}.get(keys[0], place - len(keys))
            design = moved_from(tour, design, name, place)
            agree(page, tour, design)
            seen.add(map_of(page))
        assert len(seen) == 4
        # a slider that is dragged asks again only when the last answer is there, and ends where it was let go
        asked = len(sent)
        page.evaluate(DRAG)
        design = moved_from(tour, design, "current_density", 1)
        agree(page, tour, design)
        assert 1 <= len(sent) - asked < DRAGGED
        page.click("#pin")
        page.wait_for_selector(".pin")
        page.locator(".pin input[type=text]").fill("kept_by_hand")
        page.get_by_role("button", name="Save as a study").click()
        page.wait_for_selector("#saved.yes")
        page.get_by_role("button", name="Back to the study's values").click()
        agree(page, tour, tour.first)
        page.wait_for_function("() => document.querySelectorAll('#side thead th').length === 3")
        page.wait_for_function("() => document.querySelectorAll('#mass .barlayer .point').length > 0")
        page.get_by_role("button", name="Go back to it").click()
        agree(page, tour, design)
        for width in (1280, 390):
            page.set_viewport_size({"width": width, "height": 844})
            page.wait_for_function(
                "() => document.documentElement.scrollWidth <= innerWidth", timeout=PATIENCE / 4
            )
        browser.close()
    assert [note for note in notes if not note.startswith("request: data:")] == []
    results = run(load_study(folder / "kept_by_hand.toml"), folder / "run")
    assert (folder / "run" / "summary.json").is_file()
    own = results.baseline.set_index("architecture").loc[design.architecture]
    for name in ("margin", "dry_mass", "mission_time", "limited_by"):
        assert own[name] == tour.row(design)[name]


def moved_from(explorer: Explorer, design: Design, name: str, place: int) -> Design:
    return Design(
        design.architecture,
        tuple((explorer.positions(design) | {name: place})[key] for key in explorer.variables),
    )


def map_of(page: Any) -> str:
    """What the map shows: all its margins and where the design stands."""
    return str(
        page.evaluate(
            "JSON.stringify(document.querySelector('#map .js-plotly-plot').data.map(t => [t.x, t.y, t.z]))"
        )
    )


def agree(page: Any, explorer: Explorer, design: Design) -> None:
    """Wait until the page says what the engine says of a design: verdict, sliders and map."""
    said, closes = verdict(explorer, design)
    page.wait_for_function(
        "said => (document.querySelector('#verdict')?.textContent || '').startsWith(said)", arg=said
    )
    assert page.locator("#verdict").get_attribute("class") == f"verdict {'closes' if closes else 'open'}"
    values = explorer.values(design)
    axes = explorer.axes
    assert axes is not None
    field = explorer.field(design, axes)
    marks = [float(explorer.variables[name].item.shown(values[name])) for name in axes]
    margins = json.loads(json.dumps(closure_map(explorer, field, [("this design", design)])["data"][0]["z"]))
    page.wait_for_function(
        """([x, y, margins]) => { const plot = document.querySelector('#map .js-plotly-plot');
            if (!plot || !plot.data || !plot.data.length) return false;
            const dot = plot.data.at(-1), near = (a, b) => Math.abs(a - b) <= 2e-3 * Math.max(1, Math.abs(b));
            return near(dot.x[0], x) && near(dot.y[0], y)
                && JSON.stringify(plot.data[0].z) === JSON.stringify(margins); }""",
        arg=[*marks, margins],
    )
