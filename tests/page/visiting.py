"""A visitor of the page without a browser, and a page that is served on a port of its own."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any
from urllib.parse import quote, urlsplit

import httpx
import uvicorn
from anyio.from_thread import BlockingPortal
from fastapi import FastAPI

from compat.page.app import make_app
from compat.page.settings import Settings

__all__ = ["Apart", "Served", "Visitor", "make_page"]

TOKEN = re.compile(r'name="token" value="([0-9a-f]{128})"')
PATIENCE = 60.0


def make_page(folder: Path, **settings: Any) -> FastAPI:
    """A page of a shop, with no bound on how often it is asked unless one is given."""
    return make_app(Settings(folder, **{"most_rate": 1e9, **settings}))


class Visitor:
    """One browser's worth of requests to an application: keeps cookies, sends the token of its forms.

    What goes wrong inside the application is raised here, so that no test takes a 500 for an answer. Its loop
    runs in a thread of its own: Playwright holds the one of the test.
    """

    def __init__(self, app: FastAPI, portal: BlockingPortal, address: str = "127.0.0.1") -> None:
        self.app = app
        self._portal = portal
        self._transport = httpx.ASGITransport(app, client=(address, 50000))
        self._client = httpx.AsyncClient(
            transport=self._transport, base_url="http://127.0.0.1", timeout=PATIENCE
        )
        self._token = ""

    @property
    def cookies(self) -> httpx.Cookies:
        return self._client.cookies

    def ask(self, method: str, path: str, **says: Any) -> httpx.Response:
        """One request as it is given; redirections are not followed."""
        answer = self._portal.call(lambda: self._client.request(method, path, **says))
        found = TOKEN.search(answer.text) if "html" in answer.headers.get("content-type", "") else None
        if found:
            self._token = found[1]
        return answer

    def get(self, path: str, **asked: Any) -> httpx.Response:
        """Ask for a view."""
        return self.ask("GET", path, **({"params": asked} if asked else {}))

    @property
    def token(self) -> str:
        """The token of the last view."""
        if not self._token:
            self.get("/sign-in")
        if not self._token:
            self.get("/")
        return self._token

    def post(self, path: str, /, files: Any = None, **fields: Any) -> httpx.Response:
        """Send a form with its token; the answer as it comes, mostly 303 to the view after."""
        return self.ask("POST", path, data={"token": self.token, **fields}, files=files)

    def send(self, path: str, /, files: Any = None, **fields: Any) -> httpx.Response:
        """Send a form with its token and follow to the view after."""
        answer = self.post(path, files, **fields)
        for _ in range(5):
            if answer.status_code not in (302, 303, 307):
                break
            split = urlsplit(answer.headers["location"])
            answer = self.ask("GET", split.path + (f"?{split.query}" if split.query else ""))
        return answer

    def sign_in(self, role: str, password: str) -> httpx.Response:
        """Sign in; follows."""
        return self.send("/sign-in", role=role, password=password)

    def close(self) -> None:
        self._portal.call(self._client.aclose)


class Served:
    """A page on a free port of this machine, in a thread."""

    def __init__(self, app: FastAPI, **options: Any) -> None:
        usual = {"log_level": "error", "server_header": False, "timeout_graceful_shutdown": 1}
        config = uvicorn.Config(app, "127.0.0.1", 0, lifespan="off", **{**usual, **options})
        self.app = app
        self._server = uvicorn.Server(config)
        self._thread = Thread(target=self._server.run, daemon=True)
        self._thread.start()
        end = monotonic() + PATIENCE
        while not self._server.started:
            if not self._thread.is_alive() or monotonic() > end:
                raise RuntimeError("the page did not start")
            sleep(0.01)
        self.port: int = self._server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"

    def path(self, *words: str) -> str:
        """The address of a view."""
        return self.url + "/" + "/".join(quote(word, safe="") for word in words)

    def stop(self) -> None:
        self._server.should_exit = True
        self._thread.join(PATIENCE)


class Apart:
    """`compat serve` in a process of its own, that can be killed and started again at the same address.

    Parameters
    ----------
    folder : Path
        The shop.
    options : str
        More options of the command.
    """

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        self.options = options
        self.port = 0
        self.said = ""
        self.start()

    def start(self) -> None:
        """Start it, and wait until it listens."""
        command = [
            sys.executable,
            "-m",
            "compat",
            "serve",
            "--shop",
            str(self.folder),
            "--port",
            str(self.port),
        ]
        self.process = subprocess.Popen(
            [*command, *self.options], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True
        )
        assert self.process.stdout is not None
        self.said = self.process.stdout.readline()
        found = re.search(r"https?://[^:/]+:(\d+)", self.said)
        if found is None:
            self.kill()
            raise RuntimeError(f"the page did not start: {self.said!r}")
        self.port = int(found[1])
        self.url = found[0]
        end = monotonic() + PATIENCE
        while monotonic() < end:
            try:
                httpx.get(self.url + "/static/mark.svg", verify=False)
                return
            except httpx.TransportError:
                sleep(0.02)
        raise RuntimeError("the page did not answer")

    def kill(self) -> None:
        """End it at once, as a power cut would."""
        self.process.kill()
        self.process.wait(PATIENCE)

    def stop(self) -> int:
        """End it as Ctrl-C does; its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)
