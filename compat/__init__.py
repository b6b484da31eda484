"""Compatibility checker for performance engine builds, on a shop's own parts and rules.

Open a shop, take or make a build, check it, change it, ask why:

>>> import compat
>>> shop = compat.open_shop()  # the demo; a folder with catalog and rules in it is given by its path
>>> build = shop.build("street-turbo")
>>> shop.check(build).verdict
'caution'
>>> wrong = shop.check(build.fitting(rod="tarn-22-long-rod"))
>>> wrong.clean, wrong.counts["conflict"] > 0
(False, True)
>>> shop.ask("pin-running-clearance", build, piston="hg-piston-860-308-d106").verdict
'ok'
>>> try:
...     build.fitting(rod="tarn-22-lnog-rod", crankshft="tarn-22-long-crankshaft")
... except compat.Faults as found:
...     for fault in found.faults:
...         print(fault)
build street-turbo: fit.crankshft: position 'crankshft' is not known; did you mean 'crankshaft'?
build street-turbo: fit.rod: part 'tarn-22-lnog-rod' is not known; did you mean 'tarn-22-long-rod'?
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from compat.version import __version__

if TYPE_CHECKING:
    from compat.checking.answers import Behind
    from compat.checking.asking import Asker
    from compat.checking.check import Checked
    from compat.checking.outcome import Outcome
    from compat.checking.session import Session
    from compat.checking.sweeping import Sweep
    from compat.checking.world import BuildWorld
    from compat.planning.fixed import Fixed
    from compat.planning.searched import Progress
    from compat.planning.terms import Terms
    from compat.planning.together import WhyNot
    from compat.rulebook.models import Verdict
    from compat.rulebook.rulebook import Rulebook
    from compat.shop.builds import ReadyBuild as Build
    from compat.shop.shop import Shop
    from compat.shop.source import Faults
    from compat.words.reasons import Reason
    from compat.words.report import Report

__all__ = ["Build", "Check", "Faults", "OpenShop", "__version__", "open_shop"]


def __getattr__(name: str) -> Any:
    # what a program may name, imported when it does: the command line imports this package at every start
    if name == "Faults":
        from compat.shop.source import Faults

        return Faults
    if name == "Build":
        from compat.shop.builds import ReadyBuild

        return ReadyBuild
    raise AttributeError(f"module 'compat' has no attribute '{name}'")


def _refuse(message: str, word: str, known: Iterable[str]) -> NoReturn:
    """Raise a fault that ends with the nearest valid word."""
    from compat.shop.source import Fault, Faults, Spot, nearest

    raise Faults([Fault(Spot("asked", 0), f"{message}{nearest(word, known)}")])


def _terms(said: dict[str, Any]) -> Terms:
    """Terms of their names."""
    from compat.planning.terms import Terms

    for name in said:
        if name not in Terms.__dataclass_fields__:
            _refuse(f"term '{name}' is not known", name, Terms.__dataclass_fields__)
    sets = {name: frozenset(said[name]) for name in {"keep", "avoid", "avoid_suppliers"} & said.keys()}
    return Terms(**{**said, **sets})


def open_shop(folder: str | Path | None = None, *, cache: bool = True) -> OpenShop:
    """Open a shop.

    Parameters
    ----------
    folder : str or Path, optional
        Folder with `catalog` and `rules` in it; the demo shop when left out.
    cache : bool
        Whether what was kept of the shop in the user's cache folder may be used, and may be kept there. Nothing
        but time hangs on it.

    Returns
    -------
    OpenShop
        The shop, ready to check builds.

    Raises
    ------
    Faults
        With everything wrong in any of its files.
    """
    from compat.library.opening import open_library
    from compat.library.sources import demo_folder

    library = open_library(Path(folder) if folder is not None else demo_folder(), cache)
    return OpenShop(library.shop, library.book, behind=library.answers)


class OpenShop:
    """A shop that checks builds. Neither it nor anything it gives is changed by use.

    What is remembered between checks lives in its `session`, within a bound; threads may share a shop, and a
    process may open many.

    Parameters
    ----------
    things : Shop
        What the catalogue holds.
    book : Rulebook
        What must hold between them.
    answers, checks : int
        How many answers of heavy formulas, and how many checked builds, are remembered.
    behind : Behind, optional
        Where answers of heavy formulas are kept for other runs.
    """

    def __init__(
        self, things: Shop, book: Rulebook, answers: int = 4096, checks: int = 16, behind: Behind | None = None
    ) -> None:
        self.things = things
        self.book = book
        self._bounds = answers, checks, behind

    @cached_property
    def session(self) -> Session:
        """Where checks remember."""
        from compat.checking.session import Session

        return Session(self.things, self.book, *self._bounds)

    # builds

    def build(self, name: str) -> Build:
        """A build or variant of the catalogue, by its id; a variant as it left the factory, at its own rating.

        Raises
        ------
        Faults
            When there is none of that name.
        """
        from compat.library.library import build_of_id

        return build_of_id(self.things, name)

    def read(self, path: str | Path) -> Build:
        """Read a build file; the shop stays as it is.

        Raises
        ------
        Faults
            With everything wrong in the file.
        """
        from compat.shop.builds import read_build

        return read_build(self.things, Path(path))

    def make(self, **entries: Any) -> Build:
        """Make a build of the entries that a build file has: ``make(variant=..., goal={...}, fit={...})``.

        Raises
        ------
        Faults
            With everything wrong in what is said.
        """
        from compat.shop.builds import make_build

        return make_build(self.things, **entries)

    # checks

    def check(self, build: Build | str) -> Check:
        """Check a build, or the build or variant of an id.

        Raises
        ------
        Faults
            When there is none of that id.
        """
        return Check(self.session.check(self.build(build) if isinstance(build, str) else build))

    def ask(self, rule: str, build: Build | str, **parts: str) -> Outcome | None:
        """What one rule says of a build, with other parts in some positions.

        Parameters
        ----------
        rule : str
            Id of the rule.
        build : Build or str
            The build.
        **parts : str
            Part by position, in place of the build's own.

        Returns
        -------
        Outcome or None
            Verdict and figures [SI]; None when the rule does not apply.

        Raises
        ------
        Faults
            When the rule, a position or a part is not known, or they do not belong together.
        """
        if rule not in self.book.rules:
            _refuse(f"rule '{rule}' is not known", rule, self.book.rules)
        return self._asker(self.check(build).checked).ask(rule, parts)

    def _asker(self, base: Checked) -> Asker:
        from compat.checking.asking import Asker

        return Asker(self.session, base)

    def moves(self, position: str, spec: str = "") -> frozenset[str]:
        """Ids of the rules that another part in a position, or another value of one of its specs, can move.

        Raises
        ------
        Faults
            When there is no such position or spec.
        """
        kinds = self.things.kinds
        if position not in kinds:
            _refuse(f"position '{position}' is not known", position, kinds)
        if spec and spec not in kinds[position]:
            _refuse(f"spec '{spec}' is not declared for position '{position}'", spec, kinds[position])
        influence = self.session.influence
        if spec:
            return frozenset(influence.of([("spec", position, spec)]).rules)
        return frozenset(influence.at(position).rules)

    def sweep(self, build: Build | str, candidates: Mapping[str, Iterable[str]]) -> Sweep:
        """Judge every combination of candidate parts on a build.

        Parameters
        ----------
        build : Build or str
            The build that the parts go into.
        candidates : mapping
            Parts to try, by position.

        Returns
        -------
        Sweep
            The worst verdict of each combination.
        """
        from compat.checking.sweeping import sweep

        return sweep(self.session, self.check(build).checked, candidates)

    # changes

    def fix(self, build: Build | str, *, tell: Callable[[Progress], None] | None = None, **terms: Any) -> Fixed:
        """Put a build right, or complete one that names little more than a goal: the changes that cost least.

        Parameters
        ----------
        build : Build or str
            The build, or the build or variant of an id.
        tell : callable, optional
            Told how far the search is; may raise KeyboardInterrupt to end it with the best so far.
        **terms
            As `compat.planning.terms.Terms` has them: ``keep``, ``avoid``, ``budget``, ``aim``, ``seconds`` ...

        Returns
        -------
        Fixed
            The best build found, checked whole; its changes, cost and bound; and what else could be had.

        Raises
        ------
        Faults
            When there is no build of that id, or a term is not known or makes no sense.

        Examples
        --------
        >>> shop = open_shop()
        >>> wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
        >>> fixed = shop.fix(wrong, keep={"camshaft_inlet"}, seconds=60, gap=0.02)
        >>> fixed.best is not None and fixed.best.checked.proven
        True
        """
        from compat.planning.fixing import fix

        ready = self.build(build) if isinstance(build, str) else build
        return fix(self.session, ready, _terms(terms), tell)

    def why_not(
        self, build: Build | str, *, tell: Callable[[Progress], None] | None = None, **terms: Any
    ) -> WhyNot:
        """Why no build passes on some terms: the fewest things asked that cannot stand together.

        Parameters
        ----------
        build : Build or str
            The build, or the build or variant of an id.
        tell : callable, optional
            Told how far the search is; may raise KeyboardInterrupt to end it with what is known by then.
        **terms
            As `compat.planning.terms.Terms` has them: ``keep``, ``avoid``, ``budget``, ``seconds`` ... It takes
            minutes where much is asked: each thing given up is a search of its own.

        Returns
        -------
        WhyNot
            What of all that is asked cannot stand together, because of which rules, and what giving up each
            allows at what price; or a build, where one passes after all.

        Raises
        ------
        Faults
            When there is no build of that id, or a term is not known or makes no sense.

        Examples
        --------
        >>> shop = open_shop()
        >>> told = shop.why_not("fell-30-base", keep={"crankshaft"}, seconds=60)
        >>> told.ended, told.possible.checked.proven
        ('possible', True)
        """
        from compat.planning.why_not import why_not

        ready = self.build(build) if isinstance(build, str) else build
        return why_not(self.session, ready, _terms(terms), tell)


class Check:
    """What a check found: verdicts as data, and sentences when they are asked for."""

    def __init__(self, checked: Checked) -> None:
        self.checked = checked

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of all."""
        return self.checked.verdict

    @property
    def counts(self) -> Mapping[Verdict, int]:
        """Number of outcomes by verdict, worst first."""
        return self.checked.counts

    @property
    def clean(self) -> bool:
        """Whether nothing conflicts, falls short or is missing."""
        return self.checked.clean

    @property
    def proven(self) -> bool:
        """Whether nothing stands against it and nothing is unknown either: an unknown is not a pass."""
        return self.checked.proven

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """Every outcome as data, figures in SI."""
        return tuple(self.checked.outcomes)

    @property
    def world(self) -> BuildWorld:
        """The build as rules see it: specs, figures, goal."""
        return self.checked.world

    @cached_property
    def report(self) -> Report:
        """The report in metric units."""
        return self.reported("metric")

    def reported(self, units: str, *, loads: bool = False) -> Report:
        """The report in ``metric`` or ``imperial`` units, made anew; with the table of loads when asked."""
        from compat.words.reporting import report

        return report(self.checked, units, loads=loads)

    def why(self, rule: str, units: str = "metric") -> list[Reason]:
        """What the outcome of a rule rests on: figures, specs and goal entries, each with what it rests on."""
        from compat.words.reasons import reasons

        book = self.world.settled.book
        if rule not in book.rules:
            _refuse(f"rule '{rule}' is not known", rule, book.rules)
        return reasons(self.world, book.rules[rule], units)
