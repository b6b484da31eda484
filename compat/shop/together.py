"""Several files of a shop written as one: all of them or none, whenever it is broken off.

The new texts are put in a folder beside the shop's own, which gets its final name in one step of the file
system. From then on they count, and whoever opens the shop next puts what is left in its place.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from compat.shop.source import COMING, Fault, Faults, Spot

__all__ = ["finish_writing", "write_together"]

BEGUN = ".coming-"
"""What folders of texts begin with that do not count yet."""
LIST = "files.json"


def write_together(folder: Path, texts: Mapping[str, str], before: Mapping[str, bytes | None]) -> None:
    """Write files of a shop, all or none.

    Parameters
    ----------
    folder : Path
        Folder of the shop.
    texts : mapping
        What each file is to hold, by its path from that folder, with slashes.
    before : mapping
        What each of them held when the texts were made; None where it was not there.

    Raises
    ------
    Faults
        When one of them holds something else by now; nothing is written.
    OSError
        When something cannot be written; the next opening of the shop finishes what counts already.
    """
    finish_writing(folder)
    if not texts:
        return
    if moved := [name for name in texts if _held(folder / name) != _mark(before.get(name))]:
        raise Faults(Fault(Spot(name), "was changed meanwhile; nothing was written") for name in moved)
    for left in folder.glob(f"{BEGUN}*"):  # of one that was broken off before it counted
        shutil.rmtree(left, ignore_errors=True)
    begun = Path(tempfile.mkdtemp(dir=folder, prefix=BEGUN))
    entries = []
    try:
        for number, (name, text) in enumerate(texts.items()):
            _put(begun / f"{number}.new", text.encode())
            was, becomes = _mark(before.get(name)), _mark(text.encode())
            entries.append({"file": name, "was": was, "becomes": becomes})
        _put(begun / LIST, json.dumps(entries, ensure_ascii=False, indent=1).encode())
        _sync(begun)
        begun.rename(folder / COMING)  # from here on the shop is the new one
    except BaseException:
        shutil.rmtree(begun, ignore_errors=True)
        raise
    _sync(folder)
    finish_writing(folder)


def finish_writing(folder: Path) -> None:
    """Put texts in their places that were begun and count; nothing where there are none.

    Raises
    ------
    Faults
        When a file was changed by hand since, or the texts are not whole.
    """
    coming = folder / COMING
    if not coming.exists():
        return
    try:
        entries = _entries(coming)
    except FileNotFoundError:
        if coming.exists():  # else another process has just finished it
            raise Faults([Fault(Spot(str(coming), 0), _BROKEN)]) from None
        return
    except (ValueError, KeyError, TypeError):
        raise Faults([Fault(Spot(str(coming), 0), _BROKEN)]) from None
    faults = []
    left = []
    for number, entry in enumerate(entries):
        new, target = coming / f"{number}.new", folder / entry["file"]
        held = _held(target)
        if held == entry["becomes"]:
            continue
        if held != entry["was"]:
            told = f"was changed while it was being written; its new text is {COMING}/{new.name}: put the "
            faults.append(Fault(Spot(entry["file"], 0), f"{told}two together, and take away {COMING}"))
        else:
            left.append((new, target, entry))
    if faults:
        raise Faults(faults)
    for new, target, entry in left:
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            new.replace(target)
        except FileNotFoundError:  # another process may be finishing it as well
            if _held(target) == entry["was"]:
                raise
        _sync(target.parent)
    with suppress(FileNotFoundError):
        done = coming.rename(folder / f"{BEGUN}done-{os.getpid()}")  # in one step, as it began
        shutil.rmtree(done, ignore_errors=True)
    _sync(folder)


_BROKEN = (
    "holds texts of files that were being written, and is not whole; take it away and do again what wrote them"
)
_INSIDE = re.compile(r"(?:catalog|lists)/[^\0]+")


def _entries(coming: Path) -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = json.loads((coming / LIST).read_bytes())
    for entry in entries:
        if not _INSIDE.fullmatch(entry["file"]) or ".." in entry["file"].split("/"):
            raise ValueError(entry["file"])
        if not isinstance(entry["becomes"], str) or not isinstance(entry["was"], str | None):
            raise TypeError(entry["file"])
    return entries


def _mark(raw: bytes | None) -> str | None:
    return None if raw is None else sha256(raw).hexdigest()


def _held(path: Path) -> str | None:
    return _mark(path.read_bytes()) if path.is_file() else None


def _put(path: Path, raw: bytes) -> None:
    with path.open("wb") as file:
        file.write(raw)
        file.flush()
        os.fsync(file.fileno())
    path.chmod(0o644)


def _sync(folder: Path) -> None:
    """Have the entries of a folder on the disk, where the system can be asked for it."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # some systems open no folder
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
