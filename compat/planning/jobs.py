"""One job of a sweep: a variant at a goal, with every combination of the parts that are tried."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any, TypeAlias

from compat.library.library import Library, build_of_id
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from compat.checking.check import Checked
    from compat.checking.session import Session
    from compat.checking.sweeping import Sweep
    from compat.shop.builds import ReadyBuild

__all__ = ["Job", "Result", "combinations_of", "do_job", "is_result", "jobs_of"]

MOST = 1_000_000
"""So many combinations are tried at once: what comes of them is held in memory."""


@dataclass(frozen=True, slots=True)
class Job:
    """One build or variant at one goal, and the parts tried in it."""

    build: str
    power: str
    """As it is said; empty: the goal that the build has."""
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    """By position, in order."""

    @property
    def combinations(self) -> int:
        """So many ways there are to choose from the parts."""
        count = 1
        for _, parts in self.parts:
            count *= len(parts)
        return count


Result: TypeAlias = dict[str, Any]
"""What came of a job, as JSON holds it: ``still``, what stands against it whichever part is fitted; and of
every combination, the last position's parts changing first, ``worst`` and ``of_parts``, the rank of a verdict
as one digit each, and ``whose``, which of ``rules`` and ``titles`` gave `of_parts`, -1 for none. So short it
goes between processes and into files in no time."""


def jobs_of(shop: Shop, builds: Iterable[str], positions: Sequence[str], powers: Sequence[str]) -> list[Job]:
    """Make the jobs of a sweep.

    Parameters
    ----------
    shop : Shop
        The shop.
    builds : iterable of str
        Builds, variants, and families, which stand for all their variants.
    positions : sequence of str
        Where every part is tried that is made for the build's family, or for any.
    powers : sequence of str
        Goals, like ``250 kW``; none: each build's own.

    Returns
    -------
    list of Job
        Builds by goals.

    Raises
    ------
    Faults
        With everything that is not known, or is no goal of a build.
    """
    faults: list[Fault] = []
    names: dict[str, None] = {}
    known = [*shop.families, *shop.variants, *shop.builds]
    for name in builds:
        if name in shop.families:
            names |= dict.fromkeys(one.variant for one in shop.variants.values() if one.family == name)
        elif name in known:
            names[name] = None
        else:
            hint = nearest(name, known)
            faults.append(Fault(Spot("sweep", 0), f"no family, variant or build is called '{name}'{hint}"))
    positions = tuple(dict.fromkeys(positions))
    for position in positions:
        if position not in shop.positions:
            hint = nearest(position, shop.positions)
            faults.append(Fault(Spot("--over", 0), f"position '{position}' is not known{hint}"))
        elif position == "fuel":
            faults.append(Fault(Spot("--over", 0), "the fuel is part of the goal, and no part that is tried"))
    if not positions:
        faults.append(Fault(Spot("--over", 0), "say where parts are tried: `--over rod`"))
    jobs: list[Job] = []
    for name in () if faults else names:
        ready = build_of_id(shop, name)
        family = ready.variant.family
        tried = tuple((position, _made_for(shop, position, family)) for position in positions)
        for power in dict.fromkeys(powers) or ("",):
            try:
                if power:
                    _at_goal(ready, power)
            except Faults as found:
                # what is wrong with a power is so on every engine
                faults += (Fault(Spot("--power", 0), fault.message) for fault in found.faults)
            jobs.append(Job(name, power, tried))
    faults += _beyond(jobs, positions)
    if faults:
        raise Faults(faults)
    return [job for job in jobs if job.combinations]


def _beyond(jobs: Sequence[Job], positions: Sequence[str]) -> Iterator[Fault]:
    """What is wrong with how many combinations there are: none, or more than a machine holds."""
    count = sum(job.combinations for job in jobs)
    if jobs and not count:
        empty = [p for p in positions if all(not dict(job.parts)[p] for job in jobs)]
        where = " and ".join(empty or positions)
        yield Fault(Spot("--over", 0), f"the shop has no part for {where} that is made for these engines")
    if count > MOST:
        ways = " x ".join(f"{max(len(dict(job.parts)[p]) for job in jobs)} for {p}" for p in positions)
        told = f"{count:,} combinations in all ({ways}), and {MOST:,} are the most"
        yield Fault(Spot("--over", 0), f"{told}; try fewer positions, engines or goals at once")


def _at_goal(ready: ReadyBuild, power: str) -> ReadyBuild:
    """A build at another power: its torque and boost go with it, as they do on the ladder.

    Raises
    ------
    Faults
        When it is no goal.
    """
    from compat.planning.ladder import raised

    other = ready.aiming(power=power)
    entries = raised(ready.goal, other.goal.power.nominal / ready.goal.power.nominal)
    if entries.get("boost", "").startswith("-"):  # so little is had with none
        entries["boost"] = "0 kPa"
    return ready.aiming(**{**entries, "power": power})


def _made_for(shop: Shop, position: str, family: str) -> tuple[str, ...]:
    return tuple(name for name in shop.fillers[position] if family in (shop.parts[name].families or (family,)))


def do_job(library: Library, job: Job) -> Result:
    """Do a job in a shop."""
    from compat.checking.session import Session

    found = _swept(Session(library.shop, library.book, behind=library.answers), job)
    if library.answers is not None:
        library.answers.write()
    return found


def _swept(session: Session, job: Job) -> Result:
    from compat.checking.sweeping import sweep
    from compat.words.reporting import report

    ready = build_of_id(session.shop, job.build)
    base = session.check(_at_goal(ready, job.power) if job.power else ready)
    found = sweep(session, base, dict(job.parts), through=True)
    still = [
        [one.rule, one.verdict, one.title, one.because]
        for one in report(base, fine=False).findings
        if one.rule in found.apart and one.verdict in AGAINST
    ]
    titles = [_title(session, base, found, number) for number in range(len(found.rules))]
    return {
        "still": still,
        "rules": list(found.rules),
        "titles": titles,
        "worst": _digits(found.worst),
        "of_parts": _digits(found.of_parts),
        "whose": found.whose.ravel().tolist(),
    }


def _digits(ranks: NDArray[np.int8]) -> str:
    """Ranks of verdicts, a digit each."""
    digits: bytes = (ranks.ravel() + ord("0")).tobytes()
    return digits.decode("ascii")


def combinations_of(job: Job, found: Result) -> Iterator[tuple[tuple[str, ...], Verdict, Verdict, str, str]]:
    """Give every combination of a job with what came of it.

    Parameters
    ----------
    job : Job
        The job.
    found : Result
        What came of it.

    Yields
    ------
    tuple
        Its parts by position, the worst verdict of the engine, the worst of what hangs on the parts, and the
        rule that gave this with its title; empty where none did.
    """
    verdicts = {str(rank): verdict for rank, verdict in enumerate(VERDICTS)}
    rules, titles = [*found["rules"], ""], [*found["titles"], ""]  # none is the last one
    ways = product(*(parts for _, parts in job.parts))
    for parts, worst, own, whose in zip(ways, found["worst"], found["of_parts"], found["whose"], strict=True):
        yield parts, verdicts[worst], verdicts[own], rules[whose], titles[whose]


def _title(session: Session, base: Checked, found: Sweep, number: int) -> str:
    """What a rule is called; what stands where has no rule, and is called by a check of one that has it."""
    import numpy as np

    from compat.words.reporting import report

    rule = found.rules[number]
    if rule in session.book.rules:
        return session.book.rules[rule].rule.title
    first = np.argwhere(found.whose == number)
    if not len(first):
        return rule
    parts = {p: names[n] for p, names, n in zip(found.positions, found.candidates, first[0], strict=True)}
    said = report(session.check(base.world.settled.ready.fitting(**parts), base), fine=False)
    return next((one.title for one in said.findings if one.rule == rule), rule)


def is_result(found: Any, job: Job) -> bool:
    """Whether something is what comes of a job: a verdict and a rule of each combination of its parts."""
    match found:
        case {
            "still": [*still],
            "rules": [*rules],
            "titles": [*titles],
            "worst": str(worst),
            "of_parts": str(own),
            "whose": [*whose],
        }:
            pass
        case _:
            return False
    count, digits = job.combinations, set("0123456789"[: len(VERDICTS)])
    return (
        all(_are_words(told, 4) and told[1] in AGAINST for told in still)
        and len(rules) == len(titles)
        and _are_words([*rules, *titles], 2 * len(rules))
        and len(worst) == len(own) == len(whose) == count
        and digits.issuperset(worst)
        and digits.issuperset(own)
        and all(type(number) is int for number in whose)
        and (not whose or -1 <= min(whose) <= max(whose) < len(rules))
    )


def _are_words(told: Any, count: int) -> bool:
    return isinstance(told, list) and len(told) == count and all(isinstance(word, str) for word in told)
