"""What was measured on a build, kept as a file that `--measured` reads, made of the lines that the bench told.

The file is written anew after each line. A person may edit it meanwhile: its head says of how many lines it was
made and seals what it held, so that what a hand changed is told from what is only old, and goes into the lines.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

from compat.bench.journal import Entry, Journal, Key, Standing, standing
from compat.shop.builds import ReadyBuild
from compat.shop.measured_files import read_measured
from compat.shop.readings import Row, split_rows
from compat.shop.source import Fault, Faults, Spot
from compat.shop.writing import write_whole

__all__ = ["Kept", "as_measured", "measured_as_kept", "stands_in"]

AGAIN: Final = "again"
"""The place of a reading that stands beside another of the same place: both are true until one is chosen."""

_HEAD = re.compile(r"# made of (\d{1,9}) lines, seal ([0-9a-f]{32})\n")
_SAYS = (
    "# What was measured on {build}, as the bench told it: `compat check {build} --measured` takes this file.\n"
    "# It is written anew with each value. Edit it if need be: what is changed here is taken over.\n"
)


def stands_in(ready: ReadyBuild, positions: Iterable[str]) -> str:
    """The parts that stand in some positions, as one word: what is measured is of these and no others."""
    parts = (
        ready.part_in(position) for position in dict.fromkeys(positions) if position in ready.shop.positions
    )
    return " ".join(part for part in parts if part)


def as_measured(ready: ReadyBuild, held: Mapping[Key, Standing]) -> dict[str, Any]:
    """Readings as a build's own `measured` would say them.

    Parameters
    ----------
    ready : ReadyBuild
        The build. What was measured on other parts than stand in it is left out.
    held : mapping
        What holds.

    Returns
    -------
    dict
        By position.spec. Of several gauges the worst uncertainty counts for all, as in a table of readings.
    """
    grouped: dict[str, list[tuple[Key, Entry]]] = {}
    for key, one in held.items():
        if key.kind != "reading" or key.of != stands_in(ready, [key.what.partition(".")[0]]):
            continue
        every = [entry for entry in (one.entry, *one.beside) if entry.value]
        for number, entry in enumerate(every):
            place = " ".join([key.place, *[AGAIN] * number]).strip()
            grouped.setdefault(key.what, []).append((key._replace(place=place), entry))
    return {what: _group(entries) for what, entries in sorted(grouped.items())}


def _group(entries: Sequence[tuple[Key, Entry]]) -> dict[str, Any]:
    pieces: dict[int, dict[str, str]] = {}
    for key, entry in sorted(entries):
        pieces.setdefault(key.piece, {})[key.place] = entry.value
    said: dict[str, Any] = {}
    every = [entry for _, entry in entries]
    if worst := _worst([entry.uncertainty for entry in every if entry.uncertainty]):
        said["uncertainty"] = worst
    for name in ("gauge", "by"):
        if words := list(dict.fromkeys(word for entry in every if (word := getattr(entry, name)))):
            said[name] = " + ".join(words)
    if days := [entry.at[:10] for entry in every if entry.at]:
        said["date"] = max(days)
    said["pieces"] = {
        number: places[""] if list(places) == [""] else places for number, places in pieces.items()
    }
    return said


def _worst(texts: Sequence[str]) -> str:
    from compat.units import read_band

    return max(texts, key=lambda text: read_band(text).high, default="")


def measured_as_kept(
    ready: ReadyBuild, said: Mapping[str, Any]
) -> tuple[ReadyBuild, dict[str, tuple[Fault, ...]]]:
    """A build with what was measured on it; what cannot be taken is left out and told.

    Parameters
    ----------
    ready : ReadyBuild
        The build.
    said : mapping
        What `as_measured` gives.

    Returns
    -------
    ReadyBuild, dict
        The build, and by position.spec why readings of it do not count: the build states it itself, or its
        shop has changed since.
    """
    wrong: dict[str, tuple[Fault, ...]] = {}
    take: dict[str, Any] = {}
    for what, entry in said.items():
        if what in ready.build.measured:
            told = f"'{what}' is stated in the build's own file, which holds"
            wrong[what] = (Fault(Spot(what, 0), told),)
        else:
            take[what] = entry
    if not take:
        return ready, wrong
    try:
        return ready.measuring(take), wrong
    except Faults:
        sound = {}
        for what, entry in take.items():
            try:
                ready.measuring({what: entry})
            except Faults as found:
                wrong[what] = tuple(found.faults)
            else:
                sound[what] = entry
        return (ready.measuring(sound) if sound else ready), wrong


@dataclass
class Kept:
    """What was measured on one build: the lines, and the file that is made of them.

    Parameters
    ----------
    folder : Path
        Where; made when it is not there.
    build : str
        Id of the build.

    Raises
    ------
    Faults
        When the id is none that a file may be called by.
    """

    folder: Path
    build: str

    def __post_init__(self) -> None:
        if not re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,99}", self.build):
            told = f"'{self.build[:60]}' is no id that a file may be called by"
            raise Faults([Fault(Spot("build", 0), told)])
        self.journal = Journal(self.folder / f"{self.build}.jsonl")
        self._wrote: dict[str, Any] | None = None

    @property
    def path(self) -> Path:
        """The file that `--measured` reads."""
        return self.folder / f"{self.build}.yaml"

    @property
    def photos(self) -> Path:
        """Where photos lie."""
        return self.folder / f"{self.build}.photos"

    def look(self, ready: ReadyBuild) -> tuple[tuple[Entry, ...], tuple[Fault, ...]]:
        """Every line, with what somebody changed in the file meanwhile; and why the file cannot be read."""
        entries = self.journal.entries()
        try:
            text = self.path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return entries, ()
        except (OSError, UnicodeDecodeError) as error:
            return entries, (Fault(Spot(str(self.path), 0), f"cannot be read: {error}"),)
        match = _HEAD.match(text)
        if match is not None and match[2] == _seal(text[match.end() :]):
            # whoever was stopped between the line and the file left the file behind, and where the build has
            # another part now, what was measured on the one before must not be taken for it
            stale = int(match[1]) != len(entries) or self._wrote != as_measured(ready, standing(entries))
            return entries, (self._write(ready) if stale else ())
        faults: list[Fault] = []
        changed = self._by_hand(ready, entries[: int(match[1]) if match else 0], text, faults)
        if faults:
            return entries, tuple(faults)
        self.journal.add(changed)
        return self.journal.entries(), self._write(ready)

    def add(self, ready: ReadyBuild, entries: Iterable[Entry]) -> tuple[Fault, ...]:
        """Keep lines, and make the file anew; why the file stays as it is, where a hand left faults in it.

        Raises
        ------
        Faults
            When the lines cannot be kept.
        """
        _, faults = self.look(ready)
        self.journal.add(entries)
        return faults or self._write(ready)

    def _write(self, ready: ReadyBuild) -> tuple[Fault, ...]:
        """Make the file of all lines; why it cannot be written, which costs no line."""
        import yaml

        entries = self.journal.entries()
        said = as_measured(ready, standing(entries))
        body = _SAYS.format(build=self.build)
        body += yaml.safe_dump({"measured": said}, sort_keys=False, allow_unicode=True, width=100)
        text = f"# made of {len(entries)} lines, seal {_seal(body)}\n{body}"
        try:
            if not self.path.is_file() or self.path.read_text(encoding="utf-8") != text:
                write_whole(self.path, text)
            self._wrote = said
        except OSError as error:
            return (Fault(Spot(str(self.path), 0), f"cannot be written: {error.strerror or error}"),)
        return ()

    def _by_hand(
        self, ready: ReadyBuild, before: Sequence[Entry], text: str, faults: list[Fault]
    ) -> list[Entry]:
        """What a hand changed in the file, as lines."""
        try:
            rows, single = read_measured(self.path, faults)
        except Faults as unread:
            faults += unread.faults
            return []
        for _, spot in single.values():
            faults.append(Fault(spot, "is one value for all pieces, which belongs in the build's own file"))
        held = standing(before)
        was, _ = split_rows(as_measured(ready, held), lambda _: Spot("", 0), [], [])
        old, new = _by_key(was), _by_key(rows)
        stamp = f"hand-{blake2b(text.encode(), digest_size=8).hexdigest()}"
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        changed = []
        for number, key in enumerate(dict.fromkeys((*old, *new))):
            if key in old and key in new and _same(old[key], new[key]):
                continue
            what, piece, place = key
            if place.split()[-1:] == [AGAIN]:
                told = "two readings stand side by side here; choose one of them at the bench"
                faults.append(Fault((new.get(key) or old[key]).at("value"), told))
                continue
            says: Mapping[str, str] = new[key].says if key in new else {}
            of = stands_in(ready, [what.partition(".")[0]])
            if key not in old and any(
                (one.what, one.piece, one.place) == key
                and one.of != of
                and held[one].entry.value == says["value"]
                for one in held
            ):
                continue  # of a part that stood there when the file was made
            known = held.get(Key("reading", what, of, piece, place))
            changed.append(
                Entry(
                    f"{stamp}-{number}", "reading", what, says.get("value", ""), of, piece, place,
                    says.get("uncertainty", ""), says.get("gauge", ""), says.get("by", ""), now,
                    known.latest if known is not None else "",
                )
            )  # fmt: skip
        return changed


def _by_key(rows: Iterable[Row]) -> dict[tuple[str, int, str], Row]:
    found = {}
    for row in rows:
        piece = row.says.get("piece", "")
        number = int(piece) if piece.isdecimal() else 1
        found[row.says.get("what", ""), number, " ".join(row.says.get("place", "").split())] = row
    return found


def _same(one: Row, other: Row) -> bool:
    look: Callable[[Row], tuple[str, ...]] = lambda row: tuple(  # noqa: E731
        row.says.get(name, "") for name in ("value", "uncertainty", "gauge")
    )
    return look(one) == look(other)


def _seal(text: str) -> str:
    return blake2b(text.encode(), digest_size=16).hexdigest()
