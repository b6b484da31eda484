"""The published JSON Schemas: of every kind of file entry, of whole files, and of the reports."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.checking.report import Report
from compat.rulebook.models import Figure, Rule
from compat.shop.reading import MODELS

__all__ = ["report_json", "schemas"]

_REPORT = TypeAdapter(Report)

_CALC: dict[str, Any] = {
    "title": "Calc",
    "description": "What `compat calc --json` prints.",
    "type": "object",
    "required": ["formula", "value", "unit", "source"],
    "properties": {
        "formula": {"type": "string"},
        "value": {
            "description": "a number, or a number by the name of each result",
            "oneOf": [{"type": "number"}, {"type": "object", "additionalProperties": {"type": "number"}}],
        },
        "unit": {
            "description": "a unit, or a unit by the name of each result",
            "oneOf": [{"type": "string"}, {"type": "object", "additionalProperties": {"type": "string"}}],
        },
        "source": {"type": "string"},
    },
    "additionalProperties": False,
}


def report_json(report: Report) -> str:
    """A report as JSON text, by the published schema `report`."""
    return _REPORT.dump_json(report, indent=2).decode()


def schemas() -> dict[str, dict[str, Any]]:
    """Give every schema by the name of its file.

    Returns
    -------
    dict
        One for each kind of entry, `catalog` and `rules` for whole files, `report` for `check --json`
        and `calc` for `calc --json`.

    Examples
    --------
    >>> "report" in schemas() and "part" in schemas()
    True
    """
    single = {kind: model.model_json_schema(by_alias=True) for kind, model in MODELS.items()}
    rules = {"rule": Rule.model_json_schema(by_alias=True), "figure": Figure.model_json_schema(by_alias=True)}
    made = {**single, **rules}
    made["catalog"] = _file("A file of the catalogue", single)
    made["rules"] = _file("A file of the rulebook", rules)
    made["report"] = _REPORT.json_schema(mode="serialization")
    made["calc"] = _CALC
    for schema in made.values():
        schema.setdefault("$schema", "https://json-schema.org/draft/2020-12/schema")
    return made


def _file(title: str, kinds: dict[str, dict[str, Any]]) -> dict[str, Any]:
    definitions: dict[str, Any] = {}
    for schema in kinds.values():
        definitions |= schema.get("$defs", {})
    entries = [{k: v for k, v in schema.items() if k != "$defs"} for schema in kinds.values()]
    entry = {"anyOf": entries}
    return {
        "title": title,
        "oneOf": [{"type": "array", "items": entry}, entry],
        "$defs": definitions,
    }
