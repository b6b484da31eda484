"""Every route of the page, asked with what its description allows and with worse: by property (schemathesis).

Nothing is ever answered with a 5xx; what only asks never writes; what changes something writes only with the
sitting's token, and only where its route writes. `PAGE_EXAMPLES=200` asks each route more often.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import quote, unquote, urlencode

import httpx
import pytest
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from compat.page.passwords import hashed
from tests.page.visiting import Visitor, make_page

schemathesis = pytest.importorskip("schemathesis", reason="routes are not asked by property: no schemathesis")

EXAMPLES = int(os.environ.get("PAGE_EXAMPLES", "3"))
FORM, PARTS = "application/x-www-form-urlencoded", "multipart/form-data"

KNOWN: Mapping[str, tuple[str, ...]] = {
    "name": ("street-turbo", "tarn-20-turbo", "catalog/shop.yaml"),
    "a": ("street-turbo",),
    "b": ("first-draft", "tarn-20-base"),
    "for": ("street-turbo",),
    "position": ("rod", "piston", "injector"),
    "part": ("tarn-22-long-rod", "hg-piston-860-308-d120"),
    "rule": ("deck-clearance", "pin-running-clearance"),
    "work": ("hone-small-end", "bore"),
    "number": ("1", "3", "PB-Q-2026-0001"),
    "power": ("150", "1e9", "-1", "nan"),
    "by": ("guess", "own"),
    "supplier": ("northgate",),
    "words": ("rod", "pistn bore 86 mm", "rod 148 kg"),
    "as": ("csv", "json", "md"),
    "line": ("1", "100000"),
    "units": ("imperial",),
    "file": ("catalog/shop.yaml",),
}
"""Words that mean something here: chance alone would never get past the first look at them."""

MEASURED = "quotes/measured/"
NOWHERE = ("nowhere/",)
WRITES: Mapping[str, tuple[str, ...]] = {
    "/build/{name}/save": ("catalog/builds/",),
    "/build/{name}/save-as": ("catalog/builds/",),
    "/quote/{name}": ("quotes/",),
    "/order/{name}": ("orders/", "quotes/"),
    "/bench/{name}/keep": (MEASURED,),
    "/bench/{name}/{number}": (MEASURED,),
    "/bench/{name}/{number}/photo": (MEASURED,),
    "/bring/take": ("catalog/", "lists/"),
}
"""Routes that write into the shop when they are told to, and where."""

SLOW = ("pdf", "xlsx")
"""Files that take longer to make than all the rest; `tests/page/test_papers.py` asks for them."""


@dataclass(frozen=True)
class Case:
    """A request of a route, before it is known who sends it."""

    route: str
    method: str
    says: Any
    chance: int
    required: tuple[str, ...]
    """Fields that the form must have."""


def some(strategy: Any) -> list[tuple[Any, int]]:
    """Some of what a strategy makes, each with a number to choose by."""
    found: list[tuple[Any, int]] = []

    @settings(
        max_examples=EXAMPLES,
        database=None,
        deadline=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(says=strategy, chance=st.integers(0, 2**32))
    def gather(says: Any, chance: int) -> None:
        found.append((says, chance))

    gather()
    return found


@pytest.fixture(scope="module")
def cases(demo_page: FastAPI) -> list[Case]:
    """Some requests of each route."""
    found: list[Case] = []
    described = demo_page.openapi()
    for result in schemathesis.openapi.from_dict(described).get_all_operations():
        operation = result.ok()
        if operation.path in ("/sign-in", "/sign-out"):
            continue  # guesses are bounded, and each takes its time; `test_signing_in.py` asks
        forms = described["paths"][operation.path][operation.method].get("requestBody", {}).get("content", {})
        required: set[str] = set()
        for form in forms.values():
            name = form["schema"].get("$ref", "").rpartition("/")[2]
            required |= {*described["components"]["schemas"].get(name, form["schema"]).get("required", ())}
        needs = tuple(sorted(required - {"token", "file"}))
        for says, chance in some(operation.as_strategy()):
            found.append(Case(operation.path, operation.method.upper(), says, chance, needs))
    assert len({(case.route, case.method) for case in found}) >= 60
    return found


def state(folder: Path) -> dict[str, tuple[int, int]]:
    """The files of a shop, as the file system has them."""
    return {
        path.relative_to(folder).as_posix(): (path.stat().st_size, path.stat().st_mtime_ns)
        for path in folder.rglob("*")
        if path.is_file()
    }


def content(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def send(who: Visitor, case: Case, token: str) -> httpx.Response:
    """Ask what a case says, mostly with words that mean something here."""
    chance = Random(case.chance)

    def word(name: str, said: object) -> str:
        text = chance.choice(KNOWN[name]) if name in KNOWN and chance.random() < 0.8 else str(said)
        return text.encode("utf-8", "replace").decode()

    path = case.route
    for name, said in (case.says.path_parameters or {}).items():
        path = path.replace("{" + name + "}", quote(unquote(word(name, said)), safe=""))
    query = {name: word(name, said) for name, said in (case.says.query or {}).items()}
    if query.get("as") in SLOW:
        query.pop("as")
    says: dict[str, Any] = {"params": query} if query else {}
    if case.method == "POST":
        body = case.says.body if isinstance(case.says.body, dict) else {}
        asked = {**dict.fromkeys(case.required, ""), **body}
        fields = {word("", name): word(str(name), said) for name, said in asked.items()} | {"token": token}
        if case.says.media_type == PARTS or case.route.endswith("/photo"):
            raw = fields.pop("file", fields.pop("photo", "")).encode()
            says |= {"files": {"file": ("list.csv", raw), "photo": ("photo.png", raw)}, "data": fields}
        else:
            says |= {"content": urlencode(fields).encode(), "headers": {"content-type": FORM}}
    answer = who.ask(case.method, path, **says)
    assert answer.status_code < 500, (case.route, answer.status_code)
    return answer


@pytest.fixture
def shop(shop_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop whose quotes, orders and measured values lie in its own folder."""
    monkeypatch.delenv("COMPAT_QUOTES", raising=False)
    return shop_folder


