"""A day at the bench in a browser: the server is killed in the middle, no value is lost or kept twice."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.page.passwords import set_password
from tests.page.visiting import Apart

BORES = [f"reading/block.bore_diameter/{number}/top" for number in (1, 2, 3, 4)]
PASSWORD = "a bench of oak and iron"
STEP = "/bench/street-turbo/12"


@pytest.fixture
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A home of its own, so that nothing of the user's is read or written."""
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home/data"))
    monkeypatch.delenv("COMPAT_QUOTES", raising=False)
    return tmp_path / "home"


@pytest.fixture
def bench(own_home: Path, apart: Apart) -> Apart:
    return apart


def field(tab: Any, name: str) -> Any:
    return tab.locator(f'[name="{name}"]')


def says(tab: Any, name: str) -> Any:
    return tab.locator(f'[data-says="{name}"]')


def give(tab: Any, name: str, value: str) -> None:
    """Type a value and leave the field."""
    field(tab, name).fill(value)
    field(tab, name).press("Enter")


def lines(folder: Path) -> list[dict[str, Any]]:
    path = folder / "quotes/measured/street-turbo.jsonl"
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def wait_for(tab: Any, name: str, words: str) -> None:
    tab.wait_for_function(
        "([name, words]) => document.querySelector(`[data-says='${name}']`)?.textContent.includes(words)",
        arg=[name, words],
        timeout=60_000,
    )


def test_a_day_with_the_server_killed_in_the_middle(
    bench: Apart, shop_folder: Path, window: Callable[..., Any]
) -> None:
    tab = window(width=820, height=1180)
    tab.goto(f"{bench.url}{STEP}")
    give(tab, BORES[0], "86,012")
    wait_for(tab, BORES[0], "kept by the server")
    verdict = tab.locator('[data-piece="block.bore_diameter/1"]')
    assert verdict.locator(".decision").inner_text() == "in"
    assert "wanted" in verdict.inner_text()
    assert field(tab, BORES[0]).input_value() == "86.012"
    tab.wait_for_function("() => navigator.serviceWorker.controller !== null")
    tab.wait_for_timeout(2500)  # the next steps are fetched while nothing else is asked

    bench.kill()
    give(tab, BORES[1], "86.013")
    wait_for(tab, BORES[1], "kept here, not yet on the server")
    assert "not yet on the server" in tab.locator("[data-pending]").inner_text()
    tab.locator("a[rel=next]").click()  # the next step is at hand without the server
    tab.wait_for_url("**/bench/street-turbo/13")
    assert "13" in tab.locator("h1").inner_text()
    tab.go_back()
    tab.wait_for_url(f"**{STEP}")
    # typed, and the battery goes flat before the field is left
    field(tab, BORES[2]).press_sequentially("86.011")
    tab.reload()
    assert [field(tab, name).input_value() for name in BORES] == ["86.012", "86.013", "86.011", ""]
    assert "kept by the server" in says(tab, BORES[0]).inner_text()
    assert "not given yet" in says(tab, BORES[2]).inner_text()
    window.complaints.clear()  # type: ignore[attr-defined]  # no connection is what this is about

    bench.start()
    give(tab, BORES[2], "86.0115")
    give(tab, BORES[3], "86.010")
    for name in BORES[1:]:
        wait_for(tab, name, "kept by the server")
    tab.locator("[data-pending]").wait_for(state="hidden")
    window.complaints.clear()  # type: ignore[attr-defined]

    kept = [line for line in lines(shop_folder) if line["kind"] == "reading"]
    assert sorted((line["piece"], line["value"]) for line in kept) == [
        (1, "86.012 mm"),
        (2, "86.013 mm"),
        (3, "86.0115 mm"),
        (4, "86.010 mm"),
    ]
    tab.reload()
    assert [field(tab, name).input_value() for name in BORES] == ["86.012", "86.013", "86.0115", "86.010"]
    words = ["check", "street-turbo", "--shop", str(shop_folder), "--json", "--measured"]
    file = shop_folder / "quotes/measured/street-turbo.yaml"
    checked = subprocess.run(
        [sys.executable, "-m", "compat", *words, str(file)], capture_output=True, text=True, check=False
    )
    fits = json.loads(checked.stdout)["measured"]["fits"]
    bores = [fit["value"] for fit in fits if fit["rule"] == "bore-within-limit"]
    assert bores == pytest.approx([86.012, 86.013, 86.0115, 86.010])


def test_an_answer_that_never_came_is_not_kept_twice(
    bench: Apart, shop_folder: Path, window: Callable[..., Any]
) -> None:
    """The server keeps the value and is cut off before it can say so; the tablet sends it again."""
    tab = window(service_workers="block")
    tab.goto(f"{bench.url}{STEP}")
    seen: list[str] = []

    def cut(route: Any) -> None:
        if seen:
            route.continue_()
            return
        seen.append(route.request.post_data)
        route.fetch()  # the server has it
        route.abort()  # and nobody hears of it

    tab.route("**/keep", cut)
    give(tab, BORES[0], "86.012")
    wait_for(tab, BORES[0], "kept by the server")
    assert len(seen) == 1
    assert [line["value"] for line in lines(shop_folder) if line["kind"] == "reading"] == ["86.012 mm"]
    window.complaints.clear()  # type: ignore[attr-defined]


