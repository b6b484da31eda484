"""Needs closure, exclusion and matching against clingo, on random small shops.

The encoding below is written from the rules of the game as stated in `compat.checking.needs`, not from
its code: answer-set programming derives the rounds, its own maximum matching by optimisation.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from compat.checking.needs import Demand, Provider, Supply, close, open_demands

clingo = pytest.importorskip("clingo")

SHOPS = 400

FIXED = ("pattern", "gallery", "boss")
USED_UP = ("input", "driver", "port")


def random_shop(seed: int) -> tuple[list[Supply], list[Demand], dict[str, Provider], list[str]]:
    chance = random.Random(seed)
    features = FIXED + USED_UP

    def supply(owner: str) -> Supply:
        feature = chance.choice(features)
        used = feature in USED_UP
        return Supply(owner, feature, chance.randint(1, 3) if used else 1, (), used)

    def demand(owner: str) -> Demand:
        wanted = tuple(chance.sample(features, chance.choice((1, 1, 1, 2))))
        return Demand(owner, wanted, chance.choice((1, 1, 2)) if set(wanted) <= set(USED_UP) else 1)

    supplies = [supply(f"fitted{i}") for i in range(chance.randint(0, 4))]
    demands = [demand(f"fitted{i}") for i in range(chance.randint(1, 5))]
    positions = [f"place{i}" for i in range(4)]
    filled = [p for p in positions if chance.random() < 0.2]
    names = [f"part{i}" for i in range(chance.randint(1, 7))]
    providers = {}
    for name in names:
        others = [other for other in names if other != name and chance.random() < 0.1]
        providers[name] = Provider(
            name,
            (chance.choice(positions),) if chance.random() < 0.7 else (),
            tuple(supply(name) for _ in range(chance.randint(1, 2))),
            tuple(demand(name) for _ in range(chance.choice((0, 1, 2, 2)))),
            frozenset(others),
        )
    return supplies, demands, providers, filled


MATCHING = """
{ take(D, S, U) : unit(S, U), suits(D, S) } N :- demand(D, N).
:- unit(S, U), 2 { take(D, S, U) : demand(D, _) }.
#maximize { 1, D, S, U : take(D, S, U) }.
#show take/3.
"""


def most_served(demands: Sequence[Demand], supplies: Sequence[Supply]) -> int:
    """Size of a maximum matching of used-up units, by clingo."""
    facts = [f"demand({d},{demand.count})." for d, demand in enumerate(demands)]
    for s, supply in enumerate(supplies):
        facts += [f"unit({s},{u})." for u in range(supply.count)]
        facts += [f"suits({d},{s})." for d, demand in enumerate(demands) if supply.feature in demand.features]
    control = clingo.Control(["--warn=none"])
    control.add("base", [], "\n".join(facts) + MATCHING)
    control.ground([("base", [])])
    best = 0
    with control.solve(yield_=True) as handle:
        for model in handle:
            best = sum(symbol.name == "take" for symbol in model.symbols(shown=True))
    return best


CLOSURE = """
% in(P,T): provider P is in the build before round T. Rounds are counted so that the program is stratified.
round(0..n).
in(P, T+1) :- in(P, T), round(T), T < n.
in(P, T+1) :- pick(P, T), T < n.

asked(D, T) :- base_demand(D), round(T).
asked(D, T) :- demand_of(P, D), in(P, T).
offered(F, T) :- base_offer(F), round(T).
offered(F, T) :- offer_of(P, F), in(P, T).
met(D, T) :- asked(D, T), wants(D, F), offered(F, T).
open(D, T) :- asked(D, T), not met(D, T).

place(L, T) :- base_filled(L), round(T).
place(L, T) :- fills(P, L), in(P, T).
barred(P, T) :- never(P, Q), in(Q, T).
barred(P, T) :- never(Q, P), in(Q, T).
fit(P, T) :- provider(P), round(T), not in(P, T), not barred(P, T), not blocked(P, T).
blocked(P, T) :- fills(P, L), place(L, T).
can(D, P, T) :- open(D, T), wants(D, F), offer_of(P, F), fit(P, T).

