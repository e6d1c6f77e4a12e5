"""Files of bench readings: what good ones give, and the one clear line that each bad one gets."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.bench.channels import FLOWS, WORDS, channels
from tradespace.bench.instruments import instruments
from tradespace.bench.readings import parse_readings, read_readings
from tradespace.bench.records import Readings
from tradespace.constants import value
from tradespace.errors import ReadingsError, TradespaceError
from tradespace.tables import read_table
from tradespace.units import conversion

ENGINE = """# title = Engine in vacuum
# invented = true
# throat_diameter = 1.5 mm
# chamber_pressure_is = absolute
time,mass_flow,chamber_pressure,ambient_pressure,thrust,lit
s,mg/s,bar,Pa,mN,1
0,60,2.00,20,150,1
1,61,2.03,20,151,1
2,59,1.98,20,149,1
3,60,2.01,20,150,1
4,62,2.05,20,152,1
"""


def changed(old: str, new: str, text: str = ENGINE) -> Readings:
    assert text.count(old) == 1, old
    return parse_readings(text.replace(old, new), "engine.csv")


def refused(text: str, *words: str, label: str = "bad.csv") -> str:
    with pytest.raises(ReadingsError) as caught:
        parse_readings(text, label)
    message = str(caught.value)
    assert message.isprintable()
    assert "Traceback" not in message
    for word in words:
        assert word in message, (word, message)
    return message


def test_channels_and_instruments_fit_each_other() -> None:
    classes = instruments()
    for channel in channels().values():
        assert channel.low < channel.high
        assert channel.instrument in classes
        assert channel.description
        assert channel.kind in {"reading", "setting", "fact"}
        row = next(
            row for row in read_table("bench_instruments.csv").rows if row["name"] == channel.instrument
        )
        conversion(row["unit"], channel.unit)
    assert set(FLOWS) <= set(channels())
    used = {channel.instrument for channel in channels().values()}
    assert set(classes) == used | {"assumed_atmosphere"}


def test_good_readings_in_si_with_their_uncertainties() -> None:
    read = parse_readings(ENGINE, "engine.csv")
    assert (read.title, read.invented, read.points) == ("Engine in vacuum", True, 5)
    assert read.column("mass_flow") == pytest.approx([60e-6, 61e-6, 59e-6, 60e-6, 62e-6])
    assert read.column("throat_diameter") == pytest.approx(1.5e-3)
    assert list(read.rows) == [7, 8, 9, 10, 11]
    assert read.remarks == ()
    assert read.by_class == set(read.columns)
    assert read.words["chamber_pressure_is"] == "absolute"
    assert len(read.hash) == 64
    flow = instruments()["mass_flow_meter"]
    assert read.random["mass_flow"] == pytest.approx(flow.random.relative * read.column("mass_flow"))
    assert read.systematic["mass_flow"] == pytest.approx(flow.systematic.relative * read.column("mass_flow"))
    # one reading of a diameter has one error, the same at all points
    assert not read.random["throat_diameter"].any()
    assert read.systematic["throat_diameter"] == pytest.approx(5e-6)
    assert np.isnan(read.column("wall_heat")).all()
    assert read.has("mass_flow", "thrust")
    assert not read.has("mass_flow", "wall_heat")


def test_the_same_readings_as_entries(tmp_path: Path) -> None:
    points = "\n".join(
        f'[[points]]\ntime = "{i} s"\nmass_flow = "{flow} mg/s"\nchamber_pressure = "{pressure} bar"\n'
        f'ambient_pressure = "20 Pa"\nthrust = "{thrust} mN"\nlit = true'
        for i, flow, pressure, thrust in [
            (0, 60, 2.00, 150), (1, 61, 2.03, 151), (2, 59, 1.98, 149), (3, 60, 2.01, 150), (4, 62, 2.05, 152),
        ]
    )  # fmt: skip
    head = 'title = "Engine in vacuum"\ninvented = true\n'
    facts = '[facts]\nthroat_diameter = "1.5 mm"\nchamber_pressure_is = "absolute"\n'
    (tmp_path / "engine.csv").write_text(ENGINE, encoding="utf-8")
    (tmp_path / "long.toml").write_text(head + facts + points, encoding="utf-8")
    (tmp_path / "short.toml").write_text(head + 'table = "engine.csv"\n', encoding="utf-8")
    one, two, three = (read_readings(tmp_path / name) for name in ("engine.csv", "long.toml", "short.toml"))
    for other in (two, three):
        assert set(other.columns) == set(one.columns)
        assert (other.title, other.words, other.invented) == (one.title, one.words, one.invented)
        for name, column in one.columns.items():
            assert other.columns[name] == pytest.approx(column)
            assert other.random[name] == pytest.approx(one.random[name])
            assert other.systematic[name] == pytest.approx(one.systematic[name])
    assert len({one.hash, two.hash, three.hash}) == 3
    assert one.path == tmp_path / "engine.csv"


def test_facts_alone_are_one_point() -> None:
    read = parse_readings(
        '[facts]\ncurrent = "10 A"\nstack_voltage = "30 V"\ncells_in_series = 1\n', "one.toml"
    )
    assert read.points == 1
    assert read.column("stack_voltage")[0] == pytest.approx(30.0)


def test_stated_uncertainties() -> None:
    read = changed(
        "time,mass_flow,", "mass_flow_uncertainty,mass_flow,",
        ENGINE.replace("s,mg/s", "%,mg/s").replace("\n0,60", "\n2,60").replace("\n1,61", "\n,61"),
    )  # fmt: skip
    both = np.hypot(read.random["mass_flow"], read.systematic["mass_flow"])
    assert both[0] == pytest.approx(0.02 * 60e-6)
    flow = instruments()["mass_flow_meter"]
    assert both[1] == pytest.approx(61e-6 * np.hypot(flow.random.relative, flow.systematic.relative))
    share = read.random["mass_flow"] / read.systematic["mass_flow"]
    assert share == pytest.approx(flow.random.relative / flow.systematic.relative)
    assert "mass_flow" not in read.by_class
    text = '[[points]]\nthrust = "2 N"\n[[points]]\nthrust = "3 N"\n[uncertainty]\nthrust = '
    parts = parse_readings(text + '{ random = "1 %", systematic = "50 mN" }', "a.toml")
    assert parts.random["thrust"] == pytest.approx([0.02, 0.03])
    assert parts.systematic["thrust"] == pytest.approx([0.05, 0.05])
    line = changed(
        "# throat_diameter = 1.5 mm", "# throat_diameter = 1.5 mm\n# throat_diameter_uncertainty = 0.02 mm"
    )
    assert line.systematic["throat_diameter"] == pytest.approx(2e-5)
    warm = parse_readings("cell_temperature,cell_temperature_uncertainty\ndegC,degC\n60,2\n61,2\n", "w.csv")
    assert np.hypot(warm.random["cell_temperature"], warm.systematic["cell_temperature"]) == pytest.approx(
        2.0
    )


def test_gauge_pressure_becomes_absolute() -> None:
    read = changed("chamber_pressure_is = absolute", "chamber_pressure_is = gauge")
    assert read.column("chamber_pressure")[0] == pytest.approx(2e5 + 20.0)
    text = ENGINE.replace("ambient_pressure,", "").replace("Pa,", "").replace(",20,", ",")
    read = changed("chamber_pressure_is = absolute", "chamber_pressure_is = gauge", text)
    standard = value("standard_atmosphere")
    assert read.column("chamber_pressure")[0] == pytest.approx(2e5 + standard)
    assert read.column("ambient_pressure") == pytest.approx(standard)
    assert read.systematic["chamber_pressure"][0] > read.systematic["ambient_pressure"][0] > 1e3
    assert [remark for remark in read.remarks if "one standard atmosphere" in remark]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            ",2.00,20,",
            ",0.80,101325,",
            ["1 point", "first in line 7", "0.8 bar", "1.013 bar", "chamber_pressure_is"],
        ),
        ("0,60,2.00,20,150,1", "0,60,0.001,101325,0,0", ["without flow", "1 point", "line 7"]),
    ],
)
def test_gauge_given_as_absolute_is_suspect(old: str, new: str, words: list[str]) -> None:
    assert old in ENGINE
    read = parse_readings(ENGINE.replace(old, new))
    assert read.points == 5  # kept
    (remark,) = [remark for remark in read.remarks if "gauge pressure given as absolute" in remark]
    assert remark.startswith("suspect")
    for word in words:
        assert word in remark


def test_pressure_below_an_atmosphere_without_ambient_is_asked_about() -> None:
    read = parse_readings(
        "# chamber_pressure_is = absolute\nmass_flow,chamber_pressure\nmg/s,bar\n5,0.4\n6,0.5\n"
    )
    assert len(read.remarks) == 1
    assert "ambient_pressure is not stated" in read.remarks[0]
    assert "suspect" not in read.remarks[0]


LEFT_OUT = [
    # (line replaced, what by, channel and words of the remark, points left)
    ("1,61,2.03,20,151,1", "1,0,2.03,20,151,1", ["mass_flow is zero or negative (0 mg/s)", "line 8"], 4),
    ("1,61,2.03,20,151,1", "1,-5,2.03,20,151,1", ["mass_flow is zero or negative (-5 mg/s)", "line 8"], 4),
    ("1,61,2.03,20,151,1", "1,61,2.03", ["1 point left out", "cells are missing", "line 8"], 4),
    ("1,61,2.03,20,151,1", "1,61,2.03,20,151,2", ["lit is out of bounds", "line 8"], 4),
    (
        "1,61,2.03,20,151,1",
        "1,61,2e9,20,151,1",
        ["chamber_pressure is out of bounds", "2e+09 bar", "1000 bar"],
        4,
    ),
    ("1,61,2.03,20,151,1", "1,,,,,1", ["1 point left out", "nothing was read", "line 8"], 4),
    ("1,61,2.03,20,151,1", "-1,61,2.03,20,151,1", ["time", "line 8"], 4),
    ("1,61,2.03,20,151,1", "1,61,,20,151,1", ["chamber_pressure was not read at 1 point", "kept"], 5),
]


@pytest.mark.parametrize(("old", "new", "words", "left"), LEFT_OUT)
def test_bad_rows_are_left_out_with_one_remark(old: str, new: str, words: list[str], left: int) -> None:
    read = changed(old, new)
    assert read.points == left
    if left == 4:
        assert list(read.rows) == [7, 9, 10, 11]
    (remark,) = read.remarks
    for word in words:
        assert word in remark, remark


def test_several_bad_rows_of_a_kind_get_one_remark() -> None:
    read = parse_readings(ENGINE.replace("1,61,", "1,0,").replace("3,60,", "3,-1,"), "engine.csv")
    (remark,) = read.remarks
    assert remark.startswith("2 points left out, mass_flow is zero or negative")
    assert read.points == 3


def test_time_going_backwards_is_told() -> None:
    read = changed("3,60,2.01,20,150,1", "0.5,60,2.01,20,150,1")
    assert list(read.column("time")) == [0, 1, 2, 4]
    assert "time goes backwards" in read.remarks[0]


def test_gap_in_time_keeps_every_point() -> None:
    read = changed("4,62,2.05,20,152,1", "400,62,2.05,20,152,1")
    assert read.points == 5
    (remark,) = read.remarks
    assert remark.startswith("1 gap in time, the first of 397 s before line 11")


def _noisy(clip: float = np.inf, step: float = 1e-9) -> str:
    rng = np.random.default_rng(3)
    read = np.minimum(100.0 + 5.0 * rng.standard_normal(200) + np.linspace(0.0, 20.0, 200), clip)
    rows = "\n".join(f"{i},{round(x / step) * step:.9g}" for i, x in enumerate(read))
    return f"time,thrust\ns,mN\n{rows}\n"


def test_clipped_sensor_is_left_out_and_a_coarse_one_is_not() -> None:
    read = parse_readings(_noisy(clip=112.5))
    assert read.points < 200
    assert read.points > 100
    (remark,) = read.remarks
    assert "thrust rests at its largest value (0.1125 N), as a clipped sensor does" in remark
    assert parse_readings(_noisy()).points == 200
    assert parse_readings(_noisy(step=10.0)).points == 200
    stairs = "time,stack_voltage\ns,V\n" + "\n".join(f"{i},{i // 10}" for i in range(60))
    assert parse_readings(stairs).points == 60
    ramp = "time,chamber_pressure\ns,bar\n" + "\n".join(f"{i},{min(0.9 * i, 9):.1f}" for i in range(40))
    held = parse_readings(ramp)
    assert held.points == 40
    told = [remark for remark in held.remarks if "rests at its largest value (9 bar) at 30 points" in remark]
    assert len(told) == 1
    assert "line 13" in told[0]
    steady = "time,stack_voltage\ns,V\n" + "\n".join(f"{i},12.5" for i in range(60))
    assert parse_readings(steady).points == 60


GOOD_HEAD = "current,stack_voltage,gas_flow\nA,V,mL/min\n"
BAD_SHEETS = [
    ("", ["is empty"]),
    ("  \n\n", ["is empty"]),
    ("# title = none\n", ["holds no readings"]),
    ("current,stack_voltage\n", ["bad.csv:1:", "no row of units"]),
    ("current,stack_voltage\nA,V\n", ["no point is left", "no reading follows"]),
    ("current,stack_voltage\n10,12\n11,12\n", ["bad.csv:2:", "the row of units is missing", '"A,V"']),
    ("10,12\n11,12\n", ["bad.csv:1:", "row of names is missing"]),
    ("current;stack_voltage\nA;V\n1;2\n", ["bad.csv:1:", "separated by commas"]),
    ("current,stack_voltag\nA,V\n1,2\n", ["bad.csv:1:", "column 2", "'stack_voltage'"]),
    ("current [A],stack_voltage\nA,V\n1,2\n", ["bad.csv:1:", "'current'", "row below the names"]),
    ("current,wibble\nA,V\n1,2\n", ["bad.csv:1:", "unknown channel", "see:"]),
    ("current,current\nA,A\n1,2\n", ["bad.csv:1:", "column 2", "column 1 already"]),
    ("current,stack_voltage\nA,kg\n1,2\n", ["bad.csv:2:", "column 2: stack_voltage", "'V'"]),
    ("current,stack_voltage\nA,\n1,2\n", ["bad.csv:2:", "stack_voltage", "has no unit", "'V'"]),
    ("current,cell_temperature\nA,C\n1,2\n", ["bad.csv:2:", "degC"]),
    (GOOD_HEAD + "1,2,3\n1,two,3\n", ["bad.csv:4:", "stack_voltage", '"two" is not a number']),
    (GOOD_HEAD + "1,2,3\n1,inf,3\n", ["bad.csv:4:", "stack_voltage"]),
    (GOOD_HEAD + "1,2,3\n1,1_0,3\n", ["bad.csv:4:", "stack_voltage"]),
    (GOOD_HEAD + "1,2,3,4\n", ["bad.csv:3:", "4 cells where 3 columns", "not a comma"]),
    (GOOD_HEAD + "1,2\n1\n", ["no point is left", "2 points left out, cells are missing"]),
    (GOOD_HEAD + "1,2,0\n1,2,-1\n", ["no point is left", "gas_flow is zero or negative"]),
    (GOOD_HEAD + '1,"2,3\n', ["bad.csv:3:", "not comma-separated values"]),
    ("current,gas_is\nA,text\n1,12.5\n", ["bad.csv:3:", "gas_is", "allowed: wet, dry"]),
    ("current,gas_is\nA,text\n1,wet\n2,dry\n", ["bad.csv:4:", "changes from 'wet' to 'dry'"]),
    ("current,thrust_uncertainty\nA,N\n1,2\n", ["bad.csv:1:", "without a column thrust"]),
    ("thrust,thrust_uncertainty\nN,N\n1,-2\n", ["bad.csv:3:", "must not be negative"]),
    ("# throat_diametr = 1 mm\nthrust\nN\n1\n", ["bad.csv:1:", "'throat_diameter'"]),
    ("# throat_diameter = 1\nthrust\nN\n1\n", ["bad.csv:1:", "has no unit", '"1 mm"']),
    ("# throat_diameter = 1 m3\nthrust\nN\n1\n", ["bad.csv:1:", "'m3'"]),
    ("# throat_diameter = -1 mm\nthrust\nN\n1\n", ["bad.csv:1:", "out of bounds", "0.01 mm to 1000 mm"]),
    ("# thrust = 1 N\nthrust\nN\n1\n", ["bad.csv:2:", "fact in line 1 already"]),
    ("# gas_is = damp\nthrust\nN\n1\n", ["bad.csv:1:", "gas_is", "allowed: wet, dry"]),
    ("# invented = perhaps\nthrust\nN\n1\n", ["bad.csv:1:", "true or false"]),
    ("# thrust_uncertainty = lots\nthrust\nN\n1\n", ["bad.csv:1:", "2 %"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), BAD_SHEETS)
def test_bad_sheets_get_one_clear_line(text: str, words: list[str]) -> None:
    refused(text, "bad.csv", *words)


BAD_ENTRIES = [
    ("[facts\n", ["bad.toml:1:", "not valid TOML"]),
    ('[fact]\ncurrent = "1 A"\n', ["bad.toml:1:", "did you mean 'facts'"]),
    ('current = "1 A"\n', ["bad.toml:1:", "'current'", "[facts]"]),
    ("title = 3\n", ["bad.toml:1:", "quotation marks"]),
    ('invented = "yes"\n', ["bad.toml:1:", "true or false"]),
    ("facts = 3\n", ["bad.toml:1:", "[facts]"]),
    ("points = 3\n", ["bad.toml:1:", "[[points]]"]),
    ('title = "x"\n', ["no point"]),
    ("[facts]\ncurrent = 1\n", ["bad.toml:2:", "current", "has no unit", '"1 A"']),
    ('[facts]\ncurrent = "1 kg"\n', ["bad.toml:2:", "'kg'", "'A'"]),
    ('[facts]\ncurrant = "1 A"\n', ["bad.toml:2:", "'current'"]),
    ("[facts]\ncells_in_series = true\n", ["bad.toml:2:", "cells_in_series"]),
    ("[facts]\ncells_in_series = inf\n", ["bad.toml:2:", "cells_in_series"]),
    ('[facts]\ncell_kind = "alkalin"\n', ["bad.toml:2:", "'alkaline'"]),
    ('[[points]]\ncurrent = "1 A"\n[[points]]\ncurrent = "1 V"\n', ["bad.toml:4:", "current"]),
    ('[[points]]\ncurrent = "1 A"\nvoltage = "1 V"\n', ["bad.toml:3:", "'stack_voltage'"]),
    ('[facts]\ncurrent = "1 A"\n[[points]]\ncurrent = "1 A"\n', ["bad.toml:4:", "line 2 already"]),
    ('table = "a.csv"\n', ["bad.toml:1:", "not a file"]),
    ('[[points]]\ncurrent = "1 A"\n[uncertainty]\nthrust = "1 N"\n', ["bad.toml:4:", "thrust"]),
    ('[[points]]\ncurrent = "1 A"\n[uncertainty]\ncurrent = "1 V"\n', ["bad.toml:4:", "'V'"]),
    ('[[points]]\ncurrent = "1 A"\n[uncertainty]\ncurrent = 1\n', ["bad.toml:4:", "2 %"]),
    ('[[points]]\ncurrent = "1 A"\n[uncertainty]\ncurrent = { rnd = "1 A" }\n', ["bad.toml:4:", "random"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), BAD_ENTRIES)
def test_bad_entries_get_one_clear_line(text: str, words: list[str]) -> None:
    refused(text, "bad.toml", *words, label="bad.toml")


def test_bad_files_get_one_clear_line(tmp_path: Path) -> None:
    cases = {
        "nul.csv": (b"current\nA\n1\x00\n", "nul.csv:3: contains a NUL byte"),
        "binary.csv": (b"current\nA\n\xff\xfe\x81", "binary.csv:3: is not UTF-8 text"),
        "empty.csv": (b"", "is empty"),
        "sheet.xls": (b"current\nA\n1", "neither a .csv nor a .toml"),
        "table.toml": (b'table = "missing.csv"', "not a file beside this one"),
        "deep.toml": (b"a=" + b"[" * 5000, "deep.toml"),
    }
    for name, (data, words) in cases.items():
        (tmp_path / name).write_bytes(data)
        with pytest.raises(ReadingsError) as caught:
            read_readings(tmp_path / name)
        assert words in str(caught.value)
        assert str(caught.value).isprintable()
    for path, words in ((tmp_path, "is a folder"), (tmp_path / "none.csv", "no such file of readings")):
        with pytest.raises(ReadingsError, match=words):
            read_readings(path)
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as handle:
        handle.truncate(70_000_000)
    with pytest.raises(ReadingsError, match="at most 64,000,000 are read"):
        read_readings(huge)


def test_terminal_codes_in_a_file_do_not_reach_the_terminal() -> None:
    refused("cur\x1b[31mrent\nA\n1\n", "unknown channel")
    assert all(r.isprintable() for r in parse_readings("current\nA\n10\n", "a\x1b[31m.csv").remarks)


COLUMNS = {
    "current": ("A", "mA"),
    "stack_voltage": ("V", "mV"),
    "cell_temperature": ("K", "degC"),
    "gas_flow": ("mL/min", "L/h"),
    "chamber_pressure": ("bar", "psi"),
    "electrolyte_strength": ("1", "%"),
    "thrust": ("mN", "N"),
}


@settings(max_examples=25, deadline=None)
@given(order=st.permutations(sorted(COLUMNS)), kinds=st.lists(st.integers(0, 1), min_size=7, max_size=7))
def test_order_of_columns_and_choice_of_units_do_not_matter(order: list[str], kinds: list[int]) -> None:
    si = {
        "current": 10.0, "stack_voltage": 12.0, "cell_temperature": 340.0, "gas_flow": 5e-6, "chamber_pressure": 2e5,
        "electrolyte_strength": 0.02, "thrust": 0.15,
    }  # fmt: skip
    units = [COLUMNS[name][kind] for name, kind in zip(order, kinds, strict=True)]
    cells = []
    for name, unit in zip(order, units, strict=True):
        factor, offset = conversion(unit, channels()[name].unit)
        cells.append(repr((si[name] - offset) / factor))
    read = parse_readings("\n".join(",".join(row) for row in (order, units, cells)) + "\n")
    for name, wanted in si.items():
        assert read.column(name)[0] == pytest.approx(wanted, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.text(alphabet="currentA,V\n1.0-#= []\"'eE+;%", max_size=80))
def test_any_text_is_read_or_refused_cleanly(text: str) -> None:
    for label in ("any.csv", "any.toml"):
        try:
            parse_readings(text, label)
        except TradespaceError as error:
            assert str(error).isprintable()


def test_ten_thousand_points_are_read_in_half_a_second() -> None:
    rows = "\n".join(
        f"{i},{10 + i % 7 * 0.1},{12 + i % 5 * 0.1},{400 + i % 11},{60 + i % 3},1" for i in range(10_000)
    )
    text = f"time,current,stack_voltage,gas_flow,cell_temperature,lit\ns,A,V,mL/min,degC,1\n{rows}\n"
    parse_readings(text[:200].rsplit("\n", 1)[0])
    began = time.perf_counter()
    assert parse_readings(text).points == 10_000
    assert time.perf_counter() - began < 0.5


def test_words_have_their_defaults_told() -> None:
    read = parse_readings("current,gas_flow\nA,mL/min\n10,60\n11,61\n")
    told = [remark for remark in read.remarks if "is not stated; taken as" in remark]
    assert len(told) == 4
    assert all(
        any(name in remark for remark in told)
        for name in ("cell_kind", "gas_measured", "gas_is", "volumes_at")
    )
    assert set(read.words) == set(WORDS)
    mixed = parse_readings("# cell_kind = common_duct\ncurrent,gas_flow\nA,mL/min\n10,60\n11,61\n")
    assert mixed.words["gas_measured"] == "mixed"


def test_tables_are_plain_csv() -> None:
    for name in ("bench_channels.csv", "bench_instruments.csv"):
        rows = read_table(name).rows
        assert len({row["name"] for row in rows}) == len(rows)
