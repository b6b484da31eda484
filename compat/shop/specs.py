"""What a position says a spec may be, and how a stated value is read against that."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field, replace
from typing import Any, Literal

from compat.record import record
from compat.shop.entry import thaw
from compat.shop.source import nearest
from compat.shop.words import ENGINE_NUMBERS
from compat.units import DIMENSIONLESS, Band, Dimension, UnitFault, read_band, unfit, unit

__all__ = ["BASES", "Basis", "Rows", "Spec", "SpecKind", "SpecValue", "declare", "gauges_of", "state"]

Basis = Literal["maker", "measured", "handbook", "shop", "estimate"]
BASES: tuple[str, ...] = ("maker", "measured", "handbook", "shop", "estimate")

Rows = tuple[tuple[float, ...], ...]
"""A table's rows as SI floats."""

SpecValue = Band | str | bool | tuple[str, ...] | Rows

MEASURING = ("gauge", "each", "at", "spread_of")
"""What a declaration says of measuring on the bench."""

SPREADS = ("heights", "directions")
"""Over what the readings of one piece differ: the first word of their places, or the words behind it."""

_FLAGS = {"yes": True, "true": True, "no": False, "false": False}


@record(slots=True)
class SpecKind:
    """A declared spec: quantity, number, choice, text, flag, list or table."""

    name: str
    sort: Literal["quantity", "choice", "text", "flag", "list", "table"]
    unit: str = ""
    dimension: Dimension = DIMENSIONLESS
    words: tuple[str, ...] = ()
    columns: tuple[tuple[str, str], ...] = ()
    meaning: str = ""
    signed: bool = False
    sheet: bool = False
    """Kept for the bench sheet and the order; no rule is expected to use it."""
    unnoticed: str = ""
    """Why no value of it moves anything on the shop's own builds, where that is as it should be."""
    zero: str = ""
    """What a value of nothing means, in words: no keyway."""
    calibrated: bool = False
    """A word of the setup that the calibration decides: whoever puts a build right may decide it too."""
    gauge: str = ""
    """What it is measured with on the piece in hand; empty where the bench does not measure it."""
    each: str = ""
    """Which number of the engine says how often it is measured; empty: once on each piece."""
    at: tuple[str, ...] = ()
    """The places on each piece that it is measured at."""
    spread_of: tuple[str, str] = ("", "")
    """The spec whose readings give it by how much they differ, and whether over `heights` or `directions`."""

    @property
    def expected(self) -> str:
        """How a value of this spec is written, for a message."""
        match self.sort:
            case "quantity":
                return f"a quantity in {self.unit}" if self.unit else "a plain number"
            case "choice":
                return "one of " + ", ".join(self.words)
            case "flag":
                return "yes or no"
            case "list":
                return f"a list of {', '.join(self.words)}" if self.words else "a list of words"
            case "table":
                return "a table of rows: " + ", ".join(f"{n} ({u})" for n, u in self.columns)
        return "a word or text"


@record(slots=True)
class Spec:
    """A stated spec: its value, what it rests on, and where it was written."""

    value: SpecValue
    basis: str = "maker"
    note: str = ""
    spot: Any = field(default=None, compare=False)


