"""Formulas of engine building on SI floats, in rooms by subject; they know no part and no file."""

from __future__ import annotations

from functools import cache
from importlib import import_module

from compat.engineering.formula import REGISTER, Formula, GoalOutOfReach, OutOfRange, Table

__all__ = ["ROOMS", "Formula", "GoalOutOfReach", "OutOfRange", "Table", "find", "load_all", "names"]

ROOMS = (
    "air",
    "bolts",
    "cycle",
    "cylinder",
    "drive",
    "electrics",
    "fuel",
    "heat",
    "lubrication",
    "running_gear",
    "valves",
)
"""Packages of formulas; each lists, module by module, the formulas that it gives."""


@cache
def _modules() -> dict[str, str]:
    """Module of each formula, as the rooms list them."""
    return {
        name: f"{__name__}.{room}.{module}"
        for room in ROOMS
        for module, listed in import_module(f"{__name__}.{room}").FORMULAS.items()
        for name in listed
    }


def names() -> tuple[str, ...]:
    """Give the name of every formula; none of their modules is imported for that.

    >>> "swept_volume" in names()
    True
    """
    return tuple(sorted(_modules()))


def load_all() -> dict[str, Formula]:
    """Import every module of formulas and give the register."""
    for module in _modules().values():
        import_module(module)
    return REGISTER


def find(name: str) -> Formula | None:
    """Give the formula of that name, or None; only the module that defines it is imported.

    >>> find("swept_volume").takes
    {'bore': 'mm', 'stroke': 'mm'}
    """
    if name not in REGISTER and name in _modules():
        import_module(_modules()[name])
    return REGISTER.get(name)
