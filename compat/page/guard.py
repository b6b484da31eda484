"""What stands before every request: whose host it names, how much it brings, how fast and how often."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from time import monotonic
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from compat.page.settings import Settings

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

MOST_ADDRESSES: Final = 10_000
BURST: Final = 4.0


class Guard:
    """Refuses what no view of ours would send, before anything else looks at it.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    settings : Settings
        Hosts, sizes and rates.
    """

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings
        self._rates: OrderedDict[str, tuple[float, float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
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
            await send(message)

        refused = self._refusal(scope, headers)
        if refused is not None:
            await PlainTextResponse(refused[1] + "\n", refused[0])(scope, receive, sealed)
            return
        body = await self._body(scope, headers, receive)
        if isinstance(body, tuple):
            await PlainTextResponse(body[1] + "\n", body[0], {"connection": "close"})(scope, receive, sealed)
            return
        await self.app(scope, _given(body, receive), sealed)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        name = host.rsplit(":", 1)[0] if host.rpartition(":")[2].isdecimal() else host
        if name.lower() not in self.settings.hosts or len(headers.getlist("host")) != 1:
            return 421, "this page does not answer to that host"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "a view is asked with GET, and changed with POST"
        origin = headers.get("origin")
        site = headers.get("sec-fetch-site", "same-origin")
        strange = origin not in (None, f"{scope['scheme']}://{host}") or site not in ("same-origin", "none")
        if scope["method"] == "POST" and strange:
            return 403, "the form is of another page"
        if not self._in_time(scope["client"][0] if scope.get("client") else ""):
            return 429, "too many requests; wait a moment"
        return None

    def _in_time(self, address: str) -> bool:
        now, rate = monotonic(), self.settings.most_rate
        left, then = self._rates.pop(address, (rate * BURST, now))
        left = min(rate * BURST, left + (now - then) * rate)
        self._rates[address] = (left - 1 if left >= 1 else left, now)
        while len(self._rates) > MOST_ADDRESSES:
            self._rates.popitem(last=False)
        return left >= 1

    async def _body(self, scope: Scope, headers: Headers, receive: Receive) -> bytes | tuple[int, str]:
        """The whole body, or why it is not taken."""
        upload = scope["path"].startswith(UPLOADS)
        most = self.settings.most_upload if upload else self.settings.most_bytes
        too_much = 413, f"more than {most / 1e6:.0f} MB is not taken here"
        said = headers.get("content-length", "0")
        if not said.isdecimal() or int(said) > most:
            return too_much
        body = bytearray()
        try:
            async with asyncio.timeout(self.settings.most_seconds * (3 if upload else 1)):
                while True:
                    message = await receive()
                    if message["type"] != "http.request":
                        return 400, "the request broke off"
                    body += message.get("body", b"")
                    if len(body) > most:
                        return too_much
                    if not message.get("more_body", False):
                        return bytes(body)
        except TimeoutError:
            return 408, "the request took too long to arrive"


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
