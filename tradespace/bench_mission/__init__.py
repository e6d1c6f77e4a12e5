"""What a measured cell and engine do for an asked mission, and which number of the bench would help it most.

The catalogue's cell and engine give way to those of a calibration: the study is asked twice, with and without it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.bench.calibration import Calibration, calibration_text
from tradespace.bench_mission.exchange import EXCHANGE, exchange_rows
from tradespace.errors import StudyError
from tradespace.evaluate import mission_of
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import display, quantities
from tradespace.results import LINKS
from tradespace.study import parse_study
from tradespace.study.document import entry_lines
from tradespace.study.values import sections
from tradespace.uncertainty import known_architecture
from tradespace.uncertainty.designs import Chosen, chosen_design, chosen_inputs
from tradespace.uncertainty.intervals import chance_interval
from tradespace.uncertainty.question import Question

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.study.model import Uncertain

__all__ = ["EXCHANGE", "Carried", "calibrated_study", "carry"]

CELL = "electrolysis"
SPLIT_FEEDS = ("gases", "hydrogen", "oxygen")
ENGINES = ("electrolysis_bipropellant", "electrolysis_continuous")
"""Thrusters that burn what was split, as the engine of the bench does."""
FIGURES = (
    "specific_impulse", "cell_voltage", "stack_efficiency", "split_energy", "refuel_time_mean", "start_mass",
    "payload_capacity", "hops_per_year", "margin",
)  # fmt: skip
STANDING = ["architecture", "source", "design", "calendar", "closes", "limited_by", *FIGURES]
CHANCE = "architecture design uncertain samples closing chance low high".split()
SOURCES = ("catalogue", "bench")
SAMPLES = 2048


@dataclass(frozen=True, eq=False)
class Carried:
    """A bench carried into a mission."""

    plain: Study
    """As it was asked, with cell and engine of the catalogue."""
    study: Study
    """The same with those of the bench."""
    mission: Mission
    calibration: Calibration
    designs: dict[str, Chosen]
    """The design that is looked at, by architecture: the same one with the catalogue and with the bench."""
    standing: pd.DataFrame
    """Answers of that design with either, with free dates of departure and with those of the catalogue kept [SI]."""
    chance: pd.DataFrame
    """Chance that it closes: with the bench's own uncertainty alone, and with all that is uncertain."""
    exchange: pd.DataFrame
    """What removing losses of the bench would bring [SI]."""
    words: tuple[str, ...] = ()
    """What a reader has to know, one sentence each."""


def calibrated_study(study: Study, calibration: Calibration) -> Study:
    """The same question with cell and engine of a bench in place of those of the catalogue and of the study.

    Raises
    ------
    StudyError
        If the study has a calibration of its own, or sweeps what was measured.
    """
    if study.calibration is not None:
        raise StudyError(
            f"study {study.name} reads a calibration already; drop its section [calibration] or leave --study out"
        )
    text = _without(study.text, given_way(study, calibration))
    text = f"{text.rstrip()}\n\n[calibration]\ntext = '''\n{calibration_text(calibration)}'''\n"
    folder = None if study.path is None else study.path.parent
    return replace(parse_study(text, study.name, folder), path=study.path)


def given_way(study: Study, calibration: Calibration) -> list[str]:
    """Entries of a study that give way to the bench: what was measured, and what would leave it without effect."""
    known = quantities()
    found = [name for name in calibration.names if name in study.given]
    if any(known[name].section == CELL for name in calibration.names):
        found += ["stack_efficiency"] if "stack_efficiency" in study.given else []
        if calibration.cell_kind and calibration.cell_kind != study.options["cell_kind"]:
            found.append("cell_kind")
    return found


def _without(text: str, names: Sequence[str]) -> str:
    """The text of a study with some of its entries made comments."""
    lines = text.split("\n")
    for path, number in entry_lines(text):
        if len(path) == 2 and path[1] in names and path[0] in (*sections(), "ranges", "uncertain"):
            lines[number - 1] = f"# {lines[number - 1]}"
    return "\n".join(lines)


def measured_architectures(study: Study) -> list[str]:
    """Architectures that the bench speaks of: those that burn what was split, or else all that split their water."""
    found = [name for name, craft in study.thrusters.items() if craft.thruster.name in ENGINES]
    return found or [name for name, craft in study.thrusters.items() if craft.thruster.feed in SPLIT_FEEDS]


def carry(
    study: Study,
    calibration: Calibration,
    architectures: Sequence[str] | None = None,
    *,
    which: str = "best",
    samples: int = SAMPLES,
) -> Carried:
    """Ask a study with the cell and the engine of a bench, beside the same with those of the catalogue.

    Parameters
    ----------
    study : Study
        The mission; without a calibration of its own.
    calibration : Calibration
        What the bench told.
    architectures : sequence of str, optional
        Those to look at; :func:`measured_architectures` when not given.
    which : str
        ``best`` (the best closing design of the sweep with the catalogue's values), ``baseline`` or a number.
    samples : int
        Draws for each chance, a power of two.

    Raises
    ------
    StudyError
        If no architecture of the study splits water, or the study contradicts the calibration.
    """
    from tradespace.study.plans import neighbours, power_of_two

    if samples < 2 or not power_of_two(samples):
        raise StudyError(f"samples {samples} is not a power of two; write {neighbours(max(samples, 2))}")
    measured = calibrated_study(study, calibration)
    names = list(architectures) if architectures is not None else measured_architectures(study)
    if not names:
        raise StudyError(
            f"no architecture of study {study.name} splits its water, so the bench has no part in it; "
            'include "electrolysis_bipropellant"'
        )
    for name in names:
        known_architecture(study, name, study.name)
    mission = mission_of(study)
    plain = Question(study, mission, samples, study.uncertain.chance)
    asked = Question(measured, mission, samples, study.uncertain.chance)
    designs = {name: chosen_design(plain, name, which) for name in names}
    standing, chance, exchange = [], [], []
    for name in names:
        dates = _dates(plain, designs[name])
        own = _left_to_the_bench(designs[name], study, calibration)
        standing += _standing(plain, designs[name], SOURCES[0], dates)
        standing += _standing(asked, own, SOURCES[1], dates)
        chance += _chances(asked, own)
        exchange += exchange_rows(
            measured, mission, own, dates, whole=study.thrusters[name].thruster.name in ENGINES
        )
    return Carried(
        study, measured, mission, calibration, designs,
        pd.DataFrame(standing, columns=STANDING), pd.DataFrame(chance, columns=CHANCE),
        pd.DataFrame(exchange, columns=EXCHANGE), _words(study, calibration, names),
    )  # fmt: skip


