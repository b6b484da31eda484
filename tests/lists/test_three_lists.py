"""Three lists of three suppliers: brought in, checked, quoted, and brought again."""

from __future__ import annotations

import json
from datetime import date

import compat
from compat.library.library import load
from compat.units import Band
from tests.lists.conftest import Brought, files_of
from tests.lists.three import PISTON, ROD, ROWS, SHELL

BUILD = """- build: of-lists
  name: Street turbo of brought parts
  variant: tarn-20-turbo
"""


def test_brought_in_checked_and_quoted(brought: Brought) -> None:
    assert sum(ROWS.values()) == 2000
    for one in brought.lists:
        before = files_of(brought.shop)
        looked = brought.bring(one, "--json")
        assert looked.status == 0, looked.err + looked.out[-3000:]
        assert files_of(brought.shop) == before
        said = json.loads(looked.out)
        written = brought.bring(one, "--write")
        assert written.status == 0, written.err
        # the same list a second time changes nothing, to the byte
        after = files_of(brought.shop)
        again = json.loads(brought.bring(one, "--write", "--json").out)
        assert (again["new"], again["changed"], again["no_longer_listed"], again["kept"]) == ([], [], [], [])
        assert again["as_they_are"] == len(said["new"])
        assert files_of(brought.shop) == after

    library = load(brought.shop)
    shop = library.shop
    for one in brought.lists:
        assert one.first in shop.parts, sorted(name for name in shop.parts if name.startswith(one.first[:5]))[
            :5
        ]
        for name, spec in shop.specs[one.like].items():
            if name not in shop.specs[one.first]:
                continue
            came = shop.specs[one.first][name].value
            if isinstance(spec.value, Band):
                assert abs(came.nominal - spec.value.nominal) <= max(1e-8 * abs(spec.value.nominal), 2e-11), (
                    name
                )
                assert abs(came.half_width - spec.value.half_width) <= 1e-9, name
            else:
                assert came == spec.value, name

    opened = compat.open_shop(brought.shop)
    build = opened.build("street-turbo")
    mine = build.fitting(
        piston=brought.lists[0].first, rod=brought.lists[1].first, rod_bearing=brought.lists[2].first
    )
    theirs = build.fitting(piston=PISTON, rod=ROD, rod_bearing=SHELL)

    def findings(one: object) -> list[tuple[str, str]]:
        return sorted((finding.rule, finding.verdict) for finding in opened.check(one).report.findings)  # type: ignore[arg-type]

    assert findings(mine) == findings(theirs)

    text = (brought.shop / "catalog/builds/street-turbo.yaml").read_text()
    own = text.replace("build: street-turbo", "build: of-lists").replace(
        f"    piston: {PISTON}", f"    piston: {brought.lists[0].first}"
    )
    own = own.replace(f"    rod: {ROD}\n", f"    rod: {brought.lists[1].first}\n")
    (brought.shop / "catalog/builds/of_lists.yaml").write_text(own)
    quote = ("quote", "of-lists", "--shop", brought.shop, "--draft", "--despite-findings", "--own")
    told = brought.run(*quote, "--date", "2026-11-30")
    assert told.status == 0, told.err
    assert "OK-1000" in told.out
    assert "00100" in told.out
    late = brought.run(*quote, "--date", "2027-05-01")
    assert late.status == 2
    assert "the price list 'ostermoor-autumn' of 2026-11-02 of 'ostermoor' expired on 2027-04-30" in late.err
    assert "catalog/suppliers.yaml" in late.err
    assert shop.suppliers["tollgate"].lists["tollgate-autumn"].date == date(2026, 11, 2)


