"""Words for shell completion; a shop that cannot be read completes to nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from compat.library.library import Library

__all__ = ["builds", "formulas", "ids", "rules"]


def _library() -> Library | None:
    import os
    from pathlib import Path

    from compat.cli.options import choose_folder
    from compat.library.library import load
    from compat.shop.source import Faults

    try:
        given = os.environ.get("COMPAT_SHOP")
        return load(choose_folder(Path(given) if given else None))
    except (Faults, OSError, SystemExit):
        return None


def _matching(words: list[str], start: str) -> list[str]:
    return sorted(word for word in words if word.startswith(start))


def builds(incomplete: str) -> list[str]:
    """Ids of builds and variants."""
    library = _library()
    return _matching([*library.shop.builds, *library.shop.variants], incomplete) if library else []


def rules(incomplete: str) -> list[str]:
    """Ids of rules."""
    library = _library()
    return _matching(list(library.book.rules), incomplete) if library else []


def ids(incomplete: str) -> list[str]:
    """Ids of everything."""
    library = _library()
    if library is None:
        return []
    names = [thing.id for thing in library.shop.things()]
    return _matching([*names, *library.book.rules, *library.book.figures], incomplete)


def formulas(incomplete: str) -> list[str]:
    """Names of formulas."""
    from compat.engineering import load_all

    return _matching(list(load_all()), incomplete)
