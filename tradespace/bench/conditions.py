"""Conditions that hold at every point if all readings are true, as numbers against limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from tradespace.bench.amounts import HIGHER_VOLTAGE
from tradespace.bench.filled import VALUES, BoolArray
from tradespace.bench.records import IMPOSSIBLE, SUSPECT, Reconciled
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

_COVERAGE = 2.0  # standard uncertainties that count as doubt
_RARE = 1e-3  # chance that true readings fail the test of squares at a point
_TOLERANCE = value("oxygen_to_hydrogen_tolerance", VALUES)
_LEAST_EFFICIENCY = value("least_velocity_efficiency", VALUES)
_LARGEST_COEFFICIENT = value("largest_thrust_coefficient", VALUES)
_CARRIED = value("carry_over_share", VALUES)

THRUST_SUSPECTS = (
    "liquid carry-over",
    "hose stiffness",
    "lead forces",
    "plume effects",
    "thermal drift",
    "tare",
)
FLOW_SUSPECTS = ("gas meter scale", "leak before the meter", "wet gas taken for dry", "air drawn in")


@dataclass(frozen=True, eq=False)
class Condition:
    """One condition at every point: a value that must not pass a limit by more than its doubt."""

    name: str
    value: FloatArray
    limit: FloatArray
    doubt: FloatArray
    """Standard uncertainty of value less limit, in the same unit."""
    below: bool
    """Whether the value has to stay below the limit, else above."""
    unit: str
    severity: str
    passed: str
    """Sentence where it holds, with value and limit to put in."""
    failed: str
    """Sentence where it does not."""
    suspects: tuple[str, ...] = ()
    needs: str = ""
    """What has to be read for it."""

    @property
    def known(self) -> BoolArray:
        """Where both sides are known."""
        return np.isfinite(self.value) & np.isfinite(self.limit)

    @property
    def excess(self) -> FloatArray:
        """How far the value lies on the wrong side, beyond what uncertainty allows; negative where it holds."""
        over = (self.value - self.limit) if self.below else (self.limit - self.value)
        return np.where(self.known, over - _COVERAGE * np.nan_to_num(self.doubt), -np.inf)

    @property
    def fails(self) -> BoolArray:
        """Where it does not hold."""
        return self.excess > 1e-9 * np.abs(np.where(self.known, self.limit, 0.0))


def conditions(facts: Reconciled) -> list[Condition]:
    """Every condition that a single point can break, thrust bounds first, in the order in which they are told."""
    return [one for part in (_thrust, _engine, _cell, _gas) for one in part(facts)]


def _both(facts: Reconciled, *names: str) -> FloatArray:
    """Uncertainty of a difference of measures."""
    return np.sqrt(
        sum((np.nan_to_num(facts.deviation(name)) ** 2 for name in names), np.zeros(facts.readings.points))
    )


def _thrust(facts: Reconciled) -> Iterator[Condition]:
    thrust = facts.column("thrust")
    lit = _lit(facts)
    bounds = [
        (
            "thrust against the surroundings", "thrust_bound_ground", np.nan,
            "ideal expansion of that flow to the pressure around it gives",
            "thrust, flow through the engine, ambient pressure and chamber pressure or throat",
        ),
        (
            "thrust against the flow", "thrust_bound_flow", 1.0,
            "all the heat of that flow turned into speed gives",
            "thrust and flow through the engine",
        ),
        (
            "thrust against the energy", "thrust_bound_energy", 1.0,
            "all the energy stored in the gas turned into speed gives",
            "thrust and gas made",
        ),
        (
            "thrust of the cold flow", "thrust_bound_flow", 0.0,
            "all the warmth of the unlit flow turned into speed gives",
            "thrust and flow of unlit points",
        ),
    ]  # fmt: skip
    for name, bound, burning, words, needs in bounds:
        chosen = np.ones(lit.size, dtype=bool) if np.isnan(burning) else (lit > 0.5) == (burning > 0.5)
        yield Condition(
            name, thrust, np.where(chosen, facts.column(bound), np.nan), _both(facts, "thrust", bound), True, "N",
            IMPOSSIBLE, f"thrust {{value}} stays below the {{limit}} that {words}",
            f"thrust {{value}} is more than the {{limit}} that {words}; read the thrust again with a null run",
            THRUST_SUSPECTS, needs,
        )  # fmt: skip


def _lit(facts: Reconciled) -> FloatArray:
    lit = facts.readings.column("lit")
    return np.where(np.isfinite(lit), lit, 1.0)


def _engine(facts: Reconciled) -> Iterator[Condition]:
    size = facts.readings.points
    lit = _lit(facts) > 0.5
    velocity, ideal = (
        facts.column("characteristic_velocity"),
        facts.column("ideal_characteristic_velocity_shifting"),
    )
    yield Condition(
        "characteristic velocity", np.where(lit, velocity, np.nan), ideal, _both(facts, "characteristic_velocity"),
        True, "m/s", IMPOSSIBLE, "characteristic velocity {value} stays below the ideal {limit}",
        "characteristic velocity {value} is above the ideal {limit}; read flow, throat and pressure tap again",
        ("flow under-read", "throat smaller than measured", "pressure tap in the line before the chamber"),
        "chamber and ambient pressure, throat and flow of a choked flame",
    )  # fmt: skip
    efficiency = facts.column("characteristic_velocity_efficiency")
    yield Condition(
        "flame in the chamber", np.where(lit, efficiency, np.nan), np.full(size, _LEAST_EFFICIENCY),
        _both(facts, "characteristic_velocity_efficiency"), False, "1", SUSPECT,
        "delivered over ideal characteristic velocity {value} is above {limit}",
        "delivered over ideal characteristic velocity {value} is below {limit}; did it burn in the chamber, and is the "
        "pressure absolute?",
        ("burning outside the chamber", "gauge pressure given as absolute", "leak before the chamber"),
        "chamber and ambient pressure, throat and flow of a choked flame",
    )  # fmt: skip
    yield Condition(
        "thrust coefficient", facts.column("thrust_coefficient"), np.full(size, _LARGEST_COEFFICIENT),
        _both(facts, "thrust_coefficient"), True, "1", IMPOSSIBLE,
        "thrust coefficient {value} stays below {limit}, which no nozzle exceeds",
        "thrust coefficient {value} is above {limit}, which no nozzle exceeds; read thrust, throat and pressure again",
        THRUST_SUSPECTS, "thrust, chamber pressure and throat of a choked flow",
    )  # fmt: skip
    yield Condition(
        "choked throat", facts.column("pressure_ratio"), facts.column("critical_pressure_ratio"), np.zeros(size),
        False, "1", SUSPECT, "chamber over ambient pressure {value} is above {limit}: the throat is choked",
        "chamber over ambient pressure {value} is below {limit}: the throat is not choked, so the "
        "characteristic velocity "
        "and the coefficients of a vacuum are left out and the subsonic formula is used",
        ("low flow", "wide throat", "high ambient pressure"), "chamber and ambient pressure",
    )  # fmt: skip
    passed, unchoked = facts.column("flow_over_throat_flow"), facts.column("choked") < 1.0
    yield Condition(
        "flow the throat passes", np.where(unchoked & lit, passed, np.nan), np.full(size, 1.0 / _LEAST_EFFICIENCY),
        _both(facts, "flow_over_throat_flow"), True, "1", SUSPECT,
        "flow over what the throat passes of the ideal flame {value} is below {limit}",
        "flow over what the throat passes of the ideal flame at that pressure {value} is above "
        "{limit}; did it burn in the "
        "chamber?",
        ("burning outside the chamber", "leak before the chamber", "throat larger than measured"),
        "chamber and ambient pressure, throat and flow below choking",
    )  # fmt: skip
    drawn = facts.column("mass_flow") * np.where(np.isfinite(facts.readings.column("mass_flow")), 1.0, np.nan)
    made = facts.column("gas_made_apart")
    yield Condition(
        "flow against the gas made", drawn, made, _both(facts, "mass_flow", "gas_made_apart"), True, "kg/s", SUSPECT,
        "the engine takes {value}, no more than the {limit} that the cell makes",
        "the engine takes {value}, more than the {limit} that the cell makes; only stored gas can "
        "cover it, and the mean "
        "over a cycle has to keep every bound",
        ("gas from a store", "flow meter scale", "gas meter scale"), "flow through the engine and gas made by the cell",
    )  # fmt: skip


def _cell(facts: Reconciled) -> Iterator[Condition]:
    size = facts.readings.points
    yield Condition(
        "reversible voltage", facts.column("cell_voltage"), facts.column("reversible_voltage"),
        _both(facts, "cell_voltage"), False, "V", IMPOSSIBLE, "cell voltage {value} is above the reversible {limit}",
        "cell voltage {value} is below the reversible {limit}, at which no water splits; count the cells and read the "
        "voltage again",
        ("cells miscounted", "voltage of the wrong terminals", "current of another circuit"),
        "stack voltage, current and cells in series",
    )  # fmt: skip
    most = HIGHER_VOLTAGE / facts.column("reversible_voltage")
    most = np.where(np.isfinite(most), most, HIGHER_VOLTAGE / value("reversible_voltage_standard", VALUES))
    yield Condition(
        "energy of the gas", facts.column("stack_efficiency"), most, _both(facts, "stack_efficiency"), True, "1",
        IMPOSSIBLE, "efficiency on the higher heating value {value} stays below {limit}, the second law",
        "efficiency on the higher heating value {value} is above {limit}, the second law; read gas "
        "meter and power again",
        (*FLOW_SUSPECTS, "ripple of the supply"), "power and gas made",
    )  # fmt: skip
    yield Condition(
        "heat drawn in", facts.column("stack_efficiency"), np.ones(size), _both(facts, "stack_efficiency"), True, "1",
        SUSPECT, "efficiency on the higher heating value {value} stays below 1: no heat need be drawn in",
        "efficiency on the higher heating value {value} is above 1; the cell would have to cool its surroundings",
        (*FLOW_SUSPECTS, "ripple of the supply", "hot surroundings"), "power and gas made",
    )  # fmt: skip
    heat = facts.column("stack_power") - facts.column("chemical_power")
    yield Condition(
        "heat balance", facts.column("cooling"), heat, _both(facts, "cooling", "stack_power",
        "chemical_power"), True, "W",
        SUSPECT, "the coolant takes {value}, no more than the {limit} that power leaves over after the gas",
        "the coolant takes {value}, more than the {limit} that power leaves over after the gas; "
        "read the coolant and the gas "
        "again, and let the cell reach its temperature",
        ("cell cooling down", "coolant meter scale", "gas over-read"), "cooling water of the cell, power and gas made",
    )  # fmt: skip


def _gas(facts: Reconciled) -> Iterator[Condition]:
    size = facts.readings.points
    charge = facts.column("hydrogen_rate_charge")
    ways = [facts.column(f"hydrogen_rate_{way}") for way in ("flow", "weight", "heat")]
    doubts = [facts.deviation(f"hydrogen_rate_{way}") for way in ("flow", "weight", "heat")]
    stack = np.array(
        [
            np.where(np.isfinite(way), way - 2.0 * np.nan_to_num(doubt), -np.inf)
            for way, doubt in zip(ways, doubts, strict=True)
        ]
    )
    worst = np.argmax(stack, axis=0)
    rows = np.arange(size)
    found, doubt = np.array(ways)[worst, rows], np.nan_to_num(np.array(doubts))[worst, rows]
    yield Condition(
        "charge balance", found / charge, np.ones(size),
        np.hypot(doubt / charge, found / charge * facts.deviation("hydrogen_rate_charge") / charge),
        True, "1", IMPOSSIBLE, "hydrogen over what the charge makes {value} is at most {limit}",
        "hydrogen over what the charge makes {value} is above {limit}; read current, cells and gas again",
        (*FLOW_SUSPECTS, "cells miscounted", "current shunt scale"), "current, cells in series and gas or water lost",
    )  # fmt: skip
    redundancy = facts.redundancy
    limit = np.where(redundancy > 0.0, chi2.ppf(1.0 - _RARE, np.maximum(redundancy, 1.0)), np.nan)
    yield Condition(
        "agreement of the ways", np.where(redundancy > 0.0, facts.chi_square, np.nan), limit, np.zeros(size), True, "1",
        SUSPECT, "flow, weight and charge agree: squared corrections {value} stay below {limit}",
        "flow, weight and charge do not agree within their uncertainties: squared corrections "
        "{value} are above {limit}",
        (*FLOW_SUSPECTS, "water lost as liquid"), "the gas by two of flow, weight, heat and charge",
    )  # fmt: skip
    apart = np.where(np.isfinite(ways[0]), ways[0], charge)
    over = 1.0 - apart / ways[1]
    spread = np.hypot(doubts[1] / ways[1], np.where(np.isfinite(ways[0]), doubts[0] / ways[0], 0.0))
    yield Condition(
        "water balance", over, np.full(size, _CARRIED), spread, True, "1", SUSPECT,
        "share of the water lost that neither gas nor vapour explains {value} stays below {limit}",
        "share of the water lost that neither gas nor vapour explains {value} is above {limit}: "
        "liquid is carried along, or gas "
        "is lost before the meter",
        ("liquid carry-over", "leak before the meter", "evaporation"), "water lost and gas flow or current",
    )  # fmt: skip
    ratio = facts.readings.column("oxygen_to_hydrogen")
    own = np.hypot(
        *(
            np.nan_to_num(part.get("oxygen_to_hydrogen", np.zeros(size)))
            for part in (facts.readings.random, facts.readings.systematic)
        )
    )
    yield Condition(
        "oxygen to hydrogen", np.abs(ratio - 0.5), np.full(size, _TOLERANCE), own, True, "1", SUSPECT,
        "oxygen over hydrogen by volume departs by {value} from one half, less than {limit}",
        "oxygen over hydrogen by volume departs by {value} from one half, more than {limit}; look "
        "for cross-over, a leak of "
        "one gas, or vapour counted as gas",
        ("leak of one gas", "cross-over", "oxygen dissolved or used up by the electrode", "analyser scale"),
        "oxygen over hydrogen",
    )  # fmt: skip
