"""A build from the table into its file: whole or not at all, comments kept, nobody's change lost.

The file may have been changed since it was read, by another sitting or in an editor. What one side alone
changed is taken together; what both changed is shown side by side, and written once it is chosen.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any, Final

from compat.page.desk import Desk
from compat.page.drafts import Draft
from compat.shop.builds import ReadyBuild, said_build
from compat.shop.entry_lines import as_lines
from compat.shop.joining import Joined, Key, Sides, join
from compat.shop.models import Build
from compat.shop.reading import MODELS, split, validate
from compat.shop.rewriting import reworded, rewritten
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.shop.together import write_together
from compat.shop.writing import as_said

__all__ = [
    "MEANWHILE",
    "Meanwhile",
    "Torn",
    "as_file",
    "meanwhile",
    "moved_on",
    "read_again",
    "save",
    "save_as",
]

MEANWHILE: Final = "What was changed in the file meanwhile"
FOLDER: Final = "catalog/builds"
ID: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*", re.ASCII)
MOST_ID: Final = 80
DEVICES: Final = re.compile(r"con|prn|aux|nul|com\d|lpt\d")
"""Names that some systems keep for devices, whatever stands behind the dot."""
TRIES: Final = 3
DEMO: Final = (
    "the demo shop comes with the program and is not written to. Download the build, or begin a shop of your "
    "own with `compat start FOLDER` and serve that: `compat serve --shop FOLDER`"
)


@dataclass(frozen=True)
class Written:
    """A build as its file has it at this moment."""

    file: str
    raw: bytes
    said: Mapping[str, Any]
    own_parts: bool

    @property
    def text(self) -> str:
        """What the file holds."""
        return self.raw.decode("utf-8-sig")


@dataclass(frozen=True)
class Torn:
    """Entries that both sides changed, and that nobody has chosen between."""

    both: tuple[Sides, ...]
    mark: str
    """What stands for the other side as it was shown."""


@dataclass(frozen=True)
class Meanwhile:
    """How a file differs from what was read of it, and the draft with it."""

    joined: Joined
    mark: str


def moved_on(desk: Desk, draft: Draft, name: str) -> tuple[Sides, ...]:
    """Entries that the file has otherwise than when it was read; none where it is as it was.

    Parameters
    ----------
    desk : Desk
        The shop, which is read again when its files change.
    draft : Draft
        The draft.
    name : str
        The build.
    """
    now = desk.library.shop.builds.get(name)
    if now is None or now == draft.base.build:
        return ()
    was = as_said(draft.base.build)
    return join(was, was, as_said(now)).theirs


def meanwhile(desk: Desk, draft: Draft, name: str) -> Meanwhile:
    """The draft put together with what the file holds now.

    Raises
    ------
    Faults
        When the file cannot be read, or holds no such build any more.
    """
    theirs = _written(desk, name).said
    return Meanwhile(join(as_said(draft.base.build), as_said(draft.now.build), theirs), _mark(theirs))


def save(
    desk: Desk, draft: Draft, name: str, chosen: Mapping[Key, str] | None = None, mark: str = ""
) -> Torn | tuple[Sides, ...]:
    """Write a draft into its file.

    Parameters
    ----------
    desk : Desk
        The shop.
    draft : Draft
        The draft; afterwards it is held against what was written.
    name : str
        The build.
    chosen : mapping, optional
        Of entries that both changed, which is taken: ``mine`` or ``theirs``.
    mark : str
        What the other side was when they were shown (`Torn.mark`).

    Returns
    -------
    Torn or tuple of Sides
        What is to be chosen first, and nothing is written; else the entries that were taken from the file as
        somebody else changed them.

    Raises
    ------
    Faults
        When the shop is the demo, the name is that of a variant, the file is faulty or cannot be written, or
        both changes together are no build.
    """
    _hold_own(desk)
    with draft.lock:
        for _ in range(TRIES):
            written = _written(desk, name)
            shown = _mark(written.said)
            choice = dict(chosen or {}) if mark in ("", shown) else {}
            joined = join(as_said(draft.base.build), as_said(draft.now.build), written.said, choice)
            if any(one.key not in choice for one in joined.both):
                return Torn(joined.both, shown)
            ready = _together(draft, joined.said)
            if as_said(ready.build) != written.said and not _write(desk, written, ready, name):
                continue
            desk.look_again()
            if ready.build != draft.now.build:
                draft.take(MEANWHILE, ready)
            draft.rebase(ready)
            return joined.theirs
    raise Faults([Fault(Spot(written.file, 0), "is being changed again and again; nothing was written")])


def _together(draft: Draft, said: Mapping[str, Any]) -> ReadyBuild:
    try:
        return said_build(draft.now.shop, said).measured_as(draft.now)
    except Faults as wrong:
        told = "what both sides changed does not go together"
        raise Faults([Fault(one.spot, f"{told}: {one.message}") for one in wrong.faults]) from None


def _write(desk: Desk, written: Written, ready: ReadyBuild, name: str) -> bool:
    """Write a build over what its file holds; not where that was changed this very moment."""
    after = as_said(ready.build)
    try:
        text = reworded(written.text, "build", {name: (written.said, after)})
    except ValueError as wrong:
        raise Faults([Fault(Spot(written.file, 0), f"{wrong}; change it in an editor")]) from None
    _hold_same(text, written.file, name, after)
    return _put(desk, written.file, text, written.raw)


def _put(desk: Desk, file: str, text: str, before: bytes | None) -> bool:
    try:
        write_together(desk.folder, {file: text}, {file: before})
    except Faults as wrong:
        if any("meanwhile" in one.message for one in wrong.faults):
            return False
        raise
    except OSError as wrong:
        raise Faults([Fault(Spot(file, 0), f"cannot be written: {wrong.strerror or wrong}")]) from None
    return True


def save_as(desk: Desk, draft: Draft, name: str, new: str, title: str) -> str:
    """Write a draft as a build of its own.

    Parameters
    ----------
    desk : Desk
        The shop.
    draft : Draft
        The draft; it stays as it is.
    name : str
        The build or variant that it began with.
    new : str
        Id of the new build, and the name of its file.
    title : str
        What it is called; as before where it is empty.

    Returns
    -------
    str
        The id.

    Raises
    ------
    Faults
        When the shop is the demo, the id is none or is taken, or the build cannot be one of that id.
    """
    _hold_own(desk)
    shop = desk.library.shop
    spot = Spot("build", 0)
    if not ID.fullmatch(new) or len(new) > MOST_ID or DEVICES.fullmatch(new):
        form = f"lower-case words with hyphens, {MOST_ID} letters at most"
        told = f"'{new[:MOST_ID]}' is no id of a build; write {form}"
        raise Faults([Fault(spot, told)])
    if new in shop.builds or new in shop.variants:
        kind = "build" if new in shop.builds else "variant"
        raise Faults([Fault(spot, f"'{new}' is a {kind} of this shop already; give it another id")])
    said = {**as_said(draft.now.build), "build": new}
    if title.strip():
        said["name"] = title.strip()
    ready = said_build(shop, said, ("build",))
    file = f"{FOLDER}/{new}.yaml"
    after = as_said(ready.build)
    written = _written(desk, name) if name in shop.builds else None
    if written is None or written.own_parts:
        text = as_lines(after)
    else:
        text = rewritten(written.text, written.said, after)
    _hold_same(text, file, new, after)
    if not _put(desk, file, text, None):
        raise Faults([Fault(Spot(file, 0), "is there already, and stays as it is; give the build another id")])
    desk.look_again()
    return new


def read_again(desk: Desk, draft: Draft, name: str) -> bool:
    """Take the build as its file has it now, as a step that can be taken back; whether that changed it.

    Raises
    ------
    Faults
        When the file cannot be read, or holds no such build any more.
    """
    with draft.lock:
        if name in desk.library.shop.variants:
            ready = draft.base
        else:
            ready = said_build(desk.library.shop, _written(desk, name).said)
        taken = draft.take("Read again from its file", ready)
        draft.rebase(ready)
        return taken


def as_file(desk: Desk, draft: Draft, name: str) -> str:
    """What a file of the draft would hold: that of the build, with the draft's changes in it."""
    said = as_said(draft.now.build)
    try:
        written = _written(desk, name)
        return rewritten(written.text, written.said, said)
    except (Faults, ValueError):
        return as_lines(said)


