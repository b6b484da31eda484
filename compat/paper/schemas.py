"""The published JSON Schemas: of every kind of file entry, of whole files, and of the reports."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

from compat.paper.counter_schema import counter_schemas
from compat.paper.explained_schemas import described, enumerated
from compat.paper.list_schema import list_schema, with_places
from compat.paper.order_schema import order_schema
from compat.paper.plan_schema import plan_schemas
from compat.paper.quote_schema import quote_schemas
from compat.paper.sheet_data import SHEET_SCHEMA
from compat.paper.visible import json_safe
from compat.paper.why import Explained
from compat.rulebook.models import VERDICTS, Figure, Rule
from compat.shop.forms import reader
from compat.shop.reading import MODELS
from compat.units import unit
from compat.words.reasons import Reason
from compat.words.report import Finding, Report

if TYPE_CHECKING:
    from compat.library.library import Library

__all__ = ["report_json", "schemas", "why_json"]

_REPORT = TypeAdapter(Report)
_FINDING = TypeAdapter(Finding)

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
        "beyond": {
            "description": "rules that nobody holds here, with the sets that they look into",
            "type": "object",
            "additionalProperties": {"type": "array", "items": {"type": "string"}},
        },
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


_SINCE: dict[str, Any] = {
    "title": "Since",
    "description": "What `compat lint --since VERSION --json` prints.",
    "type": "object",
    "required": ["since", "changed", "new", "gone"],
    "properties": {
        "since": {"description": "the version whose verdicts were recorded", "type": "string"},
        "changed": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["build", "rule", "before", "now"],
                "properties": {
                    "build": {"description": "a build, or a variant at its own rating", "type": "string"},
                    "rule": {"type": "string"},
                    "before": {"description": "null where it was not judged", "enum": [*VERDICTS, None]},
                    "now": {"description": "null where it is not judged", "enum": [*VERDICTS, None]},
                },
                "additionalProperties": False,
            },
        },
        "new": {
            "description": "builds and variants that were not there then, and are not compared",
            "type": "array",
            "items": {"type": "string"},
        },
        "gone": {
            "description": "builds and variants that are no longer there",
            "type": "array",
            "items": {"type": "string"},
        },
    },
    "additionalProperties": False,
}


_SHOW: dict[str, Any] = {
    "title": "Show",
    "description": "What `compat show --json` prints: everything of one id, or the list of a kind.",
    "oneOf": [
        {
            "type": "object",
            "required": ["things"],
            "properties": {"things": {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/thing"}}},
            "additionalProperties": False,
        },
        {
            "type": "object",
            "required": ["kind", "list"],
            "properties": {
                "kind": {"type": "string"},
                "list": {
                    "type": "array",
                    "items": {
                        "type": "object",
                        "required": ["id", "name"],
                        "properties": {"id": {"type": "string"}, "name": {"type": "string"}},
                        "additionalProperties": False,
                    },
                },
            },
            "additionalProperties": False,
        },
    ],
    "$defs": {
        "thing": {
            "type": "object",
            "required": ["kind", "id", "name", "file", "line", "entry", "lines"],
            "properties": {
                "kind": {"type": "string"},
                "id": {"type": "string"},
                "name": {"type": "string"},
                "file": {"type": "string"},
                "line": {"type": "integer", "minimum": 1},
                "entry": {
                    "description": "the entry as its file has it, every word a text, by the schema of its kind",
                    "type": "object",
                },
                "lines": {
                    "description": "what a person reads, with what the shop's other files say of it",
                    "type": "array",
                    "items": {
                        "type": "object",
                        "required": ["depth", "text"],
                        "properties": {
                            "depth": {"type": "integer", "minimum": 1},
                            "text": {"type": "string"},
                        },
                        "additionalProperties": False,
                    },
                },
            },
            "additionalProperties": False,
        }
    },
}

_WHY: dict[str, Any] = {
    "title": "Why",
    "description": "What `compat why --json` prints.",
    "type": "object",
    "required": ["build", "rule", "title", "applies", "where", "findings", "chain", "why", "source"],
    "properties": {
        "build": {"type": "string"},
        "rule": {"type": "string"},
        "title": {"type": "string"},
        "applies": {"type": "boolean"},
        "where": {"description": "when it applies, as words; empty: always", "type": "string"},
        "findings": {"type": "array", "items": {"$ref": "#/$defs/Finding"}},
        "chain": {"type": "array", "items": {"$ref": "#/$defs/reason"}},
        "why": {"type": "string"},
        "source": {"type": "string"},
    },
    "additionalProperties": False,
    "$defs": {
        "reason": {
            "type": "object",
            "required": ["name", "title", "value", "rests_on"],
            "properties": {
                "name": {"description": "figure, position.spec or goal.entry", "type": "string"},
                "title": {"type": "string"},
                "value": {"description": "null where there is none", "type": ["number", "string", "null"]},
                "gap": {"description": "why there is no value", "type": "string"},
                "half_width": {"description": "worst case of all tolerances", "type": "number"},
                "unit": {"description": "unit of value and half width", "type": "string"},
                "how": {"type": "string"},
                "source": {"type": "string"},
                "estimate": {"type": "boolean"},
                "seen": {"description": "opened where it first stands in the chain", "type": "boolean"},
                "rests_on": {"type": "array", "items": {"$ref": "#/$defs/reason"}},
            },
            "additionalProperties": False,
        }
    },
}


def report_json(report: Report) -> str:
    """A report as JSON text, by the published schema `report`."""
    without = {name for name in ("measured", "scoped", "house") if getattr(report, name) is None}
    return json_safe(_REPORT.dump_json(report, indent=2, exclude=without).decode())


def why_json(found: Explained) -> str:
    """A rule on a build as JSON text, by the published schema `why`."""
    data = {
        "build": found.build,
        "rule": found.rule,
        "title": found.title,
        "applies": bool(found.findings),
        "where": found.where,
        "findings": [_FINDING.dump_python(finding, mode="json") for finding in found.findings],
        "chain": [_step(reason) for reason in found.chain],
        "why": found.why,
        "source": found.source,
    }
    return json_safe(json.dumps(data, ensure_ascii=False, indent=2))


def _step(reason: Reason) -> dict[str, Any]:
    """One step of a chain, numbers in its unit; what says nothing is left out."""
    value, half = reason.value, 0.0
    if isinstance(value, float):
        own = unit(reason.unit)
        value, half = own.from_si(value), reason.half / own.factor
    rest = {
        "gap": reason.gap, "half_width": half, "unit": reason.unit, "how": reason.how, "source": reason.source,
        "estimate": reason.estimate, "seen": reason.seen,
    }  # fmt: skip
    return {
        "name": reason.name,
        "title": reason.title,
        "value": value,
        **{key: entry for key, entry in rest.items() if entry},
        "rests_on": [_step(each) for each in reason.rests_on],
    }


def schemas(library: Library | None = None) -> dict[str, dict[str, Any]]:
    """Give every schema by the name of its file.

    Parameters
    ----------
    library : Library, optional
        A shop whose ids the schemas of entries offer.

    Returns
    -------
    dict
        One for each kind of entry, `catalog` and `rules` for whole files, `list` for the mapping of a
        supplier's list, and for what the commands print with ``--json`` one by the name of each, `report` for
        that of `check`, and `quote_changes`.

    Examples
    --------
    >>> "report" in schemas() and "part" in schemas()
    True
    """
    from compat.paper.pictures.published import picture_schema

    single = {kind: _as_written(reader(model).json_schema(by_alias=True)) for kind, model in MODELS.items()}
    rules = {model.kind: _as_written(reader(model).json_schema(by_alias=True)) for model in (Rule, Figure)}
    made = {**single, **rules, "list": _as_written(list_schema())}
    described(made)
    with_places(made["list"])
    _with_own_parts(made)
    if library is not None:
        enumerated(made, library)
    made["catalog"] = _file("A file of the catalogue", single)
    made["rules"] = _file("A file of the rulebook", rules)
    made["report"] = _REPORT.json_schema(mode="serialization")
    made["why"] = {**_WHY, "$defs": {**_WHY["$defs"], "Finding": _FINDING.json_schema(mode="serialization")}}
    made["order"] = order_schema()
    made["show"] = _SHOW
    made["calc"] = _CALC
    made |= {"lint": _LINT, "since": _SINCE}
    made |= quote_schemas()
    made |= plan_schemas()
    made |= counter_schemas()
    made["plot"] = picture_schema()
    made["sheet"] = SHEET_SCHEMA
    for schema in made.values():
        schema.setdefault("$schema", "https://json-schema.org/draft/2020-12/schema")
    return made


def _with_own_parts(entries: dict[str, dict[str, Any]]) -> None:
    """Let a build carry cards of parts: they are read apart from it."""
    build, part = entries["build"], entries["part"]
    build["$defs"] = {**part.get("$defs", {}), **build.get("$defs", {})}
    build["properties"]["parts"] = {
        "description": "cards of parts that the build brings itself, for it alone",
        "examples": [[{"part": "boot-rod", "name": "Rod from the boot", "fills": "rod"}]],
        "type": "array",
        "items": {key: value for key, value in part.items() if key != "$defs"},
    }


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
