"""Piston, pin, rod and crank under gas and inertia.

Gives the loads over a cycle that bolts, bearings and parts must carry, and what rod and piston can.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "columns": ("euler_load", "column_load"),
    "crank_strength": ("crank_fillet_stress", "crank_fatigue_strength"),
    "crank_train": ("crank_train_loads",),
    "inertia": (
        "reciprocating_load",
        "reciprocating_force",
        "rod_bolt_load",
        "gas_load",
    ),
    "piston_strength": ("projected_pressure", "piston_pin_stress", "piston_crown_stress"),
    "rod_strength": ("rod_section", "rod_buckling_load", "rod_tension_capacity", "rod_fatigue_factor"),
}
"""Formulas of each module."""
