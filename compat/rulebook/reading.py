"""Reading a rulebook: every rule and figure compiled and checked for dimensions before anything runs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from pathlib import Path
from typing import Any

from compat.record import record
from compat.rulebook.context import Context
from compat.rulebook.figure_reading import FigureReader
from compat.rulebook.models import Figure, Rule
from compat.rulebook.rule_reading import RuleReader
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.shop_reading import ShopReader
from compat.shop.models import Thing
from compat.shop.reading import read_entries, validate
from compat.shop.shop import Shop
from compat.shop.source import Fault, Node
from compat.units import UnitFault, unit

__all__ = ["MODELS", "Said", "bind", "bind_rules", "read_rulebook", "take_in"]

MODELS: dict[str, type[Thing]] = {"rule": Rule, "figure": Figure}
"""The kinds of entry a file of the rulebook may hold."""


def read_rulebook(folder: Path, shop: Shop, faults: list[Fault]) -> Rulebook:
    """Read a rulebook against the shop whose words it uses.

    Parameters
    ----------
    folder : Path
        Folder of rule and figure files.
    shop : Shop
        The shop.
    faults : list of Fault
        Gets everything wrong in any file.

    Returns
    -------
    Rulebook
        Every rule and figure, compiled; what is faulty is left out.
    """
    context = Context(shop, faults)
    bind(context, read_entries(folder, MODELS, faults))
    return context.book.book()


def bind(context: Context, entries: Iterable[tuple[str, Node]]) -> None:
    """Read the entries of a rulebook into its draft, and compile all that they and the shop say."""
    said = take_in(entries, context)
    # a file that could not be read would make every name in it an unknown one
    if not any(fault.unread for fault in context.faults):
        bind_rules(context, said)
        own = ShopReader(context)
        own.conditions()
        own.changes()
        own.stated()


@record
class Said:
    """The figures and rules of a rulebook as they were read, with their places."""

    figures: list[tuple[Figure, Node]] = field(default_factory=list)
    rules: list[tuple[Rule, Node]] = field(default_factory=list)


def bind_rules(context: Context, said: Said) -> None:
    """Compile figures and rules."""
    figure_reader, rule_reader = FigureReader(context), RuleReader(context)
    for figure, node in said.figures:
        figure_reader.figure(figure, node)
    figure_reader.circles()
    for rule, node in said.rules:
        rule_reader.rule(rule, node)


def take_in(entries: Iterable[tuple[str, Node]], context: Context) -> Said:
    """Read the entries of a rulebook; their names are known from then on."""
    said = Said()
    for word, node in entries:
        name = node.data.get(word)
        thing = validate(MODELS[word], node, context.faults, word)
        if isinstance(name, str) and (word, name) in context.book.nodes:
            first = context.book.nodes[word, name].spot
            context.fault(node, [], f"{word} '{name}' is given twice; first at {first.file}:{first.line}")
            continue
        if isinstance(name, str):
            context.book.nodes[word, name] = node
        if word == "figure":
            _declare(context, name, node)
        if isinstance(thing, Figure):
            said.figures.append((thing, node))
        elif isinstance(thing, Rule):
            said.rules.append((thing, node))
    return said


def _declare(context: Context, name: Any, node: Node) -> None:
    if not isinstance(name, str):
        return
    text = node.data.get("unit")
    try:
        if isinstance(text, str):
            context.scope.figures[name] = unit("" if text == "number" else text).dimension
            return
    except UnitFault as error:
        context.fault(node, ["unit"], str(error))
    context.scope.faulty.add(("figure", name))
