"""What comes of bringing a list, as a document: before it is written and after."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from compat.lists.comparing import Bringing, Restated
from compat.lists.wanted import Value, Wanted
from compat.paper.document import Block, Column, Document, Heading, Listed, Row, Table, Text

__all__ = ["bringing_document"]

FIRST = 12
"""So many rows of each table are told where not all are asked for."""
T = TypeVar("T")


def bringing_document(
    found: Bringing,
    *,
    everything: bool = False,
    written: Sequence[str] | None = None,
    most: int = FIRST,
    typed: bool = True,
) -> Document:
    """What comes of bringing a list.

    Parameters
    ----------
    found : Bringing
        What `compat.lists.bringing.bring` gives.
    everything : bool
        Whether every row is told, not only the first ones.
    written : sequence of str, optional
        Files that were written; None where nothing was.
    most : int
        So many rows of each table are told where not everything is.
    typed : bool
        Whether it answers a command, and says with which of its options one goes on.

    Returns
    -------
    Document
        What any format writes.
    """
    cut = _Cut(None if everything else most, typed)
    blocks: list[Block] = [Text(_sum(found), "strong")]
    blocks += _unread(found, cut)
    blocks += _changed(found, cut)
    blocks += _new(found, cut)
    blocks += _gone(found, cut)
    blocks += _kept(found, cut)
    if found.asides:
        blocks += [
            Heading("Told beside", 2),
            Listed([_aside(one.what, one.count, one.where) for one in found.asides]),
        ]
    if typed:
        blocks.append(Text(_end(found, written), "caution" if found.unread and written is None else "plain"))
    what = f"List {found.list} of {found.supplier}" if found.supplier else "A workbook of the shop's parts"
    until = f", holds until {found.expires}" if found.expires is not None else ""
    subject = f"{found.shown}, of {found.day}{until}" if found.day is not None else found.shown
    return Document(title=what, blocks=blocks, subject=subject, data=_data(found, written))


def _sum(found: Bringing) -> str:
    changed = len({change.part for change in found.changed})
    counts = [
        (len({one.part for one in found.new}), "new"),
        (changed, "changed"),
        (len(found.gone), "no longer listed"),
        (found.same, "as they are"),
        (len(found.unread), "not read"),
    ]
    return ", ".join(f"{count} {what}" for count, what in counts) + "."


def _end(found: Bringing, written: Sequence[str] | None) -> str:
    if written:
        return f"Written: {', '.join(written)}."
    if not found.changes:
        return "There is nothing to write."
    if written is not None:
        return "Nothing had to be written."
    if found.unread:
        return (
            "Nothing is written. Mend what cannot be read, in the list or its mapping; or --despite-unread "
            "--write brings the rest and leaves those parts as they are."
        )
    return "Nothing is written yet: --write writes it."


@dataclass(frozen=True, slots=True)
class _Cut:
    """How much of each table is told."""

    most: int | None
    typed: bool

    def __call__(
        self, title: str, columns: Sequence[Column], entries: Sequence[T], row: Callable[[T], Row]
    ) -> Iterator[Block]:
        if not entries:
            return
        yield Heading(f"{title} ({len(entries)})", 2)
        told = entries if self.most is None else entries[: self.most]
        yield Table(columns, [row(one) for one in told], title)
        if len(told) < len(entries):
            more = f"and {len(entries) - len(told)} more"
            yield Text(f"{more}; --all tells them" if self.typed else more, "quiet")


def _unread(found: Bringing, cut: _Cut) -> Iterator[Block]:
    columns = [Column("Where", "code"), Column("Column"), Column("Says"), Column("Why it is not read", share=2)]
    yield from cut(
        "Not read",
        columns,
        found.unread,
        lambda one: Row([str(one.spot), one.column, one.text[:60], one.why]),
    )


def _changed(found: Bringing, cut: _Cut) -> Iterator[Block]:
    columns = [Column("Part", "code"), Column("What"), Column("From"), Column("To")]
    # prices first: that is what a list is looked at for
    otherwise = {one.part for one in found.changed if one.field != "list"}
    told = [one for one in found.changed if one.field != "list" or one.part not in otherwise]
    ordered = sorted(told, key=lambda one: (one.field != "price", one.field.startswith("specs.")))
    yield from cut("Changed", columns, ordered, _change)


def _change(one: Restated) -> Row:
    return Row([one.part, _field(one.field), said(one.was), said(one.becomes)])


def _new(found: Bringing, cut: _Cut) -> Iterator[Block]:
    columns = [
        Column("Part", "code"),
        Column("Name", share=2),
        Column("Fills"),
        Column("Price"),
        Column("Specs", "number"),
    ]
    if found.new:
        places = Counter(said(one.says.get("fills")) for one in found.new if "fills" in one.says)
        if len(places) > 1:
            yield Text(
                "New by position: " + ", ".join(f"{place} {count}" for place, count in places.most_common())
            )
    whole: dict[str, Wanted] = {}  # a workbook says a part on one sheet, and its price on another
    for one in found.new:
        before = whole.get(one.part)
        whole[one.part] = one if before is None else replace(before, says={**one.says, **before.says})
    yield from cut("New", columns, list(whole.values()), _part)


def _part(one: Wanted) -> Row:
    specs = sum(name.startswith("specs.") for name in one.says)
    says = one.says
    return Row([one.part, said(says.get("name")), said(says.get("fills")), said(says.get("price")), specs])


def _gone(found: Bringing, cut: _Cut) -> Iterator[Block]:
    columns = [Column("Part", "code"), Column("Code", "code"), Column("Was")]
    yield from cut("No longer listed", columns, found.gone, lambda one: Row([one.part, one.code, one.price]))


def _kept(found: Bringing, cut: _Cut) -> Iterator[Block]:
    columns = [Column("Part", "code"), Column("What"), Column("Stays"), Column("The list says")]
    title = "The shop's own, kept" + (" (--over takes the list's)" if cut.typed else "")
    yield from cut(title, columns, found.kept, _change)


def _field(name: str) -> str:
    return name.removeprefix("specs.").replace("_", " ")


def said(value: Value) -> str:
    """A value of a file in one line.

    >>> said(["a", "b"]), said([{"packs": "5", "price": "9 GBP"}]), said(None)
    ('a, b', '9 GBP from 5', '')
    """
    if value is None:
        return ""
    if isinstance(value, list | tuple):
        return ", ".join(
            f"{one['price']} from {one['packs']}" if isinstance(one, dict) else str(one) for one in value
        )
    return str(value)


def _aside(what: str, count: int, where: str) -> str:
    number = f"{count} " if count > 1 else ""
    return f"{where + ': ' if where else ''}{number}{what}"


def _data(found: Bringing, written: Sequence[str] | None) -> dict[str, Any]:
    def spotted(one: Any) -> dict[str, Any]:
        return {
            "where": str(one.spot),
            "column": one.column,
            "says": one.text,
            "why": one.why,
            "code": one.code,
        }

    def changed(one: Restated) -> dict[str, Any]:
        return {
            "part": one.part,
            "field": one.field,
            "from": one.was,
            "to": one.becomes,
            "code": one.wanted.code,
        }

    return {
        "list": found.list,
        "supplier": found.supplier,
        "file": found.shown,
        "date": str(found.day) if found.day is not None else None,
        "expires": str(found.expires) if found.expires is not None else None,
        "new": [{"part": one.part, "code": one.code, **one.says} for one in found.new],
        "changed": [changed(one) for one in found.changed],
        "no_longer_listed": [{"part": one.part, "code": one.code, "price": one.price} for one in found.gone],
        "kept": [changed(one) for one in found.kept],
        "as_they_are": found.same,
        "not_read": [spotted(one) for one in found.unread],
        "told_beside": [{"what": one.what, "count": one.count, "where": one.where} for one in found.asides],
        "written": list(written) if written is not None else None,
    }
