"""What a build names, held against its shop: ids that exist, parts in their place, nothing said twice."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from compat.shop.models import Build
from compat.shop.shop import Shop
from compat.shop.source import Fault, Node, Spot, nearest

__all__ = ["BuildLinker", "Path_", "Where", "hold_own_parts"]

Path_ = Sequence[str | int]
Where = Callable[[Path_], Spot]
"""Where something inside a build was written, by the keys that lead to it."""


def _said(entry: str, number: int, position: str) -> Path_:
    """Path of a position in an entry that is a list, or has a reason for each."""
    return [entry, number, position]


class BuildLinker:
    """Every id that a build names must exist, and every part must fill the position it is put in."""

    def __init__(self, shop: Shop, build: Build, where: Where, faults: list[Fault]) -> None:
        self.shop = shop
        self.build = build
        self.where = where
        self.faults = faults

    def fault(self, path: Path_, message: str) -> None:
        self.faults.append(Fault(self.where(path), message))

    def link(self, path: Path_, kind: str, name: str) -> bool:
        if (kind, name) in self.shop.nodes:
            return True
        known = (other for k, other in self.shop.nodes if k == kind)
        self.fault(path, f"{kind} '{name}' is not known{nearest(name, known)}")
        return False

    def positions(self, key: str, names: Iterator[tuple[str | int, str]]) -> None:
        for step, position in names:
            self.link([key, step], "position", position)

    def left_out(self, named: Iterable[tuple[Path_, str]], how: str = "left out") -> None:
        """Positions that are left empty, or filled by a part that is brought, must be such that parts fill."""
        for path, position in named:
            if self.link(path, "position", position) and position in ("fuel", "setup"):
                self.fault(path, f"'{position}' is no part that could be {how}")

    def fills(self, path: Path_, position: str, part: str) -> None:
        if not self.link(path, "position", position) or not self.link(path, "part", part):
            return
        found = self.shop.parts.get(part)
        if found is not None and position not in found.fills:
            self.fault(path, f"part '{part}' fills {', '.join(found.fills)}, not '{position}'")
        if found is not None and found.only_for not in (None, self.build.build):
            told = f"part '{part}' is for the build '{found.only_for}' alone"
            self.fault(path, f"{told}; `compat keep {found.only_for}` moves it to the catalogue")

    def check(self) -> None:
        build = self.build
        self.link(["variant"], "variant", build.variant)
        for position, part in build.fit.items():
            self.fills(["fit", position], position, part)
        for number, taken in enumerate(build.take_from):
            if not self.link(["take_from", number, "variant"], "variant", taken.variant):
                continue
            if taken.variant == build.variant:
                self.fault(["take_from", number, "variant"], f"the build starts from '{taken.variant}' itself")
            sister = self.shop.variants.get(taken.variant)
            for index, position in enumerate(taken.positions):
                path: list[str | int] = ["take_from", number, "positions", index]
                if not self.link(path, "position", position):
                    continue
                if sister is not None and position not in sister.parts:
                    self.fault(path, f"variant '{taken.variant}' has no part in '{position}'")
        self.positions("counts", ((position, position) for position in build.counts))
        self.positions("fits_because", ((position, position) for position in build.fits_because))
        for position, order in build.selected.items():
            if self.link(["selected", position], "position", position) and len({*order}) < len(order):
                twice = next(number for at, number in enumerate(order) if number in order[:at])
                self.fault(["selected", position], f"piece {twice} of '{position}' goes to two places")
        self.left_out(
            (_said("leave_out", number, position), position) for number, position in enumerate(build.leave_out)
        )
        self.left_out(
            ((_said("brought", number, position), position) for number, position in enumerate(build.brought)),
            "brought",
        )
        if build.renew != "all":
            self.positions("renew", enumerate(build.renew))
        if build.goal.fuel:
            self.fills(["goal", "fuel"], "fuel", build.goal.fuel)
        self.placed_once()
        self.burns()
        for number, chosen in enumerate(build.work):
            if self.link(["work", number], "work", chosen.work):
                self.work_values(number, chosen.work, chosen.values)

    def placings(self) -> Iterator[tuple[str, str, Path_]]:
        """Every word on what stands where: the entry it is part of, the position, and where it is written."""
        build = self.build
        yield from (("fit", position, ["fit", position]) for position in build.fit)
        for number, taken in enumerate(build.take_from):
            for index, position in enumerate(taken.positions):
                yield "take_from", position, ["take_from", number, "positions", index]
        for number, position in enumerate(build.leave_out):
            yield "leave_out", position, _said("leave_out", number, position)

    def placed_once(self) -> None:
        """A position is fitted, taken from a sister or left out, and only one of these."""
        first: dict[str, tuple[str, Path_]] = {}
        for word, position, path in self.placings():
            if position in first:
                other, there = first[position]
                also = f"in `{other}` too, at {self.where(there)}"
                self.fault(path, f"position '{position}' stands in `{word}` and {also}; keep one")
            else:
                first[position] = word, path

    def burns(self) -> None:
        """The goal alone says what the engine burns, and the setup how it is set up."""
        build = self.build
        variant = self.shop.variants.get(build.variant)
        burnt = build.goal.fuel or (variant.rated.fuel if variant else None)
        said: dict[tuple[str | int, ...], str | None] = {("fit", "fuel"): build.fit.get("fuel")}
        for number, taken in enumerate(build.take_from):
            sister = self.shop.variants.get(taken.variant)
            if sister is not None and "fuel" in taken.positions:
                index = taken.positions.index("fuel")
                said["take_from", number, "positions", index] = sister.parts.get("fuel")
        for path, fuel in said.items():
            if fuel in self.shop.parts and burnt is not None and fuel != burnt:
                self.fault(path, f"the goal burns '{burnt}': write `goal: {{fuel: {fuel}}}`")
        for position in build.counts:
            if position in ("fuel", "setup"):
                self.fault(["counts", position], f"'{position}' is nothing that is counted")

    def work_values(self, number: int, name: str, values: Mapping[str, object]) -> None:
        work = self.shop.works.get(name)
        if work is None:
            return
        for key, raw in values.items():
            path: list[str | int] = ["work", number, key]
            if key not in work.takes:
                self.fault(path, f"work '{name}' takes no '{key}'{nearest(key, work.takes)}")
                continue
            try:
                work.takes[key].read(raw)
            except ValueError as error:
                text = str(error)
                self.fault(path, text if text.startswith("'") else f"'{key}' {text}")
        for key, parameter in work.takes.items():
            if key not in values and parameter.default is None:
                self.fault(["work", number], f"work '{name}' needs '{key}', and the build does not state it")


def hold_own_parts(shop: Shop, build: Build, node: Node, faults: list[Fault]) -> None:
    """Hold that the parts that a build carries itself were read with the shop."""
    own = node.children.get("parts")
    for part in own.children.values() if own is not None else ():
        name = part.data.get("part") if isinstance(part.data, dict) else None
        found = shop.parts.get(name) if isinstance(name, str) else None
        if found is None or found.only_for != build.build:
            told = "a build's own parts are read where a command is given its file, or from catalog/builds"
            faults.append(Fault(node.spot_of(["parts"]), told))
            return
