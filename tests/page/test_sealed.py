"""What the page says of itself to a browser: headers, cookies, certificate; and that nothing said is markup."""

from __future__ import annotations

import ssl
import subprocess
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

from compat.library.sources import demo_folder
from compat.page import listening
from compat.page.guard import HEADERS
from tests.conftest import Tiny
from tests.page.visiting import Served, Visitor, make_page


@pytest.mark.parametrize("path", ["/", "/nothing", "/static/page.css", "/static/nothing", "/find?words=rod"])
def test_every_answer_is_sealed(client: Visitor, path: str) -> None:
    answer = client.get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert "server" not in answer.headers
    if not path.startswith("/static/"):
        assert answer.headers["cache-control"] == "no-store"


def test_refusals_are_sealed_too(client: Visitor) -> None:
    for answer in (
        client.ask("GET", "/", headers={"host": "elsewhere.example"}),
        client.ask("PUT", "/"),
        client.ask("POST", "/own", data={}),
    ):
        assert answer.headers["content-security-policy"] == HEADERS["content-security-policy"]


def test_nothing_stands_in_a_view_that_the_policy_forbids(client: Visitor) -> None:
    for path in ("/", "/find?words=rod", "/part/hg-piston-860-308-d120", "/bring", "/lint", "/stock"):
        text = client.get(path).text
        assert "style=" not in text
        assert "<style" not in text
        assert "javascript:" not in text
        assert " onclick" not in text
        assert "<script>" not in text


def test_the_cookie_is_no_scripts_and_no_other_pages(client: Visitor) -> None:
    said = client.get("/").headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said
    assert "path=/" in said
    assert "domain" not in said


def test_over_https_the_cookie_is_of_this_host_alone(visit: Callable[..., Visitor]) -> None:
    who = visit(make_page(demo_folder(), secure=True, port=8765))
    answer = who.get("/")
    said = answer.headers["set-cookie"]
    assert said.startswith("__Host-compat-8765=")
    assert "secure" in said.lower()
    assert answer.headers["strict-transport-security"]


def test_what_a_catalogue_says_is_never_markup(tiny: Tiny, visit: Callable[..., Visitor]) -> None:
    folder = tiny.folder
    evil = '<script>alert(1)</script>"><img src=x onerror=alert(2)>\u202e'
    part = f"- part: evil\n  name: '{evil}'\n  fills: piston\n  families: [hob]\n  note: '{evil}'\n"
    (folder / "catalog/parts/evil.yaml").write_text(part, encoding="utf-8")
    who = visit(make_page(folder))
    for path in ("/find?words=alert", "/parts/piston", "/part/evil", "/lint/file?name=catalog/parts/evil.yaml"):
        text = who.get(path).text
        assert "alert(1)" in text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert "\u202e" not in text


def test_strangers_cost_nobody_the_builds_on_the_table(visit: Callable[..., Visitor]) -> None:
    app = make_page(demo_folder(), most_sittings=3, most_strangers=5)
    keeper = visit(app)
    keeper.get("/")
    keeper.post("/own", units="imperial")
    for _ in range(50):
        visit(app).get("/find")
    assert "<option selected>imperial" in keeper.get("/").text


# ---- certificates


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate of our own for this machine, made by openssl."""
    key, found = folder / "key.pem", folder / "certificate.pem"
    says = ["-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"]
    command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", key, "-out", found, *says]
    made = subprocess.run(command, capture_output=True, check=False)
    if made.returncode:
        pytest.skip("openssl makes no certificate here")
    return found, key


def test_it_is_served_over_https(tmp_path: Path, serve: Callable[..., Served]) -> None:
    pem, key = certificate(tmp_path)
    listening.check_certificate(pem, key)
    page = serve(make_page(demo_folder(), secure=True), ssl_certfile=pem, ssl_keyfile=key, http=listening.Line)
    trust = ssl.create_default_context(cafile=str(pem))
    with httpx.Client(verify=trust, base_url=f"https://localhost:{page.port}") as client:
        view = client.get("/")
        assert view.status_code == 200
        assert client.cookies
        token = view.text.split('name="token" value="')[1].split('"')[0]
        sent = {"origin": f"https://localhost:{page.port}"}
        assert client.post("/own", data={"token": token, "units": "imperial"}, headers=sent).status_code == 303
