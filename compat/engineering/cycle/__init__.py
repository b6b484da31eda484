"""What burns and what comes of it: the cycle of one cylinder, and the whole engine at a power goal.

Gives pressures, phasing, knock, flows, heat and brake output; mean pressures and power by themselves.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "closed_cycle": ("closed_cycle",),
    "design_point": ("design_point",),
    "trapped_charge": ("burn_duration", "residual_gas_fraction"),
    "engine_at_pressure": ("output_at_manifold_pressure",),
    "friction": ("friction_mean_effective_pressure", "pumping_mean_effective_pressure"),
    "knock": ("autoignition_delay",),
    "knock_limit": ("knock_limited_ca50",),
    "knock_phase": ("knock_margin",),
    "octane": ("motor_octane_weight",),
    "operating_point": ("operating_point",),
    "performance": (
        "torque_from_power",
        "power_from_torque",
        "bmep",
        "bmep_from_power",
        "torque_from_bmep",
        "power_from_bmep",
        "specific_power",
    ),
}
"""Formulas of each module."""
