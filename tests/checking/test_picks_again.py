"""What was picked on a build before is picked again only where all stands that it rested on: random shops,
each with something in it changed, closed from the one before and by itself."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Hashable, Sequence
from types import SimpleNamespace

import pytest

from compat.checking import adding
from compat.checking.adding import Against, close
from compat.checking.closing import _otherwise
from compat.checking.needs import Demand, Provider, Supply
from tests.checking.test_needs_oracle import FIXED, USED_UP, Said, random_shop, random_trials

Asked = tuple[str, tuple[str, ...]]


class Remembering:
    """Trials settled beforehand, that say what was asked of them and what of it was otherwise before."""

    def __init__(self, said: Said, providers: dict[str, Provider], before: Said | None = None) -> None:
        self.said, self.before, self.providers = said, before, providers
        self.asked: set[Asked] = set()

    def _key(self, provider: Provider, added: Sequence[Provider]) -> None:
        self.asked.add((provider.name, tuple(other.name for other in added)))

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        self._key(provider, added)
        return self.said.against(provider, added)

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        self._key(provider, added)
        return self.said.wakes(provider, added)

    def asked_now(self) -> frozenset[Hashable]:
        found = frozenset(self.asked)
        self.asked.clear()
        return found

    def stands(self, asked: Asked) -> bool:
        assert self.before is not None
        name, others = asked
        provider, added = self.providers[name], [self.providers[other] for other in others]
        return all(
            getattr(self.said, what)(provider, added) == getattr(self.before, what)(provider, added)
            for what in ("against", "wakes")
        )


def changed(chance: random.Random, supplies: list[Supply], demands: list[Demand], said: Said, other: Said):
    """A shop with one or two things in it otherwise: an offer, a need, or what comes of a trial."""
    supplies, demands, said = [*supplies], [*demands], Said(said.bad, said.lacking, said.bad_with, said.woken)
    for _ in range(chance.choice((1, 1, 2))):
        match chance.choice(("offer", "offer less", "more", "need", "need less", "bad", "lacking", "woken")):
            case "offer":
                supplies.append(Supply("new", chance.choice(["pattern", "gallery"])))
            case "offer less" if supplies:
                supplies.pop(chance.randrange(len(supplies)))
            case "more" if supplies:
                number = chance.randrange(len(supplies))
                one = supplies[number]
                supplies[number] = Supply("other", one.feature, one.count + 1, one.matching, one.used_up)
            case "need":
                features = tuple(chance.sample(FIXED + USED_UP, chance.choice((1, 2))))
                demands.insert(chance.randint(0, len(demands)), Demand("new", features))
            case "need less" if len(demands) > 1:
                demands.pop(chance.randrange(len(demands)))
            case "bad":
                said.bad = said.bad ^ set(chance.sample(sorted(other.bad | said.bad | {"part0"}), 1))
            case "lacking":
                said.lacking = other.lacking
            case "woken":
                said.woken = other.woken
    return supplies, demands, said


def told(closure: adding.Closure) -> tuple[object, ...]:
    return closure.added, closure.shortages, closure.opened, closure.live


@pytest.mark.parametrize("block", range(4))
def test_closed_from_before_as_by_itself(monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    done = Counter[str]()
    pick = adding._Closing.pick

    def counted(self: adding._Closing, demand: Demand, picked: Sequence[Provider]):
        done["picked"] += 1
        return pick(self, demand, picked)

    for seed in range(block * 600, block * 600 + 600):
        chance = random.Random(seed)
        supplies, demands, providers, filled = random_shop(seed + 20_000)
        ranked = [providers[name] for name in sorted(providers)]
        said = random_trials(seed, providers)
        before = close(
            supplies, demands, filled, [], lambda _, r=ranked: r, trials=Remembering(said, providers)
        )
        there = SimpleNamespace(supplies=supplies, demands=demands)
        for _ in range(3):
            now = changed(chance, supplies, demands, said, random_trials(seed + 7, providers))
            asked = (now[0], now[1], filled, [], lambda _, r=ranked: r)
            alone = close(*asked, trials=Remembering(now[2], providers))
            with monkeypatch.context() as patch:
                patch.setattr(adding._Closing, "pick", counted)
                again = close(
                    *asked,
                    trials=Remembering(now[2], providers, said),
                    before=before.picks,
                    moved=_otherwise(there, now[0], now[1]),
                )
            assert told(again) == told(alone), seed
            done["shops"] += 1
            done["all"] += len(again.picks)
            done["otherwise"] += told(alone) != told(before)
    # both ways are gone: what stands, and what is asked anew
    assert 0.2 * done["all"] < done["picked"] < 0.8 * done["all"], done
    assert done["otherwise"] > 0.3 * done["shops"], done


def test_what_others_take_reaches_round_a_corner() -> None:
    """A new need for drivers leaves an input alone to one who would do with either: the pick goes without."""
    supplies = [Supply("box", "input", 1, (), True), Supply("box", "driver", 1, (), True)]
    demands = [Demand("gauge", ("input", "driver")), Demand("block", ("boss",))]
    asking = Provider("asking", (), (Supply("asking", "boss"),), (Demand("asking", ("input",)),))
    other = Provider("other", (), (Supply("other", "boss"),))
    providers = {one.name: one for one in (asking, other)}
    said = Said()
    before = close(supplies, demands, [], [], lambda _: [asking, other], trials=Remembering(said, providers))
    assert [provider.name for provider, _ in before.added] == ["asking"]
    now = [*demands, Demand("valve", ("driver",))]
    again = close(
        supplies,
        now,
        [],
        [],
        lambda _: [asking, other],
        trials=Remembering(said, providers, said),
        before=before.picks,
        moved=_otherwise(SimpleNamespace(supplies=supplies, demands=demands), supplies, now),
    )
    assert [provider.name for provider, _ in again.added] == ["other"]
