"""What a kilogram of water costs in electricity, step by step, and how far the scales of extraction lie apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tradespace.evaluate import devices
from tradespace.figures.style import number
from tradespace.options import choices
from tradespace.report.page import Markup, Row, paragraph, table
from tradespace.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

SCALES = {
    "ideal": "Ideal heat of the study's soil: no losses",
    "plant": "The study's soil with its efficiency and capture",
    "bench_glass_beads": "Bench test, glass beads with 5 % ice (luwex 2026)",
    "bench_regolith": "Bench test, soil with 5 % ice (luwex 2026)",
    "bench_microwave": "Bench test, microwave heating, 5 % water (cole 2024)",
}


def water_parts(results: Results) -> list[Markup]:
    """The section: steps of the reference design, then extraction at every scale."""
    mining = [name for name in results.architectures if refuels(results, name)]
    rows = results.baseline[results.baseline["architecture"].isin(mining)]
    if rows.empty or "extraction_energy" not in rows or "capture_fraction" not in rows:
        return []
    row = rows.iloc[0]
    words = (
        "Electricity for one kilogram of clean water, and for splitting it, in the reference design. Craft that do "
        "not split their cruise propellant pay the second part only for the gas of launch and landing."
    )
    return [paragraph(words), step_table(results, row), scale_table(results, row)]


def refuels(results: Results, name: str) -> bool:
    """Whether an architecture takes on water at the stops."""
    thruster = results.study.thrusters.get(name)
    return thruster is not None and thruster.refuels


def kilowatt_hours(energy: float) -> str:
    """An energy per mass in kWh/kg."""
    return number(float(convert(energy, "J/kg", "kWh/kg")), 3)


STEPS = {
    "extraction": "Extraction, as given in the study",
    "digging": "Digging and hauling the soil",
    "ideal_heat": "Ideal heat: warming soil and ice, driving the water off",
    "heat_lost": "Heat lost, and water not captured",
    "cleaning": "Cleaning the water for the cell",
}
"""Steps of :func:`tradespace.evaluate.devices.extraction_steps` in words."""


def extraction_steps(results: Results, row: pd.Series) -> list[tuple[str, float]]:
    """Steps from soil to clean water [J/kg]; one step only when the study gives the sum itself."""
    given = "extraction_energy" in results.study.given
    return [(STEPS[name], energy) for name, energy in devices.extraction_steps(row, given=given).items()]


def step_table(results: Results, row: pd.Series) -> Markup:
    """Every step with its share of the whole."""
    from tradespace.physics.electrolysis import water_rate_of_power

    steps = extraction_steps(results, row)
    ideal = 1.0 / float(water_rate_of_power(1.0, 1.0))
    plant = float(row["balance_of_plant_fraction"])
    split = float(row["split_energy"])
    stack = ideal / float(row["stack_efficiency"])
    steps += [
        ("Splitting: enthalpy of water at 25 °C (higher heating value)", ideal),
        ("Splitting: losses of the cell", stack - ideal),
        (
            f"Splitting: pumps, separation and power conversion ({100.0 * plant:.0f} % of the stack)",
            split - stack,
        ),
    ]
    total = sum(energy for _, energy in steps)
    rows = [Row([name, kilowatt_hours(energy), f"{100.0 * energy / total:.0f} %"]) for name, energy in steps]
    rows.append(Row(["Together", kilowatt_hours(total), "100 %"]))
    caption = "New stack; an aged one needs more for the same water."
    return table(caption, ["Step", "kWh per kg of water", "Share"], rows, (1, 2))


def scale_table(results: Results, row: pd.Series) -> Markup:
    """Extraction if all went well, as the study reckons, and as bench tests measured it."""
    from tradespace.physics.compiled import broadcast
    from tradespace.physics.extraction import energies_by_scale, water_energy_kernel

    content, cold = float(row["ice_fraction"]), float(row["regolith_temperature"])
    losses = float(row["extraction_efficiency"]), float(row["capture_fraction"])
    rock = (
        content,
        cold,
        *(float(row[name]) for name in ("release_temperature", "bound_water_heat", "water_is_ice")),
    )
    # the bench tests are the same for every soil; the study's own may be rock as well as ice
    found = {name: float(energy) for name, energy in energies_by_scale(content, cold, cold, *losses).items()}
    found["ideal"] = float(broadcast(water_energy_kernel, *rock, 1.0, 1.0, 0.0, 0.0))
    found["plant"] = float(broadcast(water_energy_kernel, *rock, *losses, 0.0, 0.0))
    rows = [Row([words, kilowatt_hours(found[name])]) for name, words in SCALES.items()]
    rows.append(Row(["Reckoned with in this study", kilowatt_hours(float(row["extraction_energy"]))]))
    scale = results.study.options.get("extraction_scale", choices()["extraction_scale"].default)
    caption = (
        "Extraction of water at every scale, digging and cleaning left out of the first two rows; this study takes "
        f"the scale “{scale}”. No plant of flight size has been built, and bench tests so far need ten times the "
        "ideal heat and more."
    )
    return table(caption, ["Scale", "kWh per kg of water"], rows, (1,))
