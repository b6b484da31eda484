"""The lay-out of a graph in columns, on graphs of any shape."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from compat.paper.pictures.layers import layered


@st.composite
def graphs(draw: st.DrawFn) -> list[tuple[str, list[str]]]:
    """Things in an order, each resting on some that come later; now and then on one that closes a ring."""
    names = [f"n{number}" for number in range(draw(st.integers(1, 30)))]
    links = []
    for number, name in enumerate(names):
        later = names[number + 1 :]
        below = draw(st.lists(st.sampled_from(later), max_size=5, unique=True)) if later else []
        if number and draw(st.integers(0, 20)) == 0:
            below.append(draw(st.sampled_from(names[:number])))
        links.append((name, below))
    return links


@settings(max_examples=40)
@given(graphs())
def test_no_box_lies_on_another_and_every_link_leads_to_the_right(links: list[tuple[str, list[str]]]) -> None:
    placed = layered(links)
    assert set(placed.at) == {name for name, _ in links}
    for (name, (column, row)), (other, (beside, height)) in itertools.combinations(placed.at.items(), 2):
        assert column != beside or abs(row - height) >= 1 - 1e-5, (name, other)
    for (name, below), route in placed.routes.items():
        left, right = placed.at[name][0], placed.at[below][0]
        assert left < right
        assert [column for column, _ in route] == list(range(left + 1, right))
        for column, row in route:
            # a link passes between boxes, not across one
            passed = [height for other, height in placed.at.values() if other == column]
            assert all(abs(row - height) > 0.6 for height in passed)
    assert max(column for column, _ in placed.at.values()) == placed.columns - 1
    assert max(row for _, row in placed.at.values()) <= placed.rows
    assert min(row for _, row in placed.at.values()) >= 0
    assert layered(links) == placed


@settings(max_examples=40)
@given(graphs())
def test_links_of_one_box_leave_it_in_the_order_of_where_they_go(links: list[tuple[str, list[str]]]) -> None:
    placed = layered(links)
    for name, _ in links:
        leaving = sorted((port, below) for (upper, below), (port, _) in placed.ports.items() if upper == name)
        assert [port for port, _ in leaving] == list(range(len(leaving)))
        first = [(*placed.routes[name, below], placed.at[below])[0][1] for _, below in leaving]
        assert first == sorted(first)
