"""Reconciled facts of every point: gas by several ways at once, engine, and the uncertainty of each of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from tradespace.bench import amounts, firing
from tradespace.bench.burned import Gas, gas_of, humidity_of
from tradespace.bench.filled import BoolArray, Channels, Columns, Filled, fill, has_engine
from tradespace.bench.records import Readings, Reconciled
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table

MEASURES = "bench_measures.csv"
_STEP = 0.1  # of a standard uncertainty, for the slopes
_NEAR = 1e-9


@dataclass(frozen=True)
class Measure:
    """One measure that readings lead to; a row of ``bench_measures.csv``."""

    name: str
    symbol: str
    unit: str
    display_unit: str
    description: str


def measures() -> dict[str, Measure]:
    """All measures by name, in the order of the table."""
    return {
        row["name"]: Measure(row["name"], row["symbol"], row["unit"], row["display_unit"], row["description"])
        for row in read_table(MEASURES).rows
    }


def propagate(
    function: Callable[[Channels], dict[str, FloatArray]], filled: Filled
) -> tuple[dict[str, FloatArray], dict[str, FloatArray], dict[str, FloatArray]]:
    """Measures with the random and the shared part of their standard uncertainty, by linear propagation.

    Parameters
    ----------
    function : callable
        Measures from channels, point by point.
    filled : Filled
        Channels with their uncertainties.

    Returns
    -------
    tuple of dict
        Measures, random parts and shared parts, in the unit of each measure.
    """
    base = function(filled.columns)
    random, shared = ({name: np.zeros(filled.points) for name in base} for _ in range(2))
    for name, column in filled.columns.items():
        own, common = filled.random[name], filled.systematic[name]
        step = _STEP * np.hypot(np.nan_to_num(own), np.nan_to_num(common))
        if not (step > 0.0).any():
            continue
        moved = function(filled.columns.changed(name, column + step))
        safe = np.where(step > 0.0, step, np.inf)
        for measure, number in moved.items():
            if number is base[measure]:
                continue
            slope = (number - base[measure]) / safe
            slope = np.where(np.isfinite(slope), slope, 0.0)
            random[measure] += (slope * own) ** 2
            shared[measure] += (slope * common) ** 2
    for parts in (random, shared):
        for measure, part in parts.items():
            parts[measure] = np.where(np.isfinite(base[measure]), np.sqrt(part), np.nan)
    return base, random, shared


@dataclass(frozen=True, eq=False)
class Balance:
    """How the ways to know the gas rate are combined at every point."""

    weights: Mapping[str, FloatArray]
    """Of each way, summing to one [1]; zero where it was not read."""
    spreads: Mapping[str, FloatArray]
    """Standard uncertainty of each way [kg s-1]."""
    bound_active: BoolArray
    """Whether the charge holds the rate down."""
    ways: FloatArray
    """How many ways were read, shape (n,)."""


def weigh(found: Columns, spreads: Columns, names: tuple[str, ...]) -> Balance:
    """Least squares of all ways under one rate that the charge bounds from above.

    The minimum of the squared corrections over their variances, with the rate at most that of the charge: either
    the weighted mean of the other ways, or, where it lies above the charge, that mean with the charge included.
    """
    charge = found["hydrogen_rate_charge"]
    size = charge.size
    sharpness: dict[str, FloatArray] = {}
    for name in names:
        spread = np.maximum(spreads[name], _NEAR * np.abs(found[name]))
        with np.errstate(divide="ignore"):
            sharp = np.where(np.isfinite(found[name]) & (found[name] != 0.0), 1.0 / spread**2, 0.0)
        sharpness[name] = np.where(np.isfinite(sharp), sharp, 0.0)
    total = sum(sharpness.values(), np.zeros(size))
    mean = sum((sharpness[n] * np.nan_to_num(found[n]) for n in names), np.zeros(size)) / np.where(
        total > 0.0, total, np.nan
    )
    active = (mean > charge) & np.isfinite(charge)
    spread = np.maximum(spreads["hydrogen_rate_charge"], _NEAR * np.abs(charge))
    with np.errstate(divide="ignore"):
        sharpness["hydrogen_rate_charge"] = np.where(active, 1.0 / spread**2, 0.0)
    total = total + sharpness["hydrogen_rate_charge"]
    return Balance(
        weights={name: sharp / np.where(total > 0.0, total, np.nan) for name, sharp in sharpness.items()},
        spreads=spreads,
        bound_active=active,
        ways=sum(((sharpness[name] > 0.0).astype(float) for name in names), np.zeros(size)),
    )


def combined(found: Columns, balance: Balance, charge_assumed: FloatArray) -> FloatArray:
    """The hydrogen rate by all ways; by charge alone, with an efficiency assumed, where nothing else was read."""
    made = np.zeros(charge_assumed.size)
    for name, weight in balance.weights.items():
        made = made + np.where(np.nan_to_num(weight) > 0.0, weight * found[name], 0.0)
    return np.where(balance.ways > 0.0, made, found["hydrogen_rate_charge"] * charge_assumed)


class Bench:
    """The formulas of one file, with what is settled once and held while uncertainties are worked out."""

    def __init__(self, readings: Readings) -> None:
        self.filled = fill(readings)
        self.words, self.once = readings.words, amounts.Once()
        c = self.filled.columns
        self.engine = has_engine(readings)
        self.coolant_of_cell = not self.engine and readings.has("coolant_flow", "coolant_rise")
        self.activity = amounts.lye_activity(c, self.words)
        self.cell = amounts.cell_of(c, self.words)
        parts, outcome = amounts.cell_parts(
            self.cell, c["current"] / c["electrode_area"], c["cell_temperature"], c["cell_pressure"]
        )
        known = np.isfinite(c["current"])
        fallback = amounts.cell_parts(
            self.cell, np.ones(c.unknown.size), c["cell_temperature"], c["cell_pressure"]
        )[0]
        self.parts, self.outcome = np.where(np.isfinite(parts), parts, np.nan), outcome
        self.reversible = np.where(known, fallback[:, 0], np.nan)
        self.gas = self._gas(c)
        self.state: firing.State | None = None
        self.bound_per_flow: FloatArray | None = None

    def _gas(self, c: Channels) -> Gas:
        """Ideal gas of every point."""
        expansion = (c["exit_diameter"] / c["throat_diameter"]) ** 2
        ratio = np.where(np.isfinite(c["mixture_ratio"]), c["mixture_ratio"], np.nan)
        humidity = humidity_of(
            self.words.get("gas_is", "wet"),
            c["feed_temperature"],
            c["cell_pressure"],
            np.where(np.isfinite(ratio), ratio, amounts.WHOLE),
        )
        return gas_of(c["lit"], ratio, c["chamber_pressure"], expansion, humidity, c["feed_temperature"])

    def rates(self, c: Channels) -> dict[str, FloatArray]:
        """Hydrogen by each way; the engine's flow stands in where nothing of the cell was read."""
        found = amounts.rates(c, self.words, self.once, self.activity, self.coolant_of_cell)
        found["hydrogen_rate_engine"] = amounts.engine_way(c["mass_flow"], self.gas.humidity)
        return found

    def settle(self) -> Balance:
        """Weights of the ways, then choking and the discharge coefficient, from the readings themselves."""
        found, random, shared = propagate(self.rates, self.filled)
        spreads = {name: np.hypot(random[name], shared[name]) for name in found}
        names = tuple(f"hydrogen_rate_{way}" for way in amounts.WAYS[:-1] if f"hydrogen_rate_{way}" in found)
        read = self.cell_was_read = np.any([np.isfinite(found[name]) for name in names], axis=0)
        found["hydrogen_rate_engine"] = np.where(read, np.nan, found["hydrogen_rate_engine"])
        self.balance = weigh(found, spreads, (*names, "hydrogen_rate_engine"))
        c = self.filled.columns
        made = combined(found, self.balance, c["charge_assumed"])
        flow = firing.mass_flow_of(c, made * amounts.WATER_OVER_HYDROGEN, self.gas.humidity)
        gaps = ~np.isfinite(c["discharge_coefficient"])
        if gaps.any() and self.engine:
            middle, spread = firing.discharge(flow, c["throat_diameter"], self.gas)
            c["discharge_coefficient"] = np.where(gaps, middle, c["discharge_coefficient"])
            systematic = self.filled.systematic
            systematic["discharge_coefficient"] = np.where(gaps, spread, systematic["discharge_coefficient"])
        self.state = firing.settle(c, self.gas, flow)
        if self.engine:
            with np.errstate(invalid="ignore", divide="ignore"):
                self.bound_per_flow = firing.ground_bound_of_throat(c, self.gas, flow) / flow
        return self.balance

    def facts(self, c: Channels) -> dict[str, FloatArray]:
        """Every measure from channels, with the weights held."""
        assert self.state is not None
        ohm = amounts.electric(c)
        found = self.rates(c)
        made = combined(found, self.balance, c["charge_assumed"])
        answers = {**ohm, **found, **amounts.yields(made, found, ohm)}
        answers["reversible_voltage"] = self.reversible
        answers["reversible_efficiency"] = self.reversible / ohm["cell_voltage"]
        answers["faradaic_efficiency"] = np.where(
            self.balance.ways > 0.0, answers["faradaic_efficiency"], np.nan
        )
        if self.engine:
            flow = firing.mass_flow_of(c, answers["gas_made"], self.gas.humidity)
            answers["gas_made_apart"] = np.where(
                self.cell_was_read, answers["gas_made"] / (1.0 - self.gas.humidity), np.nan
            )
            gas = self._gas(c) if self._other_gas(c) else self.gas
            state = self.state if gas is self.gas else replace(self.state, gas=gas, known={})
            found = firing.jets(c, state, flow)
            found["wall_heat_share"] = firing.heat_shares(found, gas)
            answers |= found
            answers["jet_share"] = answers["jet_power"] / ohm["supply_power"]
            answers["thrust_bound_flow"] = flow * gas.jet_bound
            answers["thrust_bound_energy"] = firing.energy_bound(
                flow, np.where(gas.lit > 0.5, answers["chemical_power"], np.nan)
            )
            ground = firing.ground_bound(c, state, flow)
            if self.bound_per_flow is not None:
                ground = np.where(np.isfinite(ground), ground, self.bound_per_flow * flow)
            answers["thrust_bound_ground"] = ground
        elif np.isfinite(c["coolant_rise"]).any():
            answers["cooling"] = amounts.coolant_heat(c)
        return answers

    def _other_gas(self, c: Channels) -> bool:
        """Whether a channel that the tables of the gas depend on has been changed much."""
        return c.get("mixture_ratio") is not self.filled.columns.get("mixture_ratio")


