"""How much of its life a craft has used up."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel

LEAST_MASS = 1e-9  # kg, so that a craft without consumables divides by something


@kernel
def life_used(design: Any, hop: Any, state: Any) -> float:
    """Largest share of a life that is used up by the landing [1]: stack, thrusters, ignitions, craft, consumables."""
    used = max(state.cell_hours / design.stack_life, state.throughput / design.throughput_life)
    used = max(used, state.burn_hours / design.burn_life, state.ignitions / design.ignition_life)
    used = max(used, state.landing_ignitions / design.store_ignition_life)
    used = max(used, state.landing_throughput / design.store_throughput_life)
    used = max(used, state.landing_hours / design.store_burn_life, hop.elapsed / design.design_life)
    spent = design.consumables_rate * hop.elapsed
    if spent > 0.0:
        used = max(used, spent / max(design.consumables_mass, LEAST_MASS))
    return float(used)
