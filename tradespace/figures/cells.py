"""The electrolysis cell: its voltage over current density, and where the electricity goes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.constants import value
from tradespace.evaluate.devices import Opened, cell_curve, cell_point
from tradespace.figures import style
from tradespace.figures.insides import first_that_splits
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

POINTS = 120
"""Points along a curve."""
FIRST, BEYOND = 0.02, 1.3
"""Where the curve begins, over the end of its range [1]; how far it runs past the operating point [1]."""
REACH = 3.0
"""The curve is drawn to no more than so many times the current density of the design [1]."""
LEAST = 1e-4
"""A part below this share of the voltage is not drawn [1]."""
LAYERS = (
    ("reversible", "reversible voltage", style.TOL_MUTED[4], ""),
    ("activation", "activation of the electrodes", style.TOL_MUTED[2], "/"),
    ("ohmic", "resistance", style.TOL_MUTED[0], "x"),
    ("concentration", "transport to the electrodes", style.TOL_MUTED[6], "."),
    ("microgravity", "bubbles that do not rise", style.TOL_MUTED[8], "-"),
)
"""Parts of the voltage with words, colour and pattern."""
LOST = ("current that makes no gas", style.TOL_MUTED[1], "\\")
HIGHER, LOWER = "efficiency, higher heating value", "efficiency, lower heating value"


@figure("cell_polarisation", title="The electrolysis cell", section="devices", width=180)
def cell_polarisation(results: Results) -> go.Figure | None:
    """Voltage in parts over current density, and the same parts as shares of the electricity with the efficiencies."""
    found = first_that_splits(results)
    if found is None:
        return None
    name, one = found
    cell, current, temperature, pressure = cell_point(one.study, one.inputs)
    dense = currents(cell, current, results)
    parts, shares = cell_curve(cell, dense, temperature, pressure)
    drawn = style.panels(["Voltage of a cell", "Where the electricity goes"], 400, horizontal_spacing=0.12)
    x = style.shown("current_density", dense)
    volts = np.sum(list(parts.values()), axis=0)
    kept = [layer for layer in LAYERS if np.max(parts[layer[0]] / volts) > LEAST]
    faradaic = shares["faradaic_efficiency"]
    for key, words, colour, pattern in kept:
        for place, heights in enumerate((parts[key], 100.0 * faradaic * parts[key] / volts)):
            drawn.add_trace(band(x, heights, (words, colour, pattern), place), **style.place(place, 2))
    if np.max(1.0 - faradaic) > LEAST:
        drawn.add_trace(band(x, 100.0 * (1.0 - faradaic), LOST, 1, shown=True), **style.place(1, 2))
    add_efficiencies(drawn, x, volts, faradaic)
    add_neutral(drawn, x, thermoneutral(cell, temperature))
    add_point(drawn, one, current)
    high = max(float(np.max(volts)), float(one.row.cell_voltage))
    drawn.update_yaxes(title_text="Cell voltage (V)", range=[0.0, 1.06 * high], **style.place(0, 2))
    most = float(np.max(100.0 * faradaic * neutral_voltage() / volts))
    drawn.update_yaxes(
        title_text="Share of the electricity (%)", range=[0.0, max(102.0, 1.04 * most)], **style.place(1, 2)
    )
    drawn.update_xaxes(title_text=style.axis_title("current_density"), range=[0.0, float(x[-1])])
    drawn.update_layout(legend={"traceorder": "normal"}, margin={"t": 130})
    return captioned(drawn, cell_words(results, name, one, (cell, temperature, pressure)))


def currents(cell: Any, current: float, results: Results) -> FloatArray:
    """Current densities of the curve [A/m2]: past the design's own, over the swept ones."""
    swept = [float(np.max(item.points)) for item in results.study.sweep if item.name == "current_density"]
    last = max(BEYOND * current, min(REACH * current, highest_current(results)), *swept)
    return np.linspace(FIRST * last, last, POINTS)


