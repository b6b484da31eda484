"""The first view in a browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.page.visiting import Served


def test_the_first_view_leads_to_a_build(served_demo: Served, window: Callable[..., Any]) -> None:
    tab = window()
    tab.goto(served_demo.url)
    tab.locator("a[href='/build/street-turbo']").first.click()
    tab.wait_for_url("**/build/street-turbo*")
    assert tab.locator("h1").count() == 1
