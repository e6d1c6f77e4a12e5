"""The only unit conversion: strings with units at the edge, SI floats inside."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from tradespace.errors import UnitError, nearest

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
QUANTITY = re.compile(rf"^\s*({NUMBER})\s*(.*?)\s*$")
MALFORMED = re.compile(r"[,._]|\d(?!/)")
POWER = re.compile(r"([A-Za-z])(-?\d+)")
DIMENSIONLESS = {"", "1"}
LONGEST_UNIT = 40
MISSPELT = {
    "°C": "degC",
    "C": "degC",
    "days": "d",
    "day": "d",
    "years": "yr",
    "year": "yr",
    "hours": "h",
    "hour": "h",
}
FAMILIAR = (
    *("m", "mm", "cm", "km", "au", "m2", "cm2", "m3", "L", "kg", "g", "t", "s", "min", "h", "d", "yr"),
    *(
        "W",
        "mW",
        "kW",
        "MW",
        "J",
        "kJ",
        "MJ",
        "Wh",
        "kWh",
        "N",
        "mN",
        "Pa",
        "kPa",
        "MPa",
        "bar",
        "psi",
        "atm",
    ),
    *(
        "K",
        "degC",
        "V",
        "mV",
        "A",
        "mA",
        "deg",
        "rad",
        "%",
        "m/s",
        "km/s",
        "km2/s2",
        "W/m2",
        "kWh/kg",
        "MJ/kg",
    ),
    *("Wh/kg", "A/cm2", "A/m2", "kg/m2", "kg/m3", "kg/kW", "kg/N", "W/N", "W/mN", "mN/kW"),
    *("kg/h", "kg/d", "g/h", "1/yr", "%/yr", "%/K"),
)


@cache
def _astropy() -> Any:
    """Astropy's units with the engineer's extras switched on."""
    from astropy import units

    names: dict[str, Any] = {}
    units.def_unit(
        ["Wh"], units.W * units.h, prefixes=[(["k"], ["kilo"], 1e3), (["M"], ["mega"], 1e6)], namespace=names
    )
    units.def_unit(["atm"], 101325 * units.Pa, namespace=names)  # defined value
    units.def_unit(["psi"], 6894.757293168 * units.Pa, namespace=names)  # lbf/in2, defined
    units.add_enabled_units(list(names.values()))
    return units


@cache
def _unit(text: str) -> Any:
    """Parse a unit string such as ``kWh/kg`` or ``A/cm2``."""
    units = _astropy()
    if text in DIMENSIONLESS:
        return units.dimensionless_unscaled
    if len(text) > LONGEST_UNIT or not text.isprintable():
        raise UnitError(f"unknown unit {text[:LONGEST_UNIT]!r}")
    if text in MISSPELT:
        raise UnitError(f"unknown unit {text!r}; did you mean {MISSPELT[text]!r}?")
    prepared = POWER.sub(r"\1**\2", text.replace("%", "percent").replace("·", "*"))
    try:
        return units.Unit(prepared)
    except (ValueError, TypeError, ArithmeticError, RecursionError) as error:
        close = nearest(text, FAMILIAR)
        hint = f"; did you mean {' or '.join(repr(item) for item in close)}?" if close else ""
        raise UnitError(f"unknown unit {text!r}{hint}") from error


@cache
def conversion(unit: str, into: str) -> tuple[float, float]:
    """Factor and offset such that ``value_in_into = factor * value_in_unit + offset``.

    Raises
    ------
    UnitError
        If the units are unknown or of different kinds.

    Examples
    --------
    >>> conversion("degC", "K")
    (1.0, 273.15)
    >>> conversion("A/cm2", "A/m2")[0]
    10000.0
    """
    if unit == into:
        return 1.0, 0.0
    units = _astropy()
    if unit == "degC" and into in {"K", "degC"}:
        return 1.0, 273.15
    if into == "degC" and unit == "K":
        return 1.0, -273.15
    try:
        return float(_unit(unit).to(_unit(into))), 0.0
    except units.UnitConversionError as error:
        raise UnitError(f"{unit!r} is not a unit of the kind wanted here; use one like {into!r}") from error


def convert(value: Any, unit: str, into: str) -> Any:
    """Convert a number or array from one unit into another.

    Examples
    --------
    >>> convert(1.0, "kWh/kg", "J/kg")
    3600000.0
    """
    factor, offset = conversion(unit, into)
    return value * factor + offset


def to_si(value: Any, unit: str) -> Any:
    """A number or array in any unit, in the SI base of that unit.

    Examples
    --------
    >>> to_si(80.0, "degC"), to_si(2.0, "km/s")
    (353.15, 2000.0)
    """
    if unit == "degC":
        return value + conversion("degC", "K")[1]
    return value * float(_unit(unit).si.scale)


def from_si(value: Any, unit: str) -> Any:
    """The inverse of :func:`to_si`.

    Examples
    --------
    >>> from_si(2000.0, "km/s")
    2.0
    """
    if unit == "degC":
        return value - conversion("degC", "K")[1]
    return value / float(_unit(unit).si.scale)


def parse_quantity(text: object, unit: str) -> float:
    """Read ``"120 m2"`` into an SI float.

    Parameters
    ----------
    text : object
        A string of a number and a unit; for a dimensionless quantity also a bare number or a percentage.
    unit : str
        SI unit of the result, which also says what kind of unit is wanted.

    Returns
    -------
    float
        The value in ``unit``.

    Raises
    ------
    UnitError
        If the number cannot be read, the unit is missing, unknown or of another kind.

    Examples
    --------
    >>> parse_quantity("1.5 mm", "m")
    0.0015
    >>> parse_quantity("72 %", "1")
    0.72
    >>> parse_quantity("2,5 kW", "W")
    Traceback (most recent call last):
    tradespace.errors.UnitError: cannot read '2,5 kW' as a number and a unit, such as "1 W"
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise UnitError(f"cannot read {_shortened(text)} as a number and a unit, such as {_example(unit)}")
    if isinstance(text, int | float):
        if unit in DIMENSIONLESS:
            return _finite(text)
        shown = _shortened(text)
        raise UnitError(f'{shown} has no unit; write it as a string with one, such as "{shown} {unit}"')
    match = QUANTITY.match(text)
    if match is None or MALFORMED.match(match.group(2)):
        raise UnitError(f"cannot read {_shortened(text)} as a number and a unit, such as {_example(unit)}")
    number, name = _finite(match.group(1)), match.group(2)
    if not name and unit not in DIMENSIONLESS:
        raise UnitError(f'{text!r} has no unit; write it with one, such as "{match.group(1)} {unit}"')
    factor, offset = conversion(name or "1", unit)
    return number * factor + offset