def highest_current(results: Results) -> float:
    """Highest current density of the kind of cell [A/m2]."""
    from tradespace.physics.electrolysis import cell_rows

    return float(cell_rows()[results.study.options["cell_kind"]]["highest_current_density"])


def band(
    x: FloatArray, y: FloatArray, looks: tuple[str, str, str], place: int, *, shown: bool = False
) -> go.Scatter:
    """One layer of a stack: a filled area with its own colour and pattern."""
    words, colour, pattern = looks
    return go.Scatter(
        x=np.round(x, 6),
        y=np.round(y, 6),
        mode="lines",
        stackgroup=f"stack{place}",
        line={"color": style.BLACK, "width": 0.8},
        fillcolor=colour,
        fillpattern={
            "shape": pattern,
            "fgcolor": style.WHITE,
            "bgcolor": colour,
            "size": 7,
            "solidity": 0.25,
        },
        name=words,
        legendgroup=words,
        showlegend=place == 0 or shown,
        hovertemplate="%{x:.3g} A/cm², %{y:.3g}" + (" V" if place == 0 else " %") + f"<extra>{words}</extra>",
    )


def neutral_voltage() -> float:
    """Voltage of the higher heating value of hydrogen [V]: enthalpy of liquid water at 25 degC."""
    return value("reaction_enthalpy_water") / (2.0 * value("faraday_constant"))


def vapour_voltage() -> float:
    """Voltage of the lower heating value of hydrogen [V]: enthalpy of water vapour at 25 degC."""
    heat = value("lower_heating_value_water", "nozzle_values.csv") * value("molar_mass_water")
    return heat / (2.0 * value("faraday_constant"))


def add_efficiencies(drawn: go.Figure, x: FloatArray, volts: FloatArray, faradaic: FloatArray) -> None:
    """Efficiency on both heating values over the shares."""
    for words, voltage, dash in ((HIGHER, neutral_voltage(), "solid"), (LOWER, vapour_voltage(), "dash")):
        drawn.add_trace(
            go.Scatter(
                x=np.round(x, 6),
                y=np.round(100.0 * faradaic * voltage / volts, 6),
                mode="lines",
                name=words,
                line={"color": style.BLACK, "width": 3, "dash": dash},
                hovertemplate=f"%{{x:.3g}} A/cm², %{{y:.3g}} %<extra>{words}</extra>",
            ),
            **style.place(1, 2),
        )


def add_neutral(drawn: go.Figure, x: FloatArray, level: float) -> None:
    """The voltage below which the cell would have to be heated."""
    drawn.add_trace(
        go.Scatter(
            x=[float(x[0]), float(x[-1])],
            y=[level, level],
            mode="lines",
            name="thermoneutral voltage",
            line={"color": style.BLACK, "width": 2, "dash": "dot"},
            hovertemplate="%{y:.4g} V<extra>thermoneutral voltage</extra>",
        ),
        **style.place(0, 2),
    )


def thermoneutral(cell: Any, temperature: float) -> float:
    """Voltage at which all of the current's energy is taken up, as the engine reckons the heat of the cell [V].

    Of a solid-oxide cell the water comes cold, and part of the heat of its gases is recovered.
    """
    from tradespace.physics.electrolysis import KINDS, cold_water_voltage, thermoneutral_voltage

    if KINDS[int(cell.kind)] == "solid_oxide":
        return float(cold_water_voltage(temperature, float(cell.heat_recovery)))
    return float(thermoneutral_voltage(temperature))


