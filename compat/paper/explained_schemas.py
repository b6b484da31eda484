"""What an editor is told of every field: what it means, an example, and the ids that a shop has for it."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from functools import cache, lru_cache, partial
from typing import TYPE_CHECKING, Any

from compat.library.sources import demo_folder, look
from compat.paper.list_schema import EXAMPLE
from compat.paper.meanings import EVERYWHERE, EXAMPLES, MEANINGS
from compat.shop.entry import Entry
from compat.shop.source import read_tree

if TYPE_CHECKING:
    from compat.library.library import Library

__all__ = ["described", "enumerated", "ids_of"]

MOST = 20_000
"""So many ids are listed at most: beyond, an editor grows slow."""

LONG = 160
"""An example is no longer than that."""


def _classes(of: type[Entry] = Entry) -> Iterator[type[Entry]]:
    for sub in of.__subclasses__():
        yield sub
        yield from _classes(sub)


@lru_cache(maxsize=1)
def _meanings() -> Mapping[str, str]:
    """What every field means, by class and the name that files use."""
    found: dict[str, str] = {}
    for one in dict.fromkeys(_classes()):
        own = _docstrings(one)
        for field in fields(one):
            key = f"{one.__name__}.{field.name}"
            said = own.get(field.name) or MEANINGS.get(key) or EVERYWHERE.get(field.name, "")
            found[f"{one.__name__}.{field.metadata.get('written', field.name)}"] = said
    return found


def _docstrings(of: type[Entry]) -> dict[str, str]:
    """What stands below the fields of a class."""
    (tree,) = ast.parse(inspect.getsource(of)).body
    assert isinstance(tree, ast.ClassDef)
    found = {}
    for line, below in zip(tree.body, tree.body[1:], strict=False):
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
            match below:
                case ast.Expr(value=ast.Constant(value=str(text))):
                    found[line.target.id] = " ".join(text.split()).rstrip(".")
    return found


Schema = dict[str, Any]


def _objects(schema: Schema) -> Iterator[tuple[str, Schema]]:
    """Every object that a schema describes, with the name of its class."""
    for name, inner in (*schema.get("$defs", {}).items(), (schema.get("title", ""), schema)):
        if "properties" in inner:
            yield name, inner


def described(schemas: Mapping[str, Schema]) -> None:
    """Give every field of every kind of entry its meaning and an example.

    Parameters
    ----------
    schemas : mapping
        Schemas of entries by their kind; they are changed.
    """
    examples = _examples(schemas)
    for schema in schemas.values():
        for name, inner in _objects(schema):
            for field, said in inner["properties"].items():
                key = f"{name}.{field}"
                meaning = _meanings().get(key, "")
                if meaning:
                    said["description"] = "; ".join(filter(None, (meaning, said.get("description", ""))))
                example = EXAMPLES.get(key, examples.get(key))
                if example is not None and "examples" not in said:
                    said["examples"] = [example]


def _examples(schemas: Mapping[str, Schema]) -> dict[str, Any]:
    """The first value of every field that the demo's own files have, short ones before long ones."""
    found: dict[str, Any] = {}
    for _, path in look(demo_folder()):
        data = read_tree(path, "").data
        for entry in data if isinstance(data, list) else [data]:
            kind = next(iter(entry))
            if kind in schemas:
                _walk(schemas[kind], schemas[kind], entry, found)
    if "list" in schemas:
        _walk(schemas["list"], schemas["list"], EXAMPLE, found)
    return found


def _walk(schema: Schema, root: Schema, data: Any, found: dict[str, Any]) -> None:
    schema, name = _resolved(schema, root)
    for choice in (*schema.get("anyOf", ()), *schema.get("oneOf", ())):
        _walk(choice, root, data, found)
    if isinstance(data, dict):
        known = schema.get("properties", {})
        for field, value in data.items():
            if field in known:
                before = found.get(f"{name}.{field}")
                if len(str(value)) <= LONG and (before is None or len(str(before)) < len(str(value)) < 60):
                    found[f"{name}.{field}"] = value
                _walk(known[field], root, value, found)
            elif isinstance(schema.get("additionalProperties"), dict):
                _walk(schema["additionalProperties"], root, value, found)
            for inner in schema.get("patternProperties", {}).values():
                _walk(inner, root, value, found)
    elif isinstance(data, list) and isinstance(schema.get("items"), dict):
        for value in data:
            _walk(schema["items"], root, value, found)


def _resolved(schema: Schema, root: Schema) -> tuple[Schema, str]:
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return root["$defs"][name], name
    return schema, schema.get("title", "")


def ids_of(library: Library, kind: str) -> list[str]:
    """What a shop has of a kind: things, specs by name or with their position, fuels."""
    shop = library.shop
    match kind:
        case "rule":
            return [*library.book.rules, *shop.info.leave_out] if shop.info else [*library.book.rules]
        case "figure":
            return [*library.book.figures]
        case "fuel":
            return [*shop.fillers.get("fuel", ())]
        case "setup":
            return [*shop.kinds.get("setup", {})]
        case "gauged":
            return [f"{p}.{s}" for p, kinds in shop.kinds.items() for s, said in kinds.items() if said.gauge]
        case "spec":
            return [*dict.fromkeys(name for kinds in shop.kinds.values() for name in kinds)]
        case "position.spec":
            return [f"{position}.{name}" for position, kinds in shop.kinds.items() for name in kinds]
    return [*shop.of_kind(kind)]


