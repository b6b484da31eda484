"""The command `calc`: any registered formula at the bench."""

from __future__ import annotations

import json
from typing import Any

from compat.cli.options import stop
from compat.engineering import Formula, OutOfRange, Table, find, load_all
from compat.paper.formulas import written
from compat.paper.visible import json_safe
from compat.shop.source import nearest
from compat.units import Band, UnitFault, preferred, read_band, unfit, unit

__all__ = ["run_calc"]


def run_calc(name: str | None, values: list[str], word: str, system: str, as_json: bool) -> None:
    """List the formulas, say what one takes, or run it."""
    if as_json and not values:
        stop("--json wants a formula and its values; `compat calc NAME` says what it takes")
    if name is None:
        _listing(word)
        return
    formula = find(name)
    if formula is None:
        stop(
            f"formula '{name}' is not known{nearest(name, load_all())}",
            f"`compat calc` lists them all, `compat calc --find {name}` those that speak of it",
        )
    if not values:
        _about(formula)
        return
    bands = _read(formula, values)
    found = _run(formula, _nominal(bands), system)
    _print(formula, found, _half_widths(formula, bands, found, system), system, as_json)


def _nominal(bands: dict[str, Any]) -> dict[str, Any]:
    return {key: value.nominal if isinstance(value, Band) else value for key, value in bands.items()}


def _run(formula: Formula, arguments: dict[str, Any], system: str) -> dict[str, float]:
    """Every result by its name; a refusal is a message in the units typed."""
    from compat.rulebook.values import refused
    from compat.words.wording import refusal_text

    try:
        result = formula.function(**arguments)
    except OutOfRange as error:
        stop(f"{formula.name}: {refusal_text(refused(formula, error)._replace(formula=''), system)}")
    except (ArithmeticError, ValueError) as error:
        stop(f"{formula.name}: has no result for these values ({error})")
    return {key: float(getattr(result, key) if key else result) for key in formula.gives}


def _half_widths(
    formula: Formula, bands: dict[str, Any], middle: dict[str, float], system: str
) -> dict[str, float]:
    """Worst case of the tolerances typed: each argument moved to its ends, the moves added."""
    plain = _nominal(bands)
    half = dict.fromkeys(middle, 0.0)
    for key, band in bands.items():
        if isinstance(band, Band) and band.low != band.high:
            ends = [_run(formula, {**plain, key: end}, system) for end in (band.low, band.high)]
            for result in middle:
                half[result] += max(abs(end[result] - middle[result]) for end in ends)
    return half


def _listing(word: str) -> None:
    from compat.cli.console import console
    from compat.paper.lines import print_rows

    found = dict(sorted(load_all().items()))
    if word:
        found = {n: f for n, f in found.items() if word.lower() in f"{n} {f.summary}".lower()}
    if not found:
        stop(f"no formula speaks of '{word}'")
    print_rows(console(), [("", name, formula.summary) for name, formula in found.items()])


def _about(formula: Formula) -> None:
    from compat.cli.console import console
    from compat.paper.formulas import meanings
    from compat.paper.lines import print_indented, print_rows

    out = console()
    print_indented(out, f"{formula.name}: {formula.summary}", 0)
    means = meanings(formula)
    rows = []
    for key, takes in formula.takes.items():
        text = written(takes) + " (may be left out)" * (key in formula.optional)
        rows.append(("", key, f"{text}; {means[key]}" if key in means else text))
    print_rows(out, rows)
    gives = ", ".join(f"{key.replace('_', ' ')} {written(text)}".strip() for key, text in formula.gives.items())
    print_indented(out, f"Gives {gives}.", 0)
    print_indented(out, f"Source: {formula.source}.", 0, "dim")
    print_indented(out, f"Type: compat calc {formula.name} {_example(formula)}", 0, "dim")
    if formula.scatter:
        says = ", ".join(f"{key or 'the result'} ±{spread:.0%}" for key, spread in formula.scatter.items())
        print_indented(out, f"The model itself may be off by: {says} ({formula.scatter_source}).", 0)


def _example(formula: Formula) -> str:
    """The arguments that must be there, as they are typed."""
    said = []
    for key, takes in formula.takes.items():
        if key in formula.optional:
            continue
        if isinstance(takes, Table):
            row = ", ".join("..." if name == "number" else f"... {name}" for name in takes.units)
            said.append(f'{key}="{row}; {row}"')
        elif isinstance(takes, tuple):
            said.append(f"{key}={takes[0] if takes else '...'}")
        else:
            said.append(f"{key}=..." if takes == "number" else f'{key}="... {takes}"')
    return " ".join(said)


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
            f"{formula.name} also takes {', '.join(f'{k} ({written(formula.takes[k])})' for k in lacking)}"
        )
    if faults:
        stop(*faults)
    return read


def _value(takes: Any, text: str) -> Any:
    if isinstance(takes, tuple):
        if takes and text not in takes:
            raise ValueError(f"'{text}' is not one of {', '.join(takes)}{nearest(text, takes)}")
        return text
    if isinstance(takes, Table):
        rows = [row for row in text.split(";") if row.strip()]
        cells = [[cell.strip() for cell in row.split(",")] for row in rows]
        if any(len(row) != len(takes.units) for row in cells):
            raise ValueError(f"wants {written(takes)}")
        return tuple(
            tuple(_quantity(u, cell).nominal for u, cell in zip(takes.units, row, strict=True)) for row in cells
        )
    return _quantity(takes, text)


def _quantity(wanted: str, text: str) -> Band:
    band = read_band(text)
    if why := unfit(text, band, wanted):
        kind = "a plain number" if wanted == "number" else f"a value in {wanted}"
        raise UnitFault(f"{why}; {kind} is wanted")
    return band


def _print(
    formula: Formula, found: dict[str, float], half: dict[str, float], system: str, as_json: bool
) -> None:
    names = {key: preferred("" if text == "number" else text, system) for key, text in formula.gives.items()}
    if as_json:
        numbers = {key: unit(names[key]).from_si(value) for key, value in found.items()}
        halves = {key: value / unit(names[key]).factor for key, value in half.items()}
        answer: dict[str, Any] = {"formula": formula.name, "value": numbers, "unit": names}
        if any(halves.values()):
            answer["half_width"] = halves
        if formula.single:
            answer |= {key: entry[""] for key, entry in answer.items() if isinstance(entry, dict)}
        print(json_safe(json.dumps({**answer, "source": formula.source}, ensure_ascii=False, indent=2)))
        return
    from compat.cli.console import console
    from compat.paper.lines import print_indented
    from compat.words.wording import half_width, told

    out = console()
    for key, value in found.items():
        name = formula.gives[key] if formula.gives[key] != "number" else ""
        text = told(value, name, half[key], system) if name or half[key] else f"{value:.4g}"
        if half[key]:
            text += f" ±{half_width(half[key], name, system)} by the tolerances"
        spread = formula.scatter.get(key)
        label = key.replace("_", " ") if key else formula.name
        print_indented(out, f"{label}: {text}" + (f" (model ±{spread:.0%})" if spread else ""), 0)
    print_indented(out, f"Source: {formula.source}.", 0, "dim")