def add_point(drawn: go.Figure, one: Opened, current: float) -> None:
    """The operating point of the design in both panels, on the voltage and on the higher heating value."""
    x = float(style.shown("current_density", current))
    levels = float(one.row.cell_voltage), 100.0 * efficiency(one)
    for place, level in enumerate(levels):
        drawn.add_trace(
            go.Scatter(
                x=[x],
                y=[level],
                mode="markers",
                name="operating point of the best design",
                legendgroup="point",
                showlegend=place == 0,
                cliponaxis=False,
                marker={
                    "symbol": "star",
                    "size": 17,
                    "color": style.ORANGE,
                    "line": {"color": style.BLACK, "width": 1.5},
                },
                hovertemplate="%{x:.3g} A/cm², %{y:.4g}<extra>operating point</extra>",
            ),
            **style.place(place, 2),
        )


def efficiency(one: Opened) -> float:
    """Efficiency of the stack on the higher heating value, heat that is supplied not counted [1]."""
    return float(one.row.stack_efficiency * (1.0 + one.row.cell_heat_supplied))


def in_percent(share: float) -> str:
    """A share with three digits: an efficiency on the higher heating value may lie above one.

    Examples
    --------
    >>> in_percent(1.0364).replace(style.NARROW, " ")
    '104 %'
    """
    return f"{style.number(100.0 * share)}{style.NARROW}%"


def cell_words(results: Results, name: str, one: Opened, place: tuple[Any, float, float]) -> str:
    """Where the design works, what each part takes there, and what heat is left."""
    cell, temperature, pressure = place
    current = one.inputs["current_density"]
    parts, shares = cell_curve(cell, np.array([current]), temperature, pressure)
    volts = sum(float(part[0]) for part in parts.values())
    stated = abs(volts / float(one.row.cell_voltage) - 1.0) > LEAST
    eta = float(shares["faradaic_efficiency"][0])
    each = ", ".join(
        f"{words} {style.percent(eta * float(parts[key][0]) / volts)}"
        for key, words, _, _ in LAYERS
        if float(parts[key][0]) > LEAST
    )
    lost = ""
    if 1.0 - eta > LEAST:
        lost = (
            f"; {style.percent(1.0 - eta)} of the current makes no gas (cross-over, currents past the cells)"
        )
    kind = str(one.study.options["cell_kind"]).replace("_", " ")
    where = (
        f"{style.quantity_text('cell_temperature', temperature)} and "
        f"{style.quantity_text('cell_pressure', pressure)}"
    )
    low = efficiency(one) * vapour_voltage() / neutral_voltage()
    point = (
        f"{style.quantity_text('current_density', current)}, {style.number(float(one.row.cell_voltage))}"
        f"{style.NARROW}V: {in_percent(efficiency(one))} on the higher and {in_percent(low)} on the lower "
        "heating value"
    )
    text = (
        f"A new {kind} cell at {where}; star: best design of {style.title_of(results, name)}, at {point}. "
        f"On the curve there, {each}{lost}. "
    )
    if stated:
        text += "The study states the stack efficiency, so the star need not lie on the curve. "
    return text + heat_words(one, thermoneutral(cell, temperature)) + range_words(results, current)


def heat_words(one: Opened, level: float) -> str:
    """Whether the cell sheds heat or asks for it."""
    supplied = float(one.row.cell_heat_supplied)
    if supplied > 0.0:
        return (
            f"Below the thermoneutral voltage, {style.number(level, 4)}{style.NARROW}V with its water fed cold, "
            f"it lacks heat, made from {style.percent(supplied)} more electricity than the stack draws; that counted, "
            f"{in_percent(float(one.row.stack_efficiency))} on the higher heating value."
        )
    return (
        f"Above the thermoneutral voltage, {style.number(level, 4)}{style.NARROW}V, a cell warms itself: "
        f"{style.percent(float(one.row.cell_heat_fraction))} of the electrolyser's power leaves as heat."
    )


def range_words(results: Results, current: float) -> str:
    """A word where the design runs its cell harder than its kind has been run."""
    most = highest_current(results)
    if current <= most:
        return ""
    return f" Beyond {style.quantity_text('current_density', most)} the curve is extrapolated."
