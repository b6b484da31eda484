"""Units and currencies that headings and cells of a list say."""

from __future__ import annotations

import re
from collections.abc import Sequence

from compat.lists.values import SIGNS, plain_text
from compat.shop.currencies import MINOR_UNITS
from compat.units import UnitFault, unit

__all__ = ["UNIT", "currency_said", "unit_of_cells", "unit_said"]

UNIT = re.compile(
    r"[\[(]\s*([^\])]{1,12})\s*[\])]|(?:^|\s|,)(mm|cm|in|inch|g|kg|lb|cm3|cc|cm³|ccm|kW|bar|psi)\.?$"
)
_UNITS = {
    "inch": "in",
    "inches": "in",
    "zoll": "in",
    '"': "in",
    "cm3": "cm^3",
    "cc": "cm^3",
    "ccm": "cm^3",
    "gr": "g",
}


def unit_said(match: re.Match[str] | None) -> str:
    if match is None:
        return ""
    said = (match[1] or match[2] or "").strip()
    said = _UNITS.get(said.casefold(), said)
    try:
        unit(said)
    except UnitFault:
        return ""
    return said


def unit_of_cells(texts: Sequence[str]) -> str:
    """The unit that cells say with their numbers, where half of them say it and none another."""
    ends = (re.search(r"\d\s*()([A-Za-z\"³]{1,4})$", plain_text(text)) for text in texts)
    said = [unit_said(match) for match in ends if match is not None]
    return said[0] if len(set(said)) == 1 and 2 * len(said) >= len(texts) else ""


def currency_said(texts: Sequence[str]) -> str:
    """The one currency that a heading or its cells name; empty where there is none, or more.

    >>> currency_said(["VK EUR", "12,50 €"]), currency_said(["Price", "$12"]), currency_said(["Price", "12"])
    ('EUR', '', '')
    """
    found: set[str] = set()
    for text in texts:
        found |= {word for word in re.findall(r"\b[A-Z]{3}\b", text) if word in MINOR_UNITS}
        found |= {next(iter(SIGNS[sign])) for sign in "£€¥" if sign in text and len(SIGNS[sign]) == 1}
    return found.pop() if len(found) == 1 else ""
