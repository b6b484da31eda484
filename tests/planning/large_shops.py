"""Generated shops of forty positions: pair rules, and five rules over four to seven positions.

One hidden build goes together and the limits are laid about it, so that something can be found; how close they
are laid is the tightness. A seed gives the same shop every time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from pathlib import Path
from random import Random

__all__ = ["Large", "large_shop"]

POSITIONS = 40
WORDS = ("red", "blue", "green", "grey")


@dataclass(frozen=True)
class Large:
    """A shop's folder, and what to put right in it."""

    folder: Path
    repair: str
    """Build with three planted faults: each of them alone is one."""
    complete: str
    """Build that names a variant and a goal alone."""


def large_shop(folder: Path, candidates: int, tight: bool, seed: int) -> Large:
    """Write such a shop.

    Parameters
    ----------
    folder : Path
        Where it is written.
    candidates : int
        Parts for each position.
    tight : bool
        Whether the limits are laid close about the hidden build.
    seed : int
        Which shop.
    """
    random = Random(f"{seed} {candidates} {tight}")
    places = [f"place_{number:02}" for number in range(POSITIONS)]
    pairs = [(a, b) for a, b in pairwise(places) if random.random() < 0.7]
    pairs += [tuple(random.sample(places, 2)) for _ in range(POSITIONS // 2)]
    matched = [pair for pair in pairs if random.random() < 0.4]
    lines: list[str] = []
    hidden: dict[str, dict[str, float | str]] = {}
    said: dict[str, list[dict[str, float | str]]] = {}
    for place in places:
        said[place] = [_specs(random) for _ in range(candidates)]
        hidden[place] = said[place][0] | {"kind": WORDS[0]}
        said[place][0] = hidden[place]
        lines += _position(place)
    for place in places:
        for number, specs in enumerate(said[place]):
            price = random.randint(20, 400)
            lines += _part(place, number, specs, price + (60 if number == 0 else 0))
        # what the engine left the factory with costs nothing and suits few others
        lines += _part(place, candidates, {"size": 5.0, "force": 1.0, "kind": WORDS[-1]}, None)
    rules = [_pair(number, pair, hidden, tight, pair in matched) for number, pair in enumerate(pairs)]
    rules += [_long(random, number, places, hidden, tight) for number in range(5)]
    (folder / "catalog").mkdir(parents=True, exist_ok=True)
    (folder / "rules").mkdir(exist_ok=True)
    wrong = {place: list(_wrong(place, said[place], pairs, matched, tight)) for place in places}
    lines += _rest(places, candidates, _faults(random, wrong, pairs))
    (folder / "catalog" / "all.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "rules" / "all.yaml").write_text("\n".join(rules) + "\n", encoding="utf-8")
    return Large(folder, "broken", "bare")


def _wrong(
    place: str,
    said: Sequence[dict[str, float | str]],
    pairs: Sequence[Sequence[str]],
    matched: Sequence[Sequence[str]],
    tight: bool,
) -> Iterator[int]:
    """Parts of a place that a rule over two positions shuts out beside the hidden build."""
    own = [pair for pair in pairs if place in pair]
    for number, specs in enumerate(said):
        off = abs(float(specs["size"]) - float(said[0]["size"]))
        if any(specs["kind"] != WORDS[0] if pair in matched else off > _room(tight) for pair in own):
            yield number


def _faults(
    random: Random, wrong: Mapping[str, Sequence[int]], pairs: Sequence[Sequence[str]]
) -> Mapping[str, int]:
    """Three parts that do not go in, in places of which no rule looks at two, so that each is a fault."""
    beside = {frozenset(pair) for pair in pairs}
    while True:
        places = random.sample([place for place, numbers in wrong.items() if numbers], 3)
        if not any(frozenset(two) in beside for two in combinations(places, 2)):
            return {place: random.choice(wrong[place]) for place in places}


def _room(tight: bool) -> int:
    """How far apart, beside the hidden build, two sizes may be [mm]."""
    return 8 if tight else 16


def _specs(random: Random) -> dict[str, float | str]:
    return {
        "size": round(random.uniform(20, 60), 2),
        "force": round(random.uniform(10, 40), 1),
        "kind": random.choice(WORDS[:3]),
    }


def _position(place: str) -> list[str]:
    words = ", ".join(WORDS)
    return [
        f"- {{position: {place}, name: {place}, system: short-block, required: true, "
        f"specs: {{size: mm, force: kN, kind: [{words}]}}}}"
    ]


def _part(place: str, number: int, specs: dict[str, float | str], price: int | None) -> list[str]:
    name = f"{place.replace('_', '-')}-{number}"
    sold = f", sold_by: [{{supplier: yard, price: {price} GBP}}]" if price is not None else ""
    stated = f"size: {specs['size']} mm, force: {specs['force']} kN, kind: {specs['kind']}"
    return [f"- {{part: {name}, name: {name}, fills: {place}, specs: {{{stated}}}{sold}}}"]


def _rest(places: Sequence[str], candidates: int, faults: Mapping[str, int]) -> list[str]:
    own = ", ".join(f"{place}: {place.replace('_', '-')}-{candidates}" for place in places)
    fit = ", ".join(f"{place}: {place.replace('_', '-')}-{faults.get(place, 0)}" for place in places)
    goal = "goal: {power: 50 kW, at: 5000 rpm, rev_limit: 6000 rpm, fuel: petrol}"
    numbers = "cylinders: 4, banks: 1, main_journals: 5, cams: 1, inlet_valves: 4, exhaust_valves: 4, valves: 8"
    return [
        "- {shop: yard-shop, name: Yard, currency: GBP, labour_rate: 40 GBP}",
        "- {supplier: yard, name: Yard, currency: GBP}",
        "- {position: fuel, name: Fuel, system: consumable, specs: {octane: number}}",
        "- {position: setup, name: Setup, system: setup, specs: {knock_control: flag}}",
        "- {part: petrol, name: Petrol, fills: fuel, specs: {octane: 95}}",
        f"- {{family: large, name: Large, numbers: {{{numbers}}}, firing_order: 1-3-4-2}}",
        f"- {{variant: large-1, name: Large, family: large, rated: {goal[6:]}, parts: {{{own}}}}}",
        f"- {{build: broken, name: Broken, variant: large-1, {goal}, fit: {{{fit}}}}}",
        f"- {{build: bare, name: Bare, variant: large-1, {goal}}}",
    ]


def _rule(name: str, *says: str) -> str:
    head = [f"- rule: {name}", f"  title: {name.replace('-', ' ').capitalize()}"]
    tail = ["  why: So that there is something to hold.", "  source: common practice"]
    return "\n".join([*head, *(f"  {line}" for line in says), *tail])


def _pair(
    number: int, pair: Sequence[str], hidden: dict[str, dict[str, float | str]], tight: bool, matched: bool
) -> str:
    a, b = pair
    if matched:
        return _rule(f"pair-{number}", f"match: [[{a}.kind, {b}.kind]]")
    off = float(hidden[a]["size"]) - float(hidden[b]["size"])
    room = _room(tight)
    return _rule(
        f"pair-{number}",
        f"measure: {a}.size - {b}.size",
        f"at_least: {off - room:.3f} mm",
        f"at_most: {off + room:.3f} mm",
    )


def _long(
    random: Random, number: int, places: Sequence[str], hidden: dict[str, dict[str, float | str]], tight: bool
) -> str:
    """A rule over four to seven positions: sums, a product, and one that is neither."""
    own = random.sample(list(places), 4 + number % 4)
    size = {place: float(hidden[place]["size"]) for place in own}
    force = {place: float(hidden[place]["force"]) for place in own}
    if number % 3 == 0:
        signs = [1 if n % 2 == 0 else -1 for n in range(len(own))]
        total = sum(sign * size[place] for sign, place in zip(signs, own, strict=True))
        room = 4 if tight else 10
        text = " ".join(f"{'+' if s > 0 else '-'} {p}.size" for s, p in zip(signs, own, strict=True))
        return _rule(
            f"long-{number}",
            f"measure: {text.removeprefix('+ ')}",
            f"at_least: {total - room:.3f} mm",
            f"at_most: {total + room:.3f} mm",
        )
    if number % 3 == 1:
        top, low = own[: len(own) // 2], own[len(own) // 2 :]
        load = 1.0
        for place in top:
            load *= size[place] / 20
        for place in low:
            load *= 20 / size[place]
        room = 1.05 if tight else 1.3
        text = "*".join([*(f"({p}.size/(20*mm))" for p in top), *(f"((20*mm)/{p}.size)" for p in low)])
        held = f"{own[0]}.force/({force[own[0]] / load / room:.6f}*kN)"
        headroom = "headroom: {street: 0, track: 0, endurance: 0}"
        return _rule(f"long-{number}", f"load: {text}", f"capacity: {held}", headroom)
    squares = " + ".join(f"({p}.size/(1*mm))**2" for p in own[:3])
    total = sum(size[place] ** 2 for place in own[:3]) ** 0.5
    others = " + ".join(f"{p}.force/(1*kN)" for p in own[3:])
    rest = sum(force[place] for place in own[3:])
    room = 1.0 if tight else 1.15
    return _rule(
        f"long-{number}", f"measure: sqrt({squares}) + {others}", f"at_most: {(total + rest) * room + 0.5:.3f}"
    )
