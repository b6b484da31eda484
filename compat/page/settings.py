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
    """

    folder: Path
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "[::1]")
    passwords: Mapping[Role, str] = field(default_factory=dict)
    secure: bool = False
    cache: bool = True
    most_sittings: int = 500
    most_bytes: int = 1_000_000
    """What one request may bring; lists and photos more, `most_upload`."""
    most_upload: int = 20_000_000
    most_seconds: float = 20.0
    """How long a request may take to arrive."""
    most_rate: float = 60.0
    """Requests a second from one address, after a burst of four seconds' worth."""
