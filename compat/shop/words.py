"""The closed lists of words that files choose from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

__all__ = [
    "DUTIES",
    "ENGINE_NUMBERS",
    "INSIDE",
    "KINDS",
    "SETS",
    "SYSTEMS",
    "Condition",
    "Counted",
    "Duty",
    "EngineNumber",
    "Layout",
    "Per",
    "Scope",
    "SetName",
    "System",
]

KINDS = ("family", "variant", "position", "feature", "part", "work", "joint", "supplier", "stock", "build")
"""Kinds of things, in the order in which they are told."""

Duty = Literal["street", "track", "sprint", "endurance"]
DUTIES: tuple[str, ...] = get_args(Duty)
System = Literal[
    "short-block", "rotating-assembly", "sealing", "valve-train", "lubrication", "cooling", "induction",
    "exhaust", "fuel", "ignition", "management", "timing-drive", "front-drive", "driveline", "consumable",
    "setup",
]  # fmt: skip
SYSTEMS: tuple[str, ...] = get_args(System)
Scope = Literal["short_block", "long_block", "engine", "vehicle"]
"""How much of a car a build is."""
INSIDE: Mapping[str, frozenset[str]] = {
    "short_block": frozenset({"short-block", "rotating-assembly", "setup"}),
    "long_block": frozenset(
        {"short-block", "rotating-assembly", "sealing", "valve-train", "timing-drive", "lubrication", "setup"}
    ),
    "engine": frozenset(SYSTEMS) - {"driveline"},
    "vehicle": frozenset(SYSTEMS),
}
"""Systems that lie inside each scope."""
SetName = Literal[
    "short_block", "rotating_assembly", "sealing", "valve_train", "timing_drive", "lubrication", "cooling",
    "induction", "exhaust", "fuel", "ignition", "management", "front_drive", "driveline",
]  # fmt: skip
"""Sets of words and rules that a shop may take from the program: each a file of its vocabulary."""
SETS: tuple[str, ...] = get_args(SetName)
EngineNumber = Literal[
    "cylinders", "banks", "main_journals", "cams", "inlet_valves", "exhaust_valves", "valves"
]
ENGINE_NUMBERS: tuple[str, ...] = get_args(EngineNumber)
Per = Literal[
    "engine", "cylinders", "banks", "main_journals", "cams", "inlet_valves", "exhaust_valves", "valves"
]
Condition = Literal["new", "used"]
Counted = Literal["piece", "set"]
"""Whether what a card offers or needs goes with every piece fitted, or with the whole set of its position."""
Layout = Literal["grid", "rail", "circle"]
"""How the fasteners of a joint stand."""
