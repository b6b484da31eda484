"""Quote, order and sheet on the page: what the command makes; nothing of the own copy in the customer's."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from fastapi import FastAPI

from compat.library.library import build_of_id
from compat.page.handing import FORMATS
from compat.page.settings import Role
from compat.paper.out import content
from compat.paper.quoting import quote_document
from compat.shop.measured_files import read_measured
from compat.trade.quote import make_quote
from tests.page.visiting import Visitor

STARTS = {"pdf": b"%PDF-", "xlsx": b"PK\x03\x04", "html": b"<!doctype html>", "json": b"{"}


@pytest.fixture(autouse=True)
def kept_in_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers lie in the shop's own folder, not where the tests of the command keep theirs."""
    monkeypatch.delenv("COMPAT_QUOTES", raising=False)


def sit(app: FastAPI, visitor: Visitor, role: Role) -> Visitor:
    """Give a visitor's sitting a role."""
    visitor.get("/bench")
    sittings = app.state.sittings
    sitting = sittings.of(next(iter(visitor.cookies.values())))
    sitting.role = role
    return visitor


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


def kept(folder: Path) -> list[str]:
    return sorted(path.stem for path in (folder / "quotes").glob("*.json"))


def test_the_draft_is_the_quote_of_the_command(client: Visitor, demo_page: FastAPI) -> None:
    desk = demo_page.state.desk
    made = make_quote(desk.session, build_of_id(desk.library.shop, "street-turbo"), date.today()).quote
    given = json.loads(client.get("/quote/street-turbo?as=json").content)
    assert Decimal(str(given["total"])) == made.total
    assert given["number"] == ""
    shown = client.get("/quote/street-turbo").text
    for line in quote_document(made).data["lines"]:  # type: ignore[index]
        assert line["what"].split(",")[0] in words_of(shown).replace("&#39;", "'").replace("&amp;", "&")
    assert "DRAFT" in shown


def own_numbers(data: Any) -> Iterator[str]:
    """Every word that stands under an `own` of the shop's copy."""
    if isinstance(data, dict):
        for key, value in data.items():
            if key == "own":
                yield from leaves(value)
            else:
                yield from own_numbers(value)
    elif isinstance(data, list):
        for one in data:
            yield from own_numbers(one)


def leaves(data: Any) -> Iterator[str]:
    if isinstance(data, dict | list):
        for one in data.values() if isinstance(data, dict) else data:
            yield from leaves(one)
    elif data is not None:
        yield str(data)


def holds_own(data: Any) -> bool:
    if isinstance(data, dict):
        return "own" in data or any(holds_own(one) for one in data.values())
    return isinstance(data, list) and any(holds_own(one) for one in data)


@pytest.mark.parametrize("draft", [True, False])
def test_nothing_of_the_own_copy_is_in_the_customers(writer: Visitor, shop_folder: Path, draft: bool) -> None:
    where = "/quote/street-turbo"
    if not draft:
        where = writer.post(where).headers["location"]
    own = json.loads(writer.get(f"{where}/own?as=json").content)
    customers = json.loads(writer.get(f"{where}?as=json").content)
    assert holds_own(own)
    assert not holds_own(customers)
    public = set(leaves(customers))
    sums = {text for text in own_numbers(own) if re.fullmatch(r"\d+\.\d\d", text)} - public
    names = {
        line["own"]["supplier"] for line in own["lines"] if line.get("own") and line["own"].get("supplier")
    }
    assert len(sums) > 20
    texts = {form: writer.get(f"{where}?as={form}").text for form in ("html", "md", "txt", "csv", "json")}
    texts["view"] = writer.get(where).text
    with zipfile.ZipFile(io.BytesIO(writer.get(f"{where}?as=xlsx").content)) as book:
        texts["xlsx"] = "".join(book.read(name).decode() for name in book.namelist() if name.endswith(".xml"))
    for form, text in texts.items():
        plain = words_of(text).replace(",", "")
        found = {number for number in sums if re.search(rf"(?<![\d.]){re.escape(number)}(?![\d.])", plain)}
        assert not found, (form, found)
        assert "For the shop alone" not in text
        assert not [name for name in names if name and name in re.findall(r"[a-z-]+", plain)], form
    shown = writer.get(f"{where}/own").text
    assert "For the counter alone" in shown
    assert "For the shop alone" in shown
    assert "own-copy" in writer.get(f"{where}/own?as=pdf").headers["content-disposition"]


def worked_out(visitor: Visitor, path: str) -> str:
    """A view as it is when what it hangs on was worked out aside."""
    begun = monotonic()
    while "It is being worked out" in (text := visitor.get(path).text):
        assert monotonic() - begun < 120
        sleep(0.2)
    return text


