"""What each neglected effect is worth: the printed multipliers through the engine, and what a stack-up keeps."""

from __future__ import annotations

import functools
import math
from typing import Any

import numpy as np
import pytest

from tradespace import evaluate as engine
from tradespace import stackup
from tradespace.mission import Mission, Stop, WindowCurve
from tradespace.study import Study, parse_study
from tradespace.units import convert, parse_date

DAY = 86400.0
AU = float(convert(1.0, "au", "m"))
KWH = 3.6e6
START = parse_date("2031-01-01")

CASES = {"A": (3000.0, 1.0), "B": (300.0, 2.77), "C": (1900.0, 1.0)}
"""Velocity change of a hop [m/s] and distance from the Sun [au] of the three reference cases."""

TEXT = """\
[study]
name = "reference_case"
title = "Reference case of the stack-up"
note = "Numbers of a published table of neglected effects; the craft is a point of 200 kg"
kind = "tour"

[start]
body = "24 Themis"
date = "2031-01-01"
launch_mass = "1000000 kg"

[route]
stops = ["90 Antiope", "24 Themis"]
horizon = "2041-01-01"
flight_time = ["200 d", "1500 d"]
minimum_dwell = "0 d"

[craft]
payload_mass = "200 kg"
hop_delta_v_capacity = "1 km/s"

[sunlight]
array_power = "3 kW"

[[thruster]]
name = "gas_420"
title = "Stored gas at 420 s"
specific_impulse = "420 s"
thrust = "1000000000 N"
power_per_thrust = "0 W/N"
throughput_life = "1000000000 kg"
mass = "0 kg"
storage = "gas"

[[thruster]]
name = "gas_330"
title = "Stored gas at 330 s"
specific_impulse = "330 s"
thrust = "1000000000 N"
power_per_thrust = "0 W/N"
throughput_life = "1000000000 kg"
mass = "0 kg"
storage = "gas"

[architectures]
include = ["gas_420", "gas_330"]
"""
WEIGHTLESS = {"array_areal_mass": 0.0, "structure_fraction": 0.0, "array_age": 0.0, "maximum_wait": 3.0e8}
