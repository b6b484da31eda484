"""Choosing a part: what goes in first, what it brings, what does not and why."""

from __future__ import annotations

import html
import re

import pytest

from compat.page.views import positions
from compat.planning.fitting import fits
from tests.look import demo_shop
from tests.page.visiting import Visitor

STREET = "/build/street-turbo"
NAMES = {
    "Goes in ": "directly",
    "Goes in with more beside it ": "with more",
    "Not known: what decides is not stated ": "not known",
    "Does not go in ": "not",
    "Not looked at yet ": "open",
}


def groups(text: str) -> dict[str, list[str]]:
    """Parts by the heading that they stand under."""
    choice = html.unescape(text).split('id="the-choice"')[1].split("</section>")[0]
    pieces = re.split(r"<h2>(.*?)<span", choice)[1:]
    return {
        NAMES[name]: re.findall(r'<span class="code quiet">([\w-]+)</span>', inside)
        for name, inside in zip(pieces[::2], pieces[1::2], strict=True)
    }


def whole(client: Visitor, path: str) -> str:
    """The view once every part was looked at, asked for as often as it takes."""
    for _ in range(60):
        text = client.get(path).text
        if "open" not in groups(text):
            return text
    raise AssertionError("never looked at all of them")


@pytest.mark.parametrize("position", ["spark_plug", "turbocharger", "head_gasket"])
def test_parts_stand_where_fits_has_them(client: Visitor, position: str) -> None:
    from compat.checking.session import Session

    demo = demo_shop()
    found = groups(whole(client, f"{STREET}/at/{position}"))
    session = Session(demo.shop, demo.book)
    from compat.library.library import build_of_id

    candidates = fits(session, build_of_id(demo.shop, "street-turbo"), position).candidates
    asked: dict[str, list[str]] = {}
    for one in candidates:
        asked.setdefault(one.way, []).append(one.part)
    assert found == asked


def test_nothing_is_said_to_go_in_before_it_was_looked_at(
    client: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(positions, "AT_ONCE", 0.0)
    text = client.get(f"{STREET}/at/valve_spring").text
    found = groups(text)
    looked = sum(len(parts) for way, parts in found.items() if way != "open")
    assert looked <= 1
    assert len(found["open"]) == len(demo_shop().shop.fillers["valve_spring"]) - looked
    assert 'hx-trigger="load"' in text
    monkeypatch.undo()
    assert "open" not in groups(whole(client, f"{STREET}/at/valve_spring"))


def test_a_few_letters_are_enough(client: Visitor) -> None:
    shop = demo_shop().shop
    found = groups(whole(client, f"{STREET}/at/piston?q=865"))
    listed = {part for parts in found.values() for part in parts}
    assert listed
    assert listed < set(shop.fillers["piston"])
    assert all("86.5" in shop.parts[part].name or "865" in part for part in listed)
    beginning = groups(whole(client, f"{STREET}/at/turbocharger?q=sk"))
    assert {part for parts in beginning.values() for part in parts} <= {
        part for part in shop.fillers["turbocharger"] if part.startswith("sk-")
    }


@pytest.mark.parametrize("letters", ["s", "sk", "skerrow 5", "ball b"])
def test_the_last_word_may_be_only_begun(client: Visitor, letters: str) -> None:
    """Also where its letters are a word of some other part by themselves."""
    shop = demo_shop().shop
    found = groups(whole(client, f"{STREET}/at/turbocharger?q={letters.replace(' ', '+')}"))
    listed = {part for parts in found.values() for part in parts}
    begun = {
        part
        for part in shop.fillers["turbocharger"]
        for said in [re.findall(r"\w+", f"{shop.parts[part].name} {part}".casefold())]
        if all(any(one.startswith(word) for one in said) for word in letters.split())
    }
    assert begun
    assert listed >= begun  # others have such a word in what else is known of them


def test_letters_that_stand_nowhere_and_a_size_that_is_none_are_told(client: Visitor) -> None:
    text = html.unescape(client.get(f"{STREET}/at/piston?q=zzyzx").text)
    assert "‘zzyzx’ stands nowhere in this shop" in text
    assert client.get(f"{STREET}/at/piston?q={'x' * 201}").status_code == 422
    assert client.get(f"{STREET}/at/piston?most=100000").status_code == 422
    odd = client.get(f"{STREET}/at/piston", q='" OR fills : rod * ( NEAR')
    assert odd.status_code == 200
    assert client.get(f"{STREET}/at/setup").status_code == 400
    assert "did you mean" in html.unescape(client.get(f"{STREET}/at/pistn").text)


def test_a_part_goes_in_with_what_it_brings(client: Visitor) -> None:
    from compat.checking.session import Session
    from compat.library.library import build_of_id

    demo = demo_shop()
    ready = build_of_id(demo.shop, "street-turbo")
    session = Session(demo.shop, demo.book)
    for position in ("turbocharger", "downpipe", "clutch_cover", "injector", "oil_filter", "gearbox"):
        found = [one for one in fits(session, ready, position).candidates if one.way == "with more"]
        if found:
            break
    candidate = found[0]
    text = html.unescape(whole(client, f"{STREET}/at/{position}"))
    for one in candidate.beside:
        assert one.name in text
    after = client.send(f"{STREET}/fit", position=position, part=candidate.part, extras="yes")
    assert after.status_code == 200
    text = html.unescape(after.text)
    assert "goes together: nothing conflicts" in text
    for one in candidate.beside:
        assert one.name in text


def test_what_stands_there_can_be_looked_at_and_put_back(client: Visitor) -> None:
    text = html.unescape(client.get(f"{STREET}/at/rod").text)
    assert demo_shop().shop.parts["sf-rod-1480-h-22"].name in text
    assert "Put back the factory's" in text
    assert "Put back the factory's" not in html.unescape(client.get(f"{STREET}/at/block").text)
