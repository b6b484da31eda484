"""What the coolant and oil carry off.

Gives heat flows, and what radiator, pump and heat exchanger do about them.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "cooling": ("coolant_heat", "oil_heat", "radiator_capacity", "coolant_flow", "pump_flow_at_speed"),
    "heat_exchanger": ("heat_exchanger_effectiveness",),
}
"""Formulas of each module."""
