"""Every line that a report prints as a remedy, on every build and variant of the demo shop, is done or proved.

What is to be done is done, and the finding is gone. What would only move the trouble is done too: the finding
is gone, and the trouble is there. Of what no part of the shop settles every part is tried. Ways out with their
changes as data are done in `test_remedies`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

import pytest

from compat.checking.outcome import OUT, RANK
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, change_of, with_changes
from compat.words.remedying import Remedier
from compat.words.report import Finding, WayOut
from compat.words.reporting import report
from compat.words.wording import in_sentence
from tests.checking.printed import BUILDS, opened, printed

ADD = re.compile(r"Add (?:\d+ x )?(\S+) \(")
WORK = re.compile(r"[^(]+ \(work ([^,]+), [\d.]+ h\)\.$")
RENEW = re.compile(r"Order .+, and write `renew: \[(.+?)\]` or `renew: all` in the build\.$")
MOVES = re.compile(r"Fit (.+) would settle it and only move the trouble: (.+)\.$")
NONE = re.compile(r"No (.+?) of this shop settles it")
HOLD = re.compile(r"Hold (\S+) \((\S+)\) back until this is settled: (.+)\.$")
STATE = re.compile(r"Measure or look up the .+; state it in the build's `measured` as (\w+)\.(\w+)\.$")


NEEDLESS: dict[str, tuple[str, tuple[Change, ...]]] = {
    "a washer on a nose with a key": ("street-turbo", (Fit("friction_washer", "bm-friction-washer-34"),)),
    "a boss that is there already": ("street-turbo", (Do("tap-knock-boss"),)),
    "jets under pistons that do not clear them": (
        "long-stroke-20",
        (Fit("piston_jet", "tarn-20-turbo-piston-jet"), Do("lock-phaser")),
    ),
    "a sensor that no input is left for": (
        "phase-upgrade",
        (Fit("charge_pressure_sensor", "wx-charge-pressure-300"), Do("trim-tray")),
    ),
    "a chain beside the belt": (
        "endurance-ethanol",
        (Fit("timing_chain", "fell-30-timing-chain"), Fit("igniter", "spn-igniter-4")),
    ),
}
"""Demo builds with parts and work that nobody asked for."""


class Doing:
    """Remedies of one build, done one by one."""

    def __init__(self, name: str) -> None:
        self.shop = opened()
        self.things = self.shop.things
        if name in NEEDLESS:
            build, changes = NEEDLESS[name]
            self.checked = self.shop.session.check(with_changes(self.shop.build(build), changes))
            self.report = Remedier(self.checked).report(report(self.checked))
        else:
            self.checked, self.report = printed(name)
        self.ready = self.checked.world.settled.ready

    def remedy(self, finding: Finding, text: str) -> str:
        """Do a remedy, hold what it says, and give its kind."""
        told = (finding.rule, text)
        if way := next((way for way in finding.ways_out if way.says == text), None):
            return self.way(finding, way)
        if found := ADD.match(text):
            fitted = self.checked.world.settled.fitted
            place = next(p for p in self.things.parts[found[1]].fills if p not in fitted)
            self.settles(finding, [Fit(place, found[1])], told)
            return "add"
        if found := RENEW.match(text):
            own = self.ready.build.renew
            places = [*(() if own == "all" else own), *found[1].split(", ")]
            rank = self.worst(self.ready.changed(renew=places), finding)
            assert gone(finding, rank) or any(map(HOLD.match, finding.remedies)), told
            return "renew"
        if found := WORK.match(text):
            self.settles(finding, [Do(found[1])], told)
            return "work"
        if found := MOVES.match(text):
            after = self.settles(finding, self.named(found[1]), told)
            titles = {in_sentence(o.title) for o in self.shop.check(after).report.findings if o.verdict != "ok"}
            assert any(title in found[2] for title in titles), told
            return "moves"
        if NONE.match(text):
            self.none_settles(finding, told)
            return "none"
        if found := HOLD.match(text):
            assert found[1] in self.things.fillers[found[2]], told
            return "hold"
        if found := STATE.match(text):
            assert found[2] in self.things.kinds[found[1]], told
            return "state"
        raise AssertionError(f"nobody knows how to do this: {told}")

    def way(self, finding: Finding, way: WayOut) -> str:
        """Leave out what a remedy would have left out, and hold that nothing else comes up; give its kind."""
        kinds = [kind for entry in way.changes for kind in ("leave_out", "without_work") if kind in entry]
        if not kinds or RANK[finding.verdict] > OUT:
            return "way"
        after = self.shop.session.check(with_changes(self.ready, map(change_of, way.changes)), self.checked)
        now = {one.rule for one in after.outcomes if RANK[one.verdict] <= RANK["unknown"]}
        assert finding.rule not in now, way.says
        if len(kinds) == 1:
            before = {one.rule for one in self.checked.outcomes if RANK[one.verdict] <= RANK["unknown"]}
            assert now < before, (way.says, now - before)
        return kinds[0]

    def settles(self, finding: Finding, changes: Iterable[Change], told: object) -> ReadyBuild:
        """Make changes, and hold that the finding is gone."""
        after = with_changes(self.ready, changes)
        if not gone(finding, self.worst(after, finding)):
            # of a rule that asks for several things each is told by itself
            assert sum(one.rule == finding.rule for one in self.report.findings) > 1, told
            left = self.shop.check(after).report.findings
            assert not [one for one in left if (one.rule, one.because) == (finding.rule, finding.because)], told
        return after

    def worst(self, ready: ReadyBuild, finding: Finding) -> int:
        """How a build fares by the rule of a finding; what is asked several times is as its worst."""
        checked = self.shop.session.check(ready, self.checked)
        outcomes = (
            *checked.judged.outcomes.values(),
            *checked.standing,
            *checked.world.working,
            *checked.needs.outcomes,
            *checked.renewing,
        )
        found = [RANK[outcome.verdict] for outcome in outcomes if outcome.rule == finding.rule]
        return min(found, default=RANK["ok"])

    def none_settles(self, finding: Finding, told: object) -> None:
        """Every part that fills a position of which the rule would have another is tried."""
        places = [one["swap"] for one in self.shop.book.rules[finding.rule].rule.remedies if "swap" in one]
        parts = [(place, part) for place in places for part in self.suiting(place)]
        assert parts, told
        for place, part in parts:
            rank = self.worst(with_changes(self.ready, [Fit(place, part)]), finding)
            assert not gone(finding, rank), (told, part)

    def suiting(self, position: str) -> Iterator[str]:
        """Parts that fill a position and are made for this family."""
        for part in self.things.fillers[position]:
            families = self.things.parts[part].families
            if not families or self.ready.variant.family in families:
                yield part

    def named(self, text: str) -> Iterator[Change]:
        """Parts that a sentence names, each with its position: `X (position) with Y (position)`."""
        for part, called in re.findall(r"(\S+) \(([^)]+)\)", text):
            fills = self.things.parts[part].fills
            yield Fit(next(p for p in fills if in_sentence(self.things.positions[p].name) == called), part)


def gone(finding: Finding, rank: int) -> bool:
    """Whether a finding is gone: what stood against the build does not, and a caution is none."""
    return rank > RANK["unknown" if RANK[finding.verdict] <= RANK["unknown"] else "caution"]


def test_every_build_and_variant_is_looked_at() -> None:
    assert {*opened().things.builds, *opened().things.variants} == set(BUILDS)


@pytest.mark.parametrize("name", BUILDS)
def test_every_remedy_that_is_printed_is_done(name: str) -> None:
    doing = Doing(name)
    done = Counter(
        doing.remedy(finding, text) for finding in doing.report.findings for text in finding.remedies
    )
    if name == "first-draft":
        assert set(done) == {"way", "leave_out", "add", "renew", "work", "moves", "none", "hold", "state"}
        assert done["way"] > 60


@pytest.mark.parametrize("name", NEEDLESS)
def test_what_nobody_asked_for_is_left_out_until_nothing_stands_against_the_build(name: str) -> None:
    doing = Doing(name)
    build, changes = NEEDLESS[name]
    done = Counter(
        doing.remedy(finding, text) for finding in doing.report.findings for text in finding.remedies
    )
    kinds = {"without_work" if isinstance(change, Do) else "leave_out" for change in changes}
    assert kinds <= set(done), done
    ready = doing.ready
    for _ in changes:
        checked = doing.shop.session.check(ready)
        found = map(Remedier(checked).finding, report(checked, fine=False).findings)
        left = [way for one in found if RANK[one.verdict] <= OUT for way in one.ways_out if _leaves(way)]
        ready = with_changes(ready, map(change_of, left[0].changes))
    assert doing.shop.session.check(ready).clean
    assert ready == doing.shop.build(build)


def _leaves(way: WayOut) -> bool:
    return all({"leave_out", "without_work", "strike"} & entry.keys() for entry in way.changes)
