"""The published JSON Schemas: of every kind of file entry, of whole files, and of the reports."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.rulebook.models import Figure, Rule
from compat.shop.forms import reader
from compat.shop.reading import MODELS
from compat.words.report import Report

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
        "half_width": {
            "description": "worst case of the tolerances typed, in the same unit; left out when none was",
            "oneOf": [{"type": "number"}, {"type": "object", "additionalProperties": {"type": "number"}}],
        },
        "source": {"type": "string"},
    },
    "additionalProperties": False,
}

_LINT: dict[str, Any] = {
    "title": "Lint",
    "description": "What `compat lint --json` prints.",
    "type": "object",
    "required": ["shop", "remarks"],
    "properties": {
        "shop": {"type": "string"},
        "remarks": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["file", "line", "column", "message"],
                "properties": {
                    "file": {"type": "string"},
                    "line": {"type": "integer", "minimum": 1},
                    "column": {"type": "integer", "minimum": 1},
                    "message": {"type": "string"},
                },
                "additionalProperties": False,
            },
        },
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
        One for each kind of entry, `catalog` and `rules` for whole files, `report`, `calc` and `lint`
        for what the commands print with ``--json``.

    Examples
    --------
    >>> "report" in schemas() and "part" in schemas()
    True
    """
    single = {kind: _as_written(reader(model).json_schema(by_alias=True)) for kind, model in MODELS.items()}
    rules = {model.kind: _as_written(reader(model).json_schema(by_alias=True)) for model in (Rule, Figure)}
    made = {**single, **rules}
    made["catalog"] = _file("A file of the catalogue", single)
    made["rules"] = _file("A file of the rulebook", rules)
    made["report"] = _REPORT.json_schema(mode="serialization")
    made["calc"] = _CALC
    made["lint"] = _LINT
    for schema in made.values():
        schema.setdefault("$schema", "https://json-schema.org/draft/2020-12/schema")
    return made


_NUMBER = r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*$"


def _as_written(schema: Any) -> Any:
    """Let a schema hold for files as they are written, whatever a YAML reader makes of plain words.

    The program reads every word as text. An editor's reader may see a number in ``12`` where a text
    belongs, and text in ``yes`` where a flag does: both are right.
    """
    if isinstance(schema, list):
        return [_as_written(entry) for entry in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: _as_written(value) for key, value in schema.items()}
    if "patternProperties" in made:
        made.setdefault("additionalProperties", False)
    match made.get("type"):
        case "string" if not {"enum", "const"} & set(made):
            made["type"] = ["string", "number", "boolean"]
        case "integer" | "number" as kind:
            made |= {"type": [kind, "string"], "pattern": r"^\s*\d+\s*$" if kind == "integer" else _NUMBER}
        case "boolean":
            made = {**made, "type": ["boolean", "string"], "enum": [True, False, "true", "false", "yes", "no"]}
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