@np.errstate(divide="ignore", invalid="ignore")  # a point without current or flow is no number
def reconcile(readings: Readings) -> Reconciled:
    """Reconciled facts of every point of a readings file, with their uncertainties.

    Parameters
    ----------
    readings : Readings
        Any subset of channels, in SI.

    Returns
    -------
    Reconciled
        Measures of ``bench_measures.csv`` and their standard uncertainties; what the readings do not say is left out.

    Notes
    -----
    The hydrogen made is known by up to four ways: flow (the vapour of a wet meter taken off), weight (the vapour
    carried off taken off), heat where the cell itself is cooled by water that is read, and charge, which bounds it from
    above. They are combined by least squares under the balances of atoms, charge and energy: all ways give one
    rate, the rate is at most that of the charge. The flow through the engine is that gas,
    unless it is read. Choked or not
    is settled first; below choking the characteristic velocity and the coefficients of a vacuum stay unknown and the
    flow a throat passes follows the subsonic formula. Uncertainties go through linearly, the random and the shared part
    apart; look-ups of the ideal gas are held meanwhile.
    """
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        bench = Bench(readings)
        balance = bench.settle()
        facts, random, shared = propagate(bench.facts, bench.filled)
    facts = {name: np.where(np.isfinite(column), column, np.nan) for name, column in facts.items()}
    known = {name: column for name, column in facts.items() if np.isfinite(column).any()}
    residuals, chi_square, redundancy = _corrections(facts, balance)
    return Reconciled(
        readings=readings,
        columns=known,
        deviations={name: np.hypot(random[name], shared[name]) for name in known},
        residuals=residuals,
        chi_square=chi_square,
        redundancy=redundancy,
        systematic={name: shared[name] for name in known},
        assumed=tuple(sorted(bench.filled.assumed)),
    )


