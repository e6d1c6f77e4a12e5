"""Contract: what the figures and the page of a bench keep, drawn from invented records."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import invented_bench as invented
import numpy as np
import plotly.graph_objects as go
import pytest
from invented_bench import HOSTILE

from tradespace.bench import CAUTION
from tradespace.bench.records import Loss
from tradespace.errors import OutputError
from tradespace.figures import DrawnFigure, export
from tradespace.figures import bench as figures
from tradespace.figures.bench.points import MOST
from tradespace.figures.bench.streams import arranged
from tradespace.figures.bench.values import Interval, assumed_before
from tradespace.figures.style import OPEN_PALETTE, WHITE
from tradespace.report.bench import write_page

BEFORE = {"cell_ohmic_factor": Interval(0.02, 1.0, 2.5), "wall_heat_scale": Interval(0.0, 1.0, 3.4)}


def drawn_all() -> dict[str, go.Figure | None]:
    facts, fit, carried = invented.reconciled(), invented.fit(), invented.carried()
    return {
        "power_flow": figures.power_flow(invented.losses()), "gas_rates": figures.gas_rates(facts),
        "cell_curve": figures.cell_curve(facts, fit), "thrust_bounds": figures.thrust_bounds(facts),
        "calibrated_values": figures.calibrated_values(fit, BEFORE), "bench_exchange": figures.bench_exchange(carried),
        "bench_standing": figures.bench_standing(carried),
    }  # fmt: skip


@pytest.fixture(scope="module")
def drawn() -> dict[str, go.Figure]:
    found = drawn_all()
    assert all(figure is not None for figure in found.values())
    return found  # type: ignore[return-value]


def strings_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inside in value.items():
            if key not in {"hovertemplate", "meta"}:
                yield from strings_in(inside)
    elif isinstance(value, list | tuple | np.ndarray):
        for inside in list(value):
            yield from strings_in(inside)


def trace_named(figure: go.Figure, name: str) -> Any:
    return next(trace for trace in figure.data if trace.name == name)


def test_units_stand_on_every_axis(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn.items():
        for name in figure.layout:
            if not re.fullmatch(r"[xy]axis\d*", name):
                continue
            axis = figure.layout[name]
            if axis.type != "category" and axis.matches is None:
                assert re.search(r"\(.+\)$", str(axis.title.text)), (key, name)


def test_captions_say_what_is_shown(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn.items():
        caption = figure.layout.meta["caption"]
        assert len(caption) > 60, key
        assert caption.endswith("."), key
        assert "nan" not in re.findall(r"[a-z]+", caption.lower()), key


def test_colours_are_those_that_colour_blind_readers_can_tell_apart(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn.items():
        for trace in figure.data:
            found = trace.to_plotly_json()
            for part in ("marker", "line", "fillcolor", "fillpattern", "error_x", "error_y"):
                for colour in strings_in(found.get(part)):
                    if colour.startswith("#") and colour.lower() != "#1f2328":
                        assert colour in OPEN_PALETTE, (key, colour)


def test_no_trace_is_empty(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn.items():
        assert figure.data, key
        for trace in figure.data:
            if (trace.meta or {}).get("drawing_only"):
                continue
            values = np.asarray(trace.x if trace.orientation == "h" else trace.y, dtype=object)
            assert any(one is not None and one == one for one in values), (key, trace.name)


def test_print_fits_its_column(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn.items():
        copy = export.printable(DrawnFigure(key, key, "bench", figure, "", "source", 85))
        assert 6.0 < copy.layout.font.size * 85 / copy.layout.width * 72 / 25.4 < 9.0


def test_same_records_give_the_same_figures(drawn: dict[str, go.Figure]) -> None:
    for key, figure in drawn_all().items():
        assert figure is not None
        assert json.loads(figure.to_json()) == json.loads(drawn[key].to_json()), key


def test_every_watt_of_the_supply_ends_somewhere(drawn: dict[str, go.Figure]) -> None:
    losses = invented.losses()
    whole = sum(one.power for one in losses if one.begins == "supply")
    found = arranged(losses)
    assert found is not None
    ends = [band for band in found.bands if band.target is None]
    assert sum(band.loss.power for band in ends) == pytest.approx(whole) == pytest.approx(found.whole)
    assert min(ends, key=lambda band: band.end).loss.name == "jet"
    labels = [str(note.text) for note in drawn["power_flow"].layout.annotations]
    final = [one for one in losses if one.ends not in {other.begins for other in losses}]
    for one in final:
        label = next(text for text in labels if one.name in text.lower())
        share = float(re.search(r"([\d.]+)\xa0%", label).group(1))  # type: ignore[union-attr]
        assert share == pytest.approx(100.0 * one.power / whole, abs=0.06)
        assert label.endswith(one.basis)


def test_a_basis_is_told_by_its_pattern_alone(drawn: dict[str, go.Figure]) -> None:
    shapes: dict[str, set[str]] = {}
    for one in invented.losses():
        trace = trace_named(drawn["power_flow"], one.name)
        shapes.setdefault(one.basis, set()).add(trace.fillpattern.shape or "")
    assert all(len(found) == 1 for found in shapes.values())
    assert len(set.union(*shapes.values())) == len(shapes) == 3


def test_bands_are_as_thick_as_their_power(drawn: dict[str, go.Figure]) -> None:
    thickness = {}
    for one in invented.losses():
        y = np.asarray(trace_named(drawn["power_flow"], one.name).y, dtype=np.float64)
        thickness[one.name] = y[-1] - y[0]
    assert thickness["wiring"] / thickness["jet"] == pytest.approx(31.0 / 96.0, rel=2e-3)


def test_what_adds_power_or_is_not_known_is_said_and_not_drawn() -> None:
    odd = [
        *invented.losses(),
        Loss("heat drawn in", "stack", "heat of the cell", -5.0, 1.0, "by difference"),
        Loss("radiated heat", "gas", "surroundings", np.nan, np.nan, "modelled"),
    ]
    figure = figures.power_flow(odd)
    assert figure is not None
    assert not {"heat drawn in", "radiated heat"} & {trace.name for trace in figure.data}
    assert "heat drawn in" in figure.layout.meta["caption"]
    assert "radiated heat" in figure.layout.meta["caption"]


def test_streams_that_lead_into_each_other_do_not_hang_it() -> None:
    loop = [Loss("a", "one", "two", 5.0, 0.1, "measured"), Loss("b", "two", "one", 5.0, 0.1, "measured")]
    assert figures.power_flow(loop) is None
    assert figures.power_flow([]) is None


def test_thousands_of_points_are_thinned_and_it_is_said() -> None:
    facts = invented.reconciled(invented.readings(5000))
    for figure in (
        figures.gas_rates(facts),
        figures.thrust_bounds(facts),
        figures.cell_curve(facts, invented.fit()),
    ):
        assert figure is not None
        assert max(len(trace.x) for trace in figure.data) <= 300
        assert "of 5\xa0000 points" in figure.layout.meta["caption"]
    gas = figures.gas_rates(facts)
    assert gas is not None
    assert len(trace_named(gas, "charge").x) <= MOST


def test_ways_stand_beside_the_reconciled_band(drawn: dict[str, go.Figure]) -> None:
    below = [trace for trace in drawn["gas_rates"].data if trace.yaxis == "y2"]
    charge = next(trace for trace in below if trace.name == "charge")
    assert np.asarray(charge.y) == pytest.approx(100.0 / 0.94)
    assert np.asarray(charge.error_y.array) == pytest.approx(2.0 * 0.008 * 100.0 / 0.94)


@pytest.mark.parametrize(("thrust", "beyond"), [(0.9, False), (1.2, True)])
def test_what_lies_beyond_the_tightest_bound_is_shaded(thrust: float, beyond: bool) -> None:
    facts = invented.reconciled(thrust=thrust)
    figure = figures.thrust_bounds(facts)
    assert figure is not None
    edge = np.asarray(trace_named(figure, "boundary").y)
    bounds = [facts.column(f"thrust_bound_{name}") for name in ("ground", "flow", "energy")]
    assert edge == pytest.approx(1e3 * np.nanmin(bounds, axis=0))
    assert ("60 of 60 readings lie beyond" in figure.layout.meta["caption"]) is beyond
    assert float(figure.layout.yaxis.range[1]) > max(float(np.max(edge)), 1e3 * facts.column("thrust").max())


def test_numbers_that_the_readings_did_not_tell_are_hollow(drawn: dict[str, go.Figure]) -> None:
    fit = invented.fit()
    told = [trace for trace in drawn["calibrated_values"].data if trace.y[0] == "readings"]
    assert [trace.marker.color != WHITE for trace in told] == list(fit.informed[: len(told)])
    earlier = [trace for trace in drawn["calibrated_values"].data if trace.y[0] != "readings"]
    assert len(earlier) == len(BEFORE)


def test_what_was_assumed_before_lies_within_what_may_be() -> None:
    for name, one in assumed_before(invented.fit().names).items():
        assert one.low <= one.value <= one.high, name
        assert one.low >= 0.0, name


def test_bars_hold_what_the_tables_say(drawn: dict[str, go.Figure]) -> None:
    carried = invented.carried()
    row = carried.exchange.iloc[0]
    assert drawn["bench_exchange"].data[0].x[0] == pytest.approx(row["work_time_gain"] / 86400.0)
    impulse = [trace for trace in drawn["bench_standing"].data if trace.xaxis == "x2"]
    free = carried.standing
    for trace, source in zip(impulse, ("catalogue", "bench"), strict=True):
        assert list(trace.x) == list(free[free["source"] == source]["specific_impulse"])
    assert any("fails: time" in str(words) for trace in impulse for words in trace.text)


def test_what_was_not_read_is_not_drawn() -> None:
    empty = dataclasses.replace(invented.reconciled(), columns={}, deviations={})
    fit = invented.fit()
    bare = dataclasses.replace(fit, names=("faradaic_efficiency",), curves={})
    assert figures.gas_rates(empty) is None
    assert figures.cell_curve(empty, fit) is None
    assert figures.thrust_bounds(empty) is None
    assert figures.calibrated_values(bare) is None
    plain = figures.cell_curve(invented.reconciled(), bare)
    assert plain is not None
    assert [trace.name for trace in plain.data] == ["read, k = 2"]


def test_hostile_words_are_never_markup() -> None:
    figure = figures.power_flow([Loss(HOSTILE, HOSTILE, HOSTILE + " end", 4.0, 0.1, "measured")])
    assert figure is not None
    for words in strings_in(figure.to_plotly_json()):
        assert "<script" not in words
        assert "<img" not in words


def written(path: Path, words: str, **changed: Any) -> str:
    """The page of records whose words are these."""
    taken = invented.readings(
        title=words, notes=words, remarks=(words,), path=Path("invented.csv"), **changed
    )
    checks = [dataclasses.replace(one, words=one.words + " " + words) for one in invented.checks()]
    losses = [*invented.losses(), Loss(words, "stack", words, 1.0, 0.1, "measured")]
    fit = dataclasses.replace(invented.fit(), words=(words,))
    carried = dataclasses.replace(invented.carried(), words=(words,))
    calibration = invented.calibration(title=words, rules=(words,))
    target = write_page(
        taken, invented.reconciled(taken), checks, fit, losses, carried, calibration, path / "bench.html"
    )
    return target.read_text(encoding="utf-8")


def bare_page(path: Path) -> str:
    """The page of readings that tell next to nothing."""
    taken = invented.readings(6, invented=False)
    facts = dataclasses.replace(invented.reconciled(taken), columns={}, deviations={}, residuals={})
    fit = dataclasses.replace(invented.fit(), names=(), curves={}, freedom=0)
    return write_page(taken, facts, [], fit, [], None, None, path / "bench.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> str:
    return written(tmp_path_factory.mktemp("bench"), HOSTILE)


def without_scripts(content: str) -> str:
    """The page without the drawing program and the data of the figures, both of which are JSON or code."""
    return re.sub(r"<script.*?</script>", "", content, flags=re.DOTALL)


def test_the_page_begins_with_cautions_and_tells_the_gravest_verdict_first(hostile: str) -> None:
    content = without_scripts(hostile)
    places = [
        content.index(f'<section id="{key}"')
        for key in ("cautions", "checks", "facts", "losses", "calibration", "mission")
    ]
    assert places == sorted(places)
    body = content[places[1] : places[2]]
    assert body.index(">impossible<") < body.index(">suspect<") < body.index(">passes<")
    assert "No: not all of these readings can be true" in content[: places[0]]
    assert "local codes and licensed practice rule" in content[places[0] : places[1]]
    assert "These readings are invented" in content[: places[0]]
    assert CAUTION in content[: places[0]]
    assert "Content-Security-Policy" in content
    assert not re.search(r"""(?:src|href)\s*=\s*["']https?:""", content)


def test_the_page_escapes_whatever_files_say(hostile: str) -> None:
    assert "<script>alert" not in hostile
    content = without_scripts(hostile)
    assert "<img" not in content
    assert content.count("&lt;script&gt;alert(1)&lt;/script&gt;") >= 8


def test_readings_that_tell_next_to_nothing_give_a_short_page(tmp_path: Path) -> None:
    content = without_scripts(bare_page(tmp_path))
    assert '<section id="cautions"' in content
    assert not re.findall(r'<section id="(?:mission|losses|calibration)"', content)
    assert "These readings are invented" not in content
    assert "The readings do not say." in content


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot write"):
        bare_page(tmp_path / "file")