def _hold_own(desk: Desk) -> None:
    if desk.is_demo:
        raise Faults([Fault(Spot("not saved", 0), DEMO)])


def _hold_same(text: str, file: str, name: str, said: Mapping[str, Any]) -> None:
    """Hold that a text reads as the build that it is to be; nothing else is ever written."""
    if _build_in(text.encode(), file, name)[0] != said:
        told = "stands so that its lines cannot be changed one by one; change it in an editor"
        raise Faults([Fault(Spot(file, 0), told)])


def _written(desk: Desk, name: str) -> Written:
    shop = desk.library.shop
    if name in shop.variants:
        told = "is a variant, as it left the factory, and stays so; save it as a build of its own"
        raise Faults([Fault(Spot(name, 0), told)])
    file = shop.spot("build", name, "build").file
    raw = read_bytes(desk.folder / file, file)
    said, own_parts = _build_in(raw, file, name)
    return Written(file, raw, said, own_parts)


def _build_in(raw: bytes, file: str, name: str) -> tuple[dict[str, Any], bool]:
    """What a file says of a build, and whether the build has parts of its own there."""
    faults: list[Fault] = []
    tree = tree_of(raw, file)
    entries = [node for word, node in split(tree, list(MODELS), faults) if word == "build"]
    node = next((one for one in entries if one.data.get("build") == name), None)
    if node is None:
        raise Faults(faults or [Fault(Spot(file, 0), f"holds no build '{name}' any more")])
    build = validate(Build, node, faults, "build")
    if faults or build is None:
        raise Faults(faults)
    return as_said(build), any(_has_parts(one, name) for one in (tree, *tree.children.values()))


def _has_parts(node: Node, name: str) -> bool:
    return isinstance(node.data, dict) and node.data.get("build") == name and "parts" in node.data


def _mark(said: Mapping[str, Any]) -> str:
    return blake2b(repr(said).encode(), digest_size=16).hexdigest()
