"""The cylinder as a shape: volumes, compression ratio, deck, crank motion, clearances, ring gaps.

Gives what follows from lengths and volumes alone, whatever burns inside and however fast.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "compression": ("compression_ratio", "compression_ratio_of_volumes", "clearance_volume_for_ratio"),
    "crank_motion": (
        "piston_position",
        "piston_velocity",
        "piston_acceleration",
        "rod_angle",
        "rod_ratio",
        "mean_piston_speed",
        "peak_piston_speed",
    ),
    "deck": ("deck_clearance", "quench_gap", "skim_volume", "cam_retard", "ring_pack_depth", "pin_top_margin"),
    "envelope": ("skirt_to_counterweight", "big_end_swing", "rod_to_bore_gap", "bore_overhang"),
    "geometry": ("swept_volume", "engine_displacement", "gasket_volume", "deck_volume", "clearance_volume"),
    "ring_gap": ("ring_end_gap_guide", "ring_gap_in_bore", "ring_end_gap_hot"),
}
"""Formulas of each module."""
