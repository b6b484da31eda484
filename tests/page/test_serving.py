"""`compat serve` as it is typed: where it listens, what it asks for, how it ends."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from compat.page.listening import listen
from compat.shop.source import Faults
from tests.page.test_sealed import certificate
from tests.page.visiting import Apart


def typed(*words: object, given: str = "", **more: str) -> subprocess.CompletedProcess[str]:
    """Run `compat serve` where it is expected to end by itself."""
    return subprocess.run(
        [sys.executable, "-m", "compat", "serve", *map(str, words)],
        input=given,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={**os.environ, **more},
    )


def test_it_says_where_it_listens_and_ends_cleanly(apart: Apart) -> None:
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/  \(Ctrl-C ends it\)\n", apart.said)
    assert "street-turbo" in httpx.get(apart.url).text
    assert apart.stop() == 0


def test_killed_it_is_started_again_at_the_same_address(apart: Apart) -> None:
    before = apart.url
    apart.kill()
    apart.start()
    assert apart.url == before
    assert httpx.get(apart.url).status_code == 200


def test_it_ends_while_somebody_waits(apart: Apart) -> None:
    with socket.create_connection(("127.0.0.1", apart.port)) as line:
        line.sendall(b"POST /own HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 10\r\n\r\n")
        assert apart.stop() == 0


def test_a_port_that_is_taken_is_told() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        ran = typed("--port", port)
    assert ran.returncode == 2
    assert f"{port} is taken on 127.0.0.1" in ran.stderr
    assert "Traceback" not in ran.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--port", "70000"), "65535"),
        (("--port", "0", "--address", "192.0.2.1"), "wants a password first"),
        (("--port", "0", "--address", "0.0.0.0"), "wants a password first"),
        (("--port", "0", "--address", "::"), "wants a password first"),
        (("--certificate", "nothing.pem"), "each goes with the other"),
        (("--certificate", "nothing.pem", "--key", "nothing.key"), "nothing.key: cannot be read"),
        (("--password-file", "nothing"), "nothing:1:1: cannot be read"),
        (("--set-password", "benhc"), "did you mean 'bench'?"),
        (("--shop", "nothing"), "is not a folder"),
    ],
)
def test_what_cannot_be_is_told_in_a_line(words: tuple[str, ...], told: str) -> None:
    ran = typed(*words)
    assert ran.returncode == 2
    assert told in ran.stderr
    assert "Traceback" not in ran.stderr


@pytest.mark.parametrize("address", ["nowhere.invalid", "192.0.2.1", "not an address", "a" * 300])
def test_an_address_of_another_machine_is_told(address: str) -> None:
    with pytest.raises(Faults, match="is no address of this machine"):
        listen(address, 0)


def test_a_certificate_is_held_against_its_key(tmp_path: Path) -> None:
    pem, key = certificate(tmp_path)
    (tmp_path / "other").mkdir()
    _, other = certificate(tmp_path / "other")
    ran = typed("--port", "0", "--certificate", pem, "--key", other)
    assert ran.returncode == 2
    assert "is not the key of that certificate" in ran.stderr
    ran = typed("--port", "0", "--certificate", key, "--key", key)
    assert ran.returncode == 2
    assert "no certificate and key in PEM" in ran.stderr


def test_a_key_that_is_locked_is_told_and_not_waited_for(tmp_path: Path) -> None:
    pem, key = certificate(tmp_path)
    locked = tmp_path / "locked.pem"
    command = ["openssl", "rsa", "-aes256", "-passout", "pass:secret", "-in", str(key), "-out", str(locked)]
    subprocess.run(command, check=True, capture_output=True)
    ran = typed("--port", "0", "--certificate", pem, "--key", locked)
    assert ran.returncode == 2
    assert "is locked by a pass phrase" in ran.stderr


def test_a_password_is_set_and_asked_for_from_then_on(shop_folder: Path, tmp_path: Path) -> None:
    kept = tmp_path / "settings" / "passwords"
    ran = typed("--set-password", "counter", "--password-file", kept, given="seven spanners\n")
    assert ran.returncode == 0
    assert f"wrote {kept}" in ran.stdout
    page = Apart(shop_folder, "--password-file", str(kept))
    try:
        answer = httpx.get(page.url)
        assert answer.headers["location"] == "/sign-in?back=/"
        assert "street-turbo" not in answer.text
    finally:
        page.stop()


def test_a_weak_password_is_not_kept(tmp_path: Path) -> None:
    kept = tmp_path / "passwords"
    ran = typed("--set-password", "bench", "--password-file", kept, given="short\n")
    assert ran.returncode == 2
    assert "at least 10 characters" in ran.stderr
    assert not kept.exists()


def test_where_others_reach_it_the_danger_is_said(shop_folder: Path, tmp_path: Path) -> None:
    kept = tmp_path / "passwords"
    typed("--set-password", "counter", "--password-file", kept, given="seven spanners\n")
    where = ["--shop", str(shop_folder), "--port", "0", "--address", "0.0.0.0", "--password-file", str(kept)]
    started = subprocess.Popen(
        [sys.executable, "-m", "compat", "serve", *where],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert started.stdout is not None
    said = started.stdout.readline()
    port = re.search(r":(\d+)/", said)
    assert port is not None
    answer = httpx.get(f"http://127.0.0.1:{port[1]}/")
    strange = httpx.get(f"http://127.0.0.1:{port[1]}/", headers={"host": "elsewhere.example"})
    started.send_signal(signal.SIGINT)
    _, warned = started.communicate(timeout=60)
    assert answer.status_code == 303
    assert strange.status_code == 421
    assert "Over plain HTTP anybody on the network between can read passwords" in warned
    assert started.returncode == 0


def test_only_the_bench_has_a_password_is_not_enough(tmp_path: Path) -> None:
    kept = tmp_path / "passwords"
    typed("--set-password", "bench", "--password-file", kept, given="torque it twice\n")
    ran = typed("--port", "0", "--password-file", kept)
    assert ran.returncode == 2
    assert "the counter has no password yet" in ran.stderr


def test_without_the_extra_it_says_what_to_install(tmp_path: Path) -> None:
    """As on a machine with `shop-compat` alone: its page's packages are hidden."""
    hide = tmp_path / "sitecustomize.py"
    hide.write_text(
        "import sys\n"
        "class Hidden:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.partition('.')[0] in ('fastapi', 'starlette', 'uvicorn', 'argon2', 'jinja2'):\n"
        "            raise ModuleNotFoundError(f'No module named {name!r}', name=name)\n"
        "sys.meta_path.insert(0, Hidden())\n"
    )
    ways = os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH"), str(Path.cwd())])])
    for words in (("--port", "0"), ("--set-password", "counter")):
        ran = typed(*words, given="seven spanners\n", PYTHONPATH=ways)
        assert ran.returncode == 2
        assert "the page needs the extra 'page'" in ran.stderr
        assert "pip install 'shop-compat[page]'" in ran.stderr
        assert "Traceback" not in ran.stderr
