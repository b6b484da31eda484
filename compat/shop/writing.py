"""A build as its file says it, and writing such a file."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any

from compat.shop.entry import Entry
from compat.shop.models import Build
from compat.shop.money import Money
from compat.units import Band

__all__ = ["as_said", "write_build", "write_whole"]


def as_said(thing: Any) -> Any:
    """What a file would say for a thing: plain words, numbers and lists, and nothing that is as by default.

    >>> as_said({"power": Band(130e3, 130e3, 130e3, (2.0, 1.0, -3.0, 0.0, 0.0, 0.0, 0.0), "kW")})
    {'power': '130 kW'}
    """
    if isinstance(thing, Band):
        return thing.text()
    if isinstance(thing, Money):
        return str(thing).replace(",", "")
    if isinstance(thing, Entry):
        return _entry(thing)
    if isinstance(thing, Mapping):
        return {str(name): as_said(value) for name, value in thing.items()}
    if isinstance(thing, tuple | list):
        return [as_said(value) for value in thing]
    return thing if thing is None or isinstance(thing, str | int | float | bool) else str(thing)


def _entry(entry: Entry) -> dict[str, Any]:
    said: dict[str, Any] = {}
    for one in fields(entry):
        value = getattr(entry, one.name)
        usual = one.default_factory() if one.default_factory is not MISSING else one.default
        if value is None or value == usual:
            continue
        if one.name == entry.rest:
            said |= as_said(value)
        else:
            said[one.metadata.get("written", one.name)] = as_said(value)
    return said


def write_build(build: Build, path: Path, *, over: bool = False) -> None:
    """Write a build file, whole or not at all.

    Parameters
    ----------
    build : Build
        The build.
    path : Path
        The file.
    over : bool
        Whether a file that is there may be replaced.

    Raises
    ------
    FileExistsError
        When the file is there and may not be replaced.
    """
    import yaml

    text = yaml.safe_dump(as_said(build), sort_keys=False, allow_unicode=True, width=100)
    write_whole(path, text, over=over)


def write_whole(path: Path, content: str | bytes, *, over: bool = True) -> None:
    """Write a file by way of a temporary one, so that no half-written file is ever seen.

    Raises
    ------
    FileExistsError
        When the file is there and may not be replaced.
    """
    import tempfile

    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)
        if over:
            temporary.replace(path)
        else:
            os.link(temporary, path)  # fails where the file is there, whoever made it meanwhile
            temporary.unlink()
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
