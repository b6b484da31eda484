"""A build on the table: as it is now, with every step back to how it was read."""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import RLock

from compat.shop.builds import ReadyBuild

__all__ = ["MOST_STEPS", "Draft", "Step"]

MOST_STEPS = 500
"""Steps that can be taken back."""


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
    >>> draft.undo(), draft.now == draft.base, draft.redo(), draft.now == draft.base
    ('another plug', True, 'another plug', False)
    """

    base: ReadyBuild
    steps: list[Step] = field(default_factory=list)
    at: int = 0
    lock: RLock = field(default_factory=RLock, repr=False)

    @property
    def now(self) -> ReadyBuild:
        """The build as it is."""
        return self.steps[self.at - 1].build if self.at else self.base

    @property
    def before(self) -> ReadyBuild:
        """The build before the last step; the build itself where there was none."""
        return self.steps[self.at - 2].build if self.at > 1 else self.base

    @property
    def changed(self) -> bool:
        """Whether it differs from how it was read."""
        return self.now != self.base

    @property
    def can_undo(self) -> str:
        """What would be taken back; empty where there is nothing."""
        return self.steps[self.at - 1].says if self.at else ""

    @property
    def can_redo(self) -> str:
        """What would be done again; empty where there is nothing."""
        return self.steps[self.at].says if self.at < len(self.steps) else ""

    def take(self, says: str, build: ReadyBuild) -> None:
        """Go on to a changed build; what was taken back before is gone. A build as it was is no step."""
        with self.lock:
            if build == self.now:
                return
            del self.steps[self.at :]
            self.steps.append(Step(says, build))
            if len(self.steps) > MOST_STEPS:
                self.base = self.steps.pop(0).build
            self.at = len(self.steps)

    def undo(self) -> str:
        """Take the last step back; what it was, empty where there is none."""
        with self.lock:
            said = self.can_undo
            self.at -= bool(said)
            return said

    def redo(self) -> str:
        """Do again what was taken back; what it is, empty where there is none."""
        with self.lock:
            said = self.can_redo
            self.at += bool(said)
            return said
