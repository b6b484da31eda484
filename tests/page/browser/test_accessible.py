"""Every view in Chromium, held against WCAG 2.2 AA by axe-core (`axe/`, MPL-2.0), in two themes and widths.

Beside it: nothing sticks out at 360 px, nor at text of twice the size; grey print keeps everything readable.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI

from tests.page.visiting import Served, make_page

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = f"() => axe.run(document, {{runOnly: {TAGS!r}, resultTypes: ['violations']}})"
LOOKS = ["color-contrast", "target-size", "link-in-text-block", "scrollable-region-focusable"]
RUN_LOOKS = f"() => axe.run(document, {{runOnly: {LOOKS!r}, resultTypes: ['violations']}})"
"""What hangs on width or theme, for where all else was looked at already."""

VIEWS: Mapping[str, tuple[str, ...]] = {
    "/": ("/",),
    "/sign-in": ("/sign-in",),
    "/build/{name}": ("/build/street-turbo", "/build/first-draft", "/build/tarn-20-turbo"),
    "/build/{name}/work": ("/build/street-turbo/work?work=hone-small-end",),
    "/build/{name}/at/{position}": ("/build/first-draft/at/piston", "/build/street-turbo/at/rod?typed=long"),
    "/build/{name}/why/{rule}": ("/build/first-draft/why/deck-clearance",),
    "/build/{name}/remedies/{rule}": ("/build/first-draft/remedies/deck-clearance",),
    "/build/{name}/clears/{position}": ("/build/first-draft/clears/rod",),
    "/build/{name}/meanwhile": ("/build/street-turbo/meanwhile",),
    "/build/{name}/goal": ("/build/street-turbo/goal",),
    "/build/{name}/ladder": ("/build/tarn-20-base/ladder",),
    "/quote/{name}": ("/quote/street-turbo",),
    "/quote/{name}/own": ("/quote/street-turbo/own",),
    "/quotes": ("/quotes",),
    "/quotes/{number}": ("/quotes/PB-Q-2026-0001",),
    "/quotes/{number}/own": ("/quotes/PB-Q-2026-0001/own",),
    "/quotes/{number}/since": ("/quotes/PB-Q-2026-0001/since",),
    "/order/{name}": ("/order/street-turbo",),
    "/orders": ("/orders",),
    "/sheet/{name}": ("/sheet/street-turbo",),
    "/compare": ("/compare", "/compare?a=street-turbo&b=first-draft"),
    "/bench": ("/bench",),
    "/bench/{name}": ("/bench/street-turbo",),
    "/bench/{name}/{number}": ("/bench/street-turbo/1", "/bench/street-turbo/12", "/bench/street-turbo/14"),
    "/find": ("/find", "/find?words=pistn+bore+86..86.5+mm", "/find?words=nothing+of+the+kind"),
    "/parts": ("/parts",),
    "/parts/{position}": ("/parts/rod",),
    "/stock": ("/stock",),
    "/part/{part}": ("/part/hg-piston-860-308-d120",),
    "/bring": ("/bring",),
    "/bring/look": ("/bring/look",),
    "/lint": ("/lint",),
    "/lint/file": ("/lint/file?name=catalog/shop.yaml&line=12",),
    "": ("/nothing-of-that-name",),
}

NO_VIEWS = {
    "/bench-worker.js",
    "/bench/{name}/stands",
    "/bench/{name}/{number}/pattern.svg",
    "/bench/{name}/photo/{file}",
    "/build/{name}/file",
    "/orders/{number}",
}
"""Routes that give a file, or what a script asks for; and orders by number, which look as they were made."""

ALL = [path for paths in VIEWS.values() for path in paths]


def test_every_view_is_looked_at(demo_page: FastAPI) -> None:
    asked = {path for path, methods in demo_page.openapi()["paths"].items() if "get" in methods}
    assert asked == ({*VIEWS} - {""}) | NO_VIEWS


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory, browser: Any) -> Iterator[tuple[str, Any]]:
    """A page of a copy of the demo with a kept quote and a list that waits, and a window of it."""
    import shutil

    from compat.library.sources import demo_folder

    folder = tmp_path_factory.mktemp("shown") / "shop"
    for name in ("catalog", "rules"):
        shutil.copytree(demo_folder() / name, folder / name)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COMPAT_QUOTES", str(folder / "quotes"))
        app = make_page(folder)
        page = Served(app)
        context = browser.new_context(viewport={"width": 1440, "height": 900}, reduced_motion="reduce")
        tab = context.new_page()
        tab.set_default_timeout(60_000)
        tab.goto(page.url + "/quote/street-turbo")
        tab.locator("main form[method=post] button").first.click()
        tab.wait_for_url("**/quotes/*")
        tab.goto(page.url + "/bring")
        tab.set_input_files("input[type=file]", {"name": "list.csv", "mimeType": "text/csv", "buffer": LIST})
        tab.select_option("select[name=by]", "guess")
        tab.get_by_role("button", name="Look at it").click()
        tab.wait_for_url("**/bring/look")
        yield page.url, tab
        context.close()
        page.stop()
        app.state.slowly.close()


LIST = b"Code;Description;Bore [mm];Price\nX1;Forged piston;86,00;120,00\nX2;Forged piston;86,50;125,00\n"


@pytest.mark.parametrize("path", ALL)
def test_axe_finds_nothing(shown: tuple[str, Any], path: str) -> None:
    url, tab = shown
    tab.set_viewport_size({"width": 1440, "height": 900})
    tab.goto(url + path)
    tab.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    tab.evaluate(AXE)
    found = []
    for width, scheme, run in (
        *((1440, "light", RUN), (1440, "dark", RUN_LOOKS)),
        *((360, "light", RUN_LOOKS), (360, "dark", RUN)),
    ):
        tab.set_viewport_size({"width": width, "height": 900})
        tab.emulate_media(color_scheme=scheme)
        for one in tab.evaluate(run)["violations"]:
            spots = [node["html"][:160] for node in one["nodes"][:3]]
            found.append(f"{width} {scheme} {one['id']}: {one['help']}: {spots}")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("path", ALL)
def test_nothing_sticks_out(shown: tuple[str, Any], path: str) -> None:
    """At 360 px, and at 1280 px with text of twice the size (WCAG 2.2, 1.4.4 and 1.4.10)."""
    url, tab = shown
    tab.emulate_media(color_scheme="light")
    wide = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
    tab.set_viewport_size({"width": 360, "height": 740})
    tab.goto(url + path)
    assert tab.evaluate(wide) <= 0
    tab.set_viewport_size({"width": 1280, "height": 900})
    tab.evaluate("document.documentElement.style.fontSize = '200%'")
    assert tab.evaluate(wide) <= 0


@pytest.mark.parametrize("path", ["/build/first-draft", "/sheet/street-turbo", "/quote/street-turbo", "/lint"])
def test_print_is_grey_and_says_all(shown: tuple[str, Any], path: str) -> None:
    """On paper no ink has a colour: what a colour says, a word says too."""
    url, tab = shown
    tab.goto(url + path)
    tab.emulate_media(media="print", color_scheme="light")
    inks = tab.evaluate(
        "() => [...new Set([...document.querySelectorAll('main *')].map(one => getComputedStyle(one).color))]"
    )
    tab.emulate_media(media="screen")
    assert inks
    for ink in inks:
        parts = [float(one) for one in ink[ink.index("(") + 1 : -1].replace("/", ",").split(",")[:3]]
        assert max(parts) - min(parts) <= 6, ink


def test_a_stranger_signs_in_accessibly(browser: Any, demo_page: FastAPI) -> None:
    from compat.library.sources import demo_folder
    from compat.page.passwords import hashed

    locked = {"counter": hashed("seven spanners"), "bench": hashed("torque it twice")}
    page = Served(make_page(demo_folder(), passwords=locked))
    context = browser.new_context(viewport={"width": 360, "height": 740})
    tab = context.new_page()
    tab.goto(page.url)
    assert tab.url.endswith("/sign-in?back=/")
    tab.evaluate(AXE)
    assert [one["id"] for one in tab.evaluate(RUN)["violations"]] == []
    tab.get_by_label("Password").fill("not it at all")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("[role=alert]")
    tab.evaluate(AXE)
    assert [one["id"] for one in tab.evaluate(RUN)["violations"]] == []
    tab.get_by_label("Password").fill("seven spanners")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("nav")
    context.close()
    page.stop()
