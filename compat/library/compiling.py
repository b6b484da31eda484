"""From the files of a shop to kept entries: all of them at first, after an edit what it touches.

Everything but parts is few and says what parts may say; it is read whole. Files of parts are read one by one,
and what they hold is written before the next is read, so that a great shop needs no great memory.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Set
from dataclasses import replace
from pathlib import Path
from time import time_ns
from typing import Any

from compat.library.cards import card
from compat.library.goods import GoodsWriter
from compat.library.holdings import Holding, Relations, plain
from compat.library.known import Old
from compat.library.library import empty, without_variant
from compat.library.rows import BETWEEN, Rows, Table, written
from compat.library.sets import lend
from compat.library.sources import Stamp, digest_of, lent_stamp, looks_like_more, stamp_of
from compat.library.spots import spots_card
from compat.library.store import Draft
from compat.rulebook.context import Context
from compat.rulebook.expressions import Expression
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.rulebook.reading import Said, bind_rules, take_in
from compat.rulebook.rulebook import Condition, Rulebook
from compat.rulebook.shop_reading import ShopReader
from compat.shop.builds import check_builds
from compat.shop.draft import Draft as ShopDraft
from compat.shop.graph import Key
from compat.shop.links import Linker
from compat.shop.models import Part, Thing
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.reading import split, typed_setup, typed_specs, validate
from compat.shop.shop import Spots
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of

__all__ = ["AlsoRead", "Compiler", "Progress"]

Progress = Callable[[int, int], None]
"""Told how many files of how many are read."""


class AlsoRead(Exception):
    """What was read bears on more.

    Parameters
    ----------
    files : set of str
        Files that were not read, and must be.
    frame : set of str
        Files that hold more than parts, and were taken to hold none but them.
    """

    def __init__(self, files: Set[str] = frozenset(), frame: Set[str] = frozenset()) -> None:
        super().__init__(", ".join(sorted(files | frame)))
        self.files = files
        self.frame = frame


class _Nodes(dict[Key, Spots]):
    """Where things were written; parts are known by their entries."""

    def __init__(self, rows: Rows, parts: Callable[[], Iterator[str]]) -> None:
        super().__init__()
        self._rows = rows
        self._parts = parts

    def __missing__(self, key: Key) -> Spots:
        if key not in self:
            raise KeyError(key)
        return self._rows.spots(*key)

    def __contains__(self, key: object) -> bool:
        if dict.__contains__(self, key):
            return True
        return isinstance(key, tuple) and key[0] == "part" and self._rows.has(*key)

    def __iter__(self) -> Iterator[Key]:
        yield from dict.__iter__(self)
        yield from (("part", name) for name in self._parts())


class Compiler:
    """Reads files of a shop and writes entries for all that they hold.

    Parameters
    ----------
    folder : Path
        The shop.
    files : mapping
        Every file there is, by the name that messages give it, in the order in which they are read.
    draft : Draft
        Gets the entries; begins with those of the files that need not be read.
    frame : set of str
        Files known to hold more than parts.
    progress : callable, optional
        Told as files are read.
    """

    def __init__(
        self,
        folder: Path,
        files: Mapping[str, Path],
        draft: Draft,
        frame: Collection[str] = (),
        progress: Progress | None = None,
    ) -> None:
        self.folder = folder
        self.files = files
        self.draft = draft
        self.rows = Rows(draft)
        self.goods = GoodsWriter(draft)
        self.old = Old(draft)
        self.frame = [file for file in files if file in frame or self._is_frame(file)]
        self.stamps: dict[str, Stamp] = {}
        self.new: dict[str, Holding] = {}
        self.mentioning: list[Part] = []
        self.reading: list[Fault] = []
        self.holding: list[Fault] = []
        self.shop = ShopDraft(nodes=_Nodes(self.rows, self._part_ids))
        self.shop.tables["part"] = Table(lambda name: self.rows.thing("part", name), self._part_ids, 1000)
        self._progress = progress or (lambda done, of: None)

    def _is_frame(self, file: str) -> bool:
        """Whether a file holds more than parts, as far as one can tell before it is read."""
        if not file.startswith("catalog/"):
            return True  # rules, or a draft: a build with parts of its own
        if file in self.old.stamps:
            return self.old.stamps[file].more
        return looks_like_more(self.files[file])

    def _part_ids(self) -> Iterator[str]:
        for file in self.files:
            if file in self.new:
                yield from (part for part, _ in self.new[file].parts)
            elif file in self.old.files:
                yield from self.old.parts(file)

    def run(self, read: set[str]) -> None:
        """Read files, and all those that hold more than parts, and write what they hold.

        Parameters
        ----------
        read : set of str
            Files that were changed, or never read.

        Raises
        ------
        Faults
            With everything wrong in them, or in others through them.
        AlsoRead
            When others must be read too; the draft is of no use then.
        OSError
            When nothing can be written.
        """
        parts = [file for file in self.files if file in read and file not in self.frame]
        again = {*parts, *self.frame}
        gone = {file for file in self.old.files if file in again or file not in self.files}
        said_before = {file: self.old.says(file) for file in gone}
        held_before = {part for file in gone for part in self.old.parts(file)}
        for part in held_before:
            self.draft.remove(f"thing/part/{part}")
            self.draft.remove(f"spots/part/{part}")
            self.goods.remove(part)
        self._left = len(again)
        said, mixed = self._read_frame()
        self._bears_on(gone, self.old.moved(self.shop.tables, self.shop.kinds, self.context.scope.figures))
        for file in self.files:
            if file in mixed:
                self._parts(file, mixed[file])
            elif file in parts:
                self._parts(file, self._entries(file, CATALOGUE))
        here = {name for held in self.new.values() for name, _ in held.parts}
        self._bears_on(gone, {("part", name) for name in held_before - here})
        self._refuse_nothing()
        book = self._held(said)
        self._refuse()
        self._write(book, said_before, held_before)

    def _bears_on(self, gone: Collection[str], moved: set[Key]) -> None:
        """Ask for the files that name what is no longer as it was."""
        named = {
            file
            for file in (self.old.files - set(gone) if moved else ())
            if any((kind, name) in moved for kind, name in self.old.says(file)["names"])
        }
        if named:
            raise AlsoRead(named)

    # reading

    def _entries(self, file: str, models: Mapping[str, Any]) -> list[tuple[str, Node]]:
        path = self.files[file]
        try:
            looked = time_ns()
            found = path.stat()
            raw = read_bytes(path, file)
            self.stamps[file] = stamp_of(found, looked, digest_of(raw))
            return split(tree_of(raw, file), list(models), self.reading)
        except OSError as error:
            self.reading.append(Fault(Spot(file), f"cannot be read: {error.strerror or error}", unread=True))
        except Faults as told:
            self.reading += told.faults
        finally:
            self._left -= 1
            self._progress(self._left, len(self.files))
        return []

    def _read_frame(self) -> tuple[Said, dict[str, list[tuple[str, Node]]]]:
        """Read all that holds more than parts; gives the rulebook's entries, and the parts among the others."""
        mixed: dict[str, list[tuple[str, Node]]] = {}
        own: list[tuple[str, Node]] = []
        rules: list[tuple[str, Node]] = []
        for file in self.frame:
            if file.startswith("rules/"):
                rules += self._entries(file, RULEBOOK)
                continue
            for word, node in self._entries(file, CATALOGUE):
                if word == "part":
                    mixed.setdefault(file, []).append((word, node))
                elif file.startswith("catalog/"):
                    own.append((word, node))
        lent = lend(own, rules, self.reading)
        rules = [*lent.rules, *rules]
        self.shop.beyond = lent.beyond
        for word, node in (*lent.catalogue, *own):
            self.shop.take(word, validate(CATALOGUE[word], node, self.reading, word), node, self.reading)
        self.linker = Linker(self.shop, self.holding)
        self.context = Context(self.shop.shop(), self.holding)
        # what is wrong with an entry by itself is told whatever else cannot be read
        self.context.faults = self.reading
        said = take_in(rules, self.context)
        self.context.faults = self.holding
        self.conditions = ShopReader(self.context)
        return said, mixed

    def _parts(self, file: str, entries: list[tuple[str, Node]]) -> None:
        holding = self.new[file] = Holding()
        for word, node in entries:
            if word != "part":
                raise AlsoRead(frame={file})
            self._part(file, validate(Part, node, self.reading, "part"), node, holding)

    def _part(self, file: str, part: Part | None, node: Node, holding: Holding) -> None:
        if part is None:
            self.shop.take("part", None, node, self.reading)
            return
        key = ("part", part.part)
        if key in self.shop.nodes:
            first = self.shop.nodes[key].spot.file
            if first not in self.stamps:
                raise AlsoRead({first})
            self.shop.take("part", part, node, self.reading)
            return
        self.shop.nodes[key] = node
        typed = typed_specs(
            self.shop, part.fills, part.specs, node.spot_of, ["specs"], part.basis, self.holding
        )
        part = replace(part, specs=typed)
        self.linker.part(part)
        if part.includes or part.never_with:
            self.mentioning.append(part)
        conditions = self.conditions.conditions_of(part)
        holding.take(part, conditions)
        self.draft.put(f"thing/part/{part.part}", written(file, part, _said(conditions)))
        self._put_spots("part", part.part, file, node)
        self.goods.take(part)
        del self.shop.nodes[key]

    # holding it against itself

    def _held(self, said: Said) -> Rulebook:
        """Hold against each other what was read; gives the rulebook."""
        for variant in self.shop.tables["variant"].values():
            node = self.shop.nodes["variant", variant.variant]
            self.shop.setups[variant.variant] = typed_setup(
                self.shop, variant.setup, node.spot_of, self.holding
            )
        self.linker.terms()
        for thing in self._frame_things():
            self.linker.check(thing)
        for part in self.mentioning:
            self.linker.other_parts(part)
        self.linker.all_circles(
            {part: tuple(told) for boxes in self._boxes().values() for part, told in boxes.items()}
        )
        check_builds(self.context.shop, self.holding)
        bind_rules(self.context, said)
        for thing in self._frame_things():
            self.context.book.conditions |= self.conditions.conditions_of(thing)
        self.conditions.changes()
        self.conditions.stated()
        return self.context.book.book()

    def _boxes(self) -> dict[str, Any]:
        """What comes in the box of parts, by file."""
        told: dict[str, Any] = dict(self.old.includes) if self.old.files else {}
        told |= {file: held.includes for file, held in self.new.items()}
        return {file: told[file] for file in self.files if told.get(file)}

    def _frame_things(self) -> Iterator[Thing]:
        for kind, table in self.shop.tables.items():
            if kind != "part":
                yield from table.values()

    def _refuse_nothing(self) -> None:
        """Tell that a catalogue holds nothing, and not that its rules speak of nothing."""
        told = any(fault.spot.file.startswith("catalog/") for fault in self.reading)
        if not told and next(iter(self.shop.nodes), None) is None:
            raise Faults([empty(self.folder)])

    def _refuse(self) -> None:
        """Tell what is wrong; where a file could not be read, every name in it would be an unknown one."""
        faults = [*self.reading]
        if not any(fault.unread for fault in faults):
            faults += self.holding
        if not faults and not self.shop.tables["variant"]:
            faults.append(without_variant(self.folder))
        if faults:
            raise Faults(faults)

    # writing

    def _put_spots(self, kind: str, name: str, file: str, node: Any) -> None:
        self.draft.put(f"spots/{kind}/{name}", card([file, spots_card(node)]))

    def _write(self, book: Rulebook, said_before: Mapping[str, Any], held_before: set[str]) -> None:
        tables = {kind: dict(table) for kind, table in self.shop.tables.items() if kind != "part"}
        tables["shop"] = {self.shop.info.shop: self.shop.info} if self.shop.info is not None else {}
        tables |= {"rule": dict(book.rules), "figure": dict(book.figures)}
        stated: dict[Key, dict[Condition, Expression]] = {}
        for condition, said in book.conditions.items():
            stated.setdefault(condition[:2], {})[condition] = said
        for kind, table in tables.items():
            self.draft.remove_below(f"spots/{kind}")
            things = []
            for name, thing in table.items():
                node: Any = (
                    book.nodes[kind, name] if kind in ("rule", "figure") else self.shop.nodes[kind, name]
                )
                more = _said(stated.get((kind, name), {})) | self._worked_out(kind, name, book)
                things.append(written(node.file, thing, more))
                self._put_spots(kind, name, node.file, node)
            self.draft.put(f"things/{kind}", BETWEEN.join(things), pack=False)
            names = [(name, _name(kind, thing)) for name, thing in table.items()]
            self.draft.put(f"ids/{kind}", card(names))
        formulas = {
            bound.formula.name: bound.formula.card() for bound in book.figures.values() if bound.formula
        }
        self.draft.put("formulas", card(formulas))
        self.draft.put("influence", plain(book.influence.card()))
        for file in said_before:
            self.draft.remove(f"parts/{file}")
            self.draft.remove(f"says/{file}")
        for file, held in self.new.items():
            self.draft.put(f"parts/{file}", plain(held.parts))
            self.draft.put(f"says/{file}", plain(held.says()))
        self.draft.put("includes", plain(self._boxes()))
        uses = self.shop.info is not None and bool(self.shop.info.uses)
        self.draft.put("lent", plain(lent_stamp() if uses else ""))
        self.draft.put("beyond", plain(self.shop.beyond))
        self.draft.put("sized", plain(self.context.shop.sized))
        Relations(self.draft, self.new, said_before, held_before).write(tables)
        self.draft.put("stamps", plain(self._all_stamps()))
        self.goods.finish()

    def _worked_out(self, kind: str, name: str, book: Rulebook) -> dict[str, Any]:
        match kind:
            case "position":
                return {"kinds": self.shop.kinds[name]}
            case "variant":
                return {"setup": self.shop.setups[name]}
            case "work":
                return {"changes": book.changes[name], "bounds": book.bounds[name]}
        return {}

    def _all_stamps(self) -> dict[str, list[Any]]:
        stamps = {}
        for file in self.files:
            stamp = self.stamps.get(file)
            if stamp is None:
                stamps[file] = self.old.stamps[file].card()
            else:
                stamps[file] = replace(stamp, more=file in self.frame, parts=file in self.new).card()
        return stamps


def _said(conditions: Mapping[Condition, Expression]) -> dict[str, Any]:
    if not conditions:
        return {}
    return {"conditions": [[field, number, said] for (_, _, field, number), said in conditions.items()]}


def _name(kind: str, thing: Any) -> str:
    if kind == "rule":
        return str(thing.rule.title)
    if kind == "figure":
        return thing.figure.name or str(thing.figure.figure)
    return str(getattr(thing, "name", thing.id))
