"""Files that put the bundle together: figures with their captions, and a document to try it all with."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from tradespace.paper.latex import cited, escaped

if TYPE_CHECKING:
    from tradespace.figures import DrawnFigure
    from tradespace.findings import ResultTable
    from tradespace.results import Results

PREAMBLE = r"""\documentclass[10pt,a4paper]{article}
\usepackage{amsmath}
\usepackage{array}
\usepackage{booktabs}
\usepackage{longtable}
\usepackage{graphicx}
\usepackage[margin=25mm]{geometry}
\emergencystretch=3em
"""
COLUMN = 85
"""Figures drawn for no more than this stand in one column [mm]."""
AT_ONCE = 12
"""Floats after which the pending ones are printed."""


def figures_text(drawn: Sequence[DrawnFigure]) -> str:
    """Every figure as a float with its caption; it needs the package graphicx.

    Parameters
    ----------
    drawn : sequence of DrawnFigure
        Those whose pictures were written.
    """
    lines = []
    for place, item in enumerate(drawn):
        narrow = item.width <= COLUMN
        folder = "single" if narrow else "double"
        width = f"{COLUMN}mm" if narrow else r"\linewidth,height=0.78\textheight,keepaspectratio"
        lines += [
            r"\begin{figure}[htbp]",
            r"\centering",
            rf"\includegraphics[width={width}]{{figures/{folder}/{item.key}.pdf}}",
            rf"\caption{{{escaped(item.title)}. {escaped(item.caption)}}}",
            rf"\label{{fig:{item.key}}}",
            r"\end{figure}",
        ]
        if place % AT_ONCE == AT_ONCE - 1:
            lines.append(r"\clearpage")
    return "\n".join(lines) + "\n"


def document_text(
    results: Results, tables: Sequence[ResultTable], drawn: Sequence[DrawnFigure], keys: Collection[str]
) -> str:
    """A small article that inputs everything, to see that it compiles.

    Parameters
    ----------
    results : Results
        What a run gave.
    tables : sequence of ResultTable
        Tables of the bundle.
    drawn : sequence of DrawnFigure
        Figures whose pictures were written.
    keys : collection of str
        Keys of the bibliography.
    """
    study = results.study
    lines = [
        PREAMBLE,
        rf"\title{{{escaped(study.title)}}}",
        rf"\author{{Study {escaped(study.name)}}}",
        r"\date{}",
        r"\begin{document}",
        r"\maketitle",
        cited(study.question, keys),
        "",
        r"\input{methods}",
        r"\section{Results}",
        *(rf"\input{{tables/{table.key}}}" for table in tables),
        *([r"\clearpage", r"\input{figures}"] if drawn else []),
        r"\clearpage",
        r"\nocite{*}",
        r"\bibliographystyle{plain}",
        r"\bibliography{references}",
        r"\end{document}",
    ]
    return "\n".join(lines) + "\n"
