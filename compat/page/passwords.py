"""Passwords of the page: one for each role, kept as argon2 hashes in a file that only its owner reads."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from secrets import token_hex
from threading import BoundedSemaphore
from typing import Final

from argon2 import PasswordHasher, extract_parameters
from argon2.exceptions import Argon2Error, InvalidHashError

from compat.page.settings import ROLES, Role
from compat.shop.source import Fault, Faults, Spot, nearest, read_bytes

__all__ = ["LEAST", "MOST", "hashed", "is_right", "own_file", "read_passwords", "set_password", "weakness"]

VARIABLE: Final = "COMPAT_PASSWORDS"
LEAST: Final = 10
"""Characters that a password has at least."""
MOST: Final = 200
"""Characters that are looked at; a longer one is refused rather than cut."""

_LINE: Final = re.compile(r"([a-z]+):[ \t]+(\S+)")
_HASHER: Final = PasswordHasher()
_AT_ONCE: Final = BoundedSemaphore(2)
"""Each verification takes 64 MB."""


def own_file() -> Path:
    """Where passwords are kept when none is named with the command: what `COMPAT_PASSWORDS` names, else a file
    in the user's folder for settings."""
    if said := os.environ.get(VARIABLE, ""):
        return Path(said)
    from platformdirs import user_config_path

    return user_config_path("shop-compat", appauthor=False) / "passwords"


def weakness(password: str) -> str:
    """Why a password is not taken; empty where it is."""
    if len(password) < LEAST:
        return f"a password has at least {LEAST} characters"
    if len(password) > MOST:
        return f"a password has at most {MOST} characters"
    if not password.isprintable():
        return "a password has no control characters"
    if len(set(password)) < 4:
        return "a password has at least four different characters"
    return ""


def hashed(password: str) -> str:
    """The argon2id hash of a password.

    Examples
    --------
    >>> is_right(hashed("seven spanners"), "seven spanners"), is_right(hashed("seven spanners"), "six")
    (True, False)
    """
    return _HASHER.hash(password)


@cache
def _nobodys() -> str:
    """A hash of what nobody knows, for a role without one: it takes as long to be refused as any other."""
    return hashed(token_hex())


def is_right(known: str | None, password: str) -> bool:
    """Whether a password has this hash; as slow where there is no hash to have."""
    with _AT_ONCE:
        try:
            return _HASHER.verify(known or _nobodys(), password[:MOST]) and known is not None
        except (Argon2Error, InvalidHashError):
            return False


def read_passwords(path: Path) -> dict[Role, str]:
    """The hashes of a file.

    Parameters
    ----------
    path : Path
        A file of lines ``role: hash``, as `set_password` writes it.

    Returns
    -------
    dict
        Hash of each role that has one.

    Raises
    ------
    Faults
        When it cannot be read, when others than its owner may read it, or with each line that is wrong.
    """
    shown = str(path)
    raw = read_bytes(path, shown, 100_000)
    if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        told = f"others than its owner may use this file of passwords; mend it: chmod 600 {path}"
        raise Faults([Fault(Spot(shown, 0), told)])
    found: dict[Role, str] = {}
    faults = []
    for number, line in enumerate(raw.decode("utf-8", "replace").splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        spot = Spot(shown, number, 1)
        match = _LINE.fullmatch(line.strip())
        if match is None:
            faults.append(
                Fault(spot, "is no line of a role and its hash; compat serve --set-password makes one")
            )
            continue
        role = next((one for one in ROLES if one == match[1]), None)
        if role is None:
            faults.append(Fault(spot, f"'{match[1]}' is no role{nearest(match[1], ROLES)}"))
        elif role in found:
            faults.append(Fault(spot, f"'{role}' stands twice"))
        elif not _is_hash(match[2]):
            faults.append(Fault(spot, "is no argon2 hash; compat serve --set-password makes one"))
        else:
            found[role] = match[2]
    if faults:
        raise Faults(faults)
    return found


def set_password(path: Path, role: Role, password: str) -> None:
    """Keep the hash of a password, in the place of the one before.

    Parameters
    ----------
    path : Path
        The file; made with its folder where it is not there, readable by its owner alone.
    role : str
        Whose password it is.
    password : str
        The password.

    Raises
    ------
    Faults
        When the file that is there is wrong.
    OSError
        When it cannot be written.
    """
    known: dict[Role, str] = read_passwords(path) if path.exists() else {}
    known[role] = hashed(password)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    new = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        # never readable by others, not even while it is written
        with os.fdopen(
            os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8"
        ) as file:
            file.write(_text(known))
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)


def _text(known: Mapping[Role, str]) -> str:
    lines = [f"{role}: {known[role]}" for role in ROLES if role in known]
    return "# argon2 hashes, by compat serve --set-password\n" + "\n".join(lines) + "\n"


def _is_hash(text: str) -> bool:
    try:
        extract_parameters(text)
    except InvalidHashError:
        return False
    return True
