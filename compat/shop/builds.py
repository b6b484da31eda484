"""A build held against its shop: everything it names exists, every value it states is read and typed.

Builds from a file and builds made in Python take the same way, so both get the same faults, all at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from compat.record import record
from compat.shop.aiming import completed, re_aimed
from compat.shop.build_links import BuildLinker, Where, hold_own_parts
from compat.shop.build_work import in_sequence, standing_part, works_of
from compat.shop.models import Build, Goal, Variant, Work
from compat.shop.options import hold_options
from compat.shop.refitting import refitted
from compat.shop.said import Said
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, Spot, read_tree, tree_of
from compat.shop.specs import Spec
from compat.shop.stating import typed_setup
from compat.shop.writing import as_said
from compat.units import Band

__all__ = [
    "ReadyBuild",
    "Where",
    "as_build",
    "check_build",
    "check_builds",
    "make_build",
    "prepare",
    "read_build",
    "said_build",
]


@record
class ReadyBuild:
    """A build with all that its shop says of it, ready to be checked. Made by `prepare`, never changed."""

    shop: Shop = field(repr=False, compare=False)
    build: Build
    variant: Variant
    goal: Goal
    """What is asked, with the variant's own rev limit and fuel where the build names none."""
    setup: Mapping[str, Spec] = field(default_factory=dict)
    measured: Mapping[tuple[str, str], Spec] = field(default_factory=dict)
    works: tuple[tuple[Work, Mapping[str, Band]], ...] = ()
    forced: Mapping[str, str] = field(default_factory=dict)
    """Work that chosen work drags in, with the work that does."""
    sequence: tuple[tuple[Work, Mapping[str, Band]], ...] = field(default=(), compare=False)
    """All work in the order it is done: as chosen, what is dragged in put where it belongs."""
    supposed: Mapping[tuple[str, str], Spec] = field(default_factory=dict)
    """What parts are supposed to state in place of what their cards do, before any work: for trying."""

    def fitting(self, **parts: str | None) -> ReadyBuild:
        """The same build with other parts in some positions; None leaves one empty, with no reason given.

        Parameters
        ----------
        **parts : str or None
            Part by position.

        Returns
        -------
        ReadyBuild
            A new build; this one stays as it is.

        Raises
        ------
        Faults
            When a position or part is not known, or the part does not fill the position.
        """
        return refitted(self, parts)

    def aiming(self, **goal: Any) -> ReadyBuild:
        """The same build at another goal: ``aiming(power="150 kW", at="6200 rpm")``; the rest stays.

        Raises
        ------
        Faults
            When an entry is not one of a goal, or its value does not suit.
        """
        found = re_aimed(self, goal)
        return self.changed(goal={**as_said(self.build.goal), **goal}) if found is None else found

    def measuring(self, *sources: str | Path | Mapping[str, Any]) -> ReadyBuild:
        """The same build with what was measured on it.

        Parameters
        ----------
        *sources : str, Path or mapping
            Files of measured values (YAML, CSV, XLSX), or what a build's own `measured` would hold.

        Returns
        -------
        ReadyBuild
            A new build; this one stays as it is.

        Raises
        ------
        Faults
            With everything wrong in any of them, and what is given twice.
        """
        from compat.shop.measured_files import with_measured

        return with_measured(self, sources)

    def changed(self, **entries: Any) -> ReadyBuild:
        """The same build with some of its entries said otherwise, as its file would say them.

        Raises
        ------
        Faults
            With everything wrong in what is said.
        """
        return said_build(self.shop, {**as_said(self.build), **entries}).measured_as(self)

    def measured_as(self, other: ReadyBuild) -> ReadyBuild:
        """The same build with what was measured on another beside its own file, on parts that both have."""
        found = {}
        for (position, spec), value in other.measured.items():
            key = f"{position}.{spec}"
            if key in other.build.measured or (position, spec) in self.measured:
                continue
            if self.variant.family == other.variant.family and self.part_in(position) == other.part_in(
                position
            ):
                found[position, spec] = value
        return replace(self, measured=MappingProxyType({**self.measured, **found})) if found else self

    def part_in(self, position: str) -> str:
        """The part in a position: chosen, of a sister, out of the box of either, or the variant's own."""
        return standing_part(self.shop, self.build, self.variant, position)


def as_build(variant: Variant) -> Build:
    """A variant as it left the factory, as a build at its own rated goal.

    The factory assembles with new gaskets and bolts, so everything opened counts as renewed.
    """
    return Build(
        build=variant.variant, name=variant.name, variant=variant.variant, goal=variant.rated, renew="all"
    )


def make_build(shop: Shop, **entries: Any) -> ReadyBuild:
    """Make a build in Python, of the same entries as a build file.

    Parameters
    ----------
    shop : Shop
        The shop.
    **entries
        ``variant``, ``goal``, ``fit`` and the other entries of a build file, values as they are written there;
        ``build`` and ``name`` may be left out.

    Returns
    -------
    ReadyBuild
        The build, held against the shop.

    Raises
    ------
    Faults
        With everything wrong in what is said.
    """
    said = {"build": "draft", "name": "Draft"} | entries
    return said_build(shop, said, ("build",) if "build" in entries else ())


