"""What planning prints as JSON suits the schemas that are published for it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest

from compat.paper.plan_schema import plan_schemas

Run = Callable[..., Any]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("compare", ("compare", "street-turbo", "first-draft", "--date", "2026-03-02")),
        ("fits", ("fits", "injector", "fell-30-top-end")),
        ("ladder", ("ladder", "fell-30-base", "--to", "170 kW", "--most", "2", "--date", "2026-03-02")),
        ("sweep", ("sweep", "tarn-20-base", "--over", "rod", "--power", "160 kW", "--cores", "1")),
    ],
)
def test_what_is_printed_suits_its_schema(name: str, words: tuple[str, ...], run: Run) -> None:
    schema = plan_schemas()[name]
    jsonschema.Draft202012Validator.check_schema(schema)
    data = json.loads(run(*words, "--json").out)
    jsonschema.validate(data, schema)
    broken = {key: value for key, value in data.items() if key != next(iter(data))}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema)
