"""A build file said otherwise: it reads as it is to be, and everything else stays as a person wrote it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.library.library import Library, build_of_id
from compat.shop.builds import read_build
from compat.shop.chosen import WorkDone
from compat.shop.rewriting import rewritten
from compat.shop.writing import as_said

CATALOG = Path(__file__).parents[2] / "catalog" / "builds"
FILES = sorted(CATALOG.glob("*.yaml"))


def comments(text: str) -> list[str]:
    return re.findall(r"(?m)(?:^|\s)(#[^\n]*)$", text)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_nothing_changed_is_the_same_file(path: Path, demo: Library) -> None:
    text = path.read_text(encoding="utf-8")
    said = as_said(build_of_id(demo.shop, path.stem).build)
    assert rewritten(text, said, said) == text


CHANGES: list[dict[str, Any]] = [
    {"fit": {"piston": "hg-piston-860-308-d140"}},
    {"fit": {"rod": None, "spark_plug": "spn-plug-short-3"}},
    {"fit": {"oil_pump": "rd-pump-stroker"}, "build": "other-one", "name": "Other: one, two"},
    {"setup": {"knock_control": True}},
    {"goal": {"power": "150 kW", "boost": None}},
    {"leave_out": {"igniter": "coils have their own"}},
]


def changed(said: Mapping[str, Any], change: Mapping[str, Any]) -> dict[str, Any]:
    made = {key: dict(value) if isinstance(value, Mapping) else value for key, value in said.items()}
    for key, value in change.items():
        if isinstance(value, Mapping):
            inner = {**made.get(key, {}), **value}
            made[key] = {name: entry for name, entry in inner.items() if entry is not None}
        else:
            made[key] = value
    return made


@pytest.mark.parametrize("change", CHANGES, ids=str)
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_it_reads_as_it_is_to_be_and_no_comment_is_lost(
    path: Path, change: dict[str, Any], demo: Library
) -> None:
    text = path.read_text(encoding="utf-8")
    said = as_said(build_of_id(demo.shop, path.stem).build)
    becomes = changed(said, change)
    made = rewritten(text, said, becomes)
    assert plain(yaml.safe_load(made)[0]) == plain(changed(yaml.safe_load(text)[0], change))
    assert comments(text) == comments(made)
    assert len(set(text.splitlines()) - set(made.splitlines())) <= 1 + 2 * len(
        [key for value in change.values() for key in (value if isinstance(value, dict) else [value])]
    )


def plain(entry: Any) -> Any:
    """With work as its id where nothing more is said, as files may have it either way."""
    if isinstance(entry, dict):
        return {key: plain(value) for key, value in entry.items()}
    if isinstance(entry, list):
        return [
            plain(one["work"]) if isinstance(one, dict) and set(one) == {"work"} else plain(one)
            for one in entry
        ]
    return entry


def test_work_is_put_in_taken_out_and_sized(demo: Library, tmp_path: Path) -> None:
    path = CATALOG / "street-turbo.yaml"
    text = path.read_text(encoding="utf-8")
    build = build_of_id(demo.shop, "street-turbo").build
    works = [one for one in build.work if one.work not in ("wall-test", "calibrate")]
    works = [replace(one, values={"bore": "86.010 mm"}) if one.values else one for one in works]
    works.insert(3, WorkDone(work="deck-block", values={"depth": "0.05 mm"}))
    after = replace(build, work=tuple(works))
    made = rewritten(text, as_said(build), as_said(after))
    own = tmp_path / "own.yaml"
    own.write_text(made, encoding="utf-8")
    assert read_build(demo.shop, own).build.work == after.work
    assert "    - {work: deck-block, depth: 0.05 mm}\n" in made
    assert "    - strip-clean\n    - crack-test\n    - bore-block\n" in made


def test_one_build_of_several_is_taken_with_its_comment() -> None:
    text = (
        "# the first\n- build: a\n  name: A  # one\n\n# the second\n- build: b\n  name: B  # two\n# the end\n"
    )
    was = {"build": "b", "name": "B"}
    made = rewritten(text, was, {**was, "name": "C"})
    assert made == "\n# the second\n- build: b\n  name: C  # two\n# the end\n"
    with pytest.raises(ValueError, match="no build 'c'"):
        rewritten(text, {"build": "c"}, {"build": "c"})


TEXT = """\
# head of the file
- build: mule   # of a kind
  name: "Mule, a: b"
  fit:
    # about the rods
    rod: x1     # old ones
    piston: y1
    # between

    ring_set: 'z #1'
  setup: {a: one, b: two}   # in braces
  work:
    - wash      # first
    - {work: hone, bore: 86 mm}
    # then
    - measure
  renew: [oil, coolant]
  goal: {power: 100 kW, at: 6000 rpm,
         fuel: pump-98}
# foot of the file
"""
SAID = yaml.safe_load(TEXT)[0]
WORDS = st.sampled_from(["x1", "y2", "with space", "a: b", "it's", "# no", '"', "5.0 mm"])
WORK = st.one_of(
    st.sampled_from(["wash", "measure", "grind"]),
    st.fixed_dictionaries({"work": st.just("hone"), "bore": st.sampled_from(["86 mm", "87 mm"])}),
)


@settings(max_examples=300)
@given(
    st.dictionaries(st.sampled_from(["rod", "piston", "ring_set", "pin", "valve"]), WORDS, min_size=1),
    st.dictionaries(st.sampled_from(["a", "b", "c"]), WORDS, min_size=1),
    st.lists(WORK, min_size=1, max_size=6),
    st.lists(st.sampled_from(["oil", "coolant", "seal"]), min_size=1, max_size=3, unique=True),
    st.dictionaries(st.sampled_from(["power", "at", "fuel", "boost"]), WORDS, min_size=1),
    st.sampled_from([None, "fit", "setup", "work", "renew"]),
)
def test_any_change_reads_as_it_is_to_be(
    fit: Any, setup: Any, work: Any, renew: Any, goal: Any, without: str | None
) -> None:
    becomes = {**SAID, "fit": fit, "setup": setup, "work": work, "renew": renew, "goal": goal}
    if without:
        del becomes[without]
    made = rewritten(TEXT, SAID, becomes)
    assert yaml.safe_load(made) == [becomes]
    assert made.startswith('# head of the file\n- build: mule   # of a kind\n  name: "Mule, a: b"\n')
    assert made.endswith("# foot of the file\n")
    if without is None:
        assert sorted(c for c in comments(TEXT) if "#1" not in c) == sorted(
            c for c in comments(made) if c in comments(TEXT) and "#1" not in c
        )
