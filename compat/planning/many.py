"""Variants, goals and parts tried against each other on all cores; what was done is kept and not done again.

One job is one variant at one goal with every combination of the parts that are tried, judged through tables
(`checking/sweeping.py`). What comes of a job is written whole under a name that hangs on the shop's files, the
program and the job: a sweep that was stopped goes on where it was, and a process that is killed costs its own
job alone, which is done again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any

from compat.library.library import Library, build_of_id
from compat.library.opening import open_library
from compat.library.place import program_stamp
from compat.library.sources import digest_of, look
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest

if TYPE_CHECKING:
    from compat.checking.session import Session

__all__ = ["Job", "Tried", "jobs_of", "run", "shop_digest"]

BREAKS = 3
"""So many times processes may be lost with no job done between, before the sweep is given up."""


@dataclass(frozen=True, slots=True)
class Job:
    """One build or variant at one goal, and the parts tried in it."""

    build: str
    power: str
    """As it is said; empty: the goal that the build has."""
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    """By position, in order."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One combination and what came of it. Needs and renewals are not looked at: `check` does that."""

    build: str
    power: str
    parts: tuple[str, ...]
    """In the order of the job's positions."""
    verdict: str
    """The worst verdict found."""


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
    for position in positions:
        if position not in shop.positions:
            hint = nearest(position, shop.positions)
            faults.append(Fault(Spot("--over", 0), f"position '{position}' is not known{hint}"))
    if not positions:
        faults.append(Fault(Spot("--over", 0), "say where parts are tried: `--over rod`"))
    jobs = []
    for name in () if faults else names:
        ready = build_of_id(shop, name)
        family = ready.variant.family
        tried = tuple((position, _made_for(shop, position, family)) for position in positions)
        for power in dict.fromkeys(powers) or ("",):
            try:
                if power:
                    ready.aiming(power=power)
            except Faults as found:
                faults += found.faults
            jobs.append(Job(name, power, tried))
    if faults:
        raise Faults(faults)
    return [job for job in jobs if all(parts for _, parts in job.parts)]


def _made_for(shop: Shop, position: str, family: str) -> tuple[str, ...]:
    return tuple(name for name in shop.fillers[position] if family in (shop.parts[name].families or (family,)))


def shop_digest(folder: Path) -> str:
    """A short name for all that the files of a shop say."""
    digest = blake2b(digest_size=16)
    for shown, path in look(folder):
        digest.update(f"{shown}\0{digest_of(path.read_bytes())}\0".encode())
    return digest.hexdigest()


def run(
    folder: Path,
    jobs: Sequence[Job],
    place: Path,
    cores: int,
    keep: bool = True,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> list[Tried]:
    """Do jobs, each once.

    Parameters
    ----------
    folder : Path
        The shop.
    jobs : sequence of Job
        What is to be done.
    place : Path
        Where results are kept, one file a job; made when it is not there.
    cores : int
        So many processes; 1: this one alone.
    keep : bool
        Whether the shop's own cache may be used.
    progress : callable
        Told how many of how many jobs are done.

    Returns
    -------
    list of Tried
        Every combination of every job, in the order of the jobs.

    Raises
    ------
    Faults
        When processes are lost again and again.
    OSError
        When nothing can be kept there.
    """
    place.mkdir(parents=True, exist_ok=True)
    of_shop = f"{shop_digest(folder)} {program_stamp()}"
    names = {job: _name(of_shop, job) for job in jobs}
    done = {job: kept for job in jobs if (kept := _kept(place / names[job])) is not None}
    left = [job for job in names if job not in done]
    breaks = 0
    progress(len(done), len(names))
    while left:
        before = len(left)
        for job, found in _spread(folder, keep, left, cores):
            _put(place / names[job], found)
            done[job] = found
            progress(len(done), len(names))
        left = [job for job in left if job not in done]
        breaks = breaks + 1 if len(left) == before else 0
        if breaks == BREAKS:
            message = f"processes ended {BREAKS} times with no job done; {len(done)} of {len(names)} are kept"
            raise Faults([Fault(Spot("sweep", 0), message)])
    return [Tried(job.build, job.power, tuple(parts), verdict) for job in jobs for parts, verdict in done[job]]


Result = list[tuple[list[str], str]]


def _spread(folder: Path, keep: bool, jobs: Sequence[Job], cores: int) -> Iterable[tuple[Job, Result]]:
    """Do jobs on so many processes; where one is lost, what is not done yet is left to the next round."""
    if cores == 1 or len(jobs) == 1:
        library = open_library(folder, keep)
        for job in jobs:
            yield job, _done(library, job)
        return
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    context = get_context("spawn")  # nothing of this process's threads and files goes with it
    with ProcessPoolExecutor(min(cores, len(jobs)), context, _open, (folder, keep)) as pool:
        try:
            asked = {pool.submit(_do, job): job for job in jobs}
            for future in as_completed(asked):
                yield asked[future], future.result()
        except BrokenProcessPool:
            return


_here: list[Library] = []
"""The shop of a process that does jobs."""


def _open(folder: Path, keep: bool) -> None:
    _here[:] = [open_library(folder, keep)]


def _do(job: Job) -> Result:
    return _done(_here[0], job)


def _done(library: Library, job: Job) -> Result:
    from compat.checking.session import Session

    return _swept(Session(library.shop, library.book, behind=library.answers), job)


def _swept(session: Session, job: Job) -> Result:
    import numpy as np

    from compat.checking.sweeping import sweep
    from compat.rulebook.models import VERDICTS

    ready = build_of_id(session.shop, job.build)
    base = session.check(ready.aiming(power=job.power) if job.power else ready)
    found = sweep(session, base, dict(job.parts))
    return [
        (
            [names[number] for names, number in zip(found.candidates, index, strict=True)],
            VERDICTS[int(found.worst[index])],
        )
        for index in np.ndindex(found.worst.shape)
    ]


def _name(of_shop: str, job: Job) -> str:
    told = json.dumps([of_shop, asdict(job)], sort_keys=True)
    return f"{blake2b(told.encode(), digest_size=16).hexdigest()}.json"


def _put(path: Path, found: Result) -> None:
    from compat.shop.writing import write_whole

    text = json.dumps(found, separators=(",", ":"))
    write_whole(path, json.dumps({"seal": _seal(text), "found": found}, separators=(",", ":")))


def _kept(path: Path) -> Result | None:
    """What was kept of a job; None where nothing is, or it is not as it was written."""
    try:
        whole: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        found: Result = [(list(parts), str(verdict)) for parts, verdict in whole["found"]]
        text = json.dumps(whole["found"], separators=(",", ":"))
        return found if whole["seal"] == _seal(text) else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _seal(text: str) -> str:
    return blake2b(text.encode(), digest_size=16).hexdigest()
