"""The cell as the readings have it: ohmic and activation share of its voltage, bypass and gas loss of its current."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tradespace.bench import amounts
from tradespace.bench.filled import Channels, Filled
from tradespace.bench.grouping import BoolArray, Groups, grouped, run_position, varies
from tradespace.bench.posterior import Posterior, Problem, posterior, prior
from tradespace.bench.records import Reconciled
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantities

VALUES = "bench_fit_values.csv"
VOLTAGE = ("cell_ohmic_factor", "cell_activation_factor")
GAS = ("cell_bypass_conductance", "cell_gas_loss")
CONDITIONS = (
    "current", "electrode_area", "cell_temperature", "cell_pressure", "electrode_gap", "electrolyte_strength",
)  # fmt: skip
"""Channels by whose error the model itself is wrong."""
WAYS = ("flow", "weight", "heat")
"""Ways by which the gas shows itself beside the charge."""
LEAST_POINTS = 3


@dataclass(frozen=True, eq=False)
class CellFit:
    """What the readings say of a cell."""

    voltage: Posterior | None
    gas: Posterior | None
    curves: dict[str, FloatArray]


def bounds(names: tuple[str, ...]) -> tuple[FloatArray, FloatArray]:
    """What the quantities of a study may be [SI]."""
    rows = [quantities()[name] for name in names]
    low = np.array([-np.inf if row.low is None else row.low for row in rows])
    high = np.array([np.inf if row.high is None else row.high for row in rows])
    return low, high


def lasting(filled: Filled, name: str) -> FloatArray:
    """Deviation of the error of a channel that all points share; of a fact that was read once all of it is."""
    column, shared = filled.columns[name], np.nan_to_num(filled.systematic[name])
    if varies(column):
        return shared
    return np.asarray(np.hypot(shared, np.nan_to_num(filled.random[name])))


def parts_of(c: Channels, words: dict[str, str]) -> tuple[FloatArray, FloatArray]:
    """Modelled parts of the voltage and outcomes of the cell at every point, shape (n, 6) each."""
    density = c["current"] / c["electrode_area"]
    return amounts.cell_parts(amounts.cell_of(c, words), density, c["cell_temperature"], c["cell_pressure"])


def moved(filled: Filled, position: FloatArray) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Parts and outcomes with each condition off by its lasting error, then by its drift where it was read often."""
    c, words = filled.columns, dict(filled.words)
    for name in CONDITIONS:
        spread = lasting(filled, name)
        if name not in c or not bool((spread > 0.0).any()) or not bool(np.isfinite(c[name]).any()):
            continue
        yield parts_of(c.changed(name, c[name] + spread), words)
        if varies(c[name]):
            yield parts_of(c.changed(name, c[name] + value("drift_share", VALUES) * spread * position), words)


def fit_cell(found: Reconciled, filled: Filled) -> CellFit:
    """Fit voltage and gas of a cell; each is None where the readings do not speak of it."""
    c = filled.columns
    density, voltage = c["current"] / c["electrode_area"], found.column("cell_voltage")
    use = np.isfinite(density) & np.isfinite(voltage) & (density > 0.0)
    if use.sum() < LEAST_POINTS:
        return CellFit(None, None, {})
    parts, outcome = parts_of(c, dict(filled.words))
    use &= np.isfinite(parts).all(axis=1)
    groups = grouped(density, use)
    position = run_position(c["time"], density.size)
    changed = [(p - parts, o - outcome) for p, o in moved(filled, position)]
    of_voltage = _fit_voltage(found, filled, groups, parts, [one for one, _ in changed], density, position)
    gas, curves = None, _curves(groups, density, voltage, parts, of_voltage)
    ways = [
        way for way in WAYS if (use & np.isfinite(found.column(f"hydrogen_rate_{way}"))).sum() >= LEAST_POINTS
    ]
    if ways:
        gas = _fit_gas(found, filled, ways, use, outcome, [one for _, one in changed], position)
    return CellFit(of_voltage, gas, curves)


