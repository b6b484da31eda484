"""Write `compat/units/table.py` anew, as pint gives the units: `python -m tests.write_unit_table`."""

from __future__ import annotations

from pathlib import Path

from compat import units
from compat.units import table

HEAD = '''"""Factor, offset and dimension of the usual units, as pint gives them.

Written by `python -m tests.write_unit_table`; a test holds every entry against pint.
"""

from __future__ import annotations

__all__ = ["TABLE"]

Entry = tuple[float, float, tuple[float, float, float, float, float, float, float]]

TABLE: dict[str, Entry] = {
'''


def written() -> str:
    """The module's text: what stands in it now, each entry asked of pint again."""
    lines = []
    for name in sorted(table.TABLE):
        asked = units.ask_pint(name, name)
        powers = ", ".join(map(repr, asked.dimension))
        lines.append(f'    "{name}": ({asked.factor!r}, {asked.offset!r}, ({powers})),\n')
    return HEAD + "".join(lines) + "}\n"


if __name__ == "__main__":
    Path(table.__file__).write_text(written(), encoding="utf-8")
