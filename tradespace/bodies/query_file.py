"""Results of JPL's small-body database: the query service's CSV or JSON, and the look-up service's JSON.

Field names after the public description of these services: ``full_name``, ``a``, ``e``, ``i``, ``om``, ``w``, ``ma``,
``epoch`` and, where asked for, ``q``, ``tp``, ``H``, ``G``, ``diameter``, ``albedo``, ``rot_per``, ``GM``, ``spec_B``,
``spec_T`` and ``condition_code``.
"""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from tradespace.bodies.found import Collected, Found, Keep, Lines
from tradespace.constants import value
from tradespace.errors import OutputError, nearest
from tradespace.units import convert

MODIFIED_EPOCH = 2_400_000.5
"""Julian date of the day 0 of modified Julian dates [d]."""
EARLIEST, LATEST = 2_378_496.5, 2_524_593.5
"""Julian dates of 1800 and 2200 [d]: an epoch outside is a slip."""
NAMES = ("full_name", "fullname", "pdes", "des")
ELEMENTS = ("e", "i", "om", "w")
NUMBERED = re.compile(r"(\d+)\s*([^()]*?)\s*(?:\(([^()]*)\))?")
BARE = re.compile(r"\(?((?:\d{4}|A\d{3}) [A-Z]{1,2}\d*|\d{4} (?:P-L|T-[123]))\)?")
NUMBERED_COMET = re.compile(r"(\d+[PDI](?:-[A-Z]{1,2})?)(?:\s*/\s*(.*))?")
COMET = re.compile(r"([PCDXAI]/-?\d+ [A-Z]+\d*(?:-[A-Z]+)?)\s*(?:\((.*)\))?")
MARK = re.compile(r"\s+")


class RejectedError(ValueError):
    """A row that cannot be used, and why."""


def names_of(text: str) -> tuple[str, str, str, bool]:
    """Identifier, name, provisional designation and whether it is a comet, from a full name.

    Examples
    --------
    >>> names_of("   162173 Ryugu (1999 JU3)")
    ('162173', 'Ryugu', '1999 JU3', False)
    >>> names_of("176P/LINEAR"), names_of("(2000 SG344)")[:2]
    (('176P', '176P/LINEAR', '', True), ('2000 SG344', '2000 SG344'))
    """
    text = MARK.sub(" ", text).strip().strip('"').strip()
    if found := NUMBERED_COMET.fullmatch(text):
        return found[1], text.replace(" /", "/"), "", True
    if found := COMET.fullmatch(text):
        return found[1], f"{found[1]} {found[2]}" if found[2] else found[1], found[1], True
    if found := BARE.fullmatch(text):
        return found[1], found[1], found[1], False
    if found := NUMBERED.fullmatch(text):
        designation = (found[3] or "").strip()
        return str(int(found[1])), found[2] or designation or found[1], designation, False
    raise RejectedError("no designation" if not text else "no designation that can be read")


def read(
    rows: Iterable[tuple[int, dict[str, Any], str]], keep: Keep, lines: Lines, what: str
) -> dict[str, Found]:
    """Bodies of a query result by identifier.

    Parameters
    ----------
    rows : iterable of tuple
        Number, fields and text of each row.
    keep : Keep
        Which bodies to keep.
    lines : Lines
        Where to count what is left out and what cannot be read.
    what : str
        What a row is called: ``line`` or ``row``.

    Raises
    ------
    OutputError
        If more bodies pass than a catalogue takes.
    """
    found = Collected(lines)
    for number, fields, text in rows:
        lines.seen += 1
        try:
            axis, shape = _shape(fields)
            if shape >= 1.0:
                lines.open_orbits += 1
                continue
            magnitude = _number(fields, "H")
            if not keep.passes(axis, shape, magnitude):
                lines.left_out += 1
                continue
            body = _body(fields, axis, shape)
        except RejectedError as error:
            lines.reject(number, text, str(error), what)
            continue
        found.add(body)
    return found.bodies