def _corrections(facts: Columns, balance: Balance) -> tuple[dict[str, FloatArray], FloatArray, FloatArray]:
    """Correction of each way over its standard uncertainty, their squares summed, and the balances to spare."""
    made = facts["hydrogen_rate"]
    residuals: dict[str, FloatArray] = {}
    chi_square = np.zeros(made.size)
    for name, weight in balance.weights.items():
        used = np.nan_to_num(weight) > 0.0
        if not used.any():
            continue
        spread = np.where(used, np.maximum(balance.spreads[name], _NEAR * np.abs(made)), np.nan)
        residuals[name] = (made - facts[name]) / spread
        chi_square += np.where(used, np.nan_to_num(residuals[name]) ** 2, 0.0)
    redundancy = np.maximum(balance.ways - 1.0, 0.0) + balance.bound_active
    return residuals, chi_square, redundancy


@dataclass(frozen=True)
class Mean:
    """One measure over all points at which it is known."""

    name: str
    value: float
    """[SI]."""
    expanded: float
    """Two standard uncertainties of the mean: the random part averaged, the shared part not [SI]."""
    points: int


def summary(reconciled: Reconciled, lit: bool | None = None) -> dict[str, Mean]:
    """Mean of every measure over the points, with k = 2: random errors average out, shared ones do not.

    Parameters
    ----------
    reconciled : Reconciled
        Facts of every point.
    lit : bool, optional
        Only the points that burn, or only those that do not.

    Returns
    -------
    dict of str to Mean
        By measure, in the order of the table; measures that are nowhere known are left out.
    """
    lit_now = (
        np.where(np.isfinite(reconciled.readings.column("lit")), reconciled.readings.column("lit"), 1.0) > 0.5
    )
    chosen = np.ones(lit_now.size, dtype=bool) if lit is None else lit_now == lit
    answers = {}
    for name in measures():
        column = reconciled.column(name)
        good = chosen & np.isfinite(column)
        count = int(good.sum())
        if not count:
            continue
        shared = np.nan_to_num(reconciled.systematic.get(name, np.zeros(column.size))[good])
        total = np.nan_to_num(reconciled.deviation(name)[good])
        random = np.sqrt(np.maximum(total**2 - shared**2, 0.0))
        own = float(np.sqrt((random**2).sum())) / count
        answers[name] = Mean(
            name, float(column[good].mean()), 2.0 * float(np.hypot(own, shared.mean())), count
        )
    return answers
