"""Why a finding is found, and remedies as buttons that do what they say."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from compat.units import printed
from compat.words.remedying import Remedier
from compat.words.reporting import report
from tests.look import check, demo_shop
from tests.page.visiting import Visitor

DRAFT = "/build/first-draft"
STREET = "/build/street-turbo"


def presses(text: str) -> list[tuple[str, str]]:
    """What each button says and does."""
    found = re.findall(r'name="act" value="([^"]*)"><button>(.*?)</button>', text)
    return [(html.unescape(says), html.unescape(act)) for act, says in found]


def rules_of(text: str) -> dict[str, str]:
    """Verdict of each finding of a view."""
    return dict(re.findall(r'<details id="f-([\w-]+)">\s*<summary><span class="verdict (\w+)">', text))


@pytest.mark.parametrize(
    "rule",
    ["rod-fatigue", "head-fastener-thread", "fuel-pump-flow", "boost-wants-intercooler", "loom-cam-plugs"],
)
def test_a_remedy_does_what_it_says_and_can_be_taken_back(client: Visitor, rule: str) -> None:
    before = client.get(DRAFT).text
    assert rule in rules_of(before)
    offered = presses(client.get(f"{DRAFT}/remedies/{rule}").text)
    assert offered
    says, act = offered[0]
    after = client.send(f"{DRAFT}/act", act=act).text
    assert rules_of(after).get(rule) not in ("conflict", "shortfall", "missing")
    back = client.send(f"{DRAFT}/undo").text
    assert rules_of(back) == rules_of(before)
    told = html.unescape(back.split('class="told"')[1][:300])
    assert says.split(",")[0].split(":")[0].split("(")[0].rstrip(". ")[:12] in told


def test_remedies_are_those_that_were_tried(client: Visitor) -> None:
    demo = demo_shop()
    checked = check(demo.shop, demo.book, "first-draft").checked
    trying = Remedier(checked)
    finding = next(one for one in report(checked).findings if one.rule == "rod-fatigue")
    text = client.get(f"{DRAFT}/remedies/rod-fatigue").text
    ways = trying.finding(finding).ways_out
    assert ways
    for way in ways:
        assert printed(way.says) in [says for says, _ in presses(text)]


def needless(visitor: Visitor) -> None:
    """Put a washer on a nose with a key, and tap a boss that is there already."""
    visitor.send(f"{STREET}/fit", position="friction_washer", part="bm-friction-washer-34")
    visitor.send(f"{STREET}/do", work="tap-knock-boss")


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("friction-washer-bore", "Leave out the friction washer of the damper (friction_washer)"),
        (
            "need-knock-boss-blind",
            "Leave out the work tap-knock-boss (face and tap the cast knock boss between cylinders 2 and 3)",
        ),
    ],
)
def test_what_nobody_needs_is_left_out_by_a_press(client: Visitor, rule: str, says: str) -> None:
    needless(client)
    before = rules_of(client.get(STREET).text)
    (told, act), *_ = presses(client.get(f"{STREET}/remedies/{rule}").text)
    assert told == f"{says}."
    after = client.send(f"{STREET}/act", act=act)
    assert after.status_code == 200
    assert says in html.unescape(after.text)
    assert rules_of(after.text) == {name: word for name, word in before.items() if name != rule}
    again = html.unescape(client.send(f"{STREET}/undo").text)
    assert rules_of(again) == before
    assert f"Taken back: {says}" in again
    # done again, it is no remedy any more, and an old form of it is told so and changes nothing
    client.send(f"{STREET}/act", act=act)
    stale = client.send(f"{STREET}/act", act=act)
    assert rules_of(stale.text) == rules_of(after.text)


def test_what_is_left_out_is_written_where_it_stood(writer: Visitor, shop_folder: Path) -> None:
    """The file is, letter by letter, what it was before anybody put in what nobody needs."""
    file = shop_folder / "catalog/builds/street-turbo.yaml"
    before = file.read_text()
    assert "#" in before
    needless(writer)
    assert "Saved." in writer.send(f"{STREET}/save").text
    assert "bm-friction-washer-34" in file.read_text()
    assert "tap-knock-boss" in file.read_text()
    for rule in ("friction-washer-bore", "need-knock-boss-blind"):
        (_, act), *_ = presses(writer.get(f"{STREET}/remedies/{rule}").text)
        writer.send(f"{STREET}/act", act=act)
    assert "Saved." in writer.send(f"{STREET}/save").text
    assert file.read_text() == before


def test_what_clears_most_of_a_cause_is_one_press(client: Visitor) -> None:
    before = rules_of(client.get(DRAFT).text)
    offered = presses(client.get(f"{DRAFT}/clears/crankshaft").text)
    says, act = offered[0]
    number = re.search(r"clears (?:at least )?(\d+) of these", says)
    assert number is not None
    after = rules_of(client.send(f"{DRAFT}/act", act=act).text)
    gone = [rule for rule in before if rule not in after]
    assert len(gone) >= int(number[1])


def test_what_opened_joints_consume_is_renewed_by_a_press(client: Visitor) -> None:
    text = client.get(DRAFT).text
    rule = "renew-cam-cover-joint"
    (says, act), *_ = presses(client.get(f"{DRAFT}/remedies/{rule}").text)
    assert says.startswith("Renew ")
    assert rule not in rules_of(client.send(f"{DRAFT}/act", act=act).text)
    text = client.send(f"{DRAFT}/renew", everything="yes").text
    assert not [rule for rule in rules_of(text) if rule.startswith("renew-")]
    assert "All that they consume is renewed." in text


def test_what_wants_a_value_from_a_person_has_a_field(client: Visitor) -> None:
    text = client.get(DRAFT).text
    rule = next(rule for rule, verdict in rules_of(text).items() if verdict == "unknown")
    asked = client.get(f"{DRAFT}/remedies/{rule}").text
    spec = re.search(r'name="entry" value="measured"><input type="hidden" name="word" value="([\w.]+)">', asked)
    assert spec is not None
    assert "Measure or look up" not in asked
    refused = client.send(f"{DRAFT}/say", entry="measured", word=spec[1], value="12 horses")
    assert refused.status_code == 400
    unit = demo_shop().shop.kinds[spec[1].split(".")[0]][spec[1].split(".")[1]].unit
    after = client.send(f"{DRAFT}/say", entry="measured", word=spec[1], value=f"86.45 {unit}")
    assert rules_of(after.text).get(rule) != "unknown"


def test_a_place_left_empty_asks_why(client: Visitor) -> None:
    position, rule = "blow_off_valve", "left-out-blow-off-valve"
    text = client.send("/build/street-turbo/fit", position=position, part="").text
    assert rule in rules_of(text)
    asked = client.get(f"/build/street-turbo/remedies/{rule}").text
    assert 'name="entry" value="leave_out"' in asked
    put_back = next(act for says, act in presses(asked) if says.startswith("Put back"))
    after = rules_of(client.send("/build/street-turbo/act", act=put_back).text)
    assert rule not in after


def test_work_that_comes_too_soon_is_moved(client: Visitor) -> None:
    path = "/build/street-turbo"
    client.send(f"{path}/works", out="9")  # the final wash
    text = client.send(f"{path}/do", work="final-wash").text
    order = [
        html.unescape(name) for name in re.findall(r"<li>([^<]+?) <small>", text.split('id="the-work"')[1])
    ]
    assert not [rule for rule in rules_of(text) if rule.startswith("order-")], order


def test_why_goes_down_to_specs_and_their_files(client: Visitor) -> None:
    text = html.unescape(client.get(f"{DRAFT}/why/rod-fatigue", depth="all").text)
    chain = text.split('class="fragment"')[1]
    assert "Why it matters" in chain
    assert "catalog/parts/" in chain
    assert chain.count("<ul") > 3
    short = client.get(f"{DRAFT}/why/rod-fatigue").text
    assert "more steps" in short
    assert len(short) < len(text)
    fine = client.get("/build/street-turbo/why/rod-fatigue")
    assert fine.status_code == 200


def test_a_rule_that_is_none_is_told(client: Visitor) -> None:
    for path in ("why", "remedies"):
        answer = client.get(f"{DRAFT}/{path}/rod-fatigu")
        assert answer.status_code == 400
        assert "did you mean 'rod-fatigue'" in html.unescape(answer.text)
    assert client.get(f"{DRAFT}/why/rod-fatigue", depth="99").status_code == 422
    assert client.get(f"{DRAFT}/clears/nowhere").status_code == 200