def test_what_is_in_doubt_is_worked_out_aside_and_is_that_of_the_command(writer: Visitor, app: FastAPI) -> None:
    first = writer.get("/quote/first-draft?despite=yes")
    assert "It is being worked out" in first.text
    assert 'hx-get="/quote/first-draft?despite=yes"' in first.text
    assert writer.get("/build/street-turbo").status_code == 200  # nobody waits for it
    shown = worked_out(writer, "/quote/first-draft?despite=yes")
    desk = app.state.desk
    made = make_quote(desk.session, build_of_id(desk.library.shop, "first-draft"), date.today()).quote
    assert len(made.doubts) > 5
    assert f"{made.doubt_most:,}" in words_of(shown)
    given = json.loads(writer.get("/quote/first-draft?despite=yes&as=json").content)
    assert given == json.loads(content(quote_document(made), ".json", {}, "quote.json"))


def test_a_build_with_findings_is_quoted_only_when_that_is_said(writer: Visitor, shop_folder: Path) -> None:
    refused = writer.get("/quote/first-draft")
    assert "so no quote is given" in refused.text
    assert "conflict" in refused.text
    assert "<article" not in refused.text
    assert writer.get("/quote/first-draft?as=pdf").status_code == 403
    assert writer.get("/quote/first-draft/own?as=json").status_code == 403
    assert writer.post("/quote/first-draft").status_code == 400
    assert kept(shop_folder) == []
    despite = worked_out(writer, "/quote/first-draft?despite=yes")
    assert "<article" in despite
    answer = writer.post("/quote/first-draft", despite="yes")
    assert answer.status_code == 303
    assert len(kept(shop_folder)) == 1
    assert "conflict" in writer.get(answer.headers["location"]).text.lower()


def test_a_quote_is_kept_listed_shown_again_and_held_against_now(writer: Visitor, shop_folder: Path) -> None:
    drafted = json.loads(writer.get("/quote/street-turbo?as=json").content)
    answer = writer.post("/quote/street-turbo")
    number = answer.headers["location"].rpartition("/")[2]
    assert kept(shop_folder) == [number]
    given = json.loads(writer.get(f"/quotes/{number}?as=json").content)
    assert given == {**drafted, "number": number}
    assert number in writer.get("/quotes").text
    assert number in writer.get("/quotes?build=street-turbo").text
    assert number not in writer.get("/quotes?build=endurance-ethanol").text
    assert "Nothing has changed" in writer.get(f"/quotes/{number}/since").text
    writer.post("/build/street-turbo/fit", position="spark_plug", part="spn-plug-short-3")
    since = writer.get(f"/quotes/{number}/since").text
    assert "Nothing has changed" not in since
    assert "spn-plug-short-3" in since
    assert writer.get(f"/quotes/{number}/since?as=json").status_code == 200
    assert json.loads(writer.get(f"/quotes/{number}?as=json").content) == given  # stays as it was


def test_the_draft_is_of_the_build_as_it_stands_in_this_sitting(app: FastAPI, visit: Any) -> None:
    one, other = visit(app), visit(app)
    before = one.get("/quote/street-turbo?as=json").json()
    one.post("/build/street-turbo/fit", position="spark_plug", part="spn-plug-short-3")
    assert one.get("/quote/street-turbo?as=json").json() != before
    assert other.get("/quote/street-turbo?as=json").json() == before


