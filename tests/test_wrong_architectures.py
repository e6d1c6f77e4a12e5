"""Architectures that cannot be: each is refused with its line, the value, and both keys where two contradict."""

from __future__ import annotations

import pytest
from small_studies import TOUR, line_of

from tradespace.errors import StudyError
from tradespace.study import parse_study
from tradespace.thrusters import thruster
from tradespace.thrusters.architecture import Architecture

SPLIT, HALL = 'thruster = "electrolysis_bipropellant"', 'thruster = "water_hall"'
WRONG = [
    (HALL, 'storage = "gas"', "name", ("storage", "thruster")),
    (SPLIT, 'excess = "left"\nstorage = "buffer"', "name", ("excess", "storage")),
    (HALL, 'landing_engine = "storable"', "name", ("landing_engine", "thruster")),
    (HALL, 'excess = "flown"', "name", ("excess", "thruster")),
    (HALL, 'storage = "water"\nlanding_engine = "stored_gas"', "name", ("landing_engine", "storage")),
    (HALL, 'values = { specific_impulse = "-400 s" }', "values", ('"-400 s"', "zero")),
    (HALL, "values = { anode_efficiency = 1.5 }", "values", ("1.5", "between 0 and 1")),
    (HALL, "values = { readiness = 40 }", "values", ("40", "between 1 and 9")),
    (SPLIT, 'values = { specific_impulse = "900 s" }', "values", ("4413 W/N", "900 s")),
    ('thruster = "cold_vapour"', 'values = { specific_impulse = "900 s" }', "values", ("carries", "900 s")),
    (
        'thruster = "liquid_hydrogen_oxygen"',
        "mixture_ratio = 5\nvalues = { mixture_ratio = 4 }",
        "values",
        ("mixture_ratio", "twice"),
    ),
    ('thruster = "bench_engine"', 'values = { specific_impulse = "350 s" }', "values", ("[[thruster]]",)),
]


@pytest.mark.parametrize(("engine", "settings", "key", "words"), WRONG)
def test_an_architecture_that_cannot_be_is_refused(
    engine: str, settings: str, key: str, words: tuple[str, ...]
) -> None:
    text = f'{TOUR}\n[[architecture]]\nname = "mine"\n{engine}\n{settings}\n'
    with pytest.raises(StudyError) as caught:
        parse_study(text)
    message = str(caught.value)
    line = line_of(text, "[[architecture]]") if key == "name" else line_of(text, key)
    assert message.startswith(f"study:{line}: ")
    assert all(word in message for word in words)


def test_compressed_gas_is_refused_where_the_gas_tanks_hold_liquids() -> None:
    text = f'{TOUR}\n[[architecture]]\nname = "mine"\n{SPLIT}\nstorage = "gas"\n[storage]\ngas_storage = "liquefied"\n'
    with pytest.raises(StudyError, match='storage "gas" contradicts gas_storage "liquefied"'):
        parse_study(text)


@pytest.mark.parametrize("where", ["sweep", "solve"])
def test_what_an_effect_left_out_holds_cannot_be_varied(where: str) -> None:
    text = TOUR + "[effects]\nresiduals = false\n"
    if where == "sweep":
        text = text.replace(
            "[sweep]", '[sweep]\npropellant_residual = { low = "1 %", high = "3 %", count = 2 }'
        )
    else:
        text = text.replace('solve = "array_area"', 'solve = "propellant_residual"')
    with pytest.raises(StudyError, match=r"propellant_residual contradicts effects.residuals = false"):
        parse_study(text)


def test_a_rank_on_a_value_of_the_study_is_marked() -> None:
    usual = Architecture("mine", thruster("hydrogen_arcjet"))
    own = Architecture("mine", thruster("hydrogen_arcjet"), own={"specific_impulse": 1500.0})
    other = Architecture("mine", thruster("hydrogen_arcjet"), own={"mass": 3.0})
    assert usual.demonstrated
    assert other.demonstrated
    assert own.grade == "assumed"
    assert not own.demonstrated
