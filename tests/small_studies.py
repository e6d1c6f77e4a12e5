"""Two small study texts for the tests; the crafts are invented."""

from __future__ import annotations

TOUR = """\
[study]
name = "small_tour"
title = "Small tour"
question = "Does it close?"
note = "Invented craft"
kind = "tour"
seed = 0
figure_of_merit = "mission_time"

[start]
body = "24 Themis"
date = "2031-05-01"
launch_mass = "900 kg"

[route]
stops = ["90 Antiope"]
horizon = "2041-12-31"
flight_time = ["200 d", "1500 d"]

[craft]
payload_mass = "60 kg"
hop_delta_v_capacity = "2.95 km/s"

[sunlight]
array_area = "40 m2"

[extraction]
ice_fraction = "10 %"

[ranges]
ice_fraction = ["5 %", "20 %"]

[architectures]
include = ["electrolysis_bipropellant", "steam_resistojet"]

[[thruster]]
name = "bench_engine"
title = "Bench engine"
specific_impulse = "310 s"
thrust = "1.2 N"
power_per_thrust = "0 W/N"
throughput_life = "400 kg"
storage = "gas"

[sweep]
array_area = { low = "10 m2", high = "90 m2", count = 3, spacing = "log" }
current_density = { values = ["0.1 A/cm2", "0.3 A/cm2"] }

[solve]
solve = "array_area"
until = "refuel_time <= 300 d"
"""

SURFACE = """\
[study]
name = "small_hopper"
title = "Small hopper"
kind = "surface"

[start]
body = "Ceres"
date = "2032-01-01"
launch_mass = "420 kg"

[route]
hops = 3
hop_distance = "20 km"
mission_duration = "3 yr"

[craft]
payload_mass = "40 kg"

[sunlight]
array_power = "12 kW"

[architectures]
include = ["electrolysis_bipropellant", "steam_resistojet"]

[sweep]
array_power = { low = "4 kW", high = "20 kW", count = 3 }
"""


def line_of(text: str, start: str) -> int:
    """Number of the first line that begins so."""
    return next(number for number, line in enumerate(text.splitlines(), start=1) if line.startswith(start))
