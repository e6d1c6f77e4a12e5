"""Where each watt went: bands from the supply to the jet, as thick as the power in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.registry import captioned

if TYPE_CHECKING:
    from tradespace.bench.records import Loss
    from tradespace.physics.compiled import FloatArray

PATTERNS = {"measured": "", "modelled": "/", "by difference": "."}
"""How a band is filled for each basis, so that it can be told in grey."""
PASSED, USEFUL, LOST = style.TOL_MUTED[4], style.TOL_MUTED[1], style.TOL_MUTED[0]
WHOLE = 150.0
"""Thickness of all the power [px]."""
THINNEST = 1.5
SLOT, GAP, HEAD = 37.0, 9.0, 56.0
"""Least height of a label, what is left between bands, and room for the names of the streams [px]."""
LAST_STREAM = 0.72
"""Where the last stream begins; the bands end at 1."""
EDGE = 2.15
"""Right end of the axis: half of the drawing is left to the labels."""
SMOOTH = np.linspace(0.0, 1.0, 25)
FEW = 4


@dataclass
class Band:
    """A part of the power on its way: into a further stream, or to where it ends."""

    loss: Loss
    parts: list[Band] = field(default_factory=list)
    """What the stream it leads into is split into; none where it ends."""

    @property
    def thickness(self) -> float:
        """Power in the band, or in its parts where they are more [W]."""
        return max(self.loss.power, sum(part.thickness for part in self.parts))

    @property
    def leaves(self) -> int:
        """How many ends it has."""
        return sum(part.leaves for part in self.parts) or 1


def grown(losses: Sequence[Loss]) -> list[Band]:
    """The parts of the first stream with all that follows from them; further streams come first."""
    streams = {one.begins for one in losses}
    entered = {one.ends for one in losses}
    roots = [name for name in dict.fromkeys(one.begins for one in losses) if name not in entered]

    def parts(name: str, seen: frozenset[str]) -> list[Band]:
        found = [
            Band(one, parts(one.ends, seen | {name}) if one.ends in streams - seen - {name} else [])
            for one in losses
            if one.begins == name
        ]
        return sorted(found, key=lambda band: not band.parts and not is_useful(band.loss))

    return [band for root in roots for band in parts(root, frozenset())]


def is_useful(loss: Loss) -> bool:
    """Whether it is the power that the chain is for."""
    return "jet" in (loss.name.lower(), loss.ends.lower())


def power_flow(losses: Sequence[Loss]) -> go.Figure | None:
    """Bands from the supply to the jet with a label at every end; None where no power is known.

    Parameters
    ----------
    losses : sequence of Loss
        Parts of every stream, in any order.
    """
    known = [one for one in losses if np.isfinite(one.power) and one.power > 0.0]
    bands = grown(known)
    whole = sum(band.thickness for band in bands)
    if not bands:
        return None
    drawn = go.Figure()
    ends = _Ends(whole)
    root = bands[0].loss.begins
    _stream(drawn, root, whole, 0.0, ends.top)
    _split(drawn, bands, 0.0, ends.top, ends, LAST_STREAM / max(_depth(bands) - 1, 1))
    for words, shape in PATTERNS.items():
        if any(one.basis == words for one in known):
            drawn.add_trace(_sample(words, shape))
    style.styled(drawn, round(ends.top + 76.0))
    hidden = {"visible": False, "fixedrange": True}
    drawn.update_xaxes(**hidden, range=[-0.08, EDGE], title_text="Way from the supply to the jet (–)")
    drawn.update_yaxes(**hidden, range=[ends.top, 0.0], title_text="Thickness of a band: power (W)")
    drawn.update_layout(
        margin={"l": 6, "r": 6, "t": 40, "b": 24}, legend={"itemclick": False, "itemdoubleclick": False}
    )
    return captioned(drawn, flow_words(losses, bands, whole))


class _Ends:
    """Where the next band ends, counted down from the upper edge [px]."""

    def __init__(self, whole: float) -> None:
        self.whole, self.top = whole, HEAD

    def height(self, power: float) -> float:
        return max(WHOLE * power / self.whole, THINNEST)

    def take(self, power: float) -> float:
        """The upper edge of a band that ends here; the next one ends below."""
        place = self.top
        self.top += max(self.height(power) + GAP, SLOT)
        return place


def _depth(bands: Sequence[Band]) -> int:
    """How many streams follow each other."""
    return 1 + max((_depth(band.parts) for band in bands if band.parts), default=0)


def _split(
    drawn: go.Figure, bands: Sequence[Band], start: float, top: float, ends: _Ends, step: float
) -> None:
    """Draw the parts of a stream that begins at a place, and all that follows."""
    offset = top
    for band in bands:
        height = ends.height(band.thickness)
        if band.parts:
            place = ends.top
            _ribbon(drawn, band.loss, (start, start + step), (offset, place), height, PASSED)
            _stream(drawn, band.loss.ends, band.thickness, start + step, place, height)
            _split(drawn, band.parts, start + step, place, ends, step)
        else:
            place = ends.take(band.loss.power)
            colour = USEFUL if is_useful(band.loss) else LOST
            _ribbon(drawn, band.loss, (start, 1.0), (offset, place), height, colour)
            _label(drawn, band.loss, ends.whole, place + 0.5 * height)
        offset += height


def _ribbon(
    drawn: go.Figure,
    loss: Loss,
    across: tuple[float, float],
    down: tuple[float, float],
    height: float,
    colour: str,
) -> None:
    """A band from one place to another."""
    x = across[0] + (across[1] - across[0]) * SMOOTH
    y = down[0] + (down[1] - down[0]) * SMOOTH**2 * (3.0 - 2.0 * SMOOTH)
    drawn.add_trace(
        go.Scatter(
            x=np.concatenate([x, x[::-1]]).round(4),
            y=np.concatenate([y, y[::-1] + height]).round(2),
            mode="lines",
            line={"width": 0.6, "color": style.WHITE},
            name=style.escape(loss.name),
            showlegend=False,
            hoverinfo="skip",
            meta={"drawing_only": True},
            **_filled(colour, PATTERNS.get(loss.basis, "")),
        )
    )


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


def _stream(drawn: go.Figure, name: str, power: float, x: float, top: float, height: float = WHOLE) -> None:
    """The beginning of a stream, with its name and power above."""
    drawn.add_shape(
        type="rect", x0=x - 0.006, x1=x + 0.006, y0=top, y1=top + height, fillcolor=style.INK, line_width=0
    )
    drawn.add_annotation(
        x=x, y=top, text=f"{style.wrapped(name, 11)}<br><b>{watts(power)}</b>", showarrow=False, yanchor="bottom",
        xanchor="left" if x == 0.0 else "center", align="left" if x == 0.0 else "center", font={"size": 11},
    )  # fmt: skip


def _label(drawn: go.Figure, loss: Loss, whole: float, place: float) -> None:
    """Name, watts and share at the end of a band."""
    colour = style.INK
    drawn.add_annotation(
        x=1.02, y=place, text=f"<b>{style.escape(sentence_case(loss.name))}</b><br>{amount(loss, whole)}",
        showarrow=False, xanchor="left", align="left", font={"size": 11, "color": colour},
    )  # fmt: skip


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


def flow_words(losses: Sequence[Loss], bands: Sequence[Band], whole: float) -> str:
    """The flow in words: what reaches the jet, the losses by size, and what is not drawn."""
    root = bands[0].loss.begins
    final = _final(bands)
    useful = [one for one in final if is_useful(one)]
    lost = sorted((one for one in final if not is_useful(one)), key=lambda one: -one.power)
    named = [f"{one.name} {watts(one.power)} ({share(one.power, whole)}, {one.basis})" for one in lost]
    text = f"{watts(whole)} in the {root}; a band is as thick as the power in it. "
    text += "".join(
        f"The {one.name} holds {watts(one.power)} ({share(one.power, whole)}, {one.basis}). "
        for one in useful
    )
    text += f"Parts that end elsewhere, the largest first: {'; '.join(named)}." if named else ""
    below = [
        f"{one.name} ({watts(one.power)})" for one in losses if np.isfinite(one.power) and one.power < 0.0
    ]
    if below:
        text += f" Not drawn, since they add power instead of taking it: {'; '.join(below)}."
    unknown = [one.name for one in losses if not np.isfinite(one.power)]
    if unknown:
        text += f" Not known from the readings: {', '.join(unknown)}."
    return text + " ± is two standard uncertainties."


def _final(bands: Sequence[Band]) -> list[Loss]:
    """Everything that ends."""
    return [one for band in bands for one in (_final(band.parts) if band.parts else [band.loss])]


def layout_of(losses: Sequence[Loss]) -> FloatArray:
    """Powers of the ends from top to bottom [W]."""
    known = [one for one in losses if np.isfinite(one.power) and one.power > 0.0]
    return np.array([one.power for one in _final(grown(known))])
