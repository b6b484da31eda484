"""The command `calc`: any registered formula at the bench."""

from __future__ import annotations

import json
from typing import Any

from compat.cli.options import console, stop
from compat.engineering import Formula, OutOfRange, Table, find, load_all
from compat.shop.source import nearest
from compat.units import UnitFault, describe, preferred, read_band, show, unit

__all__ = ["run_calc"]


def run_calc(name: str | None, values: list[str], word: str, system: str, as_json: bool) -> None:
    """List the formulas, say what one takes, or run it."""
    if name is None:
        _listing(word)
        return
    formula = find(name)
    if formula is None:
        stop(f"formula '{name}' is not known{nearest(name, load_all())}; `compat calc` lists them")
    if not values:
        _about(formula)
        return
    arguments = _read(formula, values)
    try:
        result = formula.function(**arguments)
    except OutOfRange as error:
        stop(f"{formula.name}: {error}")
    except (ArithmeticError, ValueError) as error:
        stop(f"{formula.name}: has no result for these values ({error})")
    _print(formula, result, system, as_json)


def _listing(word: str) -> None:
    from compat.paper.terminal import print_rows

    found = dict(sorted(load_all().items()))
    if word:
        found = {n: f for n, f in found.items() if word.lower() in f"{n} {f.summary}".lower()}
    if not found:
        stop(f"no formula speaks of '{word}'")
    print_rows(console(), [("", name, formula.summary) for name, formula in found.items()])


def _written(takes: Any) -> str:
    if isinstance(takes, Table):
        return "rows like '" + " , ".join(f"1 {u}" if u != "number" else "1" for u in takes.units) + " ; ...'"
    if isinstance(takes, tuple):
        return "one of " + ", ".join(takes)
    return "a plain number" if takes == "number" else f"in {takes}"


def _about(formula: Formula) -> None:
    from rich.text import Text

    from compat.paper.terminal import print_rows

    out = console()
    out.print(Text(f"{formula.name}: {formula.summary}"))
    rows = [
        ("", key, _written(takes) + (" (may be left out)" if key in formula.optional else ""))
        for key, takes in formula.takes.items()
    ]
    print_rows(out, rows)
    gives = ", ".join(f"{key + ' ' if key else ''}in {text}" for key, text in formula.gives.items())
    out.print(Text(f"Gives {gives}. Source: {formula.source}."))
    if formula.scatter:
        says = ", ".join(f"{key or 'the result'} ±{spread:.0%}" for key, spread in formula.scatter.items())
        out.print(Text(f"The model itself may be off by: {says} ({formula.scatter_source})."))


def _read(formula: Formula, values: list[str]) -> dict[str, Any]:
    faults: list[str] = []
    read: dict[str, Any] = {}
    for text in values:
        key, sign, value = text.partition("=")
        if not sign:
            faults.append(f"'{text}' is not of the form name=value")
        elif key not in formula.takes:
            faults.append(f"{formula.name} takes no '{key}'{nearest(key, formula.takes)}")
        elif key in read:
            faults.append(f"'{key}' is given twice")
        else:
            try:
                read[key] = _value(formula.takes[key], value)
            except ValueError as error:
                faults.append(f"{key}: {error}")
                read[key] = None
    if lacking := [key for key in formula.takes if key not in read and key not in formula.optional]:
        faults.append(
            f"{formula.name} also takes {', '.join(f'{k} ({_written(formula.takes[k])})' for k in lacking)}"
        )
    if faults:
        stop("\n".join(faults))
    return read


def _value(takes: Any, text: str) -> Any:
    if isinstance(takes, tuple):
        if text not in takes:
            raise ValueError(f"'{text}' is not one of {', '.join(takes)}{nearest(text, takes)}")
        return text
    if isinstance(takes, Table):
        rows = [row for row in text.split(";") if row.strip()]
        cells = [[cell.strip() for cell in row.split(",")] for row in rows]
        if any(len(row) != len(takes.units) for row in cells):
            raise ValueError(f"wants {_written(takes)}")
        return tuple(
            tuple(_quantity(u, cell) for u, cell in zip(takes.units, row, strict=True)) for row in cells
        )
    return _quantity(takes, text)


def _quantity(wanted: str, text: str) -> float:
    band = read_band(text)
    own = unit(wanted)
    if band.dimension != own.dimension:
        what = "has no unit" if not band.unit else f"is a {describe(band.dimension)}"
        raise UnitFault(f"'{text}' {what}; wanted is {_written(wanted)}")
    return band.nominal


def _print(formula: Formula, result: Any, system: str, as_json: bool) -> None:
    found = {key: float(getattr(result, key) if key else result) for key in formula.gives}
    names = {key: preferred("" if text == "number" else text, system) for key, text in formula.gives.items()}
    numbers = {key: unit(names[key]).from_si(value) for key, value in found.items()}
    if as_json:
        if formula.single:
            answer: dict[str, Any] = {"value": numbers[""], "unit": names[""]}
        else:
            answer = {"value": numbers, "unit": names}
        print(
            json.dumps(
                {"formula": formula.name, **answer, "source": formula.source}, ensure_ascii=False, indent=2
            )
        )
        return
    out = console()
    from rich.text import Text

    for key, value in found.items():
        spread = formula.scatter.get(key)
        text = show(value, "" if formula.gives[key] == "number" else formula.gives[key], system)
        label = f"{key.replace('_', ' ')}: " if key else f"{formula.name}: "
        out.print(Text(f"{label}{text}" + (f" (model ±{spread:.0%})" if spread else "")))
    out.print(Text(f"Source: {formula.source}.", style="dim"))
