"""Oracle: the shipped tables of heated gases beside the programs that made them, off their nodes."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tradespace.constants import value
from tradespace.physics import electrothermal
from tradespace.tables import read_table

pytest.importorskip("cantera")
from tradespace.data.make import steam as maker

PLACES = [
    (330.0, 3e4, 7.0), (720.0, 1.5e6, 130.0), (1450.0, 3.3e5, 65.0), (2050.0, 1.4e4, 24.0),
    (2450.0, 7.3e4, 40.0), (2950.0, 1.6e6, 8.0), (3350.0, 3e5, 150.0), (3650.0, 3e4, 65.0),
    (3850.0, 1.4e5, 15.0), (3950.0, 7e5, 90.0),
]  # fmt: skip


@pytest.mark.parametrize("kind", ["equilibrium", "frozen"])
@pytest.mark.parametrize(("temperature", "pressure", "area"), PLACES)
def test_steam_between_the_nodes(temperature: float, pressure: float, area: float, kind: str) -> None:
    (fresh,) = maker.expansions("H2O", temperature, pressure, (area,), kind)
    at = (temperature, pressure, area, kind)
    assert electrothermal.steam_exhaust_velocity(*at) == pytest.approx(
        fresh.exhaust_velocity_vacuum, rel=1e-3
    )
    assert electrothermal.steam_exit_temperature(*at) == pytest.approx(fresh.exit_temperature, rel=1e-2)
    exit_pressure = pressure / fresh.pressure_ratio
    assert electrothermal.steam_exit_pressure(*at) == pytest.approx(exit_pressure, rel=1e-2)
    velocity = electrothermal.steam_characteristic_velocity(temperature, pressure, kind)
    assert velocity == pytest.approx(fresh.characteristic_velocity, rel=1e-3)
    heat = electrothermal.steam_energy(temperature, pressure)
    assert heat == pytest.approx(maker.steam_energy(temperature, pressure), rel=1e-3)
    _, chamber = maker.heated("H2O", temperature, pressure)
    assert electrothermal.steam_molar_mass(temperature, pressure) == pytest.approx(
        chamber.molar_mass, rel=1e-3
    )
    assert electrothermal.steam_water_fraction(temperature, pressure) == pytest.approx(
        chamber.mole_fractions["H2O"], abs=2e-3
    )


@pytest.mark.parametrize(
    ("temperature", "pressure", "area"), [(450.0, 3e4, 7.0), (1650.0, 3e5, 65.0), (2700.0, 4e4, 130.0)]
)
@pytest.mark.parametrize("kind", ["equilibrium", "frozen"])
def test_hydrogen_and_oxygen_between_the_nodes(
    temperature: float, pressure: float, area: float, kind: str
) -> None:
    for fluid, ours in (
        ("H2", electrothermal.hydrogen_exhaust_velocity),
        ("O2", electrothermal.oxygen_exhaust_velocity),
    ):
        (fresh,) = maker.expansions(fluid, temperature, pressure, (area,), kind)
        assert ours(temperature, pressure, area, kind) == pytest.approx(
            fresh.exhaust_velocity_vacuum, rel=2e-3
        )


def test_an_expansion_conserves_energy() -> None:
    gas, _ = maker.heated("H2O", 3000.0, 1e6)
    before = gas.h
    (fresh,) = maker.expansions("H2O", 3000.0, 1e6, (100.0,), "equilibrium")
    gas.SP = gas.s, 1e6 / fresh.pressure_ratio
    gas.equilibrate("SP", solver="auto", rtol=1e-12)
    speed = (2.0 * (before - gas.h)) ** 0.5
    thrust = speed + float(gas.P) / (float(gas.density) * speed)
    assert thrust == pytest.approx(fresh.exhaust_velocity_vacuum, rel=1e-6)


@pytest.mark.parametrize(
    ("temperature", "pressure"), [(400.0, 1e5), (600.0, 1e6), (900.0, 2e6), (500.0, 1e6)]
)
def test_heat_is_near_that_of_real_steam(temperature: float, pressure: float) -> None:
    properties = pytest.importorskip("CoolProp.CoolProp")
    liquid = properties.PropsSI("H", "T", value("standard_temperature"), "P", 1e5, "Water")
    real = properties.PropsSI("H", "T", temperature, "P", pressure, "Water") - liquid
    assert 0.998 < float(electrothermal.steam_energy(temperature, pressure)) / real < 1.04


def test_the_program_writes_what_the_package_reads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small = {
        "temperature": (500.0, 3000.0), "pressure": (1e5,), "expansion_ratio": (30.0, 100.0),
        "gas_temperature": (3000.0,), "gas_pressure": (1e6,),
    }  # fmt: skip
    monkeypatch.setattr(maker, "series", lambda name, table: small[name])
    maker.main(tmp_path)
    for name in ("steam_chamber.csv", "steam_nozzle.csv", "steam_gases.csv"):
        lines = [line for line in (tmp_path / name).read_text().splitlines() if not line.startswith("#")]
        written = list(csv.reader(io.StringIO("\n".join(lines))))
        shipped = read_table(name)
        assert tuple(written[0]) == shipped.columns
        wanted = {row[:3]: row for row in (tuple(one.values()) for one in shipped.rows)}
        for row in written[2:]:
            ours = [float(cell) for cell in wanted[tuple(row[:3])]] if len(row) > 3 else []
            assert ours == pytest.approx([float(cell) for cell in row], rel=1e-5)
