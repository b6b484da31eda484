"""What many tests share: the demo shop, read once."""

from __future__ import annotations

import pytest

from compat.checking.library import Library, demo_folder, load


@pytest.fixture(scope="session")
def demo() -> Library:
    return load(demo_folder())
