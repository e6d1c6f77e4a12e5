"""What the page may ask: every request is read as numbers and known names, and anything else is refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dash.exceptions import PreventUpdate

from tradespace.dashboard.explorer import Design

if TYPE_CHECKING:
    from tradespace.dashboard.drawings import Named
    from tradespace.dashboard.explorer import Explorer

PINS = 6
"""Designs that can be pinned."""
LIVE = "this design"


@dataclass(frozen=True)
class Asked:
    """One request of the page."""

    number: int
    design: Design
    axes: tuple[str, str] | None
    pins: tuple[tuple[int, Design], ...]

    @property
    def named(self) -> list[Named]:
        """Pinned designs with their names, the live one last."""
        return [*((f"pin {number}", design) for number, design in self.pins), (LIVE, self.design)]


def read_design(explorer: Explorer, architecture: object, positions: object) -> Design:
    """A design from what the page sent.

    Raises
    ------
    PreventUpdate
        If it is not an architecture of the study with one whole number on the track for each slider.
    """
    tracks = list(explorer.variables.values())
    if architecture not in explorer.study.architectures or not isinstance(positions, list):
        raise PreventUpdate
    if len(positions) != len(tracks):
        raise PreventUpdate
    places = []
    for track, raw in zip(tracks, positions, strict=True):
        if isinstance(raw, str) and raw.isascii() and raw.isdigit() and len(raw) < 6:
            raw = int(raw)  # noqa: PLW2901  (a slider sends its position as text)
        if isinstance(raw, bool) or not isinstance(raw, int) or not 0 <= raw <= track.steps:
            raise PreventUpdate
        places.append(raw)
    return Design(str(architecture), tuple(places))


def read_pins(explorer: Explorer, raw: object) -> tuple[tuple[int, Design], ...]:
    """Pinned designs with their numbers.

    Raises
    ------
    PreventUpdate
        If they are not what the page would have sent.
    """
    if not isinstance(raw, list) or len(raw) > PINS:
        raise PreventUpdate
    found = []
    for item in raw:
        number = item.get("number") if isinstance(item, dict) else None
        if isinstance(number, bool) or not isinstance(number, int) or not 0 < number < 10**6:
            raise PreventUpdate
        found.append((number, read_design(explorer, item.get("architecture"), item.get("positions"))))
    return tuple(found)


def read_asked(explorer: Explorer, raw: Any) -> Asked:
    """A request of the page.

    Raises
    ------
    PreventUpdate
        If it is not what the page would have sent.
    """
    if (
        not isinstance(raw, dict)
        or isinstance(raw.get("number"), bool)
        or not isinstance(raw.get("number"), int)
    ):
        raise PreventUpdate
    design = read_design(explorer, raw.get("architecture"), raw.get("positions"))
    axes, known = raw.get("axes"), explorer.variables
    if not isinstance(axes, list) or len(axes) != 2:
        raise PreventUpdate
    usable = all(isinstance(name, str) and name in known for name in axes) and axes[0] != axes[1]
    return Asked(
        raw["number"], design, (axes[0], axes[1]) if usable else None, read_pins(explorer, raw.get("pins"))
    )


def written_pins(pins: tuple[tuple[int, Design], ...]) -> list[dict[str, Any]]:
    """Pinned designs as the page keeps them."""
    return [
        {"number": number, "architecture": design.architecture, "positions": list(design.positions)}
        for number, design in pins
    ]
