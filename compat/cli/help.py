"""Help that shows what a person types, and folds to the window."""

from __future__ import annotations

from typing import Any

from typer.core import TyperCommand, TyperGroup

from compat.cli.taking import take_as_typed

__all__ = ["Command", "Group"]

NARROW = 60
"""Columns below which the meaning of a long option goes on a line of its own."""


def _typed(param: Any) -> str:
    """What stands for a parameter where it is typed: `BUILD`, `--units metric|imperial`."""
    if param.param_type_name == "argument":
        return str(param.metavar)
    return ", ".join(sorted(param.opts, key=len)) + (f" {param.metavar}" if param.metavar else "")


def _meaning(param: Any) -> str:
    """What a parameter is for, its default where it has one, and the variable that may say it."""
    remarks = []
    default = getattr(param.default, "value", param.default)
    if param.param_type_name == "option" and isinstance(default, str) and default and not callable(default):
        remarks.append(f"default: {default}")
    if param.envvar:
        remarks.append(f"or set {param.envvar}")
    return f"{param.help or ''}{''.join(f' [{remark}]' for remark in remarks)}"


class _Plain:
    """Writes usage, arguments and options without the names of types; takes their text as it is typed."""

    params: list[Any]
    options_metavar: str | None

    def get_params(self, ctx: Any) -> list[Any]:
        params: list[Any] = super().get_params(ctx)  # type: ignore[misc]  # of the command it is mixed into
        for param in params:
            take_as_typed(param)
        return params

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        pieces = [self.options_metavar] if self.options_metavar else []
        for param in self.params:
            if param.param_type_name == "argument":
                name = param.metavar if param.required else f"[{param.metavar}]"
                pieces.append(f"{name}..." if param.nargs != 1 else name)
        return pieces

    def get_help(self, ctx: Any) -> str:
        text: str = super().get_help(ctx)  # type: ignore[misc]  # of the command it is mixed into
        return "\n".join(line.rstrip() for line in text.splitlines())

    def format_options(self, ctx: Any, formatter: Any) -> None:
        most = 30 if formatter.width >= NARROW else 10
        for title, kind in (("Arguments", "argument"), ("Options", "option")):
            rows = [
                (_typed(param), _meaning(param))
                for param in self.get_params(ctx)
                if param.param_type_name == kind
            ]
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows, col_max=most)


class Command(_Plain, TyperCommand):
    """A command with plain help."""


class Group(_Plain, TyperGroup):
    """The program with plain help: each command with the whole first paragraph of its own."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What the usage line says behind the program's name."""
        return [*super().collect_usage_pieces(ctx), "COMMAND ..."]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Options, then commands."""
        super().format_options(ctx, formatter)
        rows = [
            (name, " ".join((command.help or "").split("\n\n")[0].split()))
            for name, command in self.commands.items()
        ]
        with formatter.section("Commands"):
            formatter.write_dl(rows)
