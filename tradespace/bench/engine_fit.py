"""The engine as the readings have it: burning, friction and wall heat, each over its correlation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tradespace.bench.cell_fit import bounds
from tradespace.bench.grouping import Groups, grouped, run_position, varies
from tradespace.bench.posterior import Posterior, Problem, posterior, prior
from tradespace.bench.reconciling import Bench
from tradespace.bench.records import Reconciled
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.divergence import conical_divergence_kernel
from tradespace.physics.nozzle.ideal import mach_number_kernel, pressure_ratio_kernel
from tradespace.physics.nozzle.thrust import momentum_coefficient_kernel
from tradespace.physics.nozzle.viscous import viscous_loss_kernel, viscous_share_kernel
from tradespace.physics.nozzle.wall import (
    CHAMBER_LENGTH_RATIO,
    CONTRACTION_RATIO,
    WALL_TEMPERATURE,
    characteristic_velocity_heat_factor_kernel,
    specific_impulse_heat_factor_kernel,
    wall_heat_kernel,
)

VALUES = "bench_fit_values.csv"
ENGINE = ("energy_release_efficiency", "viscous_loss_scale", "wall_heat_scale")
READ = ("characteristic_velocity_efficiency", "thrust_coefficient_efficiency", "wall_heat_share")
"""Measures that the three numbers are fitted to."""
BOUNDS = ("thrust_bound_ground", "thrust_bound_flow", "thrust_bound_energy")
STEP = 0.1
HALF_ANGLE = value("half_angle", "nozzle_values.csv")
LEAST_POINTS = 3
FULLY_LIT = 0.5


@dataclass(frozen=True, eq=False)
class Blocks:
    """Readings of the engine in groups, one kind after the other."""

    observed: FloatArray
    variance: FloatArray
    shared: FloatArray
    kinds: tuple[str, ...]
    groups: Groups


def fit_engine(found: Reconciled, bench: Bench) -> tuple[Posterior | None, dict[str, FloatArray]]:
    """Fit the losses of an engine that burns and is choked; None where the readings do not speak of one."""
    lit = np.nan_to_num(bench.filled.columns["lit"], nan=1.0) > FULLY_LIT
    velocity = found.column(READ[0])
    use = lit & np.isfinite(velocity) & (found.column("choked") == 1.0)
    if use.sum() < LEAST_POINTS:
        return None, {}
    known = {name: np.isfinite(found.column(name)) for name in READ}
    known[READ[1]] &= believable(found)
    kinds = tuple(name for name in READ if (use & known[name]).sum() >= LEAST_POINTS)
    for name in kinds:
        use &= known[name]
    if use.sum() < LEAST_POINTS:
        return None, {}
    groups = grouped(found.column("mass_flow"), use)
    blocks = _blocks(found, bench, groups, kinds)
    setting = _setting(bench, found, groups)
    low, high = bounds(ENGINE)
    before, width, _ = prior(ENGINE, low, high)

    def model(parameters: FloatArray) -> FloatArray:
        answers = predicted(parameters, setting)
        return np.concatenate([answers[name] for name in kinds], axis=1)

    fit = posterior(
        Problem(ENGINE, blocks.observed, blocks.variance, blocks.shared, model, before, width, low, high)
    )
    return fit, {"engine_flow": groups.mean(found.column("mass_flow"))}


def believable(found: Reconciled) -> FloatArray:
    """Points whose thrust lies below every bound by less than twice its uncertainty, shape (n,)."""
    thrust, doubt = found.column("thrust"), 2.0 * np.nan_to_num(found.deviation("thrust"))
    answer = np.ones(thrust.size, dtype=bool)
    for name in BOUNDS:
        bound = found.column(name)
        slack = np.hypot(doubt, 2.0 * np.nan_to_num(found.deviation(name)))
        answer &= ~(thrust - slack > bound)
    return answer


def _perfect(bench: Bench) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Area ratio, momentum part and whole of the thrust coefficient in vacuum at every point, perfect gas [1]."""
    gas = bench.gas
    area = np.where(np.isfinite(gas.expansion), np.maximum(gas.expansion, 1.0), 1.0)
    mach = broadcast(mach_number_kernel, area, gas.gamma)
    momentum = broadcast(momentum_coefficient_kernel, mach, gas.gamma)
    return area, momentum, momentum + broadcast(pressure_ratio_kernel, mach, gas.gamma) * area


