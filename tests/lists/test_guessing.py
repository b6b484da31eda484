"""A first mapping made of headings and cells: what a person would have written, or a question."""

from __future__ import annotations

from pathlib import Path

from openpyxl import Workbook

from compat.library.library import Library
from compat.lists.guessing import guessed
from tests.lists.small import Small


def guess(small: Small) -> str:
    told = small.run("bring", small.list, "--guess", "--supplier", "quayside", "--shop", small.tiny.folder)
    assert told.status == 0, told.err
    return " ".join(told.out.split())


def test_rows_of_several_kinds_in_another_tongue(small: Small) -> None:
    small.rows(
        "P-100;Pleuel H-Schaft 144;Pleuel;144,00;548;1.249,50 €;4;14 Tage",
        "P-101;Pleuel I-Schaft 5.6 Zoll;Pleuel;143,40;560;899,- €;4;3 Wochen",
        "P-102;Kolben, gegossen;Kolben;;310;auf Anfrage;1;",
        "P-103;Federteller oben;Federteller;;310;12,00;1;",
        head="Art.-Nr.;Bezeichnung;Typ;Achsabstand [mm];Gewicht (g);VK EUR;VPE;Lieferzeit",
    )
    text = guess(small)
    assert "code: Art.-Nr. #" in text
    assert "name: Bezeichnung #" in text  # one name that speaks of inches makes no column of inches
    assert "fills: {column: Typ, words: {Pleuel: rod, Kolben: piston, Federteller: WHICH-POSITION}}" in text
    assert 'centre_length: {column: "Achsabstand [mm]", unit: mm}' in text
    assert "price: {column: VK EUR, currency: EUR, none: [auf Anfrage]}" in text
    assert "quayside sells in GBP, look which is right" in text
    assert "pack: VPE" in text
    assert "lead: Lieferzeit" in text


def test_what_every_part_states_tells_no_position(demo: Library, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Code;Name;Weight (g);Price\nA-1;Something;548;12\n", encoding="utf-8")
    assert "fills: {is: WHICH-POSITION}" in guessed(path, "northgate", demo.shop)


def test_titles_and_headings_over_two_rows(small: Small) -> None:
    for merged in ((), ("A2:A3", "B2:B3", "E2:E3")):
        made = Workbook()
        sheet = made.active
        assert sheet is not None
        sheet.title = "Pistons"
        sheet.append(["Prices of autumn"])
        sheet.merge_cells("A1:E1")
        sheet.append(["Code", "Name", "Sizes in mm", None, "Price"])
        sheet.merge_cells("C2:D2")
        sheet.append([None, None, "Skirt diameter", "Compression height"])
        for area in merged:
            sheet.merge_cells(area)
        sheet.append(["P1", "Piston one", 74.5, 31, 120])
        sheet.append(["P2", "Piston two", 75, 31, 130])
        small.list = small.folder / "quay.xlsx"
        made.save(small.list)
        text = guess(small)
        assert "heading: 3 code: Code #" in text, merged
        assert "skirt_diameter: {column: Sizes in mm / Skirt diameter, unit: mm}" in text, merged
        assert "price: {column: Price, currency: GBP}" in text, merged
