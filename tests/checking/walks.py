"""Walks of changes through what can be built: each step one change of the build before it."""

from __future__ import annotations

import random
from collections.abc import Iterator

from compat.shop.builds import ReadyBuild

__all__ = ["steps"]


def steps(start: ReadyBuild, number: int, seed: int) -> Iterator[ReadyBuild]:
    """A walk of single changes: parts, empty places, counts, reasons, work, setup, measured values, goal."""
    shop = start.shop
    chance = random.Random(seed)
    parts = start.variant.parts
    places = [position for position in parts if len(shop.fillers[position]) > 1 and position != "fuel"]
    works = [work.work for work in shop.works.values() if all(p.default for p in work.takes.values())]
    flags = [name for name, kind in shop.kinds["setup"].items() if kind.sort == "flag"]
    build = start
    for _ in range(number):
        position = chance.choice(places)
        kinds = [
            "none",
            "count",
            "work",
            *(["setup"] if flags else []),
            "measured",
            "goal",
            "back",
            "renew",
            "why",
        ]
        match chance.choice(["part"] * 6 + kinds):
            case "part":
                build = build.fitting(**{position: chance.choice(shop.fillers[position])})
            case "none":
                build = build.fitting(**{position: None})
            case "count":
                build = build.changed(counts={position: chance.randint(0, 9)})
            case "work":
                build = build.changed(work=chance.sample(works, min(3, len(works))))
            case "setup":
                build = build.changed(setup={chance.choice(flags): chance.choice(["yes", "no"])})
            case "measured":
                build = build.changed(measured={"block.deck_height": f"{chance.uniform(199, 224):.2f} mm"})
            case "goal":
                power = f"{chance.randint(60, 260)} kW"
                build = build.aiming(power=power, duty=chance.choice(["street", "track", "endurance"]))
            case "renew":
                build = build.changed(renew=chance.choice(["all", (), (position,)]))
            case "why":
                word = "leave_out" if position in build.build.leave_out else "fits_because"
                build = build.changed(**{word: {position: "tried on the bench"}})
            case "back":
                build = start
        yield build
