"""What stands before every request: whose host it names, how much it brings, how fast and how often."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from time import monotonic
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from compat.page.settings import Settings
from compat.page.sittings import Sittings

__all__ = ["POLICY", "Guard"]

POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""What a browser may load and do for a view: what this page serves, nothing that stands in the view itself."""

HEADERS: Final = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=()",
}

UPLOADS: Final = ("/bring", "/bench")
"""Where lists and photos come in, which are larger than a form."""
ONCE: Final = ("host", "origin", "content-length", "content-type", "content-encoding", "transfer-encoding")
"""Headers that mean something only where they stand once."""

MOST_ADDRESSES: Final = 10_000
BURST: Final = 4.0
A_FILE: Final = 0.2
"""What a file of `static` counts against the rate: it costs that much less than a view."""
MOST_QUERY: Final = 4_000
MOST_PATH: Final = 1_000
SEND_SECONDS: Final = 60.0
"""How long the other end may leave a piece of an answer unread."""


class Guard:
    """Refuses what no view of ours would send, before anything else looks at it.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    settings : Settings
        Hosts, sizes and rates.
    sittings : Sittings
        Who signed in: nobody else brings what is larger than a form.
    """

    def __init__(self, app: ASGIApp, settings: Settings, sittings: Sittings) -> None:
        self.app = app
        self.settings = settings
        self.sittings = sittings
        self._rates: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._coming = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = Headers(scope=scope)

        async def sealed(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    answer.setdefault(name, value)
                if self.settings.secure:
                    answer.setdefault("strict-transport-security", "max-age=31536000")
                if not scope["path"].startswith("/static/"):
                    answer.setdefault("cache-control", "no-store")
            async with asyncio.timeout(SEND_SECONDS):
                await send(message)

        refused = self._refusal(scope, headers)
        if refused is None:
            body = await self._body(scope, headers, receive)
            if isinstance(body, bytes):
                # a head is asked as its view is; the server leaves the body out
                asked = {**scope, "method": "GET"} if scope["method"] == "HEAD" else scope
                await self.app(asked, _given(body, receive), sealed)
                return
            refused = body
        status, why = refused
        # what is not read of a body would else be taken for the next request
        await PlainTextResponse(why + "\n", status, {"connection": "close"})(scope, receive, sealed)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if any(len(headers.getlist(name)) > 1 for name in ONCE):
            return 400, "a header stands twice"
        if not self._is_ours(host, scope):
            return 421, "this page does not answer to that host"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "a view is asked with GET, and changed with POST"
        path, query = scope["path"], scope["query_string"]
        if len(path) > MOST_PATH or len(query) > MOST_QUERY:
            return 414, "that address is too long"
        if not path.startswith("/") or path.startswith("//") or not path.isprintable() or "\\" in path:
            return 400, "that is no address of a view"
        if not _is_asked_from_here(scope, headers, host):
            return 403, "the form is of another page"
        address = scope["client"][0] if scope.get("client") else ""
        if not self._in_time(address, A_FILE if path.startswith("/static/") else 1.0):
            return 429, "too many requests; wait a moment"
        return None

    def _is_ours(self, host: str, scope: Scope) -> bool:
        name, colon, port = host.rpartition(":")
        if not colon or not (port.isascii() and port.isdecimal()):
            name = host
        if name.lower() in self.settings.hosts:
            return True
        if not self.settings.own_address or not scope.get("server"):
            return False
        number = scope["server"][0]
        return name == (f"[{number}]" if ":" in number else number)

    def _in_time(self, address: str, costs: float) -> bool:
        now, rate = monotonic(), self.settings.most_rate
        left, then = self._rates.pop(address, (rate * BURST, now))
        left = min(rate * BURST, left + (now - then) * rate)
        enough = left >= costs
        self._rates[address] = (left - costs if enough else left, now)
        while len(self._rates) > MOST_ADDRESSES:
            self._rates.popitem(last=False)
        return enough

    async def _body(self, scope: Scope, headers: Headers, receive: Receive) -> bytes | tuple[int, str]:
        """The whole body, or why it is not taken."""
        if headers.get("content-encoding", "identity").lower() != "identity":
            return 415, "what is sent here is sent as it is, not packed"
        upload = self._may_bring_much(scope, headers)
        most = self.settings.most_upload if upload else self.settings.most_bytes
        too_much = 413, f"more than {most / 1e6:.0f} MB is not taken here"
        said = headers.get("content-length", "0")
        if not (said.isascii() and said.isdecimal()) or len(said) > 15 or int(said) > most:
            return too_much
        body = bytearray()
        try:
            async with asyncio.timeout(self.settings.most_seconds * (3 if upload else 1)):
                while True:
                    message = await receive()
                    if message["type"] != "http.request":
                        return 400, "the request broke off"
                    more = message.get("body", b"")
                    body += more
                    self._coming += len(more)
                    if len(body) > most:
                        return too_much
                    if self._coming > self.settings.most_at_once:
                        return 503, "too much comes in at once; try again in a moment"
                    if not message.get("more_body", False):
                        return bytes(body)
        except TimeoutError:
            return 408, "the request took too long to arrive"
        finally:
            self._coming -= len(body)

    def _may_bring_much(self, scope: Scope, headers: Headers) -> bool:
        if not any(scope["path"] == one or scope["path"].startswith(one + "/") for one in UPLOADS):
            return False
        cookies = cookie_parser(headers.get("cookie", ""))
        return self.sittings.role(cookies.get(self.sittings.cookie, "")) is not None


def _is_asked_from_here(scope: Scope, headers: Headers, host: str) -> bool:
    """Whether a request comes of a view of ours, or, where it only asks, of a person who follows a link."""
    site = headers.get("sec-fetch-site", "same-origin")
    if scope["method"] == "POST":
        origin = headers.get("origin")
        return origin in (None, f"{scope['scheme']}://{host}") and site in ("same-origin", "none")
    return site in ("same-origin", "none") or headers.get("sec-fetch-mode", "") == "navigate"


def _given(body: bytes, receive: Receive) -> Receive:
    """The body once, then what else the connection says."""
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again
