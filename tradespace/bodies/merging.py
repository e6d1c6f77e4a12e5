"""Rows of the catalogue made of bodies as read, and how they meet the rows that are there."""

from __future__ import annotations

import math
from collections.abc import Iterable

from tradespace.bodies import estimates
from tradespace.bodies.found import Found
from tradespace.catalogue import CATALOGUE, shipped_rows
from tradespace.catalogue.own import ORIGIN, Own, Row
from tradespace.constants import value
from tradespace.tables import read_table
from tradespace.units import convert, format_date, from_si, julian_date

ORBIT = (
    "elements_source", "elements_where", "valid_from", "valid_until", "elements_uncertainty", "orbit_class",
    "absolute_magnitude", "slope_parameter", "caution", ORIGIN,
)  # fmt: skip
PHYSICAL = (
    "radius", "radius_low", "radius_high", "radius_grade", "geometric_albedo", "bond_albedo", "bond_albedo_grade",
    "physical_source", "physical_where",
)  # fmt: skip
MASS = ("gm", "gm_low", "gm_high", "gm_grade", "gm_source", "gm_where")
WATER = (
    "water_class", "water_detail", "water_fraction_low", "water_fraction_high", "water_grade", "water_source",
    "water_where",
)  # fmt: skip
GUESSED = ("", "assumed")
DATABASE = "jpl_sbdb_query"


def _text(number: float) -> str:
    return "" if math.isnan(number) else f"{number:.6g}"


class Merge:
    """The user's catalogue while bodies are put into it."""

    def __init__(self, own: Own, *, replace: bool, span: float, origin: str, source: str) -> None:
        self.replace, self.span, self.origin, self.source = replace, span, origin, source
        self.rows = {row["id"]: row for row in own.rows}
        self.ellipses = {row["id"]: row for row in own.elements}
        self.shipped: dict[str, Row] = {}
        self.names: dict[str, str] = {}
        for row in shipped_rows():
            self._remember(row)
            if row["parent"] == "Sun" and row["group"] != "planet":
                for name in (row["id"], row["name"], *row["aliases"].split(";")):
                    if name:
                        self.shipped.setdefault(name.casefold(), row)
        for row in own.rows:
            self._remember(row)

    def _remember(self, row: Row) -> None:
        for name in (row["id"], row["name"], *row["aliases"].split(";")):
            self.names.setdefault(name.casefold(), row["id"])

    def add(self, body: Found, group: str) -> tuple[str, Row]:
        """Put in one body; returns ``added``, ``updated``, ``replaced`` or ``kept`` and its row."""
        names = [name.casefold() for name in (body.id, body.designation) if name]
        shipped = next((self.shipped[name] for name in names if name in self.shipped), None)
        if shipped is not None and not self.replace:
            return "kept", shipped
        row = self._row(body, group)
        old = self.rows.get(shipped["id"] if shipped is not None else body.id)
        if shipped is not None:
            row = _joined(old or shipped, row, body)
        elif old is not None:
            row = _joined(old, row, body)
        else:
            row["name"] = self._free_name(body)
            row["aliases"] = ";".join(self._aliases(body, row["name"]))
        self.rows[row["id"]] = row
        self.ellipses[row["id"]] = _ellipse(row["id"], body)
        self._remember(row)
        return ("replaced" if shipped is not None else "updated" if old is not None else "added"), row

    def _free_name(self, body: Found) -> str:
        """The name, with the number before it where another body has it already."""
        name = body.name.replace(";", ",")
        taken = self.names.get(name.casefold(), body.id) != body.id
        return f"{body.id} {name}" if taken else name

    def _aliases(self, body: Found, name: str) -> Iterable[str]:
        """Other names, as far as no other body has them."""
        numbered = f"{body.id} {body.name}" if body.id.isdigit() and body.name != body.id else ""
        for other in (numbered, body.designation):
            other = other.replace(";", ",")  # noqa: PLW2901
            if other not in {"", name, body.id} and self.names.get(other.casefold(), body.id) == body.id:
                yield other

    def _row(self, body: Found, group: str) -> Row:
        """A row of the catalogue from what was read alone."""
        row = dict.fromkeys((*read_table(CATALOGUE).columns, ORIGIN), "")
        row.update(id=body.id, name=body.name, parent="Sun", spectral_type=body.spectral_type)
        row["group"] = "comet" if body.is_comet else group
        row["rotation_period"] = _text(body.rotation_period)
        row.update(self._orbit(body, row["group"]))
        row.update(_physical(body, self.source))
        row.update(_mass(body, row))
        row.update(_water(body))
        return row

    def _orbit(self, body: Found, group: str) -> Row:
        moment = float(convert(body.epoch - julian_date(0.0), "d", "s"))
        years = float(from_si(self.span, "yr"))
        error = float(from_si(value("imported_error", "orbits.csv"), "au"))
        usual = float(from_si(value("imported_span", "orbits.csv"), "yr"))
        unsure = body.uncertainty_class
        return {
            "elements_source": self.source,
            "elements_where": (
                f"one ellipse of {format_date(moment)}, relied on {years:g} yr either way; "
                f"typically {error:g} au off after {usual:g} yr"
            ),
            "valid_from": format_date(moment - self.span),
            "valid_until": format_date(moment + self.span),
            "orbit_class": _orbit_class(body) if group == "nea" else "",
            "absolute_magnitude": _text(body.absolute_magnitude),
            "slope_parameter": _text(body.slope_parameter),
            "caution": f"orbit uncertainty class {unsure}" if unsure not in {"", "0", "1"} else "",
            ORIGIN: self.origin,
        }


