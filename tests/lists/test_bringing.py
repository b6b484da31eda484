"""Bringing a list: looked at first, written as a person would, own edits kept, broken off at any step."""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import date

import pytest

from compat.library.library import load
from compat.lists.bringing import Asked, bring
from compat.lists.writing import write_bringing
from compat.shop.together import finish_writing
from tests.lists.conftest import files_of
from tests.lists.small import ROWS, Small
from tests.shop.test_together import Killed, killing


def test_it_only_looks_unless_it_is_told_to_write(small: Small) -> None:
    before = files_of(small.tiny.folder)
    told = small.bring()
    assert told.status == 0
    assert "3 new, 0 changed, 0 no longer listed, 0 as they are, 0 not read." in told.out
    assert "Nothing is written yet: --write writes it." in told.out
    assert files_of(small.tiny.folder) == before


def test_a_part_is_written_as_a_person_would(small: Small) -> None:
    assert small.bring("--write", "--until", "2027-01-31").status == 0
    assert small.parts == (
        "# From the list quay-pistons of Quayside Parts.\n"
        "\n"
        "- part: quayside-p-1\n"
        "  name: Piston one\n"
        "  fills: piston\n"
        "  families: [hob]\n"
        "  specs:\n"
        "    skirt_diameter: 74.500 mm\n"
        "    compression_height: 31.00 mm\n"
        "    pin_retention: floating\n"
        "  sold_by: [{supplier: quayside, code: P-1, price: 120.00 GBP, pack: 4, list: quay-pistons}]\n"
        "\n"
        "- part: quayside-p-2\n"
        "  name: Piston two\n"
        "  fills: piston\n"
        "  families: [hob]\n"
        "  specs:\n"
        "    skirt_diameter: 75.000 mm\n"
        "    compression_height: 31.00 mm\n"
        "    pin_retention: floating\n"
        "  sold_by: [{supplier: quayside, code: P-2, price: 130.00 GBP, pack: 4, list: quay-pistons}]\n"
        "\n"
        "- part: quayside-p-3\n"
        "  name: Piston three\n"
        "  fills: piston\n"
        "  families: [hob]\n"
        "  specs:\n"
        "    skirt_diameter: 75.500 mm\n"
        "    compression_height: 31.00 mm\n"
        "    pin_retention: pressed\n"
        "  sold_by: [{supplier: quayside, code: P-3, price: 1140.50 GBP, pack: 4, list: quay-pistons}]\n"
    )
    supplier = load(small.tiny.folder).shop.suppliers["quayside"]
    assert str(supplier.lists["quay-pistons"].expires) == "2027-01-31"


def test_own_edits_and_comments_stay_and_the_same_list_brings_nothing_back(small: Small) -> None:
    small.bring("--write")
    small.tiny.edit("catalog/parts/quay_pistons.yaml", "75.000 mm\n", "74.990 mm   # measured, four of them\n")
    small.tiny.edit("catalog/parts/quay_pistons.yaml", "price: 130.00 GBP", "price: 118 GBP")
    mine = small.parts
    told = small.bring("--write")
    assert "0 new, 0 changed" in told.out
    assert small.parts == mine
    # a new list moves another price and leaves those alone
    small.rows(ROWS[0].replace("120,00", "125,00"), ROWS[1], ROWS[2])
    said = json.loads(small.bring("--write", "--json", dated="2026-12-01").out)
    assert [(one["field"], one["from"], one["to"]) for one in said["changed"]] == [
        ("price", "120.00 GBP", "125.00 GBP")
    ]
    assert small.parts == mine.replace("120.00 GBP", "125.00 GBP")


def test_where_both_changed_the_shop_stays_and_it_is_told_once(small: Small) -> None:
    small.bring("--write")
    small.tiny.edit("catalog/parts/quay_pistons.yaml", "price: 130.00 GBP", "price: 118 GBP")
    small.rows(ROWS[0], ROWS[1].replace("130,00", "133,00"), ROWS[2])
    said = json.loads(small.bring("--write", "--json").out)
    assert [(one["part"], one["from"], one["to"]) for one in said["kept"]] == [
        ("quayside-p-2", "118.00 GBP", "133.00 GBP")
    ]
    assert "price: 118 GBP" in small.parts
    over = json.loads(small.bring("--over", "--json").out)
    assert [(one["from"], one["to"]) for one in over["changed"]] == [("118.00 GBP", "133.00 GBP")]


