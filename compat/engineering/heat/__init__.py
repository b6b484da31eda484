"""What the coolant and oil carry off.

Gives heat flows, and what radiator and pump do about them.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "cooling": ("coolant_heat", "oil_heat", "radiator_capacity", "coolant_flow", "pump_flow_at_speed"),
}
"""Formulas of each module."""
