"""A change to a build as data, and the build with it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, TypeAlias

from compat.record import record
from compat.shop.build_work import with_more
from compat.shop.chosen import WorkDone
from compat.shop.saying_less import left_out, struck, unmeasured, without_work
from compat.shop.writing import as_said

if TYPE_CHECKING:
    from compat.shop.builds import ReadyBuild

__all__ = ["Aim", "Change", "Do", "Fit", "Say", "Strike", "Undo", "as_entry", "change_of", "with_changes"]


@record(slots=True)
class Fit:
    """Another part in a position; without a part it is left out, and where something would stand there that is
    said with `compat.shop.saying_less.LEFT_OUT` for its reason."""

    position: str
    part: str


@record(slots=True)
class Do:
    """A piece of work more, with what is stated for it: ``(("bore", "22.012 mm"),)``."""

    work: str
    values: tuple[tuple[str, str], ...] = ()


@record(slots=True)
class Undo:
    """Work that the build names and that is not done, with what it drags in."""

    work: str


@record(slots=True)
class Aim:
    """Another entry of the goal, as a build file calls it: ``Aim("boost", "90 kPa")``."""

    entry: str
    value: str


@record(slots=True)
class Say:
    """Another word of the setup: ``Say("ignition", "wasted_spark")``."""

    word: str
    value: str


@record(slots=True)
class Strike:
    """A word of an entry that the build says no more: ``Strike("renew", "oil_filter")``."""

    entry: str
    word: str


Change: TypeAlias = Fit | Do | Undo | Aim | Say | Strike


def with_changes(ready: ReadyBuild, changes: Iterable[Change]) -> ReadyBuild:
    """The build with changes.

    Parameters
    ----------
    ready : ReadyBuild
        The build; it stays as it is.
    changes : iterable of Change
        Parts are put in and left out first, then work is left out and done, each where what it follows allows,
        then words are struck, and the setup and the goal said.

    Returns
    -------
    ReadyBuild
        The build. What was measured before on a spec that work changes which is done or left out no longer
        holds, and is left out.

    Raises
    ------
    Faults
        When a part, position, work, goal entry or word of the setup is not known, or does not suit, and when
        the build does not say what is to be struck, or do what is to be left out.

    Examples
    --------
    >>> import compat
    >>> ready = compat.open_shop().build("street-turbo")
    >>> other = with_changes(ready, [Fit("spark_plug", "spn-plug-short-3"), Aim("rev_limit", "6500 rpm")])
    >>> other.build.fit["spark_plug"], other.goal.rev_limit.text()
    ('spn-plug-short-3', '6500 rpm')
    """
    changes = tuple(changes)
    fit = {one.position: one.part for one in changes if isinstance(one, Fit) and one.part}
    works = [WorkDone(work=one.work, values=dict(one.values)) for one in changes if isinstance(one, Do)]
    undone = [one.work for one in changes if isinstance(one, Undo)]
    goal = {one.entry: one.value for one in changes if isinstance(one, Aim)}
    setup = {one.word: one.value for one in changes if isinstance(one, Say)}
    if fit:
        ready = ready.fitting(**fit)
    for one in changes:
        if isinstance(one, Fit) and not one.part:
            ready = left_out(ready, one.position)
    if undone:
        ready = without_work(ready, undone)
    if works:
        ready = with_more(ready, {}, works)
        specs = [change.spec.split(".") for one in works for change in ready.shop.works[one.work].changes]
        ready = unmeasured(ready, {(position, spec) for position, spec in specs})
    for one in changes:
        if isinstance(one, Strike):
            ready = struck(ready, one.entry, one.word)
    if setup:
        ready = ready.changed(setup={**as_said(ready.build.setup), **setup})
    return ready.aiming(**goal) if goal else ready


def as_entry(change: Change) -> Mapping[str, str]:
    """A change as plain words, in those of a build file and of its options.

    >>> as_entry(Undo("deck-block"))
    {'without_work': 'deck-block'}
    >>> as_entry(Do("ream-bush", (("bore", "22.012 mm"),)))
    {'work': 'ream-bush', 'bore': '22.012 mm'}
    """
    match change:
        case Fit(position, ""):
            return {"leave_out": position}
        case Fit(position, part):
            return {"position": position, "part": part}
        case Do(work, values):
            return {"work": work, **dict(values)}
        case Undo(work):
            return {"without_work": work}
        case Aim(what, value):
            return {"goal": what, "value": value}
        case Say(word, value):
            return {"setup": word, "value": value}
        case Strike(entry, word):
            return {"strike": entry, "word": word}


def change_of(entry: Mapping[str, str]) -> Change:
    """The change that plain words say, as `as_entry` writes them.

    Raises
    ------
    ValueError
        When they say none.

    Examples
    --------
    >>> change_of({"leave_out": "oil_cooler"})
    Fit(position='oil_cooler', part='')
    """
    words = dict(entry)
    if not all(isinstance(key, str) and isinstance(value, str) for key, value in words.items()):
        raise ValueError("a change is said in words")
    if "work" in words:
        return Do(words.pop("work"), tuple(words.items()))
    match words:
        case {"leave_out": position} if len(words) == 1:
            return Fit(position, "")
        case {"position": position, "part": part} if len(words) == 2 and part:
            return Fit(position, part)
        case {"goal": what, "value": value} if len(words) == 2:
            return Aim(what, value)
        case {"setup": word, "value": value} if len(words) == 2:
            return Say(word, value)
        case {"without_work": work} if len(words) == 1:
            return Undo(work)
        case {"strike": where, "word": word} if len(words) == 2:
            return Strike(where, word)
    raise ValueError(f"{', '.join(words) or 'nothing'}: says no change of a build")
