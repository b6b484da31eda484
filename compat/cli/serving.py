"""The command `serve`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from compat.cli.options import choose_folder, stop
from compat.cli.typed import KeepOption, ShopOption

__all__ = ["serve"]


def serve(
    shop: ShopOption = None,
    port: Annotated[int, typer.Option("--port", metavar="PORT", help="Where it listens.")] = 8765,
    no_cache: KeepOption = False,
) -> None:
    """Show the shop in a browser, for counter and bench, until Ctrl-C."""
    _run_serve(choose_folder(shop), not no_cache, port)


def _run_serve(folder: Path, keep: bool, port: int) -> None:
    """Show the shop in a browser until it is stopped."""
    try:
        import uvicorn

        from compat.page.app import make_app
    except ModuleNotFoundError as lacking:
        stop(f"the page needs the extra 'page' ({lacking.name} is not there): pip install 'shop-compat[page]'")
    from compat.page.settings import Settings

    app = make_app(Settings(folder, cache=keep))
    print(f"http://127.0.0.1:{port}/  (Ctrl-C ends it)", flush=True)
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning", server_header=False)
