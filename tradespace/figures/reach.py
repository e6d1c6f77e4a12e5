"""What another velocity change would ask of the craft: payload and dry mass, one line per architecture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import (
    can_be_flown,
    drawn_architectures,
    left_out_words,
    own_inputs,
    standing_design,
    value_of,
)
from tradespace.figures.registry import captioned, figure
from tradespace.physics.transfer import ballistic_hop_speed
from tradespace.quantities import quantity

if TYPE_CHECKING:
    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

POINTS = 61
"""Velocity changes tried for each line."""
LEAST, MOST = 0.2, 2.5
"""Ends of the axis over the least and the largest velocity change of the designs shown [1]."""
NEAR, FAR = 0.1, 6.0
"""Shortest and longest surface hop tried over the study's own [1]."""
HALF_WAY = 0.99
"""Longest surface hop over the way to the antipode [1]."""
ABOVE = 1.25
"""Upper end of the axis of dry mass over the launch mass [1]."""
NO_MASS = -1.0 + 1e-9
"""Margin of mass at and below which a craft has no finite mass [1]."""


@dataclass(frozen=True)
class Reach:
    """One architecture over the velocity change of one load, all in SI."""

    name: str
    speed: FloatArray
    """Velocity change of one load [m/s], ascending."""
    payload: FloatArray
    """Payload at which the start mass equals the launch mass [kg]; NaN without a finite mass."""
    dry_mass: FloatArray
    """With the study's payload [kg]; NaN without a finite mass."""
    own: tuple[float, float, float]
    """The same three of the design itself."""
    closes: bool


def driver_of(results: Results, name: str) -> str:
    """The input that sets how far a load reaches."""
    if results.mission.kind == "surface":
        return "hop_distance"
    return "hop_delta_v_capacity" if style.refuels(results, name) else "carried_delta_v"


def reach(results: Results, name: str, ends: tuple[float, float]) -> Reach | None:
    """Size and fly the design that stands for an architecture with another velocity change per load.

    Parameters
    ----------
    results : Results
        Of a study that can be evaluated.
    name : str
        An architecture.
    ends : tuple of float
        Least and largest value of its driver [SI].
    """
    from tradespace.evaluate import answers

    row, closes = standing_design(results, name)
    if row is None:
        return None
    driver = driver_of(results, name)
    surface = driver == "hop_distance"
    own = value_of(results, row, driver)
    tried = np.geomspace(*ends, POINTS) if surface else np.linspace(*ends, POINTS)
    grid = np.unique(np.append(tried, own))
    found = answers(
        results.study,
        results.mission,
        name,
        {**own_inputs(results, row), driver: grid},
        ["payload_capacity", "dry_mass", "margin_mass"],
    )
    finite = found["margin_mass"] > NO_MASS
    payload, dry = (np.where(finite, found[key], np.nan) for key in ("payload_capacity", "dry_mass"))
    speed = hop_speeds(results, grid) if surface else grid
    place = int(np.searchsorted(grid, own))
    here = float(speed[place]), float(payload[place]), float(dry[place])
    return Reach(name, speed, payload, dry, here, closes)


def hop_speeds(results: Results, distances: FloatArray) -> FloatArray:
    """Both ballistic burns of hops of these lengths, without losses [m/s]."""
    stop = results.mission.stops[0]
    return 2.0 * np.asarray(ballistic_hop_speed(stop.gravitational_parameter, stop.radius, distances))


def driver_ends(results: Results, names: list[str]) -> dict[str, tuple[float, float]]:
    """Ends of the driver of each architecture [SI], so that all lines span one axis; empty where none has any."""
    own = {}
    for name in names:
        row, _ = standing_design(results, name)
        value = float("nan") if row is None else value_of(results, row, driver_of(results, name))
        if np.isfinite(value) and value > 0.0:
            own[name] = value
    if not own:
        return {}
    low, high = LEAST * min(own.values()), MOST * max(own.values())
    if results.mission.kind == "surface":
        low, high = NEAR * min(own.values()), FAR * max(own.values())
    found = {}
    for name in own:
        bounds = quantity(driver_of(results, name))
        most = float("inf") if bounds.high is None else bounds.high
        if results.mission.kind == "surface":
            most = min(most, HALF_WAY * np.pi * results.mission.stops[0].radius)
        found[name] = (low, min(high, most))
    return found


def greatest_speed(one: Reach, payload: float) -> float:
    """Velocity change up to which a payload can be carried [m/s]; infinite past the end of the line, NaN for none."""
    able = np.nan_to_num(one.payload, nan=-np.inf) >= payload
    if not able.any():
        return float("nan")
    last = int(np.flatnonzero(able)[-1])
    if last + 1 >= len(able):
        return float("inf")
    after = one.payload[last + 1]
    if not np.isfinite(after):
        return float(one.speed[last])
    share = (one.payload[last] - payload) / (one.payload[last] - after)
    return float(one.speed[last] + share * (one.speed[last + 1] - one.speed[last]))


