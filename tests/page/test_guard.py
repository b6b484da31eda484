"""What the page refuses before anything else looks at it."""

from __future__ import annotations

import gzip
import socket
from collections.abc import Callable, Iterator
from time import monotonic, sleep

import httpx
import pytest
from fastapi import FastAPI

from compat.library.sources import demo_folder
from compat.page import listening
from compat.page.guard import MOST_PATH, MOST_QUERY
from tests.page.visiting import Served, Visitor, make_page

HEAD = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n"


@pytest.fixture(scope="module")
def line(demo_page: FastAPI) -> Iterator[Served]:
    """The demo's page, served as `compat serve` does."""
    page = Served(demo_page, **listening.options())
    yield page
    page.stop()


def raw(page: Served, sent: bytes, patience: float = 5.0) -> bytes:
    """What comes back for bytes as they are."""
    with socket.create_connection(("127.0.0.1", page.port), patience) as line:
        line.sendall(sent)
        answer = b""
        try:
            while piece := line.recv(65536):
                answer += piece
                head, _, body = answer.partition(b"\r\n\r\n")
                length = [one for one in head.lower().split(b"\r\n") if one.startswith(b"content-length:")]
                if length and len(body) >= int(length[0].split(b":")[1]):
                    break
        except (TimeoutError, ConnectionResetError):
            pass
        return answer


def status(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1]) if answer else 0


# ---- hosts


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "127.0.0.1.elsewhere.example",
        "localhost.elsewhere.example:8765",
        "user@127.0.0.1",
        "127.0.0.1@elsewhere.example",
        "127.0.0.1, elsewhere.example",
        "[::ffff:127.0.0.1]",
        "0x7f000001",
        "2130706433",
        "127.1",
        "0.0.0.0",
        "localhost.",
        "127.0.0.1:80:80",
        "127.0.0.1:x",
        "[::1",
        "",
        " ",
    ],
)
def test_no_other_host_is_answered(client: Visitor, host: str) -> None:
    answer = client.ask("GET", "/", headers={"host": host})
    assert answer.status_code == 421
    assert "street-turbo" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost:8765", "LocalHost", "[::1]", "[::1]:8765"])
def test_the_own_names_are_answered(client: Visitor, host: str) -> None:
    assert client.ask("GET", "/", headers={"host": host}).status_code == 200


def test_a_number_is_answered_only_where_it_is_that_of_the_connection(visit: Callable[..., Visitor]) -> None:
    """httpx's transport says the connection came in at the host of its address, 127.0.0.1."""
    who = visit(make_page(demo_folder(), hosts=("shop.example",), own_address=True))
    assert who.ask("GET", "/", headers={"host": "127.0.0.1:8765"}).status_code == 200
    assert who.ask("GET", "/", headers={"host": "shop.example"}).status_code == 200
    assert who.ask("GET", "/", headers={"host": "192.0.2.1"}).status_code == 421
    assert who.ask("GET", "/", headers={"host": "127.0.0.1x"}).status_code == 421


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (b"GET / HTTP/1.1\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: elsewhere.example\r\n", 400),
        (b"GET / HTTP/1.0\r\nHost: elsewhere.example\r\n", 421),
        (b"GET http://elsewhere.example/ HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET // HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET //elsewhere.example/%2e%2e HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET /%00 HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET /%0d%0aSet-Cookie:%20a=b HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET /static/%5c..%5capp.py HTTP/1.1\r\nHost: 127.0.0.1\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: a\x00b\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost : 127.0.0.1\r\n", 400),
        (b"OPTIONS * HTTP/1.1\r\nHost: 127.0.0.1\r\n", 405),
        (b"CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: 127.0.0.1\r\n", 405),
        (b"TRACE / HTTP/1.1\r\nHost: 127.0.0.1\r\n", 405),
        (b"DELETE /build/street-turbo HTTP/1.1\r\nHost: 127.0.0.1\r\n", 405),
        (b"not http at all\r\n", 400),
    ],
)
def test_what_no_browser_sends_is_refused(line: Served, lines: bytes, expected: int) -> None:
    answer = raw(line, lines + b"\r\n")
    assert status(answer) == expected
    assert b"street-turbo" not in answer
    assert b"a=b" not in answer


