"""Forces on a thrust balance that are no thrust: leads that carry a large current, hoses under pressure."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.bench.throat import throat_area_kernel
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least

_LEADS = value("lead_force_constant", "bench_physics_values.csv")


@kernel
def lead_force_kernel(current: float, length: float, separation: float) -> float:
    """Force between a lead and its return [N]."""
    return _LEADS * current * current * length / max(separation, 1e-30)


@kernel
def hose_force_kernel(pressure: float, bore: float) -> float:
    """Force of a pressure on the bore of a hose [N]."""
    return pressure * throat_area_kernel(bore)


def lead_force(current: ArrayLike, length: ArrayLike, separation: ArrayLike) -> FloatArray:
    r"""Force between a lead and its return, or between a lead on the balance and one on the stand.

    .. math:: F = \frac{\mu_0}{2\pi}\,\frac{I^2 L}{s}

    Parameters
    ----------
    current : array_like, shape (...)
        Current in both [A].
    length : array_like, shape (...)
        Length along which they run side by side [m].
    separation : array_like, shape (...)
        Distance of their axes [m].

    Returns
    -------
    ndarray, shape (...)
        Force [N].

    Raises
    ------
    DomainError
        If a current or length is negative or a separation is not above zero.

    Notes
    -----
    Long thin parallel leads. A run with current and no gas shows it; twisted leads or a liquid-metal contact remove it.

    References
    ----------
    .. [1] bipm_2019 (the ampere as it was defined by this force; the constant kept its value within 1e-9).

    Examples
    --------
    >>> print(f"{1e3 * lead_force(100.0, 0.5, 0.1):.1f} mN")
    10.0 mN
    """
    return broadcast(
        lead_force_kernel,
        at_least("current", "A", current),
        at_least("length", "m", length),
        above("separation", "m", separation),
    )


def hose_force(pressure: ArrayLike, bore: ArrayLike) -> FloatArray:
    r"""Force with which a hose under pressure may push a balance, at most.

    .. math:: F = p\,\pi d^2 / 4

    Parameters
    ----------
    pressure : array_like, shape (...)
        Pressure above that of the surroundings [Pa].
    bore : array_like, shape (...)
        Inner diameter of the hose [m].

    Returns
    -------
    ndarray, shape (...)
        Force [N].

    Raises
    ------
    DomainError
        If a pressure is negative or a bore is not above zero.

    Notes
    -----
    How much of it the balance feels depends on the bends; a run with the nozzle blocked shows it.

    References
    ----------
    .. [1] closed form: pressure times area.

    Examples
    --------
    >>> print(f"{hose_force(1e5, 4e-3):.2f}")
    1.26
    """
    return broadcast(hose_force_kernel, at_least("pressure", "Pa", pressure), above("bore", "m", bore))
