"""Keeping what was made: gas densities, pressure times volume per kilogram, tanks for gas and for hot steam.

Hydrogen, oxygen and hot steam under pressure can kill: oxygen needs clean, compatible hardware, and the two gases are
never kept mixed. These functions size concepts; a design defers to local pressure-vessel codes and licensed practice.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, within
from tradespace.physics.water import saturation_pressure, saturation_pressure_kernel

__all__ = [
    "gas_tank_factor",
    "hydrogen_compressibility",
    "hydrogen_density",
    "oxygen_compressibility",
    "oxygen_density",
    "saturation_pressure",
    "sphere_tank_mass",
    "steam_compressibility",
    "steam_density",
    "steam_pv",
    "stored_gas_pv",
    "stored_gas_volume",
]

_VALUES = "physics_values.csv"
_GRAVITY = value("standard_gravity")
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN_GAS = _GAS_CONSTANT / value("molar_mass_hydrogen")
_OXYGEN_GAS = _GAS_CONSTANT / value("molar_mass_oxygen")
_STEAM_GAS = _GAS_CONSTANT / value("molar_mass_water")
_CRITICAL_TEMPERATURE = value("water_critical_temperature", _VALUES)

_HYDROGEN_A = series("factors", "gas_hydrogen.csv")
_HYDROGEN_B = series("temperature_exponents", "gas_hydrogen.csv")
_HYDROGEN_C = series("pressure_exponents", "gas_hydrogen.csv")

_OXYGEN_T = series("temperature", "gas_oxygen.csv")
_OXYGEN_P = series("pressure", "gas_oxygen.csv")
_OXYGEN_Z = np.array([series(f"compressibility_{t:g}", "gas_oxygen.csv") for t in _OXYGEN_T])
_OXYGEN_T0, _OXYGEN_STEP = _OXYGEN_T[0], _OXYGEN_T[1] - _OXYGEN_T[0]
_OXYGEN_LOG0 = math.log(_OXYGEN_P[0])
_OXYGEN_LOG_STEP = (math.log(_OXYGEN_P[-1]) - _OXYGEN_LOG0) / (len(_OXYGEN_P) - 1)
_OXYGEN_ROWS, _OXYGEN_COLUMNS = len(_OXYGEN_T), len(_OXYGEN_P)

_STEAM = np.array([series(f"density_power_{k}", "gas_steam.csv") for k in range(1, 5)])
_STEAM_DENSITY = value("steam_reference_density", _VALUES)
_STEAM_TEMPERATURE = value("steam_reference_temperature", _VALUES)
_STEAM_SHIFT = value("steam_temperature_shift", _VALUES)
_STEAM_COLDEST = value("steam_lowest_temperature", _VALUES)
_STEAM_HOTTEST = value("steam_highest_temperature", _VALUES)
_STEAM_PRESSURE = value("steam_highest_pressure", _VALUES)
_STEAM_PASSES = 12


@kernel
def hydrogen_compressibility_kernel(temperature: float, pressure: float) -> float:
    """Compressibility factor of normal hydrogen [1]."""
    cold, mega = 100.0 / temperature, pressure * 1e-6
    total = 1.0
    for index in range(len(_HYDROGEN_A)):
        total += _HYDROGEN_A[index] * cold ** _HYDROGEN_B[index] * mega ** _HYDROGEN_C[index]
    return total


@kernel
def cubic_weight(place: float, node: int) -> float:
    """Weight of node 0 to 3 in the cubic through four equally spaced values [1]."""
    weight = 1.0
    for other in range(4):
        if other != node:
            weight *= (place - other) / (node - other)
    return weight


@kernel
def oxygen_compressibility_kernel(temperature: float, pressure: float) -> float:
    """Compressibility factor of oxygen, cubic between table nodes, held at the table's ends [1]."""
    row = min(max((temperature - _OXYGEN_T0) / _OXYGEN_STEP, 0.0), _OXYGEN_ROWS - 1.0)
    column = min(max((math.log(pressure) - _OXYGEN_LOG0) / _OXYGEN_LOG_STEP, 0.0), _OXYGEN_COLUMNS - 1.0)
    first = min(max(int(row) - 1, 0), _OXYGEN_ROWS - 4)
    start = min(max(int(column) - 1, 0), _OXYGEN_COLUMNS - 4)
    total = 0.0
    for i in range(4):
        along = 0.0
        for j in range(4):
            along += cubic_weight(column - start, j) * _OXYGEN_Z[first + i, start + j]
        total += cubic_weight(row - first, i) * along
    return total


