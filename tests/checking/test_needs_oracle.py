"""Needs closure, exclusion and matching against clingo, on random small shops.

The encoding below is written from the rules of the game as stated in `compat.checking.needs` and
`compat.checking.adding`, not from their code: answer-set programming derives the rounds, its own maximum
matching by optimisation.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

import networkx as nx
import pytest

from compat.checking.adding import Against, Untried, close
from compat.checking.matching import share_out
from compat.checking.needs import Book, Demand, Provider, Supply, open_demands

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


@dataclass
class Said(Untried):
    """Trials settled beforehand: who clashes by itself, who beside whom, who lacks, who wakes what."""

    bad: set[str] = field(default_factory=set)
    lacking: set[str] = field(default_factory=set)
    bad_with: set[tuple[str, str]] = field(default_factory=set)
    woken: dict[str, list[Demand]] = field(default_factory=dict)

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        if provider.name in self.bad or any((provider.name, p.name) in self.bad_with for p in added):
            return "much"
        return "little" if provider.name in self.lacking else "nothing"

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        return self.woken.get(provider.name, [])


def random_trials(seed: int, providers: dict[str, Provider]) -> Said:
    chance = random.Random(seed)
    return Said(
        {name for name in providers if chance.random() < 0.3},
        {name for name in providers if chance.random() < 0.3},
        {(a, b) for a in providers for b in providers if a != b and chance.random() < 0.1},
        {
            name: [Demand(f"rule:{name}", tuple(chance.sample(FIXED + USED_UP, 1)))]
            for name in providers
            if chance.random() < 0.6
        },
    )


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
asked(D, T) :- asks(P, D), in(P, T).
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

% what P asks, by itself or on its account, is met by what stands, by itself, or by a free Q that can stand
% beside it, has not much against it there and is furnished itself
asks(P, D) :- demand_of(P, D).
asks(P, D) :- wake_of(P, D).
helped(P, D, T) :- asks(P, D), wants(D, F), offered(F, T), fit(P, T).
helped(P, D, T) :- asks(P, D), wants(D, F), offer_of(P, F), fit(P, T).
helped(P, D, T) :- asks(P, D), wants(D, F), offer_of(Q, F), fit(P, T), fit(Q, T), P != Q, not clash(P, Q),
                   not bad(Q), not bad_with(Q, P), not bad_there(Q, T), furnished(Q, T).
furnished(P, T) :- fit(P, T), helped(P, D, T) : demand_of(P, D).
bad_there(P, T) :- bad_with(P, Q), in(Q, T).

% one that another has chosen already comes anyway
coming(D, P, T) :- can(D, P, T), chosen(E, P, T), turn(D, K, T), turn(E, J, T), J < K.
much(D, P, T) :- can(D, P, T), bad(P).
much(D, P, T) :- can(D, P, T), bad_there(P, T).
much(D, P, T) :- can(D, P, T), bad_with(P, Q), chosen(E, Q, T), turn(D, K, T), turn(E, J, T), J < K.
much(D, P, T) :- can(D, P, T), asks(P, N), not helped(P, N, T).
mark(D, P, 0, T) :- coming(D, P, T).
mark(D, P, 0, T) :- can(D, P, T), not coming(D, P, T), not much(D, P, T), not lacks(P).
mark(D, P, 1, T) :- can(D, P, T), not coming(D, P, T), not much(D, P, T), lacks(P).
mark(D, P, 2, T) :- can(D, P, T), not coming(D, P, T), much(D, P, T).

% demands choose one after the other, in the order they were asked; a later one gives way
clash(P, Q) :- fills(P, L), fills(Q, L), P != Q.
clash(P, Q) :- never(P, Q).
clash(P, Q) :- never(Q, P).
turn(D, K, T) :- open(D, T), K = #count { E : open(E, T), before(E, D, T) }.
before(E, D, T) :- open(E, T), open(D, T), listed(E, A), listed(D, B), A < B.
lost(P, D, T) :- can(D, P, T), turn(D, K, T), chosen(E, Q, T), turn(E, J, T), J < K, clash(P, Q).
better(D, P, T) :- mark(D, P, M, T), mark(D, Q, N, T), N < M, not lost(Q, D, T).
better(D, P, T) :- mark(D, P, M, T), mark(D, Q, M, T), first(Q, P), not lost(Q, D, T).
chosen(D, P, T) :- can(D, P, T), not lost(P, D, T), not better(D, P, T).
pick(P, T) :- chosen(_, P, T).
"""