def test_a_part_that_was_taken_out_stays_out(small: Small) -> None:
    small.bring("--write")
    head, _, rest = small.parts.partition("- part: quayside-p-2")
    small.tiny.write("catalog/parts/quay_pistons.yaml", head + rest[rest.index("- part: quayside-p-3") :])
    mine = small.parts
    told = small.bring("--write")
    assert told.status == 0
    assert "taken out of the shop by hand" in told.out
    assert small.parts == mine


def test_a_part_that_stands_in_another_file_is_known_by_its_code(small: Small) -> None:
    small.rows("SP74;Forged piston;74,470;31,00;floating;485,00;4")
    said = json.loads(small.bring("--write", "--json").out)
    assert said["new"] == []
    fields = {one["field"]: (one["part"], one["from"], one["to"]) for one in said["changed"]}
    assert fields["price"] == ("sport-piston", "480.00 GBP", "485.00 GBP")
    # what the shop states itself is not written over, and told
    assert {one["field"] for one in said["kept"]} <= {
        "name",
        "specs.skirt_diameter",
        "specs.compression_height",
    }
    text = small.tiny.text("catalog/parts/extra.yaml")
    assert "{supplier: quayside, code: SP74, price: 485.00 GBP, pack: 4, list: quay-pistons}" in text
    assert load(small.tiny.folder).shop.parts["sport-piston"].name == "Forged piston, floating pin"


def test_what_cannot_be_read_is_told_by_its_place_and_holds_the_rest_back(small: Small) -> None:
    small.rows(ROWS[0], ROWS[1].replace("75,000", "wide"), ROWS[2].replace("pressed", "presed"))
    before = files_of(small.tiny.folder)
    told = small.bring("--write")
    assert told.status == 1
    assert f"{small.list}:3:3" in told.out.replace("\n", "")
    assert "did you mean 'pressed'?" in " ".join(told.out.split())
    assert files_of(small.tiny.folder) == before
    told = small.bring("--write", "--despite-unread")
    assert told.status == 1
    assert "quayside-p-1" in small.parts
    assert "quayside-p-2" not in small.parts


def test_a_row_that_cannot_be_read_is_not_taken_for_gone(small: Small) -> None:
    small.bring("--write")
    small.rows(ROWS[0].replace("120,00", "x"), ROWS[1], ROWS[2])
    said = json.loads(small.bring("--json").out)
    assert said["no_longer_listed"] == []
    assert len(said["not_read"]) == 1


def test_lines_that_end_as_another_system_ends_them_go_on_doing_so(small: Small) -> None:
    small.bring("--write")
    crlf = small.parts.replace("\n", "\r\n")
    small.tiny.write("catalog/parts/quay_pistons.yaml", crlf)
    small.rows(
        ROWS[0].replace("120,00", "125,00"), ROWS[1], ROWS[2], "P-4;Piston four;76,000;31,00;floating;99,00;4"
    )
    assert small.bring("--write").status == 0
    raw = (small.tiny.folder / "catalog/parts/quay_pistons.yaml").read_bytes()
    assert raw.count(b"\n") == raw.count(b"\r\n") > 30


@pytest.mark.parametrize("at", range(1, 34))
def test_broken_off_at_any_step_the_shop_is_the_old_one_or_the_new(
    small: Small, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    folder = small.tiny.folder
    shop = load(folder).shop
    old = files_of(folder)
    found, into = bring(small.list, small.map, shop, folder, Asked(date(2026, 11, 2)))
    with monkeypatch.context() as patch:
        killing(patch, at)
        with suppress(Killed):
            write_bringing(found, shop, folder, into)
    finish_writing(folder)
    there = {name: raw for name, raw in files_of(folder).items() if not name.startswith(".coming-")}
    if "lists/quay-pistons.jsonl" not in there:
        assert there == old
    else:
        assert len(load(folder).shop.parts) == len(shop.parts) + 3
        assert load(folder).shop.suppliers["quayside"].lists
    load(folder)