@pytest.mark.parametrize("ending", FORMATS)
@pytest.mark.parametrize("where", ["/quote/street-turbo", "/order/street-turbo", "/sheet/street-turbo"])
def test_every_paper_in_every_format(client: Visitor, where: str, ending: str) -> None:
    answer = client.get(f"{where}?as={ending}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == FORMATS[ending]
    given = answer.headers["content-disposition"]
    assert re.fullmatch(rf'attachment; filename="[A-Za-z0-9_-]+\.{ending}"', given)
    assert answer.content.startswith(STARTS.get(ending, b""))
    assert len(answer.content) > 400


@pytest.mark.parametrize("ending", ["exe", "xml", "PDF", "../pdf", "pdf\r\nx: y"])
def test_no_other_ending_is_given(client: Visitor, ending: str) -> None:
    assert client.get("/quote/street-turbo", **{"as": ending}).status_code in (404, 422)


NUMBERS = [
    "../../catalog/shop",
    "%2e%2e%2fshop",
    "PB-Q-1999-0001",
    "a/b",
    ".hidden",
    "x" * 200,
    "a%00b",
    "*",
]


def test_a_number_that_is_none_reads_no_file(writer: Visitor, shop_folder: Path) -> None:
    (shop_folder / "quotes").mkdir(exist_ok=True)
    (shop_folder / "quotes/.hidden.json").write_text('{"secret": 1}')
    for number in NUMBERS:
        for where in ("/quotes/{}", "/quotes/{}/own", "/quotes/{}/since", "/orders/{}"):
            answer = writer.get(where.format(number))
            assert answer.status_code in (400, 404, 405, 422), (where, number)
            assert "secret" not in answer.text


@pytest.mark.parametrize("path", ["/quote/street-turbo", "/order/street-turbo"])
def test_a_form_of_nobodys_keeps_nothing(writer: Visitor, shop_folder: Path, path: str) -> None:
    assert writer.ask("POST", path, data={}).status_code == 403
    assert writer.ask("POST", path, data={"token": "00" * 64}).status_code == 403
    assert kept(shop_folder) == []
    assert not list(shop_folder.glob("quotes/orders/*"))


@pytest.mark.parametrize(
    "path",
    ["/quote/street-turbo", "/quote/street-turbo/own", "/quotes", "/order/street-turbo", "/orders"],
)
def test_the_bench_sees_no_paper_with_a_price(demo_page: FastAPI, visit: Any, path: str) -> None:
    bench = sit(demo_page, visit(demo_page), "bench")
    assert bench.get(path).status_code == 403
    assert bench.get("/sheet/street-turbo").status_code == 200


# orders


def test_several_builds_are_ordered_together(writer: Visitor, shop_folder: Path) -> None:
    alone = writer.get("/order/street-turbo?as=json").json()
    both = writer.get("/order/street-turbo?also=phase-upgrade&as=json").json()
    assert [one["build"] for one in both["builds"]] == ["street-turbo", "phase-upgrade"]
    assert Decimal(str(both["total"])) > Decimal(str(alone["total"]))
    shown = writer.get("/order/street-turbo?also=phase-upgrade").text
    assert 'value="phase-upgrade" checked' in shown
    answer = writer.post("/order/street-turbo", also="phase-upgrade")
    number = answer.headers["location"].rpartition("/")[2]
    given = writer.get(f"/orders/{number}?as=json").json()
    assert given == {**both, "number": number}
    assert number in writer.get("/orders").text
    supplier = given["suppliers"][0]["supplier"]
    letter = writer.get(f"/orders/{number}?supplier={supplier}")
    assert "aria-current" in letter.text
    xml = writer.get(f"/orders/{number}?supplier={supplier}&as=xml")
    assert xml.headers["content-type"] == "application/xml"
    assert b"SCRDMCCBDACIOMessageStructure" in xml.content
    assert writer.get(f"/orders/{number}?as=xml").status_code == 403
    assert writer.get(f"/orders/{number}?supplier=nobody").status_code == 404
    told = writer.get(f"/orders/{number}?supplier={supplier}&as=json").json()
    assert [one["supplier"] for one in told["suppliers"]] == [supplier]


def test_what_does_not_go_together_is_ordered_only_when_that_is_said(
    writer: Visitor, shop_folder: Path
) -> None:
    refused = writer.get("/order/first-draft")
    assert "so nothing is ordered" in refused.text
    assert "<article" not in refused.text
    assert writer.get("/order/first-draft?as=pdf").status_code == 403
    assert writer.post("/order/first-draft").status_code == 400
    assert writer.post("/order/street-turbo", also="first-draft").status_code == 400
    assert not list(shop_folder.glob("quotes/orders/*"))
    despite = writer.get("/order/first-draft?despite=yes")
    assert "<article" in despite.text
    assert "against it" in despite.text


# sheets


def test_the_sheet_of_a_build_with_findings_wants_to_be_asked_for(client: Visitor) -> None:
    assert "so no sheet is given" in client.get("/sheet/first-draft").text
    assert client.get("/sheet/first-draft?as=pdf").status_code == 403
    assert client.get("/sheet/first-draft?form=csv").status_code == 403
    assert "DESPITE FINDINGS" in client.get("/sheet/first-draft?despite=yes").text


def test_the_form_comes_back_as_it_is_read(client: Visitor, tmp_path: Path) -> None:
    answer = client.get("/sheet/street-turbo?form=csv")
    assert 'filename="measured-street-turbo.csv"' in answer.headers["content-disposition"]
    text = answer.text
    head = next(line for line in text.splitlines() if line.startswith("what,"))
    line = next(line for line in text.splitlines() if line.startswith("block.bore_diameter,1,top,"))
    cells = line.split(",")
    cells[head.split(",").index("value")] = "86.012"
    path = tmp_path / "form.csv"
    path.write_text(text.replace(line, ",".join(cells)), encoding="utf-8")
    faults: list[Any] = []
    rows, _ = read_measured(path, faults)
    assert not faults
    assert [row.says["value"] for row in rows] == ["86.012"]


# what a view may hold


@pytest.mark.parametrize(
    "path",
    [
        "/quote/street-turbo",
        "/quote/first-draft?despite=yes",
        "/order/street-turbo",
        "/sheet/street-turbo",
        "/quotes",
    ],
)
def test_no_view_holds_what_the_policy_forbids(client: Visitor, path: str) -> None:
    text = client.get(path).text
    assert not re.search(r"<[^>]*\sstyle=", text)
    assert "<style" not in text
    assert not re.search(r"<[^>]*\son[a-z]+=", text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)
    assert text.count("<h1") == 1