# ---- paths


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/static/....//app.py",
        "/static/%252e%252e/app.py",
        "/static//etc/passwd",
        "/static/static/../../app.py",
        "/static/.",
        "/static",
        "/build/..%2f..%2fcatalog%2fshop",
        "/part/..%2f..%2f..%2fetc%2fpasswd",
        "/parts/%2e%2e%2f",
        "/build/%2e%2e",
    ],
)
def test_a_path_leads_out_of_nothing(line: Served, path: str) -> None:
    answer = raw(line, f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode())
    assert status(answer) in (307, 400, 404)
    assert b"import" not in answer
    assert b"root:" not in answer


def test_too_long_an_address_is_refused(client: Visitor, line: Served) -> None:
    assert client.get("/" + "a" * MOST_PATH).status_code == 414
    assert client.ask("GET", "/find?words=" + "a" * MOST_QUERY).status_code == 414
    long = b"GET /" + b"a" * 1_000_000 + b" HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    assert status(raw(line, long)) in (0, 400, 414)
    assert status(raw(line, HEAD + b"X-More: a\r\n" * 200_000 + b"\r\n")) in (0, 400)


def test_a_head_has_the_answer_of_its_view_and_no_body(line: Served) -> None:
    answer = raw(line, b"HEAD /find HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
    head, _, body = answer.partition(b"\r\n\r\n")
    assert status(head) == 200
    assert body == b""


# ---- other pages' forms


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "https://127.0.0.1"},
        {"origin": "http://127.0.0.1:99"},
        {"origin": "http://127.0.0.1.elsewhere.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://127.0.0.1", "sec-fetch-site": "cross-site"},
    ],
)
def test_a_form_of_another_page_is_refused(client: Visitor, headers: dict[str, str]) -> None:
    data = {"token": client.token, "units": "imperial"}
    assert client.ask("POST", "/own", data=data, headers=headers).status_code == 403
    assert "<option selected>metric" in client.get("/").text


@pytest.mark.parametrize("token", ["", "0" * 128, "z" * 128, "ab", "é" * 128, "0" * 200, "0" * 100_000])
def test_a_form_without_the_sittings_token_is_refused(client: Visitor, token: str) -> None:
    client.get("/")
    answer = client.ask("POST", "/own", data={"token": token, "units": "imperial"})
    assert answer.status_code in (403, 422)
    assert "<option selected>metric" in client.get("/").text


def test_the_token_of_one_sitting_is_not_anothers(demo_page: FastAPI, visit: Callable[..., Visitor]) -> None:
    one, other = visit(demo_page), visit(demo_page)
    other.get("/")
    assert other.ask("POST", "/own", data={"token": one.token, "units": "imperial"}).status_code == 403


def test_every_view_gives_another_token(client: Visitor) -> None:
    client.get("/")
    first = client.token
    client.get("/")
    assert client.token != first
    assert client.ask("POST", "/own", data={"token": first, "units": "metric"}).status_code == 303


def test_another_page_may_link_here_but_not_load_from_here(client: Visitor) -> None:
    cross = {"sec-fetch-site": "cross-site"}
    assert client.ask("GET", "/find", headers={**cross, "sec-fetch-mode": "navigate"}).status_code == 200
    assert client.ask("GET", "/find", headers={**cross, "sec-fetch-mode": "no-cors"}).status_code == 403
    assert client.ask("GET", "/static/page.css", headers={**cross, "sec-fetch-mode": "cors"}).status_code == 403


# ---- what is brought


def test_a_form_has_its_bound(client: Visitor) -> None:
    assert client.post("/own", units="metric", back="/" + "a" * 1_100_000).status_code == 413
    assert client.post("/own", units="metric", back="/" + "a" * 1000).status_code == 422
    many = "&".join(f"a{number}=b" for number in range(5000))
    answer = client.ask(
        "POST",
        "/own",
        content=f"token={client.token}&{many}".encode(),
        headers={"content-type": "application/x-www-form-urlencoded"},
    )
    assert answer.status_code == 400


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [
        (b"Content-Length: 99999999999999999999\r\n", 413),
        (b"Content-Length: 2000000\r\n", 413),
        (b"Content-Length: -1\r\n", 400),
        (b"Content-Length: 1e3\r\n", 400),
        (b"Content-Length: 5\r\nContent-Length: 6\r\n", 400),
        (b"Transfer-Encoding: gzip, chunked\r\n", 400),
        (b"Content-Encoding: gzip\r\nContent-Length: 5\r\n", 415),
    ],
)
def test_lengths_that_lie_are_refused(line: Served, lengths: bytes, expected: int) -> None:
    answer = raw(line, b"POST /own HTTP/1.1\r\nHost: 127.0.0.1\r\n" + lengths + b"\r\nhello")
    assert status(answer) == expected


