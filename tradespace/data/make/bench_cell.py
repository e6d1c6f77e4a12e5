"""The cell of the invented bench, finer than the model that is fitted to its readings.

Electrodes are cut into heights: gas gathers on the way up and narrows the liquid, the liquid warms, and the current
shares itself out so that every height sees the same voltage. Each electrode follows the two-way rate law, inverted
numerically. Current slips past the cells through a ladder of ducts and along the edges; gas leaves dissolved, crosses
over, and is lost in the drier. Every number here is invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electrolysis.electrolyte import electrolyte_code, electrolyte_conductivity_kernel
from tradespace.physics.electrolysis.lye import koh_vapour_pressure_kernel
from tradespace.physics.electrolysis.membrane import springer_1991_kernel
from tradespace.physics.electrolysis.point import fill_points_kernel
from tradespace.physics.electrolysis.record import CELL, cell_record
from tradespace.physics.electrolysis.voltage import reversible_voltage_kernel
from tradespace.physics.water import saturation_pressure_kernel

FARADAY = value("faraday_constant")
GAS = value("gas_constant")
HYDROGEN = value("molar_mass_hydrogen")
WATER = value("molar_mass_water")
HIGHER = value("reaction_enthalpy_water") / (2.0 * FARADAY)
HEIGHTS = 12
ROUNDS = 5


@dataclass(frozen=True)
class CellBuild:
    """A cell as it really is [SI]; what comes before ``liquid`` can be told from outside."""

    kind: str
    electrolyte: str
    cells: int
    area: float
    gap: float
    strength: float
    liquid: float
    """Length of free electrolyte that resists like the whole of it [m]; of the membrane in a membrane cell."""
    solid: float
    """Resistance of contacts, of unit area [ohm m2]."""
    bubbles: float
    """Gas over liquid at the top at the largest current [1]."""
    rise: float
    """Warming of the liquid on the way up at the largest current [K]."""
    anode: tuple[float, float, float]
    """Exchange current density [A m-2], and transfer coefficients forward and back [1]."""
    cathode: tuple[float, float, float]
    edge: float
    """Conductance along the edges [S m-2]."""
    ducts: float
    """Section of a duct over that of the catalogue [1]; 0 without ducts."""
    crossing: tuple[float, float]
    """Current density lost to crossing: constant [A m-2], and share of the current [1]."""
    lost: float
    """Share of the gas dissolved, leaked and lost in the drier at the largest current [1]."""
    lost_more: float
    """How much more is lost at no current, over that [1]."""
    largest: float
    """Largest current density [A m-2]."""

    def varied(self, rng: np.random.Generator) -> CellBuild:
        """Another cell of the same build: no two are alike."""
        from dataclasses import replace

        twist = np.exp(rng.standard_normal(7) * np.array([0.04, 0.08, 0.08, 0.1, 0.1, 0.15, 0.15]))
        anode, cathode = self.anode, self.cathode
        return replace(
            self,
            liquid=self.liquid * twist[0],
            solid=self.solid * twist[1],
            bubbles=self.bubbles * twist[2],
            anode=(anode[0] * twist[3], *anode[1:]),
            cathode=(cathode[0] * twist[4], *cathode[1:]),
            edge=self.edge * twist[5],
            lost=self.lost * twist[6],
        )


@dataclass(frozen=True, eq=False)
class CellTruth:
    """What error-free instruments would see, shape (n,)."""

    voltage: FloatArray
    reversible: FloatArray
    activation: FloatArray
    ohmic: FloatArray
    temperature: FloatArray
    """Where the thermocouple sits [K]."""
    efficiency: FloatArray
    """Faradaic [1]."""
    hydrogen: FloatArray
    """[kg s-1], of the whole stack."""
    vapour: FloatArray
    """Moles of water carried off per mole of hydrogen [1]."""
    parameters: dict[str, float]


def _overvoltage(
    density: FloatArray, electrode: tuple[float, float, float], temperature: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Overvoltage [V] and its slope [ohm m2], the rate law inverted by Newton's method."""
    exchange, forward, back = electrode
    scale = FARADAY / (GAS * temperature)
    ratio = density / exchange
    push = np.where(  # overvoltage times scale
        ratio > 1.0, np.log1p(ratio) / forward, np.arcsinh(0.5 * ratio) * 2.0 / (forward + back)
    )
    for _ in range(4):
        ahead, behind = np.exp(forward * push), np.exp(-back * push)
        push = push - (ahead - behind - ratio) / (forward * ahead + back * behind)
    ahead, behind = np.exp(forward * push), np.exp(-back * push)
    return push / scale, 1.0 / (exchange * scale * (forward * ahead + back * behind))


def _conductivity(build: CellBuild, temperature: FloatArray) -> FloatArray:
    if build.kind == "membrane":
        return broadcast(springer_1991_kernel, 22.0, temperature)
    return broadcast(
        electrolyte_conductivity_kernel, electrolyte_code(build.electrolyte), build.strength, temperature
    )


def _ladder(cells: int, port: float, segment: float) -> float:
    """Current past a cell per volt of one cell, mean over the stack, of one duct [S]: the network solved."""
    nodes = np.zeros((cells, cells))
    drive = np.arange(cells) / port
    for number in range(cells):
        nodes[number, number] += 1.0 / port
        if number + 1 < cells:
            nodes[number, number] += 1.0 / segment
            nodes[number + 1, number + 1] += 1.0 / segment
            nodes[number, number + 1] -= 1.0 / segment
            nodes[number + 1, number] -= 1.0 / segment
    potential = np.linalg.solve(nodes, drive)
    return float(np.diff(potential).sum() / segment / cells)


