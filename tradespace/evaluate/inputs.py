"""Every input of a set of designs: given, default or worked out."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from tradespace.physics.compiled import FloatArray, broadcast

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.thrusters.architecture import Architecture

Values = Mapping[str, float | FloatArray]
EXTRACTION_INPUTS = (
    "ice_fraction regolith_temperature release_temperature bound_water_heat water_is_ice "
    "extraction_efficiency capture_fraction excavation_energy purification_energy"
).split()
UNSET = (
    "stack_efficiency", "dry_site_probability", "longest_night", "sun_distance", "energy_release_efficiency",
    "viscous_loss_scale", "wall_heat_scale",
)  # fmt: skip
"""Derived quantities that the engine works out itself when they are not a number."""


def all_inputs(study: Study, designs: Values) -> dict[str, float | FloatArray]:
    """Every input by name: the study's values with the design variables laid over, derived ones worked out."""
    from tradespace.physics import extraction, sunlight

    values: dict[str, float | FloatArray] = {**study.values, **designs, **left_out(study)}
    values.setdefault("hop_delta_v_capacity", 0.0)
    if not study.effects.get("margins", True):
        asked = {**study.values, **designs}
        values["hop_delta_v_capacity"] = without_margin(asked)
    values.setdefault("hop_distance", 0.0)
    if study.kind == "surface":
        values["hop_delta_v_capacity"] = 0.0
    if study.kind == "burn":  # in sunlight all the time, with nothing mined and no ground to stand on
        values.setdefault("sunlit_fraction", 1.0)
        values["extraction_energy"] = values["dust_loss_per_landing"] = values["touchdown_speed"] = 0.0
    if "array_power" in designs or ("array_power" in values and "array_area" not in designs):
        values["array_area"] = sunlight.area_of_power(values["array_power"], values["array_efficiency"])
    if "carried_delta_v" not in values:
        values["carried_delta_v"] = study.hops * np.asarray(values["hop_delta_v_capacity"])
    if "extraction_energy" not in values:
        # bounds were checked when the study was read; soil warmer than the release temperature needs no warming
        values["extraction_energy"] = broadcast(
            extraction.water_energy_kernel,
            *(values[name] for name in EXTRACTION_INPUTS),
        )
    if "sunlit_fraction" not in values:
        values["sunlit_fraction"] = broadcast(
            sunlight.landed_sunlit_fraction_kernel,
            values["site_latitude"],
            values["subsolar_latitude"],
            values["horizon_elevation"],
        )
        values["sunlit_fraction"] = values["sunlit_fraction"] * (1.0 - _longest_eclipse(_grounds(study)))
    for name in UNSET:
        values.setdefault(name, np.nan)
    return values


def without_margin(values: Values) -> FloatArray:
    """Velocity change of the tanks when their margin is left out; the capacity that is asked for includes it [m/s]."""
    capacity = np.asarray(values.get("hop_delta_v_capacity", 0.0), dtype=np.float64)
    return np.asarray(capacity / (1.0 + np.asarray(values["delta_v_margin"])))


def left_out(study: Study) -> dict[str, float]:
    """Inputs put back to a naive value by the effects that the study switches off [SI]."""
    from tradespace.study.effects import naive_values

    naive = naive_values()
    found: dict[str, float] = {}
    for name, reckoned in study.effects.items():
        if not reckoned:
            found |= naive[name]
    return found


def with_storage(
    study: Study, architecture: Architecture, values: dict[str, float | FloatArray], designs: Values
) -> dict[str, float | FloatArray]:
    """The inputs as an architecture has them: its own mixture ratio, and liquid storage where it keeps liquids."""
    from tradespace.options import option

    values = dict(values)
    if architecture.mixture_ratio is not None:
        values["mixture_ratio"] = architecture.mixture_ratio
    if architecture.storage == "liquid" and study.options["gas_storage"] != "liquefied":
        for name, setting in option("gas_storage", "liquefied").settings.items():
            if name not in study.given and name not in designs:
                values[name] = setting.value
    return {**values, **left_out(study)}


def _grounds(study: Study) -> tuple[str, ...]:
    """Bodies on which the craft stands."""
    return tuple(dict.fromkeys(place.body for place in study.places if place.orbit is None))


@cache
def _longest_eclipse(stops: tuple[str, ...]) -> float:
    """Largest share of time that a planet's shadow takes at one of the stops [1]."""
    from tradespace import ephemeris

    return max((ephemeris.eclipse_share(name) for name in stops), default=0.0)
