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
from compat.page.keeping import Keeping
from compat.page.settings import Role, Settings

__all__ = ["COOKIE", "AnySitting", "AtBench", "AtCounter", "Sitting", "Sittings", "Unforged", "desk_of"]

COOKIE: Final = "compat"
IDLE: Final = 12 * 3600.0
"""How long a sitting is kept that nobody goes on with [s]: a day at the counter."""
STRANGE: Final = 2 * 3600.0
"""And one that asked but once, or has not signed in."""
LOOK_EVERY: Final = 10.0
"""How often it is looked for sittings that are over [s]."""
MOST_STEPS: Final = 20_000
"""Steps of all drafts that are kept at once, some 6 kB each: of fifty people 400 each. Beyond them the longest
unseen sittings end; where drafts are written down, who comes back finds them all the same."""


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
    by: str = ""
    """Who measures, as it stands beside each value."""
    told: list[str] = field(default_factory=list)
    """What is said once, at the next view."""
    keeping: Keeping | None = field(default=None, repr=False)

    @property
    def steps(self) -> int:
        """Steps on its table."""
        return sum(len(draft.steps) for draft in tuple(self.drafts.values()))

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
            draft = self.drafts[name] = Draft(build_of_id(desk.library.shop, name))
            if self.keeping is not None:
                self.keeping.keep(self.key, name, draft)
        return self.drafts[name]


class Sittings:
    """All sittings of a page, the longest unseen dropped first.

    Who comes without a cookie, or has not signed in, is kept apart from whom the page knows: a crowd of
    strangers never costs anybody the builds on the table.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._known: OrderedDict[str, Sitting] = OrderedDict()
        self._strange: OrderedDict[str, Sitting] = OrderedDict()
        self._lock = Lock()
        self._looked = monotonic()
        self.keeping = Keeping(settings.drafts, settings.folder) if settings.drafts is not None else None

    @property
    def cookie(self) -> str:
        """Name of the cookie; over HTTPS one that no other host of the domain can set."""
        name = f"{COOKIE}-{self.settings.port}" if self.settings.port else COOKIE
        return f"__Host-{name}" if self.settings.secure else name

    def role(self, key: str) -> Role | None:
        """The role of a cookie's sitting, without a look at anything else."""
        with self._lock:
            sitting = self._known.get(key) or self._strange.get(key)
            return sitting.role if sitting is not None else None

    def of(self, key: str) -> Sitting | None:
        """The sitting of a cookie, if there is one."""
        with self._lock:
            kept = self._known if key in self._known else self._strange
            sitting = kept.pop(key, None)
            if sitting is None or monotonic() - sitting.seen > IDLE:
                return None
            sitting.seen = monotonic()
            self._keep(sitting, came_back=True)
            self._end_old()
            return sitting

    def begin(self, role: Role | None, *, signed_in: bool = False) -> Sitting:
        """A new sitting."""
        sitting = Sitting(secrets.token_urlsafe(32), role, keeping=self.keeping)
        with self._lock:
            self._keep(sitting, came_back=signed_in)
            self._end_old()
        return sitting

    def end(self, sitting: Sitting) -> None:
        """Forget a sitting."""
        with self._lock:
            self._known.pop(sitting.key, None)
            self._strange.pop(sitting.key, None)

    def _end_old(self) -> None:
        """Forget sittings that nobody goes on with, and the longest unseen while too much lies on tables."""
        now = monotonic()
        if now - self._looked < LOOK_EVERY:
            return
        self._looked = now
        for kept, most in ((self._strange, STRANGE), (self._known, IDLE)):
            while kept and now - next(iter(kept.values())).seen > most:
                kept.popitem(last=False)
        steps = sum(one.steps for one in self._known.values())
        while steps > MOST_STEPS and len(self._known) > 1:
            steps -= self._known.popitem(last=False)[1].steps

    def _keep(self, sitting: Sitting, *, came_back: bool) -> None:
        known = sitting.role is not None and came_back
        kept, most = (
            (self._known, self.settings.most_sittings)
            if known
            else (self._strange, self.settings.most_strangers)
        )
        kept[sitting.key] = sitting
        while len(kept) > most:
            kept.popitem(last=False)


def desk_of(request: Request) -> Desk:
    """The desk of the page that is asked."""
    desk: Desk = request.app.state.desk
    return desk


def sitting_of(request: Request, response: Response) -> Sitting:
    """The sitting that a request belongs to; a new one where it brings none."""
    known: Sitting | None = getattr(request.state, "sitting", None)
    if known is not None:
        return known
    sittings: Sittings = request.app.state.sittings
    key = request.cookies.get(sittings.cookie, "")
    sitting = sittings.of(key)
    if sitting is None:
        sitting = sittings.begin(None if sittings.settings.passwords else "counter")
        request.state.new_sitting = sitting
        if key and sittings.keeping is not None:  # one of before the page was started
            sitting.drafts = sittings.keeping.given_back(key, sitting.key, desk_of(request).library.shop)
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
