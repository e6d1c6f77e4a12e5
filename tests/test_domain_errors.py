"""Contract: no public physics function lets a number that is not one through, and each error says what was wrong.

Every function is called as its own docstring calls it, with one argument at a time replaced.
"""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from example_calls import (
    FUNCTIONS,
    Arguments,
    broadcasting,
    enlarged,
    example_call,
    finite,
    numeric,
    parts,
    with_last,
)
from test_docstrings import sections

from tradespace.errors import DomainError, TransferError
from tradespace.physics import domain
from tradespace.units import convert

each_function = pytest.mark.parametrize("name", FUNCTIONS)
NOT_NUMBERS = (math.nan, math.inf, -math.inf)
TRIALS = (-1.0, 0.0, 2.0, -1e12, 1e12)  # one of them lies outside almost every range
LIMIT = re.compile(
    r"outside|beyond|above|below|between|at least|at most|less|more|exceed|finite|positive|negative|whole|must"
)
SHOWN = ("rad deg", "Pa bar", "A/m2 A/cm2", "K degC", "m km", "s d", "m2/s2 km2/s2", "m/s km/s", "m mm")
"""Units a message may use beside SI: from, to."""


def refusal(name: str, call: Arguments) -> str | None:
    """The message of the DomainError, or None if an answer came, which must then be finite.

    A batch may announce rows of NaN where finite numbers have no answer.
    """
    try:
        answer = FUNCTIONS[name](**call)
    except DomainError as error:
        return str(error)
    except TransferError:  # no orbit for finite numbers, where that is announced
        assert "TransferError" in (FUNCTIONS[name].__doc__ or "")
        assert all(finite(call[argument]) for argument in numeric(name))
        return None
    allowed = announces_nan(name) and all(finite(call[argument]) for argument in numeric(name))
    assert allowed or finite(answer), f"gave {answer!r}"
    return None


def announces_nan(name: str) -> bool:
    """Whether the docstring says which rows are NaN."""
    return re.search(r"\bnan\b", sections(FUNCTIONS[name]).get("Returns", ""), re.IGNORECASE) is not None


def plain(words: str) -> str:
    """Words for comparison: no difference between cases, hyphens, underscores and spaces."""
    return re.sub(r"[-_\s]+", " ", words).lower()


def written(number: float) -> set[str]:
    """How a message may write a number, in SI or in a unit people use."""
    ways = [number]
    if math.isfinite(number):
        ways += [float(convert(number, *pair.split())) for pair in SHOWN]
    return {text for one in ways for text in (f"{one:.10g}", f"{one:.6g}", f"{one:.4g}", str(one))}


def check_message(message: str, argument: str, number: float) -> None:
    """The message names the argument, gives the value, and says what is allowed."""
    assert plain(argument) in plain(message), f"names not {argument!r}: {message!r}"
    assert any(text in message for text in written(number)), f"gives not the value {number}: {message!r}"
    assert LIMIT.search(message), f"says not what is allowed: {message!r}"


@each_function
def test_the_example_calls_the_function(name: str) -> None:
    assert set(example_call(name)) <= set(FUNCTIONS[name].__code__.co_varnames)
    assert numeric(name) or not any(
        "float" in str(kind) or "ArrayLike" in str(kind) for kind in FUNCTIONS[name].__annotations__.values()
    )


@each_function
@pytest.mark.parametrize("number", NOT_NUMBERS, ids=str)
def test_what_is_no_finite_number_is_refused_or_does_no_harm(name: str, number: float) -> None:
    call = example_call(name)
    for argument in numeric(name):
        message = refusal(name, {**call, argument: with_last(call[argument], number)})
        if message is not None:
            check_message(message, argument, number)
        else:
            assert not math.isnan(number), f"{argument} = nan gave an answer"


@each_function
def test_one_bad_element_of_an_array_is_found(name: str) -> None:
    call = example_call(name)
    for argument in broadcasting(name):
        bad = enlarged(call[argument], (3,))
        bad.flat[bad.size - 1] = math.nan
        message = refusal(name, {**call, argument: bad})
        assert message is not None, f"{argument} with nan in an array gave an answer"
        check_message(message, argument, math.nan)


