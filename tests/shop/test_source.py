"""Where things stand in a file: spots of keys, values and list entries; what a fault looks like."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from compat.library.library import Library, load
from compat.shop import source
from compat.shop.source import Fault, Faults, Node, Spot, nearest, read_tree, yaml_files
from compat.units import a_or_an

TEXT = """\
# a comment
- part: rod            # the kind
  specs: {mass: 5 g, "length": '130 mm'}
  needs:
    - one
    - {feature: two, count: 3}
  note: >
    several
    lines
"""


@pytest.fixture
def tree(tmp_path: Path) -> Node:
    (tmp_path / "x.yaml").write_text(TEXT)
    return read_tree(tmp_path / "x.yaml", "x.yaml")


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ([], "2:1"),
        ([0], "2:3"),
        ([0, "part"], "2:3"),
        ([0, "specs", "mass"], "3:11"),
        ([0, "specs", "length"], "3:22"),
        ([0, "needs", 0], "5:7"),
        ([0, "needs", 1], "6:7"),
        ([0, "needs", 1, "count"], "6:22"),
        ([0, "note"], "7:3"),
        ([0, "nothing"], "2:3"),
        ([0, "needs", 1, "nothing"], "6:7"),
    ],
)
def test_spots_of_keys_and_entries(tree: Node, path: list[str | int], place: str) -> None:
    assert str(tree.spot_of(path)) == f"x.yaml:{place}"


@pytest.mark.parametrize(
    ("path", "offset", "place"),
    [
        ([0, "part"], 2, "2:11"),
        ([0, "specs", "mass"], 0, "3:17"),
        ([0, "specs", "length"], 3, "3:36"),
        ([0, "note"], 3, "7:9"),
    ],
)
def test_spots_within_values(tree: Node, path: list[str | int], offset: int, place: str) -> None:
    assert str(tree.spot_in(path, offset)) == f"x.yaml:{place}"


def test_all_words_stay_text(tmp_path: Path) -> None:
    text = (
        "- {a: no, b: 1:30, c: 1e3, d: 2024-01-01, e: 0x1f, f: ~, g: null, h: '', i: 'null', j: yes, k: .nan}\n"
    )
    (tmp_path / "x.yaml").write_text(text)
    found = read_tree(tmp_path / "x.yaml", "x.yaml").data[0]
    assert list(found.values()) == [
        "no",
        "1:30",
        "1e3",
        "2024-01-01",
        "0x1f",
        None,
        None,
        "",
        "null",
        "yes",
        ".nan",
    ]


words = st.text("abcdefgh_éß漢 ", min_size=1, max_size=8).map(lambda word: f"w{word}w")
things = st.recursive(
    words, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4), max_leaves=12
)


@given(st.lists(things, min_size=1, max_size=4), st.sampled_from([True, False, None]))
def test_every_tree_of_words_reads_as_it_was_written(
    tmp_path_factory: pytest.TempPathFactory, written: list[object], flow: bool | None
) -> None:
    path = tmp_path_factory.getbasetemp() / "written.yaml"
    path.write_text(yaml.safe_dump(written, allow_unicode=True, default_flow_style=flow), encoding="utf-8")
    assert read_tree(path, "x").data == written


def test_files_come_in_a_settled_order(tmp_path: Path) -> None:
    for name in ("b.yaml", "a/z.yml", "a/b.yaml", "c/.hidden.yaml", ".git/x.yaml", "notes.txt", "B.yaml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    found = [path.relative_to(tmp_path).as_posix() for path in yaml_files(tmp_path)]
    assert found == ["B.yaml", "b.yaml", "a/b.yaml", "a/z.yml"]


def test_faults_are_told_once_and_in_the_order_of_the_files() -> None:
    later, first = Fault(Spot("b.yaml", 2, 1), "worse"), Fault(Spot("a.yaml", 10, 1), "bad")
    assert Faults([later, first, later, Fault(Spot("a.yaml", 9, 1), "bad")]).faults == [
        Fault(Spot("a.yaml", 9, 1), "bad"),
        first,
        later,
    ]


def test_a_message_is_one_line_of_bearable_length() -> None:
    text = str(Fault(Spot("a.yaml", 3, 7), "'" + "x" * 5000 + "\n\ty' is wrong; did you mean 'z'?"))
    assert "\n" not in text
    assert len(text) < 520
    assert text.startswith("a.yaml:3:7: 'xxx")
    assert text.endswith("y' is wrong; did you mean 'z'?")


def test_a_name_or_folder_has_no_line() -> None:
    assert str(Fault(Spot("some/folder", 0), "is empty")) == "some/folder: is empty"


@pytest.mark.parametrize(
    ("word", "known", "close"),
    [
        ("strok", ["stroke", "bore"], "stroke"),
        ("boer", ["stroke", "bore"], "bore"),
        ("xyz", ["stroke", "bore"], None),
        ("", ["stroke"], None),
        ("rod", [], None),
        ("deck-hieght", [f"deck-height-{n}" for n in range(200)] + ["deck-height"], "deck-height"),
        ("pinston", [f"part-{n}" for n in range(500)] + ["piston"], "piston"),
        ("zzzz", [f"part-{n}" for n in range(500)], None),
        ("x" * 10_000, ["x"], None),
    ],
)
def test_nearest_word(word: str, known: list[str], close: str | None) -> None:
    assert nearest(word, known) == (f"; did you mean '{close}'?" if close else "")


def test_articles() -> None:
    assert [a_or_an(word) for word in ("area", "length", "inlet", "volume flow")] == [
        "an area",
        "a length",
        "an inlet",
        "a volume flow",
    ]


def same(one: Node, other: Node) -> bool:
    """Two trees alike, spots and all."""
    return (
        (one.data, one.spot, one.inset, one.size, list(one.keys))
        == (other.data, other.spot, other.inset, other.size, list(other.keys))
        and one.children.keys() == other.children.keys()
        and all(same(one.children[step], other.children[step]) for step in one.children)
    )


def test_reading_a_shop_leaves_the_trees_of_its_files_as_they_were(demo: Library) -> None:
    """The tests share trees by their text (conftest.py), so nothing may write to one."""
    load(demo.folder)
    for folder in ("catalog", "rules"):
        for path in yaml_files(demo.folder / folder):
            shown, text = path.relative_to(demo.folder).as_posix(), path.read_text("utf-8")
            shared = read_tree(path, shown)
            assert shared is read_tree(path, shown)
            assert same(shared, inspect.unwrap(source._build)(text, shown)), shown
