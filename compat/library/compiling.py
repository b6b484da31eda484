"""From the files of a shop to kept entries: all of them at first, after an edit what it touches.

Words, engines, work, suppliers and rules are few and rest on each other: they are the frame, read whole where
one of its files changed, and else not at all. Files of parts, stock and builds are read one by one, and what
parts they hold is written before the next is read, so that a great shop needs no great memory.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Set
from dataclasses import replace
from pathlib import Path
from time import time_ns
from typing import Any

from compat.library.asked import Asked
from compat.library.cards import card
from compat.library.frame import Frame, ReadFrame, StandingFrame, called, put_spots, said_of
from compat.library.goods import GoodsWriter
from compat.library.holdings import Holding, Relations, plain
from compat.library.known import Kept, Old
from compat.library.library import empty, without_variant
from compat.library.rows import APART, BETWEEN, Rows, written
from compat.library.sources import Stamp, digest_of, looks_like_more, stamp_of
from compat.library.spots import spots_card
from compat.library.standing import Nodes, read_draft, standing_draft
from compat.library.store import Draft
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.shop.builds import check_build
from compat.shop.graph import Key
from compat.shop.models import Part
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.reading import split, typed_specs, validate
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.shop.words import KINDS

__all__ = ["AlsoRead", "Compiler", "Progress"]

Progress = Callable[[int, int], None]
"""Told how many files of how many are read."""

NOBODY: Key = ("", "")
"""Who asks for parts while the frame is held against itself; nobody does."""


class AlsoRead(Exception):
    """What was read bears on more.

    Parameters
    ----------
    files : set of str
        Files that were not read, and must be.
    frame : set of str
        Files that hold more than what is read apart, and were taken to hold none but that.
    whole : bool
        Whether the frame must be read, though no file of it was changed: only so is told all that is wrong.
    """

    def __init__(
        self, files: Set[str] = frozenset(), frame: Set[str] = frozenset(), whole: bool = False
    ) -> None:
        super().__init__(", ".join(sorted(files | frame)))
        self.files = files
        self.frame = frame
        self.whole = whole


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
        Files known to hold more than what is read apart.
    whole : bool
        Whether the frame is read even where it stands.
    progress : callable, optional
        Told as files are read.
    """

    def __init__(
        self,
        folder: Path,
        files: Mapping[str, Path],
        draft: Draft,
        frame: Collection[str] = (),
        whole: bool = False,
        progress: Progress | None = None,
    ) -> None:
        self.folder = folder
        self.files = files
        if draft.begun:
            draft.hold_census()
        self.draft = draft
        self.rows = Rows(draft)
        self.goods = GoodsWriter(draft)
        self.old = Old(draft)
        self.frame_files = [file for file in files if file in frame or self._is_frame(file)]
        self.whole = whole
        self.stamps: dict[str, Stamp] = {}
        self.new: dict[str, Holding] = {}
        self.apart: dict[str, dict[str, list[Kept]]] = {kind: {} for kind in self.old.apart}
        """Stock and builds that were read, by kind and file."""
        self.changed: set[str] = set()
        """Parts that are new, gone, or say something else."""
        self.mentioning: list[Part] = []
        self.reading: list[Fault] = []
        self.holding: list[Fault] = []
        self._progress = progress or (lambda done, of: None)

    def _is_frame(self, file: str) -> bool:
        """Whether a file holds more than what is read apart, as far as one can tell before it is read."""
        if not file.startswith("catalog/"):
            return file.startswith("rules/")  # else a draft: a build with parts of its own
        if file in self.old.stamps:
            return self.old.stamps[file].more
        return looks_like_more(self.files[file])

    def _part_ids(self) -> Iterator[str]:
        for file in self.files:
            if file in self.new:
                yield from (part for part, _ in self.new[file].parts)
            elif file in self.old.files and file not in self.gone:
                yield from self.old.parts(file)

    def run(self, read: Set[str]) -> None:
        """Read files, and the frame where one of its files is among them, and write what they hold.

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
        frame = set(self.frame_files)
        standing = not self.whole and bool(frame) and frame == self.old.frame and frame.isdisjoint(read)
        again = set(read) if standing else {*read, *frame, *self._with_builds()}
        self.gone = {file for file in self.old.stamps if file in again or file not in self.files}
        self.said_before = {file: self.old.says(file) for file in self.gone & self.old.files}
        self.held_before = {part for file in self.said_before for part in self.old.parts(file)}
        self.things_before = self.old.things(self.gone)
        self.asked = Asked(self.old.asked if standing else ())
        self.nodes = Nodes(self.rows, KINDS if standing else ("part",), self._part_ids, self.asked)
        self.nodes.hidden = {("part", name) for name in self.held_before} | self.things_before
        self._left = len(again)
        mixed: dict[str, list[tuple[str, Node]]] = {}
        if standing:
            self.shop = standing_draft(self.nodes, self.rows, self._part_ids, self.asked)
            self.frame: Frame = StandingFrame(self.shop, self.rows, self.holding)
        else:
            self.shop = read_draft(self.nodes, self.rows, self._part_ids, self.asked)
            self.frame = self._read_frame(mixed)
            scope = self.frame.context.scope
            moved = self.old.moved(self.shop.tables, self.shop.kinds, scope.figures)
            self._bears_on(lambda file: any(tuple(key) in moved for key in self.old.says(file)["names"]), moved)
        for file in self.files:
            if file in mixed:
                self._read_apart(file, mixed[file])
            elif file in again and file not in frame:
                self._read_apart(file, self._entries(file, CATALOGUE))
        lost = self.held_before - {name for held in self.new.values() for name, _ in held.parts}
        self._bears_on(lambda file: not lost.isdisjoint(self.old.mentions.get(file, ())), lost)
        self._drop(lost)
        if not standing:
            self._refuse_nothing()
        self._hold(standing)
        self._refuse(standing)
        self._write()

    def _with_builds(self) -> set[str]:
        """Files that held builds or stock: these are held against a frame that was read."""
        return {file for held in self.old.apart.values() for file in held if file in self.files}

    def _bears_on(self, named: Callable[[str], bool], moved: Collection[Any]) -> None:
        """Ask for the files that name what is no longer as it was."""
        files = {file for file in self.old.files - self.gone if named(file)} if moved else set()
        if files:
            raise AlsoRead(files)

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

    def _read_frame(self, mixed: dict[str, list[tuple[str, Node]]]) -> ReadFrame:
        """Read the files of the frame; what is to be read apart among their entries goes to `mixed`."""
        own: list[tuple[str, Node]] = []
        rules: list[tuple[str, Node]] = []
        holding: set[str] = set()
        for file in self.frame_files:
            if file.startswith("rules/"):
                rules += self._entries(file, RULEBOOK)
                holding.add(file)
                continue
            for word, node in self._entries(file, CATALOGUE):
                if word in APART:
                    mixed.setdefault(file, []).append((word, node))
                else:
                    own.append((word, node))
                    holding.add(file)
        self.frame_files = [file for file in self.frame_files if file in holding]
        return ReadFrame(self.shop, own, rules, self.reading, self.holding)

    def _read_apart(self, file: str, entries: list[tuple[str, Node]]) -> None:
        """Take in parts, stock and builds of a file; of a draft its parts alone."""
        for word, node in entries:
            if word == "part":
                holding = self.new.setdefault(file, Holding())
                self._part(file, validate(Part, node, self.reading, word), node, holding)
            elif not file.startswith("catalog/"):
                continue
            elif word not in APART:
                raise AlsoRead(frame={file})
            else:
                self._thing(file, word, validate(CATALOGUE[word], node, self.reading, word), node)

    def _thing(self, file: str, kind: str, thing: Any, node: Node) -> None:
        """Take in a build, or what is on the shelf of a part."""
        known = len(self.reading)
        self.shop.take(kind, thing, node, self.reading)
        if thing is None or len(self.reading) > known:
            return
        kept = Kept(thing.id, called(kind, thing), written(file, thing, {}))
        self.apart[kind].setdefault(file, []).append(kept)
        put_spots(self.draft, kind, thing.id, node)

    def _part(self, file: str, part: Part | None, node: Node, holding: Holding) -> None:
        if part is None:
            self.shop.take("part", None, node, self.reading)
            return
        key = ("part", part.part)
        if key in self.nodes:
            first = self.nodes[key].spot.file
            if first not in self.stamps:
                raise AlsoRead({first})
            self.shop.take("part", part, node, self.reading)
            return
        self.nodes[key] = node
        typed = typed_specs(
            self.shop, part.fills, part.specs, node.spot_of, ["specs"], part.basis, self.holding
        )
        part = replace(part, specs=typed)
        self.frame.linker.part(part)
        if part.includes or part.never_with:
            self.mentioning.append(part)
        conditions = self.frame.conditions.conditions_of(part)
        holding.take(part, conditions)
        self._put_part(part, written(file, part, said_of(conditions)), plain([file, spots_card(node)]))
        del self.nodes[key]
        self.nodes.hidden.discard(key)

    def _put_part(self, part: Part, text: str, spots: bytes) -> None:
        """Write a part, where it does not stand there already."""
        name = part.part
        if name not in self.held_before:
            self.draft.put(f"thing/part/{name}", text)
            self.draft.put(f"spots/part/{name}", spots)
            self.goods.take(part)
            self.changed.add(name)
            return
        self.draft.renew(f"spots/part/{name}", spots)
        if self.draft.renew(f"thing/part/{name}", text):
            self.goods.remove(name)
            self.goods.take(part)
            self.changed.add(name)

    def _drop(self, lost: set[str]) -> None:
        """Take out parts, stock and builds that are no longer in the files that were read."""
        for name in lost:
            self.draft.remove(f"thing/part/{name}")
            self.draft.remove(f"spots/part/{name}")
            self.goods.remove(name)
        self.changed |= lost
        self.asked.forget(self.things_before)
        for kind, name in self.things_before - set(self._things_read()):
            self.draft.remove(f"spots/{kind}/{name}")

    def _things_read(self) -> Iterator[Key]:
        for kind, files in self.apart.items():
            yield from ((kind, kept.name) for held in files.values() for kept in held)

    # holding it against itself

    def _hold(self, standing: bool) -> None:
        """Hold against each other what was read, and what looked at parts that changed."""
        if standing:
            asking = self.asked.touched(self.changed)
            if self.reading or NOBODY in asking:
                raise AlsoRead(whole=True)
        else:
            with self.asked.noting(*NOBODY):
                self.frame.hold()
            asking = {(thing.kind, thing.id) for thing in self.frame.things()}
        for kind, name in sorted(asking.union(self._things_read())):
            self._hold_one(kind, name)
        for part in self.mentioning:
            self.frame.linker.other_parts(part)
        boxes = {part: tuple(told) for held in self._boxes().values() for part, told in held.items()}
        self.frame.linker.circles("part", boxes, "includes")

    def _hold_one(self, kind: str, name: str) -> None:
        thing = self.shop.tables[kind][name]
        with self.asked.noting(kind, name):
            self.frame.linker.check(thing)
            if kind == "build":
                # a shop of its own: what another build looked up would not be noted again
                check_build(self.shop.shop(), thing, self.holding)

    def _boxes(self) -> dict[str, Any]:
        """What comes in the box of parts, by file."""
        return self._by_file(self.old.includes, {file: held.includes for file, held in self.new.items()})

    def _by_file(self, before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
        """What files say now that said something before, in the order of the files."""
        told = {file: said for file, said in before.items() if file not in self.gone} | dict(now)
        return {file: told[file] for file in self.files if told.get(file)}

    def _refuse_nothing(self) -> None:
        """Tell that a catalogue holds nothing, and not that its rules speak of nothing."""
        told = any(fault.spot.file.startswith("catalog/") for fault in self.reading)
        if not told and next(iter(self.nodes), None) is None:
            raise Faults([empty(self.folder)])

    def _refuse(self, standing: bool) -> None:
        """Tell what is wrong; where a file could not be read, every name in it would be an unknown one."""
        faults = [*self.reading]
        if not any(fault.unread for fault in faults):
            faults += self.holding
        if standing and faults:
            raise AlsoRead(whole=True)
        if not faults and not standing and not self.shop.tables["variant"]:
            faults.append(without_variant(self.folder))
        if faults:
            raise Faults(faults)

    # writing

    def _write(self) -> None:
        self.frame.write(self.draft)
        self._write_apart()
        for file in self.said_before:
            self.draft.remove(f"parts/{file}")
            self.draft.remove(f"says/{file}")
        for file, held in self.new.items():
            self.draft.put(f"parts/{file}", plain(held.parts))
            self.draft.put(f"says/{file}", plain(held.says()))
        mentions = {file: held.mentions() for file, held in self.new.items()}
        self.draft.put("mentions", plain(self._by_file(self.old.mentions, mentions)))
        self.draft.put("includes", plain(self._boxes()))
        self.draft.put("asked", plain(self.asked.card()))
        Relations(self.draft, self.new, self.said_before, self.held_before).write(self.shop.tables)
        self.draft.put("stamps", plain(self._all_stamps()))
        self.goods.finish()

    def _write_apart(self) -> None:
        """Write stock and builds, in the order of the files."""
        for kind, read in self.apart.items():
            now = self._by_file(self.old.apart[kind], read)
            every = [kept for held in now.values() for kept in held]
            self.draft.put(f"things/{kind}", BETWEEN.join(kept.written for kept in every), pack=False)
            self.draft.put(f"ids/{kind}", card([(kept.name, kept.called) for kept in every]))

    def _all_stamps(self) -> dict[str, list[Any]]:
        stamps = {}
        for file in self.files:
            stamp = self.stamps.get(file)
            if stamp is None:
                stamps[file] = self.old.stamps[file].card()
            else:
                stamps[file] = replace(stamp, more=file in self.frame_files, parts=file in self.new).card()
        return stamps
