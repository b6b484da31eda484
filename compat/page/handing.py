"""Documents handed out: set into a view, or as a file of any format under a name that is safe everywhere."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Final, Literal, TypeAlias

from fastapi import Path, Query, Request
from fastapi.responses import Response
from markupsafe import Markup

from compat.page.showing import with_cookie
from compat.paper.document import Document
from compat.paper.out import ENDINGS, Maker, content

__all__ = ["FORMATS", "NUMBER", "As", "Number", "as_file", "file_name", "inside"]

FORMATS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "pdf": "application/pdf",
        "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        "csv": "text/csv; charset=utf-8",
        "md": "text/markdown; charset=utf-8",
        "html": "text/html; charset=utf-8",
        "json": "application/json",
        "txt": "text/plain; charset=utf-8",
    }
)
"""What a document is handed out as: ending without its point, and media type."""

assert FORMATS.keys() == {ending.removeprefix(".") for ending in ENDINGS}

MEDIA: Final = {**FORMATS, "xml": "application/xml"}

As: TypeAlias = Annotated[
    Literal["pdf", "xlsx", "csv", "md", "html", "json", "txt", "xml", ""], Query(alias="as")
]
"""The format asked for; empty for the view itself."""

NUMBER: Final = r"^[A-Za-z0-9_-][A-Za-z0-9._-]{0,99}$"
"""What a number of a kept paper may look like; nothing else comes near the file system."""

Number: TypeAlias = Annotated[str, Path(pattern=NUMBER)]
"""The number of a kept paper in an address."""


def inside(document: Document, level: int = 2) -> Markup:
    """A document as it is set into a view."""
    from compat.paper.formats.page import body
    from compat.paper.on_paper import on_paper

    return Markup(body(on_paper(document), level))


def as_file(
    request: Request,
    document: Document,
    ending: str,
    name: str,
    also: Mapping[str, Maker] = MappingProxyType({}),
) -> Response:
    """A document as a file to be saved.

    Parameters
    ----------
    request : Request
        What it answers.
    document : Document
        The document.
    ending : str
        A key of `FORMATS`, or of `also` behind its point.
    name : str
        What the file is to be called, without its ending.
    also : mapping
        Endings that this document has beside those of all.

    Raises
    ------
    Faults
        When the format cannot show something that stands in it.
    """
    made = content(document, f".{ending}", also, f"{name}.{ending}")
    raw = made.encode() if isinstance(made, str) else made
    given = f'attachment; filename="{file_name(name)}.{ending}"'
    return with_cookie(request, Response(raw, media_type=MEDIA[ending], headers={"content-disposition": given}))


def file_name(name: str) -> str:
    """A name that no system reads as anything but one file.

    >>> file_name("quote of ../Müller & Söhne\\r\\n"), file_name("..")
    ('quote-of-M-ller-S-hne', 'paper')
    """
    return re.sub(r"[^A-Za-z0-9_-]+", "-", name).strip("-")[:80] or "paper"