def divergence_factors(bench: Bench) -> FloatArray:
    """Share of the thrust in vacuum that a diverging jet keeps [1]; of the usual cone where none was read."""
    angle = bench.filled.columns["half_angle"]
    cone = broadcast(conical_divergence_kernel, np.where(np.isfinite(angle), angle, HALF_ANGLE))
    _, momentum, ideal = _perfect(bench)
    return np.asarray((momentum * cone + ideal - momentum) / ideal)


def _setting(bench: Bench, found: Reconciled, groups: Groups) -> Mapping[str, FloatArray]:
    """What the correlations ask of each group."""
    gas = bench.gas
    area, _, ideal = _perfect(bench)
    throat = 2.0 * gas.temperature / (gas.gamma + 1.0)
    lost = broadcast(
        viscous_loss_kernel,
        area,
        np.nan_to_num(found.column("reynolds_number"), nan=1e6),
        throat / WALL_TEMPERATURE,
    )
    columns = {
        "divergence": divergence_factors(bench),
        "lost": lost / ideal, "reynolds": found.column("reynolds_number"), "mixture": gas.mixture_ratio,
        "temperature": gas.temperature, "gamma": gas.gamma, "velocity": gas.velocity,
    }  # fmt: skip
    return {name: groups.mean(column) for name, column in columns.items()}


def predicted(parameters: FloatArray, setting: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Characteristic velocity and thrust coefficient over ideal, and the share of heat lost, shape (m, k) each."""
    burning, friction, exchange = (parameters[:, place, None] for place in range(3))
    viscous = broadcast(viscous_share_kernel, friction * setting["lost"])
    heat = broadcast(
        wall_heat_kernel, setting["reynolds"], setting["mixture"], setting["temperature"], setting["gamma"],
        setting["velocity"], WALL_TEMPERATURE, CONTRACTION_RATIO, CHAMBER_LENGTH_RATIO, exchange,
    )  # fmt: skip
    cooled = broadcast(characteristic_velocity_heat_factor_kernel, heat)
    whole = broadcast(specific_impulse_heat_factor_kernel, heat)
    return {
        READ[0]: burning * cooled,
        READ[1]: setting["divergence"] * viscous * whole / cooled,
        READ[2]: heat,
    }


def _blocks(found: Reconciled, bench: Bench, groups: Groups, kinds: tuple[str, ...]) -> Blocks:
    """Means and noise of every group, and the errors that readings share, with what they do to each kind."""
    filled = bench.filled
    flow, position = found.column("mass_flow"), run_position(filled.columns["time"], filled.points)
    observed, variance = [], []
    for name in kinds:
        column = found.column(name)
        random = found.scattered(name)
        observed.append(groups.mean(column))
        variance.append(groups.noise(column, random, flow))
    shared = shared_errors(bench, groups, kinds, position)
    place = np.linspace(-1.0, 1.0, groups.counts.size) if groups.counts.size > 1 else np.zeros(1)
    for row, name in enumerate(kinds):
        size = value("discrepancy_heat" if name == READ[2] else "discrepancy_engine", VALUES)
        for shape in (np.ones(place.size), place, groups.mean(position)):
            parts = [np.zeros(place.size) for _ in kinds]
            parts[row] = size * observed[row] * shape
            shared.append(np.concatenate(parts))
    return Blocks(np.concatenate(observed), np.concatenate(variance), np.stack(shared, axis=1), kinds, groups)


def shared_errors(
    bench: Bench, groups: Groups, kinds: tuple[str, ...], position: FloatArray
) -> list[FloatArray]:
    """What the lasting error of every channel does to each kind of reading, and what its drift does."""
    filled, part = bench.filled, value("drift_share", VALUES)
    base = bench.facts(filled.columns)
    found = []
    for name, column in filled.columns.items():
        constant = not varies(column)
        spread = np.nan_to_num(filled.systematic[name])
        if constant:
            spread = np.hypot(spread, np.nan_to_num(filled.random[name]))
        if not bool((spread > 0.0).any()):
            continue
        other = bench.facts(filled.columns.changed(name, column + STEP * spread))
        if all(other[kind] is base[kind] for kind in kinds):
            continue
        slopes = [(other[kind] - base[kind]) / STEP for kind in kinds]
        if not any(bool(np.nan_to_num(slope).any()) for slope in slopes):
            continue
        shapes = (np.ones(position.size),) if constant else (np.ones(position.size), part * position)
        found += [np.concatenate([groups.mean(slope * shape) for slope in slopes]) for shape in shapes]
    return found
