"""Opening the compiled shop of a folder, and bringing it up to date where files have changed."""

from __future__ import annotations

import json
import os
import tempfile
from contextlib import suppress
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from compat.library.sources import Source, same, sources
from compat.library.store import Broken, Store, cache_folder, discard
from compat.library.stored import BROKEN, stored_library

if TYPE_CHECKING:
    from collections.abc import Mapping

    from compat.library.library import Library

__all__ = ["open_stored", "stored_ids", "stored_path"]

TRIES = 3
"""How often to begin anew when another process writes meanwhile."""


def stored_path(folder: Path) -> Path | None:
    """Where the compiled shop of a folder stands; None when there is no cache folder that is ours."""
    where = cache_folder()
    if where is None:
        return None
    whole = str(folder.resolve())
    return where / f"{blake2b(os.fsencode(whole), digest_size=12).hexdigest()}.shop"


def open_stored(folder: Path) -> Library | None:
    """Open the compiled shop of a folder, compiling what is not.

    Parameters
    ----------
    folder : Path
        The shop.

    Returns
    -------
    Library or None
        None when there is no way to keep a compiled shop here: the files must be read.

    Raises
    ------
    Faults
        With everything wrong in any file of the shop.
    """
    path = stored_path(folder)
    if path is None:
        return None
    for _ in range(TRIES):
        try:
            return _opened(folder, path)
        except Broken:
            continue
        except OSError:
            return None
    return None


def _opened(folder: Path, path: Path) -> Library:
    from compat.library.library import read_files

    plain = partial(read_files, folder)
    found = sources(folder)
    store = library = stamps = None
    try:
        if path.exists():
            store = Store(path)
            stamps = _stamps(store)
            library = stored_library(folder, store, plain)
    except BROKEN:
        if store is not None:
            store.close()
        discard(path)
        store = library = stamps = None
    if store is not None and library is not None and stamps is not None and _current(found, stamps, folder):
        return library
    from compat.library.updating import compile_anew, update

    if store is None or library is None or stamps is None:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".compiling-")
        os.close(handle)
        temporary = Path(name)
        temporary.unlink()
        try:
            compile_anew(folder, found, temporary, path)
        finally:
            discard(temporary)
        store = Store(path)
    else:
        try:
            update(folder, found, store, library, stamps)
        except BROKEN:
            store.close()
            discard(path)
            raise Broken(str(path)) from None
    return stored_library(folder, store, plain)


def _stamps(store: Store) -> dict[str, Source]:
    return {card[0]: Source(*card) for card in json.loads(store.need("files"))}


def _current(found: Mapping[str, Source], stamps: Mapping[str, Source], folder: Path) -> bool:
    return list(found) == list(stamps) and all(same(now, stamps[path], folder) for path, now in found.items())


def stored_ids(folder: Path, kinds: tuple[str, ...]) -> list[str] | None:
    """Ids of some kinds out of a compiled shop, without opening more of it.

    Returns
    -------
    list of str or None
        None when there is no compiled shop, or a file has changed since.
    """
    path = stored_path(folder)
    if path is None or not path.exists():
        return None
    with suppress(*BROKEN, OSError):
        store = Store(path)
        try:
            if _current(sources(folder), _stamps(store), folder):
                return [name for kind in kinds for name in json.loads(store.need(f"ids:{kind}"))]
        finally:
            store.close()
    return None
