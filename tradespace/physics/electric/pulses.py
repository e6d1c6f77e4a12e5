"""Thrusters that fire in pulses from a capacitor bank, and how fast a jet wears a thruster out."""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share

_LEAST = 1e-12
_MOST = 1e12


@kernel
def fixed_impulse_efficiency_kernel(
    exhaust_velocity: float, reference_exhaust_velocity: float, reference_efficiency: float
) -> float:
    """Efficiency of a pulse of the same impulse at another exhaust velocity, never above 1 [1]."""
    faster = max(exhaust_velocity, 0.0) / max(reference_exhaust_velocity, _LEAST)
    return min(max(reference_efficiency, 0.0) * faster, 1.0)


@kernel
def impulse_bit_kernel(pulse_energy: float, exhaust_velocity: float, efficiency: float) -> float:
    """Impulse of one pulse [N s]."""
    return 2.0 * efficiency * pulse_energy / max(exhaust_velocity, _LEAST)


@kernel
def pulse_mass_kernel(pulse_energy: float, exhaust_velocity: float, efficiency: float) -> float:
    """Propellant of one pulse [kg]."""
    speed = max(exhaust_velocity, 1e-6)
    return 2.0 * efficiency * pulse_energy / (speed * speed)


@kernel
def erosion_throughput_kernel(
    exhaust_velocity: float, reference_exhaust_velocity: float, reference_throughput: float
) -> float:
    """Propellant until worn out, at another exhaust velocity [kg]."""
    slower = min(max(reference_exhaust_velocity, 0.0) / max(exhaust_velocity, _LEAST), _MOST)
    return max(reference_throughput, 0.0) * slower * slower


def fixed_impulse_efficiency(
    exhaust_velocity: ArrayLike, reference_exhaust_velocity: ArrayLike, reference_efficiency: ArrayLike
) -> FloatArray:
    r"""Efficiency of an electromagnetic pulse when less or more propellant takes up the same impulse.

    .. math:: I_b = \tfrac{1}{2} L' \int i^2\,\mathrm{d}t = \text{const}
        \;\Rightarrow\; \eta = \frac{I_b v}{2 E} = \eta_0\,\frac{v}{v_0}

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Mean exhaust velocity asked [m s-1].
    reference_exhaust_velocity : array_like, shape (...)
        Mean exhaust velocity where the efficiency is known [m s-1].
    reference_efficiency : array_like, shape (...)
        Efficiency there [1].

    Returns
    -------
    ndarray, shape (...)
        Jet energy over the energy of the capacitor, never above 1 [1].

    Raises
    ------
    DomainError
        If a velocity is not positive or an efficiency lies outside (0, 1].

    Notes
    -----
    The current in the circuit hardly feels how much propellant is there, so a pulse gives the same impulse for
    its energy at any specific impulse: power per thrust does not change, and the shot is what is metered.

    References
    ----------
    .. [1] jahn_1968, pulsed plasma acceleration; closed form of the force on a current sheet.

    Examples
    --------
    >>> print(f"{fixed_impulse_efficiency(3000.0, 4300.0, 0.13):.3f}")
    0.091
    """
    return broadcast(
        fixed_impulse_efficiency_kernel,
        above("exhaust_velocity", "m/s", exhaust_velocity),
        above("reference_exhaust_velocity", "m/s", reference_exhaust_velocity),
        share("reference_efficiency", reference_efficiency),
    )


def impulse_bit(pulse_energy: ArrayLike, exhaust_velocity: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    r"""Impulse of one pulse.

    .. math:: I_b = 2 \eta E / v

    Parameters
    ----------
    pulse_energy : array_like, shape (...)
        Energy of the capacitor bank [J].
    exhaust_velocity : array_like, shape (...)
        Mean exhaust velocity [m s-1].
    efficiency : array_like, shape (...)
        Jet energy over that energy [1].

    Returns
    -------
    ndarray, shape (...)
        Impulse [N s].

    Raises
    ------
    DomainError
        If an energy or velocity is not positive, or an efficiency lies outside (0, 1].

    References
    ----------
    .. [1] closed form: kinetic energy of a jet; jahn_1968, chapter 1.

    Examples
    --------
    >>> print(f"{1e6 * impulse_bit(20.0, 4300.0 * 9.80665, 0.13):.0f} uN s")
    123 uN s
    """
    return broadcast(impulse_bit_kernel, *_pulse(pulse_energy, exhaust_velocity, efficiency))


def pulse_mass(pulse_energy: ArrayLike, exhaust_velocity: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    r"""Propellant of one pulse.

    .. math:: m = 2 \eta E / v^2

    Parameters
    ----------
    pulse_energy : array_like, shape (...)
        Energy of the capacitor bank [J].
    exhaust_velocity : array_like, shape (...)
        Mean exhaust velocity [m s-1].
    efficiency : array_like, shape (...)
        Jet energy over that energy [1].

    Returns
    -------
    ndarray, shape (...)
        Propellant let off in one pulse [kg].

    Raises
    ------
    DomainError
        If an energy or velocity is not positive, or an efficiency lies outside (0, 1].

    References
    ----------
    .. [1] closed form: kinetic energy of a jet; jahn_1968, chapter 1.

    Examples
    --------
    >>> print(f"{1e9 * pulse_mass(20.0, 4300.0 * 9.80665, 0.13):.1f} ug")
    2.9 ug
    """
    return broadcast(pulse_mass_kernel, *_pulse(pulse_energy, exhaust_velocity, efficiency))


def erosion_throughput(
    exhaust_velocity: ArrayLike, reference_exhaust_velocity: ArrayLike, reference_throughput: ArrayLike
) -> FloatArray:
    r"""Propellant a thruster passes before its jet has worn it out, at another exhaust velocity.

    .. math:: m = m_0\,(v_0 / v)^2

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity asked [m s-1].
    reference_exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity at which the life is known [m s-1].
    reference_throughput : array_like, shape (...)
        Propellant passed in that life [kg].

    Returns
    -------
    ndarray, shape (...)
        Propellant until worn out [kg].

    Raises
    ------
    DomainError
        If a velocity is not positive or a throughput negative.

    Notes
    -----
    Each ion that strikes the wall knocks out material in proportion to its energy: true of sputtering between
    about a hundred and a thousand electronvolts, within a factor of two.

    References
    ----------
    .. [1] goebel_katz_2008, sputter erosion (from memory); closed form with a yield in proportion to energy.

    Examples
    --------
    >>> print(f"{erosion_throughput(25e3, 20e3, 36.0):.0f} kg")
    23 kg
    """
    return broadcast(
        erosion_throughput_kernel,
        above("exhaust_velocity", "m/s", exhaust_velocity),
        above("reference_exhaust_velocity", "m/s", reference_exhaust_velocity),
        at_least("reference_throughput", "kg", reference_throughput),
    )


def _pulse(energy: ArrayLike, speed: ArrayLike, efficiency: ArrayLike) -> tuple[FloatArray, ...]:
    """Checked energy, exhaust velocity and efficiency of a pulse."""
    return (
        above("pulse_energy", "J", energy),
        above("exhaust_velocity", "m/s", speed),
        share("efficiency", efficiency),
    )
