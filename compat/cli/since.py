"""`compat lint --record` and `--since`: which verdicts an update of the program, or an edit, has changed."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from compat.checking.since import otherwise, verdicts
from compat.cli.options import open_chosen, stop
from compat.library.sources import is_demo
from compat.paper.visible import json_safe
from compat.rulebook.models import VERDICTS
from compat.shop.source import nearest
from compat.shop.writing import write_whole
from compat.version import __version__

__all__ = ["hold_apart", "run_record", "run_since"]

KEPT = "verdicts"
"""Folder of the shop in which they stand, a file for each version."""


def hold_apart(record: bool, since: bool, deep: bool, sarif: bool, as_json: bool) -> None:
    """Refuse options that would be passed over beside `--record` and `--since`, all at once."""
    asked = "--record" if record else "--since"
    beside = {"--since": record and since, "--deep": deep, "--sarif": sarif, "--json": record and as_json}
    vain = [option for option, given in beside.items() if given]
    if vain:
        stop(*(f"{option} says nothing beside {asked}; give one of them at a time" for option in vain))


def run_record(folder: Path, keep: bool) -> None:
    """Write down the verdicts that this version finds."""
    if is_demo(folder):
        stop("--record: the demo shop is the program's own, and nothing is written into it; go to your shop")
    library = open_chosen(folder, keep)
    path = folder / KEPT / f"{__version__}.json"
    path.parent.mkdir(exist_ok=True)
    write_whole(path, json.dumps(verdicts(library), indent=1, sort_keys=True) + "\n")
    print(path)


def run_since(folder: Path, keep: bool, version: str, as_json: bool) -> int:
    """Tell which verdicts are otherwise than a version found them; gives the exit status."""
    path = folder / KEPT / f"{version}.json"
    known = [found.stem for found in sorted((folder / KEPT).glob("*.json"))]
    if not re.fullmatch(r"[0-9A-Za-z.+-]+", version) or version not in known:
        there = f"; recorded are {', '.join(known)}" if known else "; `compat lint --record` does that"
        stop(f"no verdicts of '{version}' were recorded in this shop{nearest(version, known) or there}")
    before = _read(path)
    library = open_chosen(folder, keep)
    now = verdicts(library)
    found = list(otherwise(before, now))
    gone, new = [b for b in before if b not in now], [b for b in now if b not in before]
    if as_json:
        entries = [
            {"build": one.build, "rule": one.rule, "before": one.before or None, "now": one.now or None}
            for one in found
        ]
        told = {"since": version, "changed": entries, "new": new, "gone": gone}
        print(json_safe(json.dumps(told, ensure_ascii=False, indent=2)))
        return 1 if found else 0
    engines = len(now) - len(new)
    are = "1 verdict is" if len(found) == 1 else f"{len(found)} verdicts are"
    print(f"{are} otherwise than {version} found them on {engines} engine{'s' * (engines != 1)}.")
    for one in found:
        bound = library.book.rules.get(one.rule)
        title = f"{bound.rule.title}: " if bound is not None else ""
        print(f"{one.build}: {one.rule}: {title}{one.before or 'not judged'} -> {one.now or 'not judged'}")
    for what, names in (("Not compared, as it was not there", new), ("No longer there", gone)):
        if names:
            print(f"{what}: {', '.join(names)}.")
    return 1 if found else 0


def _read(path: Path) -> Any:
    """Verdicts as they were recorded."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        whole = all(word in VERDICTS for rules in data.values() for word in rules.values())
    except (ValueError, AttributeError):
        whole = False
    if not whole:
        stop(f"{path}: holds no verdicts as `compat lint --record` writes them")
    return data
