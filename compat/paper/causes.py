"""In which order findings are told, which of them a reader asked for, and what hangs on what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence, Set
from dataclasses import field

from compat.checking.world import BuildWorld
from compat.checking.worth import how_measured
from compat.record import record
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.words.report import Finding, Report

__all__ = [
    "Background",
    "Cause",
    "Choice",
    "Section",
    "background_of",
    "by_weight",
    "causes",
    "excess",
    "sections",
]


@record
class Background:
    """What a report does not say of itself, and its order on paper wants."""

    systems: Mapping[str, str] = field(default_factory=dict)
    """System of the engine that each position belongs to, in the shop's order."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """Kind of every rule of the shop; a `note` says the same to every engine it applies to."""
    measured: Mapping[str, str] = field(default_factory=dict)
    """What unstated specs are and how they are measured, where there are many."""
    deciding: Set[str] = frozenset()
    """Rules that say whether the goal is in reach at all; where one fails, the rest is told behind it."""

    def is_note(self, finding: Finding) -> bool:
        """Whether a finding is a standing note; one whose condition is not known is a question."""
        return finding.verdict == "caution" and self.kinds.get(finding.rule) == "note"

    def out_of_reach(self, finding: Finding) -> bool:
        """Whether a finding says that the engine cannot make the goal."""
        return finding.rule in self.deciding and finding.verdict in ("conflict", "shortfall")

    def system(self, finding: Finding) -> str:
        """System of the first position that a finding speaks of."""
        return next((self.systems[p] for p in finding.positions if p in self.systems), "")


FEW = 5
"""So many unstated specs are told where they are wanted, and need no order."""


def background_of(world: BuildWorld, unknown: Sequence[str] = ()) -> Background:
    """What the shop of a build says beside a report on it.

    Parameters
    ----------
    world : BuildWorld
        The build.
    unknown : sequence of str
        Specs that nobody stated, as ``position.spec``.

    Returns
    -------
    Background
        For any report on a build of that shop.
    """
    settled = world.settled
    kinds = settled.shop.kinds
    wanted = [spec.split(".") for spec in unknown] if len(unknown) > FEW else []
    return Background(
        measured={
            f"{place}.{name}": how_measured(kinds[place][name])
            for place, name in wanted
            if name in kinds.get(place, {})
        },
        systems={name: place.system for name, place in settled.shop.positions.items()},
        kinds={name: bound.rule.sort for name, bound in settled.book.rules.items()},
        deciding=frozenset(name for name, bound in settled.book.rules.items() if bound.rule.decides),
    )


def excess(finding: Finding) -> float:
    """How far out a finding lies, as a share of what is allowed; below nought it lies within.

    Parameters
    ----------
    finding : Finding
        Any finding.

    Returns
    -------
    float
        Of a load the headroom lacking; of a limit the distance past it over the limit, over the value where
        the limit is nought. What has no number is wholly out, 1, or wholly in, -1.

    Examples
    --------
    >>> excess(Finding("a", "conflict", "", "", value=1.5, limit=1.0, at_most=1.0))
    0.5
    >>> round(excess(Finding("a", "shortfall", "", "", load=1.0, headroom=0.05, headroom_asked=0.20)), 3)
    0.15
    """
    if finding.headroom is not None:
        return (finding.headroom_asked or 0.0) - finding.headroom
    if finding.value is None or finding.limit is None:
        return -1.0 if finding.verdict == "ok" else 1.0
    past = [limit - finding.value for limit in (finding.at_least,) if limit is not None]
    past += [finding.value - limit for limit in (finding.at_most,) if limit is not None]
    return max(past, default=0.0) / (abs(finding.limit) or abs(finding.value) or 1.0)


def by_weight(findings: Iterable[Finding], background: Background) -> list[Finding]:
    """Findings in order: what puts the goal out of reach, then worst verdict first, furthest out, by system."""
    verdicts = {verdict: number for number, verdict in enumerate(VERDICTS)}
    systems = {name: number for number, name in enumerate(dict.fromkeys(background.systems.values()))}

    def weight(finding: Finding) -> tuple[bool, int, float, int]:
        system = systems.get(background.system(finding), len(systems))
        # a sum of floats is no reason to tear a system apart
        if background.out_of_reach(finding):
            return False, 0, 0.0, 0  # as the rulebook has them: first that it is out of reach, then by what
        return True, verdicts[finding.verdict], -round(excess(finding), 6), system

    return sorted(findings, key=weight)


@record
class Cause:
    """A changed part and the findings that hang on it; without a part, those that stand alone."""

    findings: Sequence[Finding]
    part: str = ""
    position: str = ""


