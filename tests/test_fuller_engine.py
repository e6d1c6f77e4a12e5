"""The whole engine with every option, source and store: nothing is free, and better inputs help."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from small_studies import SURFACE, TOUR

from tradespace import evaluate as engine
from tradespace.mission import Mission
from tradespace.options import choices
from tradespace.physics.electrolysis import water_rate_of_power
from tradespace.study import Study, load_study, parse_study
from tradespace.tables import read_table
from tradespace.validity import INSIDE, PARTS, applying, valid_ranges

STUDIES = Path(__file__).parents[1] / "studies"
TEXTS = {"tour": TOUR, "surface": SURFACE}
DAY = 86400.0
FEW = 'include = ["electrolysis_bipropellant", "steam_resistojet"'
ALL = f'{FEW}, "water_hall", "storable_bipropellant", "xenon_hall"'
GAS_ENGINE = """
[[thruster]]
name = "gas_engine"
title = "Gas engine"
specific_impulse = "310 s"
thrust = "40 N"
power_per_thrust = "0 W/N"
throughput_life = "4000 kg"
storage = "gas"
"""
ITEMS = (
    "structure array fixed_source battery electrolyser extraction tank thruster landing_engine thermal"
).split()


def text_of(kind: str, **chosen: str) -> str:
    text = TEXTS[kind].replace(FEW, ALL)
    for choice, option in chosen.items():
        head = f"[{choices()[choice].section}]\n"
        line = f'{choice} = "{option}"\n'
        text = text.replace(head, head + line) if head in text else f"{text}\n{head}{line}"
    return text + GAS_ENGINE


@functools.cache
def mission(kind: str) -> Mission:
    return engine.mission_of(parse_study(TEXTS[kind]))


@functools.cache
def study_of(kind: str, chosen: tuple[tuple[str, str], ...] = ()) -> Study:
    return parse_study(text_of(kind, **dict(chosen)))


def answers(
    kind: str, architecture: str = "electrolysis_bipropellant", options: dict[str, str] | None = None, **designs: object
) -> pd.DataFrame:  # fmt: skip
    study = study_of(kind, tuple((options or {}).items()))
    return engine.evaluate(study, mission(kind), architecture, designs, everything=True)  # type: ignore[arg-type]


def column(table: pd.DataFrame, name: str) -> np.ndarray:
    return table[name].to_numpy(dtype=float)


def steps(table: pd.DataFrame, name: str) -> np.ndarray:
    return np.diff(column(table, name))


def least_split_energy() -> float:
    return 1.0 / float(water_rate_of_power(1.0, 1.0))


OPTIONS = [(choice, name) for choice, item in choices().items() for name in item.options]


@pytest.mark.parametrize("kind", TEXTS)
@pytest.mark.parametrize(("choice", "option"), OPTIONS)
def test_every_option_gives_finite_answers_whose_masses_add_up(kind: str, choice: str, option: str) -> None:
    study = study_of(kind, ((choice, option),))
    assert study.options[choice] == option
    for architecture in study.architectures:
        table = answers(
            kind,
            architecture,
            {choice: option},
            array_area=np.array([0.01, 40.0, 400.0]),
            fixed_source_power=np.array([900.0, 0.0, 300.0]),
        )
        numbers = table.select_dtypes("number").drop(columns="stack_efficiency")
        assert np.isfinite(numbers.to_numpy(dtype=float)).all(), architecture
        margins = table[[name for name in table if name.startswith("margin")]].to_numpy(dtype=float)
        assert margins.min() >= -1.0
        assert margins.max() <= 10.0
        finite = column(table, "dry_mass") < 999.0 * column(table, "launch_mass")
        total = sum(column(table, f"{item}_mass") for item in ITEMS)
        classes = {row["item"]: row["maturity"] for row in read_table("item_maturity.csv").rows}
        classes |= {
            "fixed_source": classes["source"],
            "thruster": study.thrusters[architecture].maturity_class,
        }
        if not study.thrusters[architecture].refuels:
            classes["landing_engine"] = "off_the_shelf"
        nominal = column(table, "payload_mass") + sum(
            column(table, f"{item}_mass") * (1.0 + column(table, f"margin_{classes[item]}")) for item in ITEMS
        )
        closed = nominal * (1.0 + column(table, "system_margin"))
        np.testing.assert_allclose(column(table, "dry_mass")[finite], closed[finite], rtol=1e-8)
        grown = column(table, "payload_mass") + total + column(table, "growth_mass")
        np.testing.assert_allclose(column(table, "dry_mass")[finite], grown[finite], rtol=1e-8)


SWITCHES = ("departure_policy", "fill_to_need")


@pytest.mark.parametrize("choice", choices())
def test_every_quantity_that_an_option_sets_changes_something(choice: str) -> None:
    """A value that no part of the engine reads would be a promise not kept."""
    unread = []
    for name, option in choices()[choice].options.items():
        for key, setting in option.settings.items():
            other = 0.02 if key == "stack_life" else 0.9  # a margin above 10 is not told apart
            points = np.array([setting.value, other * setting.value if setting.value else 0.2])
            room = {}
            if key in SWITCHES:  # tells only where the tanks hold more than the cheapest hop needs
                points[1] = abs(1.0 - setting.value)
                room = {"hop_delta_v_capacity": 3500.0}
            found = [
                answers(kind, options={choice: name}, **{key: points}, **room).drop(columns=key)
                for kind in TEXTS
            ]
            same = [table.iloc[0].equals(table.iloc[1]) for table in found]
            dry = ["boil_off_rate", "hydrogen_liquefaction_energy", "oxygen_liquefaction_energy"]
            if all(same) and not (key in dry and name == "compressed"):
                unread.append((name, key))
    assert not unread


@pytest.mark.parametrize("kind", TEXTS)
def test_dust_never_shortens_refuelling(kind: str) -> None:
    table = answers(kind, dust_loss_per_landing=np.linspace(0.0, 0.5, 12))
    assert (steps(table, "refuel_time") >= 0.0).all()
    assert steps(table, "refuel_time").sum() > 0.0


@pytest.mark.parametrize("kind", TEXTS)
def test_a_source_without_sun_shortens_refuelling_and_weighs(kind: str) -> None:
    table = answers(kind, fixed_source_power=np.linspace(0.0, 2000.0, 15))
    np.testing.assert_allclose(
        column(table, "fixed_source_mass"),
        column(table, "fixed_source_power") / column(table, "fixed_source_specific_power"),
    )
    assert (steps(table, "net_power") > 0.0).all()
    assert (steps(table, "battery_mass") <= 0.0).all()
    fixed_load = answers(
        kind, fixed_source_power=np.linspace(0.0, 2000.0, 15), fixed_source_specific_power=1e9
    )
    finite = column(fixed_load, "refuel_time") < 3e9
    assert (np.diff(column(fixed_load, "refuel_time")[finite]) < 0.0).all()


def test_a_source_alone_refuels_day_and_night() -> None:
    """Without an array the energy of a source that hardly decays is its surplus times the time."""
    row = answers("surface", array_area=0.01, fixed_source_power=3000.0, fixed_source_half_life=3e11).iloc[0]
    assert row["refuel_time"] < 3e9
    gained = row["net_power"] * row["refuel_time_1"]
    share = row["energy_per_hop"] * 3.0  # the first of three stops cannot take more than all of them
    assert 0.0 < gained < share * 1.01
    poor = answers("surface", array_area=0.01, fixed_source_power=np.array([50.0, 100.0, 3000.0]))
    assert poor["margin_power"].iloc[0] < 0.0 < poor["margin_power"].iloc[2]


def test_a_stack_that_runs_by_night_wears_by_night() -> None:
    table = answers(
        "surface",
        array_area=0.01,
        fixed_source_power=3000.0,
        stack_life=np.array([1e6, 1e9]),
        site_latitude=0.0,
    )
    lit = column(table, "sunlit_fraction")[0]
    hours = 1e6 / (1.0 + column(table, "margin_lifetime")[0])
    total = sum(column(table, f"refuel_time_{hop}")[0] for hop in (1, 2, 3))
    assert hours == pytest.approx(total, rel=0.02)
    assert lit == pytest.approx(0.5)


def test_the_battery_carries_its_last_night_on_a_decayed_source() -> None:
    halves = np.array([1e12, 3.2e8, 3.2e7])
    table = answers("surface", fixed_source_power=60.0, fixed_source_half_life=halves)
    assert (steps(table, "battery_mass") > 0.0).all()


def test_an_older_stack_needs_more_energy_for_the_same_water() -> None:
    rates = np.linspace(0.0, 100.0, 9) * 1e-6 / 3600.0
    for kind in TEXTS:
        table = answers(kind, stack_ageing_rate=rates)
        late = column(table, "energy_per_hop") / column(table, "water_per_hop")
        assert (np.diff(late) > 0.0).all()


@pytest.mark.parametrize("temperature", [950.0, 1073.15, 1150.0])
def test_no_cell_splits_water_below_its_enthalpy_of_reaction(temperature: float) -> None:
    """Heat that a solid-oxide cell draws is electricity as well."""
    densities = np.geomspace(50.0, 15000.0, 12)
    table = answers(
        "surface",
        options={"cell_kind": "solid_oxide"},
        current_density=densities,
        cell_temperature=temperature,
    )
    plant = 1.0 + column(table, "balance_of_plant_fraction")
    assert (column(table, "split_energy") > least_split_energy()).all()
    assert (column(table, "stack_efficiency") < 1.0).all()
    assert (
        column(table, "split_energy") <= least_split_energy() / column(table, "stack_efficiency") * plant
    ).all()


def test_an_endothermic_stack_that_ages_heats_itself_before_it_costs_more() -> None:
    from tradespace.spacecraft import DESIGN, aged_energy_factor, aged_heat_fraction, waste_heat

    row = np.zeros(1, dtype=DESIGN)
    row["cell_ageing"], row["balance_of_plant_fraction"], row["cell_heat_supplied"] = 1e-9, 0.1, 0.3
    row["cell_heat_fraction"] = 0.1 / 1.4
    design = engine.records(row)[0]
    heat = [
        waste_heat(design, 1.0, 0.0, 0.0, aged_heat_fraction(design, time)) for time in (0.0, 1e8, 3e8, 6e8)
    ]
    factor = [aged_energy_factor(design, time) for time in (0.0, 1e8, 3e8, 6e8)]
    assert factor == pytest.approx([1.0, 1.41 / 1.4, 1.43 / 1.4, 1.76 / 1.4])
    stored = [power * 1.4 * (1.0 - lost) for power, lost in zip(factor, heat, strict=True)]
    assert stored == pytest.approx([1.3, 1.3, 1.3, 1.3])  # what is in the gas does not age


@pytest.mark.parametrize("cell", choices()["cell_kind"].options)
def test_a_given_stack_efficiency_is_exactly_that(cell: str) -> None:
    given = np.linspace(0.3, 0.99, 8)
    table = answers("surface", options={"cell_kind": cell}, stack_efficiency=given)
    plant = 1.0 + column(table, "balance_of_plant_fraction")
    np.testing.assert_allclose(
        column(table, "split_energy"), least_split_energy() / given * plant, rtol=1e-12
    )


@pytest.mark.parametrize("kind", TEXTS)
def test_liquefied_gas_costs_energy_and_heat_and_saves_volume(kind: str) -> None:
    for architecture in ("electrolysis_bipropellant", "gas_engine"):
        gas, liquid = (
            answers(kind, architecture, {"gas_storage": name}).iloc[0] for name in ("compressed", "liquefied")
        )
        water = [row["energy_per_hop"] / row["water_per_hop"] for row in (gas, liquid)]
        assert water[1] > water[0]
        assert liquid["tank_volume"] / liquid["propellant_mass"] < gas["tank_volume"] / gas["propellant_mass"]


def test_the_work_of_liquefaction_leaves_by_the_radiator() -> None:
    """At a stop all electricity that does not end in the gas or in the soil is heat."""
    energies = np.array([0.0, 40.0, 80.0]) * 3.6e6
    table = answers(
        "surface",
        options={"gas_storage": "liquefied"},
        hydrogen_liquefaction_energy=energies,
        oxygen_liquefaction_energy=0.0,
    )
    spare = column(table, "radiator_area") / column(table, "radiator_oversize")
    power = column(table, "extraction_rate") * column(table, "energy_per_mined")
    assert (np.diff(spare / power) > 0.0).all()


def test_an_engine_fed_with_gas_pays_for_keeping_all_of_it() -> None:
    """The cruise propellant of such a craft is compressed, liquefied and leaks like the buffer."""
    row = answers("tour", "gas_engine", {"gas_storage": "liquefied"}).iloc[0]
    assert row["stop_kept_share"] * row["stop_mined"] == pytest.approx(1.0, rel=1e-12)
    kept = np.exp(-row["gas_hold_time"] * (1.0 / row["leak_time"] + row["boil_off_rate"]))
    assert row["water_mined_1"] == pytest.approx(row["propellant_mass"] * row["stop_mined"] / kept, rel=1e-9)
    row = answers("tour", "steam_resistojet").iloc[0]
    assert row["stop_kept_share"] == row["stop_store_share"] < 0.5


def test_boil_off_is_for_liquids_alone() -> None:
    rates = np.array([0.0, 0.01]) / DAY
    gas = answers("surface", boil_off_rate=rates)
    liquid = answers("surface", options={"gas_storage": "liquefied"}, boil_off_rate=rates)
    assert steps(gas, "water_mined_1")[0] == 0.0
    assert steps(liquid, "water_mined_1")[0] > 0.0


def test_tanks_above_the_reach_of_the_cell_cost_compression() -> None:
    pressures = np.array([10.0, 50.0, 200.0, 700.0]) * 1e5
    table = answers("surface", options={"cell_kind": "solid_oxide"}, storage_pressure=pressures)
    energy = column(table, "energy_per_hop") / column(table, "water_per_hop")
    assert (np.diff(energy) > 0.0).all()
    assert table["split_energy"].iloc[1:].nunique() == 1  # the cell itself stays at its highest pressure


def test_burning_off_the_ratio_of_water_wastes_water() -> None:
    ratios = np.array([5.0, 6.5, 7.9367, 10.0])
    for kind in TEXTS:
        table = answers(kind, mixture_ratio=ratios)
        per_water, burned = column(table, "specific_impulse"), column(table, "propellant_specific_impulse")
        assert per_water.argmax() == 2
        assert burned[0] > burned[1] > burned[2] > burned[3]
        share = per_water / burned
        np.testing.assert_allclose(share[[0, 1, 2]], (1.0 + ratios[:3]) / (1.0 + 7.9367), rtol=2e-3)
        assert (column(table, "propellant_mass")[[0, 3]] > column(table, "propellant_mass")[2]).all()


def test_winter_near_the_pole_is_dark_and_summer_is_not() -> None:
    seasons = np.radians([-15.0, -5.0, 0.0, 5.0, 15.0])
    table = answers("surface", site_latitude=np.radians(80.0), subsolar_latitude=seasons)
    assert (steps(table, "sunlit_fraction") >= 0.0).all()
    assert column(table, "sunlit_fraction")[-1] == 1.0
    assert column(table, "battery_mass")[-1] == 0.0
    assert column(table, "margin_power")[0] < 0.0
    assert (np.diff(column(table, "refuel_time")) <= 0.0).all()


def test_rock_needs_more_heat_than_ice_and_serves_all_the_same() -> None:
    ice, rock = (
        answers("surface", options={"water_source": name}).iloc[0] for name in ("icy_regolith", "serpentine")
    )
    assert rock["extraction_energy"] > 2.0 * ice["extraction_energy"]
    assert rock["refuel_time"] > ice["refuel_time"]


def test_a_range_is_asked_only_of_craft_whose_model_it_is() -> None:
    beyond = 1.2e4
    for kind, architecture, flagged in [
        ("tour", "electrolysis_bipropellant", True),
        ("tour", "steam_resistojet", True),  # its landing gas is split
        ("surface", "electrolysis_bipropellant", True),
        ("surface", "steam_resistojet", False),
        ("surface", "water_hall", False),
        ("tour", "xenon_hall", False),
        ("surface", "storable_bipropellant", False),
    ]:
        row = answers(kind, architecture, current_density=beyond).iloc[0]
        assert bool(row["extrapolated"]) == flagged, (kind, architecture)
        assert row["extrapolated_by"] == ("current_density" if flagged else INSIDE)
    assert {one.concerns for one in valid_ranges()} <= set(PARTS)
    count = [len(applying(study_of("tour").options, "electrolysis_bipropellant", part)) for part in PARTS]
    assert count[0] < count[1] < count[2]


def test_the_report_reckons_rock_as_rock() -> None:
    """The step and scale tables of a study that mines serpentine show the energy the engine used."""
    from types import SimpleNamespace

    from tradespace.report.water import extraction_steps, kilowatt_hours, scale_table

    for source in choices()["water_source"].options:
        study = study_of("surface", (("water_source", source),))
        row = answers("surface", options={"water_source": source}).iloc[0]
        results = SimpleNamespace(study=study)
        total = sum(energy for _, energy in extraction_steps(results, row))  # type: ignore[arg-type]
        assert total == pytest.approx(row["extraction_energy"])
        digging = row["excavation_energy"] / (row["ice_fraction"] * row["capture_fraction"])
        plant = row["extraction_energy"] - digging - row["purification_energy"]
        assert kilowatt_hours(plant) in str(scale_table(results, row))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["outer_belt_ice_tour", "ceres_surface_hopper"])
def test_water_on_board_at_the_start_never_costs_energy(name: str) -> None:
    study = load_study(STUDIES / f"{name}.toml")
    table = engine.evaluate(
        study, mission_of_shipped(name), "electrolysis_bipropellant",
        {"water_on_board": np.linspace(0.0, 300.0, 5)},
    )  # fmt: skip
    assert (np.diff(table["refuel_time_1"].to_numpy(dtype=float)) <= 0.0).all()
    assert (np.diff(table["water_mined_1"].to_numpy(dtype=float)) <= 0.0).all()


@functools.cache
def mission_of_shipped(name: str) -> Mission:
    return engine.mission_of(load_study(STUDIES / f"{name}.toml"))
