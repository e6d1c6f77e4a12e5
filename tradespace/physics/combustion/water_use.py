"""What a kilogram of water gives when its gases are not burned in the ratio in which water yields them.

Split water has a mixture ratio of 7.937. Burned richer or leaner, one gas is left over. Two books must be kept
apart. Left at the mine, the excess never flies: the rocket equation sees the specific impulse of the flame,
and the mine digs more water. Flown and then vented, the excess was accelerated with the craft: the rocket
equation itself sees the impulse per kilogram of water.

Caution: a vent of oxygen or hydrogen is a fire hazard; local codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.errors import unknown_name
from tradespace.physics.combustion_table import WHOLE
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel, require
from tradespace.physics.domain import above, at_least, floats, require_each

EXCESS = ("left_behind", "vented")
"""What becomes of the gas in excess: it stays at the mine, or it is flown and then vented."""


@kernel
def water_share_burned_kernel(mixture_ratio: float, whole: float) -> float:
    """Mass burned per mass of water split, when the gas in excess is left over."""
    if mixture_ratio <= whole:
        return (1.0 + mixture_ratio) / (1.0 + whole)
    return whole / (1.0 + whole) * (1.0 + 1.0 / mixture_ratio)


def water_share_burned(mixture_ratio: ArrayLike) -> FloatArray:
    r"""Share of split water that is burned at a mixture ratio; the gas in excess is left over.

    .. math:: f = \frac{1+r}{1+r_0}\ (r \le r_0), \qquad
              f = \frac{r_0}{1+r_0}\left(1+\frac{1}{r}\right)\ (r > r_0),
              \qquad r_0 = \frac{M_{\mathrm{O_2}}}{2 M_{\mathrm{H_2}}}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen burned [1].

    Returns
    -------
    ndarray, shape (...)
        Mass burned per mass of water split [1].

    Raises
    ------
    DomainError
        If a mixture ratio is not positive.

    References
    ----------
    .. [1] closed form: mass balance of H2O = H2 + 1/2 O2; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{water_share_burned(4.0):.3f} {water_share_burned(10.0):.3f}")
    0.559 0.977
    """
    array = np.asarray(mixture_ratio, dtype=np.float64)
    require(array > 0.0, f"mixture ratio {np.min(array, initial=np.inf):.6g}: it must be above 0")
    return broadcast(water_share_burned_kernel, array, WHOLE)


@kernel
def water_per_propellant_kernel(mixture_ratio: float, feed_humidity: float) -> float:
    """Water taken per mass burned: split for the dry gases, unsplit for their vapour."""
    share = max(water_share_burned_kernel(max(mixture_ratio, 1e-15), WHOLE), 1e-300)
    return (1.0 - feed_humidity) / share + feed_humidity


@kernel
def water_specific_impulse_kernel(
    specific_impulse: float, mixture_ratio: float, vent_specific_impulse: float, feed_humidity: float
) -> float:
    """Impulse per weight of water taken [s]."""
    water = water_per_propellant_kernel(mixture_ratio, feed_humidity)
    return (specific_impulse + (water - 1.0) * vent_specific_impulse) / max(water, 1e-300)


def _ratio_and_humidity(mixture_ratio: ArrayLike, feed_humidity: ArrayLike) -> tuple[FloatArray, FloatArray]:
    humidity = floats(feed_humidity)
    require_each(
        (humidity >= 0.0) & (humidity < 1.0), "feed humidity", "1", humidity, "must be 0 or more, below 1"
    )
    return at_least("mixture ratio", "1", mixture_ratio), humidity


def water_per_propellant(mixture_ratio: ArrayLike, feed_humidity: ArrayLike = 0.0) -> FloatArray:
    r"""Mass of water taken per mass of propellant burned; the gas in excess is left over.

    .. math:: w = \frac{1-x}{f(r)} + x

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen burned; 0 for hydrogen alone [1].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed: taken, but not split [1].

    Returns
    -------
    ndarray, shape (...)
        Water per propellant [1].

    Raises
    ------
    DomainError
        If the mixture ratio is negative, or the humidity not within 0 to 1.

    References
    ----------
    .. [1] closed form: mass balance of H2O = H2 + 1/2 O2; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{water_per_propellant(4.0):.3f}")
    1.787
    """
    ratio, humidity = _ratio_and_humidity(mixture_ratio, feed_humidity)
    return broadcast(water_per_propellant_kernel, ratio, humidity)


def water_specific_impulse(
    specific_impulse: ArrayLike,
    mixture_ratio: ArrayLike,
    vent_specific_impulse: ArrayLike = 0.0,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    r"""Impulse per weight of water taken, the gas in excess left over or vented.

    .. math:: I_w = \frac{I + (w - 1) I_v}{w}

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Impulse per weight of what is burned [s].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen burned; 0 for hydrogen alone [1].
    vent_specific_impulse : array_like, shape (...)
        Impulse per weight of the gas in excess, when it leaves through a nozzle; 0 when it gives none [s].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed: taken, but not split [1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse per weight of water [s].

    Raises
    ------
    DomainError
        If an impulse is not positive (the vent's: negative), the mixture ratio negative, or the humidity not
        within 0 to 1.

    Notes
    -----
    The mine's book in both cases. With the excess left behind, the craft's book is the specific impulse
    itself; with the excess flown and vented at the rate of burning, it is this one. Gas vented only after the
    burn costs more, as dead mass.

    References
    ----------
    .. [1] closed form: mass balance of H2O = H2 + 1/2 O2; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{water_specific_impulse(440.0, 4.0):.0f}")
    246
    """
    ratio, humidity = _ratio_and_humidity(mixture_ratio, feed_humidity)
    burned = above("specific impulse", "s", specific_impulse)
    vented = at_least("vent specific impulse", "s", vent_specific_impulse)
    return broadcast(water_specific_impulse_kernel, burned, ratio, vented, humidity)


def propellant_specific_impulse(
    specific_impulse: ArrayLike,
    mixture_ratio: ArrayLike,
    excess: str = "left_behind",
    vent_specific_impulse: ArrayLike = 0.0,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Specific impulse that the rocket equation must use, by what becomes of the gas in excess.

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Impulse per weight of what is burned [s].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen burned; 0 for hydrogen alone [1].
    excess : str
        ``"left_behind"``: never flown; ``"vented"``: flown, and vented at the rate of burning [text].
    vent_specific_impulse : array_like, shape (...)
        Impulse per weight of the vented gas; without meaning when it is left behind [s].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse per weight of what the craft loses [s].

    Raises
    ------
    DomainError
        If an impulse is not positive (the vent's: negative), the mixture ratio negative, or the humidity not
        within 0 to 1.
    UnknownNameError
        If the excess is treated in neither of the two ways.

    References
    ----------
    .. [1] closed form: mass balance of H2O = H2 + 1/2 O2; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{propellant_specific_impulse(440.0, 4.0):.0f}")
    440
    >>> print(f"{propellant_specific_impulse(440.0, 4.0, 'vented'):.0f}")
    246
    """
    if excess not in EXCESS:
        raise unknown_name("way to treat the gas in excess", excess, EXCESS)
    effective = water_specific_impulse(specific_impulse, mixture_ratio, vent_specific_impulse, feed_humidity)
    if excess == "vented":
        return effective
    return np.array(np.broadcast_to(floats(specific_impulse), effective.shape))
