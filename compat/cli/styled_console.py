"""A console that styles text in which nothing is left for a terminal to obey."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TextIO

from rich.console import Console, ConsoleOptions, ConsoleRenderable, RenderHook, RenderResult
from rich.segment import Segment

from compat.paper.visible import visible

__all__ = ["styled_console"]


@dataclass
class _Visible:
    inner: ConsoleRenderable

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for segment in console.render(self.inner, options):
            yield segment if segment.control else Segment(visible(segment.text), segment.style)


class _Guard(RenderHook):
    def process_renderables(self, renderables: list[ConsoleRenderable]) -> list[ConsoleRenderable]:
        return [_Visible(renderable) for renderable in renderables]


def styled_console(file: TextIO, width: int) -> Console:
    """A console on a terminal."""
    # a console of no given size asks the window for it at every line; nothing printed hangs on the height
    made = Console(file=file, highlight=False, width=width, height=25, markup=False, emoji=False)
    made.push_render_hook(_Guard())
    return made
