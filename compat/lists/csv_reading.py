"""CSV as suppliers send it (RFC 4180 and its kin): separator and code page are made out from what it holds."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator

from compat.lists.grid import MOST_COLUMNS, MOST_LINES, Cell, Line, Page, SupplierFile, cleaned
from compat.shop.source import Fault, Faults, Spot

__all__ = ["CODE_PAGES", "decoded", "read_csv", "separator_of"]

CODE_PAGES = ("cp1252", "cp850", "mac_roman", "cp1250")
"""Code pages of one byte a letter, the usual one first, that a file without a mark of its own may be in."""
_LIKELY = frozenset("äöüÄÖÜßéèêëàâçîïôûùñáíóúÁÉÍÓÚøØåÅæÆœŒãõìòłŁśŚżŻźŹćĆńŃąĄęĘčČšŠžŽřŘěĚůŮőŐűŰ")
_SIGNS = frozenset("£€¥°±½¼¾²³µ×–—’‘“”…·®™§\u00a0")
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
SEPARATORS = ";\t|,"
"""What may stand between fields; where two would do as well, the first."""
LOOKED_AT = 80


def read_csv(raw: bytes, shown: str, encoding: str | None = None, separator: str | None = None) -> SupplierFile:
    """Read a CSV file.

    Parameters
    ----------
    raw : bytes
        The file.
    shown : str
        How messages name it.
    encoding, separator : str, optional
        What it is written in, where that is known; else both are made out.

    Returns
    -------
    SupplierFile
        One page; a place counts lines and fields from 1.

    Raises
    ------
    Faults
        When it is no text in that code page, or no table of sane size.
    """
    text, remark = decoded(raw, shown, encoding)
    if "\x00" in text:
        raise Faults([Fault(Spot(shown), "holds a zero byte; this is no text file")])
    mark = separator or separator_of(text)
    lines = tuple(_lines(text, shown, mark))
    return SupplierFile(shown, (Page("", Spot(shown), lines),), (remark,) if remark else ())


def _lines(text: str, shown: str, mark: str) -> Iterator[Line]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    begun = 1
    try:
        for fields in reader:
            if len(fields) > MOST_COLUMNS:
                raise Faults([Fault(Spot(shown, begun), f"has {len(fields)} columns")])
            if begun > MOST_LINES:
                raise Faults([Fault(Spot(shown, begun), f"holds more than {MOST_LINES} rows")])
            cells = {
                at: Cell(said, Spot(shown, begun, at))
                for at, field in enumerate(fields, 1)
                if (said := cleaned(field))
            }
            if cells:
                yield Line(begun, cells)
            begun = reader.line_num + 1
    except csv.Error as error:
        told = "a quotation mark is not closed, or stands inside a field" if '"' in text else str(error)
        raise Faults([Fault(Spot(shown, begun), f"is no table of fields: {told}")]) from None


def decoded(raw: bytes, shown: str, encoding: str | None = None) -> tuple[str, str]:
    """The text of a file, and what to tell of how it was read.

    Parameters
    ----------
    raw : bytes
        The file.
    shown : str
        How messages name it.
    encoding : str, optional
        The code page, where it is known.

    Returns
    -------
    tuple of str
        The text; a remark where the code page had to be made out, else nothing.

    Raises
    ------
    Faults
        When it is no text in that code page.

    Examples
    --------
    >>> decoded("Länge".encode("cp850"), "list.csv")
    ('Länge', 'not UTF-8: read as code page cp850, as its letters look')
    """
    if encoding is not None:
        try:
            return raw.decode(encoding), ""
        except UnicodeDecodeError as error:
            line = raw[: error.start].count(b"\n") + 1
            told = f"byte 0x{raw[error.start]:02x} is none of code page {encoding}"
            raise Faults([Fault(Spot(shown, line), told)]) from None
        except UnicodeError as error:
            raise Faults([Fault(Spot(shown), f"is no {encoding}: {error}")]) from None
    for mark, name in _MARKS:
        if raw.startswith(mark):
            return decoded(raw, shown, name)
    try:
        return raw.decode("utf-8"), ""
    except UnicodeDecodeError:
        pass
    scored = []
    for place, name in enumerate(CODE_PAGES):
        try:
            text = raw.decode(name)
        except UnicodeDecodeError:
            continue
        scored.append((-_likely(text), place, name, text))
    if not scored:
        raise Faults([Fault(Spot(shown), "is no text: neither UTF-8 nor any usual code page")])
    _, _, name, text = min(scored)
    return text, f"not UTF-8: read as code page {name}, as its letters look"


def _likely(text: str) -> float:
    """How much letters beyond ASCII look as people write them: a letter among letters, a sign apart."""
    score = 0.0
    for match in re.finditer(r"[^\x00-\x7f]", text):
        letter, at = match[0], match.start()
        beside = (text[at - 1 : at] + text[at + 1 : at + 2]).isalpha()
        if letter in _LIKELY:
            inside = text[at - 1 : at].islower() and letter.isupper()
            score += -0.5 if inside else 1.0 if beside else 0.4
        elif letter in _SIGNS:
            score += 0.2 if beside else 1.0
        else:
            score -= 1.0
    return score


def separator_of(text: str) -> str:
    """What stands between the fields of a text: what cuts its lines into equally many.

    >>> separator_of("a;b\\n1,5;2,5\\n"), separator_of("a,b\\n1.5,2\\n"), separator_of("a\\tb\\n1\\t2\\n")
    (';', ',', '\\t')
    """
    head = text[:200_000].splitlines()[:LOOKED_AT]
    best, chosen = 0.0, ","
    for mark in SEPARATORS:
        try:
            counts = Counter(len(fields) for fields in csv.reader(head, delimiter=mark) if any(fields))
        except csv.Error:
            continue
        wide = {count: often for count, often in counts.items() if count > 1}
        if not wide:
            continue
        count, often = max(wide.items(), key=lambda one: (one[1], one[0]))
        score = often / sum(counts.values()) * (1 + min(count, 12) / 100)
        if score > best:
            best, chosen = score, mark
    return chosen
