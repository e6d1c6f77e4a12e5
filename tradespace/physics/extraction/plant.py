"""From soil in the ground to clean water in the tank: digging, heating, capture, cleaning, and what plants did.

Water baked out of rock carries acid and toxic gases, and steam in a closed vessel is under pressure: these
functions size concepts, and a design defers to local pressure-vessel codes and licensed practice.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share, within
from tradespace.physics.extraction.hydrated import hydrated_mineral_heat_kernel
from tradespace.physics.extraction.regolith import (
    _require_warming,
    extraction_energy,
    icy_regolith_heat,
    icy_regolith_heat_kernel,
    share_kernel,
)
from tradespace.physics.water import liquid_heat_kernel, sublimation_heat_kernel, vaporisation_heat_kernel

_VALUES = "physics_values.csv"
_OWN = "extraction_values.csv"
_MICROWAVE = ("power", "time", "batch_mass", "water_fraction", "recovered_fraction")
_TRIPLE = value("water_triple_temperature", _VALUES)
_BOILING = value("steam_lowest_temperature", _VALUES)
_COLDEST_ICE = value("ice_lowest_temperature", _VALUES)
_HOTTEST = value("rock_highest_temperature", _OWN)
_VAPOUR_HEAT_CAPACITY = 4.0 * value("gas_constant") / value("molar_mass_water")  # six degrees of freedom


@kernel
def water_energy_kernel(
    water_fraction: float,
    start_temperature: float,
    release_temperature: float,
    bound_water_heat: float,
    is_ice: float,
    extraction_efficiency: float,
    capture_fraction: float,
    excavation_energy: float,
    purification_energy: float,
) -> float:
    """Electric energy per kilogram of clean water in the tank, from ice or from hydrated rock [J kg-1]."""
    ice = icy_regolith_heat_kernel(water_fraction, start_temperature, release_temperature) + bound_water_heat
    rock = hydrated_mineral_heat_kernel(
        water_fraction, start_temperature, release_temperature, bound_water_heat
    )
    heat = is_ice * ice + (1.0 - is_ice) * rock
    captured = share_kernel(capture_fraction)
    digging = excavation_energy / (share_kernel(water_fraction) * captured)
    return heat / (share_kernel(extraction_efficiency) * captured) + digging + purification_energy


@kernel
def distillation_energy_kernel(feed_temperature: float, effects: float) -> float:
    """Heat to distil a kilogram of water at one atmosphere in a number of effects [J kg-1]."""
    heat = liquid_heat_kernel(feed_temperature, _BOILING) + vaporisation_heat_kernel(_BOILING)
    return heat / max(effects, 1.0)


@kernel
def cold_trap_heat_kernel(trap_temperature: float, vapour_temperature: float) -> float:
    """Heat a cold trap takes from a kilogram of vapour that turns to ice in it [J kg-1]."""
    cooling = _VAPOUR_HEAT_CAPACITY * max(vapour_temperature - trap_temperature, 0.0)
    return sublimation_heat_kernel(trap_temperature) + cooling


@kernel
def batch_energy_kernel(
    power: float, time: float, soil_mass: float, water_fraction: float, recovered_fraction: float
) -> float:
    """Energy a batch test spent per kilogram of water it gave [J kg-1]."""
    water = max(soil_mass, 1e-9) * share_kernel(water_fraction) * share_kernel(recovered_fraction)
    return power * time / water


def water_energy(
    water_fraction: ArrayLike,
    start_temperature: ArrayLike,
    release_temperature: ArrayLike,
    bound_water_heat: ArrayLike,
    is_ice: ArrayLike,
    extraction_efficiency: ArrayLike,
    capture_fraction: ArrayLike,
    excavation_energy: ArrayLike,
    purification_energy: ArrayLike,
) -> FloatArray:
    r"""Electric energy to put a kilogram of clean water into the tank, from icy soil or from hydrated rock.

    .. math:: e = \frac{q}{\eta f} + \frac{e_\mathrm{dig}}{w f} + e_\mathrm{clean}

    Parameters
    ----------
    water_fraction : array_like, shape (...)
        Mass of water, as ice or bound, per mass of soil dug [1].
    start_temperature : array_like, shape (...)
        Temperature of the soil in place [K].
    release_temperature : array_like, shape (...)
        Temperature at which the water leaves [K].
    bound_water_heat : array_like, shape (...)
        Heat to release bound water as vapour; for ice, what it needs beyond sublimation [J kg-1].
    is_ice : array_like, shape (...)
        1 for ice, 0 for water bound in minerals, between for the share of ice in a mixture [1].
    extraction_efficiency : array_like, shape (...)
        Share of the heat put in that ends in the released vapour's ideal heat [1].
    capture_fraction : array_like, shape (...)
        Share of the released vapour that reaches the tank [1].
    excavation_energy : array_like, shape (...)
        Energy to dig and haul soil, per mass of soil [J kg-1].
    purification_energy : array_like, shape (...)
        Energy to clean the water for electrolysis, per mass of water [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of clean water [J kg-1].

    Raises
    ------
    DomainError
        If a share lies outside (0, 1], is ice outside 0 to 1, an energy is negative, a temperature outside
        25 to 1200 K, or the release temperature below the start.

    Notes
    -----
    Heat is taken to come from electricity one to one. Soil whose vapour is lost was dug and heated all the same.

    References
    ----------
    .. [1] hayne_2017 and berman_brown_1985 (soil), feistel_2006 and murphy_2005 (ice), metzger_2020 (efficiency),
       luwex_2026 (capture).

    Examples
    --------
    >>> print(f"{water_energy(0.05, 100.0, 250.0, 0.0, 1.0, 0.5, 0.8, 0.0, 0.0) / 3.6e6:.2f}")  # kWh per kg
    3.08
    """
    water, form = share("water fraction", water_fraction), within("is ice", "1", is_ice, 0.0, 1.0)
    _require_warming(
        "release temperature", start_temperature, release_temperature, _HOTTEST, "start temperature"
    )
    return broadcast(
        water_energy_kernel,
        water,
        start_temperature,
        release_temperature,
        at_least("bound water heat", "J/kg", bound_water_heat),
        form,
        share("extraction efficiency", extraction_efficiency),
        share("capture fraction", capture_fraction),
        at_least("excavation energy", "J/kg", excavation_energy),
        at_least("purification energy", "J/kg", purification_energy),
    )


def distillation_energy(feed_temperature: ArrayLike, effects: ArrayLike) -> FloatArray:
    """Heat to distil a kilogram of water at one atmosphere.

    Parameters
    ----------
    feed_temperature : array_like, shape (...)
        Temperature of the water to be cleaned [K].
    effects : array_like, shape (...)
        Number of times the heat is used again, 1 for a plain still [1].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of distilled water [J kg-1].

    Raises
    ------
    DomainError
        If the feed temperature lies outside 273.16 to 373.15 K, or effects is below 1 or not finite.

    Notes
    -----
    Reverse osmosis or ion exchange after a first, dirty condensation takes far less: 0.01 to 0.1 kWh/kg.

    References
    ----------
    .. [1] wagner_2002, heat of the liquid and of vaporisation.

    Examples
    --------
    >>> print(f"{distillation_energy(293.15, 1.0) / 3.6e6:.2f}")  # kWh per kg
    0.72
    """
    feed = within("feed temperature", "K", feed_temperature, _TRIPLE, _BOILING)
    return broadcast(distillation_energy_kernel, feed, at_least("effects", "1", effects, 1.0))


def cold_trap_heat(trap_temperature: ArrayLike, vapour_temperature: ArrayLike) -> FloatArray:
    r"""Heat a cold trap must reject for each kilogram of vapour it catches as ice.

    .. math:: q = L(T_\mathrm{trap}) + c_p (T_\mathrm{vapour} - T_\mathrm{trap})

    Parameters
    ----------
    trap_temperature : array_like, shape (...)
        Temperature of the ice in the trap [K].
    vapour_temperature : array_like, shape (...)
        Temperature of the vapour that arrives [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water caught [J kg-1].

    Raises
    ------
    DomainError
        If the trap temperature lies outside 50 to 273.16 K, or the vapour temperature outside 50 to 1200 K.

    Notes
    -----
    A radiator takes this heat; no power is spent. Vapour colder than the trap counts as warm as the trap.
    The heat capacity of the vapour is that of a molecule that turns but does not vibrate, 4 R.

    References
    ----------
    .. [1] murphy_2005, eq. 5; closed form for the vapour.

    Examples
    --------
    >>> print(f"{cold_trap_heat(200.0, 200.0) / 3.6e6:.2f}")  # kWh per kg
    0.79
    """
    cold = within("trap temperature", "K", trap_temperature, _COLDEST_ICE, _TRIPLE)
    warm = within("vapour temperature", "K", vapour_temperature, _COLDEST_ICE, _HOTTEST)
    return broadcast(cold_trap_heat_kernel, cold, warm)


def batch_energy(
    power: ArrayLike,
    time: ArrayLike,
    soil_mass: ArrayLike,
    water_fraction: ArrayLike,
    recovered_fraction: ArrayLike,
) -> FloatArray:
    """Energy a batch test spent per kilogram of water it gave.

    Parameters
    ----------
    power : array_like, shape (...)
        Heating power [W].
    time : array_like, shape (...)
        Length of the test [s].
    soil_mass : array_like, shape (...)
        Mass of the batch, water included [kg].
    water_fraction : array_like, shape (...)
        Mass fraction of water in the batch [1].
    recovered_fraction : array_like, shape (...)
        Share of that water the test gave [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If power or time is negative, the soil mass not above zero, or a fraction outside (0, 1].

    References
    ----------
    .. [1] closed form: power times time over the mass of water.

    Examples
    --------
    >>> print(f"{batch_energy(250.0, 3600.0, 0.040, 0.05, 0.92) / 3.6e6:.0f}")  # kWh per kg, a microwave test
    136
    """
    return broadcast(
        batch_energy_kernel,
        at_least("power", "W", power),
        at_least("time", "s", time),
        above("soil mass", "kg", soil_mass),
        share("water fraction", water_fraction),
        share("recovered fraction", recovered_fraction),
    )


def energy_of_yield(water_yield: ArrayLike) -> FloatArray:
    """Energy per kilogram of water of a plant whose yield per energy is known.

    Parameters
    ----------
    water_yield : array_like, shape (...)
        Water gained per energy spent [kg J-1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If the water yield is not above zero.

    References
    ----------
    .. [1] closed form: the inverse.

    Examples
    --------
    >>> print(f"{energy_of_yield(22.9e-3 / 3.6e6) / 3.6e6:.1f}")  # kWh per kg from 22.9 g per kWh
    43.7
    """
    return np.asarray(1.0 / above("water yield", "kg/J", water_yield), dtype=np.float64)


def energies_by_scale(
    ice_fraction: ArrayLike,
    temperature: ArrayLike,
    release_temperature: ArrayLike,
    efficiency: ArrayLike,
    capture_fraction: ArrayLike,
) -> dict[str, FloatArray]:
    """Energy per kilogram of water if all went well, for a plant, and as bench tests measured it.

    Parameters
    ----------
    ice_fraction : array_like, shape (...)
        Mass fraction of ice in the soil [1].
    temperature : array_like, shape (...)
        Temperature of the soil in place [K].
    release_temperature : array_like, shape (...)
        Temperature to which soil and ice are heated [K].
    efficiency : array_like, shape (...)
        Share of the heat put in that ends in the released vapour's ideal heat, for a plant [1].
    capture_fraction : array_like, shape (...)
        Share of the released vapour that reaches the tank, for a plant [1].

    Returns
    -------
    dict of ndarray
        Energy per mass of water [J kg-1]: ``ideal`` and ``plant`` for the given soil; ``bench_regolith``,
        ``bench_glass_beads`` and ``bench_microwave`` as measured on soil of 5 % ice.

    Raises
    ------
    DomainError
        As for :func:`extraction_energy`: a share outside (0, 1], a temperature outside 25 to 400 K.

    Notes
    -----
    The three scales differ tenfold, so a study should say which one it believes. No plant has been built:
    its efficiency is an assumption between the other two.

    References
    ----------
    .. [1] luwex_2026, 22.9 g/kWh from soil and 66.3 g/kWh from glass beads; cole_2024, microwave heating.

    Examples
    --------
    >>> found = energies_by_scale(0.05, 100.0, 250.0, 0.5, 0.8)
    >>> " ".join(f"{energy / 3.6e6:.1f}" for energy in found.values())  # kWh per kg
    '1.2 3.1 43.7 15.1 135.9'
    """
    soil, beads = (value(f"bench_yield_{name}", _OWN) for name in ("regolith", "glass_beads"))
    power, time, batch, water, recovered = (value(f"microwave_{name}", _OWN) for name in _MICROWAVE)
    microwave = batch_energy(power, time, batch, water, recovered)
    plant = extraction_energy(ice_fraction, temperature, release_temperature, efficiency, capture_fraction)
    found = {
        "ideal": icy_regolith_heat(ice_fraction, temperature, release_temperature),
        "plant": plant,
        "bench_regolith": energy_of_yield(soil),
        "bench_glass_beads": energy_of_yield(beads),
        "bench_microwave": microwave,
    }
    return {name: np.broadcast_to(energy, plant.shape) for name, energy in found.items()}
