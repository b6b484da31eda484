"""`compat sheet` as a user types it, in a folder of its own."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from compat.paper.sheet_form import COLUMNS
from tests.cli.conftest import Run
from tests.look import published


def test_formats_by_their_endings(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run(
        "sheet", "fell-30-top-end", "--out", "s.xlsx", "--out", "s.csv", "--out", "s.md", "--out", "s.json"
    )
    assert ran.status == 0, ran.err
    sheet = openpyxl.load_workbook("s.xlsx")["Measured"]
    heads = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert list(COLUMNS) in heads
    with Path("s.csv").open(newline="", encoding="utf-8-sig") as file:
        lines = list(csv.reader(file))
    assert list(COLUMNS) in lines
    jsonschema.validate(json.loads(Path("s.json").read_text()), published()["sheet"])
    assert "Head joint" in Path("s.md").read_text()


def test_json_and_text_to_the_terminal(run: Run) -> None:
    data = json.loads(run("sheet", "phase-upgrade", "--json").out)
    jsonschema.validate(data, published()["sheet"])
    text = run("sheet", "phase-upgrade", "--units", "imperial").out
    assert "lbf·ft" in text
    assert "Rod joint" in text


def test_a_build_that_does_not_go_together_is_refused(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "s.pdf"
    ran = run("sheet", "first-draft", "--out", str(out))
    assert (ran.status, ran.out) == (1, "")
    assert not out.exists()
    said = ran.err.splitlines()
    assert "no sheet is given" in said[0]
    assert all(re.match("  (conflict|shortfall|missing): ", line) for line in said[1:11])
    assert re.fullmatch(r"  and \d+ more: compat check first-draft", said[11])
    assert "--despite-findings" in said[12]
    assert len(said) == 13
    ran = run("sheet", "first-draft", "--despite-findings", "--out", str(out))
    assert ran.status == 0, ran.err
    assert out.read_bytes().startswith(b"%PDF")


def test_bad_input_is_one_message(run: Run, tmp_path: Path) -> None:
    ran = run("sheet", "street-turbo", "--out", str(tmp_path / "s.docx"))
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 1
    ran = run("sheet", "street-trubo")
    assert ran.status == 2
    assert "street-turbo" in ran.err


def filled(form: Path, values: dict[str, str]) -> None:
    """Write values into a form saved as CSV, the same at every piece and place of a spec."""
    with form.open(newline="", encoding="utf-8-sig") as file:
        rows = list(csv.reader(file))
    for row in rows:
        if row and row[0] in values:
            row[COLUMNS.index("value")] = values[row[0]]
            row[COLUMNS.index("by")] = "E. Holt"
    with form.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


def test_the_form_goes_round(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Printed, filled in, read by a check, and printed again with what came of it."""
    monkeypatch.chdir(tmp_path)
    assert run("sheet", "street-turbo", "--out", "form.csv").status == 0
    filled(Path("form.csv"), {"block.bore_diameter": "86.001", "piston.skirt_diameter": "85.947"})
    checked = run("check", "street-turbo", "--measured", "form.csv", "--json", "--quick")
    assert checked.status == 0, checked.err
    ran = run("sheet", "street-turbo", "--measured", "form.csv", "--out", "again.json", "--out", "again.md")
    assert ran.status == 0, ran.err
    report = {finding["rule"]: finding for finding in json.loads(checked.out)["findings"]}
    again = json.loads(Path("again.json").read_text())
    rows = {row["rule"]: row for step in again["steps"] for row in step["clearances"]}
    for key in ("value", "low", "high", "at_least", "at_most", "verdict"):
        assert rows["piston-skirt-clearance"][key] == report["piston-skirt-clearance"][key]
    text = Path("again.md").read_text()
    assert "86.001" in text
    assert "measured, proven in" in text
    assert run("sheet", "street-turbo", "--measured", "form.csv", "--out", "second.csv").status == 0
    with Path("second.csv").open(newline="", encoding="utf-8-sig") as file:
        read = [row for row in csv.reader(file) if row and row[0] == "block.bore_diameter"]
    assert len(read) == 12
    assert {float(row[COLUMNS.index("value")]) for row in read} == {86.001}
    assert {row[COLUMNS.index("by")] for row in read} == {"E. Holt"}


def test_the_step_in_the_readme_is_one_of_the_sheet(run: Run) -> None:
    readme = Path(__file__).parents[2] / "README.md"
    (shown,) = re.findall(r"<!-- sheet -->\n```\n(.*?)```", readme.read_text(encoding="utf-8"), re.DOTALL)
    assert shown in run("sheet", "street-turbo").out