def declare(name: str, raw: Any) -> SpecKind:
    """Read the declaration of a spec.

    Parameters
    ----------
    name : str
        Name of the spec.
    raw : object
        A unit, ``text``, ``flag``, ``number``, ``list``, a list of words (a choice),
        ``{table: {column: unit}}``, ``{list_of: [words that it may hold]}`` or the long form
        ``{unit: ..., is: ..., zero: what nothing means, gauge: what it is measured with}``.

    Returns
    -------
    SpecKind
        The declaration.

    Raises
    ------
    ValueError
        When it is none of these.

    Examples
    --------
    >>> declare("stroke", "mm").expected
    'a quantity in mm'
    """
    raw = thaw(raw)
    if isinstance(raw, dict):
        known = (
            "unit", "one_of", "list_of", "table", "signed", "sheet", "unnoticed", "zero", "is", "calibrated",
            *MEASURING,
        )  # fmt: skip
        if unknown := set(raw) - set(known):
            word = sorted(unknown)[0]
            hint = nearest(word, known) or f"; write {', '.join(known)}"
            raise ValueError(f"'{word}' is not known here{hint}")
        signed, sheet = (_yes_or_no(key, raw.get(key, "no")) for key in ("signed", "sheet"))
        unnoticed = str(raw.get("unnoticed", ""))
        if "table" in raw:
            columns = _columns(raw["table"])
            return SpecKind(
                name, "table", columns=columns, meaning=str(raw.get("is", "")), sheet=sheet, unnoticed=unnoticed
            )
        inner = raw.get("unit", raw.get("one_of", raw.get("list_of")))
        if inner is None:
            raise ValueError("says no unit; write {unit: mm, is: ...}")
        kind = declare(name, inner)
        if "list_of" in raw:
            if kind.sort != "choice":
                raise ValueError("'list_of' wants the words that the list may hold")
            kind = replace(kind, sort="list")
        if "zero" in raw and kind.sort != "quantity":
            raise ValueError(f"'zero' belongs to a quantity; this is {kind.expected}")
        zero = str(raw.get("zero", ""))
        meaning = str(raw.get("is", ""))
        kind = replace(kind, meaning=meaning, signed=signed, sheet=sheet, unnoticed=unnoticed, zero=zero)
        kind = replace(kind, calibrated=_yes_or_no("calibrated", raw.get("calibrated", "no")))
        return _measured(kind, raw)
    if isinstance(raw, list):
        if not raw or not all(isinstance(word, str) for word in raw):
            raise ValueError("a choice is a list of words")
        return SpecKind(name, "choice", words=tuple(raw))
    match raw:
        case "text" | "flag" | "list":
            return SpecKind(name, raw)
        case "number":
            return SpecKind(name, "quantity")
        case str():
            return SpecKind(name, "quantity", raw, unit(raw).dimension)
    raise ValueError("is no declaration; write a unit, text, flag, number, list or a list of words")


def _measured(kind: SpecKind, raw: dict[str, Any]) -> SpecKind:
    """The declaration with what it says of measuring on the bench."""
    if not any(key in raw for key in MEASURING):
        return kind
    gauge, each, places = str(raw.get("gauge") or ""), str(raw.get("each", "")), raw.get("at", [])
    if kind.sort not in ("quantity", "text") or not gauge:
        raise ValueError("'gauge' names what a quantity or mark is read with; 'each' and 'at' belong to it")
    if each and each not in ENGINE_NUMBERS:
        hint = nearest(each, ENGINE_NUMBERS)
        raise ValueError(f"'each' is one of {', '.join(ENGINE_NUMBERS)}, not '{each}'{hint}")
    if not isinstance(places, list) or not all(isinstance(place, str) for place in places):
        raise ValueError("'at' is a list of places on the piece")
    of, _, what = str(raw.get("spread_of", "")).partition(" over ")
    if "spread_of" in raw and not (of.isidentifier() and what in SPREADS):
        raise ValueError(f"'spread_of' is written as: bore_diameter over {' or '.join(SPREADS)}")
    return replace(kind, gauge=gauge, each=each, at=tuple(places), spread_of=(of, what))


def gauges_of(kinds: Mapping[str, Mapping[str, SpecKind]]) -> tuple[str, ...]:
    """Every gauge that declarations name, by positions."""
    return tuple(dict.fromkeys(kind.gauge for specs in kinds.values() for kind in specs.values() if kind.gauge))


def _columns(raw: Any) -> tuple[tuple[str, str], ...]:
    if not isinstance(raw, dict) or not raw:
        raise ValueError("a table names its columns; write {table: {pressure: kPa, flow: L/h}}")
    columns = tuple((str(name), "" if text == "number" else str(text)) for name, text in raw.items())
    for _, text in columns:
        unit(text)
    return columns


def _yes_or_no(name: str, raw: Any) -> bool:
    if str(raw).lower() not in _FLAGS:
        raise ValueError(f"'{name}' is yes or no, not '{raw}'")
    return _FLAGS[str(raw).lower()]


