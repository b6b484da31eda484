"""A document as people read it: the units in its words as they are printed. What is data stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from compat.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Picture,
    Row,
    Table,
    Text,
    Together,
    Value,
)
from compat.units import printed

__all__ = ["on_paper"]


def on_paper(document: Document) -> Document:
    """A document whose quantities have their units as people print them: N·m, cm³, °C.

    Names and addresses, numbers, columns of codes, and `data` stay as they are.

    Parameters
    ----------
    document : Document
        The document, units as files write them.

    Returns
    -------
    Document
        The same, for a format that people read.

    Examples
    --------
    >>> on_paper(Document("Sheet", [Text("330 N*m, stud M10*1")])).blocks
    (Text(text='330 N·m, stud M10*1', tone='plain'),)
    """
    return replace(document, blocks=_blocks(document.blocks))


def _blocks(blocks: Sequence[Block]) -> tuple[Block, ...]:
    return tuple(_block(block) for block in blocks)


def _block(block: Block) -> Block:
    match block:
        case Heading() | Text():
            return replace(block, text=printed(block.text))
        case Listed():
            return replace(block, items=tuple(map(printed, block.items)))
        case Entries():
            return Entries(tuple((printed(label), _value(value)) for label, value in block.entries))
        case Table():
            columns = tuple(replace(column, title=printed(column.title)) for column in block.columns)
            return replace(block, columns=columns, rows=tuple(_row(row, columns) for row in block.rows))
        case Picture():
            return replace(block, shows=printed(block.shows))
        case Together():
            return Together(_blocks(block.blocks))
        case _:
            return block


def _row(row: Row, columns: Sequence[Column]) -> Row:
    cells = tuple(
        cell if column.sort == "code" else _value(cell) for cell, column in zip(row.cells, columns, strict=True)
    )
    return replace(row, cells=cells, note=printed(row.note))


def _value(value: Value | Cell) -> Value | Cell:
    if isinstance(value, Cell):
        held = value.value
        return replace(value, value=printed(held)) if isinstance(held, str) else value
    return printed(value) if isinstance(value, str) else value
