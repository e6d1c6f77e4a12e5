"""Where each watt went: bands from the supply to the jet, as thick as the power in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.bench.streams import Streams, arranged, is_useful
from tradespace.figures.registry import captioned

if TYPE_CHECKING:
    from tradespace.bench.records import Loss
    from tradespace.figures.bench.streams import Band
    from tradespace.physics.compiled import FloatArray

PATTERNS = {"measured": "", "modelled": "/", "by difference": "."}
"""How a band is filled for each basis, so that it can be told in grey."""
PASSED, USEFUL, LOST = style.TOL_MUTED[4], style.TOL_MUTED[1], style.TOL_MUTED[0]
LAST_STREAM = 0.74
"""Where the last stream begins; the bands end at 1."""
FALL = 0.26
"""How far a band runs while it sinks to where it ends."""
EDGE = 2.15
"""Right end of the axis: the other half of the drawing is left to the labels."""
UPPER = 34.0
"""By how much the names of every other stream stand higher [px]."""
SMOOTH = np.linspace(0.0, 1.0, 25)


@dataclass
class Sheet:
    """What a drawing is made of, put together at once."""

    traces: list[go.Scatter] = field(default_factory=list)
    notes: list[dict[str, Any]] = field(default_factory=list)
    shapes: list[dict[str, Any]] = field(default_factory=list)

    def note(self, x: float, y: float, words: str, side: str, anchor: str) -> None:
        """Words at a place."""
        self.notes.append(
            {"x": x, "y": y, "text": words, "showarrow": False, "xanchor": side, "align": side, "yanchor": anchor,
             "font": {"size": 11}}
        )  # fmt: skip


def power_flow(losses: Sequence[Loss]) -> go.Figure | None:
    """Bands from the supply to the jet with a label at every end; None where no power is known.

    Parameters
    ----------
    losses : sequence of Loss
        Parts of every stream, in any order.
    """
    found = arranged(losses)
    if found is None:
        return None
    sheet = Sheet()
    step = LAST_STREAM / max(*found.depth.values(), 1)
    for band in found.bands:
        _band(sheet, found, band, step)
    for name in found.names:
        _stream(sheet, found, name, step)
    for words, shape in PATTERNS.items():
        if any(band.loss.basis == words for band in found.bands):
            sheet.traces.append(_sample(words, shape))
    drawn = go.Figure(sheet.traces)
    style.styled(drawn, round(found.height + 76.0))
    hidden = {"visible": False, "fixedrange": True}
    drawn.update_xaxes(**hidden, range=[-0.08, EDGE], title_text="Way from the supply to the jet (–)")
    drawn.update_yaxes(**hidden, range=[found.height, 0.0], title_text="Thickness of a band: power (W)")
    drawn.update_layout(
        margin={"l": 6, "r": 6, "t": 40, "b": 24}, legend={"itemclick": False, "itemdoubleclick": False},
        annotations=sheet.notes, shapes=sheet.shapes,
    )  # fmt: skip
    return captioned(drawn, flow_words(losses, found))


def _band(sheet: Sheet, found: Streams, band: Band, step: float) -> None:
    """A band with its label, or with a line to it where the band leads into a further stream."""
    start = step * found.depth[band.loss.begins]
    if band.target is not None:
        end = step * found.depth[band.target]
        _ribbon(sheet, band, (start, end), PASSED)
        if band.slot is not None:
            x, y = 0.5 * (start + end), 0.5 * (band.top + band.end + band.thickness)
            _leader(sheet, x, y, band.slot)
            _label(sheet, band.loss, found.whole, band.slot)
        return
    _ribbon(sheet, band, (start, 1.0), USEFUL if is_useful(band.loss) else LOST)
    _label(sheet, band.loss, found.whole, band.end + 0.5 * band.thickness)


def _course(across: tuple[float, float], down: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
    """From one place to another: first sinking, then level."""
    fall = min(FALL, across[1] - across[0])
    x = np.append(across[0] + fall * SMOOTH, across[1])
    y = np.append(down[0] + (down[1] - down[0]) * SMOOTH**2 * (3.0 - 2.0 * SMOOTH), down[1])
    return x, y


def _ribbon(sheet: Sheet, band: Band, across: tuple[float, float], colour: str) -> None:
    """A band from one place to another."""
    x, y = _course(across, (band.top, band.end))
    sheet.traces.append(
        go.Scatter(
            x=np.concatenate([x, x[::-1]]).round(4), y=np.concatenate([y, y[::-1] + band.thickness]).round(2),
            mode="lines", line={"width": 0.6, "color": style.WHITE}, name=style.escape(band.loss.name),
            showlegend=False, hoverinfo="skip", meta={"drawing_only": True},
            **_filled(colour, PATTERNS.get(band.loss.basis, "")),
        )
    )  # fmt: skip


def _leader(sheet: Sheet, x: float, y: float, end: float) -> None:
    """A thin line from a band inside the drawing to its label."""
    across, down = _course((x, 1.0), (y, end))
    sheet.traces.append(
        go.Scatter(
            x=across.round(4), y=down.round(2), mode="lines", line={"width": 1, "color": style.BLACK, "dash": "dot"},
            showlegend=False, hoverinfo="skip", meta={"drawing_only": True},
        )
    )  # fmt: skip


def _filled(colour: str, shape: str) -> dict[str, Any]:
    """Colour and pattern of an area."""
    filled: dict[str, Any] = {"fill": "toself", "fillcolor": colour}
    if shape:
        filled["fillpattern"] = {
            "shape": shape, "fillmode": "replace", "bgcolor": colour, "fgcolor": style.WHITE, "size": 7,
            "solidity": 0.3,
        }  # fmt: skip
    return filled


def _sample(words: str, shape: str) -> go.Scatter:
    """A basis in the legend."""
    return go.Scatter(
        x=[None], y=[None], mode="lines", line={"width": 0.6, "color": style.BLACK}, name=words,
        meta={"drawing_only": True}, **_filled(LOST, shape),
    )  # fmt: skip


def _stream(sheet: Sheet, found: Streams, name: str, step: float) -> None:
    """The beginning of a stream, with its name and power above, or below where it lies beside the others."""
    x, top = step * found.depth[name], found.tops[name]
    bottom = top + found.thickness(name)
    sheet.shapes.append(
        {"type": "rect", "x0": x - 0.006, "x1": x + 0.006, "y0": top, "y1": bottom, "fillcolor": style.INK,
         "line": {"width": 0}}
    )  # fmt: skip
    power = f"<b>{watts(found.power[name])}</b>"
    if name in found.main:
        raised = UPPER if found.main.index(name) % 2 else 0.0
        if raised:
            line = {"color": style.INK, "width": 0.8, "dash": "dot"}
            sheet.shapes.append(
                {"type": "line", "x0": x, "x1": x, "y0": top - raised, "y1": top, "line": line}
            )
        side = "left" if x == 0.0 else "center"
        sheet.note(x, top - raised, f"{style.escape(name)}<br>{power}", side, "bottom")
        return
    sheet.note(x - 0.015, bottom, f"{style.wrapped(name, 9)}<br>{power}", "right", "top")


def _label(sheet: Sheet, loss: Loss, whole: float, place: float) -> None:
    """Name, watts and share at the end of a band."""
    name = style.escape(sentence_case(loss.name))
    sheet.note(1.02, place, f"<b>{name}</b><br>{amount(loss, whole)}", "left", "middle")


def sentence_case(words: str) -> str:
    """Words that begin a line."""
    return words[:1].upper() + words[1:]


def watts(power: float, digits: int = 3) -> str:
    r"""A power in the unit in which it is a handy number.

    Examples
    --------
    >>> watts(5800.0), watts(0.0123), watts(45.25)
    ('5.8\xa0kW', '12.3\xa0mW', '45.2\xa0W')
    """
    if abs(power) >= 1e3:
        return f"{style.number(1e-3 * power, digits)}{style.NARROW}kW"
    if 0.0 < abs(power) < 0.1:
        return f"{style.number(1e3 * power, digits)}{style.NARROW}mW"
    return f"{style.number(power, digits)}{style.NARROW}W"


def amount(loss: Loss, whole: float) -> str:
    """Power with two standard uncertainties, share of the whole, and basis."""
    spread = (
        f" ± {watts(2.0 * loss.deviation, 2)}" if np.isfinite(loss.deviation) and loss.deviation > 0.0 else ""
    )
    return f"{watts(loss.power)}{spread}, {share(loss.power, whole)}, {loss.basis}"


def share(power: float, whole: float) -> str:
    """A power over the whole as a percentage."""
    part = 100.0 * power / whole
    return f"{style.number(part, 2 if abs(part) < 10.0 else 3)}{style.NARROW}%"


def flow_words(losses: Sequence[Loss], found: Streams) -> str:
    """The flow in words: what reaches the jet, the losses by size, what passes within, and what is not drawn."""
    final = [band.loss for band in found.bands if band.target is None]
    lost = sorted((one for one in final if not is_useful(one)), key=lambda one: -one.power)
    within = [band.loss for band in found.bands if band.target is not None and band.slot is not None]
    roots = " and ".join(name for name in found.main if found.depth.get(name) == 0) or found.names[0]
    text = f"{watts(found.whole)} in the {roots}; a band is as thick as the power in it. "
    text += "".join(f"What is useful: {_named(one, found.whole)}. " for one in final if is_useful(one))
    if lost:
        text += (
            f"What ends elsewhere, the largest first: {'; '.join(_named(one, found.whole) for one in lost)}."
        )
    if within:
        text += (
            f" Within: {'; '.join(_named(one, found.whole) + f', into the {one.ends}' for one in within)}."
        )
    below = [
        f"{one.name} ({watts(one.power)})" for one in losses if np.isfinite(one.power) and one.power < 0.0
    ]
    if below:
        text += f" Not drawn, since they add power instead of taking it: {'; '.join(below)}."
    unknown = [one.name for one in losses if not np.isfinite(one.power)]
    if unknown:
        text += f" Not known from the readings: {', '.join(unknown)}."
    return text + " ± is two standard uncertainties."


def _named(loss: Loss, whole: float) -> str:
    """A part in words."""
    return f"{loss.name} {watts(loss.power)} ({share(loss.power, whole)}, {loss.basis})"
