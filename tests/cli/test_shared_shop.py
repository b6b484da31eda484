"""A shop that several people keep: findings as SARIF, keys in order, as a hook before a commit calls them."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest

Run = Callable[..., Any]

STRUCTURE = {
    "type": "object",
    "required": ["version", "runs"],
    "properties": {
        "$schema": {"type": "string", "format": "uri"},
        "version": {"const": "2.1.0"},
        "runs": {"type": "array", "items": {"$ref": "#/$defs/run"}},
    },
    "additionalProperties": False,
    "$defs": {
        "message": {
            "type": "object",
            "required": ["text"],
            "properties": {"text": {"type": "string", "minLength": 1}},
        },
        "level": {"enum": ["none", "note", "warning", "error"]},
        "run": {
            "type": "object",
            "required": ["tool", "results"],
            "properties": {
                "tool": {
                    "type": "object",
                    "required": ["driver"],
                    "properties": {
                        "driver": {
                            "type": "object",
                            "required": ["name"],
                            "properties": {
                                "name": {"type": "string"},
                                "version": {"type": "string"},
                                "rules": {
                                    "type": "array",
                                    "uniqueItems": True,
                                    "items": {"$ref": "#/$defs/rule"},
                                },
                            },
                            "additionalProperties": False,
                        }
                    },
                },
                "columnKind": {"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
                "results": {"type": "array", "items": {"$ref": "#/$defs/result"}},
            },
            "additionalProperties": False,
        },
        "rule": {
            "type": "object",
            "required": ["id"],
            "properties": {
                "id": {"type": "string"},
                "shortDescription": {"$ref": "#/$defs/message"},
                "fullDescription": {"$ref": "#/$defs/message"},
                "defaultConfiguration": {"type": "object", "properties": {"level": {"$ref": "#/$defs/level"}}},
            },
            "additionalProperties": False,
        },
        "result": {
            "type": "object",
            "required": ["message"],
            "properties": {
                "ruleId": {"type": "string"},
                "ruleIndex": {"type": "integer", "minimum": -1},
                "level": {"$ref": "#/$defs/level"},
                "message": {"$ref": "#/$defs/message"},
                "partialFingerprints": {"type": "object", "additionalProperties": {"type": "string"}},
                "locations": {
                    "type": "array",
                    "items": {
                        "type": "object",
                        "properties": {
                            "physicalLocation": {
                                "type": "object",
                                "properties": {
                                    "artifactLocation": {
                                        "type": "object",
                                        "properties": {
                                            "uri": {"type": "string", "pattern": r"^[A-Za-z0-9/._~%-]+$"},
                                            "uriBaseId": {"type": "string"},
                                        },
                                        "additionalProperties": False,
                                    },
                                    "region": {
                                        "type": "object",
                                        "properties": {
                                            "startLine": {"type": "integer", "minimum": 1},
                                            "startColumn": {"type": "integer", "minimum": 1},
                                        },
                                        "additionalProperties": False,
                                    },
                                },
                                "additionalProperties": False,
                            }
                        },
                    },
                },
            },
            "additionalProperties": False,
        },
    },
}
"""What SARIF 2.1.0 (OASIS Standard, 27 March 2020, sections 3.13, 3.14, 3.18, 3.27 to 3.30) asks of
the properties that are written here: from memory, not copied from the published schema."""


def log(text: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text)
    jsonschema.validate(found, STRUCTURE)
    (run,) = found["runs"]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    for result in run["results"]:
        assert rules[result["ruleIndex"]] == result["ruleId"]
    return run  # type: ignore[no-any-return]


def places(run: dict[str, Any]) -> list[tuple[str, str, int, int]]:
    found = []
    for result in run["results"]:
        place = result["locations"][0]["physicalLocation"]
        region = place["region"]
        found.append(
            (result["level"], place["artifactLocation"]["uri"], region["startLine"], region["startColumn"])
        )
    return found


def test_a_clean_shop_has_no_result(run: Run) -> None:
    ran = run("lint", "--sarif")
    assert ran.status == 0
    assert log(ran.out)["results"] == []


def test_remarks_are_warnings_where_lint_tells_them(tiny: Any, run: Run) -> None:
    tiny.edit("catalog/vocabulary.yaml", "    centre_length: mm\n", "    centre_length: mm\n    colour: text\n")
    told = json.loads(run("lint", "--json", "--shop", tiny.folder).out)["remarks"]
    assert told
    ran = run("lint", "--sarif", "--shop", tiny.folder)
    assert ran.status == 1
    found = log(ran.out)
    assert places(found) == [("warning", one["file"], one["line"], one["column"]) for one in told]
    assert [one["message"]["text"] for one in found["results"]] == [one["message"] for one in told]


def test_faults_are_errors_and_end_with_2(tiny: Any, run: Run) -> None:
    tiny.edit("catalog/parts/extra.yaml", "fills: control_unit", "fils: control_unit")
    ran = run("lint", "--sarif", "--shop", tiny.folder)
    assert ran.status == 2
    found = log(ran.out)
    told = [line for line in ran.err.splitlines() if line.startswith("catalog/")]
    assert told == [
        f"{uri}:{line}:{column}: {one['message']['text']}"
        for (_, uri, line, column), one in zip(places(found), found["results"], strict=True)
    ]
    assert {level for level, *_ in places(found)} == {"error"}


def test_under_version_control_names_start_at_its_folder(tiny: Any, run: Run) -> None:
    above = tiny.folder.parent
    (above / ".git").mkdir()
    tiny.edit("catalog/parts/extra.yaml", "fills: control_unit", "fils: control_unit")
    found = log(run("lint", "--sarif", "--shop", tiny.folder).out)
    assert all(uri.startswith("shop/catalog/") for _, uri, _, _ in places(found))


def test_a_remark_keeps_its_print_when_lines_move(tiny: Any, run: Run) -> None:
    def prints() -> set[str]:
        found = log(run("lint", "--sarif", "--shop", tiny.folder).out)
        return {one["partialFingerprints"]["says/v1"] for one in found["results"]}

    tiny.edit("catalog/vocabulary.yaml", "    centre_length: mm\n", "    centre_length: mm\n    colour: text\n")
    before = prints()
    tiny.write("catalog/vocabulary.yaml", "# one line more\n" + tiny.text("catalog/vocabulary.yaml"))
    assert prints() == before


def test_both_ways_to_print_are_one_too_many(run: Run) -> None:
    assert run("lint", "--sarif", "--json").status == 2


# keys in order


def test_tidy_only_looks_when_that_is_asked(tiny: Any, run: Run) -> None:
    run("tidy", "--shop", tiny.folder)
    assert run("tidy", "--check", "--shop", tiny.folder).status == 0
    text = tiny.text("catalog/parts/extra.yaml")
    own = "\n- part: spare-ear\n  # why\n  fills: knock_sensor\n  name: Spare\n"
    tiny.write("catalog/parts/extra.yaml", text + own)
    ran = run("tidy", "--check", "--shop", tiny.folder)
    assert (ran.status, ran.out) == (1, "catalog/parts/extra.yaml\n")
    assert tiny.text("catalog/parts/extra.yaml") == text + own
    ran = run("tidy", "--shop", tiny.folder)
    assert (ran.status, ran.out) == (0, "catalog/parts/extra.yaml\n")
    tidy = "\n- part: spare-ear\n  name: Spare\n  # why\n  fills: knock_sensor\n"
    assert tiny.text("catalog/parts/extra.yaml") == text + tidy
    assert run("lint", "--shop", tiny.folder).status in (0, 1)


def test_tidy_of_named_files(tiny: Any, run: Run) -> None:
    path = tiny.folder / "catalog" / "parts" / "own.yaml"
    path.write_text("- part: spare-ear\n  fills: knock_sensor\n  name: Spare\n", encoding="utf-8")
    assert run("tidy", path, "--shop", tiny.folder).status == 0
    assert path.read_text(encoding="utf-8").splitlines()[1] == "  name: Spare"


@pytest.mark.parametrize("text", ["- part: [a\n", "<<<<<<< HEAD\n- part: a\n=======\n>>>>>>> b\n"])
def test_where_a_file_is_at_fault_nothing_is_written(tiny: Any, run: Run, text: str) -> None:
    untidy = "- part: spare-ear\n  fills: knock_sensor\n  name: Spare\n"
    tiny.write("catalog/parts/a.yaml", untidy)
    tiny.write("catalog/parts/z.yaml", text)
    ran = run("tidy", "--shop", tiny.folder)
    assert ran.status == 2
    assert "catalog/parts/z.yaml:" in ran.err
    assert tiny.text("catalog/parts/a.yaml") == untidy
    assert run("tidy", "no-such-file.yaml", "--shop", tiny.folder).status == 2
