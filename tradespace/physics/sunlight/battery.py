"""Life of the battery: cycles against depth of discharge, capacity left, energy to carry when worn."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each, share, within

_VALUES = "power_values.csv"
_END_OF_LIFE = value("battery_end_of_life_capacity", _VALUES)
_SHALLOWEST = value("battery_shallowest_depth", _VALUES)
_YEAR = value("julian_year", "physics_values.csv")
_TINY = 1e-9
_LEAST_EXPONENT, _MOST_EXPONENT = 0.1, 8  # numeric: keep the power law and its inverse finite


@kernel
def cycle_life_kernel(depth_of_discharge: float, full_depth_cycles: float, cycle_exponent: float) -> float:
    """Cycles until the capacity has fallen to its end-of-life share [1]."""
    depth = min(max(depth_of_discharge, _SHALLOWEST), 1.0)
    life: float = full_depth_cycles * depth ** (-min(max(cycle_exponent, _LEAST_EXPONENT), _MOST_EXPONENT))
    return life


@kernel
def allowed_depth_of_discharge_kernel(
    cycles: float, full_depth_cycles: float, cycle_exponent: float
) -> float:
    """Deepest discharge that lasts a number of cycles [1]: whole for few, never below a floor."""
    if cycles <= full_depth_cycles:
        return 1.0
    exponent = min(max(cycle_exponent, _LEAST_EXPONENT), _MOST_EXPONENT)
    depth: float = (max(full_depth_cycles, _TINY) / max(cycles, _TINY)) ** (1.0 / exponent)
    return max(depth, _SHALLOWEST)


@kernel
def capacity_left_kernel(
    cycles: float,
    depth_of_discharge: float,
    full_depth_cycles: float,
    cycle_exponent: float,
    fade_rate: float,
    age: float,
) -> float:
    """Share of the rated energy left after cycles and years [1]; zero at the least."""
    life = max(cycle_life_kernel(depth_of_discharge, full_depth_cycles, cycle_exponent), _TINY)
    worn = max(1.0 - (1.0 - _END_OF_LIFE) * max(cycles, 0.0) / life, 0.0)
    old: float = min(max(1.0 - fade_rate, 0.0), 1.0) ** (max(age, 0.0) / _YEAR)
    return worn * old


@kernel
def lasting_share_kernel(
    efficiency: float,
    deepest_discharge: float,
    cycles: float,
    full_depth_cycles: float,
    cycle_exponent: float,
    fade_rate: float,
    age: float,
) -> float:
    """Energy that a battery still gives in a night after all cycles and years, over its rated energy [1].

    The depth holds at the end, when the least capacity is left; the new battery is discharged less, so that wear
    counted at that depth is on the safe side.
    """
    depth = min(
        max(deepest_discharge, _SHALLOWEST),
        allowed_depth_of_discharge_kernel(cycles, full_depth_cycles, cycle_exponent),
    )
    left = capacity_left_kernel(cycles, depth, full_depth_cycles, cycle_exponent, fade_rate, age)
    return depth * max(efficiency, _TINY) * max(left, _TINY)


@kernel
def lasting_battery_energy_kernel(
    load: float,
    night: float,
    efficiency: float,
    deepest_discharge: float,
    cycles: float,
    full_depth_cycles: float,
    cycle_exponent: float,
    fade_rate: float,
    age: float,
) -> float:
    """Rated energy that still carries the night load after all cycles and years [J]."""
    return (
        load
        * night
        / lasting_share_kernel(
            efficiency, deepest_discharge, cycles, full_depth_cycles, cycle_exponent, fade_rate, age
        )
    )


def _exponent(cycle_exponent: ArrayLike) -> FloatArray:
    return within("cycle exponent", "1", cycle_exponent, _LEAST_EXPONENT, _MOST_EXPONENT)


def cycle_life(
    depth_of_discharge: ArrayLike, full_depth_cycles: ArrayLike, cycle_exponent: ArrayLike
) -> FloatArray:
    r"""Cycles a battery lasts at a depth of discharge, until 80 % of its capacity is left.

    .. math:: N = N_1 D^{-k}

    Parameters
    ----------
    depth_of_discharge : array_like, shape (...)
        Share of the energy used each cycle [1].
    full_depth_cycles : array_like, shape (...)
        Cycles it lasts at full depth [1].
    cycle_exponent : array_like, shape (...)
        Exponent of the law [1].

    Returns
    -------
    ndarray, shape (...)
        Number of cycles [1].

    Raises
    ------
    DomainError
        If the depth lies outside (0, 1], the cycles are not above zero, or the exponent lies outside 0.1 to 8.

    Notes
    -----
    The power law is the common description of wear by cycling. Depths below 2 % are taken as 2 %, because no
    battery lasts for ever; wear by age alone is in :func:`capacity_left`.

    References
    ----------
    .. [1] common practice, no source: power law of cycle life.

    Examples
    --------
    >>> print(f"{cycle_life(0.25, 1500.0, 2.0):.0f}")
    24000
    """
    share("depth of discharge", depth_of_discharge)
    above("full depth cycles", "1", full_depth_cycles)
    _exponent(cycle_exponent)
    return broadcast(cycle_life_kernel, depth_of_discharge, full_depth_cycles, cycle_exponent)


def allowed_depth_of_discharge(
    cycles: ArrayLike, full_depth_cycles: ArrayLike, cycle_exponent: ArrayLike
) -> FloatArray:
    r"""Deepest discharge with which a battery lasts a number of cycles.

    .. math:: D = \min[1, (N_1 / N)^{1/k}]

    Parameters
    ----------
    cycles : array_like, shape (...)
        Cycles, one per night, that the mission asks of it [1].
    full_depth_cycles : array_like, shape (...)
        Cycles it lasts at full depth [1].
    cycle_exponent : array_like, shape (...)
        Exponent of the law of :func:`cycle_life` [1].

    Returns
    -------
    ndarray, shape (...)
        Share of the energy that may be used each cycle, 2 % at the least [1].

    Raises
    ------
    DomainError
        If cycles are negative, those at full depth not above zero, or the exponent lies outside 0.1 to 8.

    References
    ----------
    .. [1] common practice, no source: power law of cycle life.

    Examples
    --------
    >>> print(f"{allowed_depth_of_discharge(24000, 1500.0, 2.0):.2f}")
    0.25
    """
    at_least("cycles", "1", cycles)
    above("full depth cycles", "1", full_depth_cycles)
    _exponent(cycle_exponent)
    return broadcast(allowed_depth_of_discharge_kernel, cycles, full_depth_cycles, cycle_exponent)


def capacity_left(
    cycles: ArrayLike,
    depth_of_discharge: ArrayLike,
    full_depth_cycles: ArrayLike,
    cycle_exponent: ArrayLike,
    fade_rate: ArrayLike,
    age: ArrayLike,
) -> FloatArray:
    r"""Share of its rated energy a battery has left after cycles and years.

    .. math:: C = [1 - (1 - 0.8)\,n / N(D)]\,(1 - c)^{t}

    Parameters
    ----------
    cycles : array_like, shape (...)
        Cycles behind it [1].
    depth_of_discharge : array_like, shape (...)
        Share of the energy used in each [1].
    full_depth_cycles : array_like, shape (...)
        Cycles it lasts at full depth [1].
    cycle_exponent : array_like, shape (...)
        Exponent of the law of :func:`cycle_life` [1].
    fade_rate : array_like, shape (...)
        Relative loss per Julian year, used or not [1/yr].
    age : array_like, shape (...)
        Time since it was new [s].

    Returns
    -------
    ndarray, shape (...)
        Share of the rated energy, zero at the least [1].

    Raises
    ------
    DomainError
        If cycles or age are negative, the fade lies outside [0, 1), or as for :func:`cycle_life`.

    References
    ----------
    .. [1] common practice, no source: end of life at 80 % of the capacity, wear in proportion to cycles.

    Examples
    --------
    >>> print(f"{capacity_left(1500, 1.0, 1500.0, 2.0, 0.0, 0.0):.2f}")
    0.80
    """
    at_least("cycles", "1", cycles)
    share("depth of discharge", depth_of_discharge)
    above("full depth cycles", "1", full_depth_cycles)
    _exponent(cycle_exponent)
    rate = at_least("fade rate", "1/yr", fade_rate)
    require_each(rate < 1, "fade rate", "1/yr", rate, "must be below 1 per year")
    at_least("age", "s", age)
    return broadcast(
        capacity_left_kernel, cycles, depth_of_discharge, full_depth_cycles, cycle_exponent, rate, age
    )


def lasting_battery_energy(
    load: ArrayLike,
    night: ArrayLike,
    efficiency: ArrayLike,
    deepest_discharge: ArrayLike,
    cycles: ArrayLike,
    full_depth_cycles: ArrayLike,
    cycle_exponent: ArrayLike,
    fade_rate: ArrayLike,
    age: ArrayLike,
) -> FloatArray:
    r"""Rated energy of a battery that still carries the night load after all its cycles and years.

    .. math:: E = \frac{P t}{D\,\eta\,C(n, D, t)}, \quad D = \min(D_\mathrm{max}, D(n))

    Parameters
    ----------
    load : array_like, shape (...)
        Load in the dark [W].
    night : array_like, shape (...)
        Length of the dark [s].
    efficiency : array_like, shape (...)
        Efficiency between battery and load [1].
    deepest_discharge : array_like, shape (...)
        Depth of discharge not to be exceeded whatever the cycles [1].
    cycles : array_like, shape (...)
        Nights the battery must carry [1].
    full_depth_cycles : array_like, shape (...)
        Cycles it lasts at full depth [1].
    cycle_exponent : array_like, shape (...)
        Exponent of the law of :func:`cycle_life` [1].
    fade_rate : array_like, shape (...)
        Relative loss per Julian year, used or not [1/yr].
    age : array_like, shape (...)
        Age at the last night [s].

    Returns
    -------
    ndarray, shape (...)
        Rated energy when new [J].

    Raises
    ------
    DomainError
        If load, night, cycles or age is negative, or another argument lies outside its range.

    Notes
    -----
    Lithium-ion packs can burn when overcharged, over-discharged or hurt; cell choice, protection and handling
    follow the rules of the place and licensed practice.

    References
    ----------
    .. [1] smad_1999, eq. 11-11, with the wear of :func:`capacity_left`.

    Examples
    --------
    >>> print(f"{lasting_battery_energy(100.0, 14400.0, 0.9, 0.6, 0, 1500.0, 2.0, 0.0, 0.0) / 3600:.1f}")  # Wh
    740.7
    >>> print(f"{lasting_battery_energy(100.0, 14400.0, 0.9, 0.6, 6000, 1500.0, 2.0, 0.01, 2e8) / 3600:.1f}")
    1184.2
    """
    at_least("load", "W", load)
    at_least("night", "s", night)
    share("efficiency", efficiency)
    share("deepest discharge", deepest_discharge)
    at_least("cycles", "1", cycles)
    above("full depth cycles", "1", full_depth_cycles)
    _exponent(cycle_exponent)
    rate = at_least("fade rate", "1/yr", fade_rate)
    require_each(rate < 1, "fade rate", "1/yr", rate, "must be below 1 per year")
    at_least("age", "s", age)
    return broadcast(
        lasting_battery_energy_kernel,
        load, night, efficiency, deepest_discharge, cycles, full_depth_cycles, cycle_exponent, rate, age,
    )  # fmt: skip
