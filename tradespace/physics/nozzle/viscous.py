"""Thrust a small nozzle loses to the boundary layer on its wall."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import TABLE
from tradespace.physics.nozzle.viscosity import COEFFICIENTS

_SPISZ = series("spisz_1965", COEFFICIENTS)
_COLDEST = value("coldest_throat_over_wall", TABLE)
_HOTTEST = value("hottest_throat_over_wall", TABLE)
_LARGEST_AREA = value("largest_area_ratio", TABLE)
_ROUNDS = 50
_CLOSE = 1e-14
_LEAST = 1e-12


@kernel
def viscous_loss_kernel(area_ratio: float, reynolds_number: float, throat_over_wall: float) -> float:
    """Thrust coefficient lost to the boundary layer; beyond the tested wall temperatures that of the limit."""
    warmth = min(max(throat_over_wall, _COLDEST), _HOTTEST)
    wall_reynolds = max(reynolds_number, _LEAST) * warmth ** _SPISZ[2]
    growth = math.exp(min(max(_SPISZ[1] * area_ratio, 0.0), 100.0))
    return _SPISZ[0] * growth / math.sqrt(wall_reynolds)


@kernel
def viscous_share_kernel(lost: float) -> float:
    """Thrust coefficient kept, over the ideal one, when the throat has grown to carry the thrust.

    The throat grows with the root of what is lost and the loss falls with the root of the throat, so the share
    kept is the fourth power of the root of y^4 + a y = 1, which Newton steps reach from above.
    """
    share = 1.0
    for _ in range(_ROUNDS):
        cube = share * share * share
        step = (cube * share + lost * share - 1.0) / (4.0 * cube + lost)
        share -= step
        if abs(step) <= _CLOSE * share:
            break
    return max(share * share * share * share, _LEAST)


def viscous_loss(
    area_ratio: ArrayLike, reynolds_number: ArrayLike, throat_over_wall: ArrayLike = 1.0
) -> FloatArray:
    r"""Thrust coefficient lost to the boundary layer of a small nozzle.

    .. math:: \Delta C_F = \frac{17.6\,e^{0.0032\,\varepsilon}}{\sqrt{\mathrm{Re}_w}}, \qquad
              \mathrm{Re}_w = \mathrm{Re}\left(\frac{T_t}{T_w}\right)^{5/3}

    Parameters
    ----------
    area_ratio : array_like, shape (...)
        Exit area over throat area [1].
    reynolds_number : array_like, shape (...)
        Throat Reynolds number of :func:`throat_reynolds_number` [1].
    throat_over_wall : array_like, shape (...)
        Gas temperature in the throat over wall temperature; 1 takes the number as that at the wall [1].

    Returns
    -------
    ndarray, shape (...)
        Loss of thrust coefficient, to be subtracted from the ideal one and held at 0 [1].

    Raises
    ------
    DomainError
        If an area ratio lies outside 1 to 1e6 or another argument is not positive.

    Notes
    -----
    Within 30 %. Tests had temperature ratios of 0.857 (cold gas) to 1.388 (heated); beyond them the limit is
    used, so that a cooler wall is given no credit nobody measured.

    References
    ----------
    .. [1] spisz_1965.

    Examples
    --------
    >>> print(f"{viscous_loss(50.0, 1000.0):.3f}")
    0.653
    """
    domain.within("area_ratio", "1", area_ratio, 1.0, _LARGEST_AREA)
    domain.above("reynolds_number", "1", reynolds_number)
    domain.above("throat_over_wall", "1", throat_over_wall)
    return broadcast(viscous_loss_kernel, area_ratio, reynolds_number, throat_over_wall)
