"""The commands `start`, `lint`, `show` and `schemas`."""

from __future__ import annotations

import json
import os
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from compat.cli.options import open_chosen, stop
from compat.library.library import Library
from compat.paper.visible import json_safe
from compat.shop.source import Faults, nearest
from compat.shop.words import KINDS
from compat.shop.writing import write_whole

__all__ = ["PLURALS", "run_keep", "run_lint", "run_schemas", "run_show", "run_start"]

PLURALS = {
    "families": "family",
    "variants": "variant",
    "positions": "position",
    "features": "feature",
    "parts": "part",
    "works": "work",
    "joints": "joint",
    "suppliers": "supplier",
    "stock": "stock",
    "builds": "build",
    "rules": "rule",
    "figures": "figure",
}
"""What `show` lists in whole."""

ALSO = {"work": "works"}
"""Other words for a list."""


def run_lint(
    folder: Path, keep: bool, as_json: bool, deep: bool = False, as_sarif: bool = False, notes: bool = False
) -> int:
    """Check a whole shop, its builds with every single change too when asked; gives the exit status."""
    from compat.checking.lint import lint

    if as_json and as_sarif:
        stop("--json and --sarif both say how it is printed; give one of them")
    try:
        library = open_chosen(folder, keep)
    except Faults as found:
        if as_sarif:  # the review page is told as well
            from compat.paper.sarif import sarif

            _print_json(sarif(folder, ((fault.spot, fault.message) for fault in found.faults), ()))
        raise
    remarks = lint(library)
    if deep:
        from compat.checking.unnoticed import unnoticed

        remarks = sorted([*remarks, *unnoticed(library)])
    shop, book = library.shop, library.book
    if as_sarif:
        from compat.paper.sarif import sarif

        _print_json(sarif(folder, (), ((remark.spot, remark.message) for remark in remarks)))
        return 1 if remarks else 0
    if as_json:
        entries = [
            {"file": r.spot.file, "line": r.spot.line, "column": r.spot.column, "message": r.message}
            for r in remarks
        ]
        beyond = {"beyond": dict(shop.beyond)} if shop.beyond else {}
        _print_json({"shop": str(folder), "remarks": entries, **beyond})
        return 1 if remarks else 0
    name = shop.info.name if shop.info else folder.name
    held = {
        "variant": shop.variants,
        "position": shop.positions,
        "part": shop.parts,
        "kind": shop.works,
        "joint": shop.joints,
        "supplier": shop.suppliers,
        "build": shop.builds,
        "rule": book.rules,
        "figure": book.figures,
    }
    counts = {word: f"{len(these)} {word}{'s' * (len(these) != 1)}" for word, these in held.items()}
    size = ", ".join((counts | {"kind": f"{counts['kind']} of work"}).values())
    verdict = "no faults" if not remarks else f"no faults, {len(remarks)} remark{'s' * (len(remarks) != 1)}"
    from compat.cli.console import console
    from compat.paper.lines import print_indented

    print_indented(console(), f"{name}: {verdict}. {size}.", 0)
    for remark in remarks:
        print(remark)
    if shop.beyond:
        _print_beyond(shop.beyond, notes)
    return 1 if remarks else 0


def _print_beyond(beyond: Mapping[str, Sequence[str]], named: bool) -> None:
    """Say how many rules nobody holds here, and for which sets they wait; or which rules."""
    from compat.cli.console import console
    from compat.paper.lines import print_indented

    out = console()
    by_sets: dict[tuple[str, ...], list[str]] = {}
    for rule, sets in beyond.items():
        by_sets.setdefault(tuple(sets), []).append(rule)
    out.print()
    told = f"{len(beyond)} rules of the sets in use look into others as well, and are not held here:"
    if not named:
        waiting = Counter(name for sets in beyond.values() for name in sets)
        each = ", ".join(f"{count} into {name}" for name, count in waiting.most_common())
        print_indented(out, f"{told} {each}. `compat lint --notes` names them.", 0)
        return
    print_indented(out, told, 0)
    for sets, rules in sorted(by_sets.items(), key=lambda entry: (len(entry[0]), entry[0])):
        print_indented(out, f"{', '.join(sets)}: {', '.join(rules)}", 1)


