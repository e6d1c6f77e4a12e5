"""The craft of a search: the study's reference design of one architecture, sized for the study's own route."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tradespace.evaluate import all_inputs, fill_cell, fill_thruster, fly

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study


@dataclass(frozen=True, eq=False)
class Vehicle:
    """One sized craft, and how it does on the route it was sized for."""

    architecture: str
    design: NDArray[Any]
    """Row of the design record, shape (1,)."""
    craft: NDArray[Any]
    """Row of the craft record, shape (1,)."""
    hops: NDArray[Any]
    """Rows of the hop record on the study's own route, shape (hops,)."""


def sized_vehicle(study: Study, mission: Mission, architecture: str) -> Vehicle:
    """Size the reference design of one architecture for the study's own route, and fly it there.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it.
    architecture : str
        A thruster of the study.
    """
    from tradespace import campaign, spacecraft

    values = all_inputs(study, {})
    design = np.zeros(1, dtype=spacecraft.DESIGN)
    for name in spacecraft.QUANTITY_FIELDS:
        design[name] = values[name]
    kind = study.options["cell_kind"]
    fill_cell(design, values, kind)
    fill_thruster(design, values, study.thrusters[architecture], kind, surface=False)
    craft = np.zeros(1, dtype=spacecraft.CRAFT)
    hops = np.zeros((1, mission.hops), dtype=campaign.HOP)
    fly(mission, design, craft, hops, None)
    return Vehicle(architecture, design, craft, hops[0])


def stop_records(mission: Mission) -> NDArray[Any]:
    """The stops of a mission as rows of the campaign's stop record."""
    from tradespace import campaign

    stops = np.zeros(len(mission.stops), dtype=campaign.STOP)
    for number, stop in enumerate(mission.stops):
        stops[number] = (
            stop.surface_gravity, stop.escape_speed, stop.radius, stop.gravitational_parameter, stop.rotation_period,
        )  # fmt: skip
    return stops
