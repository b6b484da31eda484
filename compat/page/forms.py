"""Forms whose fields are not known beforehand, of sane size."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, TypeAlias

from fastapi import Request

from compat.shop.source import Fault, Faults, Spot

__all__ = ["Fields", "fields_of", "not_taken"]

Fields: TypeAlias = Mapping[str, str]

MOST: Final = 600
LONGEST: Final = 500


def not_taken(faults: Iterable[Fault]) -> set[str]:
    """Fields that faults of a build are about: ``goal-power`` for what its file would call ``goal.power``.

    >>> not_taken([Fault(Spot("build mule: goal.power", 0), "is no quantity")])
    {'goal-power'}
    """
    return {fault.spot.file.rpartition(": ")[2].replace(".", "-") for fault in faults}


async def fields_of(request: Request) -> Fields:
    """Every field of a form that is a text, by its name.

    Raises
    ------
    Faults
        When there are too many, or one of them is too long.
    """
    form = await request.form()
    fields = {name: value for name, value in form.items() if isinstance(value, str) and name != "token"}
    if len(fields) > MOST:
        raise Faults([Fault(Spot("form", 0), f"brings {len(fields)} fields; the most is {MOST}")])
    long = [name for name, value in fields.items() if len(value) > LONGEST or len(name) > LONGEST]
    if long:
        raise Faults(Fault(Spot(name[:80], 0), f"is too long; the most is {LONGEST} letters") for name in long)
    return fields
