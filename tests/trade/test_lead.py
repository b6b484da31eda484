"""The longest path against networkx's, and against every path there is."""

from __future__ import annotations

import itertools
from fractions import Fraction

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from compat.trade.lead import Task, longest


@st.composite
def plans(draw: st.DrawFn) -> dict[str, Task]:
    """Tasks in any order, each after some of those with a lower number; some name what is not there."""
    count = draw(st.integers(1, 9))
    tasks = {}
    for number in range(count):
        after = draw(st.lists(st.integers(0, number), max_size=4, unique=True))
        days = draw(st.fractions(0, 40, max_denominator=8))
        tasks[f"t{number}"] = Task(f"T{number}", days, tuple(f"t{n}" if n != number else "gone" for n in after))
    return dict(draw(st.permutations(list(tasks.items()))))


def every_path(tasks: dict[str, Task], name: str) -> list[Fraction]:
    before = [other for other in tasks[name].after if other in tasks]
    return [tasks[name].days + days for other in before for days in every_path(tasks, other)] or [
        tasks[name].days
    ]


@given(plans())
def test_the_longest_path_is_the_longest(tasks: dict[str, Task]) -> None:
    days, path = longest(tasks)
    assert days == max(length for name in tasks for length in every_path(tasks, name))
    graph = nx.DiGraph()
    for name, task in tasks.items():
        graph.add_edge("start", name, weight=0)
        graph.add_edge(name, f"end of {name}", weight=task.days)
        for other in task.after:
            if other in tasks:
                graph.add_edge(f"end of {other}", name, weight=0)
    assert days == nx.dag_longest_path_length(graph)
    # the path told is one that there is, and takes as long
    assert sum(tasks[name].days for name in path) == days
    assert all(tasks[name].days for name in path)
    for one, other in itertools.pairwise(path):
        assert nx.has_path(graph, one, other)


def test_nothing_takes_no_time() -> None:
    assert longest({}) == (0, ())
