"""Waste heat and the radiators that shed it."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.physics.extraction import cold_trap_heat_kernel
from tradespace.physics.sunlight import solar_flux_kernel
from tradespace.physics.thermal import panel_flux_kernel
from tradespace.spacecraft.power import at_distance


@kernel
def net_radiator_flux(design: Any, temperature: float, distance: float) -> float:
    """Net heat a radiator sheds [W/m2] at a temperature [K] and distance from the Sun [m]; can be negative.

    Ground in its view is dark and gives back as heat all the sunlight of its noon.
    """
    sunlight = solar_flux_kernel(at_distance(design, distance))
    flux: float = panel_flux_kernel(
        temperature,
        design.radiator_emissivity,
        design.radiator_absorptivity,
        sunlight,
        sunlight,
        design.radiator_ground_view,
        1.0,
    )
    return flux


@kernel
def trap_heat(design: Any) -> float:
    """Heat the cold trap takes from a kilogram of mined vapour [J/kg]."""
    return cold_trap_heat_kernel(design.cold_trap_temperature, design.release_temperature)


@kernel
def waste_heat(
    design: Any, split_power: float, store_heat: float, thruster_power: float, hot: float
) -> float:
    """Heat to reject: electrolyser, store and thruster losses, payload and keep-alive [W]; heaters make up for leaks.

    ``store_heat`` is what compressing or liquefying gas leaves [W]; ``hot`` the share of the electrolyser's power that
    leaves as heat, :func:`aged_heat_fraction`.
    """
    return float(
        split_power * hot
        + store_heat
        + thruster_power * design.thruster_waste_fraction
        + design.payload_power
        + design.keep_alive_power
    )
