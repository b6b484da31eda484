"""A build on the table: as it is now, with every step back to how it was read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from threading import RLock
from typing import Any

from compat.shop.builds import ReadyBuild, prepare
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.shop.writing import as_said

__all__ = ["MOST_STEPS", "Draft", "Step"]

MOST_STEPS = 500
"""Steps that can be taken back."""
NO_SHOP = Shop()
"""Stands for a shop that was opened anew since."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change and the build after it."""

    says: str
    build: ReadyBuild


@dataclass
class Draft:
    """A build that somebody changes; changes are kept in order and can be taken back and done again.

    Parameters
    ----------
    base : ReadyBuild
        The build as it was read or last saved.

    Examples
    --------
    >>> import compat
    >>> draft = Draft(compat.open_shop().build("street-turbo"))
    >>> draft.take("another plug", draft.now.fitting(spark_plug="spn-plug-short-3"))
    True
    >>> draft.undo(), draft.now == draft.base, draft.redo(), draft.now == draft.base
    ('another plug', True, 'another plug', False)
    """

    base: ReadyBuild
    steps: list[Step] = field(default_factory=list)
    at: int = 0
    lock: RLock = field(default_factory=RLock, repr=False)
    start: ReadyBuild = field(init=False, repr=False)
    """The build before the first step that can be taken back."""
    keep: Callable[[Mapping[str, Any]], None] | None = field(default=None, repr=False)
    """Where every change is written down, for a page that is started again."""

    def __post_init__(self) -> None:
        """Begin where the build was read."""
        self.start = self.base

    @property
    def now(self) -> ReadyBuild:
        """The build as it is."""
        return self.steps[self.at - 1].build if self.at else self.start

    @property
    def before(self) -> ReadyBuild:
        """The build before the last step; the build itself where there was none."""
        return self.steps[self.at - 2].build if self.at > 1 else self.start

    @property
    def changed(self) -> bool:
        """Whether it differs from how it was read or last saved."""
        return self.now != self.base

    @property
    def can_undo(self) -> str:
        """What would be taken back; empty where there is nothing."""
        return self.steps[self.at - 1].says if self.at else ""

    @property
    def can_redo(self) -> str:
        """What would be done again; empty where there is nothing."""
        return self.steps[self.at].says if self.at < len(self.steps) else ""

    def take(self, says: str, build: ReadyBuild) -> bool:
        """Go on to a changed build; what was taken back before is gone. A build as it was is no step."""
        with self.lock:
            if build == self.now:
                return False
            del self.steps[self.at :]
            self.steps.append(Step(says, build))
            if len(self.steps) > MOST_STEPS:
                self.start = self.steps.pop(0).build
            self.at = len(self.steps)
            self._kept(take=says, build=as_said(build.build))
            return True

    def undo(self) -> str:
        """Take the last step back; what it was, empty where there is none."""
        with self.lock:
            said = self.can_undo
            self.at -= bool(said)
            self._kept(undo=said)
            return said

    def redo(self) -> str:
        """Do again what was taken back; what it is, empty where there is none."""
        with self.lock:
            said = self.can_redo
            self.at += bool(said)
            self._kept(redo=said)
            return said

    def rebase(self, base: ReadyBuild) -> None:
        """Hold changes against another state of the file: it was saved, or read again."""
        with self.lock:
            self.base = base
            self._kept(base=as_said(base.build))

    def hold(self, shop: Shop) -> None:
        """Hold the build, and the one before it where it can be, against a shop that was opened anew.

        Raises
        ------
        Faults
            When the build does not go with what the shop says now; the draft stays as it was.
        """
        with self.lock:
            if self.now.shop is shop:
                return
            self._put(self.at, prepare(shop, self.now.build).measured_as(self.now))
            if self.at:
                with suppress(Faults):
                    self._put(self.at - 1, prepare(shop, self.before.build).measured_as(self.before))
            self._let_go(shop)

    def _let_go(self, shop: Shop) -> None:
        """Keep no other shop in memory for what may be taken back or done again: it is held anew then."""
        self.base = _let_go(self.base, shop)
        self.start = _let_go(self.start, shop)
        self.steps = [Step(step.says, _let_go(step.build, shop)) for step in self.steps]

    def _put(self, number: int, build: ReadyBuild) -> None:
        if number:
            self.steps[number - 1] = Step(self.steps[number - 1].says, build)
        else:
            self.start = build

    def _kept(self, **said: Any) -> None:
        if self.keep is not None:
            self.keep(said)


def _let_go(build: ReadyBuild, shop: Shop) -> ReadyBuild:
    return build if build.shop is shop else replace(build, shop=NO_SHOP)
