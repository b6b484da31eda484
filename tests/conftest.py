"""What many tests share: the demo shop, read once."""

from __future__ import annotations

import pytest
from hypothesis import settings

from compat.checking.library import Library, demo_folder, load

# the first call of an example may load pint or numpy: how long one takes says nothing
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")


@pytest.fixture(scope="session")
def demo() -> Library:
    return load(demo_folder())
