"""What a page holds ends: sittings, drafts, what was worked out, shops that were opened anew since."""

from __future__ import annotations

import gc
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from weakref import ref

import pytest
import uvicorn
from fastapi import FastAPI

from compat.checking.session import Session
from compat.library.library import build_of_id
from compat.page import sittings
from compat.page.listening import run
from compat.page.sittings import IDLE, LOOK_EVERY, STRANGE, Sitting
from compat.words.reporting import report
from tests.look import demo_shop
from tests.page.visiting import Visitor


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Lets time pass for sittings."""
    past = [0.0]
    now = sittings.monotonic
    monkeypatch.setattr(sittings, "monotonic", lambda: now() + past[0])

    def pass_by(seconds: float) -> None:
        past[0] += seconds

    return pass_by


def sitting_of(app: FastAPI, visitor: Visitor) -> Sitting | None:
    key = next(iter(visitor.cookies.values()))
    found: Sitting | None = app.state.sittings._known.get(key) or app.state.sittings._strange.get(key)
    return found


def test_sittings_end_when_nobody_goes_on_with_them(
    app: FastAPI, visit: Callable[..., Visitor], clock: Callable[[float], None]
) -> None:
    once, often, last = visit(app), visit(app), visit(app)
    once.get("/")
    for _ in range(2):
        often.get("/build/street-turbo")
    clock(STRANGE + LOOK_EVERY)
    last.get("/")
    assert sitting_of(app, once) is None
    assert sitting_of(app, often) is not None
    clock(IDLE)
    last.get("/")
    assert sitting_of(app, often) is None


def test_the_longest_unseen_end_when_too_much_lies_on_tables(
    app: FastAPI,
    visit: Callable[..., Visitor],
    clock: Callable[[float], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sittings, "MOST_STEPS", 3)
    first, second = visit(app), visit(app)
    for visitor in (first, second):
        for plug in app.state.desk.library.shop.fillers["spark_plug"][:2]:
            visitor.post("/build/street-turbo/fit", position="spark_plug", part=plug)
    assert sum(sitting.steps for one in (first, second) if (sitting := sitting_of(app, one))) > 3
    clock(LOOK_EVERY + 1)
    second.get("/build/street-turbo")
    assert sitting_of(app, first) is None
    assert sitting_of(app, second) is not None


def test_no_shop_is_held_that_was_opened_anew_since(app: FastAPI, writer: Visitor, shop_folder: Path) -> None:
    """A draft of some steps, a quote and a sheet are asked, then a file changes: nothing holds the old shop."""
    plugs = app.state.desk.library.shop.fillers["spark_plug"][:3]
    for plug in plugs:
        writer.send("/build/street-turbo/fit", position="spark_plug", part=plug)
    for path in ("/bench/street-turbo", "/bench/phase-upgrade", "/build/phase-upgrade", "/quote/street-turbo"):
        assert writer.get(path).status_code == 200
    old = ref(app.state.desk.library.shop)
    steps = len(sitting_of(app, writer).drafts["street-turbo"].steps)
    path = next((shop_folder / "catalog").rglob("*.yaml"))
    path.write_text(path.read_text("utf-8") + "\n# looked over\n", "utf-8")
    app.state.desk.look_again()
    for path in ("/build/street-turbo", "/build/phase-upgrade", "/bench/street-turbo"):
        assert writer.get(path).status_code == 200
    gc.collect()
    assert old() is None
    # and all that was done can still be taken back
    for _ in range(steps):
        assert "Taken back" in writer.send("/build/street-turbo/undo").text
    assert "As its file has it" in writer.get("/build/street-turbo").text
    assert plugs[-1] in app.state.desk.library.shop.parts


@pytest.fixture
def uncollected() -> Iterator[None]:
    """As a command runs: nothing that refers to itself is collected."""
    threshold = gc.get_threshold()
    gc.disable()
    yield
    gc.unfreeze()
    gc.set_threshold(*threshold)
    gc.enable()


def test_while_a_page_is_served_what_refers_to_itself_is_collected(
    app: FastAPI, monkeypatch: pytest.MonkeyPatch, uncollected: None
) -> None:
    seen: list[bool] = []
    monkeypatch.setattr(uvicorn.Server, "run", lambda *_, **__: seen.append(gc.isenabled()))
    run(app, socket.socket(), None, None)
    assert seen == [True]


@pytest.mark.parametrize("name", ["street-turbo", "first-draft", "tarn-20-turbo"])
def test_a_report_lets_go_of_its_check(name: str) -> None:
    """By itself, without a collector: of a check that nobody asks for any more nothing is left."""
    demo = demo_shop()
    session = Session(demo.shop, demo.book)
    ready = build_of_id(session.shop, name)
    gc.disable()
    try:
        checked = session.check(ready)
        gone = ref(checked.world)
        report(checked, fine=False)
        session.known.clear()
        del checked
        assert gone() is None
    finally:
        gc.enable()
