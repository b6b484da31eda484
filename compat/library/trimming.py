"""What the program lends, less what it says of things that the shop at hand does not have."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from compat.rulebook.naming import names_in
from compat.shop.graph import Key
from compat.shop.source import Node

__all__ = ["Has", "is_there", "trimmed"]

Has = Callable[[Key], bool]
"""Whether the shop has something, by kind and name; kinds of labour, gauges and suppliers too."""


def trimmed(kind: str, node: Node, has: Has) -> Node:
    """The entry without what it says of things that are not there; the same node where that is nothing.

    Parameters
    ----------
    kind : str
        Its kind.
    node : Node
        The entry as the program's file has it.
    has : callable
        Whether the shop has something.

    Returns
    -------
    Node
        The entry, standing where it stood.
    """
    data = _TRIM[kind](dict(node.data), has) if kind in _TRIM else node.data
    return node if data == node.data else node.saying(data)


def _keep(data: dict[str, Any], field: str, kind: str, has: Has) -> None:
    """Keep of a list of names those that are there."""
    if isinstance(data.get(field), list):
        data[field] = [name for name in data[field] if has((kind, name))]


def _resolves(text: Any, has: Has) -> bool:
    return text is None or all(has(key) for key in names_in(str(text)))


def _remedies(data: dict[str, Any], has: Has) -> dict[str, Any]:
    """Without remedies that name what is not there; a sentence stays, unless its place is not there."""
    kinds = {"work": "work", "swap": "position", "add": "position", "with": "position"}
    if "remedies" in data:
        data["remedies"] = [
            remedy
            for remedy in data["remedies"]
            if all(has((kinds[word], name)) for word, name in remedy.items() if word in kinds)
        ]
    return data


def _position(data: dict[str, Any], has: Has) -> dict[str, Any]:
    if "counted_by" in data and not has(("spec", data["counted_by"])):
        # what would count it is not there: the variant or the build says how many
        del data["counted_by"]
        data["varies"] = "yes"
    fitting = data.get("fitting")
    if isinstance(fitting, Mapping):
        fitting = dict(fitting)
        for field in ("after", "before", "within"):
            _keep(fitting, field, "position", has)
        tighten = fitting.get("tighten")
        if isinstance(tighten, Mapping):
            tighten = dict(tighten)
            if "each" in tighten and not has(("position", tighten["each"])):
                del tighten["each"]
            if "counted_by" in tighten and not has(("spec", tighten["counted_by"])):
                del tighten["counted_by"]
            fitting["tighten"] = tighten
        data["fitting"] = fitting
    return data


def _joint(data: dict[str, Any], has: Has) -> dict[str, Any]:
    _keep(data, "behind", "position", has)
    _keep(data, "opens", "joint", has)
    renews = []
    for renewal in data.get("renews", ()):
        entry = {"position": renewal} if isinstance(renewal, str) else dict(renewal)
        if not has(("position", entry["position"])):
            continue
        if not _resolves(entry.get("where"), has):
            del entry["where"]  # where nobody can tell whether it is used up, it is renewed
        renews.append(entry)
    if "renews" in data:
        data["renews"] = renews
    return data


def _work(data: dict[str, Any], has: Has) -> dict[str, Any]:
    for field, kind in (
        ("forces", "work"),
        ("after", "work"),
        ("opens", "joint"),
        ("awaits", "position"),
        ("fitted", "position"),
        ("before", "position"),
        ("measures", "spec"),
    ):
        _keep(data, field, kind, has)
    if "changes" in data:
        data["changes"] = [change for change in data["changes"] if has(("spec", change["spec"]))]
    for field in ("offers", "needs"):
        if field in data:
            data[field] = [entry for entry in data[field] if is_there(entry, has)]
    if "done_by" in data and not has(("supplier", data["done_by"])):
        # the program knows nobody's suppliers: a shop says itself who does what, and for how much
        for field in ("done_by", "price", "lead"):
            data.pop(field, None)
    if "labour" in data and not has(("labour", data["labour"])):
        del data["labour"]
    return data


def is_there(entry: Any, has: Has) -> bool:
    """Whether the feature that an offer or need names is there, and its condition can be told."""
    if isinstance(entry, str):
        return has(("feature", entry))
    names = [entry["feature"]] if "feature" in entry else entry.get("any_of", [])
    return all(has(("feature", name)) for name in names) and _resolves(entry.get("when"), has)


def _rule(data: dict[str, Any], has: Has) -> dict[str, Any]:
    if "at" in data and not has(("position", data["at"])):
        del data["at"]
        data.pop("gauge", None)
    if "gauge" in data and not has(("gauge", data["gauge"])):
        del data["gauge"]  # nobody here says what it may be off
    return _remedies(data, has)


_TRIM: Mapping[str, Callable[[dict[str, Any], Has], dict[str, Any]]] = {
    "position": _position,
    "feature": _remedies,
    "joint": _joint,
    "work": _work,
    "rule": _rule,
}
