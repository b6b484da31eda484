"""What came of a sweep, as a document; into Parquet every combination, with its parts in columns."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from compat.paper.document import Block, Column, Document, Heading, Listed, Row, Table, Text
from compat.paper.out import Maker
from compat.planning.many import Swept, Tried
from compat.rulebook.models import AGAINST, VERDICTS
from compat.shop.source import Fault, Faults, Spot

__all__ = ["PARQUET", "sweep_document", "sweep_schema"]

FIRST = 5
"""So many findings of an engine are named; data hold them all."""


def sweep_document(found: Swept, positions: Sequence[str], everything: bool = False) -> Document:
    """What came of a sweep.

    Parameters
    ----------
    found : Swept
        Every combination, and what stands against each engine by itself.
    positions : sequence of str
        Where parts were tried, in order.
    everything : bool
        Whether what does not go together is told too; data and Parquet hold it always.

    Returns
    -------
    Document
        What any format writes.
    """
    blocks: list[Block] = []
    told = [one for one in found.tried if everything or one.stands]
    if told:
        blocks.append(_table(told, positions))
    blocks += [Text(sentence) for sentence in _counted(found, everything)]
    blocks += _engines(found)
    return Document(title="Parts tried", blocks=blocks, data=_data(found, positions))


def _table(told: Sequence[Tried], positions: Sequence[str]) -> Table:
    by = [_by(one) for one in told]
    columns = (
        Column("Engine", "code", 1.5),
        Column("Goal", "text", 0.8),
        *(Column(position.replace("_", " "), "code", 1.6) for position in positions),
        Column("With these parts", "text", 0.9),
        *([Column("By", "text", 1.8)] if any(by) else ()),
        Column("Engine then", "text", 0.9),
    )
    ordered = sorted(told, key=lambda one: (-VERDICTS.index(one.of_parts), -VERDICTS.index(one.verdict)))
    rows = [
        Row(
            (
                one.build,
                one.power or "its own",
                *one.parts,
                one.of_parts,
                *([_by(one)] if any(by) else ()),
                one.verdict,
            )
        )
        for one in ordered
    ]
    return Table(columns, rows, "Combinations")


def _by(one: Tried) -> str:
    """What gave the verdict, where it asks for something; cautions are said of nearly every engine."""
    return one.title if one.of_parts not in ("caution", "ok") else ""


def _counted(found: Swept, everything: bool) -> Iterator[str]:
    tried = found.tried
    good = sum(one.verdict not in AGAINST for one in tried)
    yield (
        f"{good} of {len(tried)} combinations have nothing against them; needs and renewals apart, which "
        "`compat check` looks at."
    )
    others = sum(one.stands for one in tried) - good
    if others:
        yield (
            f"{others} more {'have' if others != 1 else 'has'} nothing against the parts tried here; what "
            "stands against the engine then stands whichever of them is fitted."
        )
    left = sum(not one.stands for one in tried)
    if left and not everything:
        yield f"--all tells the other {left} too, with what stands first against each."


def _engines(found: Swept) -> Iterator[Block]:
    """What stands against engines by themselves; the same of several at once."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for (build, power), against in found.still.items():
        if against:
            titles = tuple(dict.fromkeys(f"{one.title} ({one.verdict})" for one in against))
            alike.setdefault(titles, []).append(f"{build} at {power}" if power else build)
    if alike:
        yield Heading("Whichever part is fitted")
    for titles, engines in alike.items():
        more = f"; and {len(titles) - FIRST} more" if len(titles) > FIRST else ""
        yield Listed([f"{', '.join(engines)}: {'; '.join(titles[:FIRST])}{more}."])


def _data(found: Swept, positions: Sequence[str]) -> dict[str, Any]:
    return {
        "combinations": [
            {
                "build": one.build,
                "goal": one.power,
                "parts": dict(zip(positions, one.parts, strict=True)),
                "verdict": one.verdict,
                "of_parts": one.of_parts,
                "rule": one.rule,
                "title": one.title,
            }
            for one in found.tried
        ],
        "whichever": [
            {
                "build": build,
                "goal": power,
                "against": [
                    {"rule": o.rule, "verdict": o.verdict, "title": o.title, "because": o.because}
                    for o in against
                ],
            }
            for (build, power), against in found.still.items()
        ],
    }


def sweep_schema() -> dict[str, Any]:
    """The published schema of what `compat sweep --json` prints."""
    verdict = {"enum": list(VERDICTS)}
    text = {"type": "string"}
    goal = {"description": "power, as it was asked; empty: its own goal", **text}
    said = {"rule": text, "verdict": {"enum": list(AGAINST)}, "title": text, "because": text}
    combination = {
        "build": {"description": "build or variant", **text},
        "goal": goal,
        "parts": {
            "description": "part by position",
            "type": "object",
            "minProperties": 1,
            "additionalProperties": text,
        },
        "verdict": {"description": "the worst on the whole engine, needs and renewals apart", **verdict},
        "of_parts": {"description": "the worst of what hangs on these parts", **verdict},
        "rule": {"description": "id of what gave `of_parts`; empty where all of it is fine", **text},
        "title": {"description": "what that rule is called", **text},
    }
    whichever = {"build": text, "goal": goal, "against": {"type": "array", "items": _object(said)}}
    return {
        "title": "Sweep",
        "description": "What `compat sweep --json` prints.",
        **_object(
            {
                "combinations": {"type": "array", "items": _object(combination)},
                "whichever": {
                    "description": "what stands against each engine, whichever of the parts is fitted",
                    "type": "array",
                    "items": _object(whichever),
                },
            }
        ),
    }


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": list(properties),
        "properties": properties,
        "additionalProperties": False,
    }


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
        message = "Parquet is written by pyarrow, which is not installed: `pip install 'shop-compat[parquet]'`"
        raise Faults([Fault(Spot("--out", 0), message)]) from None
    entries: Any = document.data["combinations"]
    places = list(entries[0]["parts"]) if entries else []
    own = ("build", "goal", "verdict", "of_parts", "rule", "title")
    columns = {name: [one[name] for one in entries] for name in own[:2]}
    for place in places:  # a position may be called as one of ours is
        columns[f"{place}_part" if place in own else place] = [one["parts"][place] for one in entries]
    columns |= {name: [one[name] for one in entries] for name in own[2:]}
    schema = pa.schema([(name, pa.string()) for name in columns])
    buffer = io.BytesIO()
    parquet.write_table(pa.table(columns, schema), buffer)
    return buffer.getvalue()


PARQUET: Mapping[str, Maker] = MappingProxyType({".parquet": _parquet})
"""What a sweep is written into beside the formats of every document."""
