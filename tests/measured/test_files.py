"""Files of measured values: every fault at its line and column or its cell, all at once; and what is read."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

import compat
from compat.shop.pieces import Measured
from compat.shop.source import Faults
from tests.look import demo_shop
from tests.measured.conftest import HEAD

GOOD = "block.bore_diameter,1,top,86.002,mm,0.002,bore gauge,K.,2026-11-30"
Write = Callable[..., Path]


def told(build: compat.Build, *sources: Any) -> list[str]:
    with pytest.raises(compat.Faults) as found:
        build.measuring(*sources)
    return [str(fault) for fault in found.value.faults]


def book(path: Path, rows: Sequence[Sequence[Any]], title: str = "Measured", more: Sequence[str] = ()) -> Path:
    workbook = Workbook()
    sheet = workbook.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for other in more:
        workbook.create_sheet(other)
    workbook.save(path)
    return path


COLUMNS = HEAD.split(",")

ONE_ROW = [
    ("block.bore_diamter,1,,86.0,mm,0.002,g,,", 1, "did you mean 'bore_diameter'?"),
    ("blok.bore_diameter,1,,86.0,mm,0.002,g,,", 1, "position 'blok' is not known; did you mean 'block'?"),
    ("bore,1,,86.0,mm,0.002,g,,", 1, "names no spec; write it as position.spec"),
    ("setup.injection,1,,86.0,mm,0.002,g,,", 1, "nobody measures a setup"),
    ("block.material,1,,86.0,mm,0.002,g,,", 1, "no gauge measures that"),
    ("block.bore_diameter,1,,86.0,kPa,0.002,g,,", 24, "'86.0 kPa' is a pressure; 'bore_diameter' wants"),
    ("block.bore_diameter,1,,86.0 kPa,mm,0.002,g,,", 24, "is a pressure"),
    ("block.bore_diameter,1,,86.0,,0.002,g,,", 24, "has no unit"),
    ("block.bore_diameter,1,,8.6,mm,0.002,g,,", 24, "is outside anything possible: the card says 85.5 mm"),
    ("block.bore_diameter,1,,860.2,mm,0.002,g,,", 24, "is outside anything possible"),
    ("block.bore_diameter,1,,68.02,mm,0.002,g,,", 24, "is outside anything possible"),
    ("block.bore_diameter,1,,3.386,mm,0.002,g,,", 24, "is outside anything possible"),
    ("ring_set.top_gap,1,,4.6,mm,0.02,g,,", 21, "is outside anything possible"),
    ("block.bore_diameter,1,,-86.0,mm,0.002,g,,", 24, "is below zero"),
    ("block.bore_diameter,1,,eighty,mm,0.002,g,,", 24, "is no quantity"),
    ("block.bore_diameter,1,,nan,mm,0.002,g,,", 24, "is not a finite number"),
    ("block.bore_diameter,1,,1e999,mm,0.002,g,,", 24, "too large a number"),
    ("block.bore_diameter,1,,86.0 ±0.01,mm,0.002,g,,", 24, "has a tolerance; a reading has none"),
    ("block.bore_diameter,5,,86.0,mm,0.002,g,,", 21, "piece 5 is more than the 4 that the engine takes"),
    ("crankshaft.main_journal_diameter,6,,58.0,mm,0.002,g,,", 34, "more than the 5 that the engine takes"),
    ("block.bore_diameter,,,86.0,mm,0.002,g,,", 21, "says no piece, and the engine takes 4"),
    ("block.bore_diameter,0,,86.0,mm,0.002,g,,", 21, "piece '0' is no number from 1 to 4"),
    ("block.bore_diameter,one,,86.0,mm,0.002,g,,", 21, "piece 'one' is no number from 1 to 4"),
    ("block.bore_diameter,1,tpo,86.0,mm,0.002,g,,", 23, "did you mean 'top'?"),
    (
        "block.bore_diameter,1,,86.0,mm,,,,",
        32,
        "states no uncertainty of its gauge, and the shop none of one without",
    ),
    (
        "block.bore_diameter,1,,86.0,mm,,micrometr,,",
        32,
        "the shop none of 'micrometr'; did you mean 'micrometer'?",
    ),
    ("block.bore_diameter,1,,86.0,mm,,scales,,", 32, "states no uncertainty of its gauge"),  # that one weighs
    ("block.bore_diameter,1,,86.0,mm,0,g,,", 32, "no gauge is exact"),
    ("block.bore_diameter,1,,86.0,mm,-0.002,g,,", 32, "no gauge is exact"),
    ("block.bore_diameter,1,,86.0,mm,2,g,,", 32, "is 2% of the value: no gauge for it, or another unit"),
    ("block.bore_diameter,1,,86.0,mm,0.002 kPa,g,,", 32, "is a pressure"),
    (
        '"block.bore_diameter","1","","86,002",mm,0.002,g,,',
        30,
        "has a comma in a number; write a decimal point",
    ),
    ("block.bore_diameter,1,,86,002,mm,0.002,g,,", 27, "a decimal comma?"),
    ('block.bore_diameter,1,"top,86.0,mm,0.002,g,,', 23, "quotation mark that does not close on this line"),
]


@pytest.mark.parametrize(("row", "column", "message"), ONE_ROW)
def test_each_fault_is_told_at_its_place(
    row: str, column: int, message: str, street: compat.Build, written: Write
) -> None:
    path = written(row)
    found = told(street, path)
    assert any(f"{path}:2:{column}:" in each and message in each for each in found), found


def test_all_faults_come_at_once_and_nothing_is_half_read(street: compat.Build, written: Write) -> None:
    path = written(*(row for row, _, _ in ONE_ROW[:12]))
    other = written("block.bore_diameter,9,,86.0,mm,0.002,g,,", name="n.csv")
    found = told(street, path, other)
    assert len(found) == 13
    assert sum(f"{path}:" in each for each in found) == 12


def test_a_piece_twice(street: compat.Build, written: Write) -> None:
    path = written(GOOD, GOOD)
    (found,) = told(street, path)
    assert found == (
        f"{path}:3:21: piece 1 at 'top' of 'block.bore_diameter' is given twice; first at {path}:2:21"
    )


def test_a_spec_in_two_places(street: compat.Build, written: Write) -> None:
    said = street.changed(measured={"block.bore_diameter": "86.0 mm"})
    path = written(GOOD)
    assert "is given twice; the build states it at" in told(said, path)[0]
    yaml = written("measured: {block.deck_height: 222.5 mm}", name="m.yaml", head="")
    again = written("measured: {block.deck_height: 222.4 mm}", name="n.yaml", head="")
    assert "'block.deck_height' is given twice; first at" in told(street, yaml, again)[0]


def test_what_is_read(street: compat.Build, written: Write) -> None:
    path = written(
        GOOD,
        "block.bore_diameter,1,foot,86.006,mm,0.003,bore gauge,K.,2026-11-30",
        "block.bore_diameter,2,,3.38583 in,,0.0001 in,,,",
        "block.bore_diameter,3,,,mm,0.002,,,",
        "# a remark",
        head=f"\ufeffStreet turbo\n\n{HEAD}",
    )
    spec = street.measuring(path).measured["block", "bore_diameter"]
    assert isinstance(spec, Measured)
    first, second, *rest = spec.pieces
    assert first is not None
    assert second is not None
    assert rest == [None, None]
    assert [(place, round(value * 1e3, 6)) for place, value in first.readings] == [
        ("top", 86.002),
        ("foot", 86.006),
    ]
    assert (round(first.uncertainty * 1e3, 6), first.gauge, first.by, first.date) == (
        0.003, "bore gauge", "K.", "2026-11-30",
    )  # fmt: skip
    assert second.readings[0][1] == pytest.approx(3.38583 * 0.0254)
    assert second.uncertainty == pytest.approx(0.0001 * 0.0254)


def test_a_gauge_of_the_shop_is_off_by_what_the_shop_says(
    shop: compat.OpenShop, street: compat.Build, written: Write
) -> None:
    path = written("block.bore_diameter,1,,86.0,mm,,bore gauge,,")
    spec = street.measuring(path).measured["block", "bore_diameter"]
    assert isinstance(spec, Measured)
    assert shop.things.info is not None
    assert spec.pieces[0] is not None
    assert spec.pieces[0].uncertainty == shop.things.info.gauges["bore gauge"].nominal


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_any_of_three_separators(mark: str, street: compat.Build, written: Write) -> None:
    path = written(GOOD.replace(",", mark), head=HEAD.replace(",", mark))
    assert ("block", "bore_diameter") in street.measuring(path).measured


def test_a_decimal_comma_between_semicolons(street: compat.Build, written: Write) -> None:
    path = written("block.bore_diameter;1;;86,002;mm;0,002;g;;", head=HEAD.replace(",", ";"))
    found = told(street, path)
    assert [":2:24:" in each for each in found] == [True, False]
    assert all("has a comma in a number" in each for each in found)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("block.bore_diameter 86.0", "has no head row with the columns what, piece"),
        ("what,value,vlaue\n", "column 'vlaue' is not known; did you mean 'value'?"),
        ("what,value,value\n", "column 'value' is given twice"),
        ("", "has no head row"),
    ],
)
def test_a_table_without_its_head(text: str, message: str, street: compat.Build, written: Write) -> None:
    assert message in told(street, written(name="h.csv", head=text))[0]


def test_files_that_are_none(street: compat.Build, tmp_path: Path) -> None:
    assert "cannot be read" in told(street, tmp_path / "none.csv")[0]
    (tmp_path / "m.xls").write_text("x")
    assert "is read of YAML, CSV and XLSX; did you mean '.xlsx'?" in told(street, tmp_path / "m.xls")[0]
    (tmp_path / "big.csv").write_text("x" * 2_100_000)
    assert "file of 2 MB; the most is 2 MB" in told(street, tmp_path / "big.csv")[0]
    (tmp_path / "l.csv").write_bytes(b"what,value\n\xe9,1\n")
    assert ":2:1: is not UTF-8" in told(street, tmp_path / "l.csv")[0]
    (tmp_path / "d.csv").mkdir()
    assert "is no file but a folder" in told(street, tmp_path / "d.csv")[0]


# YAML


def test_yaml_in_the_forms_of_a_build(street: compat.Build, written: Write) -> None:
    path = written(
        "measured:",
        "  block.bore_diameter:",
        "    pieces: {1: {top: 86.002 mm, foot: 86.003 mm}, 2: [86.001 mm, 86.000 mm], 3: 86.000 mm, 4: }",
        "    uncertainty: 0.002 mm",
        "    gauge: bore gauge",
        "  block.deck_flatness: {value: 0.02 mm, uncertainty: 0.01 mm}",
        "  block.bore_spacing: 94.00 mm",
        name="m.yaml",
        head="",
    )
    measured = street.measuring(path).measured
    spec = measured["block", "bore_diameter"]
    assert isinstance(spec, Measured)
    assert [len(piece.readings) if piece else 0 for piece in spec.pieces] == [2, 2, 1, 0]
    assert isinstance(measured["block", "deck_flatness"], Measured)
    assert type(measured["block", "bore_spacing"]).__name__ == "Spec"


@pytest.mark.parametrize(
    ("entry", "place", "message"),
    [
        ("{pieces: [86 mm], uncertanty: 0.002 mm}", "2:42", "did you mean 'uncertainty'?"),
        ("{pieces: [86 mm], value: 86 mm, uncertainty: 0.002 mm}", "2:3", "either 'value', or 'pieces'"),
        ("{uncertainty: 0.002 mm}", "2:3", "either 'value', or 'pieces'"),
        ("{pieces: 86 mm, uncertainty: 0.002 mm}", "2:25", "is a list of values, or values by number"),
        ("{pieces: [{top: [86 mm]}], uncertainty: 0.002 mm}", "2:35", "a reading is one value"),
        ("{pieces: [86 mm], uncertainty: [0.002 mm]}", "2:42", "'uncertainty' is one text"),
        ("{pieces: [86 mm, 8.6 mm], uncertainty: 0.002 mm}", "2:41", "is outside anything possible"),
        ("{pieces: [86 mm]}", "2:34", "states no uncertainty"),
    ],
)
def test_faults_of_yaml(entry: str, place: str, message: str, street: compat.Build, written: Write) -> None:
    path = written(f"  block.bore_diameter: {entry}", name="m.yaml", head="measured:")
    found = told(street, path)
    assert any(message in each and f"{path}:{place}:" in each for each in found), found


def test_faults_of_a_build_stand_in_its_file(shop: compat.OpenShop, tmp_path: Path) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(
        "- build: b\n  name: B\n  variant: tarn-20-base\n  goal: {power: 80 kW, at: 5500 rpm}\n"
        "  measured:\n    block.bore_diameter: {pieces: [85.5 mm, 855 mm], uncertainty: 0.002 mm}\n"
        "  selected: {piston: [1, 1, 2, 3], pistn: [1]}\n"
    )
    with pytest.raises(compat.Faults) as found:
        shop.read(path)
    assert [str(fault).partition("b.yaml:")[2] for fault in found.value.faults] == [
        "6:45: '855 mm' is outside anything possible: the card says 85.5 mm +0.008/-0",
        "7:14: piece 1 of 'piston' goes to two places",
        "7:36: position 'pistn' is not known; did you mean 'piston'?",
    ]


def test_a_selection_is_of_all_pieces(street: compat.Build) -> None:
    said = {"piston.skirt_diameter": {"pieces": ["85.95 mm"] * 4, "uncertainty": "0.002 mm"}}
    build = street.changed(selected={"piston": [1, 2, 5, 3]})
    assert "names pieces 1, 2, 5, 3, and there are 1 to 4" in told(build, said)[0]


def test_from_python(street: compat.Build) -> None:
    found = told(street, {"block.bore_diameter": {"pieces": ["8.6 mm"], "uncertainty": "0.002 mm"}})
    assert found[0].startswith("build street-turbo: measured.block.bore_diameter.pieces.0: '8.6 mm' is outside")


# workbooks


def test_a_workbook(street: compat.Build, tmp_path: Path) -> None:
    rows = [
        ["Street turbo"], [], COLUMNS,
        ["block.bore_diameter", 1, "top", 86.002, "mm", 0.002, "bore gauge", "K.", date(2026, 11, 30)],
        ["block.bore_diameter", 2, "top", None, "mm", 0.002, "bore gauge", None, None],
        ["block.bore_diameter", 3, "top", "86.001 mm", None, "0.002 mm", "bore gauge", None, None],
    ]  # fmt: skip
    spec = street.measuring(book(tmp_path / "m.xlsx", rows, more=["Steps"])).measured["block", "bore_diameter"]
    assert isinstance(spec, Measured)
    first, second, third, _ = spec.pieces
    assert first is not None
    assert second is None
    assert third is not None
    assert first.date == "2026-11-30"


def test_faults_of_cells(street: compat.Build, tmp_path: Path) -> None:
    rows = [
        COLUMNS,
        ["block.bore_diameter", 1, "", "=86+0.002", "mm", 0.002, "g"],
        ["block.bore_diameter", 2, "", 8.6, "mm", 0.002, "g"],
        ["block.bore_diameter", True, "", 86, "mm", 0.002, "g"],
        ["block.bore_diameter", 4, "", "#DIV/0!", "mm", 0.002, "g"],
    ]
    path = book(tmp_path / "m.xlsx", rows)
    found = told(street, path)
    for message in (
        "D2: holds the formula '=86+0.002' and no result: work it out and save",
        "B4: holds yes or no",
        "D3: '8.6' is outside anything possible",
        "D5: holds the error #DIV/0!",
    ):
        assert any(f"{path}:Measured!{message}" in each for each in found), found


def test_workbooks_that_are_none(street: compat.Build, tmp_path: Path) -> None:
    (tmp_path / "t.xlsx").write_text("what,value")
    assert "is no workbook: save it as .xlsx" in told(street, tmp_path / "t.xlsx")[0]
    path = book(tmp_path / "o.xlsx", [COLUMNS], "First", ["Second"])
    assert "has no sheet 'Measured'; it has First, Second" in told(street, path)[0]
    with zipfile.ZipFile(tmp_path / "e.xlsx", "w") as packed:
        packed.writestr("hello.txt", "hello")
    assert "is no workbook that can be read" in told(street, tmp_path / "e.xlsx")[0]


def _packed(members: dict[str, bytes], path: Path) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in members.items():
            packed.writestr(name, data)
    return path


def _members() -> dict[str, bytes]:
    raw = io.BytesIO()
    workbook = Workbook()
    workbook.active.append(COLUMNS)
    workbook.save(raw)
    with zipfile.ZipFile(raw) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def test_a_workbook_that_unpacks_without_end(street: compat.Build, tmp_path: Path) -> None:
    path = _packed({**_members(), "xl/media/a.bin": b"\0" * 60_000_000}, tmp_path / "z.xlsx")
    assert path.stat().st_size < 100_000
    assert "unpacks to 60 MB; the most is 20 MB" in told(street, path)[0]


def test_a_workbook_that_lies_about_its_size(street: compat.Build, tmp_path: Path) -> None:
    path = _packed({**_members(), "xl/worksheets/sheet1.xml": b" " * 30_000_000}, tmp_path / "l.xlsx")
    raw = path.read_bytes().replace((30_000_000).to_bytes(4, "little"), (1_000).to_bytes(4, "little"))
    path.write_bytes(raw)
    assert "is no workbook" in told(street, path)[0]


def test_a_workbook_with_entities(street: compat.Build, tmp_path: Path) -> None:
    members = _members()
    bomb = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "xxxxxxxxxx">]><a>&b;</a>'
    path = _packed({**members, "xl/sharedStrings.xml": bomb}, tmp_path / "x.xlsx")
    assert "declares a document type, which no workbook needs" in told(street, path)[0]


def test_a_workbook_of_too_many_rows(street: compat.Build, tmp_path: Path) -> None:
    row = ["block.bore_diameter", 1, "", None, "mm"]
    path = book(tmp_path / "r.xlsx", [COLUMNS, *([row] * 5100)])
    assert "holds more than 5000 rows" in told(street, path)[0]


@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_file_is_a_fault_or_is_read(seed: int, street: compat.Build, tmp_path: Path) -> None:
    """Bytes changed, lost or repeated anywhere: told in one message each, never a traceback."""
    chance = random.Random(seed)
    rows = [
        COLUMNS,
        ["block.bore_diameter", 1, "top", 86.002, "mm", 0.002, "bore gauge", "K.", "2026-11-30"],
    ] * 3
    raw = bytearray(
        book(tmp_path / "good.xlsx", rows).read_bytes()
        if seed % 2
        else "\n".join([HEAD, GOOD, GOOD.replace(",1,", ",2,")]).encode()
    )
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(len(raw))
        raw[at : at + chance.randint(0, 2)] = chance.randbytes(chance.randint(0, 3))
    path = tmp_path / ("damaged.xlsx" if seed % 2 else "damaged.csv")
    path.write_bytes(raw)
    told = []
    try:
        street.measuring(path)
    except compat.Faults as found:
        told = found.faults
    assert all(str(fault).startswith(str(path)) for fault in told)


@pytest.mark.parametrize(
    ("spec", "value"),
    [("block.bore_diameter", "8.6 mm"), ("rod.centre_length", "148 cm"), ("block.deck_height", "2.1 m")],
)
def test_one_value_outside_anything_possible_is_no_measure(spec: str, value: str) -> None:
    shop = compat.OpenShop(demo_shop().shop, demo_shop().book)
    with pytest.raises(Faults, match="is outside anything possible: the card says") as found:
        shop.make(variant="tarn-20-base", goal={"power": "90 kW", "at": "5800 rpm"}, measured={spec: value})
    assert len(found.value.faults) == 1


def test_a_gap_far_from_its_card_is_a_measure() -> None:
    """Valve to valve at 1.2 mm where the card says 3.4 is a bad head, not a slip of the pen."""
    shop = compat.OpenShop(demo_shop().shop, demo_shop().book)
    goal = {"power": "90 kW", "at": "5800 rpm"}
    made = shop.make(variant="tarn-20-base", goal=goal, measured={"cylinder_head.valve_to_valve": "1.2 mm"})
    assert not shop.check(made).clean
