"""A bench sheet as data, by the published schema `sheet`."""

from __future__ import annotations

import math
from typing import Any

from compat.bench.measures import Clearance, Gauged
from compat.bench.sheet import BenchSheet, Step
from compat.bench.tightening import Tightened
from compat.units import Band, unit
from compat.words.house import judged_by
from compat.words.report import Finding

__all__ = ["SHEET_SCHEMA", "sheet_data"]

FOOT_POUND = unit("lbf*ft")


def sheet_data(sheet: BenchSheet) -> dict[str, Any]:
    """The sheet as plain data, numbers of a finding as the report has them.

    Parameters
    ----------
    sheet : BenchSheet
        The sheet.

    Returns
    -------
    dict
        By the schema `sheet`.
    """
    said = sheet.report
    return {
        "build": said.build,
        "name": said.name,
        "variant": said.variant,
        "customer": sheet.customer,
        "goal": dict(said.goal),
        "clean": sheet.clean,
        "proven": said.summary.proven,
        "against": [_finding(finding) for finding in sheet.against],
        "cautions": list(sheet.cautions),
        "judged_by": list(judged_by(said)),
        "figures": [
            {"figure": each.figure, "name": each.name, "unit": each.unit,
             "value": unit(each.unit).from_si(each.value), "half_width": each.half / unit(each.unit).factor}
            for each in sheet.figures
        ],
        "needed": [
            {"part": extra.part, "count": extra.count, "name": extra.name, "held_back": extra.held_back}
            for extra in sheet.to_order
        ],
        "steps": [_step(step) for step in sheet.steps],
    }  # fmt: skip


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "verdict": finding.verdict,
        "title": finding.title,
        "because": finding.because,
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "step": step.number,
        "kind": step.kind,
        "id": step.id,
        "name": step.name,
        "group": step.group,
        "parts": [
            {"part": part.part, "name": part.name, "count": part.count, "position": part.position,
             "origin": part.origin}
            for part in step.parts
        ],
        "marks": list(step.marks),
        "put_on": list(step.put_on),
        "tightening": _tightening(step.tightening) if step.tightening is not None else None,
        "pieces": [_piece(piece) for piece in step.pieces],
        "clearances": [_clearance(clearance) for clearance in step.clearances],
        "cautions": list(step.cautions),
        "look_at": list(step.look_at),
        "takes": dict(step.takes),
        "done_by": step.done_by,
    }  # fmt: skip


def _tightening(held: Tightened) -> dict[str, Any]:
    pattern = held.pattern
    return {
        "count": held.count,
        "method": held.method,
        "lubricant": held.lubricant,
        "one_use": held.one_use,
        "stated_by_maker": held.stated,
        "passes": [
            {
                "torque": None
                if each.torque is None
                else {"N*m": each.torque, "lbf*ft": FOOT_POUND.from_si(each.torque)},
                "angle": None if each.angle is None else math.degrees(each.angle),
                "stretch": None
                if each.stretch is None
                else {"mm": each.stretch * 1e3, "in": unit("in").from_si(each.stretch)},
            }
            for each in held.passes
        ],
        "pattern": None
        if pattern is None
        else {
            "layout": pattern.layout,
            "each": pattern.each,
            "times": pattern.times,
            "order": [{"along": along, "across": across} for along, across in pattern.places],
        },
    }


def _piece(piece: Gauged) -> dict[str, Any]:
    stated: Any = None
    if piece.stated is not None:
        value, own = piece.stated.value, unit(piece.unit) if piece.unit else None
        if isinstance(value, Band) and own is not None:
            stated = {
                "value": own.from_si(value.nominal),
                "low": own.from_si(value.low),
                "high": own.from_si(value.high),
            }
        elif isinstance(value, str):
            stated = value
    return {
        "what": piece.what,
        "name": piece.name,
        "gauge": piece.gauge,
        "pieces": piece.pieces,
        "places": list(piece.places),
        "unit": piece.unit,
        "stated": stated,
    }


def _clearance(clearance: Clearance) -> dict[str, Any]:
    finding = clearance.finding
    proven = clearance.proven or (None, None)
    return {
        "rule": finding.rule,
        "title": finding.title,
        "verdict": finding.verdict,
        "unit": finding.unit,
        "value": finding.value,
        "low": finding.low,
        "high": finding.high,
        "at_least": finding.at_least,
        "at_most": finding.at_most,
        "direct": clearance.direct,
        "gauge": clearance.gauge,
        "uncertainty": clearance.uncertainty,
        "proven_least": proven[0],
        "proven_most": proven[1],
        "rests_on": list(clearance.rests_on),
    }