@each_function
def test_numbers_outside_the_range_are_named_with_value_and_limit(name: str) -> None:
    call = example_call(name)
    for argument in numeric(name):
        for number in TRIALS:
            try:
                message = refusal(name, {**call, argument: with_last(call[argument], number)})
            except (AssertionError, ArithmeticError, RuntimeWarning) as error:
                raise AssertionError(f"{argument} = {number}: {error}") from error
            if message is not None:
                check_message(message, argument, number)
                break


def shaken(value: Any, factors: np.ndarray) -> np.ndarray:
    """Copies of an argument that differ a little, unless it is a count."""
    array = enlarged(value, factors.shape)
    if isinstance(value, int):
        return array
    tail = (1,) * (array.ndim - factors.ndim)
    return array * factors.reshape(*factors.shape, *tail)


@each_function
def test_arrays_broadcast_and_equal_scalars(name: str) -> None:
    function, call, spread = FUNCTIONS[name], example_call(name), broadcasting(name)
    shapes = ((2, 1), (3,))
    sizes = np.array([1.0, 1.0 - 1e-7, 1.0 - 2e-7])
    for steps in (sizes, np.ones(3)):  # an example on the edge of a range may not be shaken
        many = {
            argument: shaken(call[argument], (steps[:2, None] if place % 2 == 0 else steps))
            for place, argument in enumerate(spread)
        }
        try:
            answer = parts(function(**{**call, **many}))
            break
        except DomainError:
            continue
    else:
        raise AssertionError("the example as an array is refused")
    if not spread:
        return
    shape = np.broadcast_shapes(*shapes[: min(len(spread), 2)])
    for index in np.ndindex(shape):
        one = {
            argument: array[
                tuple(0 if array.shape[k] == 1 else index[k - 2] for k in range(2))
                if place % 2 == 0
                else (index[-1],)
            ]
            for place, (argument, array) in enumerate(many.items())
        }
        alone = parts(function(**{**call, **one}))
        assert len(alone) == len(answer)
        for whole, element in zip(answer, alone, strict=True):
            assert whole.shape[: len(shape)] == shape, (whole.shape, shape)
            assert whole[index].shape == element.shape
            np.testing.assert_allclose(whole[index], element, rtol=1e-10, atol=1e-300)


def test_one_call_gives_name_value_unit_and_range() -> None:
    with pytest.raises(DomainError, match=r"^cell temperature 20 K lies outside 150 to 1000 K$"):
        domain.within("cell_temperature", "K", [200.0, 20.0], 150.0, 1000.0)
    with pytest.raises(DomainError, match=r"^share 1 lies outside 0 to 1 \(1 excluded\)$"):
        domain.within("share", "1", 1.0, 0.0, 1.0, open_high=True)
    with pytest.raises(DomainError, match=r"^share 0 lies outside 0 to 1 \(0 excluded\); look$"):
        domain.within("share", "1", 0.0, 0.0, 1.0, "look", open_low=True)
    with pytest.raises(DomainError, match=r"^angle inf rad must be finite$"):
        domain.finite("angle", "rad", math.inf)
    with pytest.raises(DomainError, match=r"^full turns 1.5 must be a whole number, 1 or more$"):
        domain.whole("full_turns", 1.5, 1)
    with pytest.raises(DomainError, match=r"^final mass 5 kg must not be above the initial mass 4 kg$"):
        domain.not_above("final_mass", "kg", [1.0, 5.0], "initial_mass", 4.0)
    with pytest.raises(DomainError, match=r"^flow nan kg/s must be above 0 kg/s and finite$"):
        domain.above("flow", "kg/s", math.nan)


def test_a_value_just_outside_does_not_look_like_the_limit() -> None:
    with pytest.raises(DomainError, match=r"temperature 1000\.00001 K lies outside"):
        domain.within("temperature", "K", 1000.00001, 150.0, 1000.0)