% demands choose one after the other, in the order they were asked; a later one gives way
clash(P, Q) :- fills(P, L), fills(Q, L), P != Q.
clash(P, Q) :- never(P, Q).
clash(P, Q) :- never(Q, P).
turn(D, K, T) :- open(D, T), K = #count { E : open(E, T), before(E, D, T) }.
before(E, D, T) :- open(E, T), open(D, T), listed(E, A), listed(D, B), A < B.
lost(P, D, T) :- can(D, P, T), turn(D, K, T), chosen(E, Q, T), turn(E, J, T), J < K, clash(P, Q).
better(D, P, T) :- can(D, P, T), can(D, Q, T), first(Q, P), not lost(Q, D, T).
chosen(D, P, T) :- can(D, P, T), not lost(P, D, T), not better(D, P, T).
pick(P, T) :- chosen(_, P, T).
"""


def closure_by_clingo(
    supplies: Sequence[Supply],
    demands: Sequence[Demand],
    providers: dict[str, Provider],
    filled: Sequence[str],
) -> tuple[set[str], set[str]]:
    """Added providers and the demands left open, by an encoding of its own (features that are not used up)."""
    rounds = len(providers) + 2
    facts = [f"base_offer({s.feature})." for s in supplies] + [f"base_filled({p})." for p in filled]
    ids: dict[str, Demand] = {}

    def note(demand: Demand, head: str) -> None:
        name = f"d{len(ids)}"
        ids[name] = demand
        facts.append(f"{head.format(name)}.")
        facts.extend(f"wants({name},{feature})." for feature in demand.features)

    for demand in demands:
        note(demand, "base_demand({})")
    names = sorted(providers)
    for p in names:
        provider = providers[p]
        facts.append(f"provider({p}).")
        facts += [f"offer_of({p},{s.feature})." for s in provider.supplies]
        facts += [f"fills({p},{place})." for place in provider.fills]
        facts += [f"never({p},{q})." for q in provider.never_with]
        facts += [f"first({q},{p})." for q in names if q < p]
        for demand in provider.demands:
            note(demand, f"demand_of({p},{{}})")
    # the order of asking: base demands, then by round of joining, then by order of picking in that round
    current: list[str] = [d for d, demand in ids.items() if demand in demands][: len(demands)]
    inside: list[str] = []
    for _ in range(rounds):
        order = {d: k for k, d in enumerate(current)}
        program = ["#const n = 1."] + facts + [f"in({p},0)." for p in inside]
        program += [f"listed({d},{k})." for d, k in order.items()]
        text = "\n".join(program) + CLOSURE
        control = clingo.Control(["--warn=none"])
        control.add("base", [], text + "\n#show chosen/3. #show open/2.")
        control.ground([("base", [])])
        chosen: list[tuple[str, str]] = []
        still: set[str] = set()
        models = 0
        with control.solve(yield_=True) as handle:
            for model in handle:
                models += 1
                for symbol in model.symbols(shown=True):
                    words = [str(argument) for argument in symbol.arguments]
                    if words[-1] != "0":
                        continue
                    if symbol.name == "chosen":
                        chosen.append((words[0], words[1]))
                    else:
                        still.add(words[0])
        assert models == 1, "the encoding is stratified in the order of asking and has one answer"
        if not chosen:
            return set(inside), {f"{ids[d].owner}:{'/'.join(ids[d].features)}" for d in still}
        picks: list[str] = []
        for _, p in sorted(chosen, key=lambda entry: order[entry[0]]):
            if p not in picks:
                picks.append(p)
        for p in picks:
            inside.append(p)
            current += [d for d, demand in ids.items() if any(demand is own for own in providers[p].demands)]
    raise AssertionError("no end")


@pytest.mark.parametrize("block", range(8))
def test_matching_is_maximum_and_the_crowd_violates_hall(block: int) -> None:
    for seed in range(block * SHOPS // 8, (block + 1) * SHOPS // 8):
        supplies, demands, providers, _ = random_shop(seed)
        supplies = [*supplies, *(s for p in providers.values() for s in p.supplies)]
        used = [s for s in supplies if s.used_up]
        wanted = [d for d in demands if set(d.features) <= set(USED_UP)]
        short = open_demands(wanted, used)
        asked = sum(d.count for d in wanted)
        best = most_served(wanted, used)
        assert bool(short) == (best < asked), seed
        assert len(short) <= asked - best, seed
        for shortage in short:
            # Hall: the competing set reaches fewer units than it asks for
            assert shortage.offered < shortage.asked, seed
            crowd = [d for d in wanted if d.owner in shortage.competing]
            reach = [s for s in used if any(d.suits(s) for d in crowd)]
            assert shortage.demand in crowd or not shortage.competing, seed
            if shortage.competing:
                assert sum(s.count for s in reach) == shortage.offered < sum(d.count for d in crowd), seed


@pytest.mark.parametrize("block", range(8))
def test_closure_and_exclusion_agree(block: int) -> None:
    for seed in range(block * SHOPS // 8, (block + 1) * SHOPS // 8):
        supplies, demands, providers, filled = random_shop(seed + 10_000)

        def plain(supply: Supply) -> Supply:
            return Supply(supply.owner, supply.feature)

        # features that are not used up, so that only closure and exclusion are at stake
        supplies = [plain(s) for s in supplies]
        providers = {
            name: Provider(name, p.fills, tuple(map(plain, p.supplies)), p.demands, p.never_with)
            for name, p in providers.items()
        }
        ranked = [providers[name] for name in sorted(providers)]
        ours = close(supplies, demands, filled, [], lambda _, r=ranked: r)
        added, still = closure_by_clingo(supplies, demands, providers, filled)
        assert {p.name for p, _ in ours.added} == added, seed
        left = {f"{s.demand.owner}:{'/'.join(s.demand.features)}" for s in ours.shortages}
        assert left == still, seed


def test_random_shops_are_not_trivial() -> None:
    counts = {"added": 0, "open": 0, "chain": 0, "excluded": 0}
    for seed in range(SHOPS):
        supplies, demands, providers, filled = random_shop(seed + 10_000)
        ranked = [providers[name] for name in sorted(providers)]
        closure = close(supplies, demands, filled, [], lambda _, r=ranked: r)
        counts["added"] += bool(closure.added)
        counts["open"] += bool(closure.shortages)
        counts["chain"] += any(demand.owner.startswith("part") for _, demand in closure.added)
        counts["excluded"] += any(p.never_with for p, _ in closure.added)
    assert all(count > SHOPS // 10 for count in counts.values()), counts