def _number(fields: dict[str, Any], name: str) -> float:
    """A number, NaN where the field is missing or empty."""
    raw = fields.get(name)
    if raw is None or (isinstance(raw, str) and not raw.strip()):
        return math.nan
    try:
        number = float(raw)
    except (TypeError, ValueError) as error:
        raise RejectedError(f"no number for {name}") from error
    if not math.isfinite(number):
        raise RejectedError(f"no finite number for {name}")
    return number


def _needed(fields: dict[str, Any], name: str) -> float:
    number = _number(fields, name)
    if math.isnan(number):
        raise RejectedError(f"{name} is missing")
    return number


def _shape(fields: dict[str, Any]) -> tuple[float, float]:
    """Semi-major axis [au] and eccentricity."""
    shape = _needed(fields, "e")
    if shape < 0.0:
        raise RejectedError("e is below zero")
    if shape >= 1.0:
        return math.nan, shape
    axis = _number(fields, "a")
    if math.isnan(axis):
        axis = _needed(fields, "q") / (1.0 - shape)
    if axis <= 0.0:
        raise RejectedError("a is not above zero")
    return axis, shape


def _epoch(fields: dict[str, Any]) -> float:
    epoch = _number(fields, "epoch")
    if math.isnan(epoch):
        epoch = _needed(fields, "epoch_mjd") + MODIFIED_EPOCH
    if not EARLIEST < epoch < LATEST:
        raise RejectedError("the epoch is no Julian date from 1800 to 2200")
    return epoch


def _anomaly(fields: dict[str, Any], axis: float, epoch: float) -> float:
    """Mean anomaly [deg]; from the passage of perihelion where it is not given."""
    anomaly = _number(fields, "ma")
    if not math.isnan(anomaly):
        return anomaly
    if math.isnan(_number(fields, "tp")):
        raise RejectedError("ma is missing")
    motion = math.sqrt(value("gravitational_parameter_sun") / (axis * value("astronomical_unit")) ** 3)
    turned = motion * float(convert(epoch - _number(fields, "tp"), "d", "s"))
    return math.degrees(turned % math.tau)


def _positive(fields: dict[str, Any], name: str) -> float:
    number = _number(fields, name)
    if number <= 0.0:
        raise RejectedError(f"{name} is not above zero")
    return number


def _body(fields: dict[str, Any], axis: float, shape: float) -> Found:
    text = next((str(fields[name]) for name in NAMES if fields.get(name)), "")
    identifier, name, designation, is_comet = names_of(text)
    epoch = _epoch(fields)
    spectral = next((str(fields[key]).strip() for key in ("spec_B", "spec_T") if fields.get(key)), "")
    return Found(
        id=identifier, name=name, designation=designation, epoch=epoch, semi_major_axis=axis, eccentricity=shape,
        inclination=_needed(fields, "i"), ascending_node=_needed(fields, "om"),
        argument_of_perihelion=_needed(fields, "w"), mean_anomaly=_anomaly(fields, axis, epoch),
        absolute_magnitude=_number(fields, "H"), slope_parameter=_number(fields, "G"),
        diameter=_positive(fields, "diameter"), diameter_error=_number(fields, "diameter_sigma"),
        albedo=_positive(fields, "albedo"), gravitational_parameter=_positive(fields, "GM"),
        rotation_period=_positive(fields, "rot_per"), spectral_type=spectral,
        uncertainty_class=str(fields.get("condition_code") or "").strip(), is_comet=is_comet,
    )  # fmt: skip


def _check_header(header: Sequence[str]) -> None:
    """Refuse a table that cannot hold orbits."""
    has = set(header)
    lacking = [name for name in ELEMENTS if name not in has]
    lacking += [] if has & set(NAMES) else ["full_name"]
    lacking += [] if has & {"a", "q"} else ["a"]
    lacking += [] if has & {"epoch", "epoch_mjd"} else ["epoch"]
    lacking += [] if has & {"ma", "tp"} else ["ma"]
    if lacking:
        close = nearest(lacking[0], header)
        hint = f" (there is {close[0]!r})" if close else ""
        raise OutputError(
            f"the table has no field {', '.join(map(repr, lacking))}{hint}; ask the database for "
            "full_name, a, e, i, om, w, ma, epoch"
        )


