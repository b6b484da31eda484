"""The command `tidy`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli.options import choose_folder
from compat.cli.typed import JsonOption, ShopOption

__all__ = ["tidy"]


def tidy(
    files: Annotated[
        Optional[list[Path]],  # noqa: UP045
        typer.Argument(metavar="FILES", help="Files of the shop; none: all of them."),
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Only name the files that are not in order.")] = False,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put the keys of every entry in one order, that of the demo shop; comments go with their lines.

    Exit status 0: done, or in order. 1: with --check, a file is not in order. 2: faults; nothing is written.
    """
    raise typer.Exit(_run_tidy(choose_folder(shop), files or (), check, as_json))


def _run_tidy(folder: Path, files: Sequence[Path], check: bool, as_json: bool) -> int:
    """Put the keys of entries in order; gives the exit status."""
    import json

    from compat.library.sources import look
    from compat.paper.visible import json_safe
    from compat.rulebook.reading import MODELS as RULEBOOK
    from compat.shop.reading import MODELS as CATALOGUE
    from compat.shop.source import Fault, Faults, read_bytes, tree_of
    from compat.shop.tidying import keys_of, tidied
    from compat.shop.writing import write_whole

    paths = {str(path): path for path in files} or dict(look(folder))
    orders = {word: keys_of(model) for word, model in {**CATALOGUE, **RULEBOOK}.items()}
    faults: list[Fault] = []
    untidy: dict[Path, bytes] = {}
    named: list[str] = []
    for shown, path in paths.items():
        try:
            raw = read_bytes(path, shown)
            tree_of(raw, shown)
        except Faults as found:
            faults += found.faults
            continue
        made = tidied(raw.decode("utf-8"), orders).encode()
        if made != raw:
            untidy[path] = made
            named.append(shown)
    if not as_json:
        print(*named, sep="\n", end="\n" * bool(named))
    if faults:  # nothing is written where anything is wrong
        raise Faults(faults)
    for path, made in () if check else untidy.items():
        write_whole(path, made)
    if as_json:
        print(
            json_safe(json.dumps({"not_in_order": named, "written": not check}, ensure_ascii=False, indent=2))
        )
    return 1 if check and untidy else 0
