"""Which uncertain inputs carry the variance of the margin and of closing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.physics.compiled import FloatArray
from tradespace.sampling import draws
from tradespace.sensitivity.variance import base_points, mixed, shares
from tradespace.uncertainty.chances import Outcome
from tradespace.uncertainty.designs import Chosen, chosen_inputs
from tradespace.uncertainty.intervals import setting

if TYPE_CHECKING:
    from tradespace.uncertainty.question import Question

METRICS = ("margin", "closes")
COLUMNS = (
    "architecture calendar metric quantity correlation rank_share total total_low total_high runs".split()
)
LEAST_EIGENVALUE = 1e-9
RULE = (
    "Total share: total Sobol' index of the inputs with the largest rank correlations, the part of the variance that "
    "would be left if all others were known. Rank share: part of the variance of the rank that each input explains, "
    "correlated inputs sharing what they explain together (relative weights)"
)


def ranks(values: FloatArray) -> FloatArray:
    """Ranks with ties shared, mean 0 and standard deviation 1; all 0 where nothing varies."""
    from scipy.stats import rankdata

    found = np.asarray(rankdata(values), dtype=np.float64)
    found -= found.mean()
    deviation = float(found.std())
    return found / deviation if deviation > 0.0 else np.zeros_like(found)


def relative_weights(inputs: FloatArray, answer: FloatArray) -> FloatArray:
    """Part of the variance of an answer that each of some correlated inputs explains.

    The inputs are replaced by the uncorrelated ones nearest to them, and what those explain is handed back by squared
    correlation; the weights add up to what a linear regression explains. For uncorrelated inputs they are squared
    correlations.

    Parameters
    ----------
    inputs : ndarray, shape (n, d)
        Standardised.
    answer : ndarray, shape (n,)
        Standardised.

    Returns
    -------
    ndarray, shape (d,)
        Shares [1].

    References
    ----------
    .. [1] johnson2000, equations for the relative weights.

    Examples
    --------
    >>> x = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]])
    >>> relative_weights(x, x @ np.array([0.8, 0.6])).round(2)
    array([0.64, 0.36])
    """
    count = len(answer)
    values, vectors = np.linalg.eigh(inputs.T @ inputs / count)
    root = np.sqrt(np.maximum(values, LEAST_EIGENVALUE))
    near = (vectors * root) @ vectors.T
    weights = (vectors / root) @ vectors.T @ (inputs.T @ answer / count)
    return np.asarray(near**2 @ weights**2)


def rank_rows(question: Question, outcome: Outcome) -> pd.DataFrame:
    """Rank correlations and rank shares of every uncertain input, from draws that are there already."""
    name = outcome.chosen.architecture
    drawn = question.draws(name, len(outcome.closes), without=chosen_inputs(question.study))
    table = np.stack([ranks(values) for values in drawn.values()], axis=1)
    varies, together = np.flatnonzero(table.any(axis=0)), question.correlation(name) is not None
    rows = []
    for metric in METRICS:
        answer = ranks(outcome.answers[metric])
        correlation, found = np.zeros(len(drawn)), np.zeros(len(drawn))
        if varies.size and answer.any():
            correlation[varies] = table[:, varies].T @ answer / answer.size
            found[varies] = (
                relative_weights(table[:, varies], answer) if together else correlation[varies] ** 2
            )
        rows += [
            (
                name,
                outcome.calendar,
                metric,
                quantity,
                correlation[place],
                found[place],
                np.nan,
                np.nan,
                np.nan,
                0,
            )
            for place, quantity in enumerate(drawn)
        ]
    return pd.DataFrame(rows, columns=COLUMNS)


def leading(rows: pd.DataFrame) -> list[str]:
    """Inputs with the largest rank correlations with the margin or with closing, as many as the setting says."""
    most = int(setting("leading_inputs"))
    strength = rows.assign(size=rows["correlation"].abs()).groupby("quantity", sort=False)["size"].max()
    return [str(name) for name in strength.sort_values(ascending=False, kind="stable").index[:most]]


def with_totals(question: Question, chosen: Chosen, rows: pd.DataFrame, base: int) -> pd.DataFrame:
    """The same rows with total Sobol' indices of the leading inputs, calendar free.

    Correlated inputs have no such index: their rows stay as they are.

    Parameters
    ----------
    question, chosen
        What is asked, and of which design.
    rows : DataFrame
        Of :func:`rank_rows`, calendar free.
    base : int
        Base samples, a power of two; none are run for 0.
    """
    name = chosen.architecture
    if base == 0 or question.correlation(name) is not None:
        return rows
    inputs = question.inputs(name)
    known = [item.name for item in inputs]
    names = leading(rows)
    points = base_points(len(inputs), base, question.study.seed)
    runs = [points.first, points.second, *(mixed(points, known.index(quantity)) for quantity in names)]
    left = set(chosen_inputs(question.study))
    drawn = {
        quantity: values
        for quantity, values in draws(inputs, np.concatenate(runs)).items()
        if quantity not in left
    }
    fixed = {key: np.array([value]) for key, value in chosen.values.items() if key not in drawn}
    answers = question.answers(name, fixed, drawn, METRICS)
    found = shares(
        {metric: answers[metric].reshape(len(runs), base) for metric in METRICS}, names, question.study.seed
    )
    rows = rows.copy()
    for line, metric in enumerate(found.metrics):
        for place, quantity in enumerate(found.inputs):
            here = (rows["metric"] == metric) & (rows["quantity"] == quantity)
            for column in ("total", "total_low", "total_high"):
                rows.loc[here, column] = float(getattr(found, column)[line, place])
            rows.loc[here, "runs"] = found.runs
    return rows