def _course(groups: Groups, density: FloatArray) -> FloatArray:
    """Where each group lies between the lowest and the highest current, by its logarithm, from -1 to 1; mean zero."""
    place = np.log(np.maximum(groups.mean(density), np.finfo(float).tiny))
    span = float(np.ptp(place))
    centred = 2.0 * (place - float(place.mean())) / span if span > 0.0 else np.zeros(place.size)
    return np.asarray(centred)


def _drifting(shared: FloatArray, position: FloatArray, groups: Groups) -> list[FloatArray]:
    """An error that stays, and the part of it that drifts during a run, straight and bent."""
    part = value("drift_share", VALUES)
    return [
        groups.mean(shared),
        groups.mean(part * shared * position),
        groups.mean(0.5 * part * shared * (3.0 * position**2 - 1.0)),
    ]


def _fit_voltage(
    found: Reconciled, filled: Filled, groups: Groups, parts: FloatArray, changed: list[FloatArray],
    density: FloatArray, position: FloatArray,
) -> Posterior:  # fmt: skip
    """Ohmic and activation factor from the voltage of one cell over current density."""
    low, high = bounds(VOLTAGE)
    before, width, _ = prior(VOLTAGE, low, high)
    voltage = found.column("cell_voltage")
    ohmic, activation = groups.mean(parts[:, 2]), groups.mean(parts[:, 1])
    rest = groups.mean(parts.sum(axis=1) - parts[:, 1] - parts[:, 2])
    observed = groups.mean(voltage) - rest
    stays = lasting(filled, "stack_voltage") / np.maximum(filled.columns["cells_in_series"], 1.0)
    random = np.sqrt(np.maximum(found.deviation("cell_voltage") ** 2 - stays**2, 0.0))
    slope, _ = np.linalg.lstsq(np.stack([ohmic, activation], axis=1), observed, rcond=None)[:2]
    guess = np.clip(slope, *(np.array([0.2, 5.0])))
    away = voltage - parts @ np.array([1.0, guess[1], guess[0], 1.0, 1.0, 1.0])
    variance = groups.noise(away, random, density)
    shared = _drifting(stays, position, groups)
    for one in changed:
        other = one.sum(axis=1) - one[:, 1] - one[:, 2]
        shared.append(groups.mean(guess[0] * one[:, 2] + guess[1] * one[:, 1] + other))
    place = _course(groups, density)
    missed = value("discrepancy_activation", VALUES) * guess[1] * activation
    shared += [missed * place, 0.5 * missed * (place**2 - float((place**2).mean()))]
    load = groups.mean(density)
    fuller = (load - float(load.mean())) / max(float(np.ptp(load)), np.finfo(float).tiny)
    shared.append(value("discrepancy_ohmic", VALUES) * guess[0] * ohmic * fuller)

    def model(parameters: FloatArray) -> FloatArray:
        return parameters[:, :1] * ohmic + parameters[:, 1:] * activation

    return posterior(
        Problem(VOLTAGE, observed, variance, np.stack(shared, axis=1), model, before, width, low, high)
    )