def _orbit_class(body: Found) -> str:
    """Kind of near-Earth asteroid."""
    unit = value("astronomical_unit")
    if body.semi_major_axis < 1.0:
        return "aten"
    limit = value("apollo_perihelion", estimates.VALUES) / unit
    return "apollo" if body.semi_major_axis * (1.0 - body.eccentricity) < limit else "amor"


def _ellipse(identifier: str, body: Found) -> Row:
    return {
        "id": identifier,
        "epoch": repr(body.epoch),
        "semi_major_axis": repr(body.semi_major_axis),
        "eccentricity": repr(body.eccentricity),
        "inclination": repr(body.inclination),
        "ascending_node": repr(body.ascending_node),
        "argument_of_perihelion": repr(body.argument_of_perihelion),
        "mean_anomaly": repr(body.mean_anomaly),
    }


def _physical(body: Found, source: str) -> Row:
    """Radius and albedos: measured where given, else from the brightness."""
    known = body.albedo
    bright = body.absolute_magnitude
    row: Row = {"physical_source": source, "physical_where": "no size given"}
    if not math.isnan(body.diameter):
        error = body.diameter_error if body.diameter_error > 0.0 else math.nan
        row.update(
            radius=_text(body.diameter / 2.0), radius_low=_text(max(body.diameter - error, 0.0) / 2.0),
            radius_high=_text((body.diameter + error) / 2.0), radius_grade="reviewed",
            physical_where="diameter as in the file",
        )  # fmt: skip
        if error >= body.diameter:
            row["radius_low"] = row["radius_high"] = ""
        if math.isnan(known) and not math.isnan(bright):
            known = estimates.albedo(bright, float(convert(body.diameter, "km", "m")))
            row["physical_where"] += ", albedo from it and H"
    elif not math.isnan(bright):
        guess = estimates.assumed_albedo(body.spectral_type)
        low, middle, high = (guess.low, guess.value, guess.high) if math.isnan(known) else (known,) * 3
        sizes = [float(from_si(estimates.diameter(bright, one), "km")) / 2.0 for one in (middle, high, low)]
        row.update(
            radius=_text(sizes[0]), radius_low=_text(sizes[1]) if low < high else "",
            radius_high=_text(sizes[2]) if low < high else "",
            radius_grade="assumed" if math.isnan(known) else "estimated",
            physical_source="nasa_neoproperties",
            physical_where=f"from H {bright:g} and "
            + (f"an assumed albedo {middle:g}, {low:g} to {high:g}" if math.isnan(known) else "the albedo in the file"),
        )  # fmt: skip
    shown = known if not math.isnan(known) else estimates.assumed_albedo(body.spectral_type).value
    if shown <= 1.0:
        row["geometric_albedo"] = f"{shown:.4g}"
        row["bond_albedo"] = f"{min(value('phase_integral', estimates.VALUES) * shown, 1.0):.4g}"
        row["bond_albedo_grade"] = "assumed" if math.isnan(known) else "estimated"
    return row


def _mass(body: Found, row: Row) -> Row:
    """Gravitational parameter: measured where given, else from the size and an assumed density."""
    if not math.isnan(body.gravitational_parameter):
        return {
            "gm": _text(body.gravitational_parameter), "gm_grade": "reviewed", "gm_source": DATABASE,
            "gm_where": "as in the file",
        }  # fmt: skip
    if not row.get("radius"):
        return {"gm_source": "common_practice", "gm_where": "no size, so no mass"}
    guess = estimates.assumed_density(body.spectral_type)
    ends = (row["radius"], row.get("radius_low") or row["radius"], row.get("radius_high") or row["radius"])
    masses = [
        float(convert(
            estimates.gravitational_parameter(float(convert(float(radius), "km", "m")), density),
            "m3/s2", "km3/s2",
        ))
        for radius, density in zip(ends, (guess.value, guess.low, guess.high), strict=True)
    ]  # fmt: skip
    return {
        "gm": _text(masses[0]), "gm_low": _text(masses[1]), "gm_high": _text(masses[2]), "gm_grade": "assumed",
        "gm_source": "common_practice",
        "gm_where": f"assumed density {from_si(guess.value, 'g/cm3'):.2g} g/cm3",
    }  # fmt: skip


def _water(body: Found) -> Row:
    """Water: inferred from a dark, primitive type, else unknown."""
    if estimates.may_hold_water(body.spectral_type):
        share = estimates.inferred_water()
        return {
            "water_class": "inferred", "water_detail": f"type {body.spectral_type}",
            "water_fraction_low": _text(share.low), "water_fraction_high": _text(share.high),
            "water_grade": "assumed", "water_source": "common_practice",
            "water_where": "analogue of the spectral class, no source",
        }  # fmt: skip
    return {
        "water_class": "unknown", "water_source": "common_practice",
        "water_where": "the file says nothing about water",
    }  # fmt: skip


def _joined(old: Row, new: Row, body: Found) -> Row:
    """A row that is there with the orbit of the file, and with those numbers of the file that are better."""
    row = {**old, **{name: new.get(name, "") for name in ORBIT}}
    if not math.isnan(body.rotation_period):
        row["rotation_period"] = new["rotation_period"]
    if body.spectral_type and not old["spectral_type"]:
        row["spectral_type"] = body.spectral_type
    resized = not math.isnan(body.diameter) or old["radius_grade"] in GUESSED
    if resized:
        row.update({name: new.get(name, "") for name in PHYSICAL})
    guessed_mass = old["gm_grade"] in {*GUESSED, "estimated"}
    if not math.isnan(body.gravitational_parameter) or (resized and guessed_mass):
        row.update({name: new.get(name, "") for name in MASS})
    if old["water_class"] == "unknown":
        row.update({name: new.get(name, "") for name in WATER})
    return row
