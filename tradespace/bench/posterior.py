"""Weighted least squares with errors that points share, and what is left open: draws of the posterior."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

VALUES = "bench_fit_values.csv"
HEAVY_TAILS = 5  # degrees of freedom of the proposal
WIDER = 1.2  # than the curvature at the best fit says
ROUNDS = 3
ENOUGH = 400  # effective draws
FREQUENT, QUANTILE = 0.95, 1.959964
SMALL = 1e-9


@dataclass(frozen=True, eq=False)
class Problem:
    """Readings, a model of them, and what was known before."""

    names: tuple[str, ...]
    observed: FloatArray
    """Readings, shape (n,)."""
    variance: FloatArray
    """Of errors that are independent, shape (n,)."""
    shared: FloatArray
    """Each column is one error of one standard deviation as it shows in every reading, shape (n, r)."""
    model: Callable[[FloatArray], FloatArray]
    """Parameters of shape (m, p) to readings of shape (m, n)."""
    before: FloatArray
    """Mean of the parameters before the readings, shape (p,)."""
    width: FloatArray
    """Standard deviation of the parameters before the readings, shape (p,)."""
    low: FloatArray
    high: FloatArray
    """What the parameters may be, shape (p,)."""
    straight: bool = False
    """Whether the model means something beyond those bounds too, and is all but linear."""


@dataclass(frozen=True, eq=False)
class Posterior:
    """What the readings leave open."""

    names: tuple[str, ...]
    draws: FloatArray
    """Equally likely parameters, shape (m, p)."""
    informed: tuple[bool, ...]
    chi_square: float
    freedom: int
    low: FloatArray
    high: FloatArray
    """95 % interval of each, shape (p,)."""

    @property
    def mean(self) -> FloatArray:
        """Of the draws, shape (p,)."""
        return np.asarray(self.draws.mean(axis=0))


def prior(
    names: tuple[str, ...], low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean and deviation of parameters before the readings, and the deviation that their bounds leave of it."""
    from tradespace.constants import table_values

    table = table_values(VALUES)
    rows = [table[f"prior_{name}"] for name in names]
    mean = np.array([row.value for row in rows])
    width = np.array([0.5 * (row.high - row.low) for row in rows])
    draws = mean + width * np.random.default_rng(int(value("seed", VALUES))).standard_normal(
        (4000, len(names))
    )
    inside = np.where((draws >= low) & (draws <= high), draws, np.nan)
    return mean, width, np.asarray(np.nanstd(inside, axis=0))


def posterior(problem: Problem) -> Posterior:
    """Best fit by weighted least squares, then draws by importance sampling about it; the same draws every time."""
    from scipy.optimize import least_squares

    spread = np.diag(problem.variance) + problem.shared @ problem.shared.T
    factor = np.linalg.cholesky(spread + SMALL * np.diag(np.diag(spread)))

    def residuals(parameters: FloatArray) -> FloatArray:
        """Of shape (m, n + p): of the readings, whitened, then of what was known before."""
        away = problem.observed - problem.model(parameters)
        before = (parameters - problem.before) / problem.width
        return np.concatenate([np.linalg.solve(factor, away.T).T, before], axis=1)

    inset = SMALL * problem.width
    start = np.clip(problem.before, problem.low + inset, problem.high - inset)
    best = least_squares(
        lambda one: residuals(one[None, :])[0],
        start,
        bounds=(problem.low, problem.high),
        x_scale=problem.width,
    )
    curvature = best.jac.T @ best.jac
    draws = _drawn(problem, residuals, best.x, np.linalg.inv(curvature))
    count = problem.observed.size
    chi_square = float((residuals(best.x[None, :])[0, :count] ** 2).sum())
    _, _, usual = prior(problem.names, problem.low, problem.high)
    narrower = draws.std(axis=0) < value("informed_share", VALUES) * usual
    low, high = _intervals(problem, residuals, best.x, draws)
    return Posterior(problem.names, draws, tuple(bool(one) for one in narrower), chi_square, count, low, high)


def _intervals(
    problem: Problem, residuals: Callable[[FloatArray], FloatArray], best: FloatArray, draws: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """95 % interval of each parameter: quantiles of the draws, or where a model is straight its own best fit.

    Near a bound the quantiles of draws that cannot pass it hold the truth too often. A straight model has a best fit
    that does not know the bounds; its interval is cut at them and holds the mean of the draws.
    """
    from scipy.optimize import least_squares

    low, high = np.quantile(draws, (0.5 - 0.5 * FREQUENT, 0.5 + 0.5 * FREQUENT), axis=0)
    if not problem.straight:
        return low, high
    free = least_squares(lambda one: residuals(one[None, :])[0], best, x_scale=problem.width)
    spread = QUANTILE * np.sqrt(np.diag(np.linalg.inv(free.jac.T @ free.jac)))
    mean = draws.mean(axis=0)
    return (
        np.minimum(np.maximum(free.x - spread, problem.low), mean),
        np.maximum(np.minimum(free.x + spread, problem.high), mean),
    )


def _drawn(
    problem: Problem,
    residuals: Callable[[FloatArray], FloatArray],
    centre: FloatArray,
    covariance: FloatArray,
) -> FloatArray:
    """Draws by importance sampling, the proposal fitted to them until enough of them count."""
    rng = np.random.default_rng(int(value("seed", VALUES)))
    count, size = int(value("draws", VALUES)), centre.size
    kept = centre[None, :]
    for _ in range(ROUNDS):
        root = WIDER * np.linalg.cholesky(covariance + SMALL * np.diag(problem.width**2))
        tails = np.sqrt(rng.chisquare(HEAVY_TAILS, count) / HEAVY_TAILS)
        offset = rng.standard_normal((count, size)) / tails[:, None]
        tried = centre + offset @ root.T
        inside = np.all((tried >= problem.low) & (tried <= problem.high), axis=1)
        tried, offset = tried[inside], offset[inside]
        fit = -0.5 * (residuals(tried) ** 2).sum(axis=1)
        proposed = -0.5 * (HEAVY_TAILS + size) * np.log1p((offset**2).sum(axis=1) / HEAVY_TAILS)
        weight = np.exp(fit - proposed - (fit - proposed).max())
        weight /= weight.sum()
        places = np.searchsorted(np.cumsum(weight), (np.arange(count) + rng.random()) / count)
        kept = tried[np.minimum(places, len(tried) - 1)]
        centre, covariance = weight @ tried, np.atleast_2d(np.cov(tried.T, aweights=weight))
        if 1.0 / (weight**2).sum() > ENOUGH:
            break
    return kept
