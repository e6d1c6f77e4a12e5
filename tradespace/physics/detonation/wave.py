"""The wave of Chapman and Jouguet, and burning in a closed vessel: equilibrium states from a shipped table.

Whether a mixture detonates at all is not said here.
"""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.detonation.table import table_column


def detonation_speed(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Speed of a Chapman-Jouguet wave into hydrogen and oxygen.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Wave speed [m s-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_speed(7.937, 1e5, 298.15):.0f}")
    2835
    """
    return table_column("speed", mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def detonation_temperature(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Temperature behind a Chapman-Jouguet wave.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Temperature [K].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_temperature(7.937, 1e5, 298.15):.0f}")
    3672
    """
    return table_column("temperature", mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def detonation_pressure_ratio(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Pressure behind a Chapman-Jouguet wave over the pressure before it.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure ratio [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    A reflected wave, or one that overtakes compressed gas, gives a higher pressure still.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_pressure_ratio(7.937, 1e5, 298.15):.2f}")
    18.76
    """
    return table_column("pressure_ratio", mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def detonation_density_ratio(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Density behind a Chapman-Jouguet wave over the density before it.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Density ratio [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    Wave speed over this ratio is the speed of sound of the burned gas, by definition of the wave.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_density_ratio(7.937, 1e5, 298.15):.3f}")
    1.839
    """
    return table_column("density_ratio", mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def detonation_molar_mass(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Molar mass of the gas behind a Chapman-Jouguet wave.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

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
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_molar_mass(7.937, 1e5, 298.15):.5f}")
    0.01450
    """
    return (
        table_column("molar_mass", mixture_ratio, initial_pressure, initial_temperature, feed_humidity) * 1e-3
    )


def detonation_exponent(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Isentropic exponent, composition shifting, behind a Chapman-Jouguet wave.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Exponent [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{detonation_exponent(7.937, 1e5, 298.15):.4f}")
    1.1287
    """
    return table_column(
        "isentropic_exponent", mixture_ratio, initial_pressure, initial_temperature, feed_humidity
    )


def explosion_temperature(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Temperature after burning in a closed vessel without losses.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Temperature [K].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{explosion_temperature(7.937, 1e5, 298.15):.0f}")
    3495
    """
    return table_column(
        "explosion_temperature", mixture_ratio, initial_pressure, initial_temperature, feed_humidity
    )


def explosion_pressure_ratio(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    """Pressure after burning in a closed vessel without losses over the pressure before.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure ratio [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{explosion_pressure_ratio(7.937, 1e5, 298.15):.2f}")
    9.58
    """
    return table_column(
        "explosion_pressure_ratio", mixture_ratio, initial_pressure, initial_temperature, feed_humidity
    )
