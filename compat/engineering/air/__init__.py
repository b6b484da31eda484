"""Air and exhaust: the surroundings, breathing, compressor, intercooler, turbine, full load.

Gives flows, pressures and temperatures on both sides of the cylinder, not what happens inside.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "airflow": ("duct_air_speed", "port_air_speed", "inlet_mach_index"),
    "atmosphere": (
        "standard_atmosphere",
        "saturation_pressure",
        "dry_air_pressure",
        "air_density",
        "j1349_correction",
    ),
    "boost_goal": ("charge_for_air_flow",),
    "breathing": ("air_flow", "fuel_flow_for_power", "air_flow_for_power", "manifold_pressure_for_air_flow"),
    "charge": (
        "map_absolute",
        "pressure_ratio",
        "corrected_flow",
        "shaft_speed",
        "flow_loss",
    ),
    "charge_heat": (
        "compressor_outlet_temperature",
        "compressor_power",
        "intercooler_effectiveness",
        "charge_temperature",
    ),
    "compressor_map": ("compressor_point", "compressor_beyond_map"),
    "filling": ("volumetric_efficiency",),
    "full_load": ("full_load_line",),
    "tuning": ("tuned_inlet_speed", "tuned_exhaust_speed"),
    "turbine": ("turbine_balance", "turbine_match", "wastegate_range", "exhaust_back_pressure"),
}
"""Formulas of each module."""
