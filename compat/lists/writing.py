"""A list into the files of a shop: entries as a person writes them, edits by their letters, all or nothing."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from pathlib import Path
from typing import Any

from compat.lists.comparing import OFFERED, Bringing, Gone, Restated
from compat.lists.memory import FOLDER, remembering
from compat.lists.wanted import Wanted
from compat.shop.entry_lines import as_lines
from compat.shop.models import Part, Supplier
from compat.shop.reading import MODELS, split, validate
from compat.shop.rewriting import reworded
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.shop.stating import typed_specs
from compat.shop.together import write_together

__all__ = ["write_bringing"]

MOST_ENTRIES = 1000
"""Parts in a file that lists write; the next go into another."""

Entry = dict[str, Any]
Edits = dict[str, list[Callable[[Entry], None]]]
"""What is done to entries, by id."""


def write_bringing(found: Bringing, shop: Shop, folder: Path, into: str) -> list[str]:
    """Write what comes of a list into the files of a shop.

    Parameters
    ----------
    found : Bringing
        What is new, changed and gone.
    shop : Shop
        The shop, as it was read.
    folder : Path
        Its folder.
    into : str
        File of new parts, by its path from there.

    Returns
    -------
    list of str
        Files that were written.

    Raises
    ------
    Faults
        When an entry cannot be changed, a file was changed meanwhile, or what would be written is faulty;
        nothing is written then.
    """
    writer = _Writer(found, shop, folder)
    writer.edits()
    writer.new(into)
    writer.remember()
    writer.hold()
    texts = {file: _ended(text, file in writer.crlf) for file, text in writer.texts.items()}
    write_together(folder, texts, writer.before)
    return list(texts)


def _ended(text: str, crlf: bool) -> str:
    return text.replace("\n", "\r\n") if crlf else text


class _Writer:
    def __init__(self, found: Bringing, shop: Shop, folder: Path) -> None:
        self.found, self.shop, self.folder = found, shop, folder
        self.texts: dict[str, str] = {}
        self.before: dict[str, bytes | None] = {}
        self.says: dict[str, list[Any]] = {}
        """What each file is to hold, entry by entry."""
        self.crlf: set[str] = set()
        """Files whose lines end as some systems end them; they go on doing so."""

    def read(self, file: str) -> tuple[str, list[Any]]:
        """A file as it is, and what it says."""
        raw = read_bytes(self.folder / file, file)
        self.before[file] = raw
        data = tree_of(raw, file).data
        text = raw.decode("utf-8-sig")
        if "\r\n" in text:
            self.crlf.add(file)
            text = text.replace("\r\n", "\n")
        return text, deepcopy(data if isinstance(data, list) else [data])

    # ---- entries that are there

    def edits(self) -> None:
        parts: Edits = {}
        for change in self.found.changed:
            parts.setdefault(change.part, []).append(_taking(change))
        for gone in self.found.gone:
            parts.setdefault(gone.part, []).append(_withdrawing(gone))
        files: dict[str, dict[str, Edits]] = {}
        for part, doing in parts.items():
            files.setdefault(self.shop.spot("part", part).file, {}).setdefault("part", {})[part] = doing
        if self.found.dated:
            supplier = self.found.supplier
            there = files.setdefault(self.shop.spot("supplier", supplier).file, {})
            there["supplier"] = {supplier: [self.dating]}
        for file, kinds in files.items():
            self.edit(file, kinds)

    def dating(self, entry: Entry) -> None:
        own: Entry = {"date": str(self.found.day)}
        if self.found.expires is not None:
            own["expires"] = str(self.found.expires)
        entry["lists"] = {**(entry.get("lists") or {}), self.found.list: own}

    def edit(self, file: str, kinds: Mapping[str, Edits]) -> None:
        text, entries = self.read(file)
        for kind, edits in kinds.items():
            changes = {}
            for entry in entries:
                name = entry.get(kind) if isinstance(entry, dict) else None
                if name in edits:
                    was = deepcopy(entry)
                    for do in edits[name]:
                        do(entry)
                    changes[name] = (was, entry)
            try:
                text = reworded(text, kind, changes)
            except ValueError as error:
                raise Faults([Fault(Spot(file, 0), f"{error}; change it by hand")]) from None
        self.texts[file], self.says[file] = text, entries

    # ---- new ones

    def new(self, into: str) -> None:
        made: dict[str, Entry] = {}
        for wanted in self.found.new:
            made[wanted.part] = _with(made.get(wanted.part, {"part": wanted.part}), wanted)
        left: Sequence[Entry] = [_in_order(entry) for entry in made.values()]
        number = 1
        while left:
            file = into if number == 1 else f"{into.removesuffix('.yaml')}_{number}.yaml"
            number += 1
            left = self.append(file, left)

    def append(self, file: str, entries: Sequence[Entry]) -> Sequence[Entry]:
        """Put as many at the end of a file as it takes; gives the others."""
        path = self.folder / file
        if file in self.texts:
            text, there = self.texts[file], self.says[file]
        elif path.exists():
            text, there = self.read(file)
            if not _in_lines(text, file):
                told = "is no list of entries, one below the other; name another file by `into` in the mapping"
                raise Faults([Fault(Spot(file, 0), told)])
        else:
            whose = "From a workbook of the shop's own parts"
            if self.found.supplier:
                name = " ".join(self.shop.suppliers[self.found.supplier].name.split())
                whose = f"From the list {self.found.list} of {name}"
            text, there = f"# {whose}.\n", []
            self.before[file] = None
        room = max(MOST_ENTRIES - len(there), 0)
        take, left = entries[:room], entries[room:]
        if take:
            new = "\n".join(as_lines(entry) for entry in take)
            gap = "" if text.endswith("\n\n") else "\n" if text.endswith("\n") else "\n\n"
            self.texts[file] = f"{text}{gap}{new}"
            self.says[file] = [*there, *take]
        return left

    def remember(self) -> None:
        if not self.found.list or not self.found.supplier:
            return
        file = f"{FOLDER}/{self.found.list}.jsonl"
        path = self.folder / file
        before = path.read_bytes() if path.exists() else None
        text = remembering(self.found.remembers)
        if before != text.encode():
            self.texts[file], self.before[file] = text, before

    # ---- what is to be written, held before it is

    def hold(self) -> None:
        """Hold that every file reads as it is to, and that nothing in it is faulty.

        Raises
        ------
        Faults
            When it does not.
        """
        faults: list[Fault] = []
        for file, entries in self.says.items():
            try:
                node = tree_of(self.texts[file].encode(), file)
            except Faults:  # an anchor whose letters are gone, say
                node = Node([], file)
            data = node.data if isinstance(node.data, list) else [node.data]
            if _texts(data) != _texts(entries):
                told = "cannot be changed by its letters, as it uses anchors or the like; change it by hand"
                faults.append(Fault(Spot(file, 0), told))
                continue
            for word, entry in split(node, list(MODELS), faults):
                if word in ("part", "supplier"):
                    self.hold_entry(word, entry, faults)
        if faults:
            raise Faults(faults)

    def hold_entry(self, word: str, node: Node, faults: list[Fault]) -> None:
        thing = validate(MODELS[word], node, faults, word)
        if isinstance(thing, Part):
            typed_specs(self.shop, thing.fills, thing.specs, node.spot_of, ["specs"], thing.basis, faults)
        elif isinstance(thing, Supplier) and thing.supplier not in self.shop.suppliers:
            faults.append(Fault(node.spot, f"supplier '{thing.supplier}' is not known"))


def _in_lines(text: str, file: str) -> bool:
    """Whether a file holds entries one below the other, at the very beginning of their lines."""
    return isinstance(tree_of(text.encode(), file).data, list) and re.search("(?m)^- ", text) is not None


def _texts(data: Any) -> Any:
    """Plain data with every scalar as the text that a file holds."""
    if isinstance(data, Mapping):
        return {key: _texts(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_texts(value) for value in data]
    return None if data is None else str(data)


def _in_order(entry: Entry) -> Entry:
    keys = ("part", "name", "fills", "families", "basis", "specs", "includes", "sold_by", "note")
    return {key: entry[key] for key in keys if key in entry}


def _with(entry: Entry, wanted: Wanted) -> Entry:
    """A new entry with what a row says."""
    for name, value in wanted.says.items():
        if name.startswith("specs."):
            entry.setdefault("specs", {})[name[6:]] = value
        elif name not in OFFERED:
            entry[name] = value
    if wanted.supplier and "price" in wanted.says:
        entry.setdefault("sold_by", []).append(_offer(wanted))
    return entry


def _offer(wanted: Wanted) -> Entry:
    made: Entry = {"supplier": wanted.supplier}
    if wanted.code:
        made["code"] = wanted.code
    for name in OFFERED:
        value = wanted.says.get(name)
        if value is not None and not (name == "pack" and value == "1"):
            made[name] = value
    return made


def _taking(change: Restated) -> Callable[[Entry], None]:
    """What takes a field of a row over into an entry."""

    def take(entry: Entry) -> None:
        name, value = change.field, change.becomes
        if name in OFFERED:
            _take_offer(entry, change.wanted, name, value)
        elif name.startswith("specs."):
            specs = entry["specs"] = entry.get("specs") or {}
            was = specs.get(name[6:])
            if isinstance(was, dict) and "value" in was:
                was["value"] = value
            else:
                specs[name[6:]] = value
        else:
            entry[name] = value

    return take


def _own(offers: Iterable[Any], wanted: Wanted) -> Iterator[Entry]:
    found = [one for one in offers if isinstance(one, dict) and one.get("supplier") == wanted.supplier]
    named = [one for one in found if (one.get("code") or "") == wanted.code]
    yield from named or [one for one in found if not one.get("code")]


def _take_offer(entry: Entry, wanted: Wanted, name: str, value: Any) -> None:
    offers = entry.get("sold_by") or []
    own = next(_own(offers, wanted), None)
    if own is None:
        if "price" in wanted.says:
            entry["sold_by"] = [*offers, _offer(wanted)]
            _drop_withdrawn(entry, wanted)
        return
    if wanted.code and not own.get("code"):
        own["code"] = wanted.code
    own[name] = value


def _drop_withdrawn(entry: Entry, wanted: Wanted) -> None:
    """An offer that is back is no longer one that is gone."""
    gone = entry.get("no_longer_sold_by") or []
    back = list(_own(gone, wanted))
    left = [one for one in gone if one not in back]
    if left:
        entry["no_longer_sold_by"] = left
    else:
        entry.pop("no_longer_sold_by", None)


def _withdrawing(gone: Gone) -> Callable[[Entry], None]:
    def withdraw(entry: Entry) -> None:
        offers = entry.get("sold_by") or []
        own = [
            one
            for one in offers
            if isinstance(one, dict) and (one.get("supplier"), one.get("code")) == (gone.supplier, gone.code)
        ]
        left = [one for one in offers if one not in own]
        if left:
            entry["sold_by"] = left
        else:
            entry.pop("sold_by", None)
        was = [{key: value for key, value in one.items() if key != "list"} for one in own]
        entry["no_longer_sold_by"] = [*(entry.get("no_longer_sold_by") or []), *was]

    return withdraw
