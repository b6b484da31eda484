"""The published schemas of a quote, and of what has changed since one."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.trade.against import Changes
from compat.trade.quoted import Quote

__all__ = ["quote_schemas"]

OWN = "the shop's own copy alone has it"
SAYS = {
    "number": "empty on a draft",
    "amount": "quantity times unit price, rounded as `rounding` says",
    "tax_rate": "part of one: 0.2 is 20 %; nought where tax stands inside the price",
    "net": "sum of the amounts of all lines",
    "total": "net and tax",
    "doubt_most": "if all in doubt fails and each is mended the dearest way; before tax",
    "judged_by": "scope and rules it was judged by, where that is less than all, or not the program's",
    "rounding": "step that amounts are rounded to, and which way",
}


def quote_schemas() -> dict[str, dict[str, Any]]:
    """Give the schemas by the name of their file.

    Returns
    -------
    dict
        ``quote`` and ``quote_changes``; money and quantities are decimal strings.
    """
    made: dict[str, dict[str, Any]] = {}
    for name, kind in (("quote", Quote), ("quote_changes", Changes)):
        schema = TypeAdapter(kind).json_schema(mode="serialization")
        _told(schema)
        made[name] = schema
    return made


def _told(schema: Any) -> None:
    """Say what fields mean, and that a customer's copy lacks the shop's own."""
    if isinstance(schema, list):
        for entry in schema:
            _told(entry)
    if not isinstance(schema, dict):
        return
    properties = schema.get("properties", {})
    if "own" in properties:
        properties["own"]["description"] = OWN
        schema["required"] = [name for name in schema.get("required", ()) if name != "own"]
    for name, entry in properties.items():
        if name in SAYS and isinstance(entry, dict):
            entry["description"] = SAYS[name]
    if schema.get("type") == "object" and properties:
        schema["additionalProperties"] = False
    for entry in schema.values():
        _told(entry)
