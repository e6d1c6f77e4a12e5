"""Radiation damage of cells: power left against the equivalent fluence of electrons."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least


@kernel
def radiation_factor_kernel(fluence: float, radiation_coefficient: float, radiation_scale: float) -> float:
    """Power left after a fluence of 1 MeV electrons or its equivalent [1]; zero at the least."""
    dose = max(fluence, 0.0) / max(radiation_scale, 1e-9)
    return min(max(1.0 - radiation_coefficient * math.log10(1.0 + dose), 0.0), 1.0)


def radiation_factor(
    fluence: ArrayLike, radiation_coefficient: ArrayLike, radiation_scale: ArrayLike
) -> FloatArray:
    r"""Share of the array power left after a fluence of 1 MeV electrons or its equivalent.

    .. math:: L = \max[0,\; 1 - C \log_{10}(1 + \phi / \phi_x)]

    Parameters
    ----------
    fluence : array_like, shape (...)
        Electrons per area, other particles converted to the same damage [m-2].
    radiation_coefficient : array_like, shape (...)
        Share of power lost per tenfold fluence, far above the scale [1].
    radiation_scale : array_like, shape (...)
        Fluence at which the loss sets in [m-2].

    Returns
    -------
    ndarray, shape (...)
        Share of power left [1].

    Raises
    ------
    DomainError
        If fluence or coefficient is negative, or the scale not above zero.

    Notes
    -----
    The customary form; for the default triple-junction cell both constants follow from two printed points
    (0.89 at 5e14 and 0.84 at 1e15 electrons per square centimetre), so that nothing beyond them is checked.
    The ageing rate per year stands for the same loss where the fluence is not known: use one or the other.

    References
    ----------
    .. [1] fetzer_xtj, power retained; anspaugh_1996, form of the law.

    Examples
    --------
    >>> print(f"{radiation_factor(5e18, 0.22165, 2.3416e18):.3f}")
    0.890
    """
    at_least("fluence", "1/m2", fluence)
    at_least("radiation coefficient", "1", radiation_coefficient)
    above("radiation scale", "1/m2", radiation_scale)
    return broadcast(radiation_factor_kernel, fluence, radiation_coefficient, radiation_scale)
