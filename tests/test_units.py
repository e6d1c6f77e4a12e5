"""Reading numbers with units: what is accepted, what is refused, and with which words."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tradespace.errors import UnitError
from tradespace.quantities import display, json_key, plain_number, quantities
from tradespace.units import FAMILIAR, conversion, convert, format_date, parse_date, parse_quantity


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("60 kg", "kg", 60.0),
        ("1.5e3 mm", "m", 1.5),
        ("80 degC", "K", 353.15),
        ("-40 degC", "K", 233.15),
        ("0.3 A/cm2", "A/m2", 3000.0),
        ("10 bar", "Pa", 1e6),
        ("4.4 kWh/kg", "J/kg", 4.4 * 3.6e6),
        ("1 yr", "s", 365.25 * 86400.0),
        ("25 kg h/kg", "kg s/kg", 90000.0),
        ("50 %", "1", 0.5),
        ("0.5", "1", 0.5),
        (7.937, "1", 7.937),
        (8, "1", 8.0),
        ("-0.2 %/K", "1/K", -0.002),
        ("1 psi", "Pa", 6894.757293168),
        ("1 atm", "Pa", 101325.0),
        ("3 m**2", "m2", 3.0),
    ],
)
def test_a_number_with_its_unit_becomes_si(text: object, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("60", "kg", "has no unit"),
        (60, "kg", "has no unit"),
        ("60 kw", "W", "did you mean 'kW'"),
        ("60 kW", "kg", "not a unit of the kind wanted"),
        ("2,5 kW", "W", "cannot read"),
        ("2.5.1 kW", "W", "cannot read"),
        ("1_000 m", "m", "cannot read"),
        ("1 2m", "m", "cannot read"),
        ("sixty kg", "kg", "cannot read"),
        ("nan kg", "kg", "cannot read"),
        ("inf kg", "kg", "cannot read"),
        ("1e400 kg", "kg", "not a finite number"),
        (math.inf, "1", "not a finite number"),
        (math.nan, "1", "not a finite number"),
        (10**400, "1", "not a finite number"),
        (True, "1", "cannot read"),
        (None, "kg", "cannot read"),
        (["60 kg"], "kg", "cannot read"),
        ("", "kg", "cannot read"),
        ("80 C", "K", "did you mean 'degC'"),
        ("3 days", "s", "did you mean 'd'"),
        ("1 m\x1b[31m", "m", "unknown unit"),
        ("1 " + "m" * 5000, "m", "unknown unit"),
        ("1 m; drop", "m", "unknown unit"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_reason(text: object, unit: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, unit)
    message = str(caught.value)
    assert words in message
    assert len(message) < 250
    assert message.isprintable()


@given(
    st.floats(-1e12, 1e12), st.sampled_from([("km/s", "m/s"), ("kWh/kg", "J/kg"), ("degC", "K"), ("%", "1")])
)
def test_converting_there_and_back_changes_nothing(value: float, pair: tuple[str, str]) -> None:
    there = convert(value, *pair)
    assert convert(there, pair[1], pair[0]) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_as_a_unit_error(text: str) -> None:
    try:
        value = parse_quantity(text, "kg")
    except UnitError:
        return
    assert math.isfinite(value)


def test_every_familiar_unit_is_known() -> None:
    for unit in FAMILIAR:
        factor, offset = conversion(unit, unit)
        assert (factor, offset) == (1.0, 0.0)
        assert parse_quantity(f"0 {unit}", "K" if unit == "degC" else unit) == (
            273.15 if unit == "degC" else 0.0
        )


@given(st.integers(-36500, 36500))
def test_dates_go_there_and_back(days: int) -> None:
    text = format_date(days * 86400.0)
    assert format_date(parse_date(text)) == text


@pytest.mark.parametrize(
    "text", ["2031-13-01", "May 2031", "", "2031-02-30", None, 5, "01.05.2031", "x" * 500]
)
def test_what_is_not_a_date_is_refused(text: object) -> None:
    with pytest.raises(UnitError, match="as a date") as caught:
        parse_date(text)
    assert len(str(caught.value)) < 150


def test_time_zones_are_respected() -> None:
    assert parse_date("2000-01-01T14:00:00+02:00") == pytest.approx(0.0)


def test_never_is_said_when_a_date_lies_beyond_the_calendar() -> None:
    assert format_date(1e30) == "never"


def test_every_quantity_has_units_that_convert_and_a_default_within_its_bounds() -> None:
    for name, item in quantities().items():
        assert math.isfinite(item.shown(1.0)), name
        assert item.description, name
        if item.default is not None:
            assert item.within(item.default), name
            assert (
                item.default_low is None or item.default_high is None or item.default_low <= item.default_high
            )
            assert item.source, name
        if item.role in {"input", "derived"}:
            assert item.low is not None, name
            assert item.high is not None, name
            assert item.low < item.high, name


def test_json_keys_are_unique_and_plain() -> None:
    keys = [json_key(name) for name in quantities()]
    assert len(set(keys)) == len(keys)
    assert all(key.replace("_", "").isalnum() and key == key.lower() for key in keys)


def test_display_uses_the_display_unit() -> None:
    assert display("storage_pressure", 5e6) == "50 bar"
    assert display("mission_time", 365.25 * 86400.0) == "1 yr"
    assert display("limited_by", "power") == "power"
    assert display("closes", True) == "yes"
    assert display("start_mass", None) == "-"
    assert display("start_mass", math.inf) == "unlimited"


@given(st.floats(1e-6, 1e9))
def test_a_printed_number_keeps_its_value(value: float) -> None:
    assert float(plain_number(value)) == pytest.approx(value, rel=6e-4)
