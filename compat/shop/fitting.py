"""How parts of a position are fitted: after what, which way round, with what on them, how tightened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry

if TYPE_CHECKING:
    from compat.shop.fields import Layout, Name, Rows, SpecName

__all__ = ["Fitting", "Tightening"]


@record(kw_only=True)
class Tightening(Entry):
    """The pattern that fasteners of a position stand in.

    Their torque, angle, stretch and lubricant are specs of the part.
    """

    only = "layout"
    layout: Layout
    """``grid``: rows along the engine; ``rail``: round an edge; ``circle``: round a middle."""
    rows: Rows = 2
    """Rows of a grid, across the engine."""
    each: Name | None = None
    """A position of which every piece has such a pattern of its own (each head of a V)."""
    counted_by: SpecName | None = None
    """The spec that says how many fasteners there are, where they are no position of their own."""
    along: str = ""
    """What lies along the engine, for the drawing: the exhaust side, the inlet cam."""

    def hold(self) -> None:
        """Hold that only a grid has rows."""
        if self.layout != "grid" and self.rows != 2:
            raise ValueError(f"a {self.layout} has no 'rows'; they belong to a grid")


@record(kw_only=True)
class Fitting(Entry):
    """What the bench must know to fit the part of a position."""

    after: tuple[Name, ...] = ()
    """Positions whose parts are in before it, in an engine that has them."""
    before: tuple[Name, ...] = ()
    """Positions whose parts go in later where both are fitted now; they need not come off for it."""
    within: tuple[Name, ...] = ()
    """Positions whose parts shut it in, and its joint with it, where it is there: a cover over a chain."""
    last: bool = False
    """It goes on once the engine stands complete, where nothing asks for it before."""
    marks: tuple[str, ...] = ()
    """Which way round, and which marks are read."""
    put_on: tuple[str, ...] = ()
    """Oil, paste, sealant, or that it goes in dry."""
    tighten: Tightening | None = None