def run_start(folder: Path, size: str) -> None:
    """Write a shop to begin with, and say what comes next."""
    from compat.library.starting import SIZES, start

    if size not in SIZES:
        stop(f"--like: '{size}' is none of {', '.join(SIZES)}{nearest(size, SIZES)}")
    written = start(folder, size)
    for path in written:
        print(folder / path.relative_to(Path(os.path.abspath(folder))))  # noqa: PTH100
    first = folder / "catalog" / "shop.yaml"
    print(f"All of it is a placeholder for your own. Begin with {first}, which says how.")


def run_keep(folder: Path, build: str) -> None:
    """Move the parts of a build into the catalogue, and say where they are."""
    from compat.library.moving_parts import finish_keeping, keep_parts
    from compat.library.sources import is_demo

    if is_demo(folder):
        stop("the demo shop comes with the program and stays as it is; parts go into your own: --shop DIR")
    if Path(build).is_file() and (done := finish_keeping(folder, Path(build))):
        print(done)
        return
    library = open_chosen(folder, True, [build])
    if build in library.shop.builds:
        file = folder / library.shop.nodes["build", build].spot.file
    elif Path(build).is_file():
        file = Path(build)
    else:
        stop(f"no build of the shop and no file is called '{build}'{nearest(build, library.shop.builds)}")
    print(keep_parts(folder, file, build if build in library.shop.builds else ""))


def run_show(folder: Path, keep: bool, name: str, system: str, as_json: bool) -> None:
    """Show anything in the shop by its id, or list everything of a kind."""
    library = open_chosen(folder, keep)
    name = ALSO.get(name, name)
    if name == "shop" and library.shop.info is not None:
        name = library.shop.info.shop
    if name in PLURALS:
        _list(library, PLURALS[name], as_json)
        return
    found = find(library, name)
    if not found:
        known = [known for _, known in library.shop.names()] + [*library.book.rules, *library.book.figures]
        known += [*PLURALS, *ALSO]
        stop(f"nothing in the shop is called '{name}'{nearest(name, known)}")
    if as_json:
        from compat.paper.entries import entry_data

        _print_json({"things": [entry_data(library, kind, name, system) for kind in found]})
        return
    from compat.cli.console import console
    from compat.paper.entries import entry_lines
    from compat.paper.lines import print_run_in

    out = console()
    for kind in found:
        for depth, text in entry_lines(library, kind, name, system):
            print_run_in(out, [(text, "" if depth else "bold")], depth)


def _list(library: Library, kind: str, as_json: bool) -> None:
    if kind == "rule":
        rows = [(name, bound.rule.title) for name, bound in library.book.rules.items()]
    elif kind == "figure":
        rows = [
            (name, f"{b.figure.name or name} [{b.figure.unit}]") for name, b in library.book.figures.items()
        ]
    else:
        rows = [(name, text) for (of, name), text in library.shop.names().items() if of == kind]
    if as_json:
        _print_json({"kind": kind, "list": [{"id": name, "name": text} for name, text in rows]})
        return
    from compat.cli.console import console
    from compat.paper.lines import print_rows

    print_rows(console(), [("", name, text) for name, text in rows])


def _print_json(data: Any) -> None:
    print(json_safe(json.dumps(data, ensure_ascii=False, indent=2)))


def find(library: Library, name: str) -> list[str]:
    """Kinds under which the id exists."""
    kinds = [kind for kind in ("shop", *KINDS) if (kind, name) in library.shop.nodes]
    return kinds + [kind for kind in ("rule", "figure") if (kind, name) in library.book.nodes]


def run_schemas(folder: Path, shop: Path) -> None:
    """Write the JSON Schemas with the ids of a shop, each file whole or not at all."""
    from compat.paper.schemas import schemas

    try:
        library = open_chosen(shop, True)
    except Faults as found:  # an editor helps to mend them, so the schemas are written all the same
        library = None
        print(
            f"{len(found.faults)} faults in the shop: its ids are not offered; see compat lint.",
            file=sys.stderr,
        )
    folder.mkdir(parents=True, exist_ok=True)
    for name, schema in schemas(library).items():
        write_whole(folder / f"{name}.schema.json", json.dumps(schema, indent=2, ensure_ascii=False) + "\n")
        print(folder / f"{name}.schema.json")
