"""Liquid electrolytes: conductivity by name or code, and the effect of bubbles.

Hot caustic electrolyte burns skin and eyes; these numbers are for study only.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from tradespace.constants import value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import require_each, within
from tradespace.physics.electrolysis.lye import gilliam_2007_kernel, koh_molarity_kernel
from tradespace.tables import read_table
from tradespace.units import convert

_VALUES = "electrolysis_values.csv"
_STRONGEST = value("koh_highest_mass_fraction", _VALUES)
_COLDEST = value("electrolyte_lowest_temperature", _VALUES)
_HOTTEST = value("electrolyte_highest_temperature", _VALUES)
_WARMING = value("electrolyte_temperature_coefficient", _VALUES)
_BRUGGEMAN = value("bruggeman_exponent", _VALUES)
_NODES = 5
_LEAST = 1e-6  # numeric floor of a strength, so that its logarithm is finite


@cache
def electrolyte_rows() -> dict[str, tuple[int, float, tuple[float, ...], tuple[float, ...]]]:
    """Code, temperature [K], strengths [1] and conductivities [S/m] of each electrolyte, padded to five nodes.

    Returns
    -------
    dict
        Those numbers by name [1].

    References
    ----------
    .. [1] crc_handbook, electrical conductivity of aqueous solutions; wu_1991.

    Examples
    --------
    >>> electrolyte_rows()["potassium_hydroxide"][0]
    0
    """
    table = read_table("electrolysis_electrolytes.csv")
    found: dict[str, tuple[int, float, tuple[float, ...], tuple[float, ...]]] = {}
    for row in table.rows:
        nodes = [k for k in range(1, _NODES + 1) if row[f"strength_{k}"]]
        strength = [float(convert(float(row[f"strength_{k}"]), "%", "1")) for k in nodes]
        conductivity = [float(convert(float(row[f"conductivity_{k}"]), "mS/cm", "S/m")) for k in nodes]
        while len(strength) < _NODES:  # continue the last power law, so that every electrolyte has five nodes
            strength.append(strength[-1] * 2.0)
            slope = math.log(conductivity[-1] / conductivity[-2]) / math.log(strength[-2] / strength[-3])
            conductivity.append(conductivity[-1] * 2.0**slope)
        at = float(convert(float(row["reference_temperature"]), "degC", "K"))
        found[row["name"]] = (int(row["code"]), at, tuple(strength), tuple(conductivity))
    return found


_ROWS = sorted(electrolyte_rows().values())
_COUNT = len(_ROWS)
_REFERENCE = tuple(row[1] for row in _ROWS)
_LOG_STRENGTH = tuple(math.log(number) for row in _ROWS for number in row[2])
_LOG_CONDUCTIVITY = tuple(math.log(number) for row in _ROWS for number in row[3])


@kernel
def _tabled_kernel(code: int, strength: float, temperature: float) -> float:
    """Conductivity by the table: power laws between its strengths, a few per cent per kelvin [S m-1]."""
    first = _NODES * code
    wanted = math.log(max(strength, _LEAST))
    k = first
    while k < first + _NODES - 2 and wanted > _LOG_STRENGTH[k + 1]:
        k += 1
    slope = (_LOG_CONDUCTIVITY[k + 1] - _LOG_CONDUCTIVITY[k]) / (_LOG_STRENGTH[k + 1] - _LOG_STRENGTH[k])
    at = math.exp(_LOG_CONDUCTIVITY[k] + slope * (wanted - _LOG_STRENGTH[k]))
    t = min(max(temperature, _COLDEST), _HOTTEST)
    return at * (1.0 + _WARMING * (t - _REFERENCE[code]))


@kernel
def electrolyte_conductivity_kernel(electrolyte: float, strength: float, temperature: float) -> float:
    """Conductivity of an electrolyte by its code and mass fraction [S m-1], never below a trace of salt."""
    code = min(max(int(electrolyte + 0.5), 0), _COUNT - 1)
    share = min(max(strength, _LEAST), _STRONGEST)
    if code == 0:
        return gilliam_2007_kernel(koh_molarity_kernel(share, temperature), temperature)
    return max(_tabled_kernel(code, share, temperature), _LEAST)


@kernel
def bubble_factor_kernel(gas_void_fraction: float) -> float:
    """Conductivity of a liquid with bubbles by that without [1]."""
    return math.exp(_BRUGGEMAN * math.log(max(1.0 - min(max(gas_void_fraction, 0.0), 1.0), 1e-3)))


def electrolyte_code(electrolyte: str) -> int:
    """Number by which compiled code knows an electrolyte.

    Parameters
    ----------
    electrolyte : str
        Name of a row in ``electrolysis_electrolytes.csv``.

    Returns
    -------
    int
        Its code [1].

    Raises
    ------
    UnknownNameError
        If no electrolyte has that name.

    References
    ----------
    .. [1] crc_handbook, electrical conductivity of aqueous solutions.

    Examples
    --------
    >>> electrolyte_code("sodium_hydroxide")
    1
    """
    rows = electrolyte_rows()
    if electrolyte not in rows:
        raise unknown_name("electrolyte", electrolyte, rows)
    return rows[electrolyte][0]


def strength_range(electrolyte: str) -> FloatArray:
    """Weakest and strongest mass fraction for which a conductivity is known.

    Parameters
    ----------
    electrolyte : str
        Name of a row in ``electrolysis_electrolytes.csv``.

    Returns
    -------
    ndarray, shape (2,)
        Weakest and strongest mass fraction [1].

    Raises
    ------
    UnknownNameError
        If no electrolyte has that name.

    References
    ----------
    .. [1] crc_handbook, electrical conductivity of aqueous solutions.

    Examples
    --------
    >>> print(strength_range("sodium_carbonate"))
    [0.005 0.1  ]
    """
    electrolyte_code(electrolyte)
    row = next(r for r in read_table("electrolysis_electrolytes.csv").rows if r["name"] == electrolyte)
    known = [float(row[f"strength_{k}"]) for k in range(1, _NODES + 1) if row[f"strength_{k}"]]
    low, high = (float(convert(known[end], "%", "1")) for end in (0, -1))
    return np.array([low, _STRONGEST if row["code"] == "0" else high])


def electrolyte_conductivity(electrolyte: str, strength: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Conductivity of an aqueous electrolyte.

    Parameters
    ----------
    electrolyte : str
        Name of a row in ``electrolysis_electrolytes.csv``.
    strength : array_like, shape (...)
        Mass of the salt, base or acid per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Conductivity [S m-1].

    Raises
    ------
    UnknownNameError
        If no electrolyte has that name.
    DomainError
        If the strength lies outside the electrolyte's range or the temperature outside 273.15 to 373.15 K.

    Notes
    -----
    Potassium hydroxide by its fit; the others by power laws between the strengths of the handbook's table, with
    2 % per kelvin (common practice).

    References
    ----------
    .. [1] gilliam_2007, potassium hydroxide; crc_handbook, the others; wu_1991, potassium chloride.

    Examples
    --------
    >>> print(f"{electrolyte_conductivity('sodium_bicarbonate', 0.05, 293.15):.2f}")
    3.14
    """
    code = electrolyte_code(electrolyte)
    low, high = strength_range(electrolyte)
    weak = within("strength", "1", strength, low, high)
    return broadcast(
        electrolyte_conductivity_kernel,
        code,
        weak,
        within("temperature", "K", temperature, _COLDEST, _HOTTEST),
    )


def bubble_factor(gas_void_fraction: ArrayLike) -> FloatArray:
    r"""Conductivity of a liquid that holds bubbles, by that without.

    .. math:: \kappa / \kappa_0 = (1 - \varepsilon)^{3/2}

    Parameters
    ----------
    gas_void_fraction : array_like, shape (...)
        Share of the volume that is gas [1].

    Returns
    -------
    ndarray, shape (...)
        Factor on the conductivity [1].

    Raises
    ------
    DomainError
        If a share lies outside 0 to 1 (1 excluded).

    References
    ----------
    .. [1] bruggeman_1935, spheres of an insulator.

    Examples
    --------
    >>> print(f"{bubble_factor(0.2):.4f}")
    0.7155
    """
    share = within("gas void fraction", "1", gas_void_fraction, 0.0, 1.0)
    require_each(share < 1.0, "gas void fraction", "1", share, "must be below 1")
    return broadcast(bubble_factor_kernel, share)
