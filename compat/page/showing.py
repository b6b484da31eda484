"""Views made of templates: one place that knows what each of them may say."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, TypeVar

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from compat.page.sittings import Sitting, Sittings
from compat.paper.visible import visible
from compat.units import printed

__all__ = ["after", "own_path", "show", "with_cookie"]

Answer = TypeVar("Answer", bound=Response)

VERDICT_WORDS: Final[Mapping[str, str]] = {
    "conflict": "conflict",
    "shortfall": "shortfall",
    "missing": "missing",
    "unknown": "unknown",
    "caution": "caution",
    "measure": "to measure",
    "ok": "fine",
}


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).with_name("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        # nothing of a catalogue may change how a line reads: escape codes, bidirectional marks
        finalize=lambda value: visible(value) if type(value) is str else value,
    )
    environment.globals["verdict_words"] = VERDICT_WORDS
    environment.filters["printed"] = printed
    environment.filters["printed_unit"] = lambda name: printed(f"1 {name}")[2:]
    return environment


ENVIRONMENT: Final = _environment()


def module_of(template: str) -> Any:
    """The macros of a template, to be drawn by themselves."""
    return ENVIRONMENT.get_template(template).module


def show(request: Request, template: str, status: int = 200, **says: Any) -> HTMLResponse:
    """A view.

    Parameters
    ----------
    request : Request
        What it answers.
    template : str
        Name of the template.
    status : int
        HTTP status.
    **says
        What the template is told.
    """
    sitting: Sitting = request.state.sitting
    told, sitting.told = sitting.told, []
    desk = request.app.state.desk
    text = ENVIRONMENT.get_template(template).render(
        request=request, sitting=sitting, token=sitting.token(), told=told, desk=desk, **says
    )
    return with_cookie(request, HTMLResponse(text, status))


def after(request: Request, path: str) -> Response:
    """Where a form leads when what it said is done: the view that shows it, for the next reload too."""
    return with_cookie(request, RedirectResponse(path, 303))


def own_path(asked: str) -> str:
    """A path of this page, as it was asked for; the first view where it is none.

    Examples
    --------
    >>> [own_path(one) for one in ("/find?words=rod", "//elsewhere.example/", "https://elsewhere.example/")]
    ['/find?words=rod', '/', '/']
    """
    # '//host' and '/\\host' would be another's
    ours = asked.startswith("/") and not asked.startswith("//") and "\\" not in asked and asked.isprintable()
    return asked if ours else "/"


def with_cookie(request: Request, response: Answer) -> Answer:
    """Give a new sitting its cookie."""
    new: Sitting | None = getattr(request.state, "new_sitting", None)
    if new is not None:
        sittings: Sittings = request.app.state.sittings
        response.set_cookie(
            sittings.cookie,
            new.key,
            httponly=True,
            samesite="strict",
            secure=sittings.settings.secure,
            path="/",
        )
        request.state.new_sitting = None
    return response