def _fit_gas(
    found: Reconciled, filled: Filled, ways: list[str], use: BoolArray, outcome: FloatArray, changed: list[FloatArray],
    position: FloatArray,
) -> Posterior:  # fmt: skip
    """Bypass conductance and gas loss from the gas that each way shows, over what the charge would make."""
    low, high = bounds(GAS)
    before, width, _ = prior(GAS, low, high)
    density, charge = found.column("current_density"), found.column("hydrogen_rate_charge")
    observed, variance, plain, bypass, columns = [], [], [], [], []
    for number, way in enumerate(ways):
        name = f"hydrogen_rate_{way}"
        rate = found.column(name)
        groups = grouped(density, use & np.isfinite(rate))
        stays = found.lasting(name)
        random = found.scattered(name)
        share = rate / charge
        observed.append(groups.mean(share))
        variance.append(groups.noise(share, random / charge, density))
        plain.append(groups.mean(outcome[:, 1]))
        bypass.append(groups.mean(outcome[:, 1] * found.column("cell_voltage") / density))
        meter = lasting(filled, "current") / filled.columns["current"] * share
        own = [(number, one) for one in _drifting(stays / charge, position, groups)]
        common = [*_drifting(meter, position, groups), *(groups.mean(one[:, 1]) for one in changed)]
        missed = value("discrepancy_gas", VALUES) * plain[-1]
        columns.append((own, [*common, missed, missed * _course(groups, density)]))
    shared = [np.concatenate(parts) for parts in zip(*(common for _, common in columns), strict=True)]
    sizes = [part.size for part in observed]
    for number, one in (pair for own, _ in columns for pair in own):
        shared.append(
            np.concatenate([one if place == number else np.zeros(size) for place, size in enumerate(sizes)])
        )
    whole, past = np.concatenate(plain), np.concatenate(bypass)

    def model(parameters: FloatArray) -> FloatArray:
        return (whole - parameters[:, :1] * past) * (1.0 - parameters[:, 1:])

    return posterior(
        Problem(
            GAS, np.concatenate(observed), np.concatenate(variance), np.stack(shared, axis=1), model, before, width,
            low, high, straight=True,
        )
    )  # fmt: skip


def mean_share(found: Reconciled, filled: Filled) -> tuple[float, float]:
    """Mean Faradaic efficiency over the points by all ways that were read, and its standard deviation [1].

    The charge does not hold it down here, so that what is said of it is not pressed against one.
    """
    density, charge = found.column("current_density"), found.column("hydrogen_rate_charge")
    meter = lasting(filled, "current") / filled.columns["current"]
    means, widths = [], []
    for way in WAYS:
        rate = found.column(f"hydrogen_rate_{way}")
        use = np.isfinite(rate) & np.isfinite(density)
        if use.sum() < LEAST_POINTS:
            continue
        groups = grouped(density, use)
        stays = found.lasting(f"hydrogen_rate_{way}")
        random = found.scattered(f"hydrogen_rate_{way}")
        weight = groups.counts / groups.counts.sum()
        noise = (weight**2 * groups.noise(rate / charge, random / charge, density)).sum()
        means.append(float((rate / charge)[use].mean()))
        widths.append(float(np.sqrt(noise + (stays / charge)[use].mean() ** 2)))
    if not means:
        return float("nan"), float("nan")
    sharp = 1.0 / np.array(widths) ** 2
    mean = float((sharp * np.array(means)).sum() / sharp.sum())
    return mean, float(np.hypot(1.0 / np.sqrt(sharp.sum()), mean * float(np.nanmean(meter))))


def _curves(
    groups: Groups, density: FloatArray, voltage: FloatArray, parts: FloatArray, fit: Posterior
) -> dict[str, FloatArray]:
    """For the picture of the cell: readings, fitted voltage with its band, and its parts, by group."""
    ohmic, activation = groups.mean(parts[:, 2]), groups.mean(parts[:, 1])
    rest = groups.mean(parts.sum(axis=1) - parts[:, 1] - parts[:, 2])
    drawn = fit.draws[:, :1] * ohmic + fit.draws[:, 1:] * activation + rest
    mean = fit.mean
    low, high = np.quantile(drawn, (0.025, 0.975), axis=0)
    return {
        "current_density": groups.mean(density), "cell_voltage": groups.mean(voltage),
        "fitted_voltage": drawn.mean(axis=0), "fitted_low": low, "fitted_high": high,
        "reversible_part": groups.mean(parts[:, 0]), "activation_part": mean[1] * activation,
        "ohmic_part": mean[0] * ohmic,
    }  # fmt: skip
