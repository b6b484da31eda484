"""The numbers behind a picture as JSON, by its published schema."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from compat.paper.pictures.kinds import PICTURES, Data
from compat.paper.visible import json_safe

__all__ = ["picture_json", "picture_schema"]


def picture_json(name: str, data: Data) -> str:
    """What `compat plot --json` prints: name of the picture, what it shows in words, and every number drawn."""
    said = {"picture": name, "shows": data.shows, **asdict(data)}  # type: ignore[call-overload]  # a record, all
    return json_safe(json.dumps(said, ensure_ascii=False, indent=2, allow_nan=False))


def picture_schema() -> dict[str, Any]:
    """The JSON Schema of that.

    >>> [one["properties"]["picture"]["const"] for one in picture_schema()["oneOf"]][:2]
    ['headroom', 'output']
    """
    from pydantic import TypeAdapter

    made: dict[str, Any] = {"title": "Plot", "description": "What `compat plot --json` prints.", "oneOf": []}
    definitions: dict[str, Any] = {}
    for name, kind in PICTURES.items():
        one = TypeAdapter(getattr(kind.rooms, kind.record)).json_schema(
            mode="serialization", ref_template=f"#/$defs/{name}.{{model}}"
        )
        definitions |= {f"{name}.{key}": value for key, value in one.pop("$defs", {}).items()}
        own = {"picture": {"const": name}, "shows": {"type": "string", "description": kind.shows}}
        made["oneOf"].append(
            {
                **one,
                "properties": {**own, **one["properties"]},
                "required": [*own, *one["required"]],
                "additionalProperties": False,
            }
        )
    return {**made, "$defs": definitions}
