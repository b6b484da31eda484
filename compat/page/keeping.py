"""Drafts written down as they change, so that they outlive the page: a private file for each sitting.

A sitting is known by its cookie alone. Whoever brings the cookie of one that the page no longer knows is given
its drafts; the file is named by a digest of cookie and shop, so that nothing in it lets anybody in.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from threading import Lock
from time import time
from typing import Any, Final

from compat.library.library import build_of_id
from compat.library.place import OFF, kept_file, own_folder
from compat.page.drafts import Draft
from compat.shop.builds import said_build
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.shop.writing import as_said

__all__ = ["Keeping", "drafts_folder"]

VARIABLE: Final = "COMPAT_DRAFTS"
SUFFIX: Final = ".drafts"
MOST: Final = 8_000_000
"""Bytes that one sitting may write; what it changes beyond that ends with the page."""
LONGEST: Final = 30 * 86_400
"""Drafts that nobody went on with for so long [s] are taken away."""


def drafts_folder() -> Path | None:
    """Where drafts are kept: where `COMPAT_DRAFTS` says, else the user's own data; None where it says `off`."""
    from platformdirs import user_data_path

    said = os.environ.get(VARIABLE, "")
    if said:
        return None if said.lower() == OFF else Path(said)
    return user_data_path("shop-compat", appauthor=False) / "drafts"


class Keeping:
    """Writes drafts of one shop down, and reads them again.

    Parameters
    ----------
    folder : Path
        A folder of the user's own; where others may write to it nothing is kept.
    shop : Path
        Folder of the shop.
    """

    def __init__(self, folder: Path, shop: Path) -> None:
        self.folder = own_folder(folder)
        self.shop = str(shop.resolve())
        self._lock = Lock()
        if self.folder is not None:
            _sweep_out(self.folder)

    def keep(self, key: str, name: str, draft: Draft, *, begun: bool = False) -> None:
        """Write down from here on what becomes of a draft.

        Parameters
        ----------
        key : str
            Of the sitting.
        name : str
            Of the build.
        draft : Draft
            The draft.
        begun : bool
            Whether it is written down already how the draft began.
        """
        path = self._path(key)
        if path is None:
            return
        first = [] if begun else [{"base": as_said(draft.base.build)}]

        def write(said: Mapping[str, Any]) -> None:
            entries = [*first, said]
            first.clear()
            lines = (json.dumps({"draft": name, **one}, ensure_ascii=False) + "\n" for one in entries)
            self._append(path, "".join(lines).encode())

        draft.keep = write

    def _append(self, path: Path, text: bytes) -> None:
        with self._lock, suppress(OSError):
            handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
            with os.fdopen(handle, "ab") as file:
                if file.seek(0, os.SEEK_END) < MOST:
                    file.write(text)

    def given_back(self, old: str, new: str, shop: Shop) -> dict[str, Draft]:
        """Give the drafts of a sitting that is over to the one that goes on with it.

        Parameters
        ----------
        old, new : str
            Keys of both.
        shop : Shop
            The shop as it is now.

        Returns
        -------
        dict
            Drafts by the names of their builds, each as far as it still goes with the shop.
        """
        path, target = self._path(old), self._path(new)
        if path is None or target is None or not path.is_file():
            return {}
        try:
            path.replace(target)
            lines = target.read_bytes().splitlines()
        except OSError:
            return {}
        drafts: dict[str, Draft] = {}
        ended: set[str] = set()
        for name, said in _entries(lines):
            if name in ended:
                continue
            try:
                if name not in drafts:
                    drafts[name] = Draft(build_of_id(shop, name))
                _done(drafts[name], said, shop)
            except (Faults, KeyError, TypeError, AttributeError):
                ended.add(name)
        for name, draft in drafts.items():
            self.keep(new, name, draft, begun=True)
        return drafts

    def _path(self, key: str) -> Path | None:
        return None if self.folder is None else kept_file(self.folder, f"{key} {self.shop}", SUFFIX)


def _entries(lines: list[bytes]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for line in lines:
        with suppress(ValueError, KeyError, TypeError):  # the last line may have been cut off
            said = json.loads(line)
            yield said.pop("draft"), said


def _done(draft: Draft, said: Mapping[str, Any], shop: Shop) -> None:
    if "take" in said:
        draft.take(said["take"], said_build(shop, said["build"]))
    elif "undo" in said:
        draft.undo()
    elif "redo" in said:
        draft.redo()
    elif "base" in said:
        draft.base = said_build(shop, said["base"])
        draft.start = draft.start if draft.steps else draft.base


def _sweep_out(folder: Path) -> None:
    for path in folder.glob(f"*{SUFFIX}"):
        with suppress(OSError):
            if time() - path.lstat().st_mtime > LONGEST:
                path.unlink()