REFERS = {
    "Build.variant": "variant", "Build.fit": "position:part", "Build.leave_out": "position:",
    "Build.fits_because": "position:", "Build.brought": "position:", "Build.counts": "position:",
    "Build.setup": "setup:", "Variant.setup": "setup:", "Option.setup": "setup:",
    "Variant.family": "family", "Variant.parts": "position:part", "Variant.counts": "position:",
    "Option.fit": "position:part", "Option.leave_out": "position:", "Option.counts": "position:",
    "TakeFrom.variant": "variant", "TakeFrom.positions": "position", "WorkDone.work": "work",
    "Goal.fuel": "fuel", "Stock.stock": "part", "Part.fills": "position", "Part.families": "family",
    "Part.includes": "part", "Part.never_with": "part", "Part.only_for": "build", "Part.specs": "spec:",
    "Price.supplier": "supplier", "Margin.position": "position", "Margin.supplier": "supplier",
    "Offer.feature": "feature", "Need.feature": "feature", "Need.any_of": "feature", "Work.on": "position",
    "Work.forces": "work", "Work.after": "work", "Work.opens": "joint", "Work.awaits": "position",
    "Work.fitted": "position", "Work.before": "position", "SpecChange.spec": "position.spec",
    "Joint.behind": "position",
    "Joint.opens": "joint", "Renewal.position": "position", "MoreSpecs.more_specs": "position",
    "NeedOf.feature": "feature", "NeedOf.work": "work", "NeedOf.position": "position", "Rule.renew": "joint",
    "Rule.at": "position", "Rule.instead_of": "rule", "Figure.instead_of": "figure", "Work.instead_of": "work",
    "ShopInfo.leave_out": "rule:", "Build.measured": "gauged:", "Build.selected": "position:",
    "Fitting.after": "position", "Fitting.before": "position", "Fitting.within": "position",
    "Tightening.each": "position", "ListMap.supplier": "supplier", "Table.families": "family",
    "Table.includes": "part", "Table.specs": "spec:", "Sizes.adds": "spec:", "Sizes.states": "spec",
    "Fills.is": "position", "Fills.words": "position",
}  # fmt: skip
"""What a field names, by class and field; before a colon what its keys do, behind it what its values do."""


def meaning_of(library: Library, kind: str, word: str) -> str:
    """What a word of a shop means that stands as a key; empty where the shop does not say."""
    shop = library.shop
    match kind:
        case "position":
            return shop.positions[word].name
        case "setup":
            return shop.kinds["setup"][word].meaning
        case "rule":
            return library.book.rules[word].rule.title if word in library.book.rules else ""
        case "gauged":
            position, _, spec = word.partition(".")
            return f"{shop.positions[position].name}: {spec.replace('_', ' ')}"
        case "spec":
            said = {place: kinds[word].meaning for place, kinds in shop.kinds.items() if word in kinds}
            if len({*said.values()}) == 1:
                return next(iter(said.values()))
            return "; ".join(f"{place}: {meaning}" for place, meaning in said.items() if meaning)
    return ""


def enumerated(schemas: Mapping[str, Schema], library: Library) -> None:
    """Offer the ids of a shop wherever a field names one; others are not refused, as they may come next.

    Parameters
    ----------
    schemas : mapping
        Schemas of entries by their kind; they are changed.
    library : Library
        The shop.
    """
    ids = cache(partial(ids_of, library))
    places = [position for position in ids("position") if position != "setup"]  # which holds no part
    for schema in schemas.values():
        for name, inner in _objects(schema):
            for field, said in inner["properties"].items():
                keys, colon, values = REFERS.get(f"{name}.{field}", "").rpartition(":")
                if values:
                    inner["properties"][field] = said = _offering(said, ids(values)[:MOST])
                if colon:
                    words = places if keys == "position" else ids(keys)
                    told = {word: meaning_of(library, keys, word) for word in words[:MOST]}
                    _keyed(said, told, library.shop.fillers if values == "part" else {})


def _offering(schema: Schema, words: list[str]) -> Schema:
    """The same schema with words to choose from, wherever it has a text."""
    if not words:
        return schema
    made = dict(schema)
    for field in ("anyOf", "oneOf"):
        if field in made:
            made[field] = [_offering(each, words) for each in made[field]]
    for field in ("items", "additionalProperties"):
        if isinstance(made.get(field), dict):
            made[field] = _offering(made[field], words)
    if "patternProperties" in made:
        made["patternProperties"] = {k: _offering(v, words) for k, v in made["patternProperties"].items()}
    kinds = made.get("type", ())
    if ("string" in kinds or kinds == "string") and not {"enum", "const"} & made.keys():
        told: Schema = {
            key: made.pop(key) for key in ("description", "examples", "default", "title") if key in made
        }
        return {**told, "anyOf": [{"enum": words}, made]}
    return made


def _keyed(schema: Schema, words: Mapping[str, str], fillers: Mapping[str, Sequence[str]]) -> None:
    """Offer words for the keys of a mapping, each with what it means; for a position what fills it."""
    for each in (schema, *schema.get("anyOf", ())):
        if each.get("type") == "object":
            value = next(iter(each.get("patternProperties", {}).values()), each.get("additionalProperties", {}))
            each["properties"] = {word: _said(value, meaning, fillers.get(word, ()))
                                  for word, meaning in words.items()}  # fmt: skip


def _said(value: Any, meaning: str, fillers: Sequence[str]) -> Schema:
    """What a key holds: a part that fills it rather than any, and what it means."""
    made = dict(value) if isinstance(value, dict) else {}
    match made:
        case {"anyOf": [{"enum": [*_]}, other]} if fillers:
            made["anyOf"] = [{"enum": list(fillers[:MOST])}, other]
    return {**made, "description": meaning} if meaning and "$ref" not in made else made
