"""Discharge coefficient of a throat: two published correlations for small nozzles, one standard for venturis."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import TABLE, held_gamma_kernel
from tradespace.physics.nozzle.viscosity import COEFFICIENTS

_KULUVA = series("kuluva_hosack_1971", COEFFICIENTS)
_ISO = series("iso_9300", COEFFICIENTS)
_LOWEST = value("lowest_reynolds_number", TABLE)
_LEAST_GAMMA = value("least_heat_capacity_ratio", TABLE)
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", TABLE)
_LEAST = 1e-12


@kernel
def kuluva_hosack_1971_kernel(reynolds_number: float, gamma: float, curvature_ratio: float) -> float:
    """Discharge coefficient of Kuluva and Hosack, not below 0."""
    bend = max(curvature_ratio, 0.0)
    shape = ((bend + _KULUVA[0]) / (bend + _KULUVA[1])) ** _KULUVA[2]
    layer = (bend + _KULUVA[3]) ** _KULUVA[4] * (_KULUVA[5] + _KULUVA[6] * held_gamma_kernel(gamma))
    return float(max(shape * (1.0 - layer / math.sqrt(max(reynolds_number, _LEAST))), 0.0))


@kernel
def tang_fenn_1978_kernel(reynolds_number: float, gamma: float, curvature_ratio: float) -> float:
    """Discharge coefficient of Tang and Fenn, held at its minimum below the Reynolds number of that."""
    held = held_gamma_kernel(gamma)
    root = math.sqrt(6)
    first = (0.5 * (held + 1.0)) ** (3.0 / 4.0) * (
        4.0 * root / 3.0 + 8 / 3.0 * (9 - 4.0 * root) / (held + 1.0)
    )
    second = 2.0 * math.sqrt(2.0) / 3.0 * (held - 1.0) * (held + 2.0) / math.sqrt(held + 1.0)
    modified = math.sqrt(max(reynolds_number, _LEAST) / math.sqrt(max(curvature_ratio, _LEAST)))
    inverse = min(1.0 / modified, 0.5 * first / second)
    return float(max(1.0 - first * inverse + second * inverse * inverse, 0.0))


@kernel
def discharge_mean_kernel(reynolds_number: float, gamma: float, curvature_ratio: float) -> float:
    """Mean of the two correlations."""
    one = kuluva_hosack_1971_kernel(reynolds_number, gamma, curvature_ratio)
    two = tang_fenn_1978_kernel(reynolds_number, gamma, curvature_ratio)
    return 0.5 * (one + two)


@kernel
def discharge_high_kernel(reynolds_number: float, gamma: float, curvature_ratio: float) -> float:
    """Higher of the two correlations."""
    one = kuluva_hosack_1971_kernel(reynolds_number, gamma, curvature_ratio)
    two = tang_fenn_1978_kernel(reynolds_number, gamma, curvature_ratio)
    return max(one, two)


@kernel
def discharge_low_kernel(reynolds_number: float, gamma: float, curvature_ratio: float) -> float:
    """Lower of the two correlations, were their Reynolds number one on the radius."""
    one = kuluva_hosack_1971_kernel(0.5 * reynolds_number, gamma, curvature_ratio)
    two = tang_fenn_1978_kernel(0.5 * reynolds_number, gamma, curvature_ratio)
    return min(one, two)


@kernel
def discharge_coefficient_kernel(
    reynolds_number: float, gamma: float, curvature_ratio: float
) -> tuple[float, float, float]:
    """Mean of the two correlations, and the range they span with the Reynolds number on radius or diameter."""
    return (
        discharge_mean_kernel(reynolds_number, gamma, curvature_ratio),
        discharge_low_kernel(reynolds_number, gamma, curvature_ratio),
        discharge_high_kernel(reynolds_number, gamma, curvature_ratio),
    )


@kernel
def critical_flow_venturi_kernel(reynolds_number: float) -> float:
    """Discharge coefficient of a machined toroidal venturi, not below 0."""
    return float(max(_ISO[0] - _ISO[1] * max(reynolds_number, _LEAST) ** -_ISO[2], 0.0))


def _check(reynolds_number: ArrayLike, gamma: ArrayLike, curvature_ratio: ArrayLike) -> None:
    domain.at_least("reynolds_number", "1", reynolds_number, _LOWEST)
    domain.within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")
    domain.above("curvature_ratio", "1", curvature_ratio)


def kuluva_hosack_1971(
    reynolds_number: ArrayLike, gamma: ArrayLike, curvature_ratio: ArrayLike
) -> FloatArray:
    r"""Discharge coefficient of a small throat after Kuluva and Hosack.

    .. math:: C_d = \left[\frac{r_c+0.05\,r_t}{r_c+0.75\,r_t}\right]^{0.019}
              \left\{1 - \left[\frac{r_c+0.10\,r_t}{r_t}\right]^{0.21}
              \frac{0.97+0.86\gamma}{\sqrt{\mathrm{Re}}}\right\}

    Parameters
    ----------
    reynolds_number : array_like, shape (...)
        Throat Reynolds number of :func:`throat_reynolds_number` [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    curvature_ratio : array_like, shape (...)
        Radius of curvature of the wall over the throat radius [1].

    Returns
    -------
    ndarray, shape (...)
        Discharge coefficient [1].

    Raises
    ------
    DomainError
        If a Reynolds number is below 50, a heat capacity ratio lies outside 1.01 to 2 or a curvature is not
        positive.

    References
    ----------
    .. [1] kuluva_hosack_1971.

    Examples
    --------
    >>> print(f"{kuluva_hosack_1971(1000.0, 1.4, 2.0):.4f}")
    0.9145
    """
    _check(reynolds_number, gamma, curvature_ratio)
    return broadcast(kuluva_hosack_1971_kernel, reynolds_number, gamma, curvature_ratio)


def tang_fenn_1978(reynolds_number: ArrayLike, gamma: ArrayLike, curvature_ratio: ArrayLike) -> FloatArray:
    r"""Discharge coefficient of a small throat after Tang and Fenn.

    .. math:: C_d = 1 - \left(\frac{\gamma+1}{2}\right)^{3/4}
              \left[\frac{4\sqrt6}{3}+\frac{8}{3}\,\frac{9-4\sqrt6}{\gamma+1}\right]\mathrm{Re}^{*-1/2}
              + \frac{2\sqrt2}{3}\,\frac{(\gamma-1)(\gamma+2)}{\sqrt{\gamma+1}}\,\mathrm{Re}^{*-1},
              \quad \mathrm{Re}^* = \mathrm{Re}\sqrt{r_t/r_c}

    Parameters
    ----------
    reynolds_number : array_like, shape (...)
        Throat Reynolds number of :func:`throat_reynolds_number` [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    curvature_ratio : array_like, shape (...)
        Radius of curvature of the wall over the throat radius [1].

    Returns
    -------
    ndarray, shape (...)
        Discharge coefficient [1].

    Raises
    ------
    DomainError
        If a Reynolds number is below 50, a heat capacity ratio lies outside 1.01 to 2 or a curvature is not
        positive.

    References
    ----------
    .. [1] tang_fenn_1978.

    Examples
    --------
    >>> print(f"{tang_fenn_1978(1000.0, 1.4, 2.0):.4f}")
    0.8986
    """
    _check(reynolds_number, gamma, curvature_ratio)
    return broadcast(tang_fenn_1978_kernel, reynolds_number, gamma, curvature_ratio)


def discharge_coefficient(
    reynolds_number: ArrayLike, gamma: ArrayLike, curvature_ratio: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Discharge coefficient of a small throat with its range: mean of two correlations, lowest and highest.

    Parameters
    ----------
    reynolds_number : array_like, shape (...)
        Throat Reynolds number of :func:`throat_reynolds_number` [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    curvature_ratio : array_like, shape (...)
        Radius of curvature of the wall over the throat radius [1].

    Returns
    -------
    central : ndarray, shape (...)
        Mean of the two correlations [1].
    low : ndarray, shape (...)
        The lower of the two if they were meant for a Reynolds number on the radius [1].
    high : ndarray, shape (...)
        The higher of the two [1].

    Raises
    ------
    DomainError
        If a Reynolds number is below 50, a heat capacity ratio lies outside 1.01 to 2 or a curvature is not
        positive.

    Notes
    -----
    The papers themselves were not read, and copies differ in which length the Reynolds number is built on;
    the range covers both. It shrinks as one over the root of the Reynolds number.

    References
    ----------
    .. [1] kuluva_hosack_1971, tang_fenn_1978.

    Examples
    --------
    >>> central, low, high = discharge_coefficient(1000.0, 1.4, 2.0)
    >>> print(f"{central:.3f} {low:.3f} {high:.3f}")
    0.907 0.857 0.915
    """
    _check(reynolds_number, gamma, curvature_ratio)
    central, low, high = (
        broadcast(part, reynolds_number, gamma, curvature_ratio)
        for part in (discharge_mean_kernel, discharge_low_kernel, discharge_high_kernel)
    )
    return central, low, high


def critical_flow_venturi(reynolds_number: ArrayLike) -> FloatArray:
    r"""Discharge coefficient of a machined toroidal critical-flow venturi.

    .. math:: C_d = 0.9959 - 2.720\,\mathrm{Re}^{-1/2}

    Parameters
    ----------
    reynolds_number : array_like, shape (...)
        Reynolds number on throat diameter, mass flow and viscosity upstream [1].

    Returns
    -------
    ndarray, shape (...)
        Discharge coefficient [1].

    Raises
    ------
    DomainError
        If a Reynolds number is below 50.

    Notes
    -----
    Meant for metering gas; the standard holds it from about 2e4 up, below that it is an extrapolation.

    References
    ----------
    .. [1] iso_9300 (2005 edition, from memory).

    Examples
    --------
    >>> print(f"{critical_flow_venturi(1e5):.4f}")
    0.9873
    """
    domain.at_least("reynolds_number", "1", reynolds_number, _LOWEST)
    return broadcast(critical_flow_venturi_kernel, reynolds_number)
