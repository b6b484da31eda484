"""Arguments that formulas work for: those of the example in each docstring."""

from __future__ import annotations

import doctest
import inspect
from dataclasses import asdict, is_dataclass
from functools import cache
from typing import Any

from compat.engineering import load_all

__all__ = ["example_of"]

FORMULAS = load_all()


@cache
def example_of(name: str) -> dict[str, Any]:
    """Arguments that the formula's own docstring calls it with, defaults filled in."""
    function = inspect.unwrap(FORMULAS[name].function)
    calls: list[dict[str, Any]] = []

    def recorder(*arguments: Any, **named: Any) -> Any:
        bound = inspect.signature(function).bind(*arguments, **named)
        bound.apply_defaults()
        calls.append({})
        for key, value in bound.arguments.items():
            calls[-1] |= asdict(value) if is_dataclass(value) else {key: value}
        return function(*arguments, **named)

    surroundings = dict(vars(inspect.getmodule(function)))
    test = doctest.DocTestParser().get_doctest(inspect.getdoc(function) or "", surroundings, name, None, 0)
    test.globs[name] = recorder
    doctest.DocTestRunner(verbose=False).run(test, out=lambda _: None)
    return calls[0]
