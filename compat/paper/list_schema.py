"""The published schema of the mapping that a supplier's list is brought by."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from compat.lists.mapping import ListMap
from compat.shop.forms import reader

__all__ = ["EXAMPLE", "list_schema", "with_places"]

EXAMPLE = {
    "list": "northgate-pistons",
    "supplier": "northgate",
    "date": "2026-11-30",
    "expires": "2027-06-30",
    "decimal": ",",
    "encoding": "cp1252",
    "separator": ";",
    "hidden": "take",
    "into": "parts/northgate_pistons.yaml",
    "tables": [
        {
            "sheet": "Pistons",
            "heading": "3",
            "code": "Code",
            "name": {"pattern": "{Description} {Bore}"},
            "part": "northgate-{Code}",
            "fills": {"column": "Type", "words": {"Kolben": "piston"}},
            "families": ["tarn"],
            "includes": ["tarn-20-base-pin"],
            "basis": "handbook",
            "specs": {
                "bore_size": {"column": "Bore", "unit": "mm", "none": ["n/a"]},
                "crown_alloys": {"column": "Alloy", "split": "/"},
                "coating": {"is": "none"},
            },
            "price": {"column": "Each", "currency": "GBP", "per": "piece", "none": ["on request"]},
            "breaks": [{"packs": "3", "column": "From 3 sets"}],
            "pack": {"is": "4"},
            "lead": "Lead",
            "note": "Remarks",
            "sizes": {
                "column": "Oversizes",
                "split": "/",
                "unit": "in",
                "words": {"S": "0"},
                "adds": {"bore_size": "1"},
                "states": "oversize",
                "code": "{code}-{digits}",
            },
            "leave_out": [
                {"column": "Description", "is": ["discontinued"], "like": "*obsolete*", "empty": "yes"}
            ],
        }
    ],
}
"""A mapping that says everything that one can say; its fields are the examples of theirs."""


def list_schema() -> dict[str, Any]:
    """Give the schema as the classes of a mapping say it; what fields mean is told by who publishes it."""
    return reader(ListMap).json_schema(by_alias=True)


def with_places(schema: dict[str, Any]) -> None:
    """Tell what says which position a row is for from what says anything else: its words are positions."""
    own = deepcopy(schema["$defs"]["Told"])
    own["properties"]["is"] |= {"description": "the position of all rows", "examples": ["piston"]}
    told = {"description": "a word of the list, and the position that it stands for"}
    own["properties"]["words"] |= {**told, "examples": [{"Kolben": "piston"}]}
    schema["$defs"]["Fills"] = {**own, "title": "Fills"}
    for choice in schema["$defs"]["Table"]["properties"]["fills"]["anyOf"]:
        if "$ref" in choice:
            choice["$ref"] = "#/$defs/Fills"
