"""What drives the answers of an architecture: elasticities, screening and shares of the variance, put together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.errors import StudyError
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.results import Drivers
from tradespace.sensitivity.elasticity import elasticities, frozen_dates, reference_row
from tradespace.sensitivity.inputs import bounded, chain, metrics_driven, uncertain_inputs
from tradespace.sensitivity.screening import Screening, screening
from tradespace.sensitivity.variance import SETTINGS, Shares, base_points, evaluated, shares

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.study.model import Distribution

Progress = Callable[[int, int], None]
CALENDARS = ("frozen", "free")
SCREENED = ["strength", "unevenness", "direction", "error"]
SHARED = ["first", "first_low", "first_high", "total", "total_low", "total_high"]
KEYS = ["architecture", "calendar", "metric", "quantity"]
ABOUT = ["architecture", "calendar", "method", "runs", "samples", "note"]
INDEPENDENT = (
    "the study correlates some inputs; shares of variance suppose independent ones, and these were drawn so: read "
    "those of correlated inputs together"
)


def driving_architectures(study: Study, reference: pd.DataFrame) -> list[str]:
    """The architectures worth the work: the best whose reference design closes, else the nearest to closing.

    Craft that refuel go before those that do not.

    Parameters
    ----------
    study : Study
        What is asked.
    reference : DataFrame
        The reference design of every architecture, as :func:`tradespace.evaluate.baseline` gives it.
    """
    sign = 1.0 if study.figure_of_merit_better == "lower" else -1.0
    merit = sign * reference[study.figure_of_merit].to_numpy(dtype=np.float64)
    margin = reference["margin"].to_numpy(dtype=np.float64)
    closes = reference["closes"].to_numpy(dtype=bool)
    names = [str(name) for name in reference["architecture"]]
    carries = np.array([not study.thrusters[name].refuels for name in names])
    order = np.lexsort((np.where(closes, merit, -margin), carries, ~closes))
    most = int(constants.value("driving_architectures", SETTINGS)) if closes.any() else 1
    return [names[place] for place in order[:most] if closes[place] or not closes.any()]


def calendars(mission: Mission) -> tuple[str, ...]:
    """Frozen and free, or free alone where no window holds a departure."""
    return CALENDARS if mission.windows else CALENDARS[1:]


def screened(
    study: Study,
    mission: Mission,
    architecture: str,
    *,
    calendar: str = "free",
    trajectories: int = 0,
    inputs: Sequence[Distribution] | None = None,
    row: pd.Series | None = None,
    progress: Progress | None = None,
) -> tuple[Screening, list[str]]:
    """Elementary effects of the uncertain inputs on the standing answers, with remarks in words.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    calendar : str
        ``free``, or ``frozen`` to keep the departure dates of the reference design.
    trajectories : int
        0 takes the usual number.
    inputs : sequence of Distribution, optional
        The study's own when not given.
    row : Series, optional
        The reference design, when it is at hand.
    progress : callable, optional
        Called with the runs done and the runs in all.
    """
    asked = _inputs(study, architecture, inputs)
    count = trajectories or int(constants.value("screening_trajectories", SETTINGS))
    remarks: list[str] = []
    dates = _dates(study, mission, architecture, calendar, row)
    model = chain(study, mission, architecture, asked, metrics_driven(study), dates)

    def heard(points: FloatArray) -> dict[str, FloatArray]:
        answers, words = bounded(study, model(points))
        remarks.extend(words)
        return answers

    names = [item.name for item in asked]
    return screening(heard, len(asked), count, study.seed, names=names, progress=progress), remarks


def shared(
    study: Study,
    mission: Mission,
    architecture: str,
    *,
    calendar: str = "free",
    samples: int = 0,
    inputs: Sequence[Distribution] | None = None,
    row: pd.Series | None = None,
    progress: Progress | None = None,
) -> tuple[Shares, list[str]]:
    """First and total indices of the uncertain inputs for the standing answers, with remarks in words.

    Parameters
    ----------
    study, mission, architecture, calendar, inputs, row, progress
        As for :func:`screened`.
    samples : int
        Base samples, a power of two; 0 takes the study's own number.
    """
    asked = _inputs(study, architecture, inputs)
    dates = _dates(study, mission, architecture, calendar, row)
    model = chain(study, mission, architecture, asked, metrics_driven(study), dates)
    base = samples or study.uncertain.samples
    answers, remarks = bounded(study, evaluated(model, base_points(len(asked), base, study.seed), progress))
    found = shares(answers, [item.name for item in asked], study.seed)
    if found.still:
        remarks.append(
            f"{', '.join(found.still)}: the same in all runs, so there is no variance to share out"
        )
    if study.uncertain.correlation is not None:
        remarks.append(INDEPENDENT)
    return found, remarks


def _inputs(
    study: Study, architecture: str, inputs: Sequence[Distribution] | None
) -> tuple[Distribution, ...]:
    asked = tuple(inputs) if inputs is not None else uncertain_inputs(study, architecture)
    if not asked:
        raise StudyError(
            f"{study.name}: no input is uncertain; add a section [uncertain], or low and high in [ranges]"
        )
    return asked


def _dates(
    study: Study, mission: Mission, architecture: str, calendar: str, row: pd.Series | None
) -> FloatArray | None:
    if calendar != "frozen":
        return None
    return frozen_dates(mission, reference_row(study, mission, architecture) if row is None else row)


def strongest(
    found: Sequence[Screening], inputs: Sequence[Distribution], most: int
) -> tuple[tuple[Distribution, ...], float]:
    """Inputs that move some answer most, each answer by its own measure, and what share of all effects is left out.

    Effects are squared, as a sum of independent parts has the sum of their variances.

    Parameters
    ----------
    found : sequence of Screening
        Of these inputs, for one calendar or more.
    inputs : sequence of Distribution
        All of them.
    most : int
        How many to keep; fewer are kept when the others move nothing.

    Returns
    -------
    tuple
        The inputs kept, strongest first, and the largest share of the squared effects on any one answer that the
        inputs left out have together [1].
    """
    strength = np.concatenate([one.strength**2 for one in found])
    total = strength.sum(axis=1, keepdims=True)
    portion = np.divide(strength, total, out=np.zeros_like(strength), where=total > 0.0)
    weight = portion.max(axis=0, initial=0.0)
    order = np.argsort(-weight, kind="stable")
    chosen = [int(place) for place in order[:most] if weight[place] > 0.0]
    left = portion[:, [place for place in range(len(inputs)) if place not in chosen]].sum(axis=1)
    return tuple(inputs[place] for place in chosen), float(left.max(initial=0.0))


def left_words(kept: int, asked: int, left: float) -> str:
    """What was left out of the shares of variance, in words; empty when nothing was."""
    if kept == asked:
        return ""
    if left <= 0.0:
        return f"{asked - kept} of {asked} uncertain inputs move nothing and stay at the reference design"
    return (
        f"the {kept} strongest of {asked} uncertain inputs by screening; the others stay at the reference design and "
        f"have {100.0 * left:.0f} % of the squared effects on an answer at most"
    )


def drive_screening(
    study: Study,
    mission: Mission,
    architecture: str,
    *,
    trajectories: int = 0,
    row: pd.Series | None = None,
    progress: Progress | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame, list[Screening]]:
    """Screening of all uncertain inputs with the calendar frozen and free.

    Parameters
    ----------
    study, mission, architecture, trajectories, row, progress
        As for :func:`screened`.

    Returns
    -------
    tuple
        The two tables of :class:`tradespace.results.Drivers` that it fills, and the effects themselves.
    """
    about, tables, found = [], [], []
    asked = _inputs(study, architecture, None)
    for calendar in calendars(mission):
        one, remarks = screened(
            study, mission, architecture, calendar=calendar, trajectories=trajectories, inputs=asked, row=row,
            progress=progress,
        )  # fmt: skip
        found.append(one)
        tables.append(one.table().assign(architecture=architecture, calendar=calendar))
        about.append((architecture, calendar, "screening", one.runs, one.trajectories, "; ".join(remarks)))
    table = pd.concat(tables, ignore_index=True)[[*KEYS, *SCREENED]]
    return table, pd.DataFrame(about, columns=ABOUT), found


def drive_variance(
    study: Study,
    mission: Mission,
    architecture: str,
    *,
    samples: int = 0,
    most: int = 0,
    screens: Sequence[Screening] = (),
    row: pd.Series | None = None,
    progress: Progress | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Shares of the variance of the strongest inputs with the calendar frozen and free.

    Parameters
    ----------
    study, mission, architecture, samples, row, progress
        As for :func:`shared`.
    most : int
        Inputs among which the variance is shared; 0 takes the usual number.
    screens : sequence of Screening
        Effects of all inputs by which the strongest are chosen; worked out when there are none and more inputs than
        asked for.

    Returns
    -------
    tuple
        The two tables of :class:`tradespace.results.Drivers` that it fills.
    """
    asked = _inputs(study, architecture, None)
    most = most or int(constants.value("driving_inputs", SETTINGS))
    kept, left = asked, 0.0
    if len(asked) > most:
        chosen = screens or drive_screening(study, mission, architecture, row=row, progress=progress)[2]
        kept, left = strongest(chosen, asked, most)
    parts, about = [], []
    for calendar in calendars(mission):
        found, remarks = shared(
            study, mission, architecture, calendar=calendar, samples=samples, inputs=kept, row=row,
            progress=progress,
        )  # fmt: skip
        parts.append(found.table().assign(architecture=architecture, calendar=calendar))
        words = [word for word in (left_words(len(kept), len(asked), left), *remarks) if word]
        base = found.runs // (len(kept) + 2)
        about.append((architecture, calendar, "variance", found.runs, base, "; ".join(words)))
    return pd.concat(parts, ignore_index=True)[[*KEYS, *SHARED]], pd.DataFrame(about, columns=ABOUT)


