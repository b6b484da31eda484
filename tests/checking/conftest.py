"""What the checking tests share: demo builds and worked cases, each checked once, and ways to vary a shop."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import cycle, islice
from pathlib import Path

import pytest

from compat import Check
from compat.checking.library import Library, find_build
from compat.shop.models import DUTIES, Build, WorkDone
from compat.shop.shop import Shop
from compat.shop.specs import state
from tests.look import check

WORKED = Path(__file__).parent / "worked"

Said = Mapping[str, Mapping[str, str | None]]
"""What parts are made to state: text by spec, by part; None takes the statement away."""


@pytest.fixture(scope="session")
def checked(demo: Library) -> dict[str, Check]:
    """Variants at their own rating, the demo's builds, and the worked cases, by id."""
    files = [str(path) for path in sorted(WORKED.glob("*.yaml")) if path.stem != "expected"]
    found = {}
    for name in [*demo.shop.variants, *demo.shop.builds, *files]:
        result = check(demo.shop, demo.book, find_build(demo, name))
        found[result.report.build] = result
    return found


@pytest.fixture(scope="session")
def stating(demo: Library) -> Callable[[Said], Shop]:
    """The demo shop with parts that state something else."""

    def shop(said: Said) -> Shop:
        specs = dict(demo.shop.specs)
        for part, changes in said.items():
            own = dict(specs[part])
            for name, text in changes.items():
                own.pop(name, None)
                if text is not None:
                    kinds = (demo.shop.kinds[position] for position in demo.shop.parts[part].fills)
                    own[name] = state(next(kind[name] for kind in kinds if name in kind), text)
            specs[part] = own
        return dataclasses.replace(demo.shop, specs=specs)

    return shop


def mixtures(shop: Shop, variant: str, duties: Sequence[str] = DUTIES) -> Iterator[Build]:
    """Builds that put every part of the catalogue into its place once, whatever else stands there."""
    own = shop.variants[variant]
    choices = {
        position: [
            name
            for name in shop.fillers[position]
            if not shop.parts[name].families or own.family in shop.parts[name].families
        ]
        for position in shop.positions
        if position not in ("fuel", "setup")
    }
    works = [
        WorkDone(work=work.work) for work in shop.works.values() if all(p.default for p in work.takes.values())
    ]
    fuels = shop.fillers["fuel"]
    for number in range(max(map(len, choices.values()))):
        fit = {position: names[number % len(names)] for position, names in choices.items() if names}
        goal = {"duty": duties[number % len(duties)], "fuel": fuels[number % len(fuels)], "boost": None}
        if number % 2:
            goal["boost"] = shop.variants["tarn-20-turbo"].rated.boost
        yield Build(
            build=f"{variant}-mixture-{number}",
            name="A mixture",
            variant=variant,
            goal=dataclasses.replace(own.rated, **goal),
            fit=fit,
            work=tuple(islice(cycle(works), number * 5, number * 5 + 5)),
        )


@pytest.fixture(scope="session")
def mixed(demo: Library) -> list[Check]:
    """Mixtures of every part, on engines furnished little and much."""
    return [
        check(demo.shop, demo.book, build)
        for variant, duties in (
            ("tarn-20-phase", DUTIES[:1]),
            ("tarn-20-turbo", DUTIES),
            ("fell-30-base", DUTIES),
        )
        for build in mixtures(demo.shop, variant, duties)
    ]
