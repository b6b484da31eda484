"""Reading a rulebook: every rule and figure compiled and checked for dimensions before anything runs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

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

__all__ = ["read_rulebook"]


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
    figures, rules = _read(folder, context)
    # a file that could not be read would make every name in it an unknown one
    if not any(fault.unread for fault in faults):
        _bind(context, figures, rules)
    return context.book.book()


def _bind(context: Context, figures: list[tuple[Figure, Node]], rules: list[tuple[Rule, Node]]) -> None:
    figure_reader, rule_reader = FigureReader(context), RuleReader(context)
    for figure, node in figures:
        figure_reader.figure(figure, node)
    figure_reader.circles()
    for rule, node in rules:
        rule_reader.rule(rule, node)
    own = ShopReader(context)
    own.conditions()
    own.changes()
    own.stated()


def _read(folder: Path, context: Context) -> tuple[list[tuple[Figure, Node]], list[tuple[Rule, Node]]]:
    figures: list[tuple[Figure, Node]] = []
    rules: list[tuple[Rule, Node]] = []
    models: dict[str, type[Thing]] = {"rule": Rule, "figure": Figure}
    for word, node in read_entries(folder, models, context.faults):
        name = node.data.get(word)
        thing = validate(models[word], node, context.faults, word)
        if isinstance(name, str) and (word, name) in context.book.nodes:
            first = context.book.nodes[word, name].spot
            context.fault(node, [], f"{word} '{name}' is given twice; first at {first.file}:{first.line}")
            continue
        if isinstance(name, str):
            context.book.nodes[word, name] = node
        if word == "figure":
            _declare(context, name, node)
        if isinstance(thing, Figure):
            figures.append((thing, node))
        elif isinstance(thing, Rule):
            rules.append((thing, node))
    return figures, rules


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
