"""Words of the command line taken as they are typed, or read by a function of the command's own.

Typer reads every word with pydantic, to import which takes longer than to open a shop and judge half its rules,
and before any word it spells out what each of two dozen commands takes.
"""

from __future__ import annotations

import sys
from copy import copy
from typing import Any

import typer
from typer.main import get_command_name

__all__ = ["take_as_typed", "with_what_is_typed"]


class _AsTyped:
    """Takes what needs no reading, and has all else read."""

    def __init__(self, param: Any) -> None:
        own, annotation = param.type_descriptor.parameter_info.parser, param.type_descriptor.annotation
        self.read = own or (str if annotation is str else None)
        self.words = own is None and str(annotation) == "list[str]"
        self.reader = param.get_runtime_param

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        """The value that a command is given."""
        if self.words and not isinstance(value, str):
            return list(value or ())
        if param.multiple or param.nargs != 1:
            return self.reader().coerce(value, param=param, ctx=ctx) if value else ()
        if value is None or (value is param.default and not isinstance(value, str)):
            return value  # what the program itself says needs no reading
        if self.read is not None and isinstance(value, str):
            return self.read(value)
        return self.reader().coerce(value, param=param, ctx=ctx)


def take_as_typed(param: Any) -> None:
    """Let an argument or option take text as it is; one of a typer that reads in another way is left alone."""
    if hasattr(param, "get_runtime_param") and "get_runtime_param" not in vars(param):
        as_typed = _AsTyped(param)
        param.get_runtime_param = lambda: as_typed


def with_what_is_typed(app: typer.Typer) -> typer.Typer:
    """The program with the one command that is typed first; whole where none is, as for help and completion."""
    for command in app.registered_commands:
        name = command.callback.__name__ if command.callback else ""
        if sys.argv[1:2] == [get_command_name(name)]:
            alone = copy(app)
            alone.registered_commands = [command]
            return alone
    return app
