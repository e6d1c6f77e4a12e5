"""The craft of a search: the study's reference design of one architecture, sized for the study's own route."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tradespace.evaluate import baseline, design_rows, fly

if TYPE_CHECKING:
    import pandas as pd

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

    design, _ = design_rows(study, mission, architecture, {})
    craft = np.zeros(1, dtype=spacecraft.CRAFT)
    hops = np.zeros((1, mission.hops), dtype=campaign.HOP)
    fly(mission, design, craft, hops, None)
    return Vehicle(architecture, design, craft, hops[0])


def best_architecture(study: Study, mission: Mission) -> str:
    """The architecture whose reference craft is best on the study's own route, of those that refuel if any does.

    Those that close come first, by the study's figure of merit; if none closes, the nearest to closing is taken.
    """
    table: pd.DataFrame = baseline(study, mission)
    refuelling = [name for name in study.architectures if study.thrusters[name].refuels]
    among = table[table["architecture"].isin(refuelling or list(study.architectures))]
    closes, margins = among["closes"].to_numpy(dtype=bool), among["margin"].to_numpy(dtype=float)
    merit = among[study.figure_of_merit].to_numpy(dtype=float)
    cost = merit if study.figure_of_merit_better == "lower" else -merit
    place = np.where(closes, cost, np.inf).argmin() if closes.any() else margins.argmax()
    return str(among["architecture"].iloc[int(place)])
