"""Every formula serves: a rule through a figure, another floor, or the bench, which asks for it by name.

What calls what is read from the program's own text: a formula that a bound one calls serves as well.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from compat.engineering import Formula, load_all
from tests.look import demo_shop

ROOT = Path(__file__).parents[2]
ENGINEERING = "compat.engineering"
Name = tuple[str, str]
"""A module and what it defines."""


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def _defined(tree: ast.Module) -> dict[str, ast.stmt]:
    """What stands at the top of a module under a name of its own."""
    found: dict[str, ast.stmt] = {}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found[node.name] = node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found |= {target.id: node for target in targets if isinstance(target, ast.Name)}
    return {name: node for name, node in found.items() if name not in ("__all__", "FORMULAS")}


def _asked_by_name(node: ast.stmt) -> list[str]:
    """Formulas that are looked up: find("...")."""
    return [
        call.args[0].value
        for call in ast.walk(node)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "find"
        if call.args and isinstance(call.args[0], ast.Constant) and isinstance(call.args[0].value, str)
    ]


@cache
def _names_used() -> dict[Name, frozenset[Name]]:
    """For each name that a module of the program defines, the names that it uses."""
    used: dict[Name, frozenset[Name]] = {}
    formulas = load_all()
    for path in (ROOT / "compat").rglob("*.py"):
        module, tree = _module(path), ast.parse(path.read_text(encoding="utf-8"))
        imported = {
            alias.asname or alias.name: (node.module or "", alias.name)
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom)
            for alias in node.names
        }
        own = _defined(tree)
        for name, statement in own.items():
            uses: set[Name] = {
                (formulas[one].module, one) for one in _asked_by_name(statement) if one in formulas
            }
            for node in ast.walk(statement):
                if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                    if node.id in own:
                        uses.add((module, node.id))
                    elif node.id in imported:
                        uses.add(imported[node.id])
                elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                    parent = imported.get(node.value.id)
                    if parent:
                        uses.add((".".join(parent), node.attr))
            used[module, name] = frozenset(uses)
    return used


def _reached(start: Iterable[Name]) -> set[Name]:
    used, seen, ahead = _names_used(), set(), list(start)
    while ahead:
        name = ahead.pop()
        if name not in seen:
            seen.add(name)
            ahead += used.get(name, ())
    return seen


@cache
def _asked_figures() -> frozenset[str]:
    """Figures that a rule asks for, or that are shown in the table or on the sheet, and what these rest on."""
    book = demo_shop().book
    ahead = [name for rule in book.rules.values() for e in rule.expressions() for name in e.names.figures]
    ahead += [name for name, bound in book.figures.items() if bound.figure.table or bound.figure.sheet]
    seen: set[str] = set()
    while ahead:
        name = ahead.pop()
        if name not in seen:
            seen.add(name)
            ahead += [one for e in book.figures[name].expressions() for one in e.names.figures]
    return frozenset(seen)


@cache
def _bench() -> dict[str, list[str]]:
    """Formulas that the README names for the bench, by the question they answer."""
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("<!-- bench formulas -->\n")[1]
    rows: dict[str, list[str]] = defaultdict(list)
    for line in text.split("\n\n")[0].splitlines()[2:]:
        question, named = (cell.strip() for cell in line.strip("|").split("|"))
        rows[question] += re.findall(r"`(\w+)`", named)
    return dict(rows)


def _serving(bench: bool = True) -> set[Name]:
    """What rules and other floors reach, and with `bench` what the README's table reaches as well."""
    formulas = load_all()
    book = demo_shop().book
    bound = {
        book.figures[name].formula.name  # type: ignore[union-attr]
        for name in _asked_figures()
        if book.figures[name].formula is not None
    }
    other_floors = [name for name in _names_used() if not name[0].startswith(ENGINEERING)]
    by_name = [name for names in _bench().values() for name in names] if bench else []
    start = [(formulas[name].module, name) for name in (*bound, *by_name) if name in formulas]
    return _reached([*start, *other_floors])


def test_every_formula_serves() -> None:
    """Bind it to a figure that a rule asks for, name it in the README's table for the bench, or delete it."""
    serving = _serving()
    idle: dict[str, Formula] = {n: f for n, f in load_all().items() if (f.module, n) not in serving}
    assert not idle, "no rule, floor or bench asks for: " + ", ".join(sorted(idle))


def test_every_figure_is_asked_for() -> None:
    idle = set(demo_shop().book.figures) - _asked_figures()
    assert not idle, f"no rule asks for, and nobody is shown: {', '.join(sorted(idle))}"


def test_what_the_readme_names_for_the_bench_is_there() -> None:
    named = [name for names in _bench().values() for name in names]
    assert len(named) > 20
    assert len(named) == len(set(named)), "named twice"
    gone = set(named) - set(load_all())
    assert not gone, f"the README names what is no formula: {', '.join(sorted(gone))}"


def test_what_the_readme_names_for_the_bench_stands_behind_no_rule() -> None:
    serving = {name for _, name in _serving(bench=False)}
    bound = {name for names in _bench().values() for name in names} & serving
    assert not bound, (
        f"a rule or another floor asks for: {', '.join(sorted(bound))}; take them out of the table"
    )


def test_the_graph_sees_what_calls_what() -> None:
    """Direct calls, calls through a name of another module, and look-ups by name; and not what nobody calls."""
    formulas = load_all()

    def name(formula: str) -> Name:
        return formulas[formula].module, formula

    assert name("rotating_disc_stress") in _reached([name("burst_speed")])
    assert name("stress_area") in _reached([name("bolt_utilisation")])
    assert name("burst_speed") not in _reached([name("stress_area")])
    pictures = [one for one in _names_used() if one[0].startswith("compat.paper.pictures")]
    assert name("full_load_line") in _reached(pictures)
