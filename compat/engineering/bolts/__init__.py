"""Threads, tightening, preload and what a working load does to a bolted joint.

Gives torques, preloads, stiffnesses and what is left of the clamp.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "bolt_use": ("bolt_utilisation",),
    "clamped_parts": ("clamped_stiffness", "clamped_stack_stiffness"),
    "friction_joints": ("friction_clamp_torque", "nose_torque", "cap_slip_load"),
    "joint_load": (
        "joint_opening_load",
        "working_bolt_load",
        "residual_clamp",
        "bolt_stress_amplitude",
        "bolt_fatigue_limit",
        "head_lift_pressure",
        "preload_for_clamp_ratio",
    ),
    "joint_stiffness": ("bolt_stiffness", "load_share"),
    "preload": ("tightening_spread", "preload_band", "settling_loss", "lubricant_friction"),
    "stretch": ("angle_preload", "stretch_preload", "preload_stretch", "thermal_preload_change"),
    "threads": (
        "pitch_diameter",
        "minor_diameter",
        "stress_diameter",
        "stress_area",
        "bolt_strength",
        "internal_thread_shear_area",
        "engagement_needed",
    ),
    "tightening": (
        "preload_at_yield_share",
        "yield_share_at_preload",
        "head_friction_diameter",
        "tightening_torque",
        "preload_from_torque",
    ),
}
"""Formulas of each module."""
