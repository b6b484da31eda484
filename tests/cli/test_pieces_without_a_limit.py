"""Pieces measured one by one, where what they are held against is not known."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

TEXT = """\
- build: own
  name: Own
  variant: tarn-20-turbo
  goal: {power: 140 kW, at: 5600 rpm}
  measured:
    ring_set.second_gap: {pieces: [0.55 mm, 0.55 mm, 0.55 mm, 0.55 mm], uncertainty: 0.01 mm, gauge: feelers}
"""


def test_gaps_of_rings_at_a_goal_without_its_boost_are_not_known(run: Callable[..., Any]) -> None:
    """The least gap hangs on the boost: nothing is held against it, and nothing passes by it."""
    ran = run("check", "-", "--json", typed=TEXT)
    assert ran.status == 3, ran.err
    told = {one["rule"]: one["verdict"] for one in json.loads(ran.out)["findings"]}
    assert told["second-ring-gap-least"] == "unknown"
