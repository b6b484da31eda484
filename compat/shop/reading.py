"""Reading a shop's catalogue: every file, every fault at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from compat.shop import models
from compat.shop.draft import Draft
from compat.shop.entry import NOTHING, Entry
from compat.shop.forms import form, reader
from compat.shop.links import check_links
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, Spot, nearest, read_tree, yaml_files
from compat.shop.stating import typed_setup, typed_specs

__all__ = [
    "MODELS",
    "hold",
    "read_entries",
    "read_shop",
    "shop_of",
    "split",
    "typed_setup",
    "typed_specs",
    "validate",
]

MODELS: dict[str, type[models.Thing]] = {
    model.kind: model
    for model in (
        models.ShopInfo,
        models.Family,
        models.Variant,
        models.Position,
        models.MoreSpecs,
        models.Feature,
        models.Part,
        models.Work,
        models.Joint,
        models.Supplier,
        models.Stock,
        models.Build,
    )
}
"""The kinds of thing a catalogue file may hold, by the word each entry starts with."""


def read_entries(folder: Path, words: Iterable[str], faults: list[Fault]) -> list[tuple[str, Node]]:
    """Give every entry of every file below a folder, with the word that tells its kind."""
    entries: list[tuple[str, Node]] = []
    known = list(words)
    if not folder.is_dir():
        faults.append(Fault(Spot(str(folder), 0), "is not a folder; a shop has a catalog and a rules folder"))
        return entries
    for path in yaml_files(folder):
        shown = f"{folder.name}/{path.relative_to(folder).as_posix()}"
        try:
            entries += split(read_tree(path, shown), known, faults)
        except Faults as found:
            faults += found.faults
    return entries


def split(tree: Node, known: Sequence[str], faults: list[Fault]) -> list[tuple[str, Node]]:
    """Split a file into its entries."""
    nodes = list(tree.children.values()) if isinstance(tree.data, list) else [tree]
    entries: list[tuple[str, Node]] = []
    for node in nodes:
        if not isinstance(node.data, dict) or not node.data:
            faults.append(Fault(node.spot, f"is no entry; each starts with one of: {', '.join(known)}"))
            continue
        first = next(iter(node.data))
        if first not in known:
            faults.append(
                Fault(node.spot, f"starts with '{first}', which is no kind of entry{nearest(first, known)}")
            )
            continue
        if first == "build" and isinstance(node.data.get("parts"), list):
            entries += _own_parts(node, faults) if "part" in known else ()
            node = node.without("parts")
        entries.append((first, node))
    return entries


def _own_parts(build: Node, faults: list[Fault]) -> Iterator[tuple[str, Node]]:
    """The parts that a build carries itself: parts like others, but for this build alone."""
    for part in build.children["parts"].children.values():
        if not isinstance(part.data, dict) or next(iter(part.data), "") != "part":
            faults.append(Fault(part.spot, "is no part; each of a build's own `parts` starts with 'part'"))
        else:
            yield "part", part.with_(only_for=str(build.data["build"]))


def validate(model: type[Any], node: Node, faults: list[Fault], what: str) -> Any | None:
    """Hold an entry against its model; every fault gets the spot of the word it is about."""
    try:
        return reader(model).validate_python(node.data)
    except ValidationError as error:
        problems = error.errors(include_url=False)
        for problem in problems:
            path = [step for step in problem["loc"] if step != "[key]"]
            faults.append(Fault(node.spot_of(path), _say(problem, path, model, what)))
        return _salvage(node, problems, f"unnamed-{len(faults)}") if model is models.Build else None


def _salvage(node: Node, problems: Sequence[Any], name: str) -> models.Build | None:
    """A build without its faulty entries, so that what the others name is still looked up in the same go."""
    faulty = {str(problem["loc"][0]) for problem in problems if problem["loc"]}
    stand_in = {"build": name, "name": name, "goal": {"power": "1 kW", "at": "1000 rpm"}}
    sound = {key: raw for key, raw in node.data.items() if key not in faulty}
    try:
        build: models.Build = reader(models.Build).validate_python({**stand_in, **sound})
        return build
    except ValidationError:
        return None


FORMS = {
    "A-Z": "three capital letters, like GBP",
    r"\.": "position.spec, like piston.mass",
    "_": "lower-case words with underscores",
    "-": "lower-case words with hyphens",
}
"""How an id of each kind is written, by what marks its pattern."""


def _said(raw: object) -> str:
    """What a person gave, in the words of a message."""
    if raw is None:
        return "nothing"
    if isinstance(raw, list | tuple):
        return "a list"
    return "entries" if isinstance(raw, dict) else str(raw)[:60]


def _say(problem: Any, path: Sequence[Any], model: type[Any], what: str) -> str:
    # an entry of a list has no name of its own
    name = next((step for step in reversed(path) if isinstance(step, str)), what)
    field = ".".join(str(step) for step in path)
    said = _said(problem["input"])
    given = f"'{said}'" if isinstance(problem["input"], str) else said
    match problem["type"]:
        case "extra_forbidden":
            return f"'{name}' is not known in a {what}{nearest(name, _known(model, path[:-1]))}"
        case "missing":
            return f"a {what} needs '{field}'"
        case "string_pattern_mismatch":
            pattern = problem["ctx"]["pattern"]
            form = next(says for mark, says in FORMS.items() if mark in pattern)
            return f"{given} is no id of this kind; write {form}"
        case "literal_error":
            choices = str(problem["ctx"]["expected"]).replace("'", "").replace(" or ", ", ").split(", ")
            return f"{given} is not one of {', '.join(choices)}{nearest(said, choices)}"
        case "value_error":
            text = str(problem["ctx"]["error"])
            return text if text.startswith("'") else f"'{name}' {text}"
        case "int_parsing" | "int_type" | "int_parsing_size" | "int_from_float":
            return f"'{field}' wants a whole number, not {given}"
        case "bool_parsing" | "bool_type":
            return f"'{field}' is yes or no, not {given}"
        case "decimal_parsing" | "decimal_type" | "float_parsing" | "float_type":
            return f"'{field}' wants a number, not {given}"
        case "finite_number":
            return f"'{field}' must be a finite number, not {given}"
        case "string_too_short":
            least = problem["ctx"]["min_length"]
            return f"'{field}' is too short: {given} has fewer than {least} characters"
        case "string_too_long":
            most, own = problem["ctx"]["max_length"], len(str(problem["input"]))
            return f"'{field}' is too long: {own} characters; the most is {most}"
        case "greater_than":
            return f"'{field}' must be more than {problem['ctx']['gt']}, not {said}"
        case "greater_than_equal" | "less_than_equal":
            limit = problem.get("ctx", {})
            bound = f"at least {limit['ge']}" if "ge" in limit else f"at most {limit.get('le', '?')}"
            return f"'{field}' must be {bound}, not {said}"
        case "string_type":
            return f"'{field}' wants a word or text"
        case "tuple_type" | "list_type":
            return f"'{field}' wants a list"
        case "dict_type" | "model_type" | "model_attributes_type":
            return f"'{field}' wants entries of the form 'name: value'"
    return f"'{field}' cannot be {given}"


def _known(model: type[Any], path: Sequence[Any]) -> list[str]:
    """Names that may stand where the path leads: those of the innermost entry on it."""
    known: type[Entry] | None = model
    for step in path:
        if isinstance(step, int) or known is None:
            continue
        info = form(known).model_fields.get(step)
        inner = [info.annotation] if info else []
        known = None
        while inner:
            kind = inner.pop()
            if isinstance(kind, type) and issubclass(kind, Entry):
                known = kind
                break
            inner += list(get_args(kind))
    fields = form(known).model_fields if known is not None else {}
    return [info.alias or name for name, info in fields.items()]


def read_shop(folder: Path, faults: list[Fault]) -> Shop:
    """Read a whole catalogue.

    Parameters
    ----------
    folder : Path
        The catalogue folder.
    faults : list of Fault
        Gets everything wrong in any file.

    Returns
    -------
    Shop
        Everything in it, linked and typed; what is faulty is left out. Its builds are held against it by
        `compat.shop.builds.check_builds`.
    """
    return shop_of(read_entries(folder, MODELS, faults), faults)


def shop_of(
    entries: Iterable[tuple[str, Node]], faults: list[Fault], beyond: Mapping[str, tuple[str, ...]] = NOTHING
) -> Shop:
    """The shop of entries that were read, as `read_shop` gives it.

    Parameters
    ----------
    entries : iterable
        Entries with their kinds.
    faults : list of Fault
        Has what was wrong with the files, and gets what is wrong with the entries.
    beyond : mapping
        Rules that it cannot judge, with the sets that they look into.

    Returns
    -------
    Shop
        Everything in them.
    """
    draft = Draft(beyond=beyond)
    for word, node in entries:
        draft.take(word, validate(MODELS[word], node, faults, word), node, faults)
    if not any(fault.unread for fault in faults):
        hold(draft, faults)
    return draft.shop()


def hold(draft: Draft, faults: list[Fault]) -> None:
    """Hold what was read against itself: statements against declarations, ids against what there is."""
    _type_specs(draft, faults)
    check_links(draft, faults)


def _type_specs(draft: Draft, faults: list[Fault]) -> None:
    for name, part in draft.parts.items():
        node = draft.nodes["part", name]
        typed = typed_specs(draft, part.fills, part.specs, node.spot_of, ["specs"], part.basis, faults)
        draft.parts[name] = replace(part, specs=typed)
        draft.specs[name] = typed
    for variant in draft.tables["variant"].values():
        node = draft.nodes["variant", variant.variant]
        draft.setups[variant.variant] = typed_setup(draft, variant.setup, node.spot_of, faults)
