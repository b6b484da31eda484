"""Formulas of engine building on SI floats, by subject; they know no part and no file."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from compat.engineering.formula import REGISTER, Formula, GoalOutOfReach, OutOfRange, Table

__all__ = ["Formula", "GoalOutOfReach", "OutOfRange", "Table", "find", "load_all"]


def load_all() -> dict[str, Formula]:
    """Import every module of formulas and give the register."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
    return REGISTER


def find(name: str) -> Formula | None:
    """Give the formula of that name, or None."""
    return REGISTER.get(name) or load_all().get(name)
