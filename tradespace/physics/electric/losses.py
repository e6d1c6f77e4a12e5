"""Efficiency of an electric thruster: against its specific impulse, and against the power of one unit.

Two losses are kept apart. Making a kilogram of plasma costs an energy that does not depend on how fast it
leaves, so slow jets are wasteful; and small units lose a larger share than large ones.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share, within

_AVOGADRO = value("avogadro_constant", "electric_values.csv")
_LEAST = 1e-12
_MOST = 1e12
_STEEPEST = 4.0


@kernel
def thrust_efficiency_kernel(
    exhaust_velocity: float,
    reference_exhaust_velocity: float,
    reference_efficiency: float,
    loss_energy: float,
) -> float:
    """Jet power over power into the thruster at another exhaust velocity [1]."""
    efficiency = min(max(reference_efficiency, _LEAST), 1.0)
    spent = max(0.5 * reference_exhaust_velocity * reference_exhaust_velocity / efficiency, _LEAST)
    lost = min(max(loss_energy, 0.0) / spent, 1.0 - efficiency)
    slower = min(max(reference_exhaust_velocity, 0.0) / max(exhaust_velocity, _LEAST), _MOST)
    return efficiency / (1.0 - lost + lost * slower * slower)


@kernel
def unit_efficiency_kernel(
    power: float, reference_power: float, reference_efficiency: float, half_power: float, exponent: float
) -> float:
    """Jet power over power into one unit of another power, never above 1 [1]."""
    steep = min(max(exponent, 0.0), _STEEPEST)
    half = max(half_power, _LEAST)
    lost = math.pow(min(max(half / max(power, _LEAST), _LEAST), _MOST), steep)
    lost_before = math.pow(min(max(half / max(reference_power, _LEAST), _LEAST), _MOST), steep)
    return min(max(reference_efficiency, 0.0) * (1.0 + lost_before) / (1.0 + lost), 1.0)


@kernel
def throttle_slope_kernel(power: float, half_power: float, exponent: float) -> float:
    """Relative change of a unit's efficiency over that of its power [1]."""
    steep = min(max(exponent, 0.0), _STEEPEST)
    lost = math.pow(min(max(max(half_power, _LEAST) / max(power, _LEAST), _LEAST), _MOST), steep)
    return steep * lost / (1.0 + lost)


def loss_energy(particle_loss: ArrayLike, molar_mass: ArrayLike) -> FloatArray:
    r"""Energy per mass that turning a propellant into plasma takes, whatever its speed.

    .. math:: l = N_A\,\varepsilon / M

    Parameters
    ----------
    particle_loss : array_like, shape (...)
        Energy spent on each molecule fed, beyond its kinetic energy: breaking, ionising, light and walls [J].
    molar_mass : array_like, shape (...)
        Molar mass of the propellant as fed [kg mol-1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of propellant [J kg-1].

    Raises
    ------
    DomainError
        If an energy is negative or a molar mass not positive.

    References
    ----------
    .. [1] closed form: energy of a mole of particles; constant of codata_2018.

    Examples
    --------
    >>> electron_volt = 1.602176634e-19
    >>> print(f"{loss_energy(60.0 * electron_volt, 0.018015) / 1e6:.0f} MJ/kg")  # water
    321 MJ/kg
    """
    spent = at_least("particle_loss", "J", particle_loss)
    return spent * _AVOGADRO / above("molar_mass", "kg/mol", molar_mass)


