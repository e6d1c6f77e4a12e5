"""Every input of a set of designs: given, default or worked out."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from tradespace.physics.compiled import FloatArray, broadcast

if TYPE_CHECKING:
    from tradespace.study import Study

Values = Mapping[str, float | FloatArray]
EXTRACTION_INPUTS = (
    "ice_fraction regolith_temperature release_temperature bound_water_heat water_is_ice "
    "extraction_efficiency capture_fraction excavation_energy purification_energy"
).split()
UNSET = ("stack_efficiency", "dry_site_probability", "longest_night")
"""Derived quantities that the engine works out itself when they are not a number."""


def all_inputs(study: Study, designs: Values) -> dict[str, float | FloatArray]:
    """Every input by name: the study's values with the design variables laid over, derived ones worked out."""
    from tradespace.physics import extraction, sunlight

    values: dict[str, float | FloatArray] = {**study.values, **designs}
    values.setdefault("hop_delta_v_capacity", 0.0)
    values.setdefault("hop_distance", 0.0)
    if study.kind == "surface":
        values["hop_delta_v_capacity"] = 0.0
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


def _grounds(study: Study) -> tuple[str, ...]:
    """Bodies on which the craft stands."""
    return tuple(dict.fromkeys(place.body for place in study.places if place.orbit is None))


@cache
def _longest_eclipse(stops: tuple[str, ...]) -> float:
    """Largest share of time that a planet's shadow takes at one of the stops [1]."""
    from tradespace import ephemeris

    return max((ephemeris.eclipse_share(name) for name in stops), default=0.0)
