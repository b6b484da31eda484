"""Cam, spring and valve: lift, motion, control, and the gap to the piston.

Gives lifts and forces of the valve train, the speed it follows to, and how close valve and piston come.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "cam_profile": ("valve_lift", "duration_at_lift", "cam_motion", "lift_table_motion"),
    "spring_control": ("spring_control", "spring_control_of_table"),
    "valve_piston": ("valve_approach", "valve_approach_of_table", "static_valve_gap"),
    "valve_pocket": ("pocket_volume",),
    "valve_spring": (
        "spring_rate",
        "spring_force",
        "coil_spring_rate",
        "coil_bind_margin",
        "spring_surge_frequency",
        "pressure_on_valve",
    ),
    "valve_train": ("tappet_offset", "moving_valve_mass", "valve_inertia_force", "float_speed"),
}
"""Formulas of each module."""