def test_two_tablets_do_not_overwrite_each_other(
    bench: Apart, shop_folder: Path, window: Callable[..., Any]
) -> None:
    one, other = window(), window()
    for tab in (one, other):
        tab.goto(f"{bench.url}{STEP}")
    give(one, BORES[0], "86.012")
    wait_for(one, BORES[0], "kept by the server")
    give(other, BORES[0], "86.016")
    wait_for(other, BORES[0], "kept by the server")
    beside = other.locator(f'[data-beside="{BORES[0]}"]')
    assert field(other, BORES[0]).input_value() == "86.012"
    assert "86.016 mm" in beside.inner_text()
    text = (shop_folder / "quotes/measured/street-turbo.yaml").read_text(encoding="utf-8")
    assert "top: 86.012 mm" in text
    assert "top again: 86.016 mm" in text
    one.reload()
    assert "86.016 mm" in one.locator(f'[data-beside="{BORES[0]}"]').inner_text()
    give(one, BORES[0], "86.016")
    one.wait_for_function("() => document.querySelector('[data-beside]').childElementCount === 0")
    text = (shop_folder / "quotes/measured/street-turbo.yaml").read_text(encoding="utf-8")
    assert "again" not in text
    assert "86.012" not in text


def test_steps_loaded_are_at_hand_without_a_worker(bench: Apart, window: Callable[..., Any]) -> None:
    """Over plain HTTP from another machine no browser lets a worker in; the open page goes on by itself."""
    tab = window(service_workers="block")
    tab.goto(f"{bench.url}{STEP}")
    tab.wait_for_timeout(2500)
    bench.kill()
    tab.locator("a[rel=next]").click()
    tab.wait_for_url("**/bench/street-turbo/13")
    tab.locator("a[rel=next]").click()
    tab.wait_for_url("**/bench/street-turbo/14")
    assert "14" in tab.locator("h1").inner_text()
    tab.go_back()
    tab.wait_for_url("**/bench/street-turbo/13")
    tab.locator("a[rel=prev]").click()
    tab.wait_for_url(f"**{STEP}")
    give(tab, BORES[0], "86.012")
    wait_for(tab, BORES[0], "kept here, not yet on the server")
    bench.start()
    wait_for(tab, BORES[0], "kept by the server")
    window.complaints.clear()  # type: ignore[attr-defined]


def test_done_leads_to_the_next_step_and_is_marked(bench: Apart, window: Callable[..., Any]) -> None:
    tab = window(width=360)
    tab.goto(f"{bench.url}/bench/street-turbo/1")
    tab.get_by_role("button", name="Done, and on to the next").click()
    tab.wait_for_url("**/bench/street-turbo/2")
    tab.get_by_role("link", name="All steps").click()
    assert "1 of " in tab.locator(".bench").inner_text()
    first = tab.locator("ol.steps li").first
    assert "done" in first.inner_text()
    box = tab.locator("ol.steps a").first.bounding_box()
    assert box["height"] >= 48
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360


def test_without_a_script_a_form_keeps_each_step(
    bench: Apart, shop_folder: Path, window: Callable[..., Any]
) -> None:
    tab = window(scripts=False)
    tab.goto(f"{bench.url}{STEP}")
    field(tab, BORES[0]).fill("86.012")
    field(tab, BORES[1]).fill("8.6")
    tab.get_by_role("button", name="Keep", exact=True).click()
    assert "outside anything possible" in says(tab, BORES[1]).inner_text()
    assert field(tab, BORES[1]).input_value() == "8.6"
    assert "kept by the server" in says(tab, BORES[0]).inner_text()
    field(tab, BORES[1]).fill("86.013")
    tab.get_by_role("button", name="Done, and on to the next").click()
    tab.wait_for_url("**/bench/street-turbo/13")
    assert [line["value"] for line in lines(shop_folder)] == ["86.012 mm", "86.013 mm", "done"]
    window.complaints.clear()  # type: ignore[attr-defined]  # 422 of the value that is none


def test_who_has_to_sign_in_again_loses_nothing(
    own_home: Path, shop_folder: Path, tmp_path: Path, window: Callable[..., Any]
) -> None:
    words = tmp_path / "passwords"
    for role in ("counter", "bench"):
        set_password(words, role, PASSWORD)
    bench = Apart(shop_folder, "--password-file", str(words))
    try:
        tab = window()
        sign_in(tab, bench)
        tab.goto(f"{bench.url}{STEP}")
        give(tab, BORES[0], "86.012")
        wait_for(tab, BORES[0], "kept by the server")
        bench.kill()
        give(tab, BORES[1], "86.013")
        wait_for(tab, BORES[1], "kept here, not yet on the server")
        bench.start()
        again = tab.locator("[data-pending] a", has_text="Sign in again")
        again.wait_for(timeout=60_000)
        assert [line["value"] for line in lines(shop_folder)] == ["86.012 mm"]
        with tab.expect_popup() as opened:
            again.click()
        sign_in(opened.value, bench)
        wait_for(tab, BORES[1], "kept by the server")
        assert [line["value"] for line in lines(shop_folder)] == ["86.012 mm", "86.013 mm"]
    finally:
        bench.stop()
    window.complaints.clear()  # type: ignore[attr-defined]  # refused for want of a sitting


def sign_in(tab: Any, bench: Apart) -> None:
    tab.goto(f"{bench.url}/sign-in")
    tab.locator("[name=role][value=bench]").check()
    tab.locator("[name=password]").fill(PASSWORD)
    tab.get_by_role("button", name="Sign in").click()
    tab.wait_for_url("**/bench")
