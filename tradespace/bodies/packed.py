"""Packed designations and dates of the Minor Planet Center: a few characters for a number, a designation or a day.

Written after the Center's public descriptions of packed designations, provisional designations and packed dates.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

from tradespace.errors import TradespaceError

DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
ORDER = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""Second letters of a provisional designation: 25 of them, I is left out."""
HALF_MONTHS = ORDER[:-1]
CENTURIES = {"I": 18, "J": 19, "K": 20}
FIRST_LETTERED, FIRST_LONG = 100_000, 620_000
CYCLES = 620
"""A designation whose second letter has come round this often is packed the longer way."""
LARGEST_LONG = FIRST_LONG + len(DIGITS) ** 4 - 1
FIRST_PLAIN_YEAR = 1925
"""Designations of earlier years begin with A for the thousand."""
LONG_YEARS = range(2010, 2036)
SURVEYS = {"PLS": "P-L", "T1S": "T-1", "T2S": "T-2", "T3S": "T-3"}
NUMBER = re.compile(r"([0-9A-Za-z])([0-9]{4})")
LONG_NUMBER = re.compile(r"~([0-9A-Za-z]{4})")
PROVISIONAL = re.compile(r"([IJK])([0-9]{2})([A-HJ-Y])([0-9A-Za-z])([0-9])([A-HJ-Z])")
LONG_PROVISIONAL = re.compile(r"_([A-Z])([A-HJ-Y])([0-9A-Za-z]{4})")
SURVEY = re.compile(r"(PLS|T[123]S)([0-9]{4})")
PLAIN = re.compile(r"(\d{4}|A\d{3}) ([A-HJ-Y])([A-HJ-Z])(\d*)")
PLAIN_SURVEY = re.compile(r"(\d{4}) (P-L|T-[123])")
DATE = re.compile(r"([IJK])([0-9]{2})([1-9A-C])([1-9A-V])")


class PackedError(TradespaceError, ValueError):
    """A packed designation or date that follows none of the rules."""


def _base(text: str) -> int:
    number = 0
    for character in text:
        number = len(DIGITS) * number + DIGITS.index(character)
    return number


def _based(number: int, width: int) -> str:
    text = ""
    for _ in range(width):
        number, digit = divmod(number, len(DIGITS))
        text = DIGITS[digit] + text
    return text


def unpacked(text: str) -> str:
    """Number or provisional designation of a minor planet from its packed form.

    Raises
    ------
    PackedError
        If the text follows none of the rules.

    Examples
    --------
    >>> unpacked("A0345"), unpacked("J95X01L"), unpacked("T1S3138"), unpacked("_QC0aEM")
    ('100345', '1995 XL1', '3138 T-1', '2026 CZ6190')
    """
    text = text.strip()
    if found := NUMBER.fullmatch(text):
        return str(DIGITS.index(found[1]) * 10_000 + int(found[2]))
    if found := LONG_NUMBER.fullmatch(text):
        return str(FIRST_LONG + _base(found[1]))
    if found := PROVISIONAL.fullmatch(text):
        cycle = DIGITS.index(found[4]) * 10 + int(found[5])
        return _designation(CENTURIES[found[1]] * 100 + int(found[2]), found[3], cycle, found[6])
    if found := LONG_PROVISIONAL.fullmatch(text):
        year = 2000 + DIGITS.index(found[1])
        cycle, place = divmod(_base(found[3]), len(ORDER))
        return _designation(year, found[2], CYCLES + cycle, ORDER[place])
    if found := SURVEY.fullmatch(text):
        return f"{found[2]} {SURVEYS[found[1]]}"
    raise PackedError(f"{text!r} is not a packed designation")


def _year(year: int) -> str:
    return str(year) if year >= FIRST_PLAIN_YEAR else f"A{year % 1000:03d}"


def _designation(year: int, half_month: str, cycle: int, letter: str) -> str:
    return f"{_year(year)} {half_month}{letter}{cycle or ''}"


def packed(text: str) -> str:
    """The reverse of :func:`unpacked`.

    Raises
    ------
    PackedError
        If the text is no number and no provisional designation of a minor planet, or has no packed form.

    Examples
    --------
    >>> packed("360017"), packed("2007 TA418"), packed("A904 OA"), packed("620061")
    ('a0017', 'K07Tf8A', 'J04O00A', '~000z')
    """
    if re.fullmatch(r"[1-9][0-9]*", text) and int(text) <= LARGEST_LONG:
        number = int(text)
        if number >= FIRST_LONG:
            return "~" + _based(number - FIRST_LONG, 4)
        return f"{DIGITS[number // 10_000]}{number % 10_000:04d}"
    if found := PLAIN_SURVEY.fullmatch(text):
        return next(code for code, name in SURVEYS.items() if name == found[2]) + found[1]
    found = PLAIN.fullmatch(text)
    year = int(found[1].replace("A", "1")) if found else 0
    if found and found[1] == _year(year):
        cycle = int(found[4] or 0)
        code = {century: letter for letter, century in CENTURIES.items()}.get(year // 100)
        if cycle < CYCLES and code is not None and found[4][:1] != "0":
            return f"{code}{year % 100:02d}{found[2]}{DIGITS[cycle // 10]}{cycle % 10}{found[3]}"
        order = (cycle - CYCLES) * len(ORDER) + ORDER.index(found[3])
        if year in LONG_YEARS and 0 <= order < len(DIGITS) ** 4 and found[4][:1] != "0":
            return f"_{DIGITS[year - 2000]}{found[2]}{_based(order, 4)}"
    raise PackedError(f"{text!r} has no packed form")


def unpacked_date(text: str) -> datetime:
    """The day of a packed date, at 0 h.

    Raises
    ------
    PackedError
        If the text is not a packed date, or no such day exists.

    Examples
    --------
    >>> unpacked_date("K01AM").date().isoformat()
    '2001-10-22'
    """
    found = DATE.fullmatch(text.strip())
    if found:
        year = CENTURIES[found[1]] * 100 + int(found[2])
        try:
            return datetime(year, DIGITS.index(found[3]), DIGITS.index(found[4]), tzinfo=UTC)
        except ValueError as error:
            raise PackedError(f"{text!r} is not a day: {error}") from error
    raise PackedError(f"{text!r} is not a packed date")


def packed_date(day: datetime) -> str:
    """The reverse of :func:`unpacked_date`.

    Raises
    ------
    PackedError
        If the year is outside 1800-2099.

    Examples
    --------
    >>> packed_date(datetime(1996, 9, 30, tzinfo=UTC))
    'J969U'
    """
    for letter, century in CENTURIES.items():
        if day.year // 100 == century:
            return f"{letter}{day.year % 100:02d}{DIGITS[day.month]}{DIGITS[day.day]}"
    raise PackedError(f"{day.date().isoformat()} has no packed form")
