"""A figure to draw on: the library's own, with the changes that touch many of its parts made at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import plotly.graph_objects as go


def plain(part: Any) -> Any:
    """Properties of a part of a figure, or its plain value."""
    return part.to_plotly_json() if hasattr(part, "to_plotly_json") else part


def merged(old: Any, new: Any) -> Any:
    """New properties laid over old ones, level by level."""
    if not isinstance(new, Mapping) or not isinstance(old, Mapping):
        return new
    return {**old, **{name: merged(old.get(name), value) for name, value in new.items()}}


class Sheet(go.Figure):  # type: ignore[misc]
    """A figure whose layout and axes change in one step each.

    The library checks every changed property twice and looks after listeners, of which there are none while a figure is
    drawn. Whole parts with the changes laid over what they held are set ten times sooner and are checked as well.
    """

    def update_layout(self, dict1: Any = None, overwrite: bool = False, **options: Any) -> Sheet:
        """As in the library."""
        changes = {**(plain(dict1) or {}), **options}
        if not overwrite:
            changes = {name: self._laid_over(name, value) for name, value in changes.items()}
        self.layout.update(changes, overwrite=True)
        return self

    def _laid_over(self, name: str, value: Any) -> Any:
        known = isinstance(value, Mapping) and name in self.layout
        return merged(plain(self.layout[name]), value) if known else value

    def update_xaxes(
        self, patch: Any = None, selector: Any = None, overwrite: bool = False, row: Any = None, col: Any = None,
        **options: Any,
    ) -> Sheet:  # fmt: skip
        """As in the library."""
        chosen = self.select_xaxes(selector, row=row, col=col)
        return self._update_axes(chosen, {**(plain(patch) or {}), **options}, overwrite=overwrite)

    def update_yaxes(
        self, patch: Any = None, selector: Any = None, overwrite: bool = False, row: Any = None, col: Any = None,
        secondary_y: Any = None, **options: Any,
    ) -> Sheet:  # fmt: skip
        """As in the library."""
        chosen = self.select_yaxes(selector, row=row, col=col, secondary_y=secondary_y)
        return self._update_axes(chosen, {**(plain(patch) or {}), **options}, overwrite=overwrite)

    def _update_axes(self, axes: Iterable[Any], options: Mapping[str, Any], *, overwrite: bool) -> Sheet:
        inner = {name: value for name, value in options.items() if "_" in name}
        whole = {name: value for name, value in options.items() if "_" not in name}
        changes = {}
        for axis in axes:
            old = axis.to_plotly_json()
            old = {**old, **whole} if overwrite else merged(old, whole)
            changes[axis.plotly_name] = merged(old, spelt_out(inner))
        self.layout.update(changes, overwrite=True)
        return self

    def update_annotations(
        self, patch: Any = None, selector: Any = None, row: Any = None, col: Any = None, secondary_y: Any = None,
        **options: Any,
    ) -> Sheet:  # fmt: skip
        """As in the library, all at once where all are meant."""
        if any(given is not None for given in (selector, row, col, secondary_y)):
            super().update_annotations(patch, selector, row, col, secondary_y, **options)
            return self
        changes = spelt_out({**(plain(patch) or {}), **options})
        self.layout.annotations = [merged(plain(one), changes) for one in self.layout.annotations]
        return self


def spelt_out(options: Mapping[str, Any]) -> dict[str, Any]:
    """Properties of parts, named ``part_property``, as properties in parts."""
    found: dict[str, Any] = {}
    for name, value in options.items():
        part, _, inner = name.partition("_")
        found = merged(found, {part: spelt_out({inner: value})} if inner else {name: value})
    return found
