"""Which way each result of the filling moves with what it is worked out of.

An argument that a result does not look at at all stands among those with which it never falls.
"""

__all__ = ["FALLS_WITH", "RISES_WITH"]

_EXHAUST = (
    "exhaust_valves",
    "exhaust_valve_diameter",
    "exhaust_lift",
    "exhaust_duration",
    "exhaust_opens",
    "exhaust_port_area",
)
_ALL = (
    "bore",
    "stroke",
    "speed",
    "rod_length",
    "compression_ratio",
    "inlet_closes",
    "runner_length",
    "port_length",
    *_EXHAUST,
    "manifold_pressure",
    "exhaust_pressure",
    "stoichiometric_ratio",
    "relative_air_fuel_ratio",
    "heat_of_vaporisation",
    "evaporated_share",
    "ethanol_share",
    "primary_length",
    "phaser_retard",
)
"""What none of the inlet's own results falls with."""
_HELD = (*_ALL, "phaser_advance")
"""The same of what valves, ports and runners hold back."""

RISES_WITH = {
    "volumetric_efficiency": (*_EXHAUST, "manifold_pressure", "ethanol_share", "primary_length"),
    "mach_index": (*_HELD, "inlet_duration"),
    "closes_at": (*_ALL, "charge_temperature"),
    "valves": _HELD,
    "port": _HELD,
    "runner": _HELD,
}

FALLS_WITH = {
    "volumetric_efficiency": ("exhaust_pressure",),
    "mach_index": (
        "inlet_valves",
        "inlet_valve_diameter",
        "inlet_lift",
        "inlet_port_area",
        "runner_area",
        "charge_temperature",
    ),
    "closes_at": (
        "inlet_valves",
        "inlet_valve_diameter",
        "inlet_lift",
        "inlet_duration",
        "inlet_port_area",
        "runner_area",
        "phaser_advance",
    ),
    "valves": ("inlet_valves", "inlet_valve_diameter", "inlet_lift", "inlet_duration", "charge_temperature"),
    "port": ("inlet_duration", "inlet_port_area", "charge_temperature"),
    "runner": ("inlet_duration", "runner_area", "charge_temperature"),
}
