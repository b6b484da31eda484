"""Following what `check` offers, one remedy after the other, as a builder would: does that come to an end?"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import compat
from compat.checking.check import Checked
from compat.checking.outcome import RANK, Met, RenewedAt
from compat.paper.causes import background_of, by_weight, causes
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, change_of, with_changes
from compat.shop.source import Faults
from compat.shop.writing import as_said
from compat.words.remedying import Remedier
from compat.words.report import Finding
from compat.words.reporting import report

__all__ = ["PICKS", "Step", "Walk", "broken", "follow"]

MOST = 60
"""A walk of so many steps more than there are findings at its start is taken as one without end."""
HOLD = re.compile(r"Hold (\S+) \((\S+)\) back")


@dataclass(frozen=True)
class Step:
    """A remedy as it was offered: the finding, the sentence, and what the build becomes by it."""

    rule: str
    says: str
    changes: tuple[Change, ...]
    renew: tuple[str, ...] = ()

    def done(self, ready: ReadyBuild) -> ReadyBuild:
        """The build with it."""
        if self.renew:
            own = ready.build.renew
            return ready.changed(renew=[*(() if own == "all" else own), *self.renew])
        return with_changes(ready, self.changes)


@dataclass
class Walk:
    """Where following led: the steps, and how it ended."""

    ended: str = ""
    """``clean``, ``unproven``, ``no remedy``, ``ring`` or ``endless``."""
    steps: list[Step] = field(default_factory=list)
    against: list[int] = field(default_factory=list)
    """How much spoke against the build, or was not known, before each step and at the end."""
    back_to: int = -1
    """The step to whose build a ring leads back."""
    left: tuple[str, ...] = ()
    last: ReadyBuild | None = None


Pick = Callable[[list[list[Step]]], Step]
"""Chooses among what is offered, by finding, the heaviest finding first; each has something."""


def first(offered: list[list[Step]]) -> Step:
    """The first remedy of the heaviest finding that has one."""
    return offered[0][0]


def at_random(seed: int) -> Pick:
    """Any remedy of the heaviest finding that has one."""
    chance = random.Random(seed)
    return lambda offered: chance.choice(offered[0])


def anywhere(seed: int) -> Pick:
    """Any remedy of any finding."""
    chance = random.Random(seed)
    return lambda offered: chance.choice(chance.choice(offered))


PICKS = {"first": lambda seed: first, "random": at_random, "anywhere": anywhere}


def follow(
    shop: compat.OpenShop,
    ready: ReadyBuild,
    pick: Pick,
    *,
    cautions: bool = False,
    by_cause: bool = False,
) -> Walk:
    """Do one offered remedy after the other until there is none, or a build comes again."""
    walk = Walk()
    seen = {key(ready): 0}
    checked = shop.session.check(ready)
    most = MOST + sum(RANK[one.verdict] <= RANK["unknown"] for one in checked.outcomes)
    for _ in range(most):
        walk.last = ready
        walk.against.append(sum(RANK[one.verdict] <= RANK["unknown"] for one in checked.outcomes))
        # one that looks at the heaviest alone asks no further than the first that has something
        heaviest = pick is first or getattr(pick, "__qualname__", "").startswith("at_random")
        offered: list[list[Step]] = []
        for steps in offers(checked, cautions, by_cause):
            if steps:
                offered.append(steps)
                if heaviest:
                    break
        if not offered:
            walk.ended = "clean" if checked.proven else "unproven" if checked.clean else "no remedy"
            walk.left = tuple(o.rule for o in checked.outcomes if RANK[o.verdict] <= RANK["unknown"])
            return walk
        step = pick(offered)
        walk.steps.append(step)
        ready = step.done(ready)
        checked = shop.session.check(ready, checked)
        if key(ready) in seen:
            walk.ended, walk.back_to = "ring", seen[key(ready)]
            walk.against.append(sum(RANK[one.verdict] <= RANK["unknown"] for one in checked.outcomes))
            return walk
        seen[key(ready)] = len(walk.steps)
    walk.ended = "endless"
    return walk


def key(ready: ReadyBuild) -> str:
    """What a build says, whatever the order in which it does."""
    said = as_said(ready.build)
    if isinstance(said.get("renew"), list):
        said["renew"] = sorted(set(said["renew"]))
    return json.dumps(said, sort_keys=True)


def offers(checked: Checked, cautions: bool, by_cause: bool) -> Iterator[list[Step]]:
    """What is offered, finding by finding, the heaviest first."""
    said = report(checked, fine=False)
    trying = Remedier(checked)
    ordered = by_weight(said.findings, background_of(checked.world))
    if by_cause:
        for cause in causes(said, [one for one in ordered if RANK[one.verdict] <= RANK["missing"]]):
            if cause.position:
                ways = trying.of_cause(cause.position, [one.rule for one in cause.findings])
                yield [Step(f"cause {cause.position}", w.says, tuple(map(change_of, w.changes))) for w in ways]
    for finding in ordered:
        if RANK[finding.verdict] > RANK["unknown"] and not (cautions and finding.verdict == "caution"):
            continue
        yield list(_steps(checked, trying.finding(finding)))


def _steps(checked: Checked, finding: Finding) -> Iterator[Step]:
    ready = checked.world.settled.ready
    ways = {way.says: way for way in finding.ways_out}
    for text in finding.remedies:
        step = None
        if text in ways:
            step = Step(finding.rule, text, tuple(map(change_of, ways[text].changes)))
        elif text.startswith("Order "):
            held = {found[2] for other in finding.remedies if (found := HOLD.match(other))}
            places = tuple(
                one.position
                for outcome in checked.renewing
                if outcome.rule == finding.rule and isinstance(outcome.seen, RenewedAt)
                for one in outcome.seen.lacking
                if one.position not in held
            )
            step = Step(finding.rule, text, (), places)
        elif text is finding.remedies[0]:
            step = _added(checked, finding.rule, text)
        if step is None:
            continue
        try:
            step.done(ready)
        except Faults as faults:
            raise AssertionError((finding.rule, text, str(faults))) from faults
        yield step


def _added(checked: Checked, rule: str, text: str) -> Step | None:
    """What the check itself adds for a need."""
    for outcome in checked.outcomes:
        if outcome.rule == rule and isinstance(outcome.seen, Met) and outcome.seen.provider is not None:
            provider = outcome.seen.provider
            if provider.name in text:
                change = Fit(provider.fills[0], provider.name) if provider.fills else Do(provider.name)
                return Step(rule, text, (change,))
    return None


def broken(shop: compat.OpenShop, number: int, seed: int) -> Iterator[tuple[str, ReadyBuild]]:
    """Builds and variants with one or two wrong parts, and some a higher goal; each with what was done."""
    chance = random.Random(seed)
    sound = [name for name in (*shop.things.builds, *shop.things.variants) if name != "first-draft"]
    made = 0
    while made < number:
        name = sound[made % len(sound)]
        ready, says = shop.build(name), [name]
        fitted = shop.check(name).world.settled.fitted
        places = [p for p in fitted if p != "fuel" and len(shop.things.fillers[p]) > 1]
        # what many rules look at is the harder to put right: half of all are drawn of those alone
        places = sorted(places, key=lambda p: -len(shop.moves(p)))[: len(places) // chance.choice((1, 5))]
        for place in chance.sample(places, chance.choice((1, 2))):
            others = [p for p in shop.things.fillers[place] if p != fitted[place].part.part]
            part = chance.choice(others)
            ready = ready.fitting(**{place: part})
            says.append(f"{place}={part}")
        if chance.random() < 0.4:
            share = chance.uniform(1.05, 1.4)
            goal = ready.goal
            raised = {"power": f"{goal.power.nominal * share / 1e3:.0f} kW"}
            if goal.torque is not None:
                raised["torque"] = f"{goal.torque.nominal * share:.0f} N*m"
            ready = ready.aiming(**raised)
            says.append(", ".join(raised.values()))
        made += 1
        yield " ".join(says), ready


def told(walk: Walk) -> Sequence[str]:
    """A walk in lines, to look at."""
    lines = [
        f"{count:4d}  {step.rule}: {step.says}" for count, step in zip(walk.against, walk.steps, strict=False)
    ]
    return [
        *lines,
        f"      {walk.ended}{f' back to step {walk.back_to}' if walk.back_to >= 0 else ''} {walk.left[:6]}",
    ]
