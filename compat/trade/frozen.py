"""Quotes kept under a number: written once and whole, never overwritten, no number given twice.

A record is written whole to a file of its own and then linked to the name of its number, which fails where
the number is taken: then the next is tried. Whoever is stopped at any moment leaves the record or none.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from hashlib import blake2b
from pathlib import Path
from time import time
from typing import Any

from compat.library.sources import is_demo
from compat.shop.source import Fault, Faults, Spot, nearest

__all__ = ["VARIABLE", "keep", "kept", "measured_folder", "numbers", "orders_folder", "quotes_folder"]

VARIABLE = "COMPAT_QUOTES"
"""Names the folder that quotes are kept in."""
FORMAT = 1
HALF_WRITTEN = 86_400
"""A draft that old [s] was given up."""
_COUNT = re.compile(r"\{count(?::([1-9]))?\}")
_NAME = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]{0,99}")


def quotes_folder(shop: Path, name: str) -> Path:
    """Where the quotes of a shop lie.

    Parameters
    ----------
    shop : Path
        The shop's folder.
    name : str
        The shop's id.

    Returns
    -------
    Path
        What `COMPAT_QUOTES` names; else ``quotes`` in the shop's own folder; else, where that is the demo or
        cannot be written, a folder of the user's own. It need not be there yet.
    """
    if said := os.environ.get(VARIABLE, ""):
        return Path(said)
    own = shop / "quotes"
    if not is_demo(shop) and os.access(own if own.is_dir() else shop, os.W_OK | os.X_OK):
        return own
    from platformdirs import user_data_path

    return user_data_path("shop-compat", appauthor=False) / "quotes" / name


def orders_folder(shop: Path, name: str) -> Path:
    """Where the orders of a shop lie: in a folder of their own, where its quotes do."""
    return quotes_folder(shop, name) / "orders"


def measured_folder(shop: Path, name: str) -> Path:
    """Where what was measured on the builds of a shop lies: in a folder of its own, where its quotes do."""
    return quotes_folder(shop, name) / "measured"


def number_of(pattern: str, on: date, count: int) -> str:
    """A number of a series.

    >>> number_of("Q-{year}-{count:4}", date(2026, 3, 9), 12)
    'Q-2026-0012'
    """
    said = pattern.replace("{year}", f"{on.year:04}")
    return _COUNT.sub(lambda found: f"{count:0{found[1] or 1}}", said)


def _counts(folder: Path, pattern: str, on: date) -> int:
    """The highest count of the series that is taken; of this year, where the year is in it."""
    before, after = _COUNT.split(pattern.replace("{year}", f"{on.year:04}"))[::2]
    form = re.compile(rf"{re.escape(before)}([0-9]+){re.escape(after)}\.json")
    found = (form.fullmatch(path.name) for path in folder.iterdir())
    return max((int(match[1]) for match in found if match), default=0)


def keep(
    folder: Path, pattern: str, on: date, record: Callable[[str], Mapping[str, Any]], what: str = "quote"
) -> str:
    """Keep a record under the next free number of a series.

    Parameters
    ----------
    folder : Path
        Where; made when it is not there.
    pattern : str
        The series, like ``Q-{year}-{count:4}``.
    on : date
        The day, whose year is in the number.
    record : callable
        Gives the record when it is told its number; called again for the next where one was taken meanwhile.
    what : str
        What such a record is called.

    Returns
    -------
    str
        The number.

    Raises
    ------
    Faults
        When the folder cannot be made or written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        count = _counts(folder, pattern, on) + 1
        while True:
            number = number_of(pattern, on, count)
            if _placed(folder, number, _text(record(number))):
                return number
            count += 1
    except OSError as error:
        message = f"keeps no {what}s: {error.strerror or error}; name another folder by {VARIABLE}"
        raise Faults([Fault(Spot(str(folder), 0), message)]) from error


def _text(record: Mapping[str, Any]) -> str:
    told = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
    return json.dumps({"format": FORMAT, "seal": _seal(told)})[:-1] + f', "record": {told}}}\n'


def _seal(told: str) -> str:
    return blake2b(told.encode(), digest_size=16).hexdigest()


def _placed(folder: Path, number: str, text: str) -> bool:
    """Write a record whole and give it its name; False where the name is taken."""
    handle, name = tempfile.mkstemp(dir=folder, prefix=".", suffix=".draft")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o444)  # noqa: PTH101  nobody writes to it again
        try:
            os.link(name, folder / f"{number}.json")
        except FileExistsError:
            return False
        _settle(folder)
        return True
    finally:
        with suppress(OSError):
            os.unlink(name)  # noqa: PTH108


def _settle(folder: Path) -> None:
    """See that the new name survives a power cut, where the system lets one."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Take away what was never finished."""
    for path in folder.glob(".*.draft"):
        with suppress(OSError):
            if time() - path.stat().st_mtime > HALF_WRITTEN:
                path.unlink()


def numbers(folder: Path) -> list[str]:
    """Numbers of all quotes kept in a folder."""
    return sorted(path.stem for path in folder.glob("*.json") if _NAME.fullmatch(path.stem))


def kept(folder: Path, number: str, what: str = "quote") -> dict[str, Any]:
    """Read a kept record.

    Parameters
    ----------
    folder : Path
        Where quotes are kept.
    number : str
        Its number.
    what : str
        What such a record is called.

    Returns
    -------
    dict
        The record as it was written.

    Raises
    ------
    Faults
        When there is none of that number, or it is not as it was written.
    """
    path = folder / f"{number}.json"
    if not _NAME.fullmatch(number) or not path.is_file():
        known = numbers(folder) if folder.is_dir() else []
        hint = nearest(number, known) or f"; {'the last is ' + known[-1] if known else 'none is kept yet'}"
        raise Faults([Fault(Spot(str(folder), 0), f"no {what} '{number[:60]}' is kept here{hint}")])
    try:
        whole = json.loads(path.read_text(encoding="utf-8"))
        record = whole["record"]
        told = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
        if whole["format"] != FORMAT:
            raise Faults(
                [Fault(Spot(str(path), 0), f"is kept in format {whole['format']}; this program reads {FORMAT}")]
            )
        if whole["seal"] != _seal(told) or not isinstance(record, dict):
            raise ValueError
    except (ValueError, KeyError, TypeError) as error:
        raise Faults(
            [Fault(Spot(str(path), 0), f"is not as it was written; it is no {what} any more")]
        ) from error
    return record
