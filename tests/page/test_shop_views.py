"""Find, parts, stock, one part, lint: what the counter is told of the shop."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from time import monotonic, sleep
from urllib.parse import quote

import httpx
import pytest

from compat.units import printed
from tests.page.visiting import Visitor


def rows(answer: httpx.Response) -> list[str]:
    """Parts of the table of a view, in order."""
    return re.findall(r'<th scope="row" class="ware"><a href="/part/([^"]+)"', answer.text)


def patiently(client: Visitor, path: str, waiting: str, **asked: str) -> httpx.Response:
    """A view whose work is done elsewhere, when it is there."""
    end = monotonic() + 120
    while waiting in (answer := client.get(path, **asked)).text:
        assert monotonic() < end
        sleep(0.2)
    return answer


def test_a_slip_of_the_finger_is_forgiven_and_told(client: Visitor) -> None:
    answer = client.get("/find", words="pistn bore 86..86.5 mm")
    assert "‘pistn’ is read as ‘piston’" in answer.text
    assert "ox-piston-865-308" in rows(answer)
    assert "102.50 GBP" in answer.text


def test_prices_and_days_order_what_is_found(client: Visitor) -> None:
    cheapest = rows(client.get("/find", words="piston"))
    soonest = rows(client.get("/find", words="piston", order="lead"))
    assert cheapest != soonest
    assert sorted(cheapest) == sorted(soonest)


def test_nothing_found_is_said(client: Visitor) -> None:
    answer = client.get("/find", words="xylophone")
    assert answer.status_code == 200
    assert "No part of this shop is that" in answer.text


def test_a_size_that_is_none_is_told_with_what_it_wants(client: Visitor) -> None:
    answer = client.get("/find", words="piston bore 86 kg")
    assert answer.status_code == 400
    assert "Not done" in answer.text


def test_what_goes_into_a_build_is_tried_in_it(client: Visitor) -> None:
    answer = patiently(client, "/find", "Look again", words="injector", **{"for": "fell-30-top-end"})
    assert "fell-30-injector" in rows(answer)
    assert "tarn-20-base-injector" not in rows(answer)
    assert "with 12 x fell-30-injector-seal" in answer.text


def test_headroom_wants_a_build(client: Visitor) -> None:
    answer = client.get("/find", words="rod", order="headroom")
    assert answer.status_code == 400
    assert "headroom is that of a build" in answer.text


def test_parts_of_a_position_are_listed_the_cheapest_first(client: Visitor) -> None:
    answer = client.get("/parts/rod")
    prices = [float(one.replace(",", "")) for one in re.findall(r">([\d,.]+) GBP", answer.text)]
    assert len(prices) > 3
    assert prices == sorted(prices)


def test_every_position_has_its_list(client: Visitor) -> None:
    links = re.findall(r'href="(/parts/[^"]+)"', client.get("/parts").text)
    assert len(links) == len(client.app.state.desk.library.shop.positions)


def test_the_shelf_has_every_piece_with_its_place(client: Visitor) -> None:
    shop = client.app.state.desk.library.shop
    answer = client.get("/stock")
    assert len(rows(answer)) == sum(len(one.shelf) for one in shop.stock.values())


def test_a_part_says_what_it_states_and_who_says_so(client: Visitor) -> None:
    answer = client.get("/part/hg-piston-860-308-d120")
    assert "85.948 mm ±0.004" in answer.text
    assert "maker" in answer.text
    assert "Not stated: dome diameter" in answer.text
    assert "HG860-308-120" in answer.text
    assert 'href="/build/street-turbo"' in answer.text


def test_every_part_has_its_view(client: Visitor) -> None:
    shop = client.app.state.desk.library.shop
    for part in list(shop.parts)[::7]:
        assert client.get(f"/part/{part}").status_code == 200, part


def test_units_are_those_of_the_sitting(client: Visitor) -> None:
    client.post("/own", units="imperial")
    assert "3.3858 in" in client.get("/part/hg-piston-860-308-d120").text


@pytest.mark.parametrize("path", ["/part/nothing", "/parts/nothing"])
def test_what_is_not_there_is_said(client: Visitor, path: str) -> None:
    assert client.get(path).status_code == 404


def test_lint_tells_oversights_with_a_link_to_their_line(writer: Visitor, shop_folder: Path) -> None:
    part = "- part: lonely-rod\n  name: Lonely rod\n  fills: rod\n  families: [tarn]\n"
    (shop_folder / "catalog/parts/lonely.yaml").write_text(part)
    writer.app.state.desk.look_again()
    answer = patiently(writer, "/lint", "Look again")
    place = quote("catalog/parts/lonely.yaml")
    assert f'/lint/file?name={place}&amp;line=1"' in answer.text
    shown = writer.get("/lint/file", name="catalog/parts/lonely.yaml", line="2")
    assert (
        '<tr class="strong" aria-current="true"><th scope="row" class="number" id="line-2">2</th>' in shown.text
    )
    assert "Lonely rod" in shown.text


def test_lint_tells_faults_while_the_page_goes_on(writer: Visitor, shop_folder: Path) -> None:
    assert writer.get("/find", words="rod").status_code == 200
    path = shop_folder / "catalog/stock.yaml"
    path.write_text(path.read_text() + "- stock: no-such-part\n  shelf: [{count: 1}]\n")
    writer.app.state.desk.look_again()
    answer = writer.get("/lint")
    assert "no-such-part" in answer.text
    assert "catalog/stock.yaml" in answer.text
    assert writer.get("/find", words="rod").status_code == 200


@pytest.mark.parametrize(
    "name",
    [
        "../../../../etc/passwd",
        "/etc/passwd",
        "catalog/../../secret.yaml",
        "catalog",
        "catalog/",
        "",
        "lists/own.yaml",
        "quotes/1.json",
        "catalog/parts/../shop.yaml",
        "catalog\\shop.yaml",
        "catalog/shop.yaml\x00",
        "~/.ssh/id_rsa",
        ".git/config",
    ],
)
def test_no_other_file_is_ever_shown(writer: Visitor, shop_folder: Path, name: str) -> None:
    (shop_folder.parent / "secret.yaml").write_text("secret")
    answer = writer.get("/lint/file", name=name)
    assert answer.status_code in (400, 404)
    assert "secret" not in answer.text.replace(name, "")


def test_a_link_out_of_the_shop_is_not_followed(writer: Visitor, shop_folder: Path) -> None:
    secret = shop_folder.parent / "secret.txt"
    secret.write_text("a secret")
    (shop_folder / "catalog/parts/linked.txt").symlink_to(secret)
    assert writer.get("/lint/file", name="catalog/parts/linked.txt").status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/build/first-draft",
        "/build/street-turbo",
        "/build/street-turbo/goal",
        "/build/street-turbo/at/piston",
        "/build/first-draft/why/deck-clearance?depth=all",
        "/bench/street-turbo",
        "/compare?a=street-turbo&b=first-draft",
    ],
)
def test_units_are_printed_as_on_paper(client: Visitor, path: str) -> None:
    """What is typed, and the file, have units as files write them; all that is read, as people print them."""
    shown = re.sub(r"(?s)<(pre|textarea|script|title)\b.*?</\1>|<[^>]*>", "\n", client.get(path).text)
    read = unescape(shown)
    assert [line for line in read.splitlines() if printed(line) != line] == []


def test_of_many_parts_the_cheapest_are_listed_and_more_are_asked_for(client: Visitor) -> None:
    whole = client.get("/parts/piston").text
    few = client.get("/parts/piston", most=3)
    count = len(client.app.state.desk.library.shop.fillers["piston"])
    assert f"({count})" in few.text
    assert f"These are the 3 cheapest of {count}." in few.text
    assert "These are the" not in whole
    names = re.findall(r'href="/part/([^"]+)"', whole)
    assert re.findall(r'href="/part/([^"]+)"', few.text) == names[:3]
    assert len(names) == count
