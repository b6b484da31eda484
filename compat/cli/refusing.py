"""What is said where a build does not go together and nobody asked for its papers all the same."""

from __future__ import annotations

import sys
from collections.abc import Sequence

__all__ = ["tell_findings"]

FIRST = 10
"""So many findings are told; `check` tells them all."""


def tell_findings(head: str, build: str, found: Sequence[tuple[str, str, str]], tail: str = "") -> None:
    """Print the first findings that stand against a build to standard error.

    Parameters
    ----------
    head : str
        What is refused, and why.
    build : str
        As `check` takes it.
    found : sequence of (str, str, str)
        Verdict, title and sentence of each finding, the worst first.
    tail : str
        What can be done about it.
    """
    print(head, file=sys.stderr)
    for verdict, title, because in found[:FIRST]:
        print(f"  {verdict}: {title}: {because}", file=sys.stderr)
    if len(found) > FIRST:
        print(f"  and {len(found) - FIRST} more: compat check {build}", file=sys.stderr)
    if tail:
        print(tail, file=sys.stderr)
