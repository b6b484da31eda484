"""What an editor is told: every field with its meaning and an example that holds, and the ids of the shop."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from compat.library.library import Library
from compat.library.starting import start
from compat.paper.explained_schemas import _objects
from compat.shop.reading import MODELS
from tests.cli.conftest import run
from tests.cli.test_schemas import entries
from tests.look import published, with_ids

__all__ = ["run"]

KINDS = (*MODELS, "rule", "figure", "list")
PUBLISHED = published()


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_says_what_it_means_with_an_example_that_holds(kind: str) -> None:
    schema = PUBLISHED[kind]
    for name, fields in _objects(schema):
        for field, said in fields["properties"].items():
            assert len(said.get("description", "")) > 5, f"{name}.{field}"
            assert said.get("examples"), f"{name}.{field}"
            holds = Draft202012Validator({**said, "$defs": schema.get("$defs", {})})
            for example in said["examples"]:
                assert holds.is_valid(example), f"{name}.{field}: {example}"


@pytest.fixture(scope="module")
def offered(demo: Library) -> dict[str, Any]:
    return with_ids()


def test_the_shop_s_own_files_hold_to_schemas_with_its_ids(demo: Library, offered: dict[str, Any]) -> None:
    validators = {kind: Draft202012Validator(offered[kind]) for kind in KINDS}
    for file, entry in entries(demo.folder, "text"):
        kind = str(next(iter(entry)))
        if kind not in ("position", "feature"):
            problem = next(validators[kind].iter_errors(entry), None)
            assert problem is None, f"{file}: {problem}"


def words(schema: Any) -> set[str]:
    if isinstance(schema, list):
        return set().union(*map(words, schema))
    if not isinstance(schema, dict):
        return set()
    return {*map(str, schema.get("enum", ()))}.union(*map(words, schema.values()))


def test_the_ids_of_the_shop_are_offered(demo: Library, offered: dict[str, Any]) -> None:
    build, part = offered["build"]["properties"], offered["part"]["properties"]
    assert set(demo.shop.variants) <= words(build["variant"])
    assert set(build["fit"]["properties"]) == set(demo.shop.positions) - {"setup"}
    assert set(demo.shop.parts) <= words(build["fit"])
    assert set(build["setup"]["properties"]) == set(demo.shop.kinds["setup"])
    assert set(demo.shop.positions) <= words(part["fills"])
    assert "centre_length" in part["specs"]["properties"]
    price = offered["part"]["$defs"]["Price"]["properties"]["supplier"]
    assert set(demo.shop.suppliers) <= words(price)
    assert "rod-to-stroke-ratio" in offered["shop"]["properties"]["leave_out"]["properties"]


def test_an_id_that_comes_next_is_not_refused(offered: dict[str, Any]) -> None:
    build = {"build": "b", "name": "B", "variant": "not-yet-there", "goal": {"power": "1 kW", "at": "1000 rpm"}}
    build["fit"] = {"rod": "a-new-one"}
    assert Draft202012Validator(offered["build"]).is_valid(build)
    assert not Draft202012Validator(offered["build"]).is_valid({**build, "variant": "With Capitals"})


def test_a_build_may_carry_cards(offered: dict[str, Any]) -> None:
    text = """
    build: b
    name: B
    variant: tarn-20-base
    goal: {power: 100 kW, at: 6000 rpm}
    parts: [{part: boot-rod, name: Rod, fills: rod, sold_by: [{supplier: northgate, price: 1 GBP}]}]
    """
    data = yaml.load(text, Loader=yaml.CBaseLoader)
    validator = Draft202012Validator(offered["build"])
    assert next(validator.iter_errors(data), None) is None
    data["parts"][0]["filles"] = "rod"
    assert not validator.is_valid(data)


def test_schemas_are_written_for_the_shop_at_hand(run: Callable[..., Any], tmp_path: Path) -> None:
    start(tmp_path / "shop", "short-block")
    said = run("schemas", tmp_path / "schemas", "--shop", tmp_path / "shop")
    assert said.status == 0
    build = json.loads((tmp_path / "schemas" / "build.schema.json").read_text(encoding="utf-8"))
    assert "our-rod" in words(build["properties"]["fit"])
    (tmp_path / "shop/catalog/shop.yaml").write_text("- shop: [", encoding="utf-8")
    said = run("schemas", tmp_path / "again", "--shop", tmp_path / "shop")
    assert said.status == 0
    assert "its ids are not offered" in said.err
    assert (tmp_path / "again" / "build.schema.json").is_file()


def test_keys_say_what_they_mean_and_positions_offer_what_fills_them(
    demo: Library, offered: dict[str, Any]
) -> None:
    fit = offered["build"]["properties"]["fit"]
    keys = next(each for each in (fit, *fit.get("anyOf", ())) if "properties" in each)["properties"]
    assert "setup" not in keys  # which is no place that a part goes to
    assert keys["rod"]["description"] == "Connecting rod"
    assert words(keys["rod"]) == set(demo.shop.fillers["rod"])
    setup = offered["build"]["properties"]["setup"]
    keys = next(each for each in (setup, *setup.get("anyOf", ())) if "properties" in each)["properties"]
    assert keys["knock_control"]["description"] == demo.shop.kinds["setup"]["knock_control"].meaning != ""


def test_a_spec_of_many_positions_says_what_it_is_in_each(demo: Library, offered: dict[str, Any]) -> None:
    specs = offered["part"]["properties"]["specs"]
    keys = next(each for each in (specs, *specs.get("anyOf", ())) if "properties" in each)["properties"]
    assert keys["centre_length"]["description"] == demo.shop.kinds["rod"]["centre_length"].meaning != ""
    for place in ("head_gasket", "sandwich_plate"):
        meaning = demo.shop.kinds[place]["thickness"].meaning
        assert f"{place}: {meaning}" in keys["thickness"]["description"].split("; "), place
