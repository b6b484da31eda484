"""Headings, sentences and rows on a console, folded to its window."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from compat.paper.screen import print_line
from compat.paper.visible import visible

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["print_heading", "print_indented", "print_numbers", "print_rows", "print_run_in", "wrapped"]


def wrapped(text: str, width: int, indent: str = "", hang: str = "") -> list[str]:
    """Lines of a sentence folded to a width; a word longer than that stands alone and whole."""
    from textwrap import TextWrapper

    text = visible(text)
    if len(indent) + len(text) <= max(width, 20) and text.isprintable() and text and text == text.strip():
        return [indent + text]  # most are short enough
    return TextWrapper(
        max(width, 20), initial_indent=indent, subsequent_indent=hang, break_on_hyphens=False,
        break_long_words=False,
    ).wrap(text)  # fmt: skip


def print_heading(console: Console, text: str, style: str = "bold") -> None:
    """Print the heading of a section, set off by an empty line."""
    console.print()
    print_indented(console, text, 0, style)


def print_indented(console: Console, text: str, depth: int, style: str = "") -> None:
    """Print a sentence folded to the window, indented by its depth."""
    indent = " " * min(2 * depth, console.width // 3)
    hang = indent + "   " * text.startswith("-> ")
    for line in wrapped(text, console.width, indent, hang):
        print_line(console, (line, style))


def print_run_in(
    console: Console, pieces: Sequence[tuple[str, str]], depth: int, *, hang: int = 2, most: int | None = None
) -> None:
    """Print one paragraph of pieces, each a text and its style.

    Lines after the first are set in by so many blanks more; those beyond `most` are cut off.
    """
    indent = " " * min(2 * depth, console.width // 3)
    styles = (style for text, style in pieces for _ in visible(text).split())
    whole = " ".join(text for text, _ in pieces)
    lines = wrapped(whole, console.width, indent, indent + " " * hang)
    if most is not None and len(lines) > most:
        room = wrapped(whole, console.width - 2, indent, indent + " " * hang)
        lines = [*room[: most - 1], f"{room[most - 1]} …"]
    for line in lines:
        words = line.split()
        shown = [(line[: len(line) - len(line.lstrip())], "")]
        pairs = groupby(zip(words, styles, strict=False), key=itemgetter(1))  # the words go on
        for number, (style, found) in enumerate(pairs):
            shown.append((" " * (number > 0) + " ".join(word for word, _ in found), style))
        print_line(console, *shown)


def print_rows(console: Console, rows: Iterable[tuple[str, str, str]]) -> None:
    """Print rows of three columns: the first to the right, the others folded to the window."""
    rows = [(visible(left), visible(middle), visible(right)) for left, middle, right in rows]
    if not rows:
        return
    first = 2 + max(len(row[0]) for row in rows)
    room = max(console.width - first - 4, 20)
    longest = max(len(row[1]) for row in rows)
    if any(row[2] for row in rows):
        second = longest if longest <= room * 0.6 else max(room // 2, min(longest, 26))
    else:
        second = room
    third = room - second
    for left, middle, right in rows:
        lines = wrapped(middle, second) or [""]
        tails = (wrapped(right, third) if third >= 20 else []) if right else []
        for number in range(max(len(lines), len(tails))):
            text = f"{left if number == 0 else '':>{first}}  {lines[number] if number < len(lines) else ''}"
            if number < len(tails):
                print_line(console, (f"{text:<{first + 4 + second}}", ""), (tails[number], "dim"))
            else:
                print_line(console, (text.rstrip(), ""))
        if right and third < 20:
            # too narrow for a third column: below, set in
            for line in wrapped(right, console.width, " " * (first + 4), " " * (first + 4)):
                print_line(console, (line, "dim"))


def print_numbers(console: Console, titles: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    """Print a table: names to the left, folded, and columns of numbers to the right.

    In a window too narrow for the columns the numbers stand below their name.
    """
    table = [titles, *rows] if any(titles) else rows
    widths = [max((len(row[i]) for row in table), default=0) for i in range(1, len(titles))]
    room = console.width - sum(widths) - 2 * len(widths) - 2
    if room < 24:
        for row in rows:
            numbers = ", ".join(
                f"{title} {text}".strip() for title, text in zip(titles[1:], row[1:], strict=True) if text
            )
            for line in wrapped(row[0], console.width, "  ", "  "):
                print_line(console, (line, ""))
            for line in wrapped(numbers, console.width, "    ", "    "):
                print_line(console, (line, "dim"))
        return
    name_width = min(room, max(len(row[0]) for row in table))
    for number, row in enumerate(table):
        lines = wrapped(row[0], name_width) or [""]
        columns = "".join(f"  {text:>{width}}" for text, width in zip(row[1:], widths, strict=True))
        for index, line in enumerate(lines):
            tail = columns if index == len(lines) - 1 else ""
            text = f"  {line:<{name_width}}{tail}".rstrip()
            print_line(console, (text, "dim" if number == 0 and any(titles) else ""))
