"""Which way the results of a goal's cycle move with what they are worked out of.

An argument that a result does not look at at all stands among those with which it never falls.
"""

__all__ = ["DESIGN_FALLS", "DESIGN_RISES", "POINT_FALLS", "POINT_RISES"]

BEHIND = ("exhaust_back_pressure", "back_pressure_to_boost")
"""What stands behind the engine."""
LOSSES = ("friction_factor", *BEHIND)
"""What the engine must burn more for."""
SENSITIVITY = ("motor_octane_weight", "octane_sensitivity")
"""What makes a fuel knock more than its research octane says."""
BEST_TIMING = ("octane", *SENSITIVITY)
"""What a burn at the best timing does not look at."""
_KNOCKING = (
    "power",
    "compression_ratio",
    "relative_air_fuel_ratio",
    "charge_temperature",
    *LOSSES,
    *SENSITIVITY,
)
_PEAK = ("power", "rod_length", "compression_ratio", "charge_temperature", *LOSSES, *BEST_TIMING)
_CHARGE = ("power", "charge_temperature", *LOSSES, *BEST_TIMING)
_FLOW = ("power", *LOSSES, *SENSITIVITY)
_CALMER = ("speed", "bore", "stroke", "octane", "inlet_closes", "evaporated_share")
"""What leaves the end gas less time, or less heat."""

DESIGN_RISES = {
    "quick_peak": _PEAK,
    "best_peak": _PEAK,
    "manifold_pressure": _CHARGE,
    "exhaust_pressure": _CHARGE,
    "ca50": (
        "power",
        "speed",
        "bore",
        "stroke",
        "rod_length",
        "compression_ratio",
        "octane",
        "relative_air_fuel_ratio",
        "charge_temperature",
        "inlet_closes",
        "exhaust_opens",
        "evaporated_share",
        *LOSSES,
        *SENSITIVITY,
        "volumetric_efficiency",
        "ambient_pressure",
    ),
    "fmep": _PEAK,
    "fuel_flow": ("power", *LOSSES, *BEST_TIMING),
    "light_knock": _KNOCKING,
}

DESIGN_FALLS = {
    "quick_peak": ("bore", "inlet_closes", "evaporated_share"),
    "best_peak": ("bore", "inlet_closes", "evaporated_share"),
    "manifold_pressure": ("bore", "compression_ratio", "volumetric_efficiency", "evaporated_share"),
    "exhaust_pressure": ("bore", "compression_ratio", "volumetric_efficiency", "evaporated_share"),
    "fmep": ("bore", "inlet_closes", "evaporated_share"),
    "fuel_flow": ("compression_ratio", "evaporated_share"),
    "light_knock": _CALMER,
}

POINT_RISES = {
    "manifold_pressure": ("power", "charge_temperature", *LOSSES, *SENSITIVITY),
    "air_flow": _FLOW,
    "fuel_flow": _FLOW,
    "bsfc": (*LOSSES, *SENSITIVITY),
    "knock_retard": _KNOCKING,
    "boost_cost": _KNOCKING,
    "exhaust_temperature": ("charge_temperature", *BEHIND, *SENSITIVITY),
    "heat_to_coolant": ("power", *LOSSES),
}

POINT_FALLS = {
    "manifold_pressure": ("bore", "octane", "volumetric_efficiency", "evaporated_share"),
    "air_flow": ("octane", "evaporated_share"),
    "fuel_flow": ("octane", "evaporated_share"),
    "bsfc": ("octane", "evaporated_share"),
    "knock_retard": _CALMER,
    "boost_cost": _CALMER,
    "exhaust_temperature": ("octane", "evaporated_share"),
    "heat_to_coolant": ("exhaust_opens",),
}
