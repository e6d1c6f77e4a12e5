"""The catalogue of destinations: size, gravity, rotation, light and water of each body."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from tradespace.catalogue import CATALOGUE, catalogue_row, catalogue_rows, elements, stamp
from tradespace.catalogue.own import ORIGIN, SHIPPED, Row, Stamp
from tradespace.constants import value
from tradespace.tables import read_table
from tradespace.units import convert, parse_date

SI = {
    "radius": "m", "radius_low": "m", "radius_high": "m", "gm": "m3/s2", "gm_low": "m3/s2", "gm_high": "m3/s2",
    "rotation_period": "s", "elements_uncertainty": "m", "closest_earth": "m",
}  # fmt: skip


@dataclass(frozen=True)
class Body:
    """One destination; a number that nobody knows is NaN, never zero."""

    id: str
    """Number, comet designation, provisional designation or plain name."""
    name: str
    aliases: tuple[str, ...]
    group: str
    """``main_belt``, ``hilda``, ``jupiter_trojan``, ``main_belt_comet``, ``nea``, ``planet`` or ``moon``; among
    imported bodies also ``mars_crosser``, ``centaur``, ``trans_neptunian``, ``comet`` and ``other``."""
    parent: str
    """What it orbits."""
    radius: float
    """Volume-mean radius [m]."""
    gravitational_parameter: float
    """[m3/s2]."""
    rotation_period: float
    """[s]."""
    spectral_type: str
    geometric_albedo: float
    bond_albedo: float
    water_class: str
    """``surface_ice_detected``; ``water_vapour_detected`` (gas seen, so ice inside); ``hydrated_3um`` (the band of
    hydrated minerals near 3 micrometres); ``inferred`` (from activity, density, family or spectral type alone: an
    imported body of a dark, primitive type is never more than that); ``none`` (known to be dry); ``unknown`` (an
    imported body whose type says nothing about water)."""
    water_detail: str
    water_fraction_low: float
    """Lower end of the mass fraction a study may sweep; a study range, not a measurement [1]."""
    water_fraction_high: float
    """Upper end of the same range [1]."""
    grades: dict[str, str]
    """How well each group of numbers is known: radius, gm, bond_albedo, water."""
    sources: dict[str, str]
    """Source keys of gm, water, elements and physical data."""
    notes: dict[str, str]
    """What was read and what is from memory, for the same groups."""
    radius_range: tuple[float, float]
    """Lower and upper end of what the radius may be [m]; NaN where the source does not say."""
    gravitational_parameter_range: tuple[float, float]
    """The same of the gravitational parameter [m3/s2]."""
    orbit_class: str
    """``apollo``, ``amor`` or ``aten`` of a near-Earth asteroid, else blank."""
    absolute_magnitude: float
    """Brightness H of an imported body [mag]."""
    slope_parameter: float
    """Its slope parameter G [1]."""
    elements_uncertainty: float
    """Error of the position at the first epoch, estimated [m]."""
    closest_earth: float
    """Smallest distance from the Earth over 2025-2050 [m], of a near-Earth asteroid."""
    cautions: tuple[str, ...]
    """What to keep in mind before relying on these numbers."""
    valid: tuple[float, float]
    """First and last date on which the position is known, seconds past J2000; NaN for a moon."""
    origin: str
    """``shipped``, or from which file the body was imported and when."""

    @property
    def surface_gravity(self) -> float:
        """Gravity at the mean radius [m/s2]."""
        return self.gravitational_parameter / self.radius**2

    @property
    def escape_speed(self) -> float:
        """Escape speed at the mean radius [m/s]."""
        return math.sqrt(2.0 * self.gravitational_parameter / self.radius)

    @property
    def is_shipped(self) -> bool:
        """Whether the numbers come with Tradespace."""
        return self.origin == SHIPPED

    @property
    def density(self) -> float:
        """Mass over the volume of a sphere of the mean radius [kg/m3]."""
        volume = 4.0 / 3.0 * math.pi * self.radius**3
        return self.gravitational_parameter / value("gravitational_constant", "body_values.csv") / volume

    @property
    def label(self) -> str:
        """Number and name as a reader expects them, for example ``24 Themis``."""
        return (
            f"{self.id} {self.name}" if self.id.isdigit() and not self.name.startswith(self.id) else self.name
        )


def bodies() -> tuple[Body, ...]:
    """All bodies of the catalogue: the shipped ones in its order, then the imported ones.

    Raises
    ------
    OutputError
        If the user's own catalogue cannot be read.

    Examples
    --------
    >>> sum(item.is_shipped for item in bodies())
    111
    """
    return _bodies(stamp())


@lru_cache(maxsize=2)
def _bodies(_state: Stamp) -> tuple[Body, ...]:
    return tuple(_body(row) for row in catalogue_rows())


def body(name: str) -> Body:
    """The body with this identifier, name or alias, whatever its case.

    Parameters
    ----------
    name : str
        For example ``"24"``, ``"Themis"``, ``"24 Themis"``, ``"176P"``, ``"176P/LINEAR"`` or ``"Bennu"``.

    Raises
    ------
    UnknownNameError
        If no body has that name; the message names the nearest ones.

    Examples
    --------
    >>> body("24 themis").label
    '24 Themis'
    >>> print(f"{body('Ceres').escape_speed:.1f}")
    516.4
    """
    return _one(stamp(), catalogue_row(name)["id"])


@lru_cache(maxsize=4096)
def _one(_state: Stamp, identifier: str) -> Body:
    return _body(catalogue_row(identifier))


def orbit(item: Body) -> tuple[float, float, float]:
    """Semi-major axis [m], eccentricity and inclination to the ecliptic [rad] round the Sun, at the first epoch.

    Those of its planet for a moon; NaN where no ellipse is tabulated.

    Examples
    --------
    >>> print(f"{orbit(body('Themis'))[1]:.3f}")
    0.115
    """
    name = item.id if item.parent == "Sun" else catalogue_row(item.parent)["id"]
    try:
        first = elements(name)[0]
    except KeyError:
        return math.nan, math.nan, math.nan
    return float(first[1]), float(first[2]), float(first[3])


def _body(row: Row) -> Body:
    units = read_table(CATALOGUE).units

    def number(column: str) -> float:
        if not row[column]:
            return math.nan
        return float(convert(float(row[column]), units[column], SI.get(column, "1")))

    def date(column: str) -> float:
        return parse_date(row[column]) if row[column] else math.nan

    return Body(
        id=row["id"],
        name=row["name"],
        aliases=tuple(alias for alias in row["aliases"].split(";") if alias),
        group=row["group"],
        parent=row["parent"],
        radius=number("radius"),
        gravitational_parameter=number("gm"),
        rotation_period=number("rotation_period"),
        spectral_type=row["spectral_type"],
        geometric_albedo=number("geometric_albedo"),
        bond_albedo=number("bond_albedo"),
        water_class=row["water_class"],
        water_detail=row["water_detail"],
        water_fraction_low=number("water_fraction_low"),
        water_fraction_high=number("water_fraction_high"),
        grades={key: row[f"{key}_grade"] for key in ("radius", "gm", "bond_albedo", "water")},
        sources={key: row[f"{key}_source"] for key in ("gm", "water", "elements", "physical")},
        notes={key: row[f"{key}_where"] for key in ("gm", "water", "elements", "physical")},
        radius_range=(number("radius_low"), number("radius_high")),
        gravitational_parameter_range=(number("gm_low"), number("gm_high")),
        orbit_class=row["orbit_class"],
        absolute_magnitude=number("absolute_magnitude"),
        slope_parameter=number("slope_parameter"),
        elements_uncertainty=number("elements_uncertainty"),
        closest_earth=number("closest_earth"),
        cautions=tuple(part for part in row["caution"].split("; ") if part),
        valid=(date("valid_from"), date("valid_until")),
        origin=row[ORIGIN],
    )
