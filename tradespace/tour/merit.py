"""What a hop is worth, and a whole tour flown with a sized craft."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tradespace import constants
from tradespace.campaign import HOP, MARGINS, STATE
from tradespace.campaign import search as flying
from tradespace.physics.compiled import FloatArray, records
from tradespace.tour.model import Aim, Chart, Tour

YEAR = constants.value("year", "engine_settings.csv")


def fly_tour(
    design: NDArray[Any], craft: NDArray[Any], chart: Chart, aim: Aim, route: tuple[int, ...]
) -> Tour:
    """Fly one order of bodies with a sized craft, whether it closes or not.

    Parameters
    ----------
    design, craft, chart, aim
        As for :func:`search_tours`.
    route : tuple of int
        Numbers of the bodies, the start among them; at least two.
    """
    hops, states = np.zeros(len(route) - 1, dtype=HOP), np.zeros(1, dtype=STATE)
    flying.follow(
        records(design)[0], records(craft)[0], records(chart.stops), records(chart.legs), chart.sky, chart.windows,
        chart.dates, np.array(route, dtype=np.int64), records(hops), records(states),
    )  # fmt: skip
    names = tuple(chart.names[number] for number in route)
    grounds = tuple(bool(chart.stops["mu"][number] > 0.0) for number in route)
    return scored(aim, design, chart.horizon, names, hops, grounds)


def scored(
    aim: Aim,
    design: NDArray[Any],
    horizon: float,
    names: tuple[str, ...],
    hops: NDArray[Any],
    grounds: tuple[bool, ...],
) -> Tour:
    """What a tour that has been flown is worth.

    Parameters
    ----------
    aim : Aim
        What is sought.
    design : ndarray, shape (1,)
        Row of the design record.
    horizon : float
        Last date of the study, seconds past J2000.
    names : tuple of str
        Bodies in order, the start among them.
    hops : ndarray, shape (hops,)
        Rows of the hop record.
    grounds : tuple of bool
        Whether the craft stands on ground at each stop; a parking orbit is no body reached.
    """
    gained, survival = 0.0, 1.0
    for number in range(len(hops)):
        hop = hops[number : number + 1]
        survival = float(hop["survival"][0])
        new = np.array([grounds[number + 1] and names[number + 1] not in names[: number + 1]])
        gained += (survival if aim.expected else 1.0) * float(gain(aim, design, hop, new)[0])
    if not len(hops):
        return Tour(names, 0.0, 1.0, math.nan, hops)
    stay = last_stay(aim, design, horizon, hops["landing_date"][-1:])
    merit = gained + (survival if aim.expected else 1.0) * float(stay[0])
    return Tour(names, merit, survival, float(hops["landing_date"][-1]), hops)


def least_margins(hops: NDArray[Any]) -> tuple[FloatArray, NDArray[np.int64]]:
    """The least margin of each hop and the number of its link."""
    margins = np.stack([hops[f"margin_{link}"] for link in MARGINS], axis=-1)
    links = margins.argmin(axis=-1)
    return np.take_along_axis(margins, links[..., None], axis=-1)[..., 0], links


def gain(aim: Aim, design: NDArray[Any], hops: NDArray[Any], new: NDArray[np.bool_]) -> FloatArray:
    """What each hop adds to the figure of merit; ``new`` says which land on a body not visited before."""
    if aim.figure_of_merit == "bodies_visited":
        return new.astype(np.float64)
    if aim.figure_of_merit == "water_processed":
        return np.asarray(hops["water_mined"], dtype=np.float64)
    stay = (hops["departure_date"] - hops["arrival_date"]) / YEAR
    return np.asarray(design["payload_mass"][0] * stay, dtype=np.float64)


def last_stay(aim: Aim, design: NDArray[Any], horizon: float, landing: FloatArray) -> FloatArray:
    """What the payload does on the last body: one dwell, if there is time for it."""
    if aim.figure_of_merit != "payload_years":
        return np.zeros(landing.shape)
    stay = np.clip(horizon - landing, 0.0, design["minimum_dwell"][0]) / YEAR
    return np.asarray(design["payload_mass"][0] * stay, dtype=np.float64)