@pytest.fixture
def pages(shop: Path, visit: Callable[..., Visitor]) -> Iterator[Callable[..., Visitor]]:
    opened: list[FastAPI] = []

    def one(**more: Any) -> Visitor:
        opened.append(make_page(shop, **more))
        return visit(opened[-1])

    yield one
    for app in opened:
        app.state.slowly.close()


def test_a_stranger_gets_nothing_and_writes_nothing(
    shop: Path, pages: Callable[..., Visitor], cases: list[Case]
) -> None:
    who = pages(passwords={"counter": hashed("seven spanners")})
    before = content(shop)
    for case in cases:
        answer = send(who, case, who.token)
        assert answer.status_code >= 300 or case.route == "/bench-worker.js"
        assert "GBP" not in answer.text
    assert content(shop) == before


def test_the_bench_sees_no_price_and_changes_no_build(
    shop: Path, pages: Callable[..., Visitor], cases: list[Case]
) -> None:
    who = pages(passwords={"counter": hashed("seven spanners"), "bench": hashed("torque it twice")})
    who.post("/sign-in", role="bench", password="torque it twice")
    who.get("/bench")
    before, seen = content(shop), 0
    for case in cases:
        answer = send(who, case, who.token)
        assert "GBP" not in answer.text, case.route
        seen += answer.status_code == 200
    assert seen >= 5
    after = {name: raw for name, raw in content(shop).items() if not name.startswith(MEASURED)}
    assert after == before


def test_what_only_asks_never_writes(shop: Path, pages: Callable[..., Visitor], cases: list[Case]) -> None:
    """Nor does what would change something, without the token of the sitting."""
    who = pages()
    who.get("/")
    before, seen = content(shop), 0
    for case in cases:
        answer = send(who, case, "0" * 128)
        if case.method == "POST":
            assert answer.status_code in (400, 403, 404, 422), case.route
        seen += answer.status_code == 200
    assert seen >= 30, "too few views were seen for the requests to mean much"
    assert content(shop) == before


def test_what_is_told_to_writes_only_where_it_says(
    shop: Path, pages: Callable[..., Visitor], cases: list[Case]
) -> None:
    who = pages()
    who.get("/")
    done, wrote, before = 0, set(), state(shop)
    for case in cases:
        if case.method != "POST":
            continue
        done += send(who, case, who.token).status_code == 303
        after = state(shop)
        moved = {name for name in {*before, *after} if before.get(name) != after.get(name)}
        wrote |= {case.route} if moved else set()
        assert all(name.startswith(WRITES.get(case.route, NOWHERE)) for name in moved), (case.route, moved)
        before = after
    assert done >= 10, "too few forms were taken for the requests to mean much"
    assert wrote
