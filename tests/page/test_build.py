"""The view of a build and every step of changing it, without JavaScript."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi import FastAPI

from compat.paper.terminal import answer
from compat.units import printed
from compat.words.reporting import report
from tests.look import check, demo_shop
from tests.page.visiting import Visitor

STREET = "/build/street-turbo"
DRAFT = "/build/first-draft"


def wrong(text: str) -> str:
    """What a view says was wrong."""
    found = re.search(r'<section class="against" role="alert" id="the-faults">(.*?)</section>', text, re.DOTALL)
    return html.unescape(found[1]) if found else ""


def row(text: str, position: str) -> str:
    found = re.search(rf'<tr id="{position}"[^>]*>(.*?)</tr>', text)
    assert found is not None, position
    return html.unescape(found[1])


def field(text: str, name: str) -> str:
    """What stands in a field."""
    typed = re.search(rf'<input name="{name}" value="([^"]*)"', text)
    if typed:
        return html.unescape(typed[1])
    chosen = re.search(rf'<select name="{name}">.*?<option value="([^"]*)" selected>', text)
    assert chosen is not None, name
    return html.unescape(chosen[1])


def test_the_head_says_what_check_says(client: Visitor) -> None:
    for name in ("street-turbo", "first-draft", "tarn-20-base"):
        text = html.unescape(client.get(f"/build/{name}").text)
        shop = demo_shop()
        assert answer(check(shop.shop, shop.book, name).report) in text


def test_every_position_stands_in_its_system_once(client: Visitor) -> None:
    text = client.get(STREET).text
    positions = demo_shop().shop.positions
    for position in positions:
        count = len(re.findall(rf'id="{position}"', text))
        assert count == (position != "setup"), position
    order = [
        text.index(f">{name} <span") for name in ("Short block", "Valve train", "Lubrication", "Driveline")
    ]
    assert order == sorted(order)


def test_what_stands_where_and_from_where(client: Visitor) -> None:
    text = client.get(STREET).text
    assert "chosen" in row(text, "piston")
    assert 'class="own"' in text.split('id="piston"')[1][:40]
    assert "factory" in row(text, "block")
    assert "by the goal" in row(text, "fuel")
    assert "870.40" not in row(text, "block")


def test_the_view_is_small(client: Visitor) -> None:
    assert len(client.get(STREET).content) < 100_000


def test_each_finding_stands_there_with_its_sentence(client: Visitor) -> None:
    text = html.unescape(client.get(DRAFT).text)
    shop = demo_shop()
    for finding in check(shop.shop, shop.book, "first-draft").report.findings:
        if finding.verdict != "ok":
            assert f'id="f-{finding.rule}"' in text, finding.rule
            assert printed(finding.because)[1:] in text, finding.rule


def test_a_part_is_put_in_and_taken_back_and_put_in_again(client: Visitor) -> None:
    before = client.get(STREET).text
    after = client.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3").text
    name = demo_shop().shop.parts["spn-plug-short-3"].name
    assert name in row(after, "spark_plug")
    assert f"Spark plug: {name}" in html.unescape(after)
    assert "Not saved" in after
    back = client.send(f"{STREET}/undo").text
    assert row(back, "spark_plug") == row(before, "spark_plug")
    assert "Taken back: Spark plug" in html.unescape(back)
    again = client.send(f"{STREET}/redo").text
    assert name in row(again, "spark_plug")
    assert "There is nothing to do again." in client.send(f"{STREET}/redo").text


def test_all_of_a_sitting_can_be_taken_back(client: Visitor) -> None:
    plugs = [part for part in demo_shop().shop.fillers["spark_plug"] if part != "spn-plug-short-2"][:4]
    for part in plugs:
        client.post(f"{STREET}/fit", position="spark_plug", part=part)
    client.post(f"{STREET}/aim", **{"goal-power": "170 kW", "goal-at": "5800 rpm"})
    for _ in range(5):
        text = client.send(f"{STREET}/undo").text
    assert "As its file has it" in text
    assert "There is nothing to take back." in client.send(f"{STREET}/undo").text


def test_what_got_better_and_worse_is_told(client: Visitor) -> None:
    shop = demo_shop()
    factory = shop.shop.variants["tarn-20-base"].parts["injector"]
    text = html.unescape(client.send(f"{STREET}/fit", position="injector", part=factory).text)
    step = text.split('id="the-step"')[1].split("</section>")[0]
    before = check(shop.shop, shop.book, "street-turbo").checked
    after = check(shop.shop, shop.book, before.world.settled.ready.fitting(injector=factory)).checked
    was = {one.rule for one in before.outcomes if one.verdict in ("conflict", "shortfall", "missing")}
    new = [
        one
        for one in report(after, fine=False).findings
        if one.verdict in ("conflict", "shortfall", "missing") and one.rule not in was
    ]
    assert new
    for finding in new[:6]:
        assert finding.title in step
    assert "Worse" in step
    back = html.unescape(client.send(f"{STREET}/fit", position="injector", part="ash-injector-440").text)
    step = back.split('id="the-step"')[1].split("</section>")[0]
    assert "Better" in step
    assert "no longer speaks" in step


def test_the_goal_is_aimed_at(client: Visitor) -> None:
    said = {"goal-power": "150 kW", "goal-at": "5500 rpm", "goal-duty": "track", "goal-fuel": "pump-98"}
    text = client.send(f"{STREET}/aim", **said).text
    assert field(text, "goal-power") == "150 kW"
    assert field(text, "goal-torque") == ""
    assert field(text, "goal-duty") == "track"
    assert "150 kW at 5500 rpm" in text


@pytest.mark.parametrize(
    ("entry", "value", "told"),
    [
        ("power", "a lot", "power"),
        ("power", "1e9 kW", "out of all bounds"),
        ("power", "-5 kW", "power"),
        ("at", "5800 mm", "wanted is a quantity in rpm"),
        ("duty", "holiday", "is not one of street, track, sprint, endurance"),
        ("fuel", "sf-rod-1480-h-22", "fills rod, not 'fuel'"),
        ("fuel", "water", "is not known"),
        ("boost", "nan kPa", "boost"),
    ],
)
def test_a_goal_that_is_none_is_refused_and_stays_typed(
    client: Visitor, entry: str, value: str, told: str
) -> None:
    said = {"goal-power": "150 kW", "goal-at": "5500 rpm", f"goal-{entry}": value}
    answer = client.send(f"{STREET}/aim", **said)
    assert answer.status_code == 400
    assert told in wrong(answer.text)
    if entry in ("power", "at", "boost"):
        assert field(answer.text, f"goal-{entry}") == value
    assert re.search(rf'name="goal-{entry}"[^>]* aria-invalid="true"', answer.text)
    assert field(client.get(STREET).text, "goal-power") == "180 kW"


def test_every_fault_of_a_form_is_told_at_once(client: Visitor) -> None:
    said = {"goal-power": "much", "goal-at": "fast", "goal-duty": "holiday"}
    told = wrong(client.send(f"{STREET}/aim", **said).text)
    assert told.count("<li>") == 3


def test_the_setup_is_said(client: Visitor) -> None:
    text = client.send(
        f"{STREET}/setup", **{"setup-ignition": "wasted_spark", "setup-chassis_messages": "dash, steering"}
    ).text
    assert field(text, "setup-ignition") == "wasted_spark"
    assert field(text, "setup-chassis_messages") == "dash, steering"
    answer = client.send(f"{STREET}/setup", **{"setup-ignition": "by_hand", "setup-chassis_can_speed": "fast"})
    assert answer.status_code == 400
    assert wrong(answer.text).count("<li>") == 2
    assert field(answer.text, "setup-chassis_can_speed") == "fast"


def test_the_head_of_the_paper_is_written(client: Visitor) -> None:
    text = client.send(
        f"{STREET}/head", name="Street <b>one</b>", customer="B. Holme", note="", scope="engine"
    ).text
    assert "<h1>Street &lt;b&gt;one&lt;/b&gt; " in text
    assert "For B. Holme." in text
    assert client.send(f"{STREET}/head", name=" ", scope="engine").status_code == 400
    assert client.send(f"{STREET}/head", name="x", scope="boat").status_code == 400


def test_work_is_done_with_its_values_and_struck(client: Visitor) -> None:
    one = client.get(f"{STREET}/work", work="hone-torque-plate")
    assert one.status_code == 200
    shop = demo_shop().shop
    number = 4
    assert shop.builds["street-turbo"].work[number].work == "hone-torque-plate"
    text = client.send(f"{STREET}/works", **{f"work-{number}-bore": "86.010 mm"}).text
    assert field(text, f"work-{number}-bore") == "86.010 mm"
    text = client.send(f"{STREET}/works", out="1").text
    assert "Crack test" not in text.split('id="the-work"')[1].split("<select")[0]
    text = client.send(f"{STREET}/do", work="crack-test").text
    assert "Crack test" in text.split('id="the-work"')[1].split("<select")[0]


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"work-4-bore": "86 kg"}, "bore"),
        ({"work-4-bore": ""}, "needs 'bore'"),
        ({"out": "99"}, "no such piece"),
    ],
)
def test_work_that_does_not_suit_is_refused(client: Visitor, values: dict[str, str], told: str) -> None:
    answer = client.send(f"{STREET}/works", **values)
    assert answer.status_code == 400
    assert told in wrong(answer.text)


def test_work_that_wants_a_value_asks_for_it(client: Visitor) -> None:
    text = client.get(f"{DRAFT}/work", work="bore-block").text
    name = re.search(r'<input name="(work-\w+)"', text)
    answer = client.send(f"{DRAFT}/do", work="hone-torque-plate")
    assert answer.status_code == 400
    assert "needs 'bore'" in wrong(answer.text)
    assert name is None or name[1].startswith("work-")
    assert client.send(f"{DRAFT}/do", work="polish-the-badge").status_code == 400


def test_everything_that_must_be_there_is_put_in_at_once(client: Visitor) -> None:
    before = client.get(DRAFT).text
    count = re.search(r"(\d+) things missing", before)
    assert count is not None
    text = client.send(f"{DRAFT}/complete").text
    after = re.search(r"(\d+) things? missing", text)
    assert after is not None
    assert int(after[1]) < int(count[1]) - 20
    more = re.search(r"holds back \((\d+)\)", text)
    assert more is None or int(more[1]) < 12
    assert before.split("answer")[1][:120] == client.send(f"{DRAFT}/undo").text.split("answer")[1][:120]


@pytest.mark.parametrize(
    ("path", "form", "told"),
    [
        ("fit", {"position": "rod", "part": "no-such-rod"}, "part 'no-such-rod' is not known"),
        ("fit", {"position": "rod", "part": "spn-plug-short-2"}, "fills spark_plug, not 'rod'"),
        ("fit", {"position": "rods", "part": "sf-rod-1480-h-22"}, "did you mean 'rod'?"),
        ("fit", {"position": "setup", "part": ""}, "is not known"),
        ("fit", {"position": "fuel", "part": ""}, "no part that could be left out"),
        ("take-from", {"position": "rod", "variant": "tarn-99"}, "is not known"),
        ("take-from", {"position": "rod", "variant": "tarn-20-turbo"}, "starts from 'tarn-20-turbo' itself"),
        ("factory", {"position": "nowhere"}, "is not known"),
        ("say", {"entry": "goal", "word": "power", "value": "1 kW"}, "is not said here"),
        ("say", {"entry": "measured", "word": "piston.no_such", "value": "1 mm"}, "no_such"),
        ("say", {"entry": "measured", "word": "piston.mass", "value": "heavy"}, "mass"),
        ("say", {"entry": "counts", "word": "piston", "value": "many"}, "whole number"),
        ("act", {"act": "[]"}, "says no change"),
        ("act", {"act": "{"}, "says no change"),
        ("act", {"act": "[[[["}, "says no change"),
        ("act", {"act": '[{"position": "rod"}]'}, "says no change"),
        ("act", {"act": '[{"position": "rod", "part": "no-such"}]'}, "is not known"),
        ("act", {"act": '[{"work": "no-such"}]'}, "is not known"),
        ("act", {"act": '[{"work": "bore-block", "colour": "red"}]'}, "takes no 'colour'"),
        ("act", {"act": '[{"goal": "colour", "value": "red"}]'}, "colour"),
        ("act", {"act": '[{"setup": "ignition", "value": "magic"}]'}, "ignition"),
        ("act", {"act": '[{"renew": "nowhere"}]'}, "nowhere"),
        ("act", {"act": '[{"strike": "leave_out", "word": "rod"}]'}, "says nothing of 'rod'"),
        ("act", {"act": '[{"strike": "build", "word": "street-turbo"}]'}, "says nothing"),
        ("act", {"act": '[{"move": "no-such"}]'}, "does no 'no-such'"),
    ],
)
def test_what_does_not_suit_is_told_and_changes_nothing(
    client: Visitor, path: str, form: dict[str, str], told: str
) -> None:
    answer = client.send(f"{STREET}/{path}", **form)
    assert answer.status_code == 400
    assert told in wrong(answer.text)
    assert "As its file has it" in client.get(STREET).text


@pytest.mark.parametrize(
    "path", ["fit", "act", "say", "aim", "setup", "works", "do", "head", "complete", "undo"]
)
def test_a_form_of_nobody_is_refused(client: Visitor, path: str) -> None:
    form = {"token": "0" * 128, "position": "rod", "part": "", "act": "[]", "entry": "counts", "word": "rod"}
    answer = client.ask("POST", f"{STREET}/{path}", data={**form, "work": "bore-block"})
    assert answer.status_code == 403
    assert "As its file has it" in client.get(STREET).text


@pytest.mark.parametrize(
    ("path", "form"),
    [
        ("fit", {"position": "rod", "part": "x" * 101}),
        ("say", {"entry": "counts", "word": "rod", "value": "9" * 301}),
        ("act", {"act": "[" * 8001}),
        ("do", {"work": "x" * 101}),
    ],
)
def test_text_beyond_all_measure_is_refused(client: Visitor, path: str, form: dict[str, str]) -> None:
    assert client.send(f"{STREET}/{path}", **form).status_code == 422


def test_a_long_word_in_a_form_of_many_fields_is_refused(client: Visitor) -> None:
    answer = client.send(f"{STREET}/aim", **{"goal-power": "1" * 501})
    assert answer.status_code == 400
    many = {f"setup-{number}": "x" for number in range(700)}
    assert client.send(f"{STREET}/setup", **many).status_code == 400


def test_a_build_that_is_none_is_told(client: Visitor) -> None:
    answer = client.get("/build/street-turbi")
    assert answer.status_code == 400
    assert "did you mean" in html.unescape(answer.text)


def test_the_table_of_one_is_not_that_of_another(demo_page: FastAPI, visit: Callable[..., Visitor]) -> None:
    one, other = visit(demo_page), visit(demo_page)
    one.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    assert "Not saved" in one.get(STREET).text
    assert "As its file has it" in other.get(STREET).text


def test_reasons_pieces_and_what_is_brought_are_said(client: Visitor) -> None:
    text = client.send(f"{STREET}/fit", position="oil_cooler", part="", why="a short sprint car").text
    assert 'href="/build/street-turbo/at/oil_cooler">Oil cooler</a>' in text
    assert 'id="f-no-effect-leave-out-oil-cooler"' not in text
    text = client.send(f"{STREET}/fit", position="blow_off_valve", part="", why="a bell mouth instead").text
    assert "left out: a bell mouth instead" in row(text, "blow_off_valve")
    text = client.send(f"{STREET}/factory", position="rod").text
    assert "factory" in row(text, "rod")
    text = client.send(f"{STREET}/at/rod", entry="brought", value="cracked once").text
    assert "the customer's" in row(text, "rod")
    text = client.send(f"{STREET}/at/hose_clamp", entry="counts", value="9").text
    assert "× 9" in row(text, "hose_clamp")
    text = client.send(f"{STREET}/at/hose_clamp", entry="counts", value="").text
    assert "× 9" not in row(text, "hose_clamp")


def test_a_sisters_part_is_taken(client: Visitor) -> None:
    text = client.send(f"{STREET}/take-from", position="rod", variant="tarn-20-base").text
    assert "from tarn-20-base" in row(text, "rod")
    again = client.send(f"{STREET}/take-from", position="rod", variant="tarn-20-phase").text
    assert "from tarn-20-phase" in row(again, "rod")


def test_what_was_measured_is_said_and_refused_where_it_stands(client: Visitor) -> None:
    said: dict[str, Any] = {"entry": "measured", "word": "piston.mass", "value": "302 g"}
    assert "measured 302 g" in html.unescape(client.send(f"{STREET}/at/piston", **said).text)
    answer = client.send(f"{STREET}/at/piston", **{**said, "value": "302 mm"})
    assert answer.status_code == 400
    assert "302 mm" in answer.text
    assert "Pistons" in answer.text or "Piston" in answer.text
