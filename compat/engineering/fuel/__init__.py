"""The fuel system: injectors, pump and lines.

Gives flows, duties and velocities at the pressure and voltage that they really meet.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "blend": ("ethanol_blend",),
    "supply": ("fuel_volume_flow", "line_velocity", "pump_flow_at"),
    "injectors": ("injector_pressure_difference", "injector_flow", "injector_duty", "injector_flow_needed"),
}
"""Formulas of each module."""