def test_sizes_words_prices_and_what_is_left_out(fewer: Brought) -> None:
    rods = fewer.lists[1]
    for one in fewer.lists:
        assert fewer.bring(one, "--write").status == 0
    shop = load(fewer.shop).shop
    # one row in three sizes, each with what grows by it
    bigger = [name for name in shop.parts if name.startswith("ostermoor-ok-") and name.endswith("-0-50")]
    assert len(bigger) > 30
    for name in bigger[:20]:
        standard = shop.specs[name.removesuffix("-0-50")]
        for spec in ("bore_size", "skirt_diameter"):
            grown = shop.specs[name][spec].value.nominal - standard[spec].value.nominal
            assert abs(grown - 0.5e-3) < 1e-12
        assert shop.parts[name].sold_by[0].code.endswith(" +0,50")
    assert str(shop.parts["ostermoor-ok-1005"].sold_by[0].price) == "1,204.50 EUR"
    assert shop.specs["ostermoor-ok-1001"]["pin_retention"].value == "floating"
    # asked for on the telephone: the part comes, no price does
    assert shop.parts["ostermoor-ok-1060"].sold_by == ()
    # left out by its state
    assert "ostermoor-ok-1050" not in shop.parts
    # merged over three rows; codes keep their noughts; price of one times four
    assert shop.specs["tg-00104"]["material"].value == shop.specs["tg-00100"]["material"].value
    offer = shop.parts["tg-00104"].sold_by[0]
    assert offer.code == "00104"
    assert offer.pack == 4
    assert offer.price.amount > 2000
    # hidden: told, not taken
    assert "tg-00107" not in shop.parts
    said = json.loads(fewer.bring(rods, "--json").out)
    told = [one["what"] for one in said["told_beside"]]
    assert "hidden rows not taken (row 12)" in told
    assert "hidden sheet 'last year' is not read" in told
    assert any(one.startswith("merged cells") for one in told)
    # undersizes in inches make a shell thicker by half
    under = [name for name in shop.parts if name.startswith("cutbank-") and name.endswith("-020")]
    assert len(under) > 10
    for name in under[:20]:
        specs, standard = shop.specs[name], shop.specs[name.removesuffix("-020")]
        assert abs(specs["undersize"].value.nominal - 0.020 * 0.0254) < 1e-12
        assert (
            abs(specs["shell_thickness"].value.nominal - standard["shell_thickness"].value.nominal - 0.254e-3)
            < 1e-9
        )
    widths = {
        round(shop.specs[name]["width"].value.nominal / 0.0254, 9) for name in shop.parts if "cutbank" in name
    }
    assert {45 / 64, 11 / 16, 0.75, 23 / 32} <= {round(width, 9) for width in widths}
    assert shop.parts["cutbank-cb0001"].sold_by[0].breaks[0].packs == 10


def test_what_changed_vanished_and_came_is_told_from_to(fewer: Brought) -> None:
    pistons = fewer.lists[0]
    assert fewer.bring(pistons, "--write").status == 0
    text = pistons.file.read_bytes().decode("cp1252").split("\r\n")
    head = text[2].split(";")
    gone = text.pop(10)
    cells = text[20].split(";")
    was, cells[head.index("Preis")] = cells[head.index("Preis")], "1.999,00 €"
    text[20] = ";".join(cells)
    heavier = text[30].split(";")
    heavier[head.index("Gewicht g")] = "401"
    text[30] = ";".join(heavier)
    text.append(text[3].replace("OK-1000", "OK-9000"))
    pistons.file.write_bytes("\r\n".join(text).encode("cp1252"))
    shop = load(fewer.shop).shop
    said = json.loads(fewer.bring(pistons, "--json").out)
    code = cells[0]
    changed = {(one["code"], one["field"]): (one["from"], one["to"]) for one in said["changed"]}
    own = was.removesuffix(" €").replace(".", "").replace(",", ".")
    assert changed[code, "price"] == (f"{own} EUR", "1999.00 EUR")
    assert changed[heavier[0], "specs.mass"][1] == "401 g"
    assert {one["code"] for one in said["no_longer_listed"]} == {
        offer.code
        for part in shop.parts.values()
        for offer in part.sold_by
        if offer.code.split(" ")[0] == gone.split(";")[0]
    }
    assert [one["code"] for one in said["new"]] == ["OK-9000"]
    assert fewer.bring(pistons, "--write").status == 0
    after = load(fewer.shop).shop
    lost = f"ostermoor-{gone.split(';')[0].lower()}"
    assert not after.parts[lost].sold_by
    assert after.parts[lost].no_longer_sold_by[0].supplier == "ostermoor"
    # and when it is listed again, it is sold again
    text.append(gone)
    pistons.file.write_bytes("\r\n".join(text).encode("cp1252"))
    assert fewer.bring(pistons, "--write").status == 0
    back = load(fewer.shop).shop.parts[lost]
    assert back.sold_by
    assert not back.no_longer_sold_by