def _shared(
    build: CellBuild, density: FloatArray, inlet: FloatArray, pressure: FloatArray
) -> tuple[FloatArray, ...]:
    """Voltage and its parts, void at the top and temperature at the thermocouple."""
    height = (np.arange(HEIGHTS) + 0.5) / HEIGHTS
    load = (density / build.largest)[:, None]
    temperature = inlet[:, None] + build.rise * load * height
    reversible = broadcast(reversible_voltage_kernel, temperature, pressure[:, None])
    conductivity = _conductivity(build, temperature)
    local = np.repeat(density[:, None], HEIGHTS, axis=1)
    for turn in range(ROUNDS + 1):
        gathered = np.cumsum(local, axis=1) / HEIGHTS - 0.5 * local / HEIGHTS
        gas = build.bubbles * gathered / build.largest
        free = (1.0 - gas / (1.0 + gas)) ** 1.5
        if build.kind == "membrane":
            resistance = build.liquid / conductivity + build.solid * (1.0 + gas)
        else:
            resistance = build.liquid / (conductivity * free) + build.solid
        anode, anode_slope = _overvoltage(local, build.anode, temperature)
        cathode, cathode_slope = _overvoltage(local, build.cathode, temperature)
        total = reversible + anode + cathode + local * resistance
        slope = anode_slope + cathode_slope + resistance
        voltage = (total / slope).sum(axis=1) / (1.0 / slope).sum(axis=1)
        if turn < ROUNDS:
            local = np.maximum(local + (voltage[:, None] - total) / slope, 1e-3 * density[:, None])
    share = local / local.sum(axis=1, keepdims=True)
    parts = [(share * part).sum(axis=1) for part in (reversible, anode + cathode, local * resistance)]
    return voltage, *parts, free[:, -1], temperature[:, -3]


def cell_truth(build: CellBuild, density: FloatArray, inlet: FloatArray, pressure: FloatArray) -> CellTruth:
    """A cell at current densities [A m-2], liquid inlet temperatures [K] and pressures [Pa], shape (n,) each."""
    voltage, reversible, activation, ohmic, free, warm = _shared(build, density, inlet, pressure)
    past = build.edge * voltage
    record = _record(build)
    if build.ducts > 0.0:
        conductivity = _conductivity(build, warm)
        unit = _ladder(
            build.cells,
            record.duct_length / (build.ducts * record.duct_area),
            record.manifold_length / (build.ducts * record.manifold_area),
        )
        past = past + record.duct_count * unit * conductivity * free * voltage / build.area
    crossing = build.crossing[0] + build.crossing[1] * density
    if build.kind == "membrane":
        thickness = build.liquid
        faster = np.exp(20e3 / GAS * (1.0 / record.permeability_reference_temperature - 1.0 / warm))
        driving = 2.0 * (pressure + record.supersaturation * density) * record.hydrogen_permeability
        crossing = (
            crossing + FARADAY * faster * (driving + 4.0 * pressure * record.oxygen_permeability) / thickness
        )
    lost = build.lost * (1.0 + build.lost_more * (1.0 - density / build.largest))
    efficiency = (1.0 - past / density) * (1.0 - crossing / density) * (1.0 - lost)
    parts, outcome = _modelled(record, density, warm, pressure)
    bypass = 1.0 - (1.0 - past / density) / (1.0 - outcome[:, 5])
    conductance = float(np.mean(bypass * density / voltage))
    kept = efficiency / (outcome[:, 1] * (1.0 - conductance * voltage / density))
    moles = efficiency * build.cells * density * build.area / (2.0 * FARADAY)
    over = broadcast(saturation_pressure_kernel, warm)
    if build.electrolyte == "potassium_hydroxide":
        over = broadcast(koh_vapour_pressure_kernel, build.strength, warm)
    parameters = {
        "cell_ohmic_factor": float((ohmic * parts[:, 2]).sum() / (parts[:, 2] ** 2).sum()),
        "cell_activation_factor": float((activation * parts[:, 1]).sum() / (parts[:, 1] ** 2).sum()),
        "cell_bypass_conductance": conductance,
        "cell_gas_loss": float(1.0 - kept.mean()),
        "faradaic_efficiency": float(efficiency.mean()),
        "voltage_efficiency": float(np.mean(HIGHER / voltage)),
        "hydrogen_rate": float(np.mean(HYDROGEN * moles)),
    }
    return CellTruth(
        voltage, reversible, activation, ohmic, warm, efficiency, HYDROGEN * moles,
        0.92 * 1.5 * over / (pressure - over), parameters,
    )  # fmt: skip


def _record(build: CellBuild) -> np.record:
    """The row of the cell model that the facts of this cell give."""
    given: dict[str, float | str] = {"stack_cells": float(build.cells), "cell_area": build.area}
    if build.kind != "membrane":
        given |= {
            "electrolyte": build.electrolyte,
            "electrolyte_strength": build.strength,
            "electrode_gap": build.gap,
        }
    return cell_record(build.kind, **given)  # type: ignore[no-any-return]


def _modelled(
    record: np.record, density: FloatArray, temperature: FloatArray, pressure: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Parts of the voltage and outcomes of the cell model, which the true ones are told as multiples of."""
    parts, outcome = np.empty((density.size, 6)), np.empty((density.size, 6))
    rows = np.array([tuple(record)], dtype=CELL).view(np.recarray)
    fill_points_kernel(rows, density, temperature, pressure, parts, outcome)
    return parts, outcome