def _design(chosen: Chosen) -> dict[str, FloatArray]:
    return {name: np.array([value]) for name, value in chosen.values.items()}


def _left_to_the_bench(chosen: Chosen, study: Study, calibration: Calibration) -> Chosen:
    """A design without the swept values that the bench replaces."""
    gone = given_way(study, calibration)
    return replace(chosen, values={name: value for name, value in chosen.values.items() if name not in gone})


def _dates(question: Question, chosen: Chosen) -> FloatArray | None:
    """Dates of departure of the design with the catalogue's values; None where there are none to keep."""
    mission = question.mission
    if not mission.windows:
        return None
    names = [f"window_date_{hop + 1}" for hop in range(mission.hops)]
    found = question.answers(chosen.architecture, _design(chosen), {}, names)
    dates = np.array([float(found[name][0, 0]) for name in names])
    return dates if bool(np.isfinite(dates).all() and (dates < mission.horizon).all()) else None


def _standing(
    question: Question, chosen: Chosen, source: str, dates: FloatArray | None
) -> list[tuple[object, ...]]:
    """Answers of a design with free dates and, where there are any, with the dates kept."""
    rows: list[tuple[object, ...]] = []
    for calendar, frozen in (("free", None), ("frozen", dates)):
        if calendar == "frozen" and frozen is None:
            continue
        names = ["closes", "limited_by", *FIGURES]
        found = question.answers(chosen.architecture, _design(chosen), {}, names, frozen)
        row = {name: float(found[name][0, 0]) for name in names}
        rows.append(
            (chosen.architecture, source, chosen.words, calendar, row["closes"] > 0.0,
             LINKS[int(row["limited_by"])], *(row[name] for name in FIGURES))
        )  # fmt: skip
    return rows


def _chances(question: Question, chosen: Chosen) -> list[tuple[object, ...]]:
    """Chance that a design closes: with what the bench leaves open alone, and with all that is uncertain."""
    study = question.study
    assert study.calibration is not None
    rows: list[tuple[object, ...]] = []
    alone = _only(study.uncertain, study.calibration.names)
    for words, uncertain in (("bench", alone), ("all", study.uncertain)):
        if not uncertain.inputs or (words == "all" and len(uncertain.inputs) == len(alone.inputs)):
            continue
        here = Question(
            replace(study, uncertain=uncertain), question.mission, question.samples, question.chance
        )
        drawn = here.draws(chosen.architecture, without=chosen_inputs(study))
        if not drawn:
            continue
        design = {name: value for name, value in _design(chosen).items() if name not in drawn}
        closes = here.answers(chosen.architecture, design, drawn, ["closes"])["closes"] > 0.0
        count = int(closes.sum())
        low, high = chance_interval(count, closes.size)
        rows.append(
            (chosen.architecture, chosen.words, words, closes.size, count, count / closes.size, float(low), float(high))
        )  # fmt: skip
    return rows


def _only(uncertain: Uncertain, names: Sequence[str]) -> Uncertain:
    """What is uncertain with some inputs alone."""
    places = [place for place, item in enumerate(uncertain.inputs) if item.name in names]
    whole = uncertain.correlation
    return replace(
        uncertain,
        inputs=tuple(replace(uncertain.inputs[place], stated=True) for place in places),
        correlation=None if whole is None else whole[np.ix_(places, places)],
    )


def _own_value(study: Study, name: str) -> str:
    """What a study gives for an input, in words."""
    return "swept" if name in study.swept else display(name, study.values[name])


def _words(study: Study, calibration: Calibration, names: Sequence[str]) -> tuple[str, ...]:
    """What carrying over takes for granted."""
    found = list(calibration.rules)
    for name in given_way(study, calibration):
        own = study.options["cell_kind"] if name == "cell_kind" else _own_value(study, name)
        found.append(f"The study's own {name.replace('_', ' ')}, {own}, gives way to the bench.")
    engine = any(name in calibration.values for name in ("energy_release_efficiency", "viscous_loss_scale"))
    others = [name for name in names if study.thrusters[name].thruster.name not in ENGINES]
    if engine and others:
        found.append(
            f"The engine that was measured burns hydrogen with oxygen, so {', '.join(others)} take only the cell from "
            "the bench."
        )
    wrong = [name for name, verdict, _ in calibration.checks if verdict == "impossible"]
    if wrong:
        found.insert(
            0,
            f"The readings cannot all be true ({', '.join(wrong)}): believe nothing of this until that is mended.",
        )
    if calibration.invented:
        found.append("The readings are invented, and so is what follows from them.")
    return tuple(found)
