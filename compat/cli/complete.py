"""Words for shell completion: of what is kept of the shop, else of its files; a faulty shop has none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from compat.shop.words import KINDS

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["builds", "formulas", "ids", "parts", "pictures", "positions", "rules", "suppliers"]


def _named(start: str, *kinds: str) -> list[str]:
    """Ids of some kinds that begin so."""
    import os
    from contextlib import suppress
    from pathlib import Path

    from compat.cli.options import choose_folder
    from compat.library.kept import kept_listing
    from compat.library.store import Broken

    try:
        given = os.environ.get("COMPAT_SHOP")
        folder = choose_folder(Path(given) if given else None)
        kept = kept_listing(folder)
        with suppress(Broken):
            if kept is not None:
                return _matching((name for kind in kinds for name in kept.names(kind)), start)
        return _of_files(folder, start, kinds)
    except (OSError, SystemExit):
        return []


def _of_files(folder: Path, start: str, kinds: tuple[str, ...]) -> list[str]:
    from compat.library.opening import open_library
    from compat.shop.source import Faults

    try:
        library = open_library(folder)
    except Faults:
        return []
    names = {**library.shop.names(), **library.book.names()}
    return _matching((name for kind, name in names if kind in kinds), start)


def _matching(words: Iterable[str], start: str) -> list[str]:
    return sorted(word for word in words if word.startswith(start))


def builds(incomplete: str) -> list[str]:
    """Ids of builds and variants."""
    return _named(incomplete, "build", "variant")


def positions(incomplete: str) -> list[str]:
    """Ids of positions."""
    return _named(incomplete, "position")


def parts(incomplete: str) -> list[str]:
    """Ids of parts."""
    return _named(incomplete, "part")


def suppliers(incomplete: str) -> list[str]:
    """Ids of suppliers."""
    return _named(incomplete, "supplier")


def rules(incomplete: str) -> list[str]:
    """Ids of rules."""
    return _named(incomplete, "rule")


def ids(incomplete: str) -> list[str]:
    """Ids of everything."""
    return _named(incomplete, *KINDS, "rule", "figure")


def pictures(incomplete: str) -> list[str]:
    """Names of pictures."""
    from compat.paper.pictures.kinds import PICTURES

    return _matching(PICTURES, incomplete)


def formulas(incomplete: str) -> list[str]:
    """Names of formulas."""
    from compat.engineering import load_all

    return _matching(list(load_all()), incomplete)
