"""Finding what was kept of a shop, and telling whether this very program kept it."""

from __future__ import annotations

from pathlib import Path

from compat.library.listing import Listing
from compat.library.place import kept_file, kept_folder, program_stamp
from compat.library.store import Broken, Store

__all__ = ["kept_listing", "kept_store", "made_for", "shop_file"]


def shop_file(place: Path, folder: Path) -> Path | None:
    """The file in which a shop is kept; None where another user owns it or may write to it."""
    return kept_file(place, str(folder.resolve()), ".shop")


def made_for(folder: Path) -> str:
    """What a kept file says of its making when it is this program's, and of this folder."""
    return f"{program_stamp()} {folder.resolve()}"


def kept_store(folder: Path, path: Path) -> Store | None:
    """Give what is kept in a file, if this program made it of this folder.

    Parameters
    ----------
    folder : Path
        The shop.
    path : Path
        The file.

    Returns
    -------
    Store or None
        The entries.
    """
    try:
        store = Store(path)
    except Broken:
        return None
    return store if store.made.partition("\n")[0] == made_for(folder) else None


def kept_listing(folder: Path) -> Listing | None:
    """What is kept of a shop, whether its files still say so or not; for completing words."""
    place = kept_folder()
    path = shop_file(place, folder) if place is not None else None
    store = kept_store(folder, path) if path is not None else None
    return Listing(store) if store is not None else None
