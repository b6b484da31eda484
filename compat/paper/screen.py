"""What is printed on: a terminal that shows styles, or a file or pipe that takes plain lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, TextIO, TypeAlias

from compat.paper.visible import visible

if TYPE_CHECKING:
    from rich.console import Console as Terminal

__all__ = ["Console", "Plain", "print_line"]


class Plain:
    """A file or pipe: what is printed on it is written as it is, its styles left out.

    Parameters
    ----------
    stream : file
        Where to.
    width : int
        Columns that paragraphs are folded to.
    """

    is_terminal = False

    def __init__(self, stream: TextIO, width: int) -> None:
        self.stream = stream
        self.width = width

    def print(self, text: str = "") -> None:
        """Write a line."""
        self.stream.write(f"{visible(text).expandtabs()}\n")


Console: TypeAlias = "Terminal | Plain"


def print_line(console: Console, *pieces: tuple[str, str], cut: bool = False) -> None:
    """Print one line of pieces, each a text and its style; it is not folded.

    What comes after the first lies over its style. A terminal cuts the line to its width where that is asked.

    >>> import sys
    >>> print_line(Plain(sys.stdout, 80), ("Rod bolt", "bold"), (" short", ""))
    Rod bolt short
    """
    if isinstance(console, Plain):
        console.print("".join(text for text, _ in pieces))
        return
    from rich.text import Text

    (first, style), *others = pieces
    line = Text(first, style=style)
    for text, over in others:
        line.append(text, style=over)
    if cut and console.is_terminal:
        line.truncate(console.width, overflow="ellipsis")
    console.print(line, soft_wrap=True)