def causes(report: Report, findings: Sequence[Finding]) -> list[Cause]:
    """Group findings by the changed part that most of them speak of.

    Parameters
    ----------
    report : Report
        The report, for what was changed.
    findings : sequence of Finding
        What is to be grouped, in the order in which it shall be told.

    Returns
    -------
    list of Cause
        The part with the most findings first, then the one with the most of what is left, and so on; last
        those that no changed part shares with another. Every finding stands in one cause.

    Examples
    --------
    >>> a, b, c = (Finding(rule, "conflict", "", "", parts=["rod"] * (rule != "c")) for rule in "abc")
    >>> from compat.words.report import Summary
    >>> mule = Report("mule", "", "", {}, Summary("conflict", conflict=3), [], [], [], [], [], {"rod": "rod"})
    >>> [(cause.part, [finding.rule for finding in cause.findings]) for cause in causes(mule, [a, b, c])]
    [('rod', ['a', 'b']), ('', ['c'])]
    """
    places = {part: position for position, part in reversed(list(report.changed.items()))}
    left = list(findings)
    found = []
    while True:
        count = Counter(part for finding in left for part in dict.fromkeys(finding.parts) if part in places)
        part, number = next(iter(count.most_common(1)), ("", 0))
        if number < 2:
            break
        found.append(Cause([finding for finding in left if part in finding.parts], part, places[part]))
        left = [finding for finding in left if part not in finding.parts]
    return [*found, Cause(left)] if left else found


@record
class Section:
    """Findings that are told together: by their cause, by their verdict, or as what no cause is looked for."""

    findings: Sequence[Finding]
    cause: Cause | None = None
    """The part that they hang on; one without a part for those that stand alone."""
    verdict: Verdict | None = None
    """Where they have nothing but that in common. Without either, the engine cannot make the goal by them."""


def sections(report: Report, findings: Sequence[Finding], background: Background) -> list[Section]:
    """Put findings in sections, in the order in which they are told.

    Parameters
    ----------
    report : Report
        The report, for what was changed.
    findings : sequence of Finding
        What is told of it, in order (`by_weight`).
    background : Background
        What the shop says beside it.

    Returns
    -------
    list of Section
        What puts the goal out of reach, what else stands against the build by its causes, then the rest by
        verdict. None is empty.
    """
    beyond = [finding for finding in findings if background.out_of_reach(finding)]
    found = [Section(beyond)] if beyond else []
    against = [finding for finding in findings if finding.verdict in AGAINST and finding not in beyond]
    by_cause = causes(report, against)
    if by_cause and by_cause[0].part:
        found += [Section(cause.findings, cause) for cause in by_cause]
    else:
        found += _by_verdict(against)
    return [*found, *_by_verdict([finding for finding in findings if finding.verdict not in AGAINST])]


def _by_verdict(findings: Sequence[Finding]) -> list[Section]:
    of = ((verdict, [one for one in findings if one.verdict == verdict]) for verdict in VERDICTS)
    return [Section(found, verdict=verdict) for verdict, found in of if found]


class Choice:
    """The findings that a reader asked for, by verdict, rule, position or system.

    Verdicts add up, as do rules, and places; words of different kinds narrow: ``conflict shortfall
    lubrication`` are the conflicts and shortfalls of the lubrication.
    """

    def __init__(self, words: Sequence[str], report: Report, background: Background) -> None:
        self.background = background
        self.known: dict[str, Collection[str]] = {
            "verdict": VERDICTS,
            "rule": dict.fromkeys([*background.kinds, *(finding.rule for finding in report.findings)]),
            "place": dict.fromkeys([*background.systems.values(), *background.systems]),
        }
        self.unknown = [word for word in words if not any(word in known for known in self.known.values())]
        self.asked = {
            kind: asked
            for kind, known in self.known.items()
            if (asked := {word for word in words if word in known})
        }

    def __bool__(self) -> bool:
        return bool(self.asked)

    def names_rule(self, finding: Finding) -> bool:
        """Whether a finding is asked for by its own rule."""
        return finding.rule in self.asked.get("rule", ())

    def holds(self, finding: Finding) -> bool:
        """Whether a finding is among those asked for; where nothing is asked, all are."""
        systems = self.background.systems
        places = {*finding.positions, *(systems[place] for place in finding.positions if place in systems)}
        said: dict[str, set[str]] = {"verdict": {finding.verdict}, "rule": {finding.rule}, "place": places}
        return all(words & said[kind] for kind, words in self.asked.items())
