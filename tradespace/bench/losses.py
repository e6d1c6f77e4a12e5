"""Where each watt went, from the supply to the jet."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from tradespace.bench.amounts import HIGHER_VOLTAGE, LOWER_VOLTAGE
from tradespace.bench.cell_fit import parts_of
from tradespace.bench.engine_fit import divergence_factors
from tradespace.bench.filled import Filled
from tradespace.bench.reconciling import Bench
from tradespace.bench.records import Fit, Loss, Reconciled
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

MEASURED, MODELLED, DIFFERENCE = "measured", "modelled", "by difference"
SUPPLY, STACK, HEAT, MADE, FED, CHAMBER = (
    "supply", "stack", "heat of the cell", "gas made", "gas fed", "hot gas",
)  # fmt: skip
GAS_SUPPLY = "gas supply"
"""Where an engine alone begins, no power supply having been read."""
OUTSIDE = "heat from outside"
"""Where a cell below its thermoneutral voltage takes what it lacks."""
AWAY, JET = "surroundings", "jet"
LATENT = 1.0 - LOWER_VOLTAGE / HIGHER_VOLTAGE
"""Share of the higher heating value that leaves with uncondensed steam [1]."""
_RELEASE = value("energy_release_efficiency", "nozzle_values.csv")
LIT = 0.5


@np.errstate(divide="ignore", invalid="ignore")  # a point without current or flow is no number
def losses(found: Reconciled, fit: Fit) -> list[Loss]:
    """Power by where it goes, means over the run; over the points that burn where there is an engine.

    Every stream but the first is the end of some loss and the beginning of others, and what begins in a stream sums to
    what ends in it. Powers of gas are on the higher heating value. What no reading and no model tells is taken by
    difference and says so. Heat that the reaction takes up flows from the heat of the cell into the gas.

    Parameters
    ----------
    found : Reconciled
        Facts of every point.
    fit : Fit
        What :func:`tradespace.bench.fitting.calibrate` made of them.

    Returns
    -------
    list of Loss
        From the supply on; empty where no power is known.
    """
    bench = Bench(found.readings)
    bench.settle()
    use = np.ones(found.readings.points, dtype=bool)
    if bench.engine:
        use = np.nan_to_num(bench.filled.columns["lit"], nan=1.0) > LIT
    taken = _Taken(found, use)
    answers = _cell(found, fit, bench.filled, taken)
    if not bench.engine:
        return answers
    return answers + _engine(fit, taken, divergence_factors(bench), feeds=bool(answers))


class _Taken:
    """Means of measures over the points in use, with their deviations."""

    def __init__(self, found: Reconciled, use: FloatArray) -> None:
        self.found, self.use = found, use

    def mean(self, name: str) -> float:
        """Mean of a measure, not a number where it is not known."""
        return self.of(self.found.column(name))

    def of(self, column: FloatArray) -> float:
        """Mean of a column over the points in use."""
        good = self.use & np.isfinite(column)
        return float(column[good].mean()) if good.any() else float("nan")

    def width(self, name: str) -> float:
        """Standard deviation of that mean: what points share stays, the rest is averaged."""
        stays = np.nan_to_num(self.found.systematic.get(name, np.zeros(self.use.size)))
        total = np.nan_to_num(self.found.deviation(name))
        good = self.use & np.isfinite(self.found.column(name))
        if not good.any():
            return float("nan")
        random = np.sqrt(np.maximum(total**2 - stays**2, 0.0)[good].mean() / good.sum())
        return float(np.hypot(stays[good].mean(), random))


def _relative(fit: Fit, name: str) -> float:
    """Standard deviation of a parameter over its value; all of it where it was not fitted."""
    number = fit.value(name)
    return fit.deviation(name) / number if np.isfinite(number) and number > 0.0 else 1.0


def _cell(found: Reconciled, fit: Fit, filled: Filled, taken: _Taken) -> list[Loss]:
    """From the supply to the gas."""
    supply, stack, gas = (taken.mean(name) for name in ("supply_power", "stack_power", "chemical_power"))
    if not np.isfinite(supply):
        return []
    if not np.isfinite(taken.mean("cell_voltage")) or not np.isfinite(taken.mean("current_density")):
        return _without_a_cell(supply, gas, taken)
    answers = []
    wiring = supply - stack
    if wiring > 0.0:
        answers.append(Loss("wiring", SUPPLY, AWAY, wiring, taken.width("wiring_loss"), MEASURED))
    answers.append(
        Loss("stack", SUPPLY, STACK, supply - max(wiring, 0.0), taken.width("stack_power"), MEASURED)
    )
    stack = supply - max(wiring, 0.0)
    flows = _voltages(fit, filled, taken, found, stack)
    for name in ("ohmic", "activation", "bypass", "other overvoltage"):
        basis = DIFFERENCE if name == "other overvoltage" else MODELLED
        answers.append(Loss(name, STACK, HEAT, *flows[name], basis))
    answers.append(Loss("reversible work", STACK, MADE, *flows["reversible"], MODELLED))
    made = flows["reversible"][0] + flows["thermoneutral"][0]
    answers.append(Loss("thermoneutral heat", HEAT, MADE, *flows["thermoneutral"], MODELLED))
    warm = sum(item.power for item in answers if item.ends == HEAT) - flows["thermoneutral"][0]
    doubt = float(np.hypot(taken.width("stack_power"), taken.width("chemical_power")))
    if warm >= 0.0:
        answers.append(Loss("heat of the cell", HEAT, AWAY, warm, doubt, DIFFERENCE))
    else:
        answers.append(Loss("heat drawn in", OUTSIDE, HEAT, -warm, doubt, DIFFERENCE))
    gas = min(gas, made) if np.isfinite(gas) else made
    answers.append(Loss("gas lost", MADE, AWAY, made - gas, taken.width("chemical_power"), DIFFERENCE))
    answers.append(Loss("gas fed", MADE, FED, gas, taken.width("chemical_power"), MEASURED))
    return answers


def _without_a_cell(supply: float, gas: float, taken: _Taken) -> list[Loss]:
    """Supply and gas alone: what lies between them is one loss."""
    if not np.isfinite(gas) or gas > supply:
        return []
    width = float(np.hypot(taken.width("supply_power"), taken.width("chemical_power")))
    return [
        Loss("cell and supply", SUPPLY, AWAY, supply - gas, width, DIFFERENCE),
        Loss("gas fed", SUPPLY, FED, gas, taken.width("chemical_power"), MEASURED),
    ]


def _voltages(
    fit: Fit, filled: Filled, taken: _Taken, found: Reconciled, stack: float
) -> Mapping[str, tuple[float, float]]:
    """Power of the stack by what the voltage and the current are spent on, with deviations [W]."""
    c = filled.columns
    parts, outcome = parts_of(c, dict(filled.words))
    voltage, density = found.column("cell_voltage"), found.column("current_density")
    factor = {
        name: fit.value(name) if name in fit.names else usual
        for name, usual in (
            ("cell_ohmic_factor", 1.0), ("cell_activation_factor", 1.0), ("cell_bypass_conductance", 0.0)
        )
    }  # fmt: skip
    through = c["cells_in_series"] * c["current"]
    past = outcome[:, 5] + factor["cell_bypass_conductance"] * voltage / density
    past = np.clip(past, 0.0, 1.0)
    power = {
        "bypass": taken.of(through * voltage * past),
        "ohmic": taken.of(through * (1.0 - past) * factor["cell_ohmic_factor"] * parts[:, 2]),
        "activation": taken.of(through * (1.0 - past) * factor["cell_activation_factor"] * parts[:, 1]),
        "reversible": taken.of(through * (1.0 - past) * parts[:, 0]),
        "thermoneutral": taken.of(through * (1.0 - past) * (HIGHER_VOLTAGE - parts[:, 0])),
    }
    known = {name: number if np.isfinite(number) else 0.0 for name, number in power.items()}
    rest = stack - sum(known[name] for name in ("bypass", "ohmic", "activation", "reversible"))
    if rest < 0.0:  # the model lies above the readings: its overvoltages give way, then its reversible work
        over = known["ohmic"] + known["activation"]
        given = min(-rest, over)
        known |= {name: known[name] * (1.0 - given / max(over, 1e-300)) for name in ("ohmic", "activation")}
        known["reversible"] += rest + given
        known["thermoneutral"] -= rest + given
        rest = 0.0
    widths = {
        "ohmic": known["ohmic"] * _relative(fit, "cell_ohmic_factor"),
        "activation": known["activation"] * _relative(fit, "cell_activation_factor"),
        "bypass": known["bypass"] * _relative(fit, "cell_bypass_conductance"),
        "reversible": taken.width("stack_power"),
        "thermoneutral": taken.width("stack_power"),
    }
    found_widths = {name: (known[name], float(width)) for name, width in widths.items()}
    over = float(np.hypot(taken.width("stack_power"), taken.width("chemical_power")))
    return {**found_widths, "other overvoltage": (rest, over)}


def _engine(fit: Fit, taken: _Taken, spread: FloatArray, *, feeds: bool) -> list[Loss]:
    """From the gas to the jet; what a jet could hold is reckoned from the ideal one, loss by loss."""
    fed, jet = taken.mean("flow_power"), taken.mean("jet_power")
    if not np.isfinite(fed) or not np.isfinite(jet):
        return []
    answers = []
    given = taken.mean("chemical_power") if feeds else fed
    if feeds and np.isfinite(given) and given > fed:
        answers.append(
            Loss(
                "gas not fed to the engine", FED, AWAY, given - fed, taken.width("chemical_power"), DIFFERENCE
            )
        )
    if not feeds:
        answers.append(Loss("gas fed", GAS_SUPPLY, FED, fed, taken.width("flow_power"), MEASURED))
    elif np.isfinite(given):
        fed = min(fed, given)
    latent = LATENT * fed
    answers.append(
        Loss("steam that does not condense", FED, AWAY, latent, taken.width("flow_power") * LATENT, MODELLED)
    )
    hot = fed - latent
    burning = fit.value("energy_release_efficiency")
    told = np.isfinite(burning)
    unburnt = hot * (1.0 - (burning if told else _RELEASE) ** 2)
    width = 2.0 * hot * (fit.deviation("energy_release_efficiency") if told else 1.0 - _RELEASE)
    answers.append(Loss("unburnt", FED, AWAY, unburnt, width, MODELLED))
    wall = taken.mean("wall_heat")
    share = fit.value("wall_heat_share")
    if np.isfinite(wall) and wall >= 0.0:
        answers.append(
            Loss("wall heat", FED, AWAY, min(wall, hot - unburnt), taken.width("wall_heat"), MEASURED)
        )
    elif np.isfinite(share):
        answers.append(
            Loss(
                "wall heat",
                FED,
                AWAY,
                min(share * hot, hot - unburnt),
                fit.deviation("wall_heat_share") * hot,
                MODELLED,
            )
        )
    left = fed - sum(
        item.power
        for item in answers
        if item.begins == FED and item.ends == AWAY and item.name != "gas not fed to the engine"
    )
    answers.append(Loss("hot gas", FED, CHAMBER, left, taken.width("flow_power"), DIFFERENCE))
    return answers + _nozzle(taken, left, jet, taken.of(spread**2))


def _nozzle(taken: _Taken, left: float, jet: float, spread: float) -> list[Loss]:
    """What becomes of the hot gas: heat that stays in it, divergence, friction, back-pressure, jet."""
    found = taken.found
    flow = found.column("mass_flow")
    gravity = value("standard_gravity")
    vacuum = taken.of(0.5 * flow * (gravity * found.column("specific_impulse_vacuum")) ** 2)
    velocity = found.column("characteristic_velocity_efficiency")
    cold = taken.of(0.5 * flow * (gravity * found.column("ideal_specific_impulse") * velocity) ** 2)
    width = taken.width("jet_power")
    if jet > left:
        return [Loss("not known, for the thrust cannot be", CHAMBER, AWAY, left, width, DIFFERENCE)]
    steps: list[tuple[str, float, str]] = []
    if np.isfinite(cold) and np.isfinite(vacuum) and max(cold, vacuum) <= left:
        begun = max(cold, vacuum)
        after = max(begun * spread, vacuum)
        steps = [
            ("heat left in the exhaust", left - begun, DIFFERENCE), ("divergence", begun - after, MODELLED),
            ("friction in the nozzle", after - vacuum, DIFFERENCE), ("back-pressure", max(vacuum - jet, 0.0), MODELLED),
        ]  # fmt: skip
    else:
        steps = [("heat and motion that gave no thrust", left - jet, DIFFERENCE)]
    share = width / jet if jet > 0.0 else 0.0
    answers = [
        Loss(name, CHAMBER, AWAY, power, share * power if basis == MODELLED else width, basis)
        for name, power, basis in steps
        if power > 0.0
    ]
    rest = left - sum(item.power for item in answers)
    return [*answers, Loss(JET, CHAMBER, JET, rest, width, MEASURED)]
