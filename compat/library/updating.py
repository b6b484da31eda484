"""Writing a compiled shop: the whole of it into a file of its own, or what changed into the one there is."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from compat.library.compiling import Compiler, base_of
from compat.library.library import Library
from compat.library.sources import Source
from compat.library.store import Store

__all__ = ["compile_anew", "update"]


def compile_anew(folder: Path, found: Mapping[str, Source], temporary: Path, path: Path) -> None:
    """Compile a shop into a new file, and put it in its place when it is whole.

    Raises
    ------
    Faults
        With everything wrong in any file of the shop.
    """
    compiler = Compiler(folder, found, None)
    compiler.choose()
    compiler.hold()
    store = Store(temporary, fresh=True)
    try:
        store.put(compiler.rows()[0])
    except BaseException:
        store.close()
        raise
    store.finish(path)


def update(
    folder: Path, found: Mapping[str, Source], store: Store, library: Library, stamps: Mapping[str, Source]
) -> None:
    """Compile what changed, and write it.

    Raises
    ------
    Faults
        With everything wrong in any file of the shop.
    Broken
        When another process has written meanwhile.
    """
    compiler = Compiler(folder, found, base_of(store, library.shop, library.book, stamps))
    compiler.choose()
    if compiler.files or compiler.gone:
        compiler.hold()
    put, dropped = compiler.rows()
    with store.writing(unless_moved="files"):
        store.drop(dropped)
        store.put(put)
