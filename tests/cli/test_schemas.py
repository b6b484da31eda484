"""The published JSON Schemas: valid themselves, true of every file and report, and strict where it matters."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from compat.cli.shops import ALSO, PLURALS
from compat.library.library import build_of_id
from compat.library.sources import demo_folder
from compat.shop.entry_lines import as_lines
from compat.shop.writing import as_said
from tests.look import demo_shop, published, with_ids

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
TINY = ROOT / "tests" / "tiny"


class Core(yaml.CSafeLoader):
    """Reads plain words by the core schema of YAML 1.2 (section 10.3.2), as an editor does."""

    yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012  as in the base class


for tag, pattern, starts in (
    ("bool", r"^(?:true|True|TRUE|false|False|FALSE)$", "tTfF"),
    ("int", r"^[-+]?[0-9]+$", "-+0123456789"),
    ("float", r"^[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?$", "-+.0123456789"),
    ("null", r"^(?:~|null|Null|NULL|)$", ["~", "n", "N", ""]),
):
    Core.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), list(starts))

LOADERS = {"text": yaml.CBaseLoader, "editor": Core}

PUBLISHED = published()
"""Every schema as it is written for an editor, made once."""


@cache
def validator(kind: str) -> Draft202012Validator:
    return Draft202012Validator(PUBLISHED[kind])


def entries(folder: Path, loader: str) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted((*folder.glob("catalog/**/*.yaml"), *folder.glob("rules/**/*.yaml"))):
        for entry in yaml.load(path.read_text(encoding="utf-8"), Loader=LOADERS[loader]) or []:
            yield path.relative_to(folder).as_posix(), entry


@pytest.mark.parametrize("kind", sorted(PUBLISHED))
def test_every_schema_is_one(kind: str) -> None:
    Draft202012Validator.check_schema(PUBLISHED[kind])
    assert PUBLISHED[kind]["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("loader", LOADERS)
@pytest.mark.parametrize("folder", [demo_folder(), TINY], ids=["demo", "tiny"])
def test_every_entry_holds_to_the_schema_of_its_kind(folder: Path, loader: str) -> None:
    seen = set()
    for file, entry in entries(folder, loader):
        kind = next(iter(entry))
        seen.add(kind)
        problem = next(validator(str(kind)).iter_errors(entry), None)
        assert problem is None, f"{file}: {entry[kind]}: {problem.message}"  # type: ignore[union-attr]
    assert len(seen) == 13


def test_the_quick_parser_reads_plain_words_as_the_core_schema_says() -> None:
    """libyaml cuts the text; what a plain word is, is decided here: YAML 1.2.2, section 10.3.2, from memory."""
    text = "[true, False, yes, on, 12, -3, 1_000, 12:30, 1.5, .5, 1e3, ~, null, '', '1', 2024-01-01, 5 mm]"
    assert yaml.load(text, Loader=Core) == [
        True, False, "yes", "on", 12, -3, "1_000", "12:30", 1.5, 0.5, 1000.0, None, None, "", "1",
        "2024-01-01", "5 mm",
    ]  # fmt: skip


@pytest.mark.parametrize("loader", LOADERS)
def test_whole_files_hold_to_the_schema_of_their_tree(loader: str) -> None:
    for tree in ("catalog", "rules"):
        for path in TINY.glob(f"{tree}/**/*.yaml"):
            data = yaml.load(path.read_text(encoding="utf-8"), Loader=LOADERS[loader])
            assert validator(tree).is_valid(data), path
            assert validator(tree).is_valid(data[0]), path


def entry(kind: str) -> dict[str, Any]:
    return next(found for _, found in entries(TINY, "text") if next(iter(found)) == kind)


def build(goal: str = "power", **more: Any) -> dict[str, Any]:
    return {"build": "b", "name": "B", "variant": "v", "goal": {goal: "1 kW", "at": "1000 rpm"}, **more}


@pytest.mark.parametrize(
    "wrong",
    [
        {**entry("part"), "filles": "rod"},
        {key: value for key, value in entry("part").items() if key != "fills"},
        {**entry("part"), "part": "With Capitals"},
        {**entry("part"), "offers": [{"count": 2}]},
        {**entry("part"), "offers": ["With-Hyphen"]},
        {**entry("part"), "sold_by": [{"supplier": "a", "price": "24.50"}]},
        {**entry("part"), "sold_by": [{"supplier": "a", "price": "1 GBP", "pack": "0.5"}]},
        {**entry("part"), "basis": "guess"},
        {**entry("position"), "system": "gearbox"},
        {**entry("position"), "required": "perhaps"},
        {**entry("position"), "count": "two"},
        {**entry("family"), "numbers": {"pistons": 4}},
        {**entry("feature"), "remedies": [{"work": "a", "swap": "b"}]},
        {**entry("feature"), "remedies": [{"pray": "hard"}]},
        {**entry("work"), "takes": {"depth": {"default": "1 mm"}}},
        {**entry("rule"), "headroom": {"rally": 1}},
        {**entry("rule"), "else": "ok"},
        {**entry("rule"), "why": ""},
        {**entry("figure"), "scatter": "much"},
        build(goal="powr"),
        build(renew="none"),
        build(work=[{"depth": "1 mm"}]),
        build(fit={"Rod": "x"}),
    ],
)
def test_what_the_program_refuses_the_schema_refuses(wrong: dict[str, Any]) -> None:
    assert not validator(next(iter(wrong))).is_valid(wrong)


def test_the_examples_above_are_wrong_in_one_thing_only() -> None:
    for kind in ("part", "position", "family", "feature", "work", "rule", "figure"):
        assert validator(kind).is_valid(entry(kind))
    assert validator("build").is_valid(build(renew="all", work=["a", {"work": "a", "depth": "1 mm"}]))


@pytest.mark.parametrize(
    "words", [("mixed",), ("sport", "--loads"), ("hob-13",), ("mixed", "--units", "imperial")]
)
def test_reports_hold_to_their_schema(words: tuple[str, ...], run: Run) -> None:
    ran = run("check", *words, "--json", "--shop", TINY)
    report = json.loads(ran.out)
    assert next(validator("report").iter_errors(report), None) is None
    # what was measured piece by piece stands there only where something was: tests/measured/test_command.py
    assert set(report) == set(PUBLISHED["report"]["properties"]) - {"measured", "scoped", "house"}


def test_a_demo_report_holds_to_its_schema(run: Run) -> None:
    ran = run("check", "first-draft", "--json", "--loads", "--shop", demo_folder())
    assert ran.status == 1
    report = json.loads(ran.out)
    assert next(validator("report").iter_errors(report), None) is None
    assert report["summary"]["conflict"] == sum(f["verdict"] == "conflict" for f in report["findings"])
    assert report["figures"]


def test_what_is_left_out_is_told_as_data_that_the_schema_explains(run: Run, tmp_path: Path) -> None:
    """A part that nobody needs, work on what is there already, and the renewals that go with it."""
    shop = demo_shop().shop
    ready = build_of_id(shop, "fell-30-top-end")
    more = ready.fitting(main_girdle="bm-girdle-20").changed(
        work=[*as_said(ready.build)["work"], "tap-knock-boss"],
        renew=["coolant", "oil", "oil_filter", "core_plug"],
    )
    path = tmp_path / "needless.yaml"
    path.write_text(as_lines({**as_said(more.build), "build": "needless"}), encoding="utf-8")
    found = json.loads(run("check", path, "--json", "--shop", demo_folder()).out)
    assert next(validator("report").iter_errors(found), None) is None
    changes = [entry for one in found["findings"] for way in one["ways_out"] for entry in way["changes"]]
    assert {"leave_out": "main_girdle"} in changes
    assert {"without_work": "tap-knock-boss"} in changes
    assert {"strike": "renew", "word": "core_plug"} in changes
    way = PUBLISHED["report"]["$defs"]["WayOut"]["properties"]["changes"]
    for word in {word for entry in changes for word in entry if "work" not in entry}:
        assert f"`{word}`" in way["description"], word


def shown(run: Run, *words: object) -> Any:
    """What `show` or `why` prints as JSON, held against its published schema."""
    ran = run(*words, "--json", "--shop", TINY)
    assert (ran.status, ran.err) == (0, "")
    found = json.loads(ran.out)
    assert next(validator(str(words[0])).iter_errors(found), None) is None
    return found


THINGS = [
    ("part", "sport-piston"), ("variant", "hob-13"), ("position", "piston"), ("feature", "knock_boss"),
    ("work", "deck-block"), ("joint", "head_joint"), ("build", "mixed"), ("family", "hob"),
    ("supplier", None), ("rule", "quench"), ("figure", "compression_ratio"), ("shop", "shop"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "name"), THINGS)
def test_what_is_shown_holds_to_its_schema(
    kind: str, name: str | None, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    name = name or shown(run, "show", f"{kind}s")["list"][0]["id"]
    (thing,) = (each for each in shown(run, "show", name)["things"] if each["kind"] == kind)
    assert thing["id"] == thing["entry"][kind]
    assert thing["name"].startswith(thing["entry"].get("name", thing["entry"].get("title", "")))
    # the entry is the one in that file at that line, and holds to the schema of its kind
    lines = (TINY / thing["file"]).read_text(encoding="utf-8").splitlines()
    assert f"{kind}: {thing['id']}" in lines[thing["line"] - 1]
    assert validator(kind).is_valid(thing["entry"])
    monkeypatch.setenv("COLUMNS", "2000")
    printed = run("show", name, "--shop", TINY).out
    assert all(f"\n{'  ' * line['depth']}{line['text']}\n" in printed for line in thing["lines"])


@pytest.mark.parametrize("word", [*PLURALS, *ALSO])
def test_every_list_holds_to_its_schema(word: str, run: Run) -> None:
    found = shown(run, "show", word)
    assert found["kind"] == PLURALS[ALSO.get(word, word)]
    text = run("show", word, "--shop", TINY).out
    assert [entry["id"] for entry in found["list"]] == re.findall(r"^    (\S+)", text, re.MULTILINE)


def walk(steps: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for step in steps:
        yield step
        yield from walk(step["rests_on"])


def test_a_chain_holds_to_its_schema_and_to_its_numbers(run: Run) -> None:
    found = shown(run, "why", "mixed", "squeeze")
    assert (found["applies"], found["findings"][0]["verdict"]) == (True, "caution")
    steps = {step["name"]: step for step in walk(found["chain"])}
    ratio = steps["compression_ratio"]
    assert ratio["value"] == pytest.approx(found["findings"][0]["value"])
    # 1 + swept volume of a cylinder over the clearance volume: by the definition of the compression ratio
    swept, clearance = steps["swept_volume"], steps["clearance_volume"]
    assert swept["unit"] == clearance["unit"] == "cm^3"
    assert ratio["value"] == pytest.approx(1 + swept["value"] / 4 / clearance["value"])
    # pi/4 bore^2 stroke, four times, by hand, in the units that the steps name
    bore, stroke = steps["block.bore"], steps["crankshaft.stroke"]
    assert (bore["unit"], stroke["unit"]) == ("mm", "mm")
    volume = 4 * math.pi / 4 * bore["value"] ** 2 * stroke["value"] / 1000
    assert swept["value"] == pytest.approx(volume, rel=1e-6)


@pytest.mark.parametrize(
    ("rule", "applies", "verdict"),
    [
        ("low-octane", True, "unknown"), ("iron-only", True, "ok"), ("sequential-needs-cam", False, None),
        ("need-knock-boss", True, "missing"), ("renew-head", True, "missing"), ("rod-strength", True, "ok"),
    ],
)  # fmt: skip
def test_every_kind_of_rule_explains_itself_as_data(
    rule: str, applies: bool, verdict: str | None, run: Run
) -> None:
    found = shown(run, "why", "mixed", rule)
    assert found["applies"] is applies
    assert [finding["verdict"] for finding in found["findings"]] == [verdict] * applies
    assert found["why"]
    assert found["source"]


def test_a_chain_is_as_deep_as_asked(run: Run) -> None:
    def depth(steps: list[dict[str, Any]]) -> int:
        return 1 + max((depth(step["rests_on"]) for step in steps), default=0) if steps else 0

    whole = shown(run, "why", "mixed", "squeeze")["chain"]
    assert shown(run, "why", "mixed", "squeeze", "--depth", "all")["chain"] == whole
    assert depth(whole) > 2
    for levels in (1, 2, 99):
        chain = shown(run, "why", "mixed", "squeeze", "--depth", levels)["chain"]
        assert depth(chain) == min(levels, depth(whole))


@pytest.mark.parametrize("file", ["catalog/shop.yaml", "catalog/parts/factory.yaml"])
def test_lint_holds_to_its_schema(file: str, tiny: Any, run: Run) -> None:
    clean = json.loads(run("lint", "--json", "--shop", tiny.folder).out)
    assert clean == {"shop": str(tiny.folder), "remarks": []}
    tiny.edit("catalog/parts/factory.yaml", "price: 24.50 GBP", "price: 24.50 EUR")
    ran = run("lint", "--json", "--shop", tiny.folder)
    found = json.loads(ran.out)
    assert ran.status == 1
    assert next(validator("lint").iter_errors(found), None) is None
    assert len(found["remarks"]) == 1


@pytest.mark.parametrize(
    "words",
    [
        ("engine_displacement", "bore=86 mm", "stroke=86 mm", "cylinders=4"),
        ("engine_displacement", "bore=86 mm ±0.01", "stroke=86 mm ±0.05", "cylinders=4"),
    ],
)
def test_calc_holds_to_its_schema(words: tuple[str, ...], run: Run) -> None:
    found = json.loads(run("calc", *words, "--json").out)
    assert next(validator("calc").iter_errors(found), None) is None
    assert found["value"] == pytest.approx(1998.2, abs=0.1)


def test_schemas_are_written_whole(tmp_path: Path, run: Run) -> None:
    ran = run("schemas", tmp_path / "new" / "folder")
    assert (ran.status, ran.err) == (0, "")
    written = sorted((tmp_path / "new" / "folder").iterdir())
    offered = with_ids()
    assert [path.name for path in written] == sorted(f"{kind}.schema.json" for kind in PUBLISHED)
    for path in written:
        kind = path.name.removesuffix(".schema.json")
        assert json.loads(path.read_text(encoding="utf-8")) == json.loads(json.dumps(offered[kind]))
