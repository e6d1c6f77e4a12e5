"""Heat lost to the wall of a chamber, as a share of the heat of burning, and what that costs.

The exchange is that of a boundary layer from the head of the chamber to the throat: turbulent as in Bartz's
simplified equation, laminar as on a flat plate, whichever is larger. It grows as the engine shrinks.
"""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import TABLE, held_gamma_kernel, mass_flow_function_kernel
from tradespace.physics.nozzle.viscosity import COEFFICIENTS, burned_gas_viscosity_kernel

_BARTZ = series("bartz_1957", COEFFICIENTS)
_LAMINAR = series("pohlhausen_1921", COEFFICIENTS)
_IMPULSE = series("specific_impulse_heat_loss", COEFFICIENTS)
_VELOCITY = series("characteristic_velocity_heat_loss", COEFFICIENTS)
_PRANDTL = value("prandtl_number", TABLE)
_MOST = value("largest_heat_loss", TABLE)
_CONVERGENCE = value("convergence_half_angle", TABLE)
_LEAST_GAMMA = value("least_heat_capacity_ratio", TABLE)
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", TABLE)
_WHOLE = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
_LOWER_HEATING_VALUE = value("lower_heating_value_water", TABLE)
_LEAST = 1e-12
WALL_TEMPERATURE = value("wall_temperature", TABLE)
CONTRACTION_RATIO = value("contraction_ratio", TABLE)
CHAMBER_LENGTH_RATIO = value("chamber_length_ratio", TABLE)
WALL_HEAT_SCALE = value("wall_heat_scale", TABLE)


@kernel
def wetted_area_kernel(exponent: float, contraction_ratio: float, chamber_length_ratio: float) -> float:
    """Wall area over throat area from head to throat, each part weighted with the exchange there.

    The coefficient goes with mass flux to the power 1 - n and diameter to the power -n, which is area to the
    power n/2 - 1; over a cylinder and a cone the weighted area is closed.
    """
    half = 0.5 * exponent
    contraction = max(contraction_ratio, 1.0)
    widened = contraction**half
    cylinder = 4.0 * max(chamber_length_ratio, 0.0) * widened
    return float(cylinder + (widened - 1.0) / (half * math.sin(_CONVERGENCE)))


@kernel
def wall_exchange_kernel(
    reynolds_number: float, contraction_ratio: float, chamber_length_ratio: float
) -> float:
    """Stanton number times weighted area: transfer units between gas and wall."""
    reynolds = max(reynolds_number, 1.0)
    turbulent = (
        _BARTZ[0]
        * reynolds ** -_BARTZ[1]
        * _PRANDTL ** -_BARTZ[2]
        * wetted_area_kernel(_BARTZ[1], contraction_ratio, chamber_length_ratio)
    )
    laminar = (
        _LAMINAR[0]
        / math.sqrt(max(chamber_length_ratio, _LEAST))
        * reynolds ** -_LAMINAR[1]
        * _PRANDTL ** -_LAMINAR[2]
        * wetted_area_kernel(_LAMINAR[1], contraction_ratio, chamber_length_ratio)
    )
    return float(max(turbulent, laminar))


@kernel
def wall_heat_kernel(
    reynolds_number: float, mixture_ratio: float, chamber_temperature: float, gamma: float,
    characteristic_velocity: float, wall_temperature: float, contraction_ratio: float,
    chamber_length_ratio: float, wall_heat_scale: float,
) -> float:  # fmt: skip
    """Heat lost to the wall over the lower heating value of what burns, for a throat Reynolds number."""
    held = held_gamma_kernel(gamma)
    hot = max(chamber_temperature, 1.0)
    units = wall_heat_scale * wall_exchange_kernel(reynolds_number, contraction_ratio, chamber_length_ratio)
    ratio = max(mixture_ratio, _LEAST)
    heating_value = _LOWER_HEATING_VALUE * min(ratio / _WHOLE, 1.0) * (1.0 + _WHOLE) / (1.0 + ratio)
    speed = max(characteristic_velocity, 1.0) * mass_flow_function_kernel(held)
    warmth = held / (held - 1.0) * speed * speed * max(1.0 - wall_temperature / hot, 0.0)
    lost = (1.0 - math.exp(-min(max(units, 0.0), 100.0))) * warmth / max(heating_value, 1.0)
    return float(min(lost, _MOST))


@kernel
def wall_heat_fraction_kernel(
    throat_diameter: float, chamber_pressure: float, mixture_ratio: float, chamber_temperature: float,
    gamma: float, characteristic_velocity: float, wall_temperature: float, contraction_ratio: float,
    chamber_length_ratio: float, wall_heat_scale: float,
) -> float:  # fmt: skip
    """Heat lost to the wall over the lower heating value of what burns."""
    held = held_gamma_kernel(gamma)
    viscosity = burned_gas_viscosity_kernel(mixture_ratio, 2.0 * max(chamber_temperature, 1.0) / (held + 1.0))
    velocity = max(characteristic_velocity, 1.0)
    reynolds = max(chamber_pressure, 0.0) * max(throat_diameter, 0.0) / (velocity * viscosity)
    return wall_heat_kernel(
        reynolds, mixture_ratio, chamber_temperature, gamma, characteristic_velocity, wall_temperature,
        contraction_ratio, chamber_length_ratio, wall_heat_scale,
    )  # fmt: skip


