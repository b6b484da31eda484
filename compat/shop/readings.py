"""Readings as they were written: what a build, a YAML file or a table says was measured, row by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from typing import Any

from compat.record import record
from compat.shop.build_links import Where
from compat.shop.entry import thaw
from compat.shop.source import Fault, Spot, nearest

__all__ = ["COLUMNS", "Row", "split_rows"]

COLUMNS = ("what", "piece", "place", "value", "unit", "uncertainty", "gauge", "by", "date")
"""What a row says, in the order in which the sheet has it."""

_SHARED = ("uncertainty", "gauge", "by", "date")
_KEYS = ("pieces", "value", "note", *_SHARED)


@record(slots=True)
class Row:
    """One reading as it was written, every entry a text, and where each stands."""

    says: Mapping[str, str]
    spots: Mapping[str, Spot] = field(default_factory=dict)
    spot: Spot = field(default_factory=lambda: Spot("measured", 0))

    def at(self, column: str) -> Spot:
        """Where an entry was written, or the row."""
        return self.spots.get(column, self.spot)


def is_gauged(raw: Any) -> bool:
    """Whether a build states pieces or a gauge, rather than one value for all.

    >>> is_gauged("86.02 mm"), is_gauged({"value": "86.02 mm", "uncertainty": "0.002 mm"})
    (False, True)
    """
    return isinstance(raw, Mapping) and not raw.keys().isdisjoint(("pieces", *_SHARED))


def rows_of(
    name: str, raw: Mapping[str, Any], where: Where, path: Sequence[str | int]
) -> Iterator[Row | Fault]:
    """The readings that an entry holds, or what is wrong with how it is said."""
    said = thaw(raw)
    for key in said:
        if key not in _KEYS:
            yield Fault(where([*path, key]), f"'{key}' is not known here{nearest(str(key), _KEYS)}")
    if ("value" in said) == ("pieces" in said):
        yield Fault(where(path), f"'{name}' says either 'value', or 'pieces' by number")
        return
    shared = {}
    for key in _SHARED:
        if isinstance(said.get(key), dict | list):
            yield Fault(where([*path, key]), f"'{key}' is one text")
        elif said.get(key) is not None:
            shared[key] = str(said[key])
    spots = {key: where([*path, key]) for key in shared} | {"what": where(path)}
    if "value" in said:
        pieces: Any = {"": said["value"]}
        steps: list[str | int] = [*path, "value"]
    else:
        pieces = said["pieces"]
        steps = [*path, "pieces"]
    if isinstance(pieces, list):
        named = [(str(number), [*steps, number - 1], entry) for number, entry in enumerate(pieces, 1)]
    elif isinstance(pieces, dict):
        single = "value" in said
        named = [(str(key), steps if single else [*steps, key], entry) for key, entry in pieces.items()]
    else:
        yield Fault(where(steps), f"'pieces' of '{name}' is a list of values, or values by number")
        return
    for piece, step, entry in named:
        for place, there, value in _readings(step, entry):
            if isinstance(value, dict | list):
                yield Fault(where(there), "a reading is one value, like '86.02 mm'")
            elif value is not None and str(value).strip():
                spot = where(there)
                says = {"what": name, "piece": piece, "place": place, "value": str(value), **shared}
                yield Row(says, {"piece": spot, "place": spot, "value": spot, **spots}, spot)


def _readings(step: list[str | int], entry: Any) -> Iterator[tuple[str, list[str | int], Any]]:
    if isinstance(entry, dict):
        for place, value in entry.items():
            yield str(place), [*step, place], value
    elif isinstance(entry, list):
        for number, value in enumerate(entry, 1):
            yield str(number), [*step, number - 1], value
    else:
        yield "", step, entry


def split_rows(
    said: Mapping[str, Any], where: Where, path: Sequence[str | int], faults: list[Fault]
) -> tuple[list[Row], dict[str, tuple[Any, Spot]]]:
    """What is measured by spec, as readings, and as one value for all where it is said so."""
    rows: list[Row] = []
    plain: dict[str, tuple[Any, Spot]] = {}
    for name, raw in said.items():
        here = [*path, name]
        if not is_gauged(raw):
            plain[name] = raw, where(here)
            continue
        for row in rows_of(name, raw, where, here):
            if isinstance(row, Fault):
                faults.append(row)
            else:
                rows.append(row)
    return rows, plain
