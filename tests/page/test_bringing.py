"""A list is brought in on the page: looked at first, then written whole or not at all, never into the demo."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

from tests.conftest import Tiny
from tests.lists.conftest import files_of
from tests.lists.small import HEAD, MAP, ROWS
from tests.page.visiting import Visitor, make_page

LIST = "\n".join([HEAD, *ROWS]) + "\n"


@pytest.fixture
def keeper(tiny: Tiny, visit: Callable[..., Visitor]) -> Visitor:
    """A visitor of the small shop, which keeps a mapping."""
    tiny.write("lists/quay.yaml", MAP)
    return visit(make_page(tiny.folder))


def brought(who: Visitor, text: str = LIST, name: str = "list.csv", **says: str) -> httpx.Response:
    """Bring a list and look at it."""
    says = {"by": "quay.yaml", "dated": "2026-11-02", **says}
    return who.send("/bring", files={"file": (name, text.encode())}, **says)


def seen(answer: httpx.Response) -> str:
    return answer.text.split('name="seen" value="')[1].split('"')[0]


def test_it_is_only_looked_at_first(keeper: Visitor, tiny: Tiny) -> None:
    before = files_of(tiny.folder)
    answer = brought(keeper)
    assert answer.status_code == 200
    assert "3 new, 0 changed, 0 no longer listed, 0 as they are, 0 not read." in answer.text
    assert "--write" not in answer.text
    assert files_of(tiny.folder) == before


def test_taken_in_it_is_there_at_once(keeper: Visitor, tiny: Tiny) -> None:
    look = brought(keeper)
    answer = keeper.send("/bring/take", seen=seen(look))
    assert "Written: catalog/shop.yaml, catalog/parts/quay_pistons.yaml" in answer.text
    assert "quayside-p-1" in tiny.text("catalog/parts/quay_pistons.yaml")
    assert "1,140.50" in keeper.get("/part/quayside-p-3").text
    assert keeper.get("/bring/look").status_code == 404


def test_what_changed_is_told_from_and_to(keeper: Visitor) -> None:
    keeper.send("/bring/take", seen=seen(brought(keeper)))
    answer = brought(keeper, LIST.replace("130,00", "135,00").replace(ROWS[0] + "\n", ""), dated="2026-11-09")
    assert "0 new, 1 changed, 1 no longer listed" in answer.text
    for cell in ("<td>130.00 GBP</td>", "<td>135.00 GBP</td>"):
        assert cell.replace("<td>", '<td class="text">') in answer.text or cell in answer.text


def test_what_cannot_be_read_is_told_by_row_and_column(keeper: Visitor, tiny: Tiny) -> None:
    before = files_of(tiny.folder)
    answer = brought(keeper, LIST.replace("74,500", "74,5OO"))
    assert "list.csv:2:3" in answer.text
    assert "Skirt" in answer.text
    assert "/compat-" not in answer.text  # where it lies for the time being is nobody's matter
    refused = keeper.send("/bring/take", seen=seen(answer))
    assert refused.status_code == 400
    assert files_of(tiny.folder) == before
    taken = keeper.send("/bring/take", seen=seen(keeper.get("/bring/look")), despite_unread="1")
    assert "Written" in taken.text
    assert "quayside-p-1" not in tiny.text("catalog/parts/quay_pistons.yaml")


def test_what_was_looked_at_is_what_is_written(keeper: Visitor, tiny: Tiny) -> None:
    """A shop that somebody edits between the look and the taking is looked at again."""
    look = brought(keeper)
    tiny.write("catalog/parts/other.yaml", (
        "- part: my-own\n  name: Own\n  fills: piston\n"
        "  sold_by: [{supplier: quayside, code: P-2, price: 1 GBP}]\n"
    ))  # fmt: skip
    keeper.app.state.desk.look_again()
    answer = keeper.send("/bring/take", seen=seen(look))
    assert answer.status_code == 400
    assert "look again" in answer.text
    assert not (tiny.folder / "catalog/parts/quay_pistons.yaml").exists()


def test_a_guess_is_looked_over_and_kept(keeper: Visitor, tiny: Tiny) -> None:
    answer = brought(keeper, by="guess", supplier="quayside")
    assert "A first guess: every line wants a look" in answer.text
    wrong = MAP.replace("quayside", "nobody")
    broken = keeper.send("/bring/look", mapping=wrong, dated="2026-11-02")
    assert "mapping:2:1" in broken.text
    assert "supplier &#39;nobody&#39; is not known" in broken.text
    mended = keeper.send("/bring/look", mapping=MAP.replace("quay-pistons", "by-hand"), dated="2026-11-02")
    taken = keeper.send("/bring/take", seen=seen(mended), keep="1")
    assert "lists/by-hand.yaml" in taken.text
    assert "list: by-hand" in tiny.text("lists/by-hand.yaml")


def test_the_demo_stays_as_it_is(client: Visitor, tmp_path: Path) -> None:
    folder = client.app.state.desk.folder
    before = files_of(folder)
    answer = brought(client, by="guess", supplier="northgate")
    assert answer.status_code == 200
    mapped = MAP.replace("quayside", "northgate").replace("hob", "tarn")
    answer = client.send("/bring/look", mapping=mapped, dated="2026-11-02")
    assert "disabled>Take it in" in answer.text
    assert client.post("/bring/take", seen=seen(answer)).status_code == 403
    assert files_of(folder) == before


@pytest.mark.parametrize(
    "by", ["../secret.yaml", "/etc/passwd", "nothing.yaml", "", "lists/quay.yaml", "quay.yaml\0"]
)
def test_only_mappings_of_the_shop_are_read(keeper: Visitor, by: str) -> None:
    answer = brought(keeper, by=by)
    assert answer.status_code in (400, 422)
    assert keeper.get("/bring/look").status_code == 404


@pytest.mark.parametrize(
    "name",
    ["../../catalog/shop.yaml.csv", "/etc/list.csv", "..\\..\\list.csv", "mapping.yaml", ".csv", "a\0b.csv"],
)
def test_a_name_leads_nowhere(keeper: Visitor, tiny: Tiny, name: str) -> None:
    before = files_of(tiny.folder.parent)
    answer = brought(keeper, name=name)
    assert answer.status_code in (200, 400, 422)
    assert files_of(tiny.folder.parent) == before


@pytest.mark.parametrize(
    "raw", [b"", b"\0" * 5000, b"PK\x03\x04broken", b"\xff\xfe\xfa", b"=cmd|' /C calc'!A0;x\n1;2\n"]
)
@pytest.mark.parametrize("name", ["list.csv", "list.xlsx", "list.exe"])
def test_what_is_no_list_is_refused_in_words(keeper: Visitor, raw: bytes, name: str) -> None:
    answer = keeper.send("/bring", files={"file": (name, raw)}, by="quay.yaml", dated="2026-11-02")
    assert answer.status_code in (200, 400, 422)
    assert "Take it in" not in answer.text or "0 new" in answer.text
    assert "Traceback" not in answer.text


def test_a_list_of_one_is_not_seen_by_another(tiny: Tiny, visit: Callable[..., Visitor]) -> None:
    tiny.write("lists/quay.yaml", MAP)
    app = make_page(tiny.folder)
    one, other = visit(app), visit(app)
    brought(one)
    assert one.get("/bring/look").status_code == 200
    assert other.get("/bring/look").status_code == 404


def test_lists_that_wait_have_a_bound(keeper: Visitor) -> None:
    uploads = keeper.app.state.uploads
    for number in range(30):
        uploads.put(str(number), "list.csv", b"a")
    kept = [number for number in range(30) if uploads.of(str(number)) is not None]
    assert kept == list(range(10, 30))
    assert len(list(uploads.of("29").file.parent.parent.iterdir())) == 20
