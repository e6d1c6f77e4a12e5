"""Designs in, answers out: one vectorised pass of the whole chain for one architecture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import validity
from tradespace.evaluate.answers import Answers, answer_table
from tradespace.evaluate.columns import Columns
from tradespace.evaluate.engine import (
    compile_engine,
    fill_cell,
    fill_growth,
    fill_thruster,
    fly,
    start_distance,
    without_losses,
)
from tradespace.evaluate.inputs import Values, all_inputs, with_storage
from tradespace.evaluate.question import mission_of
from tradespace.evaluate.sharing import shared_out
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray, broadcast, records
from tradespace.thrusters.values import changed

if TYPE_CHECKING:
    from tradespace.study import Study

__all__ = [
    "SETTINGS", "all_inputs", "answer_table", "answers", "baseline", "compile_engine", "design_rows", "evaluate",
    "fill_cell", "fill_growth", "fill_thruster", "fly", "mission_of", "records",
]  # fmt: skip

SETTINGS = "engine_settings.csv"


def design_rows(
    study: Study, mission: Mission, architecture: str, designs: Values
) -> tuple[np.ndarray, dict[str, float | FloatArray]]:
    """Records of a set of designs, ready to be sized and flown, and every input they came from.

    Parameters
    ----------
    study, mission
        The question, and what :func:`mission_of` looked up for it.
    architecture : str
        An architecture of the study.
    designs : mapping of str to float or ndarray, shape (n,)
        Inputs that differ from the study's own values [SI].
    """
    from tradespace import spacecraft
    from tradespace.physics import sunlight

    craft = study.thrusters[architecture]
    values = with_storage(study, craft, all_inputs(study, designs), designs)
    count = max(np.size(value) for value in (*values.values(), *designs.values()))
    columns = Columns(count)
    for name in spacecraft.QUANTITY_FIELDS:
        columns[name] = values[name]
    columns["array_fading"] = broadcast(sunlight.array_fading_kernel, values["array_ageing_rate"])
    cell = study.options["cell_kind"]
    fill_cell(columns, values, cell)
    fill_growth(columns, values, craft)
    fill_thruster(columns, values, craft, cell, start_distance(mission), surface=mission.kind == "surface")
    without_losses(columns, values["thruster_losses"])
    return columns.rows(), values


def flown(
    study: Study, mission: Mission, architecture: str, designs: Values, frozen: FloatArray | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray, dict[str, float | FloatArray]]:
    """Records of designs, vehicles and hops of a set of designs that has been flown, and every input."""
    from tradespace import campaign, spacecraft

    rows, values = design_rows(study, mission, architecture, designs)
    crafts = np.zeros(len(rows), dtype=spacecraft.CRAFT)
    hops = np.zeros((len(rows), mission.hops), dtype=campaign.HOP)
    fly(mission, rows, crafts, hops, frozen)
    return rows, crafts, hops, values


def answers(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Values,
    columns: Sequence[str],
    *,
    frozen: FloatArray | None = None,
    most: int | None = None,
) -> dict[str, np.ndarray]:
    """Some outputs of a set of designs, without a table: for very many designs of which little is asked.

    Large sets are shared out over the processors.

    Parameters
    ----------
    study, mission, architecture, frozen
        As for :func:`evaluate`.
    designs : mapping of str to float or ndarray, shape (n,)
        Inputs that differ from the study's own values [SI]; ``thruster.row`` stands for a row of a thruster's table.
    columns : sequence of str
        Output columns of :func:`evaluate`; ``limited_by`` is the place of the link in ``LINKS``.
    most : int, optional
        Designs flown at a time at most.

    Returns
    -------
    dict of ndarray, shape (n,)
        The columns in the order they were asked for [SI].

    Raises
    ------
    KeyError
        If there is no such output.
    """
    inputs = {name: value for name, value in designs.items() if "." not in name}
    count = max((np.size(value) for value in designs.values()), default=1)
    if len(inputs) < len(designs) and not any(np.size(value) == count for value in inputs.values()):
        inputs["payload_mass"] = np.full(count, study.values["payload_mass"])  # tells how many there are

    def part(place: slice) -> list[np.ndarray]:
        def cut(value: float | FloatArray) -> float | FloatArray:
            return value if np.size(value) == 1 else np.asarray(value)[place]

        table = {table_row(name): cut(value) for name, value in designs.items() if "." in name}
        with changed(table):  # for this thread alone
            flown_here = flown(
                study, mission, architecture, {name: cut(value) for name, value in inputs.items()}, frozen
            )
        found = Answers(*flown_here[:3], mission.kind)
        return [np.ascontiguousarray(found.column(name)) for name in columns]

    parts = shared_out(count, part, most)
    return {
        name: pieces[0] if len(pieces) == 1 else np.concatenate(pieces)
        for name, pieces in zip(columns, zip(*parts, strict=True), strict=True)
    }


def table_row(name: str) -> tuple[str, str]:
    """Thruster and row of its table that ``thruster.row`` stands for."""
    thruster, _, row = name.partition(".")
    return thruster, row


def evaluate(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Values,
    *,
    frozen: FloatArray | None = None,
    everything: bool = False,
) -> pd.DataFrame:
    """Answer the study for a set of designs of one architecture.

    Parameters
    ----------
    study, mission
        The question, and what :func:`mission_of` looked up for it.
    architecture : str
        A thruster of the study.
    designs : mapping of str to float or ndarray, shape (n,)
        Inputs that differ from the study's own values [SI].
    frozen : ndarray, shape (hops,), optional
        Departure dates to keep instead of choosing them, seconds past J2000; NaN leaves a hop free.
    everything : bool
        Also give every input and the inner numbers of the vehicle as columns.

    Returns
    -------
    DataFrame, n rows
        Design variables and output columns [SI], in the order of the designs.
    """
    rows, crafts, hops, values = flown(study, mission, architecture, designs, frozen)
    count = len(rows)
    table = answer_table(
        architecture, designs, values if everything else {}, rows, crafts, hops, mission.kind
    )
    checked = {
        **values,
        "hydrogen_in_oxygen": rows["hydrogen_in_oxygen"],
        "specific_impulse": table["specific_impulse"].to_numpy(),
        "live_power": rows["live_power"],
    }
    part = "all"
    if study.thrusters[architecture].refuels:
        part = "splitting" if np.any(crafts["electrolyser_power"] > 0.0) else "refuelling"
    table["demonstrated"] = study.thrusters[architecture].demonstrated
    outside = validity.first_outside(
        checked, study.options, study.thrusters[architecture].thruster.name, part, count
    )
    table["extrapolated"] = outside > 0
    table["extrapolated_by"] = pd.Categorical.from_codes(outside, categories=pd.Index(validity.names()))
    return table


def baseline(study: Study, mission: Mission | None = None, architecture: str | None = None) -> pd.DataFrame:
    """The study's reference design, one row per architecture, with every input and output column."""
    mission = mission or mission_of(study)
    names = [architecture] if architecture else list(study.architectures)
    frames = [evaluate(study, mission, name, {}, everything=True) for name in names]
    table = pd.concat(frames, ignore_index=True)
    table["architecture"] = pd.Categorical(table["architecture"], categories=names)
    return table
