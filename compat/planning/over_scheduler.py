"""Jobs on the workers of a Dask scheduler that is already there.

A worker is sent a shop once, by the digest of its files, and jobs by themselves. What a lost worker was at
Dask gives to another; one that comes later says that it lacks the shop, is sent it, and is asked again.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

from compat.planning.at_worker import Files, do, holds, program, take
from compat.planning.jobs import Job, Result, is_result
from compat.planning.many import Spread, files_digest, hold_same, shop_files
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from distributed import Client

__all__ = ["on_scheduler"]

ANSWERS = 5.0
"""Whoever does not answer within so long [s] is not there."""
COMES_BACK = 30.0
"""So long [s] is waited for a worker where all were lost."""
SHIPPED = 600.0
"""Within so long [s] a worker has the shop."""
EXTRA = "pip install 'shop-compat[dask]'"
ADDRESS = re.compile(r"(?:(?:tcp|tls)://)?(?:\[[0-9A-Fa-f:.%]+\]|[A-Za-z0-9._-]+):([0-9]{1,5})")
VERSION = re.compile(r"[0-9]+(?:\.[0-9A-Za-z+-]+)*")

Found = TypeVar("Found")


def on_scheduler(folder: Path, address: str) -> Spread:
    """Do jobs on the workers of a scheduler.

    Parameters
    ----------
    folder : Path
        The shop.
    address : str
        Of the scheduler, like ``tcp://10.0.0.5:8786``. It can be made to run anything by who sends it work, and
        can send anything back: it must be one that is trusted.

    Returns
    -------
    callable
        What `compat.planning.many.run` takes.

    Raises
    ------
    Faults
        When that is no address, or the extra is not installed; and while jobs are done, when nobody answers,
        there are no workers or none is left, or one of them has another program than this.
    """
    found = ADDRESS.fullmatch(address)
    if found is None or not 0 < int(found[1]) < 65536:
        _fault(f"'{address}' is no address; write host and port, like tcp://10.0.0.5:8786")
    try:
        import distributed  # noqa: F401
    except ImportError:
        _fault(f"a Dask scheduler is spoken to by dask and distributed, which are not installed: {EXTRA}")
    return partial(_spread, folder, address)


def _fault(message: str) -> NoReturn:
    raise Faults([Fault(Spot("--scheduler", 0), message)])


def _spread(
    folder: Path, address: str, digest: str, jobs: Sequence[Job]
) -> Generator[tuple[Job, Result], None, None]:
    files = list(shop_files(folder))
    hold_same(folder, digest, files_digest(files))
    with _client(address) as client:
        yield from _Sender(client, address, digest, files).done(jobs)


@contextmanager
def _client(address: str) -> Iterator[Client]:
    """Speak to a scheduler for a while."""
    import logging

    import dask
    from distributed import Client

    # what it tells of lost connections is told here in sentences
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    short = {"distributed.comm.timeouts.connect": f"{ANSWERS}s", "distributed.comm.retry.count": 0}
    with dask.config.set(short):
        try:
            client = _in_time(ANSWERS + 1, lambda: Client(address, timeout=f"{ANSWERS}s", set_as_default=False))
        except Exception as error:  # whatever else listens there may answer anything
            why = "" if isinstance(error, OSError) else f" ({type(error).__name__})"
            _fault(f"no Dask scheduler answers at {address}{why}; is it started, and is that its address?")
    try:
        yield client
    finally:
        # one whose scheduler has gone would be waited for
        Thread(target=partial(client.close, timeout=1), daemon=True).start()


def _in_time(seconds: float, ask: Callable[[], Found]) -> Found:
    """What a question to others gives.

    Raises
    ------
    TimeoutError
        When it gives nothing within so many seconds.
    """
    answers: list[Found] = []
    wrong: list[Exception] = []

    def asking() -> None:
        try:
            answers.append(ask())
        except Exception as error:
            wrong.append(error)

    thread = Thread(target=asking, daemon=True)
    thread.start()
    thread.join(seconds)
    if wrong:
        raise wrong[0]
    if not answers:
        raise TimeoutError(f"no answer within {seconds:.0f} s")
    return answers[0]


class _Sender:
    """Sends jobs, and the shop to who lacks it."""

    def __init__(self, client: Client, address: str, digest: str, files: Files) -> None:
        self.client = client
        self.address = address
        self.digest = digest
        self.files = files
        self.asked: dict[Any, Job] = {}
        self.ended: SimpleQueue[Any] = SimpleQueue()

    def done(self, jobs: Sequence[Job]) -> Iterator[tuple[Job, Result]]:
        """Every job with what came of it, in the order in which they are done."""
        workers = self.workers()
        self.hold_program(workers)
        self.ship(workers)
        for job in jobs:
            self.submit(job)
        while self.asked:
            future = self.next()
            job = self.asked.pop(future)
            says, told = self.answer(future)
            if says == "done" and is_result(told, job):
                yield job, told
            elif says == "absent":
                self.ship(self.workers())
                self.submit(job)
            elif says == "other":
                self.other({"that came later": str(told).split()[0]})
            elif says == "fault":
                raise Faults([Fault(Spot(f"{job.build} at a worker", 0), sentence) for sentence in told])
            else:
                _fault("a worker sent back what is no result of this program")

    def submit(self, job: Job) -> None:
        """Ask for a job."""
        future = self.client.submit(do, self.digest, program(), job, pure=False)
        self.asked[future] = job
        future.add_done_callback(self.ended.put)

    def next(self) -> Any:
        """The next job that has ended; a fault when nobody is left to do one."""
        alone: float | None = None
        while True:
            with suppress(Empty):
                return self.ended.get(timeout=1)
            if self.there():
                alone = None
            elif alone is None:
                alone = monotonic()
            elif monotonic() - alone > COMES_BACK:
                _fault(f"no worker of {self.address} is left, and for {COMES_BACK:.0f} s none came")

    def answer(self, future: Any) -> tuple[str, Any]:
        """What a worker said."""
        from concurrent.futures import CancelledError

        from distributed import KilledWorker

        try:
            says, told = future.result(timeout=SHIPPED)
        except KilledWorker:
            _fault("several workers ended while they did the same job; have they memory enough for it?")
        except CancelledError:
            _fault(f"the scheduler at {self.address} has gone, or has dropped the work")
        except Exception as error:
            _fault(f"a worker cannot do it: {type(error).__name__}: {' '.join(str(error).split())[:200]}")
        return says, told

    def there(self) -> list[str]:
        """Workers that there are; none where the scheduler does not say."""
        try:
            return list(_in_time(ANSWERS, self.client.nthreads))
        except Exception:
            return []

    def workers(self) -> list[str]:
        """Workers that there are; a moment is waited for the first."""
        began = monotonic()
        while not (found := self.there()):
            if monotonic() - began > ANSWERS:
                _fault(
                    f"the scheduler at {self.address} has no workers; start some: dask worker {self.address}"
                )
            sleep(0.2)
        return found

    def hold_program(self, workers: list[str]) -> None:
        """Hold that workers have the program that this is."""
        from pkgutil import resolve_name

        # by a function of the standard library: who lacks the program can say so
        own = program().split()[0]
        versions = self.ask(workers, resolve_name, "compat.version:__version__")
        # of one that cannot load it comes an error, or the text of one
        told = {worker: str(one) if VERSION.fullmatch(str(one)) else "" for worker, one in versions.items()}
        other = {worker: version for worker, version in told.items() if version != own}
        if not other:
            programs = self.ask(workers, program)
            other = {worker: own for worker, one in programs.items() if one != program()}
        if other:
            self.other(other)

    def other(self, versions: dict[str, str]) -> NoReturn:
        """Refuse workers with a program of another version, of the same and yet another, or with none."""
        own = program().split()[0]
        faults = []
        for worker, version in versions.items():
            if not version:
                told = f"cannot load compat; install version {own} where it runs"
            elif version == own:
                told = f"has compat {own} with other files than this one; install the same"
            else:
                told = f"has compat {version}, and this is {own}; install the same"
            faults.append(Fault(Spot("--scheduler", 0), f"worker {worker} {told}"))
        raise Faults(faults)

    def ship(self, workers: list[str]) -> None:
        """Send the shop to workers that lack it."""
        has = self.ask(workers, holds, self.digest)
        lacking = [worker for worker, there in has.items() if there is False]
        for worker, why in self.ask(lacking, take, self.digest, self.files).items() if lacking else ():
            if why and isinstance(why, str):
                _fault(f"worker {worker} does not take the shop: {why}")

    def ask(self, workers: list[str], function: Callable[..., Any], *args: Any) -> dict[str, Any]:
        """What workers answer; of one that has gone meanwhile, an error."""
        try:
            run = partial(self.client.run, function, *args, workers=workers, on_error="return")
            found: dict[str, Any] = _in_time(SHIPPED, run)
        except Exception as error:
            _fault(f"the workers of {self.address} do not answer: {type(error).__name__}: {str(error)[:200]}")
        return found
