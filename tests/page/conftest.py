"""A page of the demo, visited with and without a browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from anyio.from_thread import BlockingPortal, start_blocking_portal
from fastapi import FastAPI

from compat.library.kept import shop_file
from compat.library.opening import open_library
from compat.library.sources import demo_folder
from compat.library.store import Store
from tests.conftest import keep_copy
from tests.page.visiting import Apart, Served, Visitor, make_page


@pytest.fixture(autouse=True, scope="session")
def no_password(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The user's own passwords are no matter of tests."""
    os.environ["COMPAT_PASSWORDS"] = str(tmp_path_factory.mktemp("settings") / "passwords")


@pytest.fixture(scope="session")
def portal() -> Iterator[BlockingPortal]:
    """An event loop in a thread of its own."""
    with start_blocking_portal() as portal:
        yield portal


@pytest.fixture(scope="session")
def kept_demo(kept: Path) -> Store:
    """The demo as it is kept, so that a copy of it need not be read whole."""
    open_library(demo_folder())
    path = shop_file(kept, demo_folder())
    assert path is not None
    return Store(path)


@pytest.fixture
def shop_folder(tmp_path: Path, kept: Path, kept_demo: Store) -> Path:
    """A copy of the demo shop that may be written to."""
    folder = tmp_path / "shop"
    for name in ("catalog", "rules"):
        shutil.copytree(demo_folder() / name, folder / name)
    keep_copy(kept, kept_demo, folder)
    return folder


@pytest.fixture(scope="session")
def demo_page(kept_demo: Store) -> Iterator[FastAPI]:
    """The page of the demo, opened once: for tests that write nothing."""
    page = make_page(demo_folder())
    yield page
    page.state.slowly.close()


@pytest.fixture
def app(shop_folder: Path) -> Iterator[FastAPI]:
    """A page of a shop that may be written to."""
    page = make_page(shop_folder)
    yield page
    page.state.slowly.close()


@pytest.fixture
def visit(portal: BlockingPortal) -> Iterator[Callable[..., Visitor]]:
    """Makes visitors, each with cookies of its own: `visit(app)`."""
    visitors: list[Visitor] = []

    def one(app: FastAPI, address: str = "127.0.0.1") -> Visitor:
        visitors.append(Visitor(app, portal, address))
        return visitors[-1]

    yield one
    for visitor in visitors:
        visitor.close()


@pytest.fixture
def client(demo_page: FastAPI, visit: Callable[..., Visitor]) -> Visitor:
    """A visitor of the demo's page, in a sitting of its own; writes nothing to the shop."""
    return visit(demo_page)


@pytest.fixture
def writer(app: FastAPI, visit: Callable[..., Visitor]) -> Visitor:
    """A visitor of a page whose shop may be written to (`shop_folder`)."""
    return visit(app)


@pytest.fixture
def serve() -> Iterator[Callable[..., Served]]:
    """Serves a page on a port: `serve(app)`."""
    served: list[Served] = []

    def one(app: FastAPI, **options: Any) -> Served:
        served.append(Served(app, **options))
        return served[-1]

    yield one
    for page in served:
        page.stop()


@pytest.fixture
def served(app: FastAPI, serve: Callable[..., Served]) -> Served:
    """A page on a port, of a shop that may be written to (`shop_folder`)."""
    return serve(app)


@pytest.fixture(scope="session")
def served_demo(demo_page: FastAPI) -> Iterator[Served]:
    """The demo's page on a port, for tests that write nothing."""
    page = Served(demo_page)
    yield page
    page.stop()


@pytest.fixture
def apart(shop_folder: Path) -> Iterator[Apart]:
    """`compat serve` in a process of its own, to be killed and started again."""
    page = Apart(shop_folder)
    yield page
    page.stop()


LEFT_OUT = "views in a browser, journeys by keyboard and without JavaScript, and axe are left out: "


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A Chromium: of `COMPAT_CHROMIUM`, or Debian's; without one the test is left out, or fails in CI."""
    wanted = os.environ.get("COMPAT_BROWSER") == "1"
    program = os.environ.get("COMPAT_CHROMIUM") or shutil.which("chromium") or ""
    lacking = ""
    try:
        from playwright.sync_api import sync_playwright
    except ModuleNotFoundError:
        lacking = "playwright is not installed (shop-compat[browser])"
    if not lacking and not program:
        lacking = "there is no Chromium (Debian's package chromium, or COMPAT_CHROMIUM)"
    if lacking:
        (pytest.fail if wanted else pytest.skip)(LEFT_OUT + lacking)
    with sync_playwright() as playwright:
        switches = ["no-sandbox", "disable-gpu", "disable-quic", "no-first-run", "disable-sync"]
        switches += ["disable-background-networking", "disable-component-update"]
        browser = playwright.chromium.launch(
            executable_path=program, args=[f"--{switch}" for switch in switches]
        )
        yield browser
        browser.close()


@pytest.fixture
def window(browser: Any) -> Iterator[Callable[..., Any]]:
    """Opens windows, each with cookies of its own: `window(width=360, dark=True, scripts=False)`.

    A window gathers what the page complains of (`window.complaints`): errors of scripts, breaches of the
    content security policy, files not found. Any of them fails the test at its end, unless it cleared them.
    """
    contexts: list[Any] = []
    complaints: list[str] = []

    def one(width: int = 1280, height: int = 900, dark: bool = False, scripts: bool = True, **more: Any) -> Any:
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
            reduced_motion="reduce",
            **more,
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.set_default_timeout(20_000)
        return page

    one.complaints = complaints  # type: ignore[attr-defined]
    yield one
    for context in contexts:
        context.close()
    assert not complaints, complaints
