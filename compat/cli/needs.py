"""The command `needs`: what rules ask of a part, and how it is found out."""

from __future__ import annotations

import json
from pathlib import Path

from compat.checking.worth import AskedSpec, asked_at, how_measured
from compat.cli.options import open_chosen, stop
from compat.paper.visible import json_safe
from compat.shop.source import nearest

__all__ = ["run_needs"]


def run_needs(folder: Path, keep: bool, position: str, as_json: bool) -> None:
    """Print the specs that rules ask of a part in a position, most telling first."""
    library = open_chosen(folder, keep)
    shop = library.shop
    if position not in shop.positions:
        stop(f"position '{position}' is not known{nearest(position, shop.positions)}")
    asked = asked_at(shop, library.book, position)
    if as_json:
        entries = [
            {
                "spec": each.spec,
                "wanted": each.kind.expected,
                "is": each.kind.meaning,
                "gauge": each.kind.gauge,
                "rules": each.rules,
            }
            for each in asked
        ]
        print(json_safe(json.dumps({"position": position, "specs": entries}, ensure_ascii=False, indent=2)))
        return
    from compat.cli.console import console
    from compat.paper.lines import print_indented, print_rows

    out = console()
    name = shop.positions[position].name
    if not asked:
        print_indented(out, f"{name}: no rule asks a spec of it.", 0)
        return
    print_indented(out, f"{name}: {len(asked)} specs that rules ask, with how many rules hang on each.", 0)
    print_rows(out, [(str(len(each.rules)), _named(each), how_measured(each.kind)) for each in asked])


def _named(asked: AskedSpec) -> str:
    unit = asked.kind.unit if asked.kind.sort == "quantity" else ""
    return f"{asked.spec} [{unit}]" if unit else asked.spec
