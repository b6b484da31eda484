"""What is driven: belts and chains, clutch and flywheel.

Gives lengths, torque capacity and burst speed.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "belt_path": ("belt_path_length",),
    "belts": ("belt_pitch_diameter", "chain_pitch_diameter", "open_belt_length", "belt_wrap", "chain_length"),
    "driveline": (
        "clutch_mean_radius",
        "clutch_capacity",
        "flywheel_power",
        "rotating_disc_stress",
        "burst_speed",
    ),
}
"""Formulas of each module."""
