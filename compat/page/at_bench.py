"""A build at the bench: its sheet, with what was measured so far in every check that is made of it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, Final
from weakref import WeakKeyDictionary

from compat.bench.journal import Entry, Key, Kind, Standing, standing
from compat.bench.kept import Kept, as_measured, measured_as_kept, stands_in
from compat.bench.sheet import BenchSheet, Step, bench_sheet
from compat.library.library import build_of_id
from compat.page.desk import Desk
from compat.shop.builds import ReadyBuild
from compat.shop.source import Fault
from compat.trade.numbered import kept_measured

if TYPE_CHECKING:
    from compat.checking.check import Checked

__all__ = ["AtBench", "bench_of", "kept_of", "parts_at", "step_key", "with_measured"]

MOST: Final = 48
"""Sheets that are remembered: each build in both systems of units."""


@dataclass(frozen=True)
class AtBench:
    """A build as it stands at the bench."""

    kept: Kept
    ready: ReadyBuild
    """As its file says it."""
    checked: Checked
    """With what was measured."""
    plain: Checked
    """Without it."""
    sheet: BenchSheet
    entries: tuple[Entry, ...]
    held: Mapping[Key, Standing]
    faults: tuple[Fault, ...]
    """Why the file of what was measured cannot be read."""
    left_out: Mapping[str, tuple[Fault, ...]]
    """What was measured and does not count, and why."""
    system: str
    by_step: Mapping[str, Step] = field(default_factory=dict)

    def of(self, kind: Kind, what: str, piece: int = 0, place: str = "", of: str = "") -> Standing | None:
        """What holds of one thing."""
        return self.held.get(Key(kind, what, of, piece, place))

    def is_done(self, step: Step) -> Standing | None:
        """Whether a step is marked as done, by whom and when."""
        return self.of("done", step_key(step), of=parts_at(self.ready, step))


_remembered: WeakKeyDictionary[Desk, OrderedDict[tuple[str, str], tuple[AtBench, object]]] = WeakKeyDictionary()
"""By build and system of units the last sheet, and of what it was made."""
_lock = Lock()
_kept: WeakKeyDictionary[Desk, dict[str, Kept]] = WeakKeyDictionary()


def step_key(step: Step) -> str:
    """A step by what it is, whatever its number.

    >>> step_key(Step(12, "fit", "block", "Cylinder block", "Main bearing joint"))
    'fit:block'
    """
    return f"{step.kind}:{step.id}"


def parts_at(ready: ReadyBuild, step: Step) -> str:
    """The parts that a step is about: with other parts it is to be done again."""
    return stands_in(ready, [step.id]) if step.kind == "fit" else ""


def kept_of(desk: Desk, name: str) -> Kept:
    """What was measured on a build, by its id.

    Raises
    ------
    Faults
        When the id is none that a file may be called by.
    """
    folder = kept_measured(desk.library)
    with _lock:
        known = _kept.setdefault(desk, {})
        if name not in known or known[name].folder != folder:
            known[name] = Kept(folder, name)
        return known[name]


def with_measured(desk: Desk, ready: ReadyBuild) -> ReadyBuild:
    """A build with what the bench measured on the parts that stand in it.

    Parameters
    ----------
    desk : Desk
        The shop.
    ready : ReadyBuild
        The build, changed or not: what was measured on a part that was swapped does not count.
    """
    shop, name = desk.library.shop, ready.build.build
    if name not in shop.builds and name not in shop.variants:
        return ready
    kept = kept_of(desk, name)
    if not kept.journal.path.exists():
        return ready
    entries, _ = kept.look(build_of_id(shop, name))
    if not entries:
        return ready
    key = ("measured", len(entries), entries[-1].id)
    return desk.known.of(ready, key, lambda: measured_as_kept(ready, as_measured(ready, standing(entries)))[0])


def bench_of(desk: Desk, name: str, system: str) -> AtBench:
    """A build at the bench, as its file has it now.

    Parameters
    ----------
    desk : Desk
        The shop.
    name : str
        Id of the build.
    system : str
        ``metric`` or ``imperial``.

    Raises
    ------
    Faults
        When the shop has none of that id.
    """
    library, session = desk.library, desk.session
    ready = build_of_id(library.shop, name)
    kept = kept_of(desk, name)
    entries, faults = kept.look(ready)
    stand = kept.folder, len(entries), entries[-1].id if entries else "", faults
    with _lock:
        remembered = _remembered.setdefault(desk, OrderedDict())
        known, at = remembered.get((name, system), (None, None))
        if known is not None and at == stand and known.ready.shop is library.shop:
            remembered.move_to_end((name, system))
            return known
    held = standing(entries)
    measured, left_out = measured_as_kept(ready, as_measured(ready, held))
    plain = session.check(ready)
    checked = session.check(measured) if measured is not ready else plain
    sheet = bench_sheet(checked, system)
    found = AtBench(
        kept, ready, checked, plain, sheet, entries, held, faults, left_out, system,
        {step_key(step): step for step in sheet.steps},
    )  # fmt: skip
    with _lock:
        remembered[name, system] = found, stand
        remembered.move_to_end((name, system))
        for old in [key for key, (one, _) in remembered.items() if one.ready.shop is not library.shop]:
            del remembered[old]
        while len(remembered) > MOST:
            remembered.popitem(last=False)
    return found
