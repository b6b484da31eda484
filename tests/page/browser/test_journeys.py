"""A person at the page in Chromium: by the keyboard alone, without JavaScript, beside another, with a paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from tests.page.visiting import Served

BUILD = "/build/street-turbo"


def words(tab: Any, selector: str = "main") -> str:
    text: str = tab.locator(selector).inner_text()
    return " ".join(text.split())


def focused(tab: Any) -> str:
    """What has the focus, if anything that can be worked has it, as a screen reader would begin to say it."""
    said: str = tab.evaluate(
        "() => { const one = document.activeElement;"
        " if (!one.matches('a, button, input, select, textarea, summary')) return '';"
        " return one.getAttribute('aria-label') || one.labels?.[0]?.innerText || one.innerText || one.name }"
    )
    return " ".join(said.split())


def to(tab: Any, says: str, most: int = 400) -> None:
    """Press Tab until the focus is on what says so, and see that it shows."""
    for _ in range(most):
        tab.keyboard.press("Tab")
        if says in focused(tab):
            outline = tab.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"the focus on {says!r} is not to be seen"
            return
    raise AssertionError(f"the keyboard never comes to {says!r}")


# ---- keyboard alone


def test_a_part_is_found_by_the_keyboard_alone(served_demo: Served, window: Callable[..., Any]) -> None:
    tab = window()
    tab.goto(served_demo.url)
    to(tab, "Find")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/find*")
    to(tab, "Words and sizes")
    tab.keyboard.type("pistn bore 86..86.5 mm")
    tab.keyboard.press("Enter")
    tab.locator("h2", has_text="Parts found").wait_for()
    assert "‘pistn’ is read as ‘piston’" in words(tab)
    to(tab, "Oxbarrow forged piston 86.50")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/part/ox-piston-865-308*")
    assert "What it states" in words(tab)


def test_a_part_is_changed_and_taken_back_by_the_keyboard_alone(
    served: Served, window: Callable[..., Any]
) -> None:
    tab = window(height=1200)
    tab.goto(served.url + BUILD)
    before = words(tab, ".answer")
    tab.goto(served.url + BUILD + "/at/spark_plug")
    to(tab, "Put it in")
    tab.keyboard.press("Enter")
    tab.locator("#the-step").wait_for()
    assert "Last step" in words(tab, "#the-step")
    to(tab, "Take back")
    tab.keyboard.press("Enter")
    tab.locator("#the-step").wait_for(state="detached")
    assert words(tab, ".answer") == before


def test_the_first_press_of_tab_leads_past_the_head(served_demo: Served, window: Callable[..., Any]) -> None:
    tab = window()
    tab.goto(served_demo.url + "/find")
    tab.keyboard.press("Tab")
    assert focused(tab) == "To the content"
    tab.keyboard.press("Enter")
    tab.keyboard.press("Tab")
    assert focused(tab).startswith("Words and sizes")


# ---- without JavaScript


def test_everything_is_done_without_javascript(served: Served, window: Callable[..., Any]) -> None:
    tab = window(scripts=False)
    tab.goto(served.url)
    tab.locator("a[href='/build/first-draft']").first.click()
    before = words(tab, ".answer")
    tab.locator("details", has=tab.locator("a", has_text="What helps")).first.locator("summary").click()
    tab.get_by_role("link", name="What helps").first.click()
    tab.locator("form[action$='/act'] button").first.click()
    tab.wait_for_url("**/build/first-draft*")
    assert words(tab, ".answer") != before
    assert "Last step" in words(tab, "#the-step")
    tab.get_by_role("button", name="Take back").click()
    assert words(tab, ".answer") == before
    tab.get_by_role("link", name="Goal", exact=True).click()
    assert tab.locator("h1").count() == 1
    tab.goto(served.url + "/find?words=rod")
    tab.get_by_label("That go into").select_option("tarn-20-base")
    tab.get_by_role("button", name="Find").click()
    again = tab.get_by_role("link", name="Look again")
    for _ in range(240):
        if not again.count():
            break
        tab.wait_for_timeout(500)
        again.click()
    assert "go into tarn-20-base" in words(tab)


def test_the_bench_measures_without_javascript(served: Served, window: Callable[..., Any]) -> None:
    tab = window(width=820, height=1180, scripts=False)
    tab.goto(served.url + "/bench")
    tab.locator("a[href='/bench/street-turbo']").first.click()
    assert "GBP" not in words(tab, "body")
    tab.goto(served.url + "/bench/street-turbo/12")
    name = "reading/block.bore_diameter/1/top"
    tab.locator(f"[name='{name}']").fill("86.012")
    tab.locator("main form button").first.click()
    tab.goto(served.url + "/bench/street-turbo/12")
    assert tab.locator(f"[name='{name}']").input_value() == "86.012"


# ---- papers


def test_a_quote_is_kept_saved_and_opened(served: Served, window: Callable[..., Any], tmp_path: Path) -> None:
    tab = window(accept_downloads=True)
    tab.goto(served.url + "/quote/street-turbo")
    assert "Draft" in words(tab) or "DRAFT" in words(tab)
    tab.locator("main form[method=post] button").first.click()
    tab.wait_for_url("**/quotes/*", timeout=60_000)
    number = tab.url.rpartition("/")[2].partition("?")[0]
    total = next(line for line in words(tab).split("GBP") if line.strip())
    assert total
    with tab.expect_download(timeout=120_000) as coming:
        tab.locator("ul.saved a", has_text="PDF").first.click()
    coming.value.save_as(tmp_path / "quote.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "quote.pdf")
    text = "".join(page.get_textpage().get_text_range() for page in document)
    assert number in text
    assert "Pellow Bridge Engine Works" in text
    tab.goto(served.url + "/quotes")
    assert number in words(tab)


# ---- two people on one build


def file_of_build(shop: Path) -> Path:
    files = (shop / "catalog/builds").glob("*.yaml")
    return next(path for path in files if "build: street-turbo" in path.read_text(encoding="utf-8"))


def test_two_people_on_one_build_lose_nothing(
    served: Served, shop_folder: Path, window: Callable[..., Any]
) -> None:
    one, other = window(), window()
    for tab, position in ((one, "spark_plug"), (other, "oil_filter")):
        tab.goto(f"{served.url}{BUILD}/at/{position}")
        tab.get_by_role("button", name="Put it in").first.click()
        tab.locator("#the-step").wait_for()
    # neither sees the other's before it is saved
    assert "oil filter" not in words(one, "#the-step").lower()
    one.get_by_role("button", name="Save", exact=True).click()
    one.get_by_text("As its file has it").wait_for()
    file = file_of_build(shop_folder)
    mine = file.read_text()
    other.goto(served.url + BUILD)
    other.get_by_role("link", name="See both side by side").click()
    other.wait_for_url("**/meanwhile")
    assert "spark" in words(other).lower()
    other.goto(served.url + BUILD)
    other.get_by_role("button", name="Save", exact=True).click()
    other.get_by_text("As its file has it").wait_for()
    both = file.read_text()
    added = {line.strip() for line in mine.splitlines() if "spark_plug" in line}
    assert added
    assert added <= {line.strip() for line in both.splitlines()}
    assert "oil_filter" in both
    assert both.count("#") == mine.count("#")  # what somebody wrote beside it stands


def test_somebody_edits_the_file_meanwhile(
    served: Served, shop_folder: Path, window: Callable[..., Any]
) -> None:
    tab = window()
    tab.goto(f"{served.url}{BUILD}/at/spark_plug")
    tab.get_by_role("button", name="Put it in").first.click()
    tab.locator("#the-step").wait_for()
    file = file_of_build(shop_folder)
    text = file.read_text()
    start = text.index("build: street-turbo")
    name = text.index("name:", start)
    rest = text[text.index("\n", name) :]
    file.write_text(text[:name] + "name: Renamed by hand  # by the owner" + rest, encoding="utf-8")
    tab.wait_for_timeout(700)
    tab.goto(served.url + BUILD)
    tab.get_by_role("button", name="Save", exact=True).click()
    tab.get_by_text("As its file has it").wait_for()
    saved = file.read_text()
    assert "Renamed by hand  # by the owner" in saved
    assert "spark_plug" in saved
    assert "Renamed by hand" in words(tab, "h1")


@pytest.mark.parametrize("path", ["/", BUILD, "/find?words=rod", "/part/tarn-22-long-rod"])
def test_going_back_and_reloading_shows_the_same(
    served_demo: Served, window: Callable[..., Any], path: str
) -> None:
    tab = window()
    tab.goto(served_demo.url + path)
    before = words(tab, "h1")
    tab.get_by_role("link", name="Lint").click()
    tab.wait_for_url("**/lint")
    tab.go_back()
    tab.wait_for_url("**" + path)
    tab.locator("h1", has_text=before).wait_for()
    tab.reload()
    assert words(tab, "h1") == before
