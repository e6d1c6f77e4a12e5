"""How well each class of instrument reads when the file does not say: what scatters and what stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from tradespace.bench.channels import channels
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table
from tradespace.units import conversion

TABLE = "bench_instruments.csv"
NO_BAROMETER = "assumed_atmosphere"


@dataclass(frozen=True)
class Part:
    """A standard uncertainty (k = 1): a share of the reading and an amount, which add as squares."""

    relative: FloatArray | float = 0.0
    """[1]."""
    absolute: FloatArray | float = 0.0
    """[SI]."""

    def of(self, values: FloatArray) -> FloatArray:
        """The uncertainty of these values [SI]."""
        amount = self.relative * np.abs(np.nan_to_num(values)) + np.zeros(values.shape)
        return np.asarray(np.hypot(amount, self.absolute))


@dataclass(frozen=True)
class Instrument:
    """A class of instrument."""

    name: str
    title: str
    random: Part
    systematic: Part
    grade: str
    source: str
    where: str
    description: str


@cache
def instruments() -> Mapping[str, Instrument]:
    """All classes of instrument by name.

    Examples
    --------
    >>> print(f"{instruments()['gas_meter'].systematic.relative:.3f}")
    0.015
    """
    percent, _ = conversion("%", "1")
    found: dict[str, Instrument] = {}
    for row in read_table(TABLE).rows:
        factor, _ = conversion(row["unit"], _si(row["name"], row["unit"]))
        random, systematic = (
            Part(percent * float(row[f"{part}_percent"]), factor * float(row[f"{part}_absolute"]))
            for part in ("random", "systematic")
        )
        found[row["name"]] = Instrument(
            row["name"], row["title"], random, systematic, row["grade"], row["source"], row["where"],
            row["description"],
        )  # fmt: skip
    return MappingProxyType(found)


def _si(name: str, unit: str) -> str:
    """SI unit of the channels that a class of instrument reads."""
    return next((item.unit for item in channels().values() if item.instrument == name), unit)


def by_class(channel: str, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Random and systematic standard uncertainty of readings by the class of their instrument.

    Parameters
    ----------
    channel : str
        Name of the channel.
    values : ndarray, shape (n,)
        Readings [SI].

    Returns
    -------
    random, systematic : ndarray, shape (n,)
        Standard uncertainties (k = 1) [SI].

    Examples
    --------
    >>> random, systematic = by_class("cell_temperature", np.array([340.0]))
    >>> print(f"{random[0]:.1f} {systematic[0]:.1f}")
    0.2 1.0
    """
    found = instruments()[channels()[channel].instrument]
    return found.random.of(values), found.systematic.of(values)
