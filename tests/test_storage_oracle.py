"""Oracle: storage beside the reference equations of state as another library computes them."""

from __future__ import annotations

import importlib
import itertools
from typing import Any

import numpy as np
import pytest

from tradespace.constants import value
from tradespace.physics import storage, water
from tradespace.tables import read_table

pytest.importorskip("CoolProp")

RANDOM = np.random.default_rng(11)
TEMPERATURE = RANDOM.uniform(200.0, 400.0, 200)
PRESSURE = np.exp(RANDOM.uniform(np.log(1e5), np.log(7e7), 200))
ATMOSPHERE = value("standard_atmosphere")


def props(*arguments: Any) -> Any:
    return importlib.import_module("CoolProp.CoolProp").PropsSI(*arguments)


def gibbs(fluid: str, temperature: Any, pressure: Any) -> Any:
    """Gibbs energy per mass [J/kg]: at one temperature its growth is the least work of compression."""
    return props("H", "T", temperature, "P", pressure, fluid) - temperature * props(
        "S", "T", temperature, "P", pressure, fluid
    )


def test_densities_match_over_the_range_of_tanks() -> None:
    assert storage.hydrogen_density(TEMPERATURE, PRESSURE) == pytest.approx(
        props("D", "T", TEMPERATURE, "P", PRESSURE, "Hydrogen"), rel=1e-3
    )
    assert storage.oxygen_density(TEMPERATURE, PRESSURE) == pytest.approx(
        props("D", "T", TEMPERATURE, "P", PRESSURE, "Oxygen"), rel=1e-3
    )


@pytest.mark.parametrize("gas", ["hydrogen", "oxygen"])
def test_least_work_is_the_growth_of_the_gibbs_energy(gas: str) -> None:
    fluid = gas.capitalize()
    ours = getattr(storage, f"{gas}_compression_work")(TEMPERATURE, 1e5, PRESSURE)
    expected = gibbs(fluid, TEMPERATURE, PRESSURE) - gibbs(fluid, TEMPERATURE, 1e5)
    assert ours == pytest.approx(expected, rel=1e-3, abs=100.0)


def test_shipped_liquefaction_table_is_what_the_script_makes() -> None:
    make = importlib.import_module("tradespace.data.make.liquefaction")
    rows = {row["name"]: row for row in read_table("gas_liquefaction.csv").rows}
    for fluid in ("Hydrogen", "Oxygen"):
        for node in (0, 9, 25):
            work, heat = make.liquefaction(fluid, float(make.TEMPERATURES[node]))
            assert float(rows[f"{fluid.lower()}_work"][f"c{node}"]) == pytest.approx(work, abs=0.06)
            assert float(rows[f"{fluid.lower()}_heat"][f"c{node}"]) == pytest.approx(heat, abs=0.06)


def test_liquefaction_between_the_nodes_matches() -> None:
    make = importlib.import_module("tradespace.data.make.liquefaction")
    warm = RANDOM.uniform(150.0, 400.0, 100)
    for fluid, work, heat in (
        ("Hydrogen", storage.hydrogen_liquefaction_work(warm, 0.0), storage.hydrogen_liquefaction_heat(warm, 0.0)),
        ("Oxygen", storage.oxygen_liquefaction_work(warm), storage.oxygen_liquefaction_heat(warm)),
    ):  # fmt: skip
        expected = np.array([make.liquefaction(fluid, float(t)) for t in warm])
        assert work == pytest.approx(expected[:, 0], rel=1e-4)
        assert heat == pytest.approx(expected[:, 1], rel=1e-4)


def test_conversion_of_spins_agrees_with_the_two_equations_of_hydrogen() -> None:
    """At 400 K and above both forms share one heat capacity, so cold differences are those of conversion.

    Enthalpy alone: from 400 K to the liquid, para-hydrogen gives off the conversion heat more than normal
    hydrogen, but for the two forms' slightly different boiling points and what is left of rotation at 400 K.
    """
    cooled = {
        fluid: props("H", "T", 500.0, "P", ATMOSPHERE, fluid) - props("H", "P", ATMOSPHERE, "Q", 0, fluid)
        for fluid in ("Hydrogen", "ParaHydrogen")
    }
    ours = float(
        storage.hydrogen_liquefaction_heat(300.0, 1.0) - storage.hydrogen_liquefaction_heat(300.0, 0.0)
    )
    assert cooled["ParaHydrogen"] - cooled["Hydrogen"] == pytest.approx(ours, rel=0.02)


def test_liquids_at_their_boiling_points_match() -> None:
    for gas, fluid in (("hydrogen", "ParaHydrogen"), ("oxygen", "Oxygen")):
        ours = storage.cryogen_properties(gas)
        liquid, vapour = (props("H", "P", ATMOSPHERE, "Q", quality, fluid) for quality in (0, 1))
        assert ours["boiling_temperature"] == pytest.approx(
            props("T", "P", ATMOSPHERE, "Q", 0, fluid), rel=1e-5
        )
        assert ours["density"] == pytest.approx(props("D", "P", ATMOSPHERE, "Q", 0, fluid), rel=1e-5)
        assert ours["latent_heat"] == pytest.approx(vapour - liquid, rel=1e-4)
    below = props("H", "T", 90.19, "P", ATMOSPHERE, "Hydrogen") - props(
        "H", "P", ATMOSPHERE, "Q", 0, "Hydrogen"
    )
    assert value("hydrogen_heat_below_precooling", "storage_values.csv") == pytest.approx(below, rel=1e-4)


def test_water_on_its_vapour_line_matches() -> None:
    warm = np.linspace(274.0, 600.0, 80)  # the auxiliary equations are coarser near the critical point
    liquid, vapour = (props("H", "T", warm, "Q", quality, "Water") for quality in (0, 1))
    assert water.vaporisation_heat(warm) == pytest.approx(vapour - liquid, rel=1e-3)
    assert water.liquid_density(warm) == pytest.approx(props("D", "T", warm, "Q", 0, "Water"), rel=3e-4)
    expected = liquid - props("H", "T", 273.16, "Q", 0, "Water")
    assert water.liquid_heat(273.16, warm) == pytest.approx(expected, rel=1e-3, abs=20.0)


def test_staged_compression_of_hydrogen_matches_below_ten_megapascal() -> None:
    pressures = np.geomspace(1e5, 1e7, 5)
    spent = 0.0
    for first, last in itertools.pairwise(pressures):
        entropy = props("S", "T", 298.15, "P", first, "Hydrogen")
        hot = props("T", "S", entropy, "P", last, "Hydrogen")
        assert hot < 1000.0
        spent += props("H", "T", hot, "P", last, "Hydrogen") - props("H", "T", 298.15, "P", first, "Hydrogen")
    ours = storage.staged_compression_work(298.15, 100.0, 4.0, 1.0, 1.405, value("molar_mass_hydrogen"))
    assert ours == pytest.approx(spent, rel=0.03)
