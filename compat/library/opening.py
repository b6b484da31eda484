"""Opening a shop: what was kept of it while that is so, else what its files say, kept for the next time."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from time import time_ns
from typing import TYPE_CHECKING

from compat.library.kept import kept_store, made_for, shop_file
from compat.library.library import Library, hold_folders, load
from compat.library.listing import Listing
from compat.library.place import kept_folder, sweep_out
from compat.library.sources import Stamp, changed_files, draft_name, lent_stamp, look
from compat.library.store import Broken, Store
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from compat.library.compiling import Progress
    from compat.library.store import Draft

__all__ = ["open_library"]

OLD = 86_400_000_000_000
"""A kept file is marked as used when it was not for so long [ns]."""


def open_library(
    folder: Path, cache: bool = True, progress: Progress | None = None, drafts: Sequence[Path] = ()
) -> Library:
    """Open a shop.

    Parameters
    ----------
    folder : Path
        Folder with `catalog` and `rules` in it.
    cache : bool
        Whether what was kept may be used, and may be kept; nothing but time hangs on it.
    progress : callable, optional
        Told how many files are still to be read, of how many.
    drafts : sequence of Path
        Build files outside of it whose own parts count as parts of the shop; nothing of them is kept.

    Returns
    -------
    Library
        The shop and its rulebook, as `load` gives them.

    Raises
    ------
    Faults
        With everything wrong in any file.
    """
    hold_folders(folder)
    place = kept_folder() if cache else None
    path = shop_file(place, folder) if place is not None else None
    if place is None or path is None:
        return load(folder, drafts)
    try:
        store = _current(folder, place, path, progress)
        return _opened(folder, _with_drafts(folder, path, store, drafts) if drafts else store, path)
    except (OSError, UnicodeEncodeError):  # what cannot be kept is read
        return load(folder, drafts)


def _with_drafts(folder: Path, path: Path, store: Store, drafts: Sequence[Path]) -> Store:
    """What is kept and the parts of drafts together, for as long as this program runs."""
    more = {draft_name(draft): draft for draft in drafts}
    both = _compiled(folder, {**dict(look(folder)), **more}, set(more), None, store, None)
    stamps = {file: Stamp(*stamp) for file, stamp in Listing(both).files.items()}
    both.complete(lambda: _again(folder, path, store.made, stamps, more))
    return both


def _opened(folder: Path, store: Store, path: Path) -> Library:
    from compat.library.kept_answers import kept_answers
    from compat.library.rows import Rows
    from compat.library.stored import stored_book, stored_shop

    rows = Rows(store)
    with suppress(OSError):  # a file that another is just replacing, or that can only be read, serves as well
        if time_ns() - path.stat().st_mtime_ns > OLD:
            os.utime(path)
    return Library(folder, stored_shop(rows), stored_book(rows), kept_answers())


def _kept(folder: Path, path: Path) -> tuple[Store | None, Mapping[str, Stamp]]:
    """What is kept of a shop, able to make itself again when it turns out to be broken; and its stamps."""
    store = kept_store(folder, path)
    if store is None:
        return None, {}
    listing = Listing(store)
    try:
        if (lent := listing.data("lent")) and lent != lent_stamp():
            return None, {}  # what the program lends is no longer what it was
        stamps = {file: Stamp(*stamp) for file, stamp in listing.files.items()}
    except (Broken, ValueError):
        return None, {}
    made = store.made
    store.anew = lambda: _again(folder, path, made, stamps)
    return store, stamps


def _current(folder: Path, place: Path, path: Path, progress: Progress | None) -> Store:
    """What is kept, brought up to what the files say.

    Raises
    ------
    Faults
        When they are faulty; what was kept stays.
    OSError
        When nothing can be kept.
    """
    old, stamps = _kept(folder, path)
    files, changed, read = changed_files(stamps, folder)
    if old is not None and not changed and stamps.keys() <= files.keys():
        settled = [stamp.settled for stamp in read.values() if stamp.changed < stamp.looked]
        if settled and all(settled):
            with suppress(OSError):  # where nothing can be written, they are read again each time
                return _settled(folder, place, path, old, {**stamps, **read})
        return old
    draft = _compiled(folder, files, set(changed), place, old, progress)
    if old is not None:
        old.close()  # some systems put no file in the place of one that is open
    sweep_out(place)
    return _finished(folder, path, draft)


def _settled(folder: Path, place: Path, path: Path, old: Store, stamps: Mapping[str, Stamp]) -> Store:
    """The same entries, with files that need not be read again to know that they are the same."""
    from compat.library.cards import card
    from compat.library.store import Draft

    draft = Draft(place, old)
    try:
        draft.hold_census()
    except Broken:  # what is lost is made again when it is asked for
        draft.drop()
        return old
    return _finished(folder, path, draft, stamps=card({file: stamp.card() for file, stamp in stamps.items()}))


def _finished(folder: Path, path: Path, draft: Draft, **last: str) -> Store:
    made = f"{made_for(folder)}\n{os.urandom(8).hex()}"
    try:
        for key, text in {**last, "made": made}.items():
            draft.put(key, text)
        draft.finish(path)
    except BaseException:
        draft.drop()
        raise
    store, _ = _kept(folder, path)
    if store is None or store.made != made:
        raise OSError(f"{path} was changed by another")
    return store


def _compiled(
    folder: Path,
    files: Mapping[str, Path],
    changed: set[str],
    place: Path | None,
    old: Store | None,
    progress: Progress | None,
) -> Draft:
    """New entries of a shop: of what changed, and all that this bears on."""
    from compat.library.compiling import AlsoRead, Compiler
    from compat.library.store import Draft

    read, frame, whole = set(changed), set[str](), False
    while True:
        draft = Draft(place, old)
        try:
            Compiler(folder, files, draft, frame, whole, progress).run(read)
            return draft
        except AlsoRead as more:
            draft.drop()
            read |= more.files
            frame |= more.frame
            whole |= more.whole
        except Broken:  # then all of it is read
            draft.drop()
            if old is None:
                raise
            old, read = None, set(files)
        except BaseException:
            draft.drop()
            raise


def _again(
    folder: Path,
    path: Path,
    made: str,
    stamps: Mapping[str, Stamp],
    drafts: Mapping[str, Path] | None = None,
) -> Store:
    """The entries of a broken file, made again of the files of the shop, for as long as this program runs.

    Raises
    ------
    Faults
        When these are no longer what they were: one part of the shop would not suit another.
    """
    _drop(folder, path, made)
    files, changed, _ = changed_files(stamps, folder, drafts)
    if changed or files.keys() != stamps.keys():
        message = "its files were changed after it was opened; open it again"
        raise Faults([Fault(Spot(str(folder), 0), message)])
    return _compiled(folder, files, set(files), None, None, None)


def _drop(folder: Path, path: Path, made: str) -> None:
    """Take a broken file away, unless another already stands in its place."""
    there = kept_store(folder, path)
    if there is None or there.made == made:
        with suppress(OSError):
            path.unlink()