@kernel
def heat_kept_kernel(heat_fraction: float, linear: float, quadratic: float) -> float:
    """Root of what a loss of heat leaves, from the fitted parabola."""
    lost = min(max(heat_fraction, 0.0), _MOST)
    return math.sqrt(1.0 - lost * (linear + quadratic * lost))


@kernel
def specific_impulse_heat_factor_kernel(heat_fraction: float) -> float:
    """Frozen specific impulse kept when a share of the heat goes into the wall."""
    return heat_kept_kernel(heat_fraction, _IMPULSE[0], _IMPULSE[1])


@kernel
def characteristic_velocity_heat_factor_kernel(heat_fraction: float) -> float:
    """Equilibrium characteristic velocity kept when a share of the heat goes into the wall."""
    return heat_kept_kernel(heat_fraction, _VELOCITY[0], _VELOCITY[1])


@kernel
def bartz_coefficient_kernel(
    throat_diameter: float, chamber_pressure: float, characteristic_velocity: float, viscosity: float,
    heat_capacity: float, prandtl_number: float,
) -> float:  # fmt: skip
    """Heat transfer coefficient at the throat after Bartz's simplified equation."""
    flux = max(chamber_pressure, 0.0) / max(characteristic_velocity, 1.0)
    reynolds = max(flux * throat_diameter / max(viscosity, 1e-30), _LEAST)
    stanton = _BARTZ[0] * reynolds ** -_BARTZ[1] * max(prandtl_number, _LEAST) ** -_BARTZ[2]
    return float(flux * heat_capacity * stanton)


def wall_heat_fraction(
    throat_diameter: ArrayLike,
    chamber_pressure: ArrayLike,
    mixture_ratio: ArrayLike,
    chamber_temperature: ArrayLike,
    gamma: ArrayLike,
    characteristic_velocity: ArrayLike,
    wall_temperature: ArrayLike = WALL_TEMPERATURE,
    contraction_ratio: ArrayLike = CONTRACTION_RATIO,
    chamber_length_ratio: ArrayLike = CHAMBER_LENGTH_RATIO,
    wall_heat_scale: ArrayLike = WALL_HEAT_SCALE,
) -> FloatArray:
    r"""Heat lost to the wall between the head and the throat, over the lower heating value of what burns.

    .. math:: q = \left(1-e^{-N}\right)\frac{c_p (T_0-T_w)}{h_\mathrm{LHV}}, \qquad
              N = s\,\mathrm{St}\,\frac{A_w}{A_t}, \qquad
              \mathrm{St} = \max\left(\frac{0.026}{\mathrm{Re}^{0.2}\mathrm{Pr}^{0.6}},
              \frac{0.664}{\sqrt{L_c/d_c}\,\mathrm{Re}^{0.5}\mathrm{Pr}^{2/3}}\right)

    with the wall area weighted by :math:`(A_t/A)^{1-n/2}`, n being the exponent of the Reynolds number.

    Parameters
    ----------
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_temperature : array_like, shape (...)
        Temperature of the burned gas [K].
    gamma : array_like, shape (...)
        Heat capacity ratio of the burned gas [1].
    characteristic_velocity : array_like, shape (...)
        Ideal characteristic velocity [m s-1].
    wall_temperature : array_like, shape (...)
        Wall temperature on the gas side [K].
    contraction_ratio : array_like, shape (...)
        Chamber area over throat area [1].
    chamber_length_ratio : array_like, shape (...)
        Chamber length over chamber diameter [1].
    wall_heat_scale : array_like, shape (...)
        Factor on the exchange, 0.5 to 2 [1].

    Returns
    -------
    ndarray, shape (...)
        Share of the lower heating value, at most 0.6 [1].

    Raises
    ------
    DomainError
        If an argument is not positive, a heat capacity ratio lies outside 1.01 to 2 or a contraction ratio is
        below 1.

    Notes
    -----
    No published value for these engines: estimated, within a factor of two. The heat is taken to be lost;
    a chamber that its own propellant cools gives it back. Heat the diverging part loses is in the viscous
    loss. The sensible heat of the frozen gas drives it; recombination on the wall is inside the factor.

    References
    ----------
    .. [1] bartz_1957, turbulent; schlichting_1979, laminar flat plate.

    Examples
    --------
    >>> for diameter in (10e-3, 1e-3, 0.1e-3):
    ...     print(f"{wall_heat_fraction(diameter, 7e5, 8.0, 3350.0, 1.204, 2125.0):.3f}")
    0.028
    0.084
    0.218
    """
    for name, unit, given in (
        ("throat_diameter", "m", throat_diameter),
        ("chamber_pressure", "Pa", chamber_pressure),
        ("mixture_ratio", "1", mixture_ratio),
        ("chamber_temperature", "K", chamber_temperature),
        ("characteristic_velocity", "m/s", characteristic_velocity),
        ("chamber_length_ratio", "1", chamber_length_ratio),
    ):
        domain.above(name, unit, given)
    domain.within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")
    domain.at_least("wall_temperature", "K", wall_temperature)
    domain.at_least("contraction_ratio", "1", contraction_ratio, 1.0)
    domain.at_least("wall_heat_scale", "1", wall_heat_scale)
    return broadcast(
        wall_heat_fraction_kernel, throat_diameter, chamber_pressure, mixture_ratio, chamber_temperature,
        gamma, characteristic_velocity, wall_temperature, contraction_ratio, chamber_length_ratio,
        wall_heat_scale,
    )  # fmt: skip


