"""The pieces of an HTML page: escaped text, tables with scopes, figures with captions."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from tradespace.figures import DrawnFigure, html_fragment
from tradespace.tables import DATA

SCRIPT = "vendor/plotly-cartesian-3.7.0.min.js"
POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; "
    "font-src data:; "
    "base-uri 'none'; form-action 'none'"
)


DRAWING = """
const waiting = () => [...document.querySelectorAll('.plotly-graph-div:not([data-begun])')];
function draw(place) {
  place.dataset.begun = 'yes';
  const given = JSON.parse(document.querySelector(`script[data-plot="${place.id}"]`).textContent);
  return Plotly.newPlot(place, given.data, given.layout, given.config);
}
function drawNext() {
  const next = waiting()[0];
  if (next) { draw(next); setTimeout(drawNext, 60); }
}
addEventListener('load', () => {
  const near = new IntersectionObserver(seen => seen.filter(one => one.isIntersecting).forEach(one => {
    near.unobserve(one.target);
    if (!one.target.dataset.begun) draw(one.target);
  }), {rootMargin: '300px'});
  waiting().forEach(one => near.observe(one));
  setTimeout(drawNext, 400);
});
"""
"""Figures are drawn as they come near the view, the others one by one while the reader reads."""
PRINTING = """
const plots = () => document.querySelectorAll('.js-plotly-plot');
addEventListener('beforeprint', () => {
  waiting().forEach(draw);
  document.querySelectorAll('details:not(.long)').forEach(one => { one.dataset.was = one.open; one.open = true; });
  plots().forEach(one => Plotly.relayout(one, {width: 680}));
});
addEventListener('afterprint', () => {
  document.querySelectorAll('details:not(.long)').forEach(one => { one.open = one.dataset.was === 'true'; });
  plots().forEach(one => Plotly.relayout(one, {width: null, autosize: true}));
});
"""
"""Plots as wide as a sheet of paper, and nothing but the long tables folded away, while the page is printed."""


class Markup(str):
    """Text that is HTML already; everything else is escaped."""

    __slots__ = ()


def text(value: object) -> Markup:
    """Escaped text, or markup as it is.

    Examples
    --------
    >>> text("<b>"), text(Markup("<b>"))
    ('&lt;b&gt;', '<b>')
    """
    return value if isinstance(value, Markup) else Markup(html.escape(str(value)))


def paragraph(*parts: object, look: str = "") -> Markup:
    """A paragraph of text or markup."""
    shape = f' class="{look}"' if look else ""
    return Markup(f"<p{shape}>" + "".join(text(part) for part in parts) + "</p>")


def tag(words: str, look: str = "") -> Markup:
    """A short word in a box."""
    return Markup(f'<span class="tag {look}">{html.escape(words)}</span>')


def yes_no(value: bool) -> Markup:
    """Yes or no, in words and colour."""
    return Markup('<span class="yes">yes</span>' if value else '<span class="no">no</span>')


@dataclass(frozen=True)
class Row:
    """Cells of a table row; ``group`` makes it a heading over the rows below."""

    cells: Sequence[object]
    look: str = ""
    group: bool = False


@dataclass
class Section:
    """A part of the page with its place in the navigation."""

    key: str
    title: str
    parts: list[Markup] = field(default_factory=list)

    def markup(self) -> Markup:
        """The section as HTML."""
        inside = "\n".join(self.parts)
        return Markup(
            f'<section id="{self.key}" aria-labelledby="{self.key}-title"><h2 '
            f'id="{self.key}-title">{html.escape(self.title)}</h2>\n'
            f"{inside}\n</section>"
        )


def table(
    caption: object,
    headings: Sequence[str],
    rows: Iterable[Row],
    numeric: Sequence[int] = (),
    look: str = "",
) -> Markup:
    """A table whose first column heads its rows; numeric columns are set to the right."""
    shape = f' class="{look}"' if look else ""
    sides = [' class="n"' if place in numeric else "" for place in range(len(headings))]
    head = "".join(
        f'<th scope="col"{sides[place]}>{html.escape(words)}</th>' for place, words in enumerate(headings)
    )
    lines = []
    for row in rows:
        if row.group:
            lines.append(f'<tr><th scope="rowgroup" colspan="{len(headings)}">{text(row.cells[0])}</th></tr>')
            continue
        first = f'<th scope="row"{sides[0]}>{text(row.cells[0])}</th>'
        rest = "".join(
            f"<td{sides[place]}>{text(cell)}</td>" for place, cell in enumerate(row.cells) if place
        )
        lines.append(f'<tr class="{row.look}">{first}{rest}</tr>' if row.look else f"<tr>{first}{rest}</tr>")
    return Markup(
        '<div class="scroll" tabindex="0" role="region" aria-label="table">'
        f"<table{shape}><caption>{text(caption)}</caption><thead><tr>{head}</tr></thead><tbody>\n"
        + "\n".join(lines)
        + "\n</tbody></table></div>"
    )


def figure_block(drawn: DrawnFigure) -> Markup:
    """A figure under its heading, with caption and source."""
    return Markup(
        f'<h3 id="{drawn.key}">{html.escape(drawn.title)}</h3>\n<figure aria-labelledby="{drawn.key}">'
        f'<div class="plot">{html_fragment(drawn)}</div>'
        f"<figcaption>{html.escape(drawn.caption)}<small>{html.escape(drawn.source)}</small>"
        "</figcaption></figure>"
    )


def details(summary: str, inside: Markup, look: str = "") -> Markup:
    """Something folded away until it is asked for; ``long`` stays folded on paper."""
    shape = f' class="{look}"' if look else ""
    return Markup(f"<details{shape}><summary>{html.escape(summary)}</summary>{inside}</details>")


def facts(pairs: Iterable[tuple[str, object]]) -> Markup:
    """Names and values, two columns."""
    return Markup(
        '<dl class="facts">'
        + "".join(f"<dt>{html.escape(name)}</dt><dd>{text(value)}</dd>" for name, value in pairs)
        + "</dl>"
    )


def page(title: str, header: Markup, sections: Sequence[Section]) -> str:
    """One page that asks nothing of the network."""
    script = re.sub(
        r"</(?=script)", r"<\\/", (DATA / SCRIPT).read_text(encoding="utf-8"), flags=re.IGNORECASE
    )
    style = (DATA / "report.css").read_text(encoding="utf-8")
    links = "".join(f'<li><a href="#{one.key}">{html.escape(one.title)}</a></li>' for one in sections)
    body = "\n".join(one.markup() for one in sections)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta '
        f'http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{html.escape(title)}</title><link rel="icon" href="data:,">\n'
        f"<style>\n{style}</style>\n<script>{script}</script><script>{DRAWING}{PRINTING}</script></head>\n"
        f'<body><a class="skip" href="#main">Skip to the verdict</a>\n<header>{header}</header>\n<div '
        'class="layout">\n'
        f'<nav aria-label="Sections"><ol>{links}</ol></nav>\n<main id="main">\n{body}\n</main></div>'
        "</body></html>\n"
    )
