"""The catalogue of destinations: size, gravity, rotation, light and water of each body."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from tradespace.catalogue import CATALOGUE, catalogue_row
from tradespace.tables import read_table
from tradespace.units import convert

SI = {"radius": "m", "gm": "m3/s2", "rotation_period": "s"}


@dataclass(frozen=True)
class Body:
    """One destination; a number that nobody knows is NaN, never zero."""

    id: str
    """Number, comet designation, provisional designation or plain name."""
    name: str
    aliases: tuple[str, ...]
    group: str
    """``main_belt``, ``hilda``, ``jupiter_trojan``, ``main_belt_comet``, ``nea``, ``planet`` or ``moon``."""
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
    """``surface_ice_detected``, ``water_vapour_detected``, ``hydrated_3um``, ``inferred`` or ``none``."""
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

    @property
    def surface_gravity(self) -> float:
        """Gravity at the mean radius [m/s2]."""
        return self.gravitational_parameter / self.radius**2

    @property
    def escape_speed(self) -> float:
        """Escape speed at the mean radius [m/s]."""
        return math.sqrt(2.0 * self.gravitational_parameter / self.radius)

    @property
    def label(self) -> str:
        """Number and name as a reader expects them, for example ``24 Themis``."""
        return (
            f"{self.id} {self.name}" if self.id.isdigit() and not self.name.startswith(self.id) else self.name
        )


@cache
def bodies() -> tuple[Body, ...]:
    """All bodies of the catalogue in its order.

    Examples
    --------
    >>> len(bodies())
    111
    """
    return tuple(_body(row) for row in read_table(CATALOGUE).rows)


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
    return _by_id()[catalogue_row(name)["id"]]


@cache
def _by_id() -> dict[str, Body]:
    return {item.id: item for item in bodies()}


def _body(row: dict[str, str]) -> Body:
    units = read_table(CATALOGUE).units

    def number(column: str) -> float:
        if not row[column]:
            return math.nan
        return float(convert(float(row[column]), units[column], SI.get(column, "1")))

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
    )