def _shortened(text: object) -> str:
    """The value as written, cut where it would fill the screen."""
    shown = repr(text)
    return shown if len(shown) <= LONGEST_UNIT else shown[: LONGEST_UNIT - 3] + "..."


def _finite(number: str | float) -> float:
    """A float that is neither infinite nor missing."""
    try:
        result = float(number)
    except OverflowError:
        result = math.inf
    if not math.isfinite(result):
        raise UnitError(f"{_shortened(number)} is not a finite number")
    return result


def _example(unit: str) -> str:
    return '"0.5" or "50 %"' if unit in DIMENSIONLESS else f'"1 {unit}"'


def parse_date(text: object) -> float:
    """Read an ISO date into seconds past J2000 (barycentric dynamical time, a minute from civil time).

    Raises
    ------
    UnitError
        If the text is not a date.

    Examples
    --------
    >>> parse_date("2000-01-02")
    43200.0
    """
    if isinstance(text, datetime):
        moment = text
    else:
        try:
            moment = datetime.fromisoformat(str(text))
        except ValueError as error:
            raise UnitError(f'cannot read {_shortened(text)} as a date; write it as "2031-05-01"') from error
    moment = moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
    return (moment - J2000).total_seconds()


def format_date(seconds: float) -> str:
    """The ISO date of a number of seconds past J2000.

    Examples
    --------
    >>> format_date(43200.0)
    '2000-01-02'
    """
    try:
        return (J2000 + timedelta(seconds=float(seconds))).date().isoformat()
    except (OverflowError, ValueError):
        return "never"


def julian_date(seconds: float) -> float:
    """Julian date (dynamical time) of a number of seconds past J2000.

    Examples
    --------
    >>> julian_date(86400.0)
    2451546.0
    """
    return 2451545.0 + float(seconds) / 86400.0
