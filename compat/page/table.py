"""The build on the table of a sitting: its draft, checked, and changed by what a form says."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from fastapi import Path, Request
from fastapi.responses import Response

from compat.checking.check import Checked
from compat.page.at_bench import with_measured
from compat.page.desk import Desk
from compat.page.drafts import Draft
from compat.page.showing import after
from compat.page.sittings import Sitting, desk_of
from compat.shop.builds import ReadyBuild
from compat.shop.source import Fault, Faults
from compat.words.remedying import Remedier
from compat.words.report import Report
from compat.words.reporting import report

__all__ = ["Name", "Table", "Typed", "change", "table_of"]

Name: TypeAlias = Annotated[str, Path(max_length=100)]
"""The id of a build in an address."""
Typed = Mapping[str, str]
"""What was typed into a form, kept for the next time where it did not suit."""
NOTHING_SAID = "That is how it stands already."


@dataclass(frozen=True)
class Table:
    """A build on the table."""

    desk: Desk
    sitting: Sitting
    name: str
    draft: Draft

    @property
    def path(self) -> str:
        """Where its view is."""
        return f"/build/{self.name}"

    @property
    def now(self) -> ReadyBuild:
        """The build as it is."""
        return self.draft.now

    def checked(self, ready: ReadyBuild | None = None) -> Checked:
        """What a check finds of the build, or of one that differs little, with what the bench measured."""
        draft, session = self.draft, self.desk.session
        ready = draft.now if ready is None else ready
        held = with_measured(self.desk, ready)

        def check() -> Checked:
            near = draft.before if ready is draft.now else draft.now
            like = None
            if ready is not draft.before:  # a step is nearest to what it was taken from
                with suppress(Faults):
                    like = self.checked(near)
            return session.check(held, like)

        return self.desk.known.of(held, "checked", check)

    def report(self, checked: Checked) -> Report:
        """What is told of a check, in the units of the sitting."""
        units = self.sitting.units
        return self.desk.known.of(checked, ("report", units), lambda: report(checked, units, fine=False))

    def remedier(self, checked: Checked) -> Remedier:
        """Tries remedies on a checked build, and remembers what it tried."""
        units = self.sitting.units
        return self.desk.known.of(checked, ("remedier", units), lambda: Remedier(checked, units))


def table_of(request: Request, sitting: Sitting, name: str) -> Table:
    """The build of an id on the table of a sitting, held against the shop as it is.

    Raises
    ------
    Faults
        When there is no such build, or it does not go with what the shop's files say by now.
    """
    desk = desk_of(request)
    table = Table(desk, sitting, name, sitting.draft(desk, name))
    table.draft.hold(desk.library.shop)
    return table


def change(
    request: Request,
    sitting: Sitting,
    name: str,
    make: Callable[[Table], tuple[str, ReadyBuild]],
    refused: Callable[[Table, Sequence[Fault]], Response],
    anchor: str = "",
) -> Response:
    """Take a step with the build on the table.

    Parameters
    ----------
    request : Request
        The form.
    sitting : Sitting
        Whose table it is.
    name : str
        The build.
    make : callable
        Gives the step in words and the build after it; Faults where it cannot be done.
    refused : callable
        The view that shows what was wrong, with what was typed.
    anchor : str
        Where on the build's view the change shows.

    Returns
    -------
    Response
        The way back to the build's view, or what `refused` gives.
    """
    table = table_of(request, sitting, name)
    with table.draft.lock:
        try:
            says, build = make(table)
            table.checked(build)
        except Faults as wrong:
            return refused(table, wrong.faults)
        if not table.draft.take(says, build):
            sitting.told.append(NOTHING_SAID)
    return after(request, table.path + (f"#{anchor}" if anchor else ""))
