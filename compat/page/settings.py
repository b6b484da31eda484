"""What a page is started with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias

__all__ = ["ROLES", "Role", "Settings"]

Role: TypeAlias = Literal["counter", "bench"]
"""Who stands before the screen: the counter sees and changes everything, the bench its sheets and no price."""

ROLES: tuple[Role, ...] = ("counter", "bench")


@dataclass(frozen=True)
class Settings:
    """What a page is started with.

    Parameters
    ----------
    folder : Path
        The shop.
    hosts : tuple of str
        Names under which it may be asked for, without port.
    passwords : mapping
        argon2 hash of the password of each role; empty where nobody signs in, which only loopback allows.
    secure : bool
        Whether it is served by a certificate, over HTTPS.
    cache : bool
        Whether what is kept of the shop in the user's cache folder may be used.
    drafts : Path, optional
        Folder of the user's own where drafts outlive the page that they were made on; else they end with it.
    """

    folder: Path
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "[::1]")
    passwords: Mapping[Role, str] = field(default_factory=dict)
    secure: bool = False
    cache: bool = True
    drafts: Path | None = None
    port: int = 0
    """Where it listens; the cookie is named after it, so that two shops of one machine do not share one."""
    own_address: bool = False
    """Whether it may also be asked for by the number of the address that a connection came in at: no other
    site can give that out as its own name."""
    most_sittings: int = 500
    """People who signed in, or came back; the longest unseen are forgotten first."""
    most_strangers: int = 5_000
    """Browsers that asked once."""
    most_bytes: int = 1_000_000
    """What one request may bring; lists and photos more, `most_upload`."""
    most_upload: int = 20_000_000
    most_at_once: int = 100_000_000
    """What all requests together may bring that have not arrived whole."""
    most_seconds: float = 20.0
    """How long a request may take to arrive."""
    most_rate: float = 60.0
    """Requests a second from one address, after a burst of four seconds' worth."""
