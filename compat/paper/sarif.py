"""What a look over a shop found, as SARIF for a page on which changes are reviewed.

SARIF 2.1.0 (Static Analysis Results Interchange Format) is a standard of OASIS, 27 March 2020; section numbers
below are its own. Faults are errors, remarks are warnings.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import blake2b
from pathlib import Path
from typing import Any
from urllib.parse import quote

from compat import __version__
from compat.shop.source import Spot

__all__ = ["sarif"]

ROOT = "SRCROOT"
"""The folder that the names of files start at; whoever shows them knows where it lies (3.4.4)."""
SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
RULES = {
    "fault": ("error", "A file of the shop is at fault", "Nothing is checked with a shop that has a fault."),
    "remark": ("warning", "Something looks like an oversight", "The shop reads; a person decides."),
}


def sarif(
    folder: Path, faults: Iterable[tuple[Spot, str]], remarks: Iterable[tuple[Spot, str]]
) -> dict[str, Any]:
    """Give what was found, as one run of SARIF.

    Parameters
    ----------
    folder : Path
        The shop.
    faults, remarks : iterable of (Spot, str)
        Where, and what.

    Returns
    -------
    dict
        A log (3.13), to be written as JSON. Names of files start at the folder under version control,
        else at the shop's.
    """
    before = _before(folder)
    results = [
        _result(rule, spot, message, before)
        for rule, found in (("fault", faults), ("remark", remarks))
        for spot, message in found
    ]
    rules = [
        {
            "id": name,
            "shortDescription": {"text": title},
            "fullDescription": {"text": text},
            "defaultConfiguration": {"level": level},
        }
        for name, (level, title, text) in RULES.items()
    ]
    driver = {"name": "compat", "version": __version__, "rules": rules}
    run = {"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _result(rule: str, spot: Spot, message: str, before: str) -> dict[str, Any]:
    found: dict[str, Any] = {
        "ruleId": rule,
        "ruleIndex": list(RULES).index(rule),
        "level": RULES[rule][0],
        "message": {"text": message},
        # the same remark is the same one when lines above it come and go (3.27.17)
        "partialFingerprints": {
            "says/v1": blake2b(f"{spot.file}\n{message}".encode(), digest_size=12).hexdigest()
        },
    }
    if not spot.line:
        found["message"] = {"text": f"{spot.file}: {message}"}
        return found
    place: dict[str, Any] = {
        "artifactLocation": {"uri": quote(before + spot.file), "uriBaseId": ROOT},
        "region": {"startLine": spot.line, "startColumn": max(spot.column, 1)},
    }
    return {**found, "locations": [{"physicalLocation": place}]}


def _print(text: str) -> str:
    return blake2b(text.encode(), digest_size=12).hexdigest()


def _before(folder: Path) -> str:
    """What stands before the names of the shop's files, seen from the folder under version control."""
    here = folder.resolve()
    for above in (here, *here.parents):
        if (above / ".git").exists():
            inside = here.relative_to(above).as_posix()
            return "" if inside == "." else f"{inside}/"
    return ""
