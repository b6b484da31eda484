"""Work on processes of their own: one that is lost costs what it was at, and that is done again.

Who is stopped takes its processes along, and who is killed is followed by them.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Generator, Hashable, Sequence
from contextlib import closing
from dataclasses import dataclass
from threading import Thread
from typing import Any, Generic, TypeVar

from compat.shop.source import Fault, Faults, Spot

__all__ = ["Work", "each", "follow", "worth_beginning"]

BREAKS = 3
"""So many times processes may be lost with nothing done between, before it is given up."""

WHILE_ONE_BEGINS = 6
"""So many items one process does while another reads the program and the shop: each takes 0.1 to 0.5 s."""

Item = TypeVar("Item", bound=Hashable)
Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Work(Generic[Item, Answer]):
    """What a process does: first once, then for each item. Both are functions of a module, by their names."""

    begin: Callable[..., None]
    using: tuple[Any, ...]
    do: Callable[[Item], Answer]


def worth_beginning(count: int) -> int:
    """So many processes as are worth beginning for so many items, up to one for each core there is to use.

    >>> worth_beginning(3)
    1
    """
    there = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(there, 1 + count // WHILE_ONE_BEGINS)


def each(
    work: Work[Item, Answer], items: Sequence[Item], cores: int
) -> Generator[tuple[Item, Answer], None, None]:
    """Do work on each of some items.

    Parameters
    ----------
    work : Work
        What is done.
    items : sequence
        On what, each once.
    cores : int
        So many processes at most; 1: this one alone.

    Yields
    ------
    tuple
        An item and what came of it, in the order in which they are done.

    Raises
    ------
    Faults
        When processes are lost again and again.
    """
    if cores == 1 or len(items) == 1:
        work.begin(*work.using)
        for item in items:
            yield item, work.do(item)
        return
    left, breaks = list(items), 0
    while left:
        done: set[Item] = set()
        with closing(_round(work, left, cores)) as doing:
            for item, answer in doing:
                done.add(item)
                yield item, answer
        left = [item for item in left if item not in done]
        breaks = 0 if done else breaks + 1
        if breaks == BREAKS:
            message = f"processes ended {BREAKS} times with nothing done; {len(left)} of {len(items)} are left"
            raise Faults([Fault(Spot("processes", 0), message)])


def _round(
    work: Work[Item, Answer], items: Sequence[Item], cores: int
) -> Generator[tuple[Item, Answer], None, None]:
    """Do what can be done until a process is lost."""
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import active_children, get_context

    context = get_context("spawn")  # nothing of this process's threads and files goes with it
    others = set(active_children())
    with ProcessPoolExecutor(min(cores, len(items)), context, _begin, (work,)) as pool:
        try:
            asked = {pool.submit(work.do, item): item for item in items}
            for future in as_completed(asked):
                yield asked[future], future.result()
        except BrokenProcessPool:
            return
        except BaseException:  # somebody stops it: what runs is not waited for
            pool.shutdown(wait=False, cancel_futures=True)
            for child in set(active_children()) - others:
                child.terminate()
            raise


def _begin(work: Work[Any, Any]) -> None:
    """Begin in a process of its own."""
    follow()
    work.begin(*work.using)


def follow() -> None:
    """Leave it to the process that started this one to be stopped by a key, and end when that has, however."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_wait, daemon=True).start()


def _wait() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait

    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
