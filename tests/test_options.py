"""Choices by name, and the flag on designs whose inputs lie outside the data behind a model."""

from __future__ import annotations

import numpy as np
import pytest
from small_studies import SURFACE, TOUR

from tradespace import evaluate
from tradespace.errors import StudyError, UnknownNameError
from tradespace.options import choices, option, settings_of
from tradespace.quantities import quantity
from tradespace.study import parse_study
from tradespace.validity import names, valid_ranges


def test_the_default_of_every_choice_is_taken_when_the_study_is_silent() -> None:
    study = parse_study(TOUR)
    assert study.options == {name: choice.default for name, choice in choices().items()}
    for name, setting in settings_of(study.options).items():
        assert name in study.given or study.values.get(name, setting.value) == pytest.approx(setting.value)


def test_an_unknown_option_is_named_with_the_nearest() -> None:
    text = TOUR.replace("[sunlight]", '[sunlight]\narray_family = "flexible_blankett"')
    with pytest.raises(StudyError, match=r"array_family.*flexible_blankett.*did you mean 'flexible_blanket'"):
        parse_study(text)
    with pytest.raises(StudyError, match=r"array_family: 3 is unknown; allowed: flexible_blanket"):
        parse_study(TOUR.replace("[sunlight]", "[sunlight]\narray_family = 3"))


def test_an_option_in_the_wrong_section_is_an_unknown_key() -> None:
    with pytest.raises(StudyError, match=r"array_family: unknown key"):
        parse_study(TOUR.replace("[extraction]", '[extraction]\narray_family = "flexible_blanket"'))


def test_unknown_names_are_refused() -> None:
    with pytest.raises(UnknownNameError, match="unknown choice 'array_famly'"):
        option("array_famly", "flexible_blanket")
    with pytest.raises(UnknownNameError, match="unknown array family 'paper'"):
        option("array_family", "paper")


@pytest.mark.parametrize("choice", choices())
def test_every_option_sets_values_and_ranges_unless_the_study_gives_its_own(choice: str) -> None:
    section = choices()[choice].section
    for name, item in choices()[choice].options.items():
        head = f"[{section}]\n"
        text = (
            SURFACE.replace(head, f'{head}{choice} = "{name}"\n')
            if head in SURFACE
            else (f'{SURFACE}\n{head}{choice} = "{name}"\n')
        )
        study = parse_study(text)
        assert study.options[choice] == name
        for key, setting in item.settings.items():
            if key in study.given or key not in study.values:
                continue
            assert study.values[key] == pytest.approx(setting.value)
            if setting.low < setting.high:
                assert study.ranges[key] == pytest.approx((setting.low, setting.high))


def test_a_design_outside_the_data_of_a_model_is_a_row_that_says_so() -> None:
    study = parse_study(TOUR)
    mission = evaluate.mission_of(study)
    rule = next(one for one in valid_ranges() if one.quantity == "current_density")
    tried = np.array([0.9 * rule.high, rule.high, 1.1 * rule.high])
    rows = evaluate.evaluate(study, mission, "electrolysis_bipropellant", {"current_density": tried})
    assert rows["extrapolated"].tolist() == [False, False, True]
    assert rows["extrapolated_by"].tolist() == ["none", "none", "current_density"]
    assert list(rows["extrapolated_by"].cat.categories) == list(names())


def test_every_valid_range_lies_within_what_a_study_may_give() -> None:
    for one in valid_ranges():
        item = quantity(one.quantity)
        assert item.low is None or one.low == -np.inf or one.low >= item.low
        assert item.high is None or one.high == np.inf or one.high <= item.high
