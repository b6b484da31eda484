"""What is kept is what these tests are about."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _read_anew(cards_read_anew: None) -> None:
    """Whatever was read before, it is read again."""
