"""What the counter and lists print as JSON holds to a schema that says what every field is, and to no other."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from compat.paper.counter_schema import counter_schemas
from compat.paper.list_schema import EXAMPLE
from tests.conftest import Tiny
from tests.lists.small import MAP, ROWS, Small
from tests.look import published, with_ids

Run = Callable[..., Any]
PUBLISHED = counter_schemas()
PRINTED = [
    ("find piston", 0), ("find pistn skirt 20..200 mm --order lead", 0), ("find xyzzyx", 1),
    ("find rod --for sport", 0), ("find --stock", 0), ("find piston --most 1", 0),
    ("parts piston", 0), ("parts head_gasket", 0), ("builds", 0), ("builds --priced", 0),
    ("quotes", 0), ("quotes sport", 0), ("history sport-piston", 0), ("history hob-rod", 0),
    ("needs piston", 0), ("needs fuel", 0), ("tidy --check", 1), ("tidy", 0),
]  # fmt: skip


def problem(name: str, text: str) -> Any:
    return next(Draft202012Validator(PUBLISHED[name]).iter_errors(json.loads(text)), None)


@pytest.fixture
def counter(tiny: Tiny, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The small shop with a kept quote, and a file that is not in order."""
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "quotes"))
    tiny.write("catalog/parts/untidy.yaml", "- part: spare-ear\n  fills: knock_sensor\n  name: Spare\n")
    assert run("quote", "sport", "--shop", tiny.folder, "--despite-findings").status == 0
    return lambda *words: run(*words, "--json", "--shop", tiny.folder)


@pytest.mark.parametrize(("typed", "status"), PRINTED)
def test_what_is_printed_holds_to_its_schema(counter: Run, typed: str, status: int) -> None:
    ran = counter(*typed.split())
    assert (ran.status, ran.err) == (status, "")
    assert problem(typed.split()[0], ran.out) is None


@pytest.mark.parametrize(
    "typed", ["find rod --for street-turbo --order headroom --most 3", "parts rod", "needs rod"]
)
def test_that_of_the_demo_does(run: Run, typed: str) -> None:
    ran = run(*typed.split(), "--json")
    assert (ran.status, problem(typed.split()[0], ran.out)) == (0, None)


def test_a_list_that_is_brought_holds_to_its_schema(tiny: Tiny, run: Run, tmp_path: Path) -> None:
    small = Small(tiny, run, tmp_path)
    for words, rows in (
        ((), ROWS), (("--write",), ROWS), ((), ROWS[:1]),
        (("--write", "--despite-unread"), [ROWS[0], "P-2;Two;7S;31;x;1,00;4"]),
        ((), [ROWS[0].replace("120,00", "125,00")]),
    ):  # fmt: skip
        small.rows(*rows)
        ran = small.bring("--json", *words)
        assert ran.err == ""
        assert problem("bring", ran.out) is None


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        yield from objects(inner)
    if isinstance(schema, dict) and isinstance(schema.get("properties"), dict):
        yield schema


@pytest.mark.parametrize("name", PUBLISHED)
def test_every_field_is_explained_and_its_example_holds(name: str) -> None:
    for told in objects(PUBLISHED[name]):
        assert "additionalProperties" in told
        for field, said in told["properties"].items():
            assert len(said["description"]) > 5, field
            holds = Draft202012Validator({**said, "$defs": PUBLISHED[name]["$defs"]})
            for example in said.get("examples", ()):
                assert holds.is_valid(example), f"{told['title']}.{field}: {example}"


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("find", {"parts": [{"ware": {}, "fit": None}]}),
        ("parts", {"position": 1, "currency": "GBP", "parts": []}),
        ("quotes", {"quotes": [], "faults": [], "more": 1}),
        ("tidy", {"not_in_order": ["a"]}),
    ],
)
def test_what_lacks_a_field_or_has_another_is_refused(name: str, wrong: dict[str, Any]) -> None:
    assert not Draft202012Validator(PUBLISHED[name]).is_valid(wrong)


# the mapping of a list

MAPPING = Draft202012Validator(published()["list"])


@pytest.mark.parametrize("text", [MAP, json.dumps(EXAMPLE)])
def test_a_mapping_holds_to_its_schema(text: str) -> None:
    for loader in (yaml.CBaseLoader, yaml.CSafeLoader):
        data = yaml.load(text, Loader=loader)
        data |= {"date": str(data["date"]), "expires": str(data["expires"])} if "date" in data else {}
        assert next(MAPPING.iter_errors(data), None) is None


def test_a_guessed_mapping_holds_to_it(tiny: Tiny, run: Run, tmp_path: Path) -> None:
    small = Small(tiny, run, tmp_path)
    ran = run("bring", small.list, "--guess", "--supplier", "quayside", "--shop", tiny.folder)
    assert next(MAPPING.iter_errors(yaml.load(ran.out, Loader=yaml.CBaseLoader)), None) is None


@pytest.mark.parametrize(
    ("old", "new"), [("supplier: quayside", "supplyer: q"), ("    name: Name\n", ""), ("pack: Pack", "pakc: P")]
)
def test_a_wrong_mapping_does_not(old: str, new: str) -> None:
    assert not MAPPING.is_valid(yaml.load(MAP.replace(old, new), Loader=yaml.CBaseLoader))


def test_the_ids_of_the_shop_are_offered_in_it() -> None:
    table = (offered := with_ids()["list"])["$defs"]["Table"]["properties"]
    assert "northgate" in str(offered["properties"]["supplier"])
    assert {"centre_length", "bore_size"} <= table["specs"]["properties"].keys()
    assert "'piston'" in str(offered["$defs"]["Fills"]["properties"]["is"])
    assert "'piston'" not in str(offered["$defs"]["Told"])
