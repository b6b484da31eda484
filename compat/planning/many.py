"""Variants, goals and parts tried against each other on all cores; what was done is kept and not done again.

One job is one variant at one goal with every combination of the parts that are tried, judged through tables
(`checking/sweeping.py`). What comes of a job is written whole under a name that hangs on the shop's files, the
program and the job: a sweep that was stopped goes on where it was, and a process that is killed costs its own
job alone, which is done again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Any, TypeAlias

from compat.library.library import Library
from compat.library.opening import open_library
from compat.library.place import program_stamp
from compat.library.sources import digest_of, lent_stamp, look
from compat.planning.jobs import Job, Result, combinations_of, do_job, is_result
from compat.planning.processes import Work, each
from compat.rulebook.models import AGAINST
from compat.shop.source import Fault, Faults, Spot
from compat.trade.quoted import Against

__all__ = ["Spread", "Swept", "Tried", "files_digest", "hold_same", "on_cores", "run", "shop_files"]


@dataclass(frozen=True, slots=True)
class Tried:
    """One combination and what came of it. Needs and renewals are not looked at: `check` does that."""

    build: str
    power: str
    parts: tuple[str, ...]
    """In the order of the job's positions."""
    verdict: str
    """The worst verdict found on the whole engine."""
    of_parts: str = "ok"
    """The worst of what hangs on these parts: the rest is the engine's, whichever of them is fitted."""
    rule: str = ""
    """What gave `of_parts`; the first that stands against the combination, where several do."""
    title: str = ""

    @property
    def stands(self) -> bool:
        """Whether nothing that hangs on these parts stands against them."""
        return self.of_parts not in AGAINST


@dataclass(frozen=True, slots=True)
class Swept:
    """All that came of a sweep."""

    tried: tuple[Tried, ...]
    """Every combination of every job, in the order of the jobs."""
    still: Mapping[tuple[str, str], tuple[Against, ...]]
    """By build and power, what stands against the engine whichever of the parts is fitted."""


def shop_files(folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files of a shop in the order in which they are read, with the names that messages give them."""
    return ((shown, path.read_bytes()) for shown, path in look(folder))


def files_digest(files: Iterable[tuple[str, bytes]]) -> str:
    """A short name for all that the files of a shop say."""
    digest = blake2b(digest_size=16)
    for shown, raw in files:
        digest.update(f"{shown}\0{digest_of(raw)}\0".encode())
    return digest.hexdigest()


Spread: TypeAlias = Callable[[str, Sequence[Job]], Generator[tuple[Job, Result], None, None]]
"""Does jobs of the shop with that digest, in any order."""


def on_cores(folder: Path, cores: int, keep: bool = True) -> Spread:
    """Do jobs on this machine.

    Parameters
    ----------
    folder : Path
        The shop.
    cores : int
        So many processes; 1: this one alone.
    keep : bool
        Whether the shop's own cache may be used.
    """
    return lambda digest, jobs: each(Work(_open, (folder, keep, digest), _do), jobs, cores)


def run(
    folder: Path,
    jobs: Sequence[Job],
    place: Path,
    spread: Spread,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Swept:
    """Do jobs, each once.

    Parameters
    ----------
    folder : Path
        The shop.
    jobs : sequence of Job
        What is to be done.
    place : Path
        Where results are kept, one file a job; made when it is not there.
    spread : callable
        Who does them.
    progress : callable
        Told how many of how many jobs are done.

    Returns
    -------
    Swept
        Every combination of every job, and what stands against each engine by itself.

    Raises
    ------
    Faults
        When those who do them are lost again and again, or the shop is changed meanwhile.
    OSError
        When nothing can be kept there.
    """
    place.mkdir(parents=True, exist_ok=True)
    digest = files_digest(shop_files(folder))
    of_shop = f"{digest} {program_stamp()} {lent_stamp()}"
    names = {job: _name(of_shop, job) for job in jobs}
    done = {job: kept for job in names if (kept := _kept(place / names[job], job)) is not None}
    left = [job for job in names if job not in done]
    progress(len(done), len(names))
    if left:
        with closing(spread(digest, left)) as doing:  # who does them stops when this does, wherever it is
            for job, found in doing:
                _put(place / names[job], found)
                done[job] = found
                progress(len(done), len(names))
    return Swept(
        tuple(one for job in jobs for one in _tried(job, done[job])),
        {(job.build, job.power): tuple(Against(*told) for told in done[job]["still"]) for job in names},
    )


def _tried(job: Job, found: Result) -> Iterable[Tried]:
    for parts, *said in combinations_of(job, found):
        yield Tried(job.build, job.power, parts, *said)


_here: list[Library] = []
"""The shop of a process that does jobs."""
_to_open: list[Callable[[], Library]] = []


def _open(folder: Path, keep: bool, digest: str) -> None:
    _here.clear()
    _to_open[:] = [partial(_opened, folder, keep, digest)]


def _opened(folder: Path, keep: bool, digest: str) -> Library:
    library = open_library(folder, keep)
    hold_same(folder, digest, files_digest(shop_files(folder)))
    return library


def hold_same(folder: Path, digest: str, now: str) -> None:
    """Hold that a shop is the one that a sweep began with.

    Raises
    ------
    Faults
        When it is not.
    """
    if now != digest:
        raise Faults(
            [Fault(Spot(str(folder), 0), "its files were changed after the sweep began; begin it again")]
        )


def _do(job: Job) -> Result:
    if not _here:  # not as the process begins: what is wrong then could not be told
        _here[:] = [_to_open[0]()]
    return do_job(_here[0], job)


def _name(of_shop: str, job: Job) -> str:
    told = json.dumps([of_shop, asdict(job)], sort_keys=True)
    return f"{blake2b(told.encode(), digest_size=16).hexdigest()}.json"


def _put(path: Path, found: Result) -> None:
    from compat.shop.writing import write_whole

    text = json.dumps(found, separators=(",", ":"))
    write_whole(path, f'{{"seal": "{_seal(text)}", "found": {text}}}')


def _kept(path: Path, job: Job) -> Result | None:
    """What was kept of a job; None where nothing is, or it is not as it was written."""
    try:
        whole: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        found = whole["found"]
        sealed = whole["seal"] == _seal(json.dumps(found, separators=(",", ":")))
        return found if sealed and is_result(found, job) else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _seal(text: str) -> str:
    return blake2b(text.encode(), digest_size=16).hexdigest()