def _object(**properties: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "required": list(properties),
        "properties": properties,
        "additionalProperties": False,
    }


def _array(items: Any) -> dict[str, Any]:
    return {"type": "array", "items": items}


_TEXT = {"type": "string"}
_NUMBER = {"type": "number"}
_COUNT = {"type": "integer", "minimum": 0}
_MAYBE = {"type": ["number", "null"]}
_FLAG = {"type": "boolean"}
_TORQUE = {"oneOf": [_object(**{"N*m": _NUMBER, "lbf*ft": _NUMBER}), {"type": "null"}]}
_STRETCH = {"oneOf": [_object(**{"mm": _NUMBER, "in": _NUMBER}), {"type": "null"}]}
_PATTERN = _object(
    layout={"enum": ["grid", "rail", "circle"]},
    each={"description": "position of which every piece has this pattern; empty where there is one", **_TEXT},
    times={"description": "how often the pattern is there", **_COUNT},
    order={
        "description": "fasteners in the order in which they are tightened: places along the engine from the "
        "front and across it; on a circle of radius 1, the first at the top",
        **_array(_object(along=_NUMBER, across=_NUMBER)),
    },
)
_TIGHTENING = _object(
    count=_COUNT,
    method=_TEXT,
    lubricant=_TEXT,
    one_use=_FLAG,
    stated_by_maker={"description": "the passes are the maker's; else customary steps", **_FLAG},
    passes=_array(_object(torque=_TORQUE, angle={"description": "degrees", **_MAYBE}, stretch=_STRETCH)),
    pattern={"oneOf": [_PATTERN, {"type": "null"}]},
)
_PIECE = _object(
    what={"description": "position.spec", **_TEXT},
    name=_TEXT,
    gauge=_TEXT,
    pieces=_COUNT,
    places=_array(_TEXT),
    unit=_TEXT,
    stated={"oneOf": [_object(value=_NUMBER, low=_NUMBER, high=_NUMBER), _TEXT, {"type": "null"}]},
)
_CLEARANCE = _object(
    rule={"description": "rule of the finding of `check --json` that has these numbers", **_TEXT},
    title=_TEXT,
    verdict=_TEXT,
    unit=_TEXT,
    value=_MAYBE,
    low=_MAYBE,
    high=_MAYBE,
    at_least=_MAYBE,
    at_most=_MAYBE,
    gauge={"description": "what it is read with, where it is read direct", **_TEXT},
    uncertainty={"description": "expanded, k = 2, that the shop's gauges leave it", **_MAYBE},
    proven_least={"description": "a measured value from here is proven in, by ISO 14253-1", **_MAYBE},
    proven_most={"description": "a measured value up to here is proven in", **_MAYBE},
    direct={"description": "read on the assembled parts; else worked out from the pieces", **_FLAG},
    rests_on=_array(_TEXT),
)
_STEP = _object(
    step={"type": "integer", "minimum": 1},
    kind={"enum": ["work", "fit", "close"]},
    id={"description": "work, position or joint", **_TEXT},
    name=_TEXT,
    group=_TEXT,
    parts=_array(_object(part=_TEXT, name=_TEXT, count=_COUNT, position=_TEXT,
                         origin={"enum": ["factory", "chosen", "sister", "included", "goal", "new"]})),
    marks=_array(_TEXT),
    put_on=_array(_TEXT),
    tightening={"oneOf": [_TIGHTENING, {"type": "null"}]},
    pieces=_array(_PIECE),
    clearances=_array(_CLEARANCE),
    cautions=_array(_TEXT),
    look_at=_array(_TEXT),
    takes={"type": "object", "additionalProperties": _TEXT},
    done_by=_TEXT,
)  # fmt: skip

SHEET_SCHEMA: dict[str, Any] = {
    "title": "Sheet",
    "description": "What `compat sheet --json` prints: each step possible once those before it are done.",
    **_object(
        build=_TEXT,
        name=_TEXT,
        variant=_TEXT,
        customer=_TEXT,
        goal={"type": "object"},
        clean=_FLAG,
        proven=_FLAG,
        against=_array(_object(rule=_TEXT, verdict=_TEXT, title=_TEXT, because=_TEXT)),
        cautions=_array(_TEXT),
        judged_by=_array(_TEXT),
        figures=_array(_object(figure=_TEXT, name=_TEXT, unit=_TEXT, value=_NUMBER, half_width=_NUMBER)),
        needed=_array(_object(part=_TEXT, count=_COUNT, name=_TEXT, held_back=_TEXT)),
        steps=_array(_STEP),
    ),
}
"""Schema of a bench sheet."""
