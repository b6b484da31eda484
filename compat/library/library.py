"""Where a shop's files are, and reading them all together."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from compat.library.sources import FOLDERS
from compat.record import record
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild, as_build, check_builds, prepare, read_build
from compat.shop.graph import Key, digraph
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest

if TYPE_CHECKING:
    import networkx as nx

    from compat.library.kept_answers import KeptAnswers

__all__ = [
    "Library",
    "build_of_id",
    "empty",
    "find_build",
    "hold_folders",
    "load",
    "without_variant",
]


@record
class Library:
    """A shop and its rulebook, read and checked."""

    folder: Path
    shop: Shop
    book: Rulebook
    answers: KeptAnswers | None = None
    """Where answers of heavy formulas are kept for other runs."""

    @cached_property
    def graph(self) -> nx.MultiDiGraph[Key]:
        """Everything that the shop and its rulebook say of each other, in one graph of (kind, id)."""
        return digraph([*self.shop.edges(), *self.book.edges()], {**self.shop.names(), **self.book.names()})


def load(folder: Path) -> Library:
    """Read the catalogue and the rulebook of a shop.

    Parameters
    ----------
    folder : Path
        Folder with `catalog` and `rules` in it.

    Returns
    -------
    Library
        Both, with every expression compiled.

    Raises
    ------
    Faults
        With everything wrong in any file of either.
    """
    hold_folders(folder)
    from compat.rulebook.reading import read_rulebook
    from compat.shop.reading import read_shop

    faults: list[Fault] = []
    shop = read_shop(folder / "catalog", faults)
    if not shop.nodes and not faults:
        raise Faults([empty(folder)])
    if not any(fault.unread for fault in faults):
        check_builds(shop, faults)
    book = read_rulebook(folder / "rules", shop, faults)
    if not shop.variants and not faults:
        faults.append(without_variant(folder))
    if faults:
        raise Faults(faults)
    return Library(folder, shop, book)


def empty(folder: Path) -> Fault:
    """What is wrong with a catalogue that holds nothing."""
    return Fault(Spot(str(folder / "catalog"), 0), "holds no entry in any .yaml file")


def without_variant(folder: Path) -> Fault:
    """What is wrong with a catalogue that holds no variant."""
    return Fault(Spot(str(folder / "catalog"), 0), "holds no variant; a build has nothing to start from")


def hold_folders(folder: Path) -> None:
    """Hold that a folder is one of a shop.

    Raises
    ------
    Faults
        When it lacks one of the two folders.
    """
    lacking = [name for name in FOLDERS if not (folder / name).is_dir()]
    if lacking:
        raise Faults([Fault(Spot(str(folder), 0), f"holds no folder '{name}'") for name in lacking])


def find_build(library: Library, name: str) -> ReadyBuild:
    """Find what is to be checked: a build file, or the id of a build or variant.

    Parameters
    ----------
    library : Library
        The shop.
    name : str
        A path to a build file, or an id; a variant is taken as it left the factory, at its own rating.

    Returns
    -------
    ReadyBuild
        The build, held against the shop.

    Raises
    ------
    Faults
        When the file is faulty or the id is not known.
    """
    shop = library.shop
    named = name in shop.builds or name in shop.variants
    path = Path(name)
    if not named and (name.endswith((".yaml", ".yml")) or "/" in name or path.is_file()):
        return read_build(shop, path)
    return build_of_id(shop, name)


def build_of_id(shop: Shop, name: str) -> ReadyBuild:
    """The build or variant of an id, held against its shop.

    Raises
    ------
    Faults
        When there is none.
    """
    if name in shop.builds:
        return prepare(shop, shop.builds[name])
    if name in shop.variants:
        return prepare(shop, as_build(shop.variants[name]))
    known = [*shop.builds, *shop.variants]
    listing = f"; builds: {', '.join(shop.builds) or 'none'}; variants: {', '.join(shop.variants)}"
    raise Faults(
        [Fault(Spot(name, 0), f"no build, variant or build file of that name{nearest(name, known) or listing}")]
    )
