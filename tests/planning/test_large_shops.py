"""The generated shops of forty positions are what their searches are measured on."""

from __future__ import annotations

from pathlib import Path

import pytest

from compat.checking.session import Session
from compat.library.library import load
from compat.shop.builds import prepare
from tests.planning.large_shops import POSITIONS, large_shop


@pytest.mark.parametrize("tight", [False, True])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_each_planted_fault_is_one_and_without_them_the_build_passes(
    seed: int, tight: bool, tmp_path: Path
) -> None:
    large = large_shop(tmp_path, 10, tight, seed)
    library = load(large.folder)
    session = Session(library.shop, library.book)
    broken = prepare(library.shop, library.shop.builds[large.repair])
    planted = {place: part for place, part in broken.build.fit.items() if not part.endswith("-0")}
    assert len(planted) == 3
    right = broken.fitting(**{place: f"{place.replace('_', '-')}-0" for place in planted})
    assert session.check(right).proven
    for place, part in planted.items():
        assert not session.check(right.fitting(**{place: part})).clean
    bare = prepare(library.shop, library.shop.builds[large.complete])
    assert not bare.build.fit
    looked_at = {
        name: len(library.book.positions_of(rule))
        for name, rule in library.book.rules.items()
        if name.startswith("long")
    }
    assert sorted(looked_at.values()) == [4, 4, 5, 6, 7]
    assert len([place for place in library.shop.positions if place.startswith("place")]) == POSITIONS