def said_build(shop: Shop, said: Mapping[str, Any], named: Iterable[str] = ()) -> ReadyBuild:
    """A build of what its file would say (`as_said`); `named`: the entries that must be its own, or Faults."""
    from compat.shop.reading import validate

    node = Said(said, f"build {said['build']}")
    faults: list[Fault] = []
    build = validate(Build, node, faults, "build")
    if build is not None and "build" in named:
        _own_name(shop, build, node.spot_of, faults)
    ready = _ready(shop, build, node.spot_of, faults) if build is not None else None
    if ready is not None and ready.build.options:
        hold_options(shop, ready.build, node.spot_of, faults, _held)
    if faults or ready is None:
        raise Faults(faults)
    return ready


def prepare(shop: Shop, build: Build, where: Where | None = None) -> ReadyBuild:
    """Hold a build against its shop.

    Parameters
    ----------
    shop : Shop
        The shop.
    build : Build
        The build, from a file or made in Python.
    where : callable, optional
        Where its entries were written; else faults name the build and the entry.

    Returns
    -------
    ReadyBuild
        The build with its values typed.

    Raises
    ------
    Faults
        With everything wrong: ids that are not known, parts that do not fill their position, values of
        work, setup and measured that do not suit.
    """
    faults: list[Fault] = []
    ready = _ready(shop, build, where or _where(shop, build), faults)
    if faults or ready is None:
        raise Faults(faults)
    return ready


def _where(shop: Shop, build: Build) -> Where:
    if shop.builds.get(build.build) is build:
        return shop.nodes["build", build.build].spot_of
    return Said({}, f"build {build.build}").spot_of


def check_builds(shop: Shop, faults: list[Fault]) -> None:
    """Hold every build of the catalogue against its shop; faults are added to the list."""
    for build in shop.builds.values():
        check_build(shop, build, faults)


def check_build(shop: Shop, build: Build, faults: list[Fault]) -> None:
    """Hold one build of the catalogue against its shop; faults are added to the list."""
    where = shop.nodes["build", build.build].spot_of
    _own_name(shop, build, where, faults)
    before = len(faults)
    _held(shop, build, where, faults)
    if build.options and len(faults) == before:
        hold_options(shop, build, where, faults, _held)


def _own_name(shop: Shop, build: Build, where: Where, faults: list[Fault]) -> None:
    """Hold that a build is not called as a variant is: who asks for the variant would be shown the build."""
    if build.build in shop.variants:
        message = f"'{build.build}' is a variant; give the build an id of its own"
        faults.append(Fault(where(["build"]), message))


Typed = tuple[Mapping[str, Spec], Mapping[tuple[str, str], Spec]]


def _held(shop: Shop, build: Build, where: Where, faults: list[Fault]) -> Typed:
    """Hold a build against a shop that may itself be faulty; gives setup and what was measured."""
    setup = typed_setup(shop, build.setup, where, faults)
    measured = _measured(shop, build, where, faults)
    BuildLinker(shop, build, where, faults).check()
    return setup, measured


def _ready(shop: Shop, build: Build, where: Where, faults: list[Fault]) -> ReadyBuild | None:
    before = len(faults)
    setup, measured = _held(shop, build, where, faults)
    variant = shop.variants.get(build.variant)
    if variant is None or len(faults) > before:
        return None
    if build.measured:
        from compat.shop.measuring import hold_possible

        hold_possible(shop, build, variant, measured, faults)
        if len(faults) > before:
            return None
    works, forced = works_of(shop, build)
    sequence = in_sequence(shop, works, forced)
    return ReadyBuild(
        shop,
        build,
        variant,
        completed(build.goal, variant),
        setup,
        MappingProxyType(measured),
        works,
        MappingProxyType(forced),
        sequence,
    )


def _measured(shop: Shop, build: Build, where: Where, faults: list[Fault]) -> dict[tuple[str, str], Spec]:
    """What a build states as measured: one value for all pieces, or readings of each."""
    if not build.measured:
        return {}
    from compat.shop.measuring import measured_of

    return measured_of(shop, build, where, faults)


def read_build(shop: Shop, source: Path | bytes, shown: str = "") -> ReadyBuild:
    """Read one build file and hold it against a shop, which stays as it is.

    Parameters
    ----------
    shop : Shop
        The shop it refers to.
    source : Path or bytes
        The file, or what it holds.
    shown : str
        How messages name it; a file by its path when left out.

    Returns
    -------
    ReadyBuild
        The build, ready to be checked.

    Raises
    ------
    Faults
        With everything wrong in the file.
    """
    from compat.shop.reading import split, validate

    faults: list[Fault] = []
    name = shown or (str(source) if isinstance(source, Path) else "build")
    tree = read_tree(source, name) if isinstance(source, Path) else tree_of(source, name)
    entries = split(tree, ["build"], faults)
    if len(entries) != 1 and not faults:
        faults.append(Fault(Spot(name), f"holds {len(entries)} builds; a build file holds one"))
    if faults:
        raise Faults(faults)
    node: Node = entries[0][1]
    build = validate(Build, node, faults, "build")
    if build is not None:
        hold_own_parts(shop, build, node, faults)
        _own_name(shop, build, node.spot_of, faults)
    ready = _ready(shop, build, node.spot_of, faults) if build is not None else None
    if ready is not None and ready.build.options:
        hold_options(shop, ready.build, node.spot_of, faults, _held)
    if faults or ready is None:
        raise Faults(faults)
    return ready