def thrust_efficiency(
    exhaust_velocity: ArrayLike,
    reference_exhaust_velocity: ArrayLike,
    reference_efficiency: ArrayLike,
    loss_energy: ArrayLike,
) -> FloatArray:
    r"""Jet power over power into a thruster that runs at another exhaust velocity than where it was measured.

    .. math::
        \frac{1}{\eta} = \frac{1}{\eta_0}\left[1 - s + s\,\frac{v_0^2}{v^2}\right],\quad
        s = \frac{2\,l\,\eta_0}{v_0^2} \le 1 - \eta_0

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity asked [m s-1].
    reference_exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity where the efficiency is known [m s-1].
    reference_efficiency : array_like, shape (...)
        Efficiency there [1].
    loss_energy : array_like, shape (...)
        Energy per mass of propellant that does not depend on its speed [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Efficiency at the exhaust velocity asked [1].

    Raises
    ------
    DomainError
        If a velocity is not positive, an efficiency lies outside (0, 1], or an energy is negative.

    Notes
    -----
    Power per mass flow is a fixed loss plus a share of the jet power: the loss of an ion source plus losses
    that follow the beam (spread, slow ions, electrons to the anode). No more is booked as a fixed loss than
    what is lost at the reference point, so the efficiency stays below 1 at any speed.

    References
    ----------
    .. [1] jahn_1968, chapter 1 and goebel_katz_2008, ion production cost; closed form of an energy balance.

    Examples
    --------
    >>> print(f"{thrust_efficiency(15e3, 20e3, 0.125, 320e6):.3f}")
    0.108
    """
    return broadcast(
        thrust_efficiency_kernel,
        above("exhaust_velocity", "m/s", exhaust_velocity),
        above("reference_exhaust_velocity", "m/s", reference_exhaust_velocity),
        share("reference_efficiency", reference_efficiency),
        at_least("loss_energy", "J/kg", loss_energy),
    )


def unit_efficiency(
    power: ArrayLike,
    reference_power: ArrayLike,
    reference_efficiency: ArrayLike,
    half_power: ArrayLike,
    exponent: ArrayLike,
) -> FloatArray:
    r"""Efficiency of one unit of another power than the one that was measured.

    .. math:: \eta \propto \frac{1}{1 + (P_h / P)^a}

    Parameters
    ----------
    power : array_like, shape (...)
        Power into one unit [W].
    reference_power : array_like, shape (...)
        Power of the unit whose efficiency is known [W].
    reference_efficiency : array_like, shape (...)
        Its efficiency [1].
    half_power : array_like, shape (...)
        Power at which a unit reaches half the efficiency of a very large one [W].
    exponent : array_like, shape (...)
        How steeply the efficiency rises with power far below that; 0: not at all [1].

    Returns
    -------
    ndarray, shape (...)
        Efficiency of the unit, never above 1 [1].

    Raises
    ------
    DomainError
        If a power is not positive, an efficiency lies outside (0, 1], or an exponent outside 0 to 4.

    Notes
    -----
    An interpolation between measured units, not a theory. Applied-field magnetoplasmadynamic thrusters follow
    it from 6 kW to 10 MW with one half for the exponent and 400 kW; argon plasmas in magnetic nozzles from 2 to
    200 kW with 1.2 and 12.3 kW.

    References
    ----------
    .. [1] boxberger_2012, mantenieks_1991, takahashi_2013, longmier_2014: measured units; the form is our own.

    Examples
    --------
    >>> print(f"{unit_efficiency(25e3, 100e3, 0.20, 400e3, 0.5):.2f}")
    0.12
    """
    return broadcast(
        unit_efficiency_kernel,
        above("power", "W", power),
        above("reference_power", "W", reference_power),
        share("reference_efficiency", reference_efficiency),
        above("half_power", "W", half_power),
        within("exponent", "1", exponent, 0.0, _STEEPEST),
    )


def throttle_slope(power: ArrayLike, half_power: ArrayLike, exponent: ArrayLike) -> FloatArray:
    r"""By how many per cent a unit's efficiency falls when its power falls by one per cent.

    .. math:: \frac{\mathrm{d}\ln\eta}{\mathrm{d}\ln P} = \frac{a}{1 + (P / P_h)^a}

    Parameters
    ----------
    power : array_like, shape (...)
        Power into one unit [W].
    half_power : array_like, shape (...)
        Power at which a unit reaches half the efficiency of a very large one [W].
    exponent : array_like, shape (...)
        How steeply the efficiency rises with power far below that [1].

    Returns
    -------
    ndarray, shape (...)
        Exponent of the efficiency at part load [1].

    Raises
    ------
    DomainError
        If a power is not positive or an exponent lies outside 0 to 4.

    References
    ----------
    .. [1] closed form: slope of the efficiency of one unit.

    Examples
    --------
    >>> print(f"{throttle_slope(1600.0, 5000.0, 1.0):.2f}")
    0.76
    """
    return broadcast(
        throttle_slope_kernel,
        above("power", "W", power),
        above("half_power", "W", half_power),
        within("exponent", "1", exponent, 0.0, _STEEPEST),
    )
