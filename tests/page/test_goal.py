"""The goal dragged over what each part bears, the ladder beside it, and two builds side by side."""

from __future__ import annotations

import re
from time import monotonic, sleep

import pytest

import compat
from compat.paper.pictures.headroom import Headroom
from compat.paper.pictures.kinds import computed
from compat.planning.ladder import raised
from compat.units import printed
from tests.page.visiting import Visitor

ROW = re.compile(
    r'<th scope="row">(.*?)</th>\s*<td class="number"[^>]*>(.*?)</td><td class="number"[^>]*>(.*?)</td>', re.S
)


def rows(text: str) -> dict[str, tuple[str, str]]:
    return {title.split("<")[0]: (load, bears) for title, load, bears in ROW.findall(text)}


@pytest.mark.parametrize("power", [None, 150, 210])
def test_loads_are_those_of_the_check_at_that_power(client: Visitor, power: float | None) -> None:
    shop = compat.open_shop()
    ready = shop.build("street-turbo")
    if power is not None:
        ready = ready.aiming(**raised(ready.goal, power * 1e3 / ready.goal.power.nominal))
    found = computed("headroom", shop.check(ready).checked)
    assert isinstance(found, Headroom)
    answer = client.get("/build/street-turbo/goal", **({"power": power} if power else {}))
    told = rows(answer.text)
    assert len(told) == len(found.bars) > 20
    for bar in found.bars:
        assert told[bar.title.replace("'", "&#39;")] == (printed(str(bar.load)), printed(str(bar.capacity)))


def test_rows_stay_in_place_while_the_power_is_dragged(client: Visitor) -> None:
    there, here = (list(rows(client.get("/build/street-turbo/goal", power=power).text)) for power in (120, 200))
    both = set(there) & set(here)
    assert [one for one in there if one in both] == [one for one in here if one in both]


def test_looking_elsewhere_changes_nothing_and_making_it_the_goal_can_be_taken_back(client: Visitor) -> None:
    client.get("/build/street-turbo/goal", power=200)
    assert '<strong class="big">180 kW' in client.get("/build/street-turbo/goal").text
    assert '<strong class="big">200 kW' in client.send("/build/street-turbo/goal", power="200").text
    client.send("/build/street-turbo/undo")
    assert '<strong class="big">180 kW' in client.get("/build/street-turbo/goal").text


def test_power_is_read_in_the_units_of_who_asks(client: Visitor) -> None:
    client.post("/own", units="imperial")
    text = client.get("/build/street-turbo/goal").text
    assert '<strong class="big">241.4 hp' in text  # 180 kW / 0.7457 kW


@pytest.mark.parametrize("power", ["nan", "inf", "-3", "0", "1e9", "much", "", "9" * 400])
def test_no_power_is_told(client: Visitor, power: str) -> None:
    assert client.get("/build/street-turbo/goal", power=power).status_code in (200, 422)
    assert client.post("/build/street-turbo/goal", power=power).status_code == 422


def test_the_ladder_is_worked_out_aside_and_told_when_it_is_there(client: Visitor) -> None:
    first = client.get("/build/tarn-20-base/ladder").text
    assert "It is being worked out" in first
    begun = monotonic()
    assert client.get("/build/tarn-20-base/goal").status_code == 200  # nobody waits for it
    while "It is being worked out" in (text := client.get("/build/tarn-20-base/ladder").text):
        assert monotonic() - begun < 120
        sleep(0.2)
    titles = {bound.rule.title.replace("'", "&#39;") for bound in compat.open_shop().book.rules.values()}
    told = re.findall(r'data-label="From">(\d+) kW</td>.*?<th scope="row">([^<]*)', text, re.S)
    assert len(told) > 5
    assert {title for _, title in told} <= titles
    powers = [int(power) for power, _ in told]
    assert powers == sorted(powers)
    assert powers[0] >= 92


def test_two_builds_are_put_side_by_side(client: Visitor) -> None:
    text = client.get("/compare", a="street-turbo", b="long-stroke-20").text
    for word in ("Worst verdict", "Before tax", "Parts (", "Work (", "Loads at the goal"):
        assert word in text
    # as it stands on the table: a change counts
    client.post("/build/long-stroke-20/fit", position="spark_plug", part="spn-plug-short-3")
    assert client.get("/compare", a="street-turbo", b="long-stroke-20").text != text


def test_comparing_what_is_not_there_is_told(client: Visitor) -> None:
    answer = client.get("/compare", a="street-turbo", b="street-trubo")
    assert answer.status_code == 400
    assert "did you mean" in answer.text
