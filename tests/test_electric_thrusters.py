"""Electric thrusters: limits of their models, the points that were shown, and how they answer to power and speed."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.physics import electric
from tradespace.quantities import quantity
from tradespace.thrusters import thruster
from tradespace.thrusters.contract import UNLIMITED, Conditions, Engine
from tradespace.thrusters.values import changed, number

GRAVITY = 9.80665
QUIET = settings(max_examples=25, deadline=None)
SHARES = st.floats(0.01, 1.0)
SPEEDS = st.floats(500.0, 1e5)
STEADY = {
    "water_hall": "anode_efficiency", "oxygen_hall": "anode_efficiency", "water_ion": "thrust_efficiency",
    "radiofrequency_plasma": "thrust_efficiency", "hydrogen_magnetoplasmadynamic": "thrust_efficiency",
    "xenon_hall": "total_efficiency",
}  # fmt: skip
PULSED = ("pulsed_inductive", "pulsed_plasma")
ALL = (*STEADY, *PULSED)
each_thruster = pytest.mark.parametrize("name", ALL)


def conditions(**given_values: Any) -> Conditions:
    """Defaults of the quantities, 20 kW for propulsion."""
    plain: dict[str, Any] = {"split_energy": 2.16e7, "cell_pressure": 1e7, "live_power": 20e3}
    plain |= {"solar_flux": 1361.0, **given_values}
    for field in dataclasses.fields(Conditions):
        if field.name not in plain:
            plain[field.name] = quantity(field.name).default or 0.0
    return Conditions(**{name: np.asarray(number_, float) for name, number_ in plain.items()})


def engine(name: str, **given_values: Any) -> Engine:
    return thruster(name).engine(conditions(**given_values))


def efficiency(found: Engine) -> np.ndarray:
    """Jet power over live power into the engine."""
    return np.asarray(0.5 * found.exhaust_velocity / found.power_per_thrust)


@QUIET
@given(speed=SPEEDS, known=SPEEDS, share=SHARES, loss=st.floats(0.0, 1e10))
def test_faster_jets_are_made_with_less_loss_and_none_beats_its_input(
    speed: float, known: float, share: float, loss: float
) -> None:
    here, there = electric.thrust_efficiency([speed, 1.5 * speed], known, share, loss)
    assert 0.0 < here <= there * (1.0 + 1e-12) <= 1.0 + 1e-9
    assert electric.thrust_efficiency(known, known, share, loss) == pytest.approx(share, rel=1e-9)
    assert electric.thrust_efficiency(speed, known, share, 0.0) == pytest.approx(share, rel=1e-9)
    booked = min(loss, 0.5 * known**2 * (1.0 / share - 1.0))
    spent = 0.5 * speed**2 / here
    assert spent >= booked + 0.5 * speed**2 * (1.0 - 1e-9)


@QUIET
@given(power=st.floats(1.0, 1e7), half=st.floats(10.0, 1e6), steep=st.floats(0.1, 2.0), share=SHARES)
def test_larger_units_do_better_and_the_slope_is_that_of_the_curve(
    power: float, half: float, steep: float, share: float
) -> None:
    small, same, large = electric.unit_efficiency(
        [0.5 * power, power, 2.0 * power], power, share, half, steep
    )
    assert small <= same == pytest.approx(share, rel=1e-12)
    assert same <= large <= 1.0
    near = 1e-4
    low, high = electric.unit_efficiency(
        [power * (1.0 - near), power * (1.0 + near)], power, 0.5 * share, half, steep
    )
    slope = float(electric.throttle_slope(power, half, steep))
    assert np.log(high / low) / (2.0 * near) == pytest.approx(slope, rel=1e-4, abs=1e-7)
    assert electric.unit_efficiency(power, 10.0 * power, share, half, 0.0) == pytest.approx(share)


def test_pulses_and_wear_keep_their_books() -> None:
    speed = np.linspace(1e4, 6e4, 6)
    shared = electric.fixed_impulse_efficiency(speed, 4e4, 0.13)
    bit, shot = (work(20.0, speed, shared) for work in (electric.impulse_bit, electric.pulse_mass))
    np.testing.assert_allclose(bit, shot * speed, rtol=1e-12)
    np.testing.assert_allclose(bit, bit[0], rtol=1e-12)  # the same push whatever the shot weighs
    np.testing.assert_allclose(0.5 * shot * speed**2, shared * 20.0, rtol=1e-12)
    assert electric.fixed_impulse_efficiency(1e6, 4e4, 0.13) == 1.0
    passed = electric.erosion_throughput(speed, 2e4, 36.0)
    np.testing.assert_allclose(passed * speed**2, 36.0 * 2e4**2, rtol=1e-12)


def test_fixed_losses_are_the_energies_of_the_atoms() -> None:
    parts = {
        name: value(f"{name}_energy", "electric_values.csv")
        for name in (
            "hydrogen_ionisation",
            "oxygen_ionisation",
            "water_atomisation",
            "hydrogen_atomisation",
        )
    }
    volt = 1.602176634e-19
    water = parts["water_atomisation"] + 2.0 * parts["hydrogen_ionisation"] + parts["oxygen_ionisation"]
    assert number("pulsed_inductive", "particle_loss") == pytest.approx(water * volt, rel=2e-3)
    hydrogen = parts["hydrogen_atomisation"] + 2.0 * parts["hydrogen_ionisation"]
    assert number("hydrogen_magnetoplasmadynamic", "particle_loss") == pytest.approx(
        hydrogen * volt, rel=2e-3
    )
    assert electric.loss_energy(water * volt, 0.018015) == pytest.approx(2.694e8, rel=1e-3)


@pytest.mark.parametrize(
    "kernel",
    [
        (electric.thrust_efficiency_kernel, 4), (electric.unit_efficiency_kernel, 5),
        (electric.throttle_slope_kernel, 3),
        (electric.fixed_impulse_efficiency_kernel, 3), (electric.impulse_bit_kernel, 3),
        (electric.pulse_mass_kernel, 3), (electric.erosion_throughput_kernel, 3),
    ],
)  # fmt: skip
def test_kernels_are_harmless_for_any_numbers(kernel: tuple[Any, int]) -> None:
    function, count = kernel
    plain = getattr(function, "py_func", function)
    odd = (-1e9, -1.0, 0.0, 1e-9, 1.0, 1e9)
    for place in range(count):
        for other in odd:
            for number_ in odd:
                arguments = [other] * count
                arguments[place] = number_
                assert np.isfinite(plain(*arguments)), (function, arguments)


def test_the_hall_thruster_on_vapour_passes_through_the_point_that_was_shown() -> None:
    """1600 W at the anode, 20.0 +- 0.2 mN, 2039 +- 20 s, 12.5 +- 0.3 % (munoz_tejeda_2023, abstract)."""
    with changed({("water_hall", "supply_efficiency"): 1.0}):
        found = engine("water_hall", live_power=1600.0)
    assert efficiency(found) == pytest.approx(0.125, abs=1e-9)
    assert found.exhaust_velocity / GRAVITY == pytest.approx(2039.0)
    assert 1600.0 / found.power_per_thrust == pytest.approx(0.0200, abs=0.0002)


def test_the_hall_thruster_on_oxygen_behaves_as_it_was_measured() -> None:
    """About a fifth above vapour; a straight rise from 400 to 1050 W (schwertheim_2022, abstract)."""
    with changed({("oxygen_hall", "supply_efficiency"): 1.0, ("water_hall", "supply_efficiency"): 1.0}):
        power = np.array([400.0, 725.0, 1050.0, 1600.0])
        oxygen, vapour = engine("oxygen_hall", live_power=power), engine("water_hall", live_power=power)
    shared = efficiency(oxygen)
    np.testing.assert_allclose(shared[1:] / efficiency(vapour)[1:], 1.2, rtol=1e-9)
    assert shared[1] == pytest.approx(0.5 * (shared[0] + shared[2]), rel=0.03)  # nearly straight
    flow = np.array([0.96e-6, 1.85e-6])[:, np.newaxis]
    thrust = np.sqrt(2.0 * shared[:3] * power[:3] * flow)
    assert (thrust[1] > thrust[0]).all()  # more flow, more thrust, less specific impulse
    assert 3e-3 < thrust.min() < 8e-3
    assert 15e-3 < thrust.max() < 25e-3
    assert (oxygen.least_power == 400.0).all()


def test_the_pulsed_plasma_thruster_passes_through_the_point_that_was_shown() -> None:
    """20 J, 4300 s, 13 % (kakami_2004, abstract); 0.08 to 0.13 at 3000 s."""
    with changed({("pulsed_plasma", "supply_efficiency"): 1.0}):
        found = engine("pulsed_plasma", specific_impulse_change=np.array([0.0, -1300.0]), live_power=20.0)
    assert efficiency(found)[0] == pytest.approx(0.13)
    assert 0.08 < efficiency(found)[1] < 0.13
    np.testing.assert_allclose(found.power_per_thrust, found.power_per_thrust[0])
    assert found.charge[0] == pytest.approx(2.0 * 0.13 * 20.0 / (4300.0 * GRAVITY) ** 2)
    assert found.charge[1] > found.charge[0]


def test_magnetoplasma_is_good_in_megawatts_and_poor_in_kilowatts() -> None:
    power = np.array([10e3, 100e3, 1e6, 1e7]) / number("hydrogen_magnetoplasmadynamic", "supply_efficiency")
    shared = efficiency(engine("hydrogen_magnetoplasmadynamic", live_power=power)) / 0.9
    assert (np.diff(shared) > 0.0).all()
    assert shared[0] < 0.1
    assert shared[1] == pytest.approx(0.20)
    assert shared[2] < 0.5 <= shared[3] + 1e-6
    fast = efficiency(
        engine("hydrogen_magnetoplasmadynamic", live_power=power, specific_impulse_change=3000.0)
    )
    assert fast[3] / 0.9 > 0.5


def test_a_pulsed_inductive_thruster_wears_out_long_before_a_mission_ends() -> None:
    found = engine("pulsed_inductive", live_power=20e3)
    passed = float(found.charge * found.ignition_life)
    assert passed == pytest.approx(1e6 * 2.0 * 0.4 * 4e3 / (3000.0 * GRAVITY) ** 2)
    assert passed < 10.0  # kilograms; a thousand times more is needed
    more = engine("pulsed_inductive", live_power=400e3)
    assert more.ignition_life == pytest.approx(400e3 * 0.93 / 40e3 * 1e6)
    assert more.mass - found.mass == pytest.approx((400e3 * 0.93 / 40e3 - 1.0) * 8.0)


@each_thruster
def test_answers_in_the_right_direction_to_power_and_speed(name: str) -> None:
    power = np.array([0.0, 1.0, 1e2, 1e3, 1e4, 1e5, 1e6])
    found = engine(name, live_power=power)
    shared = efficiency(found)
    assert np.isfinite(found.power_per_thrust).all()
    assert (np.diff(shared) >= -1e-12).all()  # a larger or fuller unit is no worse
    assert ((shared > 0.0) & (shared <= 1.0)).all()
    thrust = np.minimum(power / found.power_per_thrust, found.thrust_limit)
    assert (np.diff(thrust) > 0.0).all()
    for life in (found.throughput_life, found.ignition_life):
        assert (np.diff(life) >= 0.0).all()  # more units, more life
    faster = engine(name, live_power=power, specific_impulse_change=100.0)
    assert (faster.exhaust_velocity > found.exhaust_velocity).all()
    assert (efficiency(faster) > shared).all()
    assert (faster.throughput_life <= found.throughput_life).all()
    slower = engine(name, live_power=power, specific_impulse_change=-3000.0)
    assert np.isfinite(slower.power_per_thrust).all()
    assert (slower.exhaust_velocity > 0.0).all()


@each_thruster
def test_a_study_may_give_its_point_and_an_ideal_engine_has_no_losses(name: str) -> None:
    row = STEADY.get(name, "thrust_efficiency")
    rows: dict[tuple[str, str], float] = {(name, "specific_impulse"): 2500.0, (name, row): 0.3}
    if name != "xenon_hall":
        rows[name, "supply_efficiency"] = 1.0
    if name in STEADY:
        rows[name, "power_exponent"] = 0.0
    with changed(rows):
        assert efficiency(engine(name, live_power=np.array([100.0, 1e5]))) == pytest.approx(0.3)
    ideal = engine(name, thruster_losses=0.0, live_power=np.array([1.0, 1e5]))
    assert efficiency(ideal) == pytest.approx(1.0)
    assert (ideal.least_power == 0.0).all()


@each_thruster
def test_a_whole_array_of_a_row_can_be_asked(name: str) -> None:
    with changed({(name, "specific_impulse"): np.array([1000.0, 2000.0])}):
        found = engine(name)
    assert found.exhaust_velocity.shape == found.power_per_thrust.shape == (2,)


@pytest.mark.parametrize("name", STEADY)
def test_part_load_of_one_unit_follows_its_curve_and_many_units_are_switched_off(name: str) -> None:
    cap = number(name, "largest_unit_power") / (
        1.0 if name == "xenon_hall" else number(name, "supply_efficiency")
    )
    one, many = engine(name, live_power=0.5 * cap), engine(name, live_power=100.0 * cap)
    slope = electric.throttle_slope(
        0.5 * number(name, "largest_unit_power"), number(name, "half_power"), number(name, "power_exponent")
    )
    assert one.throttle_exponent == pytest.approx(float(slope))
    assert many.throttle_exponent < 0.02
    assert many.burn_life == one.burn_life < UNLIMITED
