"""Who sits before the page: one cookie, one role, and the builds on the table."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from time import monotonic
from typing import Annotated, Final

from fastapi import Depends, Form, HTTPException, Request, Response

from compat.library.library import build_of_id
from compat.page.desk import Desk
from compat.page.drafts import Draft
from compat.page.settings import Role, Settings

__all__ = ["COOKIE", "AtBench", "AtCounter", "Sitting", "Sittings", "Unforged", "desk_of"]

COOKIE: Final = "compat"
IDLE: Final = 12 * 3600.0
"""How long a sitting is kept that nobody goes on with [s]."""


@dataclass
class Sitting:
    """One browser's time at the page."""

    key: str
    role: Role | None
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32), repr=False)
    units: str = "metric"
    theme: str = ""
    """`dark` or `light`; empty as the browser has it."""
    drafts: dict[str, Draft] = field(default_factory=dict)
    seen: float = field(default_factory=monotonic)
    told: list[str] = field(default_factory=list)
    """What is said once, at the next view."""

    def token(self) -> str:
        """What a form of this sitting carries; another each time, so that compression tells nothing of it."""
        pad = secrets.token_bytes(32)
        return (pad + bytes(a ^ b for a, b in zip(pad, self.secret, strict=True))).hex()

    def knows(self, token: str) -> bool:
        """Whether a token is one of this sitting's."""
        try:
            raw = bytes.fromhex(token)
        except ValueError:
            return False
        if len(raw) != 64:
            return False
        said = bytes(a ^ b for a, b in zip(raw[:32], raw[32:], strict=True))
        return secrets.compare_digest(said, self.secret)

    def draft(self, desk: Desk, name: str) -> Draft:
        """The draft of a build or variant, by its id.

        Raises
        ------
        Faults
            When the shop has none of that id.
        """
        if name not in self.drafts:
            self.drafts[name] = Draft(build_of_id(desk.library.shop, name))
        return self.drafts[name]


class Sittings:
    """All sittings of a page, the longest unseen dropped first."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._known: OrderedDict[str, Sitting] = OrderedDict()
        self._lock = Lock()

    def of(self, key: str) -> Sitting | None:
        """The sitting of a cookie, if there is one."""
        with self._lock:
            sitting = self._known.get(key)
            if sitting is None or monotonic() - sitting.seen > IDLE:
                self._known.pop(key, None)
                return None
            sitting.seen = monotonic()
            self._known.move_to_end(key)
            return sitting

    def begin(self, role: Role | None) -> Sitting:
        """A new sitting."""
        sitting = Sitting(secrets.token_urlsafe(32), role)
        with self._lock:
            self._known[sitting.key] = sitting
            while len(self._known) > self.settings.most_sittings:
                self._known.popitem(last=False)
        return sitting

    def end(self, sitting: Sitting) -> None:
        """Forget a sitting."""
        with self._lock:
            self._known.pop(sitting.key, None)


def desk_of(request: Request) -> Desk:
    """The desk of the page that is asked."""
    desk: Desk = request.app.state.desk
    return desk


def sitting_of(request: Request, response: Response) -> Sitting:
    """The sitting that a request belongs to; a new one where it brings none."""
    sittings: Sittings = request.app.state.sittings
    sitting = sittings.of(request.cookies.get(COOKIE, ""))
    if sitting is None:
        sitting = sittings.begin(None if sittings.settings.passwords else "counter")
        request.state.new_sitting = sitting
    request.state.sitting = sitting
    return sitting


AnySitting = Annotated[Sitting, Depends(sitting_of)]


def _at_bench(sitting: AnySitting) -> Sitting:
    if sitting.role is None:
        raise HTTPException(401)
    return sitting


def _at_counter(sitting: Annotated[Sitting, Depends(_at_bench)]) -> Sitting:
    if sitting.role != "counter":
        raise HTTPException(403, "this is for the counter")
    return sitting


AtBench = Annotated[Sitting, Depends(_at_bench)]
"""A sitting of anybody who signed in."""

AtCounter = Annotated[Sitting, Depends(_at_counter)]
"""A sitting of the counter."""


def unforged(sitting: AnySitting, token: Annotated[str, Form(max_length=200)] = "") -> None:
    """Refuse a form that none of our own views gave out."""
    if not sitting.knows(token):
        raise HTTPException(403, "the form is not one of this sitting; open the page again")


Unforged = Depends(unforged)
"""For every route that changes anything."""
