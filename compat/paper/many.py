"""What came of a sweep, as a document; into Parquet every combination, with its parts in columns."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from compat.paper.document import Block, Column, Document, Row, Table, Text
from compat.paper.out import Maker
from compat.planning.many import Tried
from compat.rulebook.models import AGAINST, VERDICTS
from compat.shop.source import Fault, Faults, Spot

__all__ = ["PARQUET", "sweep_document"]


def sweep_document(found: Sequence[Tried], positions: Sequence[str], everything: bool = False) -> Document:
    """What came of a sweep.

    Parameters
    ----------
    found : sequence of Tried
        Every combination.
    positions : sequence of str
        Where parts were tried, in order.
    everything : bool
        Whether what does not go together is told too; data and Parquet hold it always.

    Returns
    -------
    Document
        What any format writes.
    """
    good = [one for one in found if one.verdict not in AGAINST]
    told = found if everything else good
    columns = (
        Column("Engine", "code", 1.5),
        Column("Goal", "text", 0.8),
        *(Column(position.replace("_", " "), "code", 1.6) for position in positions),
        Column("Worst", "text", 0.8),
    )
    ordered = sorted(told, key=lambda one: -VERDICTS.index(one.verdict))
    rows = [Row((one.build, one.power or "its own", *one.parts, one.verdict)) for one in ordered]
    blocks: list[Block] = [Table(columns, rows, "Combinations")] if rows else []
    told_of = f"{len(good)} of {len(found)} combinations have nothing against them"
    blocks.append(Text(f"{told_of}; needs and renewals apart, which `compat check` looks at."))
    entries = [
        {
            "build": one.build,
            "goal": one.power,
            "parts": dict(zip(positions, one.parts, strict=True)),
            "verdict": one.verdict,
        }
        for one in found
    ]
    return Document(title="Parts tried", blocks=blocks, data={"combinations": entries})


def _parquet(document: Document) -> bytes:
    """Every combination as Apache Parquet.

    Raises
    ------
    Faults
        When pyarrow is not installed.
    """
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError:
        message = "Parquet is written by pyarrow, which is not installed: `python -m pip install pyarrow`"
        raise Faults([Fault(Spot("--out", 0), message)]) from None
    entries: Any = document.data["combinations"]
    rows = [
        {"build": one["build"], "goal": one["goal"], **one["parts"], "verdict": one["verdict"]}
        for one in entries
    ]
    buffer = io.BytesIO()
    parquet.write_table(pa.Table.from_pylist(rows), buffer)
    return buffer.getvalue()


PARQUET: Mapping[str, Maker] = MappingProxyType({".parquet": _parquet})
"""What a sweep is written into beside the formats of every document."""
