"""A metric thread by its name, held against the diameter and pitch that the same card states."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["thread_slips"]

METRIC = re.compile(r"M(?P<thread_diameter>\d+(\.\d+)?)(x(?P<pitch>\d+(\.\d+)?))?")
"""ISO 261: nominal diameter, and the pitch where it is not the coarse one, both in mm."""
NEAR = 0.02e-3
"""What a size may be off its name: a name has two digits."""


def thread_slips(specs: Mapping[str, Spec]) -> Iterator[tuple[str, str]]:
    """Give what a card says of its thread otherwise than the thread's name.

    A bolt fits by its name, and what it bears is worked out from diameter and pitch: two bolts on one card.

    Parameters
    ----------
    specs : mapping of str to Spec
        What the card states, read.

    Yields
    ------
    tuple of str and str
        The spec, and what is wrong with it.

    Examples
    --------
    >>> from compat.shop.specs import declare, state
    >>> thread, pitch = state(declare("thread", "text"), "M11x1.5"), state(declare("pitch", "mm"), "1 mm")
    >>> list(thread_slips({"thread": thread, "pitch": pitch}))
    [('pitch', "'pitch' is 1 mm, and the thread M11x1.5 has 1.5 mm")]
    """
    name = specs["thread"].value if "thread" in specs else None
    found = METRIC.fullmatch(name) if isinstance(name, str) else None
    for spec, size in found.groupdict().items() if found is not None else ():
        stated = specs[spec].value if spec in specs else None
        if size is not None and isinstance(stated, Band):
            named = float(size) / 1000
            if abs(stated.nominal - named) > NEAR:
                yield spec, f"'{spec}' is {stated.text()}, and the thread {name} has {size} mm"
