"""A shop to begin with: one engine whose cards state all that the rules of its sets ask, to be written over.

The placeholder is one of the program's own invented engines, cut down to the sets taken: every number in it
goes with every other, and no rule asks what it does not state.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from compat.library.saying import flow, noted
from compat.library.sets import Entries, lend
from compat.library.sources import demo_folder
from compat.library.start_texts import BUILDS, ENGINE, OWN_RULES, PARTS, SHOP, SUPPLIERS, TEXTS
from compat.library.trimming import is_there
from compat.rulebook.naming import named_by, names_in
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.shop.graph import Key
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.reading import read_entries, split
from compat.shop.source import Fault, Faults, Node, tree_of

__all__ = ["SIZES", "skeleton"]

SIZES = tuple(TEXTS)

VARIANT = "tarn-20-base"
"""The invented engine that stands in for the first one of a shop's own."""

SETUP = {"cylinder_pressure": "75 bar", "boost": "0 kPa", "compression_ratio": "10.0"}
"""What is said of it where the shop works that out nowhere."""

SOLD = {"ring_set": 48, "rod_bearing": 36, "head_gasket": 52}
"""Positions whose placeholder shows how a price is written, with the price in pounds."""


def skeleton(size: str) -> dict[str, str]:
    """The files of a shop of one size, by their names.

    Parameters
    ----------
    size : str
        One of `SIZES`.

    Returns
    -------
    dict
        Texts of YAML files.
    """
    texts = TEXTS[size]
    shop = SHOP.format(uses=_folded(texts.uses), what=texts.what) + texts.later
    rules = OWN_RULES + texts.stated
    writer = _Writer(_entries(shop, CATALOGUE), _entries(rules, RULEBOOK))
    rated = writer.rated()
    return {
        "catalog/shop.yaml": shop,
        "catalog/suppliers.yaml": SUPPLIERS,
        "catalog/engine.yaml": writer.engine(rated),
        **{f"catalog/parts/{name}.yaml": text for name, text in writer.parts()},
        "catalog/builds/as-it-stands.yaml": f"{BUILDS['as-it-stands']}  goal: {flow(rated)}\n",
        "catalog/builds/more-power.yaml": BUILDS["more-power"] + texts.more_power,
        "rules/own.yaml": rules,
    }


def _folded(names: Sequence[str]) -> str:
    """A list of sets on lines of a width that can be read."""
    lines, line = [], "  uses: ["
    for name in names:
        if len(line) + len(name) > 100:
            lines.append(line.rstrip())
            line = "         "
        line += f"{name}, "
    return "\n".join([*lines, line.removesuffix(", ") + "]"])


def _entries(text: str, models: Mapping[str, Any]) -> list[tuple[str, Node]]:
    faults: list[Fault] = []
    tree = tree_of(text.encode(), "start")
    found = split(tree, list(models), faults) if tree.data else []
    if faults:
        raise Faults(faults)
    return found


