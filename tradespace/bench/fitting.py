"""Cell and engine as the readings have them: parameters of their models with what the readings leave open."""

from __future__ import annotations

import numpy as np

from tradespace.bench.cell_fit import fit_cell, lasting, mean_share
from tradespace.bench.engine_fit import believable, fit_engine
from tradespace.bench.grouping import grouped, run_position
from tradespace.bench.posterior import QUANTILE, Posterior
from tradespace.bench.reconciling import Bench
from tradespace.bench.records import Fit, Reconciled
from tradespace.constants import value

VALUES = "bench_fit_values.csv"
DERIVED = (
    "characteristic_velocity_efficiency", "thrust_coefficient_efficiency", "wall_heat_share", "specific_impulse",
    "faradaic_efficiency", "voltage_efficiency", "hydrogen_rate",
)  # fmt: skip
"""Means of measures that a fit reports beside its parameters."""
UNBELIEVABLE = "The thrust is above what the flow can give, so nothing was fitted to it."
OF_THRUST = ("thrust_coefficient_efficiency", "specific_impulse")
ALL_POINTS_LIT = 0.5


@np.errstate(divide="ignore", invalid="ignore")  # a point without current or flow is no number
def calibrate(found: Reconciled) -> Fit:
    """Parameters of cell and engine by weighted least squares, with what stays open.

    Parameters
    ----------
    found : Reconciled
        Facts of every point with their uncertainties.

    Returns
    -------
    Fit
        Only parameters of which the readings speak; no parameter at all where they speak of neither.

    Notes
    -----
    Points are put in groups of like conditions. Errors that points share (scale of a meter, bore of a throat, tare),
    their drift during the run and what the models are known to miss enter the covariance of the readings; noise that
    remembers itself widens that of a group. The posterior is drawn by importance sampling within the bounds of each
    quantity, under weak priors from a table. Cell and engine are fitted apart.
    """
    bench = Bench(found.readings)
    bench.settle()
    cell = fit_cell(found, bench.filled)
    engine, flows = fit_engine(found, bench) if bench.engine else (None, {})
    fits = [one for one in (cell.voltage, cell.gas, engine) if one is not None]
    names = tuple(name for one in fits for name in one.names)
    draws = np.concatenate([one.draws for one in fits], axis=1) if fits else np.zeros((2, 0))
    wrong = bench.engine and not believable(found).any()
    told = [name for name in DERIVED if name in found.columns and not (wrong and name in OF_THRUST)]
    derived = {name: _mean(found, bench, name) for name in told}
    derived = {name: pair for name, pair in derived.items() if np.isfinite(pair[0])}
    if cell.gas is not None:
        derived |= _of_gas(found, bench)
    low, high = (
        np.concatenate([getattr(one, end) for one in fits] or [np.zeros(0)]) for end in ("low", "high")
    )
    values = np.array([number for number, _ in derived.values()])
    widths = np.array([width for _, width in derived.values()])
    reach = QUANTILE * widths
    size = len(names) + len(derived)
    covariance = np.zeros((size, size))
    place = 0
    for one in fits:
        count = len(one.names)
        covariance[place : place + count, place : place + count] = np.atleast_2d(np.cov(one.draws.T))
        place += count
    covariance[range(place, size), range(place, size)] = widths**2
    return Fit(
        names=(*names, *derived), values=np.concatenate([draws.mean(axis=0), values]),
        low=np.concatenate([low, values - reach]), high=np.concatenate([high, values + reach]),
        covariance=covariance, informed=(*(told for one in fits for told in one.informed), *(True for _ in derived)),
        chi_square=sum(one.chi_square for one in fits), freedom=sum(one.freedom - len(one.names) for one in fits),
        words=(*((UNBELIEVABLE,) if wrong else ()), *_words(fits)), curves={**cell.curves, **flows},
    )  # fmt: skip


def _of_gas(found: Reconciled, bench: Bench) -> dict[str, tuple[float, float]]:
    """Faradaic efficiency and hydrogen rate by all ways together."""
    share, width = mean_share(found, bench.filled)
    charge = found.column("hydrogen_rate_charge")
    middle = float(charge[np.isfinite(charge)].mean())
    meter = lasting(bench.filled, "current") / bench.filled.columns["current"]
    without = np.sqrt(
        max(width**2 - (share * float(np.nanmean(meter))) ** 2, 0.0)
    )  # the current cancels in the rate
    return {"faradaic_efficiency": (share, width), "hydrogen_rate": (share * middle, float(without) * middle)}


def _mean(found: Reconciled, bench: Bench, name: str) -> tuple[float, float]:
    """Mean of a measure over the points that burn, or over all of a cell, and its standard deviation."""
    column = found.column(name)
    use = np.isfinite(column)
    if bench.engine:
        use &= np.nan_to_num(bench.filled.columns["lit"], nan=1.0) > ALL_POINTS_LIT
    if not use.any():
        return np.nan, np.nan
    stays = found.lasting(name)
    random = found.scattered(name)
    key = (
        found.column("mass_flow")
        if bench.engine and "mass_flow" in found.columns
        else found.column("current_density")
    )
    if not np.isfinite(key[use]).all():
        key = np.arange(column.size, dtype=np.float64)
    groups = grouped(key, use)
    weight = groups.counts / groups.counts.sum()
    noise = float((weight**2 * groups.noise(column, random, key)).sum())
    position = run_position(bench.filled.columns["time"], column.size)
    part = value("drift_share", VALUES)
    lasting = float(stays[use].mean())
    drifted = part * float((stays * np.abs(position))[use].mean()) / 3.0
    return float(column[use].mean()), float(np.sqrt(noise + lasting**2 + drifted**2))


def _words(fits: list[Posterior]) -> tuple[str, ...]:
    """What a reader should know of the fit."""
    found = []
    for one in fits:
        silent = [name for name, told in zip(one.names, one.informed, strict=True) if not told]
        if silent:
            found.append(f"The readings say little of {', '.join(silent)}: what was assumed before stands.")
        if one.freedom > len(one.names) and one.chi_square > _largest_chi_square(one.freedom):
            found.append(
                f"The fit of {', '.join(one.names)} misses the readings by more than their uncertainties: chi-square "
                f"{one.chi_square:.0f} of {one.freedom} groups."
            )
    return tuple(found)


def _largest_chi_square(freedom: int) -> float:
    """Chi-square that chance exceeds in one of a thousand cases."""
    from scipy.stats import chi2

    return float(chi2.ppf(1.0 - 1e-3, freedom))
