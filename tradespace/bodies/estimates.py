"""What an orbit file leaves open: size from brightness, mass from size, water from colour, each with its range."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tradespace.constants import table_values, value

VALUES = "body_values.csv"
DARK = frozenset("CBFGDP")
STONY = frozenset("SKLQV")
ALBEDO_OF = {
    "C": "c", "B": "c", "F": "c", "G": "c", "D": "d", "Q": "q", "S": "s", "K": "s", "L": "s", "V": "v",
    "X": "x", "P": "x",
}  # fmt: skip


@dataclass(frozen=True)
class Range:
    """A number with what it may be at least and at most."""

    value: float
    low: float
    high: float


def diameter(absolute_magnitude: float, albedo: float) -> float:
    """Diameter of a body of this brightness and geometric albedo [m].

    Examples
    --------
    >>> print(f"{diameter(22.0, 0.14):.0f}")
    141
    """
    return float(
        value("diameter_at_unit_albedo", VALUES) / math.sqrt(albedo) * 10.0 ** (-absolute_magnitude / 5.0)
    )


def albedo(absolute_magnitude: float, size: float) -> float:
    """Geometric albedo of a body of this brightness and diameter [m].

    Examples
    --------
    >>> print(f"{albedo(22.0, diameter(22.0, 0.14)):.2f}")
    0.14
    """
    return float((value("diameter_at_unit_albedo", VALUES) / size) ** 2 * 10.0 ** (-0.4 * absolute_magnitude))


def first_letter(spectral_type: str) -> str:
    """The letter of a spectral type that says most, blank where there is none.

    Examples
    --------
    >>> first_letter("Ch"), first_letter("(C)"), first_letter("")
    ('C', 'C', '')
    """
    return next((character.upper() for character in spectral_type if character.isalpha()), "")


def _range(name: str) -> Range:
    row = table_values(VALUES)[name]
    return Range(row.value, row.low, row.high)


def assumed_albedo(spectral_type: str) -> Range:
    """Geometric albedo of bodies of this type.

    Examples
    --------
    >>> assumed_albedo("Cgh").value, assumed_albedo("").low
    (0.101, 0.04)
    """
    return _range(f"albedo_{ALBEDO_OF.get(first_letter(spectral_type), 'unknown')}")


def assumed_density(spectral_type: str) -> Range:
    """Density of bodies of this type [kg/m3].

    Examples
    --------
    >>> assumed_density("S").value, assumed_density("T").value
    (2500.0, 2000.0)
    """
    letter = first_letter(spectral_type)
    return _range(f"density_{'c' if letter in DARK and letter else 's' if letter in STONY else 'unknown'}")


def gravitational_parameter(radius: float, density: float) -> float:
    """Gravitational parameter of a sphere of this radius [m] and density [kg/m3], in m3/s2.

    Examples
    --------
    >>> print(f"{gravitational_parameter(1000.0, 2000.0):.0f}")
    559
    """
    return value("gravitational_constant", VALUES) * density * 4.0 / 3.0 * math.pi * radius**3


def may_hold_water(spectral_type: str) -> bool:
    """Whether the type alone lets one infer water: dark, primitive ones.

    Examples
    --------
    >>> may_hold_water("Ch"), may_hold_water("S"), may_hold_water("")
    (True, False, False)
    """
    return first_letter(spectral_type) in DARK


def inferred_water() -> Range:
    """Mass fraction of water that a study may sweep on such a body; a range, not a measurement."""
    return _range("inferred_water_fraction")