def state(kind: SpecKind, raw: Any, basis: str = "maker", spot: Any = None) -> Spec:
    """Read a stated value against its declaration.

    Parameters
    ----------
    kind : SpecKind
        The declaration.
    raw : object
        What the file says: a value, or ``{value: ..., basis: ..., note: ...}``.
    basis : str
        What it rests on when it does not say so itself.
    spot : Spot, optional
        Where it was written.

    Returns
    -------
    Spec
        The value in SI.

    Raises
    ------
    ValueError
        When the value is not what the declaration asks for; the message says both.

    Examples
    --------
    >>> state(declare("stroke", "mm"), "87.00 mm ±0.05").value.text()
    '87 mm ±0.05'
    >>> state(declare("stroke", "mm"), "87 kPa")
    Traceback (most recent call last):
    ...
    ValueError: '87 kPa' is a pressure; 'stroke' wants a quantity in mm
    """
    note, raw = "", thaw(raw)
    if isinstance(raw, dict):
        content = "table" if kind.sort == "table" and "table" in raw else "value"
        if unknown := set(raw) - {content, "basis", "note"}:
            word = sorted(map(str, unknown))[0]
            raise ValueError(f"'{word}' is not known here{nearest(word, [content, 'basis', 'note'])}")
        basis, note = str(raw.get("basis", basis)), str(raw.get("note") or "")
        if basis not in BASES:
            raise ValueError(f"basis '{basis}' is not one of {', '.join(BASES)}{nearest(basis, BASES)}")
        raw = raw.get(content)
    if raw is None:
        raise ValueError(f"'{kind.name}' has no value; it wants {kind.expected}")
    return Spec(_READERS[kind.sort](kind, raw), basis, note, spot)


def _quantity(kind: SpecKind, raw: Any) -> Band:
    if not isinstance(raw, str):
        raise ValueError(f"'{kind.name}' wants {kind.expected}")
    try:
        band = read_band(raw)
    except UnitFault as error:
        raise ValueError(f"{error} ('{kind.name}' wants {kind.expected})") from None
    if why := unfit(raw, band, kind.unit):
        raise ValueError(f"{why}; '{kind.name}' wants {kind.expected}")
    if band.low < 0 and not kind.signed:
        raise ValueError(f"'{raw}' reaches below zero, which '{kind.name}' cannot")
    return band


def _choice(kind: SpecKind, raw: Any) -> str:
    if isinstance(raw, str) and raw in kind.words:
        return raw
    raise ValueError(f"'{raw}' is not {kind.expected}{nearest(str(raw), kind.words)}")


def _text(kind: SpecKind, raw: Any) -> str:
    if isinstance(raw, str):
        return raw
    raise ValueError(f"'{kind.name}' wants {kind.expected}")


def _flag(kind: SpecKind, raw: Any) -> bool:
    if isinstance(raw, str) and raw.lower() in _FLAGS:
        return _FLAGS[raw.lower()]
    raise ValueError(f"'{raw}' is not yes or no ('{kind.name}' is a flag)")


def _list(kind: SpecKind, raw: Any) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(word, str) for word in raw):
        raise ValueError(f"'{kind.name}' wants {kind.expected}")
    if strange := [word for word in raw if kind.words and word not in kind.words]:
        hint = nearest(strange[0], kind.words)
        raise ValueError(f"'{strange[0]}' is no word of '{kind.name}', {kind.expected}{hint}")
    return tuple(raw)


def _table(kind: SpecKind, raw: Any) -> Rows:
    rows = raw.get("table") if isinstance(raw, dict) else raw
    if not isinstance(rows, list) or not rows:
        raise ValueError(f"'{kind.name}' wants {kind.expected}")
    read: list[tuple[float, ...]] = []
    for number, row in enumerate(rows, 1):
        if not isinstance(row, list) or len(row) != len(kind.columns):
            raise ValueError(
                f"row {number} of '{kind.name}' wants {len(kind.columns)} entries: {kind.expected}"
            )
        cells = []
        for (column, text), cell in zip(kind.columns, row, strict=True):
            name = f"{kind.name}, row {number}, {column}"
            part = SpecKind(name, "quantity", text, unit(text).dimension, signed=True)
            cells.append(_quantity(part, cell).nominal)
        read.append(tuple(cells))
    return tuple(read)


_READERS: dict[str, Callable[[SpecKind, Any], SpecValue]] = {
    "quantity": _quantity,
    "choice": _choice,
    "text": _text,
    "flag": _flag,
    "list": _list,
    "table": _table,
}