@figure("payload_delta_v", title="What a larger velocity change costs", section="designs", width=180)
def payload_delta_v(results: Results) -> go.Figure | None:
    """Payload and dry mass against the velocity change of one load, one line per architecture."""
    if not can_be_flown(results) or results.mission.kind == "burn":
        return None
    names = drawn_architectures(results)
    ends = driver_ends(results, names)
    lines = [one for name in ends if (one := reach(results, name, ends[name])) is not None]
    lines = [one for one in lines if np.isfinite(one.payload).any()]
    if not lines:
        return None
    drawn = style.panels(["Payload the launch mass allows", "Dry mass with the study's payload"], 400)
    drawn.update_layout(legend={"y": 1.0 + 40 / 410})
    for one in lines:
        for index, key in enumerate(("payload", "dry_mass")):
            for trace in traces(results, one, key, legend=index == 0):
                drawn.add_trace(trace, **style.place(index, 2))
    payload, launch = (float(results.study.values[key]) for key in ("payload_mass", "launch_mass"))
    highest = max([payload, *(value for one in lines for value in carried(one))])
    style.line_across(drawn, style.place(0, 2), reference_line(), y=payload)
    style.line_across(drawn, style.place(1, 2), reference_line(), y=launch)
    for index, words in enumerate(("payload of the study", "launch mass")):
        drawn.add_annotation(
            text=words, x=1.0, xref="x domain", xanchor="right", y=(payload, launch)[index], yanchor="bottom",
            showarrow=False, font={"size": 11}, bgcolor="rgba(255,255,255,0.7)", **style.place(index, 2),
        )  # fmt: skip
    drawn.update_yaxes(title_text="Payload (kg)", range=[0.0, 1.06 * highest], **style.place(0, 2))
    drawn.update_yaxes(title_text="Dry mass (kg)", range=[0.0, ABOVE * launch], **style.place(1, 2))
    unit = style.pretty_unit(quantity("delta_v").display_unit)
    per = "hop" if results.mission.kind == "surface" else "load"
    speeds = style.shown("delta_v", np.concatenate([one.speed for one in lines]))
    scale = (
        style.log_axis(speeds) if results.mission.kind == "surface" else {"range": [0, float(speeds.max())]}
    )
    drawn.update_xaxes(title_text=f"Velocity change of one {per} ({unit})", **scale)
    return captioned(drawn, reach_words(results, lines) + left_out_words(results, names))


def carried(one: Reach) -> list[float]:
    """Payloads that need room on the axis [kg]: those of the designs themselves, and half again of the line."""
    most = float(np.nanmax(one.payload))
    return [max(0.0, value) for value in (one.own[1], most) if np.isfinite(value)]


def reference_line() -> dict[str, Any]:
    """The look of what the study asks for."""
    return {"color": style.BLACK, "width": 1.5, "dash": "dash"}


def traces(results: Results, one: Reach, key: str, *, legend: bool) -> list[go.Scatter]:
    """A line, and the mark of the design itself: filled where it closes."""
    colour, symbol, dash = style.looks(results, one.name)
    title = style.escape(style.title_of(results, one.name))
    mark = one.own[1 if key == "payload" else 2]
    line = go.Scatter(
        x=np.round(style.shown("delta_v", one.speed), 5),
        y=np.round(getattr(one, key), 3),
        mode="lines",
        name=title,
        legendgroup=one.name,
        showlegend=False,
        line={"color": colour, "dash": dash, "width": 2},
        hovertemplate="%{x:.3g} km/s<br>%{y:.4g} kg<extra>" + title + "</extra>",
    )
    point = go.Scatter(
        x=[float(style.shown("delta_v", one.own[0]))],
        y=[mark],
        mode="lines+markers",
        name=title,
        legendgroup=one.name,
        showlegend=legend,
        line={"color": colour, "dash": dash, "width": 2},
        marker={
            "symbol": symbol if one.closes else f"{symbol}-open",
            "size": 11,
            "color": colour,
            "line": {"color": style.BLACK if one.closes else colour, "width": 1.2 if one.closes else 2},
        },
        hovertemplate="the design itself: %{x:.3g} km/s, %{y:.4g} kg<extra>" + title + "</extra>",
    )
    return [line, point]


def reach_words(results: Results, lines: list[Reach]) -> str:
    """Up to which velocity change each architecture carries the payload of the study."""
    payload = float(results.study.values["payload_mass"])
    able, unable = [], []
    for one in lines:
        speed, title = greatest_speed(one, payload), style.title_of(results, one.name)
        if np.isnan(speed):
            unable.append(title)
        elif np.isinf(speed):
            able.append(f"{title} beyond the axis")
        else:
            able.append(f"{title} up to {style.quantity_text('delta_v', speed)}")
    load = "Cruise velocity change for which the tanks are sized"
    if results.mission.kind == "surface":
        load = "Hops of other lengths, drawn over what launch and landing take without losses"
    whole = [one.name for one in lines if driver_of(results, one.name) == "carried_delta_v"]
    apart = " (of the whole route for craft that do not refuel, of one hop for the others)" if whole else ""
    held = (
        "; all else as in the design that stands for each architecture, marked on its line where it stands."
    )
    text = f"{load}{apart}{held} Every point is sized and flown by the engine. "
    asked = style.quantity_text("payload_mass", payload)
    text += f"Within the launch mass, all other links left aside, a payload of {asked} goes: "
    text += "; ".join(able) + "." if able else "nowhere on this axis."
    text += f" Not at any velocity change drawn: {'; '.join(unable)}." if unable else ""
    return text + ("" if all(one.closes for one in lines) else " An open mark: that design does not close.")
