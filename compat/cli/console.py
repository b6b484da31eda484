"""What a command prints on: folded to the window, and styled where a terminal shows it."""

from __future__ import annotations

import os

from compat.cli.options import width
from compat.cli.streams import styled
from compat.paper.screen import Console, Plain

__all__ = ["console"]


def console() -> Console:
    """A console on the standard output; into a file or pipe it prints plain text."""
    out = styled()
    # a terminal is told by what it is, or by these two, as force-color.org and rich have it
    if out.isatty() or os.environ.get("FORCE_COLOR") or os.environ.get("TTY_COMPATIBLE") == "1":
        from compat.cli.styled_console import styled_console

        return styled_console(out, width())
    return Plain(out, width())
