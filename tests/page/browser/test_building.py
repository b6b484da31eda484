"""Building in a browser: an opened finding asks what helps, letters are enough, all can be taken back."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.page.visiting import Served

DRAFT = "/build/first-draft"
STREET = "/build/street-turbo"


def settled(tab: Any) -> None:
    """Wait until the view is the one that was asked for."""
    tab.wait_for_selector("#view:not(.htmx-swapping):not(.htmx-settling)")
    tab.wait_for_selector(".htmx-request", state="detached")


def test_an_opened_finding_says_what_helps_and_a_press_does_it(
    served_demo: Served, window: Callable[..., Any]
) -> None:
    tab = window()
    tab.goto(served_demo.url + DRAFT)
    finding = tab.locator("#f-rod-fatigue")
    finding.locator("summary").click()
    press = finding.locator(".helps button").first
    press.wait_for()
    says = press.inner_text()
    press.click()
    tab.wait_for_selector("#the-step")
    assert tab.locator("#the-step").inner_text().replace("\n", " ").find(says[:20]) >= 0
    assert tab.url.endswith(DRAFT)
    back = tab.locator(".bar button", has_text="Take back")
    assert back.is_enabled()
    back.click()
    tab.wait_for_selector("#the-step", state="detached")
    assert tab.locator(".bar button", has_text="Do again").is_enabled()


def test_why_opens_inside_the_finding(served_demo: Served, window: Callable[..., Any]) -> None:
    tab = window()
    tab.goto(served_demo.url + DRAFT)
    finding = tab.locator("#f-rod-fatigue")
    finding.locator("summary").click()
    finding.locator("a", has_text=re.compile("^Why$")).click()
    finding.locator(".chain").first.wait_for()
    assert tab.url.endswith(DRAFT)
    finding.locator("a", has_text="The whole chain").click()
    tab.wait_for_selector("#f-rod-fatigue >> text=catalog/parts/")


def test_letters_alone_narrow_what_can_be_chosen(served_demo: Served, window: Callable[..., Any]) -> None:
    tab = window()
    tab.goto(served_demo.url + STREET + "/at/spark_plug")
    tab.wait_for_selector("#the-choice .open", state="detached")
    many = tab.locator("#the-choice .candidate").count()
    tab.keyboard.type("3 steps")
    tab.wait_for_function("many => document.querySelectorAll('#the-choice .candidate').length < many", arg=many)
    tab.wait_for_selector("#the-choice .open", state="detached")
    assert tab.locator("input[name=q]").input_value() == "3 steps"
    tab.locator("#the-choice button", has_text="Put it in").first.click()
    tab.wait_for_selector("#the-step")
    assert "3 steps" in tab.locator("#spark_plug").inner_text()


def test_what_is_open_stays_open_and_the_keyboard_where_it_was(
    served_demo: Served, window: Callable[..., Any]
) -> None:
    tab = window()
    tab.goto(served_demo.url + STREET)
    tab.locator("#the-setup summary").click()
    tab.locator("[name=setup-ignition]").select_option("wasted_spark")
    tab.locator("#the-setup button").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#the-step")
    settled(tab)
    assert tab.locator("#the-setup").get_attribute("open") is not None
    assert tab.locator("#the-notes").get_attribute("open") is None
    assert tab.evaluate("document.activeElement.closest('#the-setup') !== null")


@pytest.mark.parametrize("scripts", [True, False])
def test_a_part_is_changed_with_the_keyboard_alone(
    served_demo: Served, window: Callable[..., Any], scripts: bool
) -> None:
    tab = window(scripts=scripts)
    tab.goto(served_demo.url + STREET + "?wide=yes")
    tab.locator("#spark_plug a").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/at/spark_plug")
    tab.locator("input[name=q]").focus()
    tab.keyboard.type("short 3")
    tab.keyboard.press("Enter")
    tab.locator("#the-choice [role=status]", has_text="by these words").wait_for()
    if scripts:  # what was typed last asks once more by itself, and what it finds takes the place of that
        tab.wait_for_timeout(600)
    button = tab.locator("#the-choice button", has_text="Put it in").first
    button.wait_for()
    button.focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#the-step")
    back = tab.locator(".bar button", has_text="Take back")
    back.focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#the-step", state="detached")


def test_remedies_without_scripts_are_views_of_their_own(
    served_demo: Served, window: Callable[..., Any]
) -> None:
    tab = window(scripts=False)
    tab.goto(served_demo.url + DRAFT)
    tab.locator("#f-rod-fatigue summary").click()
    tab.locator("#f-rod-fatigue a", has_text="What helps").click()
    tab.wait_for_url("**/remedies/rod-fatigue")
    tab.locator(".helps button").first.click()
    tab.wait_for_selector("#the-step")


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_nothing_is_wider_than_the_screen(served_demo: Served, window: Callable[..., Any], width: int) -> None:
    tab = window(width=width)
    for path in (STREET + "?wide=yes", STREET + "/at/rod", DRAFT, DRAFT + "/why/rod-fatigue?depth=all"):
        tab.goto(served_demo.url + path)
        over = tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, path