def looks_like_csv(start: str) -> bool:
    """Whether the beginning of a file is a table of comma-separated orbits.

    Examples
    --------
    >>> looks_like_csv("full_name,a,e,i,om,w,ma,epoch"), looks_like_csv("00001  3.34")
    (True, False)
    """
    first = next((line for line in start.splitlines() if line.strip()), "")
    header = {cell.strip().strip('"') for cell in first.split(",")}
    return len(header) > 1 and bool(header & {*NAMES, "e", "om", "epoch"})


def csv_rows(text: Iterable[str]) -> Iterator[tuple[int, dict[str, Any], str]]:
    """Rows of a CSV file with their line numbers.

    Raises
    ------
    OutputError
        If the table cannot hold orbits.
    """
    reader = csv.reader(line.replace("\0", "") for line in text)
    header: list[str] = []
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise OutputError(f"line {reader.line_num}: {error}") from error
        if not any(cell.strip() for cell in cells):
            continue
        if not header:
            header = [cell.strip() for cell in cells]
            _check_header(header)
            continue
        fields: dict[str, Any] = dict(zip(header, cells, strict=False))
        if len(cells) != len(header):
            fields = {"e": f"{len(cells)} cells instead of {len(header)}"}
        yield reader.line_num, fields, ",".join(cells)


def json_rows(text: str) -> Iterator[tuple[int, dict[str, Any], str]]:
    """Rows of a JSON reply of the query or of the look-up service, numbered from 1.

    Raises
    ------
    OutputError
        If the text is not JSON, or holds no orbits.
    """
    try:
        reply = json.loads(text)
    except (ValueError, RecursionError) as error:
        place = f"line {error.lineno}: {error.msg}" if isinstance(error, json.JSONDecodeError) else str(error)
        raise OutputError(f"is not complete JSON ({place}); fetch it again") from error
    if not isinstance(reply, dict):
        raise OutputError("the JSON has no 'fields' and 'data'; give the reply of the database as it came")
    if "orbit" in reply or "object" in reply:
        yield 1, _looked_up(reply), str(reply.get("object"))
        return
    header, data = reply.get("fields"), reply.get("data")
    if not isinstance(header, list) or not isinstance(data, list):
        said = f": {reply['message']}" if isinstance(reply.get("message"), str) else ""
        raise OutputError(
            f"the JSON has no 'fields' and 'data'{said}; give the reply of the database as it came"
        )
    header = [str(name) for name in header]
    _check_header(header)
    for number, cells in enumerate(data, start=1):
        if isinstance(cells, list) and len(cells) == len(header):
            yield number, dict(zip(header, cells, strict=True)), json.dumps(cells, ensure_ascii=False)
        else:
            count = f"{len(cells)} cells instead of {len(header)}" if isinstance(cells, list) else "no list"
            yield number, {"e": count}, json.dumps(cells, ensure_ascii=False)


def _looked_up(reply: dict[str, Any]) -> dict[str, Any]:
    """Fields of one body out of a reply of the look-up service."""
    try:
        orbit, thing = reply["orbit"], reply["object"]
        fields = {item["name"]: item["value"] for item in orbit["elements"]}
        fields["epoch"] = orbit["epoch"]
        fields["condition_code"] = orbit.get("condition_code")
        fields["full_name"] = thing.get("fullname") or thing.get("des")
        for item in reply.get("phys_par") or ():
            fields.setdefault(item["name"], item["value"])
            if item["name"] == "diameter":
                fields.setdefault("diameter_sigma", item.get("sigma"))
    except (KeyError, TypeError, AttributeError) as error:
        raise OutputError(f"the reply holds no orbit ({error}); give it as it came") from error
    return fields
