"""The published schemas of what planning prints as JSON."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.paper.again import again_schema
from compat.paper.answers import Answer
from compat.paper.many import sweep_schema
from compat.planning.comparing import Compared
from compat.planning.fitting import Fits
from compat.planning.ladder import Ladder

__all__ = ["plan_schemas"]


def plan_schemas() -> dict[str, dict[str, Any]]:
    """Give the schemas by the name of their file.

    Returns
    -------
    dict
        ``compare``, ``fits``, ``fix``, ``ladder``, ``sweep`` and ``quotes_again``; money and hours are decimal
        strings.
    """
    kinds: dict[str, Any] = {"compare": Compared, "fits": Fits, "fix": Answer, "ladder": Ladder}
    made = {}
    for name, kind in kinds.items():
        schema = TypeAdapter(kind).json_schema(mode="serialization")
        says = f"What `compat {name} --json` prints."
        made[name] = {**schema, "title": name.capitalize(), "description": says}
    return {**made, "sweep": sweep_schema(), "quotes_again": again_schema()}
