"""The published schemas of what is printed as JSON at the counter, of a list that is brought, and by `tidy`."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from compat.planning.comparing import Side
from compat.planning.fitting import FITS, Candidate
from compat.planning.history import Stands
from compat.rulebook.models import VERDICTS
from compat.trade.filed import Filed, Holds
from compat.trade.wares import Ware

__all__ = ["counter_schemas"]

Schema = dict[str, Any]
TEXT: Schema = {"type": "string"}
COUNT: Schema = {"type": "integer", "minimum": 0}
FLAG: Schema = {"type": "boolean"}
DAY: Schema = {"type": "string", "format": "date"}

SAYS: dict[str, tuple[str, Any]] = {
    "part": ("id of the part", "sf-rod-1480-h-21"),
    "name": ("as people call it", "Stennick H-section rod 148.0"),
    "position": ("id of the position", "rod"),
    "build": ("id of the build or variant", "street-turbo"),
    "variant": ("id of the variant that the build starts from", "tarn-20-turbo"),
    "rule": ("id of the rule", "rod-bolt-load"),
    "title": ("what the rule is called", "Rod bolts at the rev limit"),
    "verdict": (f"the worst that was found, of {', '.join(VERDICTS)}", "ok"),
    "because": ("why, in a sentence", "headroom -3%, 10% asked"),
    "currency": ("the currency of every price; empty where the shop states none", "GBP"),
    "supplier": ("id of who sells it; empty where nobody does", "northgate"),
    "code": ("what the supplier calls it", "SF1480H-21"),
    "days": ("days until it is in, or handed over; null where nobody says", 21),
    "price": ("price of one piece as a decimal string; null where nobody sells it", "172.50"),
    "on": ("the day of it", "2026-11-30"),
    "customer": ("who it is for; empty where nobody is named", "A. Fenwright"),
    "total": ("with tax, a decimal string; null where it cannot be priced", "23769.76"),
    "parts": ("parts, in the order that was asked for", []),
    "builds": ("builds, in the order of their files", []),
    "quotes": ("kept quotes", []),
    # parts that are found
    "find.read_as": ("how the words were read, clause by clause", ["position piston", "bore_size 86 mm"]),
    "find.slips": ("words that were taken for others", [{"typed": "pistn", "taken_for": "piston"}]),
    "find.unknown": ("words that stand nowhere in the shop", ["xyzzy"]),
    "find.count": ("how many parts there are; of these the first are told", 14),
    "find.more": (
        "whether there are at least so many: what nearly every part has is not counted to the end",
        False,
    ),
    "find.tried": ("how many were tried on the build; 0 where none was named", 0),
    "Slip.typed": ("the word as it was typed", "pistn"),
    "Slip.taken_for": ("the word that it was taken for", "piston"),
    "Hit.ware": ("what it costs and where it is", {}),
    "Hit.fit": ("how it goes into the build; null where none was named", None),
    "Ware.fills": ("positions that it goes into", ["rod"]),
    "Ware.families": ("engines that it is made for; none: any", ["tarn"]),
    "Ware.new": ("new pieces on the shelf", 4),
    "Ware.used": ("used pieces on the shelf", 0),
    "Ware.pack": ("pieces in a pack, which is sold whole", 4),
    "Ware.expired": ("last day on which the price held, where it is gone by; else null", None),
    "Candidate.way": (f"how it goes in, of {', '.join(FITS)}", "directly"),
    "Candidate.stands": ("whether it is what the build has there", False),
    "Candidate.beside": ("what it forces", []),
    "Candidate.against": ("rules that speak against it", []),
    "Candidate.unknown": ("rules that cannot be decided with it", []),
    "Candidate.clears": ("rules that stand against the build as it is, and no longer with it", []),
    "Candidate.headroom": (
        "the least of all load rules of the position, a part of one; null: none looks",
        "0.12",
    ),
    "Beside.id": ("id of a part or of work", "calibrate"),
    "Beside.position": ("where the part goes; empty for work", "injector_seal"),
    "Beside.count": ("how many", 4),
    "Beside.values": ("sizes that the work takes, as they are written", [["depth", "0.10 mm"]]),
    # builds and quotes
    "Listed.goal": ("power and its speed", "180 kW at 5800 rpm"),
    "Listed.quoted": ("its last kept quote; null where none is kept", None),
    "Listed.side": ("verdict and price of today, where --priced asked for them; else null", None),
    "Side.counts": ("findings by verdict", {"caution": 12, "measure": 4}),
    "Side.proven": ("whether nothing is unknown", True),
    "Side.hours": ("of all work, a decimal string", "41.5"),
    "Side.net": ("before tax, a decimal string; null where it cannot be priced", "19808.13"),
    "Side.unpriced": ("why it has no price", []),
    "Filed.number": ("number of the quote", "PB-Q-2026-0001"),
    "Filed.currency": ("currency of the total", "GBP"),
    "Filed.valid_until": ("last day on which it holds", "2026-12-30"),
    "quotes.faults": ("quotes that cannot be read, each with its file", []),
    # where a part stands
    "history.ware": ("what it costs and where it is", {}),
    "history.factory": ("variants that left the factory with it", ["tarn-20-turbo"]),
    "Stands.how": ("chosen, of a sister variant, out of a box, the engine's own, or in which option", "chosen"),
    "Holds.quote": ("the quote", {}),
    "Holds.positions": ("positions of the build where it stands", ["rod"]),
    "Holds.quantity": ("how many are charged, a decimal string; null where it stays and costs nothing", "4"),
    "Holds.unit_price": ("what one was charged at, a decimal string", "172.50"),
    # what to measure
    "needs.specs": ("specs that rules ask of a part there, the most telling first", []),
    "Spec.spec": ("name of the spec", "centre_length"),
    "Spec.wanted": ("what may be written for it", "a quantity in mm"),
    "Spec.is": ("what it is; empty where its name says it", "from centre to centre of the bores"),
    "Spec.gauge": ("what it is measured with; empty where nothing is said", "bore gauge"),
    "Spec.rules": ("rules that hang on it", ["deck-clearance"]),
    # keys in order
    "tidy.not_in_order": ("files whose keys were not in order", ["catalog/parts/rods.yaml"]),
    "tidy.written": ("whether they were put in order", True),
    # a supplier's list
    "bring.list": ("name of the list; empty for a workbook of the shop's own", "northgate-rods"),
    "bring.file": ("the file", "northgate.csv"),
    "bring.date": ("day of the list; null where none is said", "2026-11-30"),
    "bring.expires": ("last day on which its prices hold; null where none is said", "2027-06-30"),
    "bring.new": ("parts that the shop does not have, each with all that it is to say", []),
    "bring.changed": ("what the list says otherwise", []),
    "bring.no_longer_listed": ("parts that an earlier list had", []),
    "bring.kept": ("the shop's own edits that stay, and what the list says instead", []),
    "bring.as_they_are": ("how many parts are as they were", 124),
    "bring.not_read": ("cells that cannot be read; their rows bring nothing", []),
    "bring.told_beside": ("what was left out or made out", []),
    "bring.written": ("files that were written; null where only looked", ["catalog/parts/northgate_rods.yaml"]),
    "Changed.field": ("what of it: name, price, or a spec as `specs.mass`", "price"),
    "Changed.from": ("what the shop says; null: nothing", "690.00 GBP"),
    "Changed.to": ("what the list says; null: nothing", "712.00 GBP"),
    "Gone.price": ("what it was sold for", "690.00 GBP"),
    "Cell.where": ("file, sheet, row and column", "northgate.csv:5:3"),
    "Cell.column": ("heading of the column", "C-C"),
    "Cell.says": ("what stands there", "152,OO"),
    "Cell.why": ("why it is not read", "'152,OO' is no quantity"),
    "Aside.what": ("what was left or made out", "rows are hidden and left"),
    "Aside.count": ("how many; 0 where it is not counted", 3),
    "Aside.where": ("where; empty where it is the whole list", "Rods"),
}
"""What a field means and an example of it, by the name of what holds it, or for all that have it."""


def counter_schemas() -> dict[str, Schema]:
    """Give the schemas by the name of their file.

    Returns
    -------
    dict
        ``find``, ``parts``, ``builds``, ``quotes``, ``history``, ``needs``, ``tidy`` and ``bring``; money is
        decimal strings, days are as ISO 8601 has them.
    """
    made = {
        "find": _object(
            {
                "read_as": _list(TEXT),
                "slips": _list(_object({"typed": TEXT, "taken_for": TEXT}, "Slip")),
                "unknown": _list(TEXT),
                "count": COUNT,
                "more": FLAG,
                "tried": COUNT,
                "currency": TEXT,
                "parts": _list(_object({"ware": _ref("Ware"), "fit": _or_null(_ref("Candidate"))}, "Hit")),
            }
        ),
        "parts": _object({"position": TEXT, "currency": TEXT, "parts": _list(_ref("Ware"))}),
        "builds": _object({"currency": TEXT, "builds": _list(_listed())}),
        "quotes": _object({"quotes": _list(_ref("Filed")), "faults": _list(TEXT)}),
        "history": _object(
            {
                "ware": _ref("Ware"),
                "builds": _list(_ref("Stands")),
                "quotes": _list(_ref("Holds")),
                "factory": _list(TEXT),
            }
        ),
        "needs": _object({"position": TEXT, "specs": _list(_asked())}),
        "tidy": _object({"not_in_order": _list(TEXT), "written": FLAG}),
        "bring": _brought(),
    }
    for name, schema in made.items():
        schema |= {"title": name, "description": f"What `compat {name} --json` prints.", "$defs": _defs(schema)}
        _tell(schema)
    return made


def _tell(schema: Any) -> None:
    """Say of every object what each of its fields is, and that it has no others."""
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        _tell(inner)
    if isinstance(schema, dict) and isinstance(schema.get("properties"), dict):
        schema.setdefault("additionalProperties", False)
        for field, kind in schema["properties"].items():
            meaning, example = SAYS.get(f"{schema['title']}.{field}") or SAYS[field]
            kind["description"] = meaning
            if example not in ({}, []):
                kind["examples"] = [example]


def _object(properties: dict[str, Schema], title: str = "") -> Schema:
    return {
        "title": title,
        "type": "object",
        "required": list(properties),
        "properties": {name: dict(kind) for name, kind in properties.items()},
    }


def _list(of: Schema) -> Schema:
    return {"type": "array", "items": of}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _or_null(kind: Schema) -> Schema:
    return {"anyOf": [kind, {"type": "null"}]}


def _listed() -> Schema:
    told = dict.fromkeys(("build", "name", "customer", "variant", "goal"), TEXT)
    return _object({**told, "quoted": _or_null(_ref("Filed")), "side": _or_null(_ref("Side"))}, "Listed")


def _asked() -> Schema:
    told = dict.fromkeys(("spec", "wanted", "is", "gauge"), TEXT)
    return _object({**told, "rules": _list(TEXT)}, "Spec")


def _brought() -> Schema:
    value: Schema = {"anyOf": [TEXT, _list({"anyOf": [TEXT, {"type": "object"}]}), {"type": "null"}]}
    new = {**_object({"part": TEXT, "code": TEXT}, "New"), "additionalProperties": value}
    changed = _object({"part": TEXT, "field": TEXT, "from": value, "to": value, "code": TEXT}, "Changed")
    cell = _object(dict.fromkeys(("where", "column", "says", "why", "code"), TEXT), "Cell")
    return _object(
        {
            "list": TEXT,
            "supplier": TEXT,
            "file": TEXT,
            "date": _or_null(DAY),
            "expires": _or_null(DAY),
            "new": _list(new),
            "changed": _list(changed),
            "no_longer_listed": _list(_object(dict.fromkeys(("part", "code", "price"), TEXT), "Gone")),
            "kept": _list(changed),
            "as_they_are": COUNT,
            "not_read": _list(cell),
            "told_beside": _list(_object({"what": TEXT, "count": COUNT, "where": TEXT}, "Aside")),
            "written": _or_null(_list(TEXT)),
        }
    )


def _defs(schema: Schema) -> dict[str, Schema]:
    """What a schema refers to, and what that refers to."""
    found: dict[str, Schema] = {}
    for kind in (Ware, Candidate, Filed, Side, Stands, Holds):
        if f"#/$defs/{kind.__name__}" in str(schema):
            own = TypeAdapter[Any](kind).json_schema(mode="serialization")
            found |= own.pop("$defs", {})
            found[kind.__name__] = own
    return found