@kernel
def steam_density_kernel(temperature: float, pressure: float) -> float:
    """Density of superheated steam [kg m-3]; past saturation that of saturated steam."""
    target = pressure
    if temperature < _CRITICAL_TEMPERATURE:
        target = min(target, saturation_pressure_kernel(temperature))
    y = _STEAM_TEMPERATURE / temperature - _STEAM_SHIFT
    unit = _STEAM_DENSITY * _STEAM_GAS * temperature
    wanted = target / unit
    x = wanted
    for _ in range(_STEAM_PASSES):
        total, slope, power = 1.0, 1.0, 1.0
        for k in range(4):
            factor = 0.0
            for j in range(4, -1, -1):
                factor = factor * y + _STEAM[k, j]
            power *= x
            total += factor * power
            slope += (k + 2.0) * factor * power
        x -= (x * total - wanted) / max(slope, 0.05)
    return x * _STEAM_DENSITY


@kernel
def steam_pv_kernel(temperature: float, pressure: float) -> float:
    """Pressure times volume of a kilogram of superheated steam [J kg-1]; past saturation at saturation."""
    target = pressure
    if temperature < _CRITICAL_TEMPERATURE:
        target = min(target, saturation_pressure_kernel(temperature))
    return target / steam_density_kernel(temperature, target)


@kernel
def stored_gas_pv_kernel(temperature: float, pressure: float, mixture_ratio: float) -> float:
    """Pressure times volume of a kilogram of hydrogen and oxygen in separate tanks [J kg-1]."""
    hydrogen = hydrogen_compressibility_kernel(temperature, pressure) * _HYDROGEN_GAS
    oxygen = oxygen_compressibility_kernel(temperature, pressure) * _OXYGEN_GAS
    return temperature * (hydrogen + mixture_ratio * oxygen) / (1.0 + mixture_ratio)


@kernel
def stored_gas_volume_kernel(temperature: float, pressure: float, mixture_ratio: float) -> float:
    """Volume of a kilogram of hydrogen and oxygen in separate tanks [m3 kg-1]."""
    return stored_gas_pv_kernel(temperature, pressure, mixture_ratio) / pressure


@kernel
def gas_tank_factor_kernel(pv: float, tank_performance: float, safety_factor: float) -> float:
    """Tank mass per mass of gas [1]."""
    return safety_factor * pv / (tank_performance * _GRAVITY)


@kernel
def sphere_tank_mass_kernel(pv: float, density: float, strength: float, safety_factor: float) -> float:
    """Mass of a thin-walled sphere [kg]."""
    return 1.5 * density * safety_factor / strength * pv


