"""The command `serve`."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from compat.cli.options import choose_folder, stop
from compat.cli.typed import KeepOption, ShopOption
from compat.record import record
from compat.shop.source import Faults, nearest

if TYPE_CHECKING:
    from compat.page.settings import Role

__all__ = ["serve"]

PORT = 8765


@record
class AskedPage:
    """What was typed."""

    port: int
    address: str
    names: tuple[str, ...] = ()
    certificate: Path | None = None
    key: Path | None = None
    password_file: Path | None = None


def serve(
    shop: ShopOption = None,
    port: Annotated[
        int,
        typer.Option(
            "--port", metavar="PORT", min=0, max=65535, help="Where it listens; 0 for one that is free."
        ),
    ] = PORT,
    address: Annotated[
        str,
        typer.Option(
            "--address",
            metavar="ADDRESS",
            help="Address it listens at. One that other machines reach wants a password, and should have "
            "--certificate.",
        ),
    ] = "127.0.0.1",
    name: Annotated[
        Optional[list[str]],  # noqa: UP045  typer reads the annotation at run time
        typer.Option("--name", metavar="NAME", help="A further name under which browsers ask for it."),
    ] = None,
    certificate: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("--certificate", metavar="FILE", help="Certificate in PEM, for HTTPS; goes with --key."),
    ] = None,
    key: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("--key", metavar="FILE", help="Key of the certificate, in PEM."),
    ] = None,
    password_file: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option(
            "--password-file",
            metavar="FILE",
            help="Where --set-password keeps passwords; else the user's own folder for settings.",
        ),
    ] = None,
    set_password: Annotated[
        str,
        typer.Option(
            "--set-password",
            metavar="counter|bench",
            help="Ask for the password of counter or bench and keep its hash; serves nothing.",
        ),
    ] = "",
    no_cache: KeepOption = False,
) -> None:
    """Show the shop in a browser, for counter and bench, until Ctrl-C."""
    asked = AskedPage(port, address, tuple(name or ()), certificate, key, password_file)
    try:
        if set_password:
            _set_password(set_password, password_file)
        else:
            _run_serve(choose_folder(shop), not no_cache, asked)
    except ModuleNotFoundError as lacking:
        if (lacking.name or "").startswith("compat"):
            raise
        stop(f"the page needs the extra 'page' ({lacking.name} is not there): pip install 'shop-compat[page]'")
    except Faults as wrong:
        stop(*map(str, wrong.faults))


def _run_serve(folder: Path, keep: bool, asked: AskedPage) -> None:
    """Show the shop in a browser until it is stopped."""
    from socket import gethostname

    from compat.page.app import make_app
    from compat.page.keeping import drafts_folder
    from compat.page.listening import check_certificate, is_loopback, listen, names_of, run, shown_address
    from compat.page.settings import Settings

    if (asked.certificate is None) != (asked.key is None):
        stop("--certificate, --key: each goes with the other")
    if asked.certificate and asked.key:
        check_certificate(asked.certificate, asked.key)
    local = is_loopback(asked.address)
    passwords = _passwords(asked.password_file, local)
    with listen(asked.address, asked.port) as listener:
        where, port = listener.getsockname()[:2]
        hosts = (*names_of(asked.address, listener), *(name.lower() for name in asked.names))
        secure = asked.certificate is not None
        drafts = drafts_folder()
        settings = Settings(folder, hosts, passwords, secure, keep, drafts, port=port, own_address=not local)
        app = make_app(settings)
        if not local and not secure:
            print(
                "Over plain HTTP anybody on the network between can read passwords and prices, and change what "
                "is shown.\nOnly on a network of your own; better with --certificate and --key.",
                file=sys.stderr,
            )
        everywhere = where in ("0.0.0.0", "::")
        shown = gethostname() if everywhere else shown_address(where)
        print(f"{'https' if secure else 'http'}://{shown}:{port}/  (Ctrl-C ends it)", flush=True)
        run(app, listener, asked.certificate, asked.key)


def _passwords(file: Path | None, local: bool) -> Mapping[Role, str]:
    """The hashes to hold passwords against; where others reach the page, one of the counter at least."""
    from compat.page.passwords import hashed, own_file, read_passwords

    path = file or own_file()
    if file is None and not path.exists():
        if local:
            return {}
        if not sys.stdin.isatty():
            stop(
                "--address: others reach the page there, so it wants a password first: "
                "compat serve --set-password counter"
            )
        return {"counter": hashed(_asked_for("counter"))}
    found = read_passwords(path)
    if "counter" not in found:
        stop(f"{path}: the counter has no password yet: compat serve --set-password counter")
    return found


def _set_password(word: str, file: Path | None) -> None:
    """Keep the hash of a password that is asked for."""
    from compat.page.passwords import own_file, set_password
    from compat.page.settings import ROLES

    role = next((one for one in ROLES if one == word), None)
    if role is None:
        stop(f"--set-password: '{word}' is neither counter nor bench{nearest(word, ROLES)}")
    path = file or own_file()
    try:
        set_password(path, role, _asked_for(role))
    except OSError as error:
        stop(f"{path}: cannot be written: {error.strerror or error}")
    print(f"wrote {path}; from the next start on the page asks for it")


def _asked_for(role: str) -> str:
    """A password, typed twice at the screen, or the first line of what is piped in."""
    from getpass import getpass

    from compat.page.passwords import MOST, weakness

    if not sys.stdin.isatty():
        password = sys.stdin.readline(MOST + 2).rstrip("\r\n")
    else:
        try:
            password = getpass(f"Password of the {role}: ")
            if password and not weakness(password) and getpass("Once more: ") != password:
                stop("the two are not the same; nothing was kept")
        except (EOFError, KeyboardInterrupt):
            stop("", "nothing was kept")
    if why := weakness(password):
        stop(f"{why}; nothing was kept")
    return password
