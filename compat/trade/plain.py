"""Records as plain data, the way JSON holds it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from typing import Any

__all__ = ["as_plain"]


def as_plain(value: Any, *, measures: bool = False) -> Any:
    """Data as JSON holds it: money and quantities as decimal strings, days as ISO 8601 has them.

    Parameters
    ----------
    value : object
        The data: records, mappings, lists and what they hold.
    measures : bool
        Whether measured numbers may stand in it; what is reckoned as money never is one.

    Raises
    ------
    TypeError
        When it holds something else, or a measured number where none may be.

    Examples
    --------
    >>> as_plain((Decimal("10.50"), date(2026, 1, 31)))
    ['10.50', '2026-01-31']
    >>> as_plain({"power": 92e3}, measures=True)
    {'power': 92000.0}
    """
    if value is None or isinstance(value, str | bool | int) or (measures and isinstance(value, float)):
        return value
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): as_plain(entry, measures=measures) for key, entry in value.items()}
    if isinstance(value, Sequence):
        return [as_plain(entry, measures=measures) for entry in value]
    if is_dataclass(value):
        return {one.name: as_plain(getattr(value, one.name), measures=measures) for one in fields(value)}
    raise TypeError(f"a {type(value).__name__} is not kept")
