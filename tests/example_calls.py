"""One valid call of every public physics function, taken from the example in its docstring."""

from __future__ import annotations

import ast
import contextlib
import doctest
import importlib
import inspect
import io
import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from test_docstrings import FUNCTIONS, entries, sections

Arguments = dict[str, Any]


@cache
def example_call(name: str) -> Arguments:
    """Arguments of the first call in the example that gives an answer, by name of the argument.

    Raises
    ------
    LookupError
        If the example never calls the function.
    """
    function = FUNCTIONS[name]
    space = dict(vars(importlib.import_module(function.__module__)))
    calls: list[Arguments] = []
    space[function.__name__] = recorder(function, calls)
    for example in doctest.DocTestParser().get_examples(inspect.getdoc(function) or ""):
        run(example.source, space)
        if calls:
            return {argument: one_element(name, argument, value) for argument, value in calls[0].items()}
    raise LookupError(f"the example of {name} does not call it")


def one_element(name: str, argument: str, value: Any) -> Any:
    """The first element of an array that the example passes where any shape may stand."""
    if shape_words(name).get(argument, "").startswith("array_like, shape (...)") and np.ndim(value):
        return np.asarray(value).flat[0].item()
    return value


def recorder(function: Callable[..., Any], calls: list[Arguments]) -> Callable[..., Any]:
    """The function, keeping the arguments of each call that gave an answer."""
    signature = inspect.signature(function)

    def recorded(*positional: Any, **named: Any) -> Any:
        bound = signature.bind(*positional, **named)
        answer = function(*positional, **named)
        bound.apply_defaults()
        calls.append(dict(bound.arguments))
        return answer

    return recorded


def run(source: str, space: dict[str, Any]) -> None:
    """Run one statement of an example; one that shows an error may raise it."""
    with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(Exception):
        exec(compile(ast.parse(source), "<example>", "exec"), space)


def is_number(value: Any) -> bool:
    """Whether an argument of the example is made of numbers that a user could mistype."""
    if isinstance(value, bool | str | bytes | dict) or value is None or callable(value):
        return False
    try:
        array = np.asarray(value)
    except ValueError:
        return False
    return array.size > 0 and array.dtype.kind in "fiu"


def numeric(name: str) -> list[str]:
    """Arguments of the example that are numbers."""
    return [key for key, value in example_call(name).items() if is_number(value)]


def shape_words(name: str) -> dict[str, str]:
    """What the docstring says of each argument after its name, such as ``array_like, shape (...)``."""
    words: dict[str, str] = {}
    for heading, _ in entries(sections(FUNCTIONS[name]).get("Parameters", "")):
        names, _, kind = heading.partition(" : ")
        words |= dict.fromkeys(names.split(", "), kind)
    return words


def broadcasting(name: str) -> list[str]:
    """Numeric arguments that may be arrays of any shape."""
    return [key for key in numeric(name) if shape_words(name)[key].startswith("array_like, shape (...")]


def parts(answer: Any) -> list[np.ndarray]:
    """The numbers of an answer, whatever holds them."""
    if isinstance(answer, dict):
        return [part for value in answer.values() for part in parts(value)]
    if isinstance(answer, tuple | list):
        return [part for value in answer for part in parts(value)]
    if isinstance(answer, str | bytes) or answer is None:
        return []
    if hasattr(answer, "__dataclass_fields__"):
        return [part for field in answer.__dataclass_fields__ for part in parts(getattr(answer, field))]
    return [np.asarray(answer, dtype=np.float64)]


def finite(answer: Any) -> bool:
    """Whether every number of an answer is finite."""
    return all(bool(np.isfinite(part).all()) for part in parts(answer))


def with_last(value: Any, number: float) -> Any:
    """The same numbers, the last of them replaced."""
    array = np.array(value, dtype=np.float64)
    if array.ndim == 0:
        return number
    array.flat[array.size - 1] = number
    return array


def enlarged(value: Any, shape: tuple[int, ...]) -> np.ndarray:
    """The argument of an example repeated over an array."""
    array = np.asarray(value, dtype=np.float64)
    return np.ascontiguousarray(np.broadcast_to(array, (*shape, *array.shape)))


def significant(number: float) -> set[str]:
    """How a message may write a number: some common formats."""
    if not math.isfinite(number):
        return {str(number)}
    return {f"{number:.6g}", f"{number:g}", f"{number:.4g}", f"{number:.3g}", str(number)}
