"""The list of figures: a decorated function is found by the report, the exports and the tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from tradespace.comparison import title_of
from tradespace.errors import unknown_name
from tradespace.results import Results
from tradespace.sweep import versions

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from tradespace.touring import Tours

Draw = TypeVar("Draw", bound=Callable[..., Any])
RUN, SEARCH = "run", "search"


@dataclass(frozen=True)
class FigureKind:
    """One registered figure function."""

    key: str
    title: str
    section: str
    """Report section in which it stands."""
    draw: Callable[..., go.Figure | None]
    variants: Callable[[Results], Sequence[str]] | None
    """Names for which the figure is drawn once each; None for a single figure."""
    width: int
    """Printed width for which the words are sized [mm]."""
    of: str = RUN
    """What it is drawn of: the results of a run, or the tours that a search found."""


@dataclass(frozen=True)
class DrawnFigure:
    """A figure with the words that belong to it."""

    key: str
    title: str
    section: str
    figure: go.Figure
    caption: str
    """What it shows, in words computed from the data; plain text."""
    source: str
    """Where its numbers come from; plain text."""
    width: int


_kinds: dict[str, FigureKind] = {}


def figure(
    key: str,
    *,
    title: str,
    section: str,
    width: int = 85,
    variants: Callable[[Results], Sequence[str]] | None = None,
    of: str = RUN,
) -> Callable[[Draw], Draw]:
    """Register a function that takes Results (and a variant, if any) and returns a figure or None.

    With ``of="search"`` it takes the tours that a search found instead.
    """

    def registered(function: Draw) -> Draw:
        if key in _kinds:
            raise ValueError(f"two figures are registered as {key!r}")
        _kinds[key] = FigureKind(key, title, section, function, variants, width, of)
        return function

    return registered


def figures() -> dict[str, FigureKind]:
    """Every registered figure by key."""
    return dict(_kinds)


def captioned(drawn: go.Figure, caption: str) -> go.Figure:
    """Keep the finding in words with the figure."""
    drawn.update_layout(meta={"caption": caption})
    return drawn


def draw_figures(results: Results | Tours, keys: Sequence[str] | None = None) -> Iterator[DrawnFigure]:
    """Draw the registered figures that apply to the results of a run or of a search, in registration order.

    Raises
    ------
    UnknownNameError
        If a key is not registered.
    """
    wanted = list(_kinds) if keys is None else list(keys)
    for key in wanted:
        if key not in _kinds:
            raise unknown_name("figure", key, _kinds)
        kind = _kinds[key]
        if (kind.of == RUN) != isinstance(results, Results):
            continue
        variants: Sequence[str | None] = [None]
        if kind.variants is not None and isinstance(results, Results):
            variants = list(kind.variants(results))
        for variant in variants:
            made = kind.draw(results) if variant is None else kind.draw(results, variant)
            if made is None:
                continue
            name = key if variant is None else f"{key}_{variant}"
            title = kind.title if variant is None else kind.title.format(_variant_words(results, variant))
            caption = str((made.layout.meta or {}).get("caption", ""))
            yield DrawnFigure(name, title, kind.section, made, caption, source_note(results), kind.width)


def _variant_words(results: Results | Tours, variant: str) -> str:
    """What a heading calls one of several: the title of an architecture, the words of a column."""
    if isinstance(results, Results) and variant in results.architectures:
        return title_of(results, variant)
    return variant.replace("_", " ")


def source_note(results: Results | Tours) -> str:
    """Which numbers a figure is drawn from, so that a copy can be traced back."""
    study = results.study
    found = results.versions if isinstance(results, Results) else versions()
    version = found.get("tradespace", "").replace("not installed", "")
    program = f"tradespace {version}".strip()
    if not isinstance(results, Results):
        flown = sum(level.tried for level in results.found.levels)
        return f"Computed by {program} from study {study.name} ({str(study.hash)[:12]}): {flown} hops flown."
    return (
        f"Computed by {program} from study {study.name} ({str(study.hash)[:12]}, seed {study.seed}): "
        f"{len(results.designs)} designs."
    )
