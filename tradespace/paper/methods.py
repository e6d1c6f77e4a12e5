"""The methods section: the models that answered a run, from their own docstrings."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from tradespace.figures.style import pretty_unit
from tradespace.paper.latex import cited, docstring, escaped

if TYPE_CHECKING:
    from tradespace.findings import Account, Model
    from tradespace.results import Results

UNIT = re.compile(r"\s*\[([^\[\]]+)\]")
SHORT = {"hhv": "(higher heating value)", "pv": "pressure times volume"}
"""Abbreviations in names of functions."""
BREAK = re.compile(r",\s*\\q?quad\s*")
STEPS_SHOWN = 24
"""Steps of the engine that the text names; a paper needs no more."""


def methods_text(results: Results, account: Account, keys: Collection[str]) -> str:
    """The section as LaTeX, to be input into an article; it needs the package amsmath.

    Parameters
    ----------
    results : Results
        What a run gave.
    account : Account
        The models that answered it.
    keys : collection of str
        Keys of the bibliography.
    """
    lines = [r"\section{Methods}", r"\label{sec:methods}", *lead(results, account), ""]
    last = ""
    for one in account.models:
        if one.link != last:
            lines += [rf"\subsection{{{escaped(one.link)}}}", ""]
            last = one.link
        lines += [*model_lines(one, keys), ""]
    if account.steps:
        lines += [r"\subsection{From links to a mission}", *step_lines(account)]
    return "\n".join(lines) + "\n"


def lead(results: Results, account: Account) -> list[str]:
    """What was evaluated, with what, and how the list below was made."""
    study = results.study
    version = results.versions.get("tradespace", "").replace("not installed", "").strip()
    program = f"tradespace {version}".strip()
    designs = len(results.designs)
    words = [
        (
            f"The study {study.title} was answered with {program} (study {study.name}, SHA-256 {str(study.hash)[:16]}, "
            f"seed {study.seed}): {designs} designs of {len(study.architectures)} architectures, each taken through "
            "sunlight, extraction of water, splitting, storage, thruster, rocket equation and campaign; a design that "
            "does not close is kept with the link and the hop that bind."
        )
    ]
    if account.remark:
        words.append(f"The list of models is missing: {account.remark}.")
    else:
        words.append(
            f"The {len(account.models)} models below are those that were called when the reference design of every "
            "architecture was flown once; each is told by the documentation of its code. All quantities are in SI "
            "units."
        )
    return [escaped(" ".join(words))]


def model_lines(one: Model, keys: Collection[str]) -> Iterator[str]:
    """A model: what it gives, from what, its equations, its scope, its sources."""
    title = one.title.rstrip(".")
    yield rf"\paragraph{{{escaped(name_of(one))}.}} {docstring(title)}."
    for equation in one.equations:
        parts = [part for part in BREAK.split(equation) if part]
        yield r"\begin{gather}"
        yield ",\\\\\n".join(f"  {part}" for part in parts)
        yield r"\end{gather}"
    if one.takes:
        yield "It takes " + "; ".join(argument(words) for words in one.takes) + "."
    if one.notes:
        yield cited(one.notes, keys, docstring)
    if one.references:
        told = "; ".join(line.rstrip(".") for line in one.references)
        yield rf"\emph{{Source:}} {cited(told, keys, docstring)}."


def name_of(one: Model) -> str:
    """Name of the function in words."""
    words = [SHORT.get(word, word) for word in one.path.rpartition(".")[2].split("_")]
    return " ".join([words[0][:1].upper() + words[0][1:], *words[1:]])


def argument(words: str) -> str:
    """An argument in words with its unit."""
    found = UNIT.search(words)
    plain = UNIT.sub("", words).strip().rstrip(".")
    plain = plain if plain[:2].isupper() else plain[:1].lower() + plain[1:]
    unit = pretty_unit(found.group(1)) if found else "–"
    return docstring(plain) + ("" if unit in {"–", "text"} else f" ({escaped(unit)})")


def step_lines(account: Account) -> Iterator[str]:
    """How the links are joined: the first sentences of the engine's functions, in the order of their first call."""
    yield (
        "Mass and power of a craft are closed together, then every hop is flown in turn. The functions that do so, in "
        "the order in which they are first called:"
    )
    yield r"\begin{enumerate}\setlength{\itemsep}{0pt}"
    for _, words in account.steps[:STEPS_SHOWN]:
        yield rf"  \item {docstring(words)}"
    yield r"\end{enumerate}"
    left = len(account.steps) - STEPS_SHOWN
    if left > 0:
        yield f"{left} more are listed in the manifest."
