"""Where the page listens: its socket, its certificate, and how long it waits for what comes in."""

from __future__ import annotations

import asyncio
import errno
import gc
import ipaddress
import os
import socket
import ssl
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from fastapi import FastAPI

__all__ = ["Line", "check_certificate", "is_loopback", "listen", "names_of", "options", "run", "shown_address"]

HEAD_SECONDS: Final = 10.0
"""How long the head of a request may take to arrive, from its first byte, or from when the line was opened."""
FROM_ONE: Final = 128
"""Lines that one address may hold open: a browser takes six."""
FROM_ALL: Final = 512
HEAD_BYTES: Final = 16_384
KEEP_OPEN: Final = 15
"""How long a line without a request is kept [s]."""
VIEW_MAKES: Final = 10_000
LAST_WORDS: Final = 2
"""How long answers that are under way may take when the page ends [s]."""


class Line(H11Protocol):
    """A connection that does not wait for ever: a head that dribbles in, or never comes, is hung up on."""

    _held: ClassVar[Counter[str]] = Counter()
    _late: asyncio.TimerHandle | None = None
    _counted = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Answer, unless the other end holds too many lines already."""
        super().connection_made(transport)
        self._counted = self.client[0] if self.client else "?"
        self._held[self._counted] += 1
        if self._held[self._counted] > FROM_ONE:
            transport.abort()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._wait_no_more()
        self._held[self._counted] -= 1
        if self._held[self._counted] <= 0:
            del self._held[self._counted]
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came in; the clock runs while a head is not whole."""
        super().data_received(data)
        if self.conn.their_state is not h11.IDLE:
            self._wait_no_more()
        elif self._late is None:
            self._wait()

    def _wait(self) -> None:
        self._late = self.loop.call_later(HEAD_SECONDS, self._hang_up)

    def _wait_no_more(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _hang_up(self) -> None:
        self._late = None
        if not self.transport.is_closing() and self.conn.their_state is h11.IDLE:
            self.transport.abort()


def options() -> dict[str, Any]:
    """How uvicorn is to serve the page, beside where."""
    return {
        "http": Line,
        "ws": "none",
        # a header of the other end would else say from where, and over what, it comes
        "proxy_headers": False,
        "server_header": False,
        "log_level": "error",
        "limit_concurrency": FROM_ALL,
        "h11_max_incomplete_event_size": HEAD_BYTES,
        "timeout_keep_alive": KEEP_OPEN,
        "timeout_graceful_shutdown": LAST_WORDS,
        "backlog": 256,
    }


def is_loopback(address: str) -> bool:
    """Whether an address is this machine's own, which nobody else reaches.

    Examples
    --------
    >>> [is_loopback(one) for one in ("127.0.0.1", "::1", "localhost", "0.0.0.0", "192.0.2.7", "shop.example")]
    [True, True, True, False, False, False]
    """
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return address == "localhost"


def listen(address: str, port: int) -> socket.socket:
    """A socket that listens.

    Parameters
    ----------
    address : str
        Address or name of this machine.
    port : int
        Port; 0 for one that is free.

    Raises
    ------
    Faults
        When the port is taken or not for this user, or the address is none of this machine's.
    """
    # 'localhost' may be either family: the first answers
    where = "127.0.0.1" if address == "localhost" else address
    try:
        found = socket.getaddrinfo(where, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    except (OSError, UnicodeError):
        raise Faults([Fault(Spot("--address", 0), f"'{address}' is no address of this machine")]) from None
    family, kind, protocol, _, place = found[0]
    listener = socket.socket(family, kind, protocol)
    try:
        if os.name == "posix":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        elif hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        listener.bind(place)
        listener.listen(256)
    except OSError as error:
        listener.close()
        raise Faults([Fault(Spot("--port", 0), _why_not(error, address, port))]) from None
    return listener


def _why_not(error: OSError, address: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"{port} is taken on {address}, perhaps by this program already; another, or 0 for one that is free"
        )
    if error.errno == errno.EACCES:
        return f"{port} is not for this user (below 1024 are the system's own); the usual one is 8765"
    if error.errno == errno.EADDRNOTAVAIL:
        return f"'{address}' is no address of this machine"
    return f"cannot listen on {address}, {port}: {error.strerror or error}"


def check_certificate(certificate: Path, key: Path) -> None:
    """Hold a certificate and its key against each other.

    Raises
    ------
    Faults
        When one cannot be read, they do not belong together, or the key is locked.
    """
    faults = []
    for name, path in (("--certificate", certificate), ("--key", key)):
        try:
            path.read_bytes()
        except OSError as error:
            faults.append(Fault(Spot(name, 0), f"{path}: cannot be read: {error.strerror or error}"))
    if faults:
        raise Faults(faults)

    def locked() -> str:
        raise Faults([Fault(Spot("--key", 0), f"{key}: is locked by a pass phrase; take that off first")])

    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, locked)
    except ssl.SSLError as error:
        why = {"KEY_VALUES_MISMATCH": "is not the key of that certificate"}.get(error.reason or "")
        spot = Spot("--key" if why else "--certificate", 0)
        told = why or f"{certificate} and {key} are no certificate and key in PEM"
        raise Faults([Fault(spot, told)]) from None


def names_of(address: str, listener: socket.socket) -> tuple[str, ...]:
    """Names under which the page may be asked for at an address.

    Of an address that stands for all of them, also the name of this machine; its numbers are held against the
    connection itself (`Settings.own_address`).
    """
    names = {shown_address(address)}
    if is_loopback(address):
        names |= {"127.0.0.1", "localhost", "[::1]"}
    else:
        names |= {
            shown_address(listener.getsockname()[0]),
            socket.gethostname().lower(),
            socket.getfqdn().lower(),
        }
    return tuple(sorted(name for name in names if name))


def shown_address(address: str) -> str:
    """An address as a URL has it: of version 6 in brackets."""
    return f"[{address}]" if ":" in address else address.lower()


def run(app: FastAPI, listener: socket.socket, certificate: Path | None, key: Path | None) -> None:
    """Serve until the program is told to end."""
    # a command never collects, a page lives for days. What is there by now, the shop above all, stays; a view
    # makes some ten thousand things and lets them go: looking at them more often than once would only cost
    gc.collect()
    gc.freeze()
    gc.set_threshold(VIEW_MAKES)
    gc.enable()
    secure: dict[str, Any] = {"ssl_certfile": certificate, "ssl_keyfile": key} if certificate and key else {}
    server = uvicorn.Server(uvicorn.Config(app, **options(), **secure))
    try:
        server.run(sockets=[listener])
    except KeyboardInterrupt:
        print(file=sys.stderr)
    finally:
        listener.close()
