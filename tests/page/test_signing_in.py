"""Two roles, their passwords, and what each reaches."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import monotonic

import pytest
from fastapi import FastAPI

from compat.library.sources import demo_folder
from compat.page.guesses import FROM_ALL, FROM_ONE, WITHIN, Guesses
from compat.page.passwords import hashed, is_right, read_passwords, set_password, weakness
from compat.shop.source import Faults
from tests.page.visiting import Visitor, make_page

COUNTER, BENCH = "seven spanners", "torque it twice"


@pytest.fixture(scope="module")
def locked() -> FastAPI:
    """A page of the demo with a password for each role."""
    return make_page(demo_folder(), passwords={"counter": hashed(COUNTER), "bench": hashed(BENCH)})


@pytest.fixture
def fresh(locked: FastAPI) -> FastAPI:
    """The same with no guess made yet."""
    locked.state.guesses = Guesses()
    return locked


@pytest.fixture
def who(fresh: FastAPI, visit: Callable[..., Visitor]) -> Visitor:
    return visit(fresh)


def test_a_stranger_is_asked_who_it_is(who: Visitor) -> None:
    answer = who.get("/find", words="rod")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in?back=/find"
    form = who.get("/sign-in")
    assert 'type="password"' in form.text
    assert "street-turbo" not in form.text


def test_no_route_answers_a_stranger(who: Visitor) -> None:
    """Every route there is, whoever writes it: none shows or changes anything before somebody signed in."""
    asked = 0
    for path, methods in who.app.openapi()["paths"].items():
        if path in ("/sign-in", "/sign-out", "/bench-worker.js"):  # a script, as those of static/
            continue
        there = path
        for name, value in {"name": "street-turbo", "part": "tarn-22-long-rod", "position": "rod"}.items():
            there = there.replace("{" + name + "}", value)
        there = there.replace("{", "").replace("}", "")
        for method in methods:
            asked += 1
            answer = who.get(there) if method == "get" else who.post(there, position="rod", power="150")
            assert answer.status_code in (303, 401, 422), (method, path)
            if answer.status_code == 303:
                assert answer.headers["location"].startswith("/sign-in"), (method, path)
            assert "street-turbo" not in answer.text.replace(there, "") or answer.status_code == 422
    assert asked >= 15


def test_the_counter_signs_in_and_goes_on(who: Visitor) -> None:
    answer = who.send("/sign-in", role="counter", password=COUNTER, back="/stock")
    assert answer.status_code == 200
    assert "On the shelf" in answer.text
    assert who.get("/").status_code == 200


def test_a_wrong_password_is_refused_in_words(who: Visitor) -> None:
    for password in ("seven spanner", "", COUNTER + " ", COUNTER.upper(), BENCH):
        answer = who.post("/sign-in", role="counter", password=password)
        assert answer.status_code in (403, 422)
    assert who.get("/").status_code == 303


def test_the_key_of_the_sitting_changes(who: Visitor) -> None:
    who.get("/sign-in")
    before = who.cookies["compat"]
    token = who.token
    who.sign_in("counter", COUNTER)
    assert who.cookies["compat"] != before
    # neither the old cookie nor the old token is good for anything
    old = who.ask("GET", "/", headers={"cookie": f"compat={before}"})
    assert old.status_code == 303
    assert who.ask("POST", "/own", data={"token": token, "units": "imperial"}).status_code == 403


def test_a_key_that_was_put_upon_somebody_is_not_taken(who: Visitor) -> None:
    planted = "a" * 43
    answer = who.ask("GET", "/sign-in", headers={"cookie": f"compat={planted}"})
    assert planted not in answer.headers["set-cookie"]


def test_signing_out_ends_it(who: Visitor) -> None:
    who.sign_in("counter", COUNTER)
    key = who.cookies["compat"]
    answer = who.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    assert who.ask("GET", "/", headers={"cookie": f"compat={key}"}).status_code == 303


def test_one_signs_in_only_by_our_own_form(who: Visitor) -> None:
    says = {"role": "counter", "password": COUNTER}
    assert who.ask("POST", "/sign-in", data=says).status_code == 403
    strange = {"origin": "http://elsewhere.example"}
    forged = who.ask("POST", "/sign-in", data={**says, "token": who.token}, headers=strange)
    assert forged.status_code == 403


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example"])
def test_one_is_led_to_no_other_page(who: Visitor, back: str) -> None:
    answer = who.post("/sign-in", role="counter", password=COUNTER, back=back)
    assert answer.headers["location"] == "/"


# ---- what the bench reaches


COUNTERS = [
    *(
        "/",
        "/find?words=rod",
        "/parts",
        "/parts/rod",
        "/part/tarn-22-long-rod",
        "/stock",
        "/bring",
        "/bring/look",
    ),
    *("/lint", "/lint/file?name=catalog/shop.yaml", "/build/street-turbo"),
]


@pytest.mark.parametrize("path", COUNTERS)
def test_the_bench_sees_no_price(who: Visitor, path: str) -> None:
    who.post("/sign-in", role="bench", password=BENCH)
    answer = who.ask("GET", path)
    assert answer.status_code == 403
    assert "GBP" not in answer.text


def test_the_bench_changes_no_build(who: Visitor) -> None:
    who.post("/sign-in", role="bench", password=BENCH)
    for path in ("/build/street-turbo/fit", "/build/street-turbo/undo", "/bring", "/bring/take"):
        assert who.post(path, position="rod", seen="", by="own").status_code in (403, 422)
    assert who.post("/own", units="imperial").status_code == 303


def test_one_does_not_choose_the_role_by_the_other_password(who: Visitor) -> None:
    assert who.post("/sign-in", role="counter", password=BENCH).status_code == 403
    assert who.post("/sign-in", role="bench", password=COUNTER).status_code == 403
    assert who.post("/sign-in", role="owner", password=COUNTER).status_code == 422


def test_a_role_without_a_password_is_nobodys(visit: Callable[..., Visitor]) -> None:
    alone = visit(make_page(demo_folder(), passwords={"counter": hashed(COUNTER)}))
    for password in ("", "None", COUNTER):
        assert alone.post("/sign-in", role="bench", password=password).status_code in (403, 422)


# ---- guesses


def test_guesses_are_bounded_even_the_right_one(fresh: FastAPI, visit: Callable[..., Visitor]) -> None:
    who, other = visit(fresh, "192.0.2.1"), visit(fresh, "192.0.2.2")
    answers = [
        who.post("/sign-in", role="counter", password=f"guess {n}").status_code for n in range(FROM_ONE + 1)
    ]
    assert answers == [403] * FROM_ONE + [429]
    assert who.post("/sign-in", role="counter", password=COUNTER).status_code == 429
    assert other.post("/sign-in", role="counter", password=COUNTER).status_code == 303


def test_no_crowd_shuts_out_who_signed_in_before() -> None:
    now = 0.0
    guesses = Guesses(lambda: now)
    guesses.was_right("192.0.2.1")
    assert [guesses.take(f"198.51.100.{n}") for n in range(FROM_ALL)] == [0.0] * FROM_ALL
    assert guesses.take("203.0.113.1") == WITHIN
    assert guesses.take("192.0.2.1") == 0.0
    now = WITHIN
    assert guesses.take("203.0.113.1") == 0.0


def test_the_time_tells_nothing(who: Visitor) -> None:
    """Right, wrong, and for a role that has no password: none is answered sooner."""

    def takes(password: str, role: str = "counter") -> float:
        began = monotonic()
        who.post("/sign-in", role=role, password=password)
        return monotonic() - began

    times = [takes("wrong one"), takes("wrong one", "bench"), takes(COUNTER)]
    assert min(times) >= 0.4
    assert max(times) - min(times) < 0.5


# ---- where passwords are kept


def test_a_password_is_kept_as_a_hash_for_its_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "settings" / "passwords"
    set_password(path, "counter", COUNTER)
    set_password(path, "bench", BENCH)
    assert COUNTER not in path.read_text()
    assert path.stat().st_mode & 0o777 == 0o600
    kept = read_passwords(path)
    assert is_right(kept["counter"], COUNTER)
    assert is_right(kept["bench"], BENCH)
    assert not is_right(kept["bench"], COUNTER)
    assert kept["counter"].startswith("$argon2id$")
    assert list(path.parent.iterdir()) == [path]


def test_a_file_that_others_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "passwords"
    set_password(path, "counter", COUNTER)
    path.chmod(0o644)
    with pytest.raises(Faults, match="chmod 600"):
        read_passwords(path)


def test_every_line_that_is_wrong_is_told(tmp_path: Path) -> None:
    path = tmp_path / "passwords"
    path.write_text("# ours\ncountr: $argon2id$v=19$x\ncounter plain\ncounter: seven-spanners\n")
    path.chmod(0o600)
    with pytest.raises(Faults) as wrong:
        read_passwords(path)
    told = [str(one) for one in wrong.value.faults]
    assert len(told) == 3
    assert f"{path}:2:1: 'countr' is no role; did you mean 'counter'?" in told
    assert any(":4:1: is no argon2 hash" in one for one in told)


@pytest.mark.parametrize("password", ["", "short", "aaaaaaaaaaaa", "a" * 201, "seven\nspanners"])
def test_what_is_easily_guessed_is_no_password(password: str) -> None:
    assert weakness(password)
    assert not weakness(COUNTER)
