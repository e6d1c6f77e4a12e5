"""What a design and a vehicle are to the engine: one row each, everything in SI."""

from __future__ import annotations

import numpy as np

QUANTITY_FIELDS = (
    "launch_mass water_on_board array_age payload_mass payload_power keep_alive_power "
    "hop_delta_v_capacity carried_delta_v storage_volume propellant_reserve propellant_residual "
    "array_area array_efficiency array_reference_temperature array_temperature_coefficient "
    "array_absorptivity array_emissivity low_intensity_loss array_ageing_rate array_areal_mass "
    "pointing_factor sunlit_fraction dust_loss_per_landing power_conversion_efficiency fixed_source_power "
    "fixed_source_half_life fixed_source_specific_power battery_specific_energy battery_full_depth_cycles "
    "battery_cycle_exponent battery_fade_rate battery_depth_of_discharge battery_efficiency "
    "extraction_energy extraction_plant_specific_mass extraction_plant_base_mass "
    "electrolyser_plant_specific_mass balance_of_plant_fraction stack_life landing_thrust_to_weight "
    "landing_engine_thrust_to_weight landing_loss_fraction gravity_losses radiator_temperature "
    "radiator_emissivity radiator_ground_view radiator_absorptivity radiator_areal_mass radiator_oversize "
    "thermal_control_fraction heated_area hold_temperature insulation_emissivity insulation_absorptivity "
    "insulation_outer_emissivity heat_recovery_fraction structure_fraction structure_load_fraction "
    "touchdown_speed touchdown_stroke system_margin delta_v_margin impulsive_burn_limit minimum_dwell "
    "maximum_wait hop_distance ice_fraction release_temperature cold_trap_temperature departure_policy "
    "time_price fill_to_need consumables_mass consumables_rate design_life dry_site_probability "
    "hop_reliability longest_night sun_distance window_wait"
).split()
"""Inputs the closure reads as they are, by their names in ``quantities.csv``."""

COMPUTED_FIELDS = (
    "array_fading split_energy stack_efficiency cell_voltage cell_heat_fraction cell_heat_supplied cell_ageing "
    "hydrogen_in_oxygen stack_mass_per_power exhaust_velocity water_per_propellant jet_velocity "
    "kept_share mined_per_load power_per_thrust thrust_limit least_power least_flow throttle_exponent "
    "collector_area live_power reference_power thruster_base_mass thruster_mass_per_power engine_power_share "
    "split_power_share live_energy live_split_fraction stop_split_fraction throughput_life ignition_life "
    "charge cruise_tank_factor cruise_specific_volume thruster_waste_fraction store_exhaust_velocity "
    "store_energy store_waste_fraction store_loss store_split_fraction store_tank_factor "
    "store_specific_volume store_mass_per_thrust store_thrust_limit store_mass store_holding_time "
    "store_kept_share store_mined_per_load store_ignition_life store_charge store_throughput_life store_burn_life "
    "storing_energy storing_loss burn_life refuels live_hop "
    "growth_structure growth_array growth_source growth_battery growth_electrolyser growth_extraction "
    "growth_tank growth_thruster growth_landing_engine growth_thermal"
).split()
"""Numbers worked out per design before closure: cell, thruster and store, and the growth of every item."""

DESIGN = np.dtype([(name, np.float64) for name in (*QUANTITY_FIELDS, *COMPUTED_FIELDS)])
"""One row per design, everything in SI."""

CRAFT = np.dtype(
    [
        (name, np.float64)
        for name in (
            "dry_mass wet_mass start_mass propellant_mass payload_capacity buffer_mass cruise_load "
            "store_load tank_volume structure_mass array_mass battery_mass electrolyser_mass "
            "extraction_mass tank_mass thruster_mass landing_engine_mass thermal_mass growth_mass "
            "radiator_area thrust start_power net_power electrolyser_power extraction_rate "
            "stop_store_share stop_kept_share stop_storing_energy stop_storing_heat stop_loss "
            "stop_split_energy stop_mined energy_per_mined landing_thrust trap_area "
            "fixed_source_mass live_rating"
        ).split()
    ]
)
"""The vehicle that comes out, one row per design, in SI."""

LARGE = 1.0e3  # multiple of the launch mass that stands for a craft that has no finite mass
LEAST_ENERGY = 1.0  # J/kg, so that water given away divides by something
ITERATIONS = 60
LARGEST_EXPONENT = 30.0  # of a burn, so that a hopeless craft stays finite
MOST_UNUSABLE = 0.99  # share of a load, for the same reason
LEAST_DRY = 1e-6  # dry over wet mass, for the same reason
TOLERANCE = 1.0e-10  # of the dry mass
