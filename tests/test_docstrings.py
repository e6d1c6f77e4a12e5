"""The contract of a docstring: every public physics function states units, errors, sources and an example."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from typing import Any

import pytest

import tradespace.physics
from tradespace.tables import read_table
from tradespace.units import to_si

# modules that hold no formula
PLUMBING = {
    "compiled",
    "domain",
    "combustion_table",
    "transfer.shared",
    "electrolysis.record",
    "electric.shared",
    "electrothermal.tables",
}
WORDS = {"str", "str | None", "bool"}  # annotations of arguments that are not numbers
UNSOURCED = ("closed form", "common practice, no source")
SOURCES = {row["key"] for row in read_table("sources.csv").rows}
UNIT = re.compile(r"\[([^\[\]]+)\]")
KEY = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)*_[a-z]*\d{3,}\b")


def public_functions() -> dict[str, Callable[..., Any]]:
    """Public functions of the links by dotted path, kernels and plumbing left out."""
    found: dict[str, Callable[..., Any]] = {}
    for entry in pkgutil.walk_packages(tradespace.physics.__path__, "tradespace.physics."):
        short = entry.name.removeprefix("tradespace.physics.")
        if short in PLUMBING:
            continue
        for name, thing in vars(importlib.import_module(entry.name)).items():
            hidden = name.startswith("_") or name.endswith("_kernel")
            if inspect.isfunction(thing) and thing.__module__ == entry.name and not hidden:
                found[f"{short}.{name}"] = thing
    return found


def sections(function: Callable[..., Any]) -> dict[str, str]:
    """Underlined sections of a docstring by title."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> list[tuple[str, str]]:
    """Entries of a Parameters or Returns section: the heading line and the text below it."""
    parts = re.split(r"^(\S.*)\n", section.strip() + "\n", flags=re.MULTILINE)
    return list(zip(parts[1::2], parts[2::2], strict=True))


FUNCTIONS = public_functions()
each_function = pytest.mark.parametrize("name", FUNCTIONS)


def test_every_link_is_looked_at() -> None:
    links = {name.split(".")[0] for name in FUNCTIONS}
    assert len(FUNCTIONS) >= 80
    assert links >= {"sunlight", "extraction", "electrolysis", "storage", "combustion", "nozzle", "rocket"}
    assert links >= {"thermal", "transfer", "kepler", "lambert", "water", "divergence"}


def check_unit(text: str, least: int = 1, most: int = 1) -> None:
    """One bracketed unit that the package can convert; ``m and m/s`` for columns of two kinds."""
    units = UNIT.findall(text)
    assert least <= len(units) <= most, (text, units)
    for part in (part for unit in units for part in unit.split(" and ")):
        assert part == "text" or to_si(1.0, part) > 0.0


@each_function
def test_arguments_are_those_of_the_signature_with_one_unit_each(name: str) -> None:
    signature = inspect.signature(FUNCTIONS[name]).parameters
    described: list[str] = []
    for heading, text in entries(sections(FUNCTIONS[name]).get("Parameters", "")):
        names = heading.partition(" : ")[0].split(", ")
        described += names
        if any(signature[argument].annotation not in WORDS for argument in names):
            check_unit(text)
    assert described == list(signature)


@each_function
def test_each_result_has_one_unit(name: str) -> None:
    results = entries(sections(FUNCTIONS[name]).get("Returns", ""))
    named = "dict" in FUNCTIONS[name].__annotations__["return"]  # names carry the units
    assert results
    for _, text in results:
        check_unit(text, most=9 if named else 1)


@each_function
def test_errors_are_announced(name: str) -> None:
    numbers = [p for p in inspect.signature(FUNCTIONS[name]).parameters.values() if p.annotation not in WORDS]
    if numbers:
        assert re.match(r"\w+Error\n +\S", sections(FUNCTIONS[name]).get("Raises", ""))


@each_function
def test_a_source_is_named(name: str) -> None:
    cited = re.findall(r"^\.\. \[\d+\] (.*)", sections(FUNCTIONS[name]).get("References", ""), re.MULTILINE)
    assert cited
    for line in cited:
        keys = set(KEY.findall(line)) | (set(re.findall(r"\w+", line)) & SOURCES)
        assert keys or line.startswith(UNSOURCED), line
        assert keys <= SOURCES, keys - SOURCES


@each_function
def test_an_example_is_shown(name: str) -> None:
    assert ">>> " in sections(FUNCTIONS[name]).get("Examples", "")
