"""JSON: a document's data by its published schema, money as decimal strings and days by ISO 8601."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from compat.paper.document import Document
from compat.paper.formats.values import plain
from compat.paper.visible import json_safe
from compat.shop.money import Money

__all__ = ["json_text"]


def json_text(document: Document) -> str:
    """The data of a document as JSON text, with a line end at its end."""
    return json_safe(json.dumps(_plain(document.data), ensure_ascii=False, indent=2)) + "\n"


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, Sequence):
        return [_plain(one) for one in value]
    if isinstance(value, Money):
        return plain(value)  # money; its currency stands once in each schema
    if is_dataclass(value):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    return plain(value)
