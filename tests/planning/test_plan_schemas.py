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
    suits(name, json.loads(run(*words, "--json").out))


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("--seconds", "60"), "build"),
        (("--seconds", "60", "--aim", "headroom", "--budget", "3000"), "build"),
        (("--budget", "0", "--keep", "piston", "--keep", "crankshaft"), "nothing"),
        (("--budget", "0", "--keep", "piston", "--keep", "crankshaft", "--why-not"), "why"),
    ],
)
def test_what_fix_prints_suits_its_schema(words: tuple[str, ...], found: str, run: Run, tiny: Any) -> None:
    data = json.loads(run("fix", "mixed", "--shop", tiny.folder, *words, "--json").out)
    suits("fix", data)
    assert bool(data["builds"]) == (found == "build")
    assert (data["why_not"] is not None) == (found == "why")
    if found == "why":
        told = data["why_not"]
        assert (told["ended"], told["minimal"]) == ("explained", True)
        assert {one["held"]["kind"] for one in told["members"]} == {"keep", "variant"}
        assert all(one["says"].endswith(".") and one["freed"]["build"]["money"] for one in told["members"])


def suits(name: str, data: dict[str, Any]) -> None:
    """Data suits its schema, and would not with an entry less."""
    schema = plan_schemas()[name]
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(data, schema)
    broken = {key: value for key, value in data.items() if key != next(iter(data))}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema)
