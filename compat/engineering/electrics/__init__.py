"""Spark and current: coil, plug, sensors, alternator.

Gives charge times, voltages, frequencies and the current that the alternator must give.
"""

__all__ = ["FORMULAS"]

FORMULAS = {
    "electrical": (
        "trigger_frequency",
        "reluctor_tooth_width",
        "vr_signal",
        "knock_frequency",
        "alternator_current",
        "current_budget",
    ),
    "ignition": (
        "coil_current",
        "coil_charge_time",
        "coil_energy",
        "dwell_duty",
        "coil_mean_current",
        "breakdown_voltage",
        "plug_heat_steps",
    ),
}
"""Formulas of each module."""
