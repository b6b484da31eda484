"""Plain bearings and the oil that keeps them: fits, films, heat, pump, circuit, drains.

Gives clearances and least films, and the gallery pressure at which the pump meets what the engine takes.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "bearing_heat": ("pressure_fed_bearing",),
    "engine_bearing": ("engine_bearing_film",),
    "fits": (
        "bearing_clearance",
        "bearing_clearance_guide",
        "bearing_crush",
        "bearing_seat_pressure",
        "tolerance_grade",
        "hole_basis_fit",
    ),
    "oil_circuit": ("gallery_pressure",),
    "oil_consumers": ("oil_demand",),
    "oil_drain": ("drain_flow", "drain_bore"),
    "oil_pump": ("pump_delivery", "orifice_flow"),
    "oil_viscosity": ("oil_viscosity", "oil_density", "dynamic_viscosity"),
    "plain_bearing": ("sommerfeld_number", "bearing_film", "pressure_fed_leakage", "least_film_wanted"),
    "warm_clearance": ("clearance_at_temperature",),
}
"""Formulas of each module."""
