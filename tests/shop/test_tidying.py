"""Keys in one order: no letter is lost, comments stay with what they speak of, and twice is once."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.library.sources import demo_folder, look
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.source import tree_of
from compat.shop.tidying import keys_of, tidied

ORDERS = {word: keys_of(model) for word, model in {**CATALOGUE, **RULEBOOK}.items()}
FILES = dict(look(demo_folder()))
CHUNKS = {
    "name": "  name: A rod  # said by the maker\n",
    "fills": "\n  # where it goes\n  fills: rod\n",
    "specs": "  specs:\n    # measured twice\n    centre_length: 148.00 mm ±0.02\n\n    mass: 545 g   # bare\n",
    "note": "  note: |\n    two lines\n\n    # and no comment\n",
    "sold_by": "  sold_by: [{supplier: a, code: B,\n             price: 3 GBP}]\n",
    "wrong_key": "  wrong_key: x\n",
}


@pytest.mark.parametrize("name", FILES)
def test_every_file_of_the_demo_is_in_order(name: str) -> None:
    text = Path(FILES[name]).read_text(encoding="utf-8")
    made = tidied(text, ORDERS)
    assert made == text


@given(text=st.sampled_from([Path(path).read_text("utf-8") for path in FILES.values()]), seed=st.randoms())
def test_the_demo_with_its_keys_in_any_order_comes_out_as_it_was_written(text: str, seed: Random) -> None:
    """Every entry that stands in lines has its keys mixed, each with the lines above it; no letter is lost."""
    mixed = tidied(text, {word: seed.sample(keys, len(keys)) for word, keys in ORDERS.items()})
    assert sorted(mixed.splitlines()) == sorted(text.splitlines())
    assert tree_of(mixed.encode(), "mixed").data == tree_of(text.encode(), "text").data
    assert tidied(mixed, ORDERS) == text


@given(st.permutations(list(CHUNKS)), st.booleans())
def test_whatever_order_it_was_written_in_it_comes_out_alike(order: list[str], alone: bool) -> None:
    head = "part: a   # mine\n" if alone else "- part: a   # mine\n"
    indent = 2 if alone else 0

    def file(keys: list[str]) -> str:
        lines = "".join(CHUNKS[key] for key in keys).splitlines(keepends=True)
        return head + "".join(line[indent:] if line.strip() else line for line in lines)

    assert tidied(file(order), ORDERS) == file(list(CHUNKS))


def test_entries_are_sorted_each_by_its_own_kind() -> None:
    first = "- part: a\n  fills: rod\n  name: A\n"
    second = "- supplier: b\n  currency: GBP\n  name: B\n"
    text = f"# our file\n{first}\n# of May\n{second}# the end"
    made = tidied(text, ORDERS)
    assert made == (
        "# our file\n"
        "- part: a\n  name: A\n  fills: rod\n\n# of May\n- supplier: b\n  name: B\n  currency: GBP\n"
        "# the end"
    )


@pytest.mark.parametrize(
    "text",
    [
        "- {part: a, fills: rod, name: A}\n",
        "- part: a\n",
        "",
        "# nothing yet\n",
        "- nobody: a\n  b: c\n  a: d\n",
        # the name would stand before what it repeats
        "- part: a\n  fills: &p rod\n  name: *p\n",
    ],
)
def test_what_cannot_be_moved_stays(text: str) -> None:
    assert tidied(text, ORDERS) == text


def test_the_last_line_needs_no_end() -> None:
    assert tidied("- part: a\n  fills: rod\n  name: A", ORDERS) == "- part: a\n  name: A\n  fills: rod"
