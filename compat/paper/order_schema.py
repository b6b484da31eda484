"""The published schema of an order."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.trade.ordered import Order

__all__ = ["order_schema"]

SAYS = {
    "number": "empty on a draft",
    "price": "of a pack, when so many are ordered",
    "pack": "pieces in a pack",
    "amount": "packs times price",
    "goods": "sum of the amounts of all lines",
    "total": "goods and carriage, in the supplier's currency; of the order, all suppliers in the shop's",
    "total_own": "the total in the shop's currency, rounded as the shop rounds",
    "reasons": "what the pieces are for; empty in a supplier's copy",
    "left_over": "pieces that nothing is asked for",
    "in_on": "null where nobody says when it is in",
    "rate": "what one of its currency costs in the shop's; null where both are the same",
    "expired": "when the price list expired that it is reckoned with all the same",
    "proved": "whether no other choice of suppliers serves the aim better",
    "against": "what conflicts, falls short, is missing or is unknown",
    "judged_by": "scope and rules it was judged by, where that is less than all, or not the program's",
    "until": "what is to be settled before it is ordered",
}


def order_schema() -> dict[str, Any]:
    """Give the schema; money is decimal strings, days are ISO 8601."""
    schema = TypeAdapter(Order).json_schema(mode="serialization")
    _tell(schema)
    return schema


def _tell(schema: Any) -> None:
    if isinstance(schema, list):
        for entry in schema:
            _tell(entry)
    if not isinstance(schema, dict):
        return
    properties = schema.get("properties", {})
    for name, entry in properties.items():
        if name in SAYS and isinstance(entry, dict):
            entry["description"] = SAYS[name]
    if properties:
        schema["additionalProperties"] = False
        schema["required"] = list(properties)
    for entry in schema.values():
        _tell(entry)
