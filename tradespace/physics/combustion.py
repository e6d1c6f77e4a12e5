"""Hydrogen and oxygen in a chamber and nozzle: look-ups in the shipped equilibrium table.

Reactants enter as gases at 298.15 K. Ideal means one-dimensional, adiabatic, infinite-area chamber, gas
phase only; ``equilibrium`` lets the composition shift on the way out, ``frozen`` keeps it as it left the
chamber. Small engines deliver less than the frozen value: see :func:`delivered_performance_factor`.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.errors import unknown_name
from tradespace.physics.combustion_table import CHAMBER, NOZZLE, look_up
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel, require
from tradespace.tables import read_table

DELIVERY = "combustion_delivery.csv"
KINDS = ("equilibrium", "frozen")


def _kind(kind: str) -> str:
    if kind not in KINDS:
        raise unknown_name("kind of expansion", kind, KINDS)
    return kind


def chamber_temperature(mixture_ratio: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Adiabatic temperature of the burned gas in the chamber.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Chamber temperature [K].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    A real wall and film cooling lower it; the walls see an oxidising gas.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (equilibrium computed with Cantera).

    Examples
    --------
    >>> print(f"{chamber_temperature(7.94, 1e6):.0f}")
    3387
    """
    return look_up(CHAMBER, "chamber_temperature", mixture_ratio, chamber_pressure)


def molar_mass(mixture_ratio: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Mean molar mass of the burned gas in the chamber.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Molar mass [kg mol-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (equilibrium computed with Cantera).

    Examples
    --------
    >>> print(f"{1e3 * molar_mass(7.94, 1e6):.2f}")
    15.32
    """
    return look_up(CHAMBER, "molar_mass", mixture_ratio, chamber_pressure) * 1e-3


def heat_capacity_ratio(mixture_ratio: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Ratio of heat capacities of the burned gas with its composition frozen.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Heat capacity ratio [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{heat_capacity_ratio(7.94, 1e6):.3f}")
    1.203
    """
    return look_up(CHAMBER, "heat_capacity_ratio", mixture_ratio, chamber_pressure)


def characteristic_velocity(
    mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, kind: str = "equilibrium"
) -> FloatArray:
    r"""Ideal characteristic velocity.

    .. math:: c^* = p_c A_t / \dot m

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    kind : str
        ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity [m s-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.
    UnknownNameError
        If the kind is neither of the two.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{characteristic_velocity(7.94, 1e6, 'frozen'):.0f}")
    2087
    """
    return look_up(CHAMBER, f"characteristic_velocity_{_kind(kind)}", mixture_ratio, chamber_pressure)


def specific_impulse_vacuum(
    mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Ideal specific impulse in vacuum.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If a value lies outside the table.
    UnknownNameError
        If the kind is neither of the two.

    Notes
    -----
    Exits colder than 200 K (low mixture ratio, large area) extrapolate the heat capacities; condensation is
    not modelled.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{specific_impulse_vacuum(7.94, 1e6, 50.0):.1f}")
    398.0
    """
    return look_up(
        NOZZLE, f"specific_impulse_vacuum_{_kind(kind)}", mixture_ratio, chamber_pressure, expansion_ratio
    )


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
    whole = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
    return broadcast(water_share_burned_kernel, array, whole)


def delivered_performance_factor(thrust: ArrayLike, pulsed: bool = False) -> FloatArray:
    """Delivered over ideal frozen specific impulse of an engine of this thrust.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    pulsed : bool
        True when it fires in short pulses [1].

    Returns
    -------
    ndarray, shape (...)
        Performance factor, constant within a class of thrust [1].

    Raises
    ------
    DomainError
        If a thrust is not positive.

    References
    ----------
    .. [1] aerojet_ada236556, marquardt_1974, smallsat_2021_209, ice_cube_2023: ``combustion_delivery.csv``.

    Examples
    --------
    >>> [float(factor) for factor in delivered_performance_factor([0.001, 1.0, 110.0])]
    [0.6, 0.87, 0.93]
    """
    array = np.asarray(thrust, dtype=np.float64)
    require(array > 0.0, f"thrust {np.min(array, initial=np.inf):.6g} N: it must be above 0 N")
    factor = np.full(array.shape, np.nan)
    for row in read_table(DELIVERY).rows:
        if (row["pulsed"] == "1") == pulsed:
            low, high = float(row["thrust_low"]), float(row["thrust_high"] or "inf")
            factor = np.where((array >= low) & (array < high), float(row["value"]), factor)
    return factor


def chamber_state(
    mixture_ratio: float, chamber_pressure: float, expansion_ratio: float, thrust: float | None = None
) -> dict[str, float]:
    """Everything the table says of one engine.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    expansion_ratio : float
        Exit area over throat area [1].
    thrust : float, optional
        Thrust of one engine; when given, the delivered specific impulse is added [N].

    Returns
    -------
    dict
        Values by name, the unit at the end of each name [text].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); delivered: ``combustion_delivery.csv``.

    Examples
    --------
    >>> round(chamber_state(7.94, 1e6, 50.0)["specific_impulse_vacuum_equilibrium_s"], 1)
    441.3
    """
    frozen = float(specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, "frozen"))
    shifting = float(specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, "equilibrium"))
    state = {
        "chamber_temperature_k": float(chamber_temperature(mixture_ratio, chamber_pressure)),
        "molar_mass_g_mol": float(molar_mass(mixture_ratio, chamber_pressure)) * 1e3,
        "characteristic_velocity_m_s": float(characteristic_velocity(mixture_ratio, chamber_pressure)),
        "specific_impulse_vacuum_equilibrium_s": shifting,
        "specific_impulse_vacuum_frozen_s": frozen,
    }
    if thrust is not None:
        factor = float(delivered_performance_factor(thrust))
        state["delivered_performance_factor"] = factor
        state["specific_impulse_vacuum_delivered_s"] = factor * frozen
    return state
