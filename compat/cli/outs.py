"""What commands that make a document share: into files with `--out`, as JSON, or as text to the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from compat.cli.options import stop
from compat.paper.document import Document
from compat.paper.out import Maker, check_paths, write_outs
from compat.shop.source import Faults

__all__ = ["check_outs", "give"]


def check_outs(out: Sequence[Path] | None, also: Mapping[str, Maker] = MappingProxyType({})) -> list[Path]:
    """Look at the files before anything is worked out; stop with a message for each that cannot be."""
    paths = list(out or ())
    try:
        check_paths(paths, also)
    except Faults as found:
        stop(*map(str, found.faults))
    return paths


def give(
    document: Document, out: Sequence[Path], as_json: bool, also: Mapping[str, Maker] = MappingProxyType({})
) -> None:
    """Give a document out: into the files, as JSON to the terminal if asked, as text if neither."""
    try:
        write_outs(document, out, also)
    except Faults as found:
        stop(*map(str, found.faults))
    if as_json:
        from compat.paper.formats.data import json_text

        print(json_text(document), end="")
    elif not out:
        from compat.cli.console import console
        from compat.paper.formats.text import print_document
        from compat.paper.on_paper import on_paper

        print_document(console(), on_paper(document))
    else:
        for path in out:
            print(f"wrote {path}")