def bartz_coefficient(
    throat_diameter: ArrayLike,
    chamber_pressure: ArrayLike,
    characteristic_velocity: ArrayLike,
    viscosity: ArrayLike,
    heat_capacity: ArrayLike,
    prandtl_number: ArrayLike,
) -> FloatArray:
    r"""Heat transfer coefficient at a throat, turbulent flow, after Bartz's simplified equation.

    .. math:: h = \frac{0.026}{d_t^{0.2}}\,\frac{\mu^{0.2} c_p}{\mathrm{Pr}^{0.6}}
              \left(\frac{p_c}{c^*}\right)^{0.8}

    Parameters
    ----------
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    characteristic_velocity : array_like, shape (...)
        Characteristic velocity [m s-1].
    viscosity : array_like, shape (...)
        Viscosity of the burned gas [Pa s].
    heat_capacity : array_like, shape (...)
        Heat capacity of the burned gas at constant pressure [J kg-1 K-1].
    prandtl_number : array_like, shape (...)
        Prandtl number of the burned gas [1].

    Returns
    -------
    ndarray, shape (...)
        Heat transfer coefficient [W m-2 K-1].

    Raises
    ------
    DomainError
        If an argument is not positive.

    Notes
    -----
    The factors for throat curvature and for the change of properties across the layer are left at 1.

    References
    ----------
    .. [1] bartz_1957 (from memory).

    Examples
    --------
    >>> print(f"{bartz_coefficient(0.0107, 7e5, 2125.0, 1.07e-4, 3217.0, 0.68):.0f}")
    4336
    """
    for name, unit, given in (
        ("throat_diameter", "m", throat_diameter),
        ("chamber_pressure", "Pa", chamber_pressure),
        ("characteristic_velocity", "m/s", characteristic_velocity),
        ("viscosity", "Pa s", viscosity),
        ("heat_capacity", "J/(kg K)", heat_capacity),
        ("prandtl_number", "1", prandtl_number),
    ):
        domain.above(name, unit, given)
    return broadcast(
        bartz_coefficient_kernel, throat_diameter, chamber_pressure, characteristic_velocity, viscosity,
        heat_capacity, prandtl_number,
    )  # fmt: skip


def specific_impulse_heat_factor(heat_fraction: ArrayLike) -> FloatArray:
    """Frozen specific impulse kept when a share of the heat of burning goes into the wall.

    Parameters
    ----------
    heat_fraction : array_like, shape (...)
        Heat lost over the lower heating value [1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse over that without loss [1].

    Raises
    ------
    DomainError
        If a share lies outside 0 to 0.6.

    Notes
    -----
    Fitted to equilibrium chambers and frozen expansion at mixture ratio 7.94, 10 bar, area ratio 50, up to a
    share of 0.3; beyond that it continues the parabola. Short form of the table of ``combustion`` (argument
    ``heat_loss``): within 0.1 % there; up to a share of 0.1 within
    1.1 % at mixture ratios of 4 and more and up to 1.7 % too high at 3 (the more the higher the pressure).

    References
    ----------
    .. [1] nasa_cea_2024: six computed points, ``nozzle_coefficients.csv``.

    Examples
    --------
    >>> print(f"{398.2 * specific_impulse_heat_factor(0.1):.1f}")
    388.5
    """
    domain.within("heat_fraction", "1", heat_fraction, 0.0, _MOST)
    return broadcast(specific_impulse_heat_factor_kernel, heat_fraction)


def characteristic_velocity_heat_factor(heat_fraction: ArrayLike) -> FloatArray:
    """Characteristic velocity kept when a share of the heat of burning goes into the wall.

    Parameters
    ----------
    heat_fraction : array_like, shape (...)
        Heat lost over the lower heating value [1].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity over that without loss [1].

    Raises
    ------
    DomainError
        If a share lies outside 0 to 0.6.

    Notes
    -----
    Fitted at mixture ratio 7.94 and 10 bar, equilibrium, up to a share of 0.3. Short form of the table of
    ``combustion`` (argument ``heat_loss``): within 0.1 % there, within 1 % elsewhere up to a share of 0.1.

    References
    ----------
    .. [1] nasa_cea_2024: six computed points, ``nozzle_coefficients.csv``.

    Examples
    --------
    >>> print(f"{2144.0 * characteristic_velocity_heat_factor(0.1):.0f}")
    2080
    """
    domain.within("heat_fraction", "1", heat_fraction, 0.0, _MOST)
    return broadcast(characteristic_velocity_heat_factor_kernel, heat_fraction)
