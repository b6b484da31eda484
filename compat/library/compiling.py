"""From files to rows: what changed is read and held against the rest, and nothing else is.

Every fault is found that reading all files would find, because what is not read again was without fault, and
nothing that it names has changed. What a file names, and what others may ask of its things, stands in a
record of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from compat.library import sources
from compat.library.layered import LayeredDraft
from compat.library.records import Record, face_of, moved, refers_to
from compat.library.rows import Index, book_rows, part_rows, shop_rows, spots_row
from compat.library.sources import Source, digest_of
from compat.library.store import Store
from compat.rulebook.context import Context
from compat.rulebook.reading import MODELS as RULES
from compat.rulebook.reading import bind
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.shop_reading import ShopReader
from compat.shop.builds import check_builds
from compat.shop.graph import Key
from compat.shop.models import Thing
from compat.shop.reading import MODELS, hold, split, validate
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.units import unit
from compat.units.unit import UnitFault

__all__ = ["Base", "Compiler", "base_of"]


@dataclass(frozen=True)
class Base:
    """What a store holds of a shop that was read before, without fault."""

    shop: Shop
    book: Rulebook
    stamps: Mapping[str, Source]
    records: Mapping[str, Record]


def base_of(store: Store, shop: Shop, book: Rulebook, stamps: Mapping[str, Source]) -> Base:
    """Gather what the compiler starts from."""
    records = {key.partition(":")[2]: Record.of_card(raw) for key, raw in store.under("record:")}
    return Base(shop, book, stamps, records)


@dataclass
class _File:
    """A file that is read again."""

    source: Source
    entries: list[tuple[str, Node]] = field(default_factory=list)
    things: list[Thing | None] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def names(self) -> dict[Key, Any]:
        """What it holds: each thing by kind and id, with its face; the first of two of one name."""
        found: dict[Key, Any] = {}
        for (word, node), thing in zip(self.entries, self.things, strict=True):
            name = node.data.get(word)
            if isinstance(name, str):
                face = _figure_face(node) if word == "figure" else face_of(thing)
                found.setdefault((word, name), "" if word == "rule" else face)
        return found


def _figure_face(node: Node) -> str:
    text = node.data.get("unit")
    try:
        return str(unit("" if text == "number" else text).dimension) if isinstance(text, str) else "?"
    except UnitFault:
        return "?"


class Compiler:
    """Reads what changed in a shop, and gives the rows that change with it.

    Parameters
    ----------
    folder : Path
        The shop.
    found : mapping
        Its files as they stand.
    base : Base, optional
        What was read before; else every file is read.
    """

    def __init__(self, folder: Path, found: Mapping[str, Source], base: Base | None) -> None:
        self.folder = folder
        self.found = found
        self.base = base
        self.ranks = {path: rank for rank, path in enumerate(found)}
        self.files: dict[str, _File] = {}
        """Files that are read again."""
        self.gone: set[str] = set()
        self.stamps: dict[str, Source] = {}
        self.faults: list[Fault] = []
        self.rules = False
        """Whether the rulebook is read again."""
        self.wide = False
        """Whether everything but parts is read again."""

    # which files

    def choose(self) -> None:
        """Read what changed, and what names or is named by what changed, until nothing more is touched."""
        before = self.base.records if self.base else {}
        wanted = {path for path in self.found if not self._kept(path)}
        self.gone = set(before) - set(self.found)
        while True:
            for path in wanted - set(self.files):
                self.files[path] = self._read(path)
            more = self._touched(self.gone) - wanted
            if not more:
                break
            wanted |= more
        self.files = {path: self.files[path] for path in self.found if path in self.files}

    def _kept(self, path: str) -> bool:
        then = self.base.stamps.get(path) if self.base else None
        if then is None or self.base is None or path not in self.base.records:
            return False
        now = self.found[path]
        if not sources.same(now, then, self.folder):
            # touched, and perhaps no more than that
            try:
                read, raw = sources.now(), read_bytes(self.folder / path, path)
            except Faults:
                return False
            if digest_of(raw) != then.digest:
                return False
            then = replace(now, digest=then.digest, read=read)
        self.stamps[path] = then
        return True

    def _read(self, path: str) -> _File:
        catalog = path.startswith("catalog/")
        read = sources.now()
        file = _File(replace(self.found[path], read=read))
        try:
            raw = read_bytes(self.folder / path, path)
            file.source = replace(file.source, digest=digest_of(raw))
            file.entries = split(tree_of(raw, path), list(MODELS if catalog else RULES), file.faults)
        except Faults as faults:
            file.faults += faults.faults
        self.stamps[path] = file.source
        if catalog:
            file.things = [validate(MODELS[word], node, file.faults, word) for word, node in file.entries]
        else:
            file.things = [None] * len(file.entries)
        return file

    def _touched(self, gone: set[str]) -> set[str]:
        if self.base is None:
            return set()
        before = self.base.records
        rest = {path: before[path] for path in before if path in self.found and path not in self.files}
        old: dict[Key, Any] = {}
        for path in (*self.files, *gone):
            old |= before[path].things if path in before else {}
        new: dict[Key, Any] = {}
        for file in self.files.values():
            new |= file.names()
        changed = moved(old, new)
        touched = {
            path
            for path, record in rest.items()
            if not record.refers.isdisjoint(changed) or not record.things.keys().isdisjoint(new)
        }
        if any(path.startswith("rules/") for path in (*self.files, *gone)) or self._words_changed(old, new):
            self.rules = True
            touched |= {path for path in rest if path.startswith("rules/")}
        kinds = {kind for kind, _ in (*old, *new)} - {"part", "rule", "figure"}
        if kinds or self.rules:
            self.wide = True
            touched |= {path for path in rest if path.startswith("catalog/") and rest[path].mixed}
        return touched & set(self.found)

    @staticmethod
    def _words_changed(old: Mapping[Key, Any], new: Mapping[Key, Any]) -> bool:
        """Whether what rules may name has changed: positions and their specs, features, work, joints."""
        words = ("position", "feature", "work", "joint")
        left, right = (
            {key: "" if key[0] == "work" else face for key, face in side.items() if key[0] in words}
            for side in (old, new)
        )
        return left != right

    # holding them against the rest

    def hold(self) -> None:
        """Hold what was read against the rest of the shop.

        Raises
        ------
        Faults
            With every fault of the shop.
        """
        base = self.base
        if base is None:
            self.rules = self.wide = True
        others = [
            (self.ranks[path], record)
            for path, record in (base.records if base else {}).items()
            if path not in self.files and path in self.found and path.startswith("catalog/")
        ]
        draft = LayeredDraft(others, base.shop if base else None)
        draft.ranks = self.ranks
        if base is not None and not self.wide:
            draft.kinds = {position: dict(kinds) for position, kinds in base.shop.kinds.items()}
        catalog = [file for path, file in self.files.items() if path.startswith("catalog/")]
        for file in catalog:
            self.faults += file.faults
            for (word, node), thing in zip(file.entries, file.things, strict=True):
                draft.take(word, thing, node, self.faults)
        self.draft = draft
        unread = any(fault.unread for fault in self.faults)
        if not unread:
            hold(draft, self.faults)
        self.shop = draft.shop()
        if not draft.nodes and not self.faults:
            raise Faults([Fault(Spot(str(self.folder / "catalog"), 0), "holds no entry in any .yaml file")])
        if not unread:
            check_builds(self.shop, self.faults)
        self._bind()
        variants = self.shop.variants or (base.shop.variants if base and not self.wide else {})
        if not variants and not self.faults:
            message = "holds no variant; a build has nothing to start from"
            self.faults.append(Fault(Spot(str(self.folder / "catalog"), 0), message))
        if self.faults:
            raise Faults(self.faults)

    def _bind(self) -> None:
        context = Context(self.shop, self.faults)
        if self.rules:
            files = [file for path, file in self.files.items() if path.startswith("rules/")]
            self.faults += [fault for file in files for fault in file.faults]
            bind(context, [entry for file in files for entry in file.entries])
        elif not any(fault.unread for fault in self.faults):
            assert self.base is not None
            book = self.base.book
            context.scope.figures.update({name: bound.dimension for name, bound in book.figures.items()})
            context.book.rules.update(book.rules)
            context.book.figures.update(book.figures)
            own = ShopReader(context)
            own.conditions()
            if self.wide:
                own.changes()
                own.stated()
        self.book = context.book.book()

    # rows

    def rows(self) -> tuple[list[tuple[str, bytes]], list[str]]:
        """Rows to write, and keys to drop; call after `hold`."""
        base = self.base
        stamps = ("files", json.dumps([self.stamps[path].card() for path in self.found]).encode())
        if not self.files and not self.gone:
            return [stamps], []
        old = base.records if base else {}
        records = {path: old[path] for path in self.found if path in old and path not in self.files}
        put: list[tuple[str, bytes]] = []
        for path, file in self.files.items():
            record = records[path] = self._record(file)
            put.append((f"record:{path}", record.card()))
            put += part_rows(self.shop, self.book, record, path)
        records = {path: records[path] for path in self.found}
        before = {face.part: face for p in (*self.files, *self.gone) if p in old for face in old[p].parts()}
        now = {face.part: face for path in self.files for face in records[path].parts()}
        index = Index(records)
        if base is None:
            put += index.every()
        else:
            put += index.of([*before.values(), *now.values()], works=self.wide)
        if self.wide:
            put += shop_rows(self.shop)
        if self.wide or self.rules:
            put += book_rows(self.book)
            put.append(spots_row(self.shop, self.book, base.book if base and not self.rules else None))
        put += index.ids(("part",) if not self.wide and not self.rules else None)
        put.append(stamps)
        dropped = [f"{head}:{name}" for name in before.keys() - now.keys() for head in ("part", "spots")]
        return put, dropped + [f"record:{path}" for path in self.gone]

    def _record(self, file: _File) -> Record:
        record = Record(file.names())
        for thing in file.things:
            if thing is not None:
                conditions = conditions_of_thing(self.book, thing)
                record.refers.update(refers_to(thing, conditions))
        return record


def conditions_of_thing(book: Rulebook, thing: Thing) -> Iterable[Any]:
    """Expressions in the file entry of a thing."""
    for head in ("offers", "needs", "renews"):
        for number in range(len(getattr(thing, head, ()))):
            found = book.conditions.get((thing.kind, thing.id, head, number))
            if found is not None:
                yield found