def closure_by_clingo(
    supplies: Sequence[Supply],
    demands: Sequence[Demand],
    providers: dict[str, Provider],
    filled: Sequence[str],
    said: Said,
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
        for demand in said.woken.get(p, []):
            note(demand, f"wake_of({p},{{}})")
    facts += [f"bad({p})." for p in sorted(said.bad)] + [f"lacks({p})." for p in sorted(said.lacking)]
    facts += [f"bad_with({p},{q})." for p, q in sorted(said.bad_with)]
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
            joining = [*providers[p].demands, *said.woken.get(p, [])]
            current += [d for d, demand in ids.items() if any(demand is own for own in joining)]
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
        said = random_trials(seed, providers) if seed % 4 else Said()
        ours = close(supplies, demands, filled, [], lambda _, r=ranked: r, trials=said)
        added, still = closure_by_clingo(supplies, demands, providers, filled, said)
        assert {p.name for p, _ in ours.added} == added, seed
        left = {f"{s.demand.owner}:{'/'.join(s.demand.features)}" for s in ours.shortages}
        assert left == still, seed


def test_random_shops_are_not_trivial() -> None:
    counts = {"added": 0, "open": 0, "chain": 0, "excluded": 0, "woken": 0, "tried": 0}
    for seed in range(SHOPS):
        supplies, demands, providers, filled = random_shop(seed + 10_000)
        ranked, said = [providers[name] for name in sorted(providers)], random_trials(seed, providers)
        closure = close(supplies, demands, filled, [], lambda _, r=ranked: r, trials=said)
        untried = close(supplies, demands, filled, [], lambda _, r=ranked: r)
        counts["woken"] += any(p.name in said.woken for p, _ in closure.added)
        counts["tried"] += [p.name for p, _ in closure.added] != [p.name for p, _ in untried.added]
        counts["added"] += bool(closure.added)
        counts["open"] += bool(closure.shortages)
        counts["chain"] += any(demand.owner.startswith("part") for _, demand in closure.added)
        counts["excluded"] += any(p.never_with for p, _ in closure.added)
    assert all(count > SHOPS // 10 for count in counts.values()), counts


@pytest.mark.parametrize("seed", range(200))
def test_pieces_are_shared_out_as_a_flow(seed: int) -> None:
    """As many as networkx's maximum flow carries, each who asks served before those behind it."""
    chance = random.Random(seed)
    most = chance.choice((3, 999))
    wanted = [chance.randint(1, most) for _ in range(chance.randint(1, 12))]
    stock = [chance.randint(1, most) for _ in range(chance.randint(1, 8))]
    suits = [[s for s in range(len(stock)) if chance.random() < 0.4] for _ in wanted]

    def most_given(asking: int) -> int:
        graph = nx.DiGraph()
        graph.add_nodes_from(["in", "out"])
        for d in range(asking):
            graph.add_edge("in", ("asks", d), capacity=wanted[d])
            graph.add_edges_from((("asks", d), ("offers", s)) for s in suits[d])
        for s, units in enumerate(stock):
            graph.add_edge(("offers", s), "out", capacity=units)
        return nx.maximum_flow_value(graph, "in", "out")

    crowds = share_out(wanted, suits, stock)
    served = [most_given(d + 1) - most_given(d) for d in range(len(wanted))]
    assert set(crowds) == {d for d, units in enumerate(served) if units < wanted[d]}
    for number, crowd in crowds.items():
        assert number in crowd.asking
        assert {s for d in crowd.asking for s in suits[d]} == set(crowd.offered)
        assert sum(stock[s] for s in crowd.offered) < sum(wanted[d] for d in crowd.asking)


def test_the_number_of_pieces_costs_nothing() -> None:
    """A hundred needs of 999 pieces each: paths are counted, not clocked."""
    from compat.checking import matching

    class Counted(matching._Sharing):
        paths = 0

        def path(self, start: int, most: int) -> int:
            Counted.paths += 1
            return super().path(start, most)

    sharing = Counted([[0, n % 7 + 1] for n in range(100)], [50_000, *[7_000] * 7])
    assert [sharing.serve(n, 999) for n in range(100)].count(999) > 90
    assert Counted.paths < 400


def test_units_of_several_features_and_kinds_are_told_apart() -> None:
    """A need for either of two features is met by the one that all share; units of another kind are none."""
    cup, jug = Supply("shelf", "cup", 1, (("size", "small"),), used_up=True), Supply("sink", "jug")
    assert open_demands([Demand("cook", ("cup", "jug")), Demand("maid", ("cup", "jug"))], [cup, jug]) == []
    small, large = (Demand("guest", ("cup",), 1, (("size", size),)) for size in ("small", "large"))
    book = Book([cup, Supply("shelf", "cup", 1, (("size", "tall"),), used_up=True)])
    assert [short.demand for short in book.open([small, large])[0]] == [large]
    # what one brings itself counts for it, beside what others take
    book.open([small])
    again = Demand("host", ("cup",), 1, (("size", "small"),))
    assert book.lacking([], [again]) == [again]
    assert book.lacking([cup], [again]) == []
