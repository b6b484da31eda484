"""What is said of a faulty entry: the shop's own words, never those of the library that reads it."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from compat.rulebook.models import Figure, Rule
from compat.shop.forms import form
from compat.shop.models import Thing
from compat.shop.reading import MODELS, validate
from compat.shop.source import Fault, tree_of

ODD: list[Any] = [
    None, "", "x", "x" * 3000, "-1", "0", "1.5", "1e400", "nan", "Not This", "9" * 40, [], [[]], ["x"], [None],
    [{}], [{"a": "b"}], {}, {"a": None}, {"a": {"b": "c"}}, {"a": ["x"]}, {"feature": "", "count": "-1"},
]  # fmt: skip
FOREIGN = re.compile(r"\b(should|[Ii]nput|valid|instance|None|str|dict|tuple|[Ss]tring|Decimal)\b|\[\]")
FIELDS = [
    pytest.param(model, info.alias or name, id=f"{model.kind}.{info.alias or name}")
    for model in (*MODELS.values(), Rule, Figure)
    for name, info in form(model).model_fields.items()
]


@pytest.mark.parametrize(("model", "field"), FIELDS)
def test_no_word_of_the_library_is_heard(model: type[Thing], field: str) -> None:
    told = 0
    for odd in ODD:
        faults: list[Fault] = []
        validate(model, tree_of(json.dumps({field: odd}).encode(), "f"), faults, model.kind)
        told += len(faults)
        for fault in faults:
            assert not FOREIGN.search(fault.message), (odd, fault.message)
            assert "cannot be" not in fault.message, (odd, fault.message)  # words of its own for every fault
            assert len(fault.message) < 300
    assert told > len(ODD)  # what else the entry lacks is told each time