def test_a_body_in_pieces_is_counted(line: Served) -> None:
    piece = b"%x\r\n" % 100_000 + b"a" * 100_000 + b"\r\n"
    head = b"POST /own HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"
    with socket.create_connection(("127.0.0.1", line.port), 10) as sock:
        sock.sendall(head)
        try:
            for _ in range(12):
                sock.sendall(piece)
            answer = sock.recv(4096)
        except ConnectionError:
            answer = b""
    assert status(answer) in (0, 413)


def test_packed_bodies_are_not_unpacked(client: Visitor) -> None:
    bomb = gzip.compress(b"\0" * 10_000_000)
    answer = client.ask("POST", "/own", content=bomb, headers={"content-encoding": "gzip"})
    assert answer.status_code == 415


def test_only_who_signed_in_brings_more_than_a_form(portal: object, visit: Callable[..., Visitor]) -> None:
    large = {"file": ("list.csv", b"a" * 2_000_000)}
    stranger = visit(make_page(demo_folder(), passwords={"counter": "$argon2id$x"}))
    stranger.get("/sign-in")
    assert stranger.post("/bring", files=large, by="own").status_code == 413
    local = visit(make_page(demo_folder()))
    assert local.post("/bring", files=large, by="own").status_code == 303
    assert local.post("/bringing", files=large).status_code == 413
    huge = {"file": ("list.csv", b"a" * 21_000_000)}
    assert local.post("/bring", files=huge, by="own").status_code == 413


def test_slow_bodies_are_not_waited_for(serve: Callable[..., Served]) -> None:
    page = serve(make_page(demo_folder(), most_seconds=0.5))
    with socket.create_connection(("127.0.0.1", page.port), 10) as sock:
        sock.sendall(b"POST /own HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1000\r\n\r\n")
        began = monotonic()
        with pytest.raises(ConnectionError):  # noqa: PT012  each byte may be the last that is taken
            for _ in range(60):
                sock.sendall(b"a")
                sleep(0.05)
        assert monotonic() - began < 3


def test_slow_heads_are_hung_up_on(
    serve: Callable[..., Served], demo_page: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listening, "HEAD_SECONDS", 0.4)
    page = serve(demo_page, http=listening.Line, timeout_keep_alive=1)
    for sent in (b"", b"GET / HT", HEAD, HEAD + b"\r\n" + HEAD):
        with socket.create_connection(("127.0.0.1", page.port), 5) as sock:
            sock.sendall(sent)
            began = monotonic()
            try:
                while sock.recv(65536):
                    pass
            except ConnectionResetError:
                pass
            assert monotonic() - began < 4, sent


def test_one_address_holds_only_so_many_lines(
    serve: Callable[..., Served], demo_page: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listening, "FROM_ONE", 5)
    page = serve(demo_page, http=listening.Line)
    lines = [socket.create_connection(("127.0.0.1", page.port), 5) for _ in range(8)]
    sleep(0.3)
    answers = []
    for one in lines:
        try:
            one.sendall(HEAD + b"Connection: close\r\n\r\n")
            answers.append(status(one.recv(4096)))
        except ConnectionError:
            answers.append(0)
        one.close()
    assert answers.count(200) == 5
    assert answers.count(0) == 3
    sleep(0.3)
    assert httpx.get(page.url).status_code == 200


def test_too_many_requests_are_put_off(visit: Callable[..., Visitor]) -> None:
    app = make_page(demo_folder(), most_rate=5.0)
    one, other = visit(app), visit(app, "192.0.2.7")
    answers = [one.get("/sign-in").status_code for _ in range(30)]
    assert 429 in answers
    assert answers.index(429) >= 20
    assert other.get("/sign-in").status_code != 429
    sleep(0.5)
    assert one.get("/sign-in").status_code != 429


def test_where_a_request_comes_from_is_not_what_it_says(line: Served) -> None:
    """Else a header would choose whose bound it counts against, and pass for HTTPS."""
    assert listening.options()["proxy_headers"] is False
    forged = (
        HEAD + b"X-Forwarded-For: 192.0.2.9\r\nX-Forwarded-Proto: https\r\nOrigin: https://127.0.0.1\r\n\r\n"
    )
    answer = raw(line, forged.replace(b"GET /", b"POST /own", 1))
    assert status(answer) == 403


def test_no_other_talk_is_taken_up(line: Served) -> None:
    upgrade = HEAD + (
        b"Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
        b"Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
    )
    assert status(raw(line, upgrade)) == 200
    assert status(raw(line, HEAD + b"Connection: Upgrade, HTTP2-Settings\r\nUpgrade: h2c\r\n\r\n")) == 200
