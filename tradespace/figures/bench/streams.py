"""How the streams of power hang together, and where their bands run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tradespace.bench.records import Loss

USEFUL = ("jet", "gas fed")
"""Where power ends that the chain is for: in the jet, or in gas where no engine was read."""
WHOLE = 150.0
"""Thickness of all the power [px]."""
THINNEST = 1.5
SLOT, GAP = 37.0, 9.0
"""Least height of a label, and what is left between bands [px]."""
HEAD = 88.0
"""Room for the names of the streams [px]."""
ASIDE = 24.0
"""Room above a stream that lies beside the others [px]."""


@dataclass
class Band:
    """A part of the power, with where it is drawn [px, downward]."""

    loss: Loss
    target: str | None
    """The stream it leads into; None where it ends."""
    thickness: float
    top: float = 0.0
    """Upper edge where it leaves its stream."""
    end: float = 0.0
    """Upper edge where it arrives."""
    slot: float | None = None
    """Where its own label stands, for a band that leads into a stream beside the others."""


@dataclass
class Streams:
    """Streams with the bands between them."""

    whole: float
    """Power of the first stream [W]."""
    depth: dict[str, int]
    """How many streams lie before each."""
    power: dict[str, float]
    """Of each stream: what leaves it, or what enters it where that is more [W]."""
    main: list[str] = field(default_factory=list)
    """Streams from the first to the last."""
    tops: dict[str, float] = field(default_factory=dict)
    """Upper edge of each stream [px]."""
    bands: list[Band] = field(default_factory=list)
    height: float = HEAD
    """Of the drawing [px]."""

    @property
    def names(self) -> list[str]:
        """The streams, the first one leading."""
        return list(self.depth)

    def thickness(self, name: str) -> float:
        """Of a stream [px]."""
        return WHOLE * self.power[name] / self.whole

    def take(self, thickness: float) -> float:
        """The upper edge of what ends at the right: in the middle of its slot, but for the first."""
        room = max(thickness + GAP, SLOT)
        place = self.height + (0.5 * (room - thickness) if self.height > HEAD else 0.0)
        self.height += room
        return place


def is_useful(loss: Loss) -> bool:
    """Whether it is the power that the chain is for."""
    return loss.ends in USEFUL


def arranged(losses: Sequence[Loss]) -> Streams | None:
    """Streams and bands with their places; None where no power is known or no stream comes first.

    Bands leave a stream in the order of its parts, further streams first and the longest way leading, and slots are
    given out in the same order from above, so that no two bands cross on their way to the right.
    """
    known = [one for one in losses if np.isfinite(one.power) and one.power > 0.0]
    parts: dict[str, list[Loss]] = {}
    for one in known:
        parts.setdefault(one.begins, []).append(one)
    entered = {one.ends for one in known}
    roots = [name for name in parts if name not in entered]
    if not roots:
        return None
    depth = _depths(parts, roots)
    power = {
        name: max(
            sum(one.power for one in parts[name]),
            sum(one.power for one in known if one.ends == name and one.begins in depth),
        )
        for name in depth
    }
    found = Streams(sum(power[name] for name in roots), depth, power)
    inward: dict[str, float] = {}
    visited: set[str] = set()
    for root in roots:
        _place(found, parts, root, inward, visited)
    return found


def _depths(parts: dict[str, list[Loss]], roots: Sequence[str]) -> dict[str, int]:
    """Longest way to each stream; one that leads back to where it came from is not followed."""
    depth: dict[str, int] = {}

    def follow(name: str, before: int, way: frozenset[str]) -> None:
        depth[name] = max(depth.get(name, 0), before)
        for one in parts[name]:
            if one.ends in parts and one.ends not in way:
                follow(one.ends, before + 1, way | {one.ends})

    for root in roots:
        follow(root, 0, frozenset({root}))
    return dict(sorted(depth.items(), key=lambda pair: pair[1]))


def _place(
    found: Streams, parts: dict[str, list[Loss]], root: str, inward: dict[str, float], visited: set[str]
) -> None:
    """Give every band of the streams behind a root its place; those that another root leads to have theirs already."""
    outward = {name: _ordered(found, parts[name]) for name in found.depth}
    name: str | None = root
    start = found.height
    while name is not None and name not in found.tops:
        found.main.append(name)
        found.tops[name] = start
        first = outward[name][0]
        name = first.target
    aside = start + WHOLE + ASIDE

    def visit(name: str) -> None:
        nonlocal aside
        offset = found.tops[name]
        for band in outward[name]:
            band.top = offset
            offset += band.thickness
        for band in outward[name]:
            found.bands.append(band)
            if band.target is None:
                band.end = found.take(band.thickness)
                continue
            if band.target not in found.tops:
                found.tops[band.target] = aside
                aside += found.thickness(band.target) + 2.0 * ASIDE
            band.end = inward.get(band.target, found.tops[band.target])
            inward[band.target] = band.end + band.thickness
            if band.target not in visited:
                visited.add(band.target)
                visit(band.target)
            if band.target not in found.main or name not in found.main:
                band.slot = found.take(0.0)

    visited.add(root)
    visit(root)


def _ordered(found: Streams, losses: Sequence[Loss]) -> list[Band]:
    """Parts of a stream as bands from above: into further streams, the farthest first, the useful, the rest."""
    bands = [
        Band(
            one,
            one.ends if found.depth.get(one.ends, -1) > found.depth[one.begins] else None,
            max(WHOLE * one.power / found.whole, THINNEST),
        )
        for one in losses
    ]

    def rank(band: Band) -> tuple[int, bool]:
        return (-(found.depth[band.target]) if band.target is not None else 1, not is_useful(band.loss))

    return sorted(bands, key=rank)