def _hydrogen_range(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    low, high = (value(f"hydrogen_{end}_temperature", _VALUES) for end in ("lowest", "highest"))
    warm = within("hydrogen temperature", "K", temperature, low, high)
    return warm, within("hydrogen pressure", "Pa", pressure, 0.0, value("hydrogen_highest_pressure", _VALUES))


def _oxygen_range(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    warm = within("oxygen temperature", "K", temperature, _OXYGEN_T[0], _OXYGEN_T[-1])
    return warm, within("oxygen pressure", "Pa", pressure, _OXYGEN_P[0], _OXYGEN_P[-1])


def _steam_range(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    warm = within("steam temperature", "K", temperature, _STEAM_COLDEST, _STEAM_HOTTEST)
    above("steam pressure", "Pa", pressure)
    total = within("steam pressure", "Pa", pressure, 0.0, _STEAM_PRESSURE)
    limit = broadcast(saturation_pressure_kernel, warm)
    dry = (total <= limit) | (warm >= _CRITICAL_TEMPERATURE)
    require_each(
        dry, "steam pressure", "Pa", total, "is above saturation: steam would condense; heat it or lower it"
    )
    return warm, total


def hydrogen_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Compressibility factor of normal hydrogen.

    .. math:: Z = 1 + \sum a_i (100\,\mathrm{K}/T)^{b_i} (p/\mathrm{MPa})^{c_i}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K or pressure outside 0 to 200 MPa.

    References
    ----------
    .. [1] lemmon_2008, eq. 1 and table 1.

    Examples
    --------
    >>> print(f"{hydrogen_compressibility(300.0, 10e6):.8f}")
    1.05985282
    """
    return broadcast(hydrogen_compressibility_kernel, *_hydrogen_range(temperature, pressure))


def hydrogen_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of normal hydrogen gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K or pressure outside 0 to 200 MPa.

    References
    ----------
    .. [1] lemmon_2008, eq. 1 and table 1.

    Examples
    --------
    >>> print(f"{hydrogen_density(300.0, 10e6):.3f}")
    7.625
    """
    factor = hydrogen_compressibility(temperature, pressure)
    return np.asarray(floats(pressure) / (factor * _HYDROGEN_GAS * floats(temperature)), dtype=np.float64)


def oxygen_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Compressibility factor of oxygen, by cubic interpolation in a table.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K or pressure outside 0.1 to 100 MPa.

    Notes
    -----
    Within 0.1 % of the reference equation of state, which is itself an extrapolation above about 80 MPa.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_compressibility(300.0, 10e6):.4f}")
    0.9533
    """
    return broadcast(oxygen_compressibility_kernel, *_oxygen_range(temperature, pressure))


def oxygen_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of oxygen gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K or pressure outside 0.1 to 100 MPa.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_density(300.0, 10e6):.1f}")
    134.6
    """
    factor = oxygen_compressibility(temperature, pressure)
    return np.asarray(floats(pressure) / (factor * _OXYGEN_GAS * floats(temperature)), dtype=np.float64)


def stored_gas_pv(temperature: ArrayLike, pressure: ArrayLike, mixture_ratio: ArrayLike) -> FloatArray:
    r"""Pressure times volume of a kilogram of hydrogen and oxygen kept in separate tanks at one pressure.

    .. math:: pV = T (Z_H R_H + r Z_O R_O) / (1 + r)

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure times volume per mass of both gases [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K, pressure outside 0.1 to 100 MPa, or the ratio is negative.

    Notes
    -----
    For an ideal gas this does not depend on pressure, so neither does tank mass; real gases add a few percent.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{stored_gas_pv(293.15, 1e5, 7.937) / 1000:.0f}")  # kJ per kg
    203
    """
    warm, total = _oxygen_range(temperature, pressure)
    return broadcast(stored_gas_pv_kernel, warm, total, at_least("mixture ratio", "1", mixture_ratio))


def stored_gas_volume(temperature: ArrayLike, pressure: ArrayLike, mixture_ratio: ArrayLike) -> FloatArray:
    """Volume of a kilogram of hydrogen and oxygen kept in separate tanks at one pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Volume per mass of both gases [m3 kg-1].

    Raises
    ------
    DomainError
        As for :func:`stored_gas_pv`.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{stored_gas_volume(300.0, 5e6, 7.937):.4f}")
    0.0420
    """
    return np.asarray(
        stored_gas_pv(temperature, pressure, mixture_ratio) / floats(pressure), dtype=np.float64
    )


def gas_tank_factor(pv: ArrayLike, tank_performance: ArrayLike, safety_factor: ArrayLike) -> FloatArray:
    r"""Tank mass per mass of stored gas.

    .. math:: k = n\, pV / (h\, g_0)

    Parameters
    ----------
    pv : array_like, shape (...)
        Pressure times volume per mass of gas [J kg-1].
    tank_performance : array_like, shape (...)
        Burst pressure times volume over tank weight [m].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Tank mass per gas mass [1].

    Raises
    ------
    DomainError
        If pv is negative, performance not above zero, or the factor below one.

    References
    ----------
    .. [1] tam_1996, performance factor of flown tanks; aiaa_s080, burst factor.

    Examples
    --------
    >>> print(f"{gas_tank_factor(203e3, 25e3, 2.0):.2f}")
    1.66
    """
    energy, height = at_least("pv", "J/kg", pv), above("tank performance", "m", tank_performance)
    return broadcast(
        gas_tank_factor_kernel, energy, height, at_least("safety factor", "1", safety_factor, 1.0)
    )


def sphere_tank_mass(
    pv: ArrayLike, density: ArrayLike, strength: ArrayLike, safety_factor: ArrayLike
) -> FloatArray:
    r"""Mass of a thin-walled spherical tank without bosses, seams or least gauge.

    .. math:: m = \tfrac{3}{2} \rho\, n\, pV / \sigma

    Parameters
    ----------
    pv : array_like, shape (...)
        Working pressure times volume [J].
    density : array_like, shape (...)
        Density of the wall [kg m-3].
    strength : array_like, shape (...)
        Ultimate strength of the wall [Pa].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Mass of the shell [kg].

    Raises
    ------
    DomainError
        If pv is negative, density or strength not above zero, or the factor below one.

    Notes
    -----
    Real tanks weigh 20 to 50 % more.

    References
    ----------
    .. [1] aiaa_s080, burst factor; closed form of a thin shell.

    Examples
    --------
    >>> print(f"{sphere_tank_mass(90.3e3, 4430.0, 900e6, 1.5):.3f}")
    1.000
    """
    energy, heavy = at_least("pv", "J", pv), above("density", "kg/m3", density)
    strong, factor = above("strength", "Pa", strength), at_least("safety factor", "1", safety_factor, 1.0)
    return broadcast(sphere_tank_mass_kernel, energy, heavy, strong, factor)


def steam_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 373.15 to 1100 K, pressure outside 0 to 20 MPa, or the steam would condense.

    Notes
    -----
    A density series fitted to the reference equation of state, within 0.1 %.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_density(620.0, 3e6):.2f}")
    11.11
    """
    return broadcast(steam_density_kernel, *_steam_range(temperature, pressure))


def steam_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Compressibility factor of superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        As for :func:`steam_density`.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_compressibility(620.0, 3e6):.3f}")
    0.943
    """
    return np.asarray(steam_pv(temperature, pressure) / (_STEAM_GAS * floats(temperature)), dtype=np.float64)


def steam_pv(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Pressure times volume of a kilogram of stored superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Pressure times volume per mass [J kg-1].

    Raises
    ------
    DomainError
        As for :func:`steam_density`.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_pv(620.0, 3e6) / 1000:.0f}")  # kJ per kg
    270
    """
    return broadcast(steam_pv_kernel, *_steam_range(temperature, pressure))