class _Writer:
    """Writes the placeholder engine for a shop that has some sets and no others."""

    def __init__(self, own: Entries, rules: Entries) -> None:
        self.lent = lend(own, rules, [])
        self.own = [*own, *rules]
        self.demo = _demo()
        self.variant = self.demo["variant", VARIANT].data
        self.words = {
            node.data["position"]: node.data for kind, node in self.lent.catalogue if kind == "position"
        }
        self.more: dict[str, Any] = {}
        for kind, node in own:
            self.more |= node.data["specs"] if kind == "more_specs" else {}
        entries = [*self.lent.catalogue, *self.lent.rules, *own, *rules]
        self.asked = {spec for kind, node in entries for spec in _asked(kind, node.data)}
        self.here: set[Key] = {(kind, str(node.data[kind])) for kind, node in entries}

    def has(self, key: Key) -> bool:
        """Whether the shop has something, by kind and name."""
        if key[0] == "spec":
            position, _, spec = key[1].partition(".")
            return spec in self.words.get(position, {}).get("specs", {})
        return key[0] == "word" or key in self.here

    def rated(self) -> dict[str, Any]:
        """What the engine is rated at."""
        rated = dict(self.variant["rated"])
        if "fuel" not in self.words:
            del rated["fuel"]
        else:
            rated["fuel"] = _id("fuel")
        return rated

    def engine(self, rated: Mapping[str, Any]) -> str:
        """The file of the family and its variant."""
        family = self.demo["family", self.variant["family"]].data
        text = ENGINE.format(
            numbers=flow(family["numbers"]), firing_order=family["firing_order"], rated=flow(rated)
        )
        papers = self.variant.get("stated", {})
        if stated := {name: value for name, value in papers.items() if ("figure", name) in self.here}:
            text += f"  stated: {flow(stated)}   # as the maker's papers say; lint holds it against the parts\n"
        setup = {name: value for name, value in self.variant["setup"].items() if f"setup.{name}" in self.asked}
        setup |= {name: SETUP[name] for name in self.more}
        if setup:
            said = {**self.words["setup"]["specs"], **self.more}
            text += "  setup:\n" + "".join(
                noted(f"    {name}: {flow(value)}", _meaning(said[name])) + "\n"
                for name, value in setup.items()
            )
        counts = {name: number for name, number in self.variant.get("counts", {}).items() if name in self.words}
        if counts:
            text += f"  counts: {flow(counts)}\n"
        lines = [f"    {position}: {_id(place)}\n" for position, place in self.places().items()]
        return text + "  parts:\n" + "".join(lines)

    def places(self) -> dict[str, str]:
        """The positions that the engine fills, each with the first place that its part fills."""
        first: dict[str, str] = {}
        return {
            position: first.setdefault(part, position)
            for position, part in self.variant["parts"].items()
            if position in self.words
        }

    def parts(self) -> Iterator[tuple[str, str]]:
        """The cards of its parts, a text for each set."""
        chosen = {place: self.variant["parts"][place] for place in self.places().values()}
        if "fuel" in self.words:
            chosen["fuel"] = self.variant["rated"]["fuel"]
        files: dict[str, list[str]] = {}
        for place, part in chosen.items():
            files.setdefault(self._file(place), []).append(self.card(place, self.demo["part", part].data))
        for name, cards in files.items():
            title = name.replace("_", " ").capitalize()
            yield name, PARTS.format(title=title) + "\n" + "\n".join(cards)

    def _file(self, place: str) -> str:
        node = next(n for k, n in self.lent.catalogue if k == "position" and n.data["position"] == place)
        return Path(node.file).stem

    def card(self, place: str, part: Mapping[str, Any]) -> str:
        """The card of one part."""
        fills = [part["fills"]] if isinstance(part["fills"], str) else part["fills"]
        fills = [position for position in fills if position in self.words]
        said = {
            spec: kind
            for position in reversed(fills)
            for spec, kind in self.words[position].get("specs", {}).items()
        }
        wanted = {name.partition(".")[2] for name in self.asked if name.partition(".")[0] in fills}
        # the bench sheet prints these, whether a rule asks or not
        wanted |= {spec for spec, kind in said.items() if spec.startswith("tightening_") or "sheet" in kind}
        lines = [
            f"- part: {_id(place)}",
            f"  name: {self.words[place]['name']}",
            f"  fills: {flow(fills) if len(fills) > 1 else fills[0]}",
        ]
        specs = {name: _own(value) for name, value in part.get("specs", {}).items() if name in wanted}
        lines += ["  specs:"] if specs else []
        lines += [noted(f"    {name}: {flow(value)}", _meaning(said[name])) for name, value in specs.items()]
        for field in ("offers", "needs"):
            entries = [entry for entry in part.get(field, ()) if is_there(entry, self.has)]
            lines += [f"  {field}:", *(f"    - {flow(entry)}" for entry in entries)] if entries else []
        if place in SOLD:
            offer = {"supplier": "our-supplier", "code": "YOUR-CODE", "price": f"{SOLD[place]} GBP"}
            lines.append(f"  sold_by: [{flow(offer)}]   # a placeholder, like all else")
        return "\n".join(lines) + "\n"


def _id(place: str) -> str:
    return f"our-{place.replace('_', '-')}"


def _own(value: Any) -> Any:
    """A value as it is where the engine is one's own: names in it are not those of another's engine."""
    return value.replace(VARIANT, "our-engine") if isinstance(value, str) else value


def _meaning(declared: Any) -> str:
    """What a spec means, and with what it is measured, as its declaration says."""
    if isinstance(declared, list):
        return f"one of {', '.join(map(str, declared))}"
    if not isinstance(declared, Mapping):
        return ""
    words = declared.get("one_of")
    said = [str(declared.get("is", "")), f"one of {', '.join(words)}" if words else ""]
    said.append(f"measured with {declared['gauge']}" if "gauge" in declared else "")
    return "; ".join(filter(None, said))


def _asked(kind: str, data: Mapping[str, Any]) -> Iterator[str]:
    """Specs that a rule, figure, position, joint or piece of work looks at."""
    texts: list[Any] = []
    match kind:
        case "rule" | "figure":
            yield from (name for of, name in named_by(kind, data) if of == "spec")
        case "position":
            yield from _counting(data)
        case "joint":
            texts += [
                renewed.get("where") for renewed in data.get("renews", ()) if isinstance(renewed, Mapping)
            ]
        case "work":
            for change in data.get("changes", ()):
                yield change["spec"]
                texts += [change.get("by"), change.get("to")]
            for taken in data.get("takes", {}).values():
                texts += taken.values() if isinstance(taken, Mapping) else ()
    yield from (name for text in texts if text for of, name in names_in(str(text)) if of == "spec")


def _counting(position: Mapping[str, Any]) -> Iterator[str]:
    """Specs by which a position is counted or tightened."""
    if "counted_by" in position:
        yield position["counted_by"]
    if "each_serves" in position:
        yield f"{position['position']}.{position['each_serves']}"
    tighten = position.get("fitting", {}).get("tighten")
    if isinstance(tighten, Mapping) and "counted_by" in tighten:
        yield tighten["counted_by"]


def _demo() -> dict[Key, Node]:
    """The program's own engines and parts, as their files say them."""
    faults: list[Fault] = []
    catalogue = demo_folder() / "catalog"
    found = {
        (kind, str(node.data[kind])): node
        for below in ("families", "parts")
        for kind, node in read_entries(catalogue / below, CATALOGUE, faults)
    }
    if faults:
        raise Faults(faults)
    return found
