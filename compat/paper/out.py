"""Documents into files: the ending of a file says its format, and a file is written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final, TypeAlias

from compat.paper.document import Document
from compat.paper.on_paper import on_paper
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.writing import write_whole

__all__ = [
    "ENDINGS",
    "Maker",
    "check_files",
    "check_paths",
    "content",
    "write_all",
    "write_files",
    "write_out",
    "write_outs",
]

Maker: TypeAlias = Callable[[Document], bytes | str]
"""What makes the content of a file of a document."""


def _pdf(document: Document) -> bytes:
    from compat.paper.formats.pdf import pdf

    return pdf(document)


def _workbook(document: Document) -> bytes:
    from compat.paper.formats.workbook import workbook

    return workbook(document)


def _csv(document: Document) -> str:
    from compat.paper.formats.csv_rows import csv_rows

    return csv_rows(document)


def _markdown(document: Document) -> str:
    from compat.paper.formats.markdown import markdown

    return markdown(document)


def _page(document: Document) -> str:
    from compat.paper.formats.page import page

    return page(document)


def _json(document: Document) -> str:
    from compat.paper.formats.data import json_text

    return json_text(document)


def _text(document: Document) -> str:
    from compat.paper.formats.text import text

    return text(document)


ENDINGS: Mapping[str, Maker] = MappingProxyType(
    {
        ".pdf": _pdf,
        ".xlsx": _workbook,
        ".csv": _csv,
        ".md": _markdown,
        ".html": _page,
        ".json": _json,
        ".txt": _text,
    }
)
"""What each ending makes of any document."""

READ: Final = frozenset((".pdf", ".xlsx", ".md", ".html", ".txt"))
"""Endings of files that people read; the others are data."""


def check_paths(paths: Iterable[Path], also: Iterable[str] = ()) -> None:
    """Look at files that are to be written, before anything is worked out for them.

    Parameters
    ----------
    paths : Iterable[Path]
        The files.
    also : Iterable[str]
        Endings that this kind of document has beside those of all.

    Raises
    ------
    Faults
        Every file that could not be written, or whose ending says no format.
    """
    check_files(paths, [*ENDINGS, *also])


def check_files(paths: Iterable[Path], known: Sequence[str]) -> None:
    """The same for files of a kind that has endings of its own.

    Parameters
    ----------
    paths : Iterable[Path]
        The files.
    known : Sequence[str]
        Endings that say a format.

    Raises
    ------
    Faults
        Every file that could not be written, or whose ending says no format.
    """
    seen: set[str] = set()
    faults = []
    for path in paths:
        real = os.path.realpath(path)
        if wrong := "is given twice" if real in seen else _wrong(path, known):
            faults.append(Fault(Spot(str(path), 0), wrong))
        seen.add(real)
    if faults:
        raise Faults(faults)


def _wrong(path: Path, known: Sequence[str]) -> str:
    """Why a file cannot be written; nothing where it can."""
    ending = path.suffix.lower()
    if path.is_dir():
        return "is a folder; name a file in it"
    if ending not in known:
        said = f"the ending '{ending}' says no format" if ending else "has no ending that says its format"
        return f"{said}; known are {', '.join(known)}{nearest(ending, known)}"
    if path.exists() and not path.is_file():
        return "is there already and is no plain file"
    folder = path.parent
    if not folder.exists():
        return f"there is no folder {folder}"
    if not folder.is_dir():
        return f"{folder} is no folder"
    if not os.access(folder, os.W_OK | os.X_OK):
        return f"the folder {folder} cannot be written"
    return ""


def write_out(document: Document, path: Path, also: Mapping[str, Maker] = MappingProxyType({})) -> None:
    """Write a document into a file, in the format that its ending says.

    Parameters
    ----------
    document : Document
        What is to be written.
    path : Path
        The file; one that is there is replaced.
    also : Mapping[str, Maker]
        Endings that this kind of document has beside those of all.

    Raises
    ------
    Faults
        When it cannot be written; what was there stays as it is.
    """
    write_outs(document, [path], also)


def write_outs(
    document: Document, paths: Sequence[Path], also: Mapping[str, Maker] = MappingProxyType({})
) -> None:
    """Write a document into several files; none is touched before all are made.

    Parameters
    ----------
    document : Document
        What is to be written.
    paths : Sequence[Path]
        The files.
    also : Mapping[str, Maker]
        Endings that this kind of document has beside those of all.

    Raises
    ------
    Faults
        When one cannot be made or written.
    """
    write_all([(document, path, also) for path in paths])


def write_all(files: Sequence[tuple[Document, Path, Mapping[str, Maker]]]) -> None:
    """Write several documents, each into its file; none is touched before all are made.

    Parameters
    ----------
    files : Sequence[tuple[Document, Path, Mapping[str, Maker]]]
        What is to be written, where, and endings that this kind of document has beside those of all.

    Raises
    ------
    Faults
        When one cannot be made or written.
    """
    check_paths([path for _, path, _ in files], [ending for _, _, also in files for ending in also])
    write_files(
        [(path, content(document, path.suffix.lower(), also, str(path))) for document, path, also in files]
    )


def write_files(made: Iterable[tuple[Path, bytes | str]]) -> None:
    """Write files that are made, each whole or not at all.

    Raises
    ------
    Faults
        When one cannot be written; what was there stays as it is.
    """
    for path, content in made:
        try:
            write_whole(path, content)
        except OSError as error:
            message = f"cannot be written: {error.strerror or error}"
            raise Faults([Fault(Spot(str(path), 0), message)]) from None


def content(
    document: Document, ending: str, also: Mapping[str, Maker] = MappingProxyType({}), shown: str = ""
) -> bytes | str:
    """What a file of a document holds.

    Parameters
    ----------
    document : Document
        What is to be written.
    ending : str
        The ending of the file, one of `ENDINGS` or of `also`.
    also : Mapping[str, Maker]
        Endings that this kind of document has beside those of all.
    shown : str
        How messages name the file.

    Raises
    ------
    Faults
        When the format cannot show something that stands in it.
    """
    from compat.paper.formats.pdf import NotShown

    try:
        return {**ENDINGS, **also}[ending](on_paper(document) if ending in READ else document)
    except NotShown as error:
        raise Faults(error.faults(Path(shown or ending))) from None