def drive(
    study: Study,
    mission: Mission,
    architecture: str,
    *,
    samples: int = 0,
    trajectories: int = 0,
    progress: Progress | None = None,
) -> Drivers:
    """Everything about one architecture: elasticities, screening of all inputs, variance shares of the strongest.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    samples, trajectories : int
        Base samples and trajectories; 0 takes the study's, or the usual ones.
    progress : callable, optional
        Called with the runs done and the runs in all of each piece.
    """
    row = reference_row(study, mission, architecture)
    screens, told, effects = drive_screening(
        study, mission, architecture, trajectories=trajectories, row=row, progress=progress
    )
    variance, also_told = drive_variance(
        study, mission, architecture, samples=samples, screens=effects, row=row, progress=progress
    )
    return Drivers(
        elasticities(study, mission, architecture, reference=row),
        screens,
        variance,
        pd.concat([told, also_told], ignore_index=True),
    )


def drivers(study: Study, mission: Mission, reference: pd.DataFrame) -> Drivers:
    """What drives the best architectures, as the report shows it: few samples, so that a run is hardly longer.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it.
    reference : DataFrame
        The reference design of every architecture.
    """
    samples = int(constants.value("report_samples", SETTINGS))
    few = int(constants.value("report_trajectories", SETTINGS))
    names = driving_architectures(study, reference)
    found = [drive(study, mission, name, samples=samples, trajectories=few) for name in names]
    return Drivers(
        *(
            pd.concat([getattr(one, name) for one in found], ignore_index=True)
            for name in ("elasticities", "screening", "variance", "about")
        )
    )
