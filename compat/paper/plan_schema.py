"""The published schemas of what planning prints as JSON: two builds side by side, what fits, a ladder,
a build put right."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.paper.answers import Answer
from compat.planning.comparing import Compared
from compat.planning.fitting import Fits
from compat.planning.ladder import Ladder

__all__ = ["plan_schemas"]


def plan_schemas() -> dict[str, dict[str, Any]]:
    """Give the schemas by the name of their file.

    Returns
    -------
    dict
        ``compare``, ``fits``, ``fix`` and ``ladder``; money and hours are decimal strings.
    """
    kinds: dict[str, Any] = {"compare": Compared, "fits": Fits, "fix": Answer, "ladder": Ladder}
    made = {}
    for name, kind in kinds.items():
        schema = TypeAdapter(kind).json_schema(mode="serialization")
        says = f"What `compat {name} --json` prints."
        made[name] = {**schema, "title": name.capitalize(), "description": says}
    return made
