"""What the goal asks of the engine, as a table of figures."""

from __future__ import annotations

from typing import Any

from compat.checking.world import BuildWorld
from compat.rulebook.values import Absent, Missing, Number
from compat.units import unit
from compat.words.telling import Teller

__all__ = ["loads_table"]


def loads_table(world: BuildWorld) -> dict[str, dict[str, Any]]:
    """Compute every figure that the rulebook marks for the table.

    Parameters
    ----------
    world : BuildWorld
        The build.

    Returns
    -------
    dict
        By figure: name, value, half width and unit; a figure that does not apply is left out, one that
        cannot be computed says why instead of a value.
    """
    table: dict[str, dict[str, Any]] = {}
    for name, bound in world.settled.book.figures.items():
        figure = bound.figure
        if not figure.table:
            continue
        text = "" if figure.unit == "number" else figure.unit
        entry: dict[str, Any] = {"name": figure.name or name.replace("_", " "), "unit": text}
        try:
            value = world.figure(name)
        except Absent:
            continue
        if isinstance(value, Number):
            own = unit(text)
            entry |= {"value": own.from_si(value.x), "half_width": world.worst(value) / own.factor}
        else:
            entry["not_known"] = Teller(world).gap(value) if isinstance(value, Missing) else "not a number"
        table[name] = entry
    return table
