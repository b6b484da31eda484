"""Many people at the page at once: how long a change takes, what fails, what the server holds.

    python tests/bench/load_page.py                     # 50 people, 20 changes a second, two minutes
    python tests/bench/load_page.py --seconds 20        # a short look

Starts `compat serve` on a copy of the demo, in a process of its own, over loopback. A change is what a person's
press is: the form is sent, the view after it fetched. Changes are asked at their times, whether or not those
before them are answered: a server that falls behind shows it. Ends with 1 where a request failed, or where
memory still rose in the second half; that is told from `LONG` on.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from statistics import mean, median, quantiles
from time import monotonic

import httpx

TOKEN = re.compile(r'name="token" value="([0-9a-f]{128})"')
BUILDS = ("street-turbo", "endurance-ethanol", "fell-30-top-end", "phase-upgrade")
LIGHT = ("spark_plug", "oil_filter", "ignition_coil", "cam_cover", "starter", "alternator")
"""Positions whose parts move nothing of the cycle; every fifth change is of the goal, which moves it."""
LOOK_EVERY = 5.0
"""How often the memory is looked at [s]."""
LONG = 90.0
"""So long a run tells whether memory is level [s]: what is remembered within bounds fills up first."""
LEVEL = 0.1
"""So much it may rise in the second half: steps are kept so that they can be taken back, some 6 kB each."""


@dataclass
class Person:
    """One browser at a build of its own sitting."""

    client: httpx.AsyncClient
    build: str
    token: str = ""
    busy: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def get(self, path: str) -> str:
        """Fetch a view."""
        answer = await self.client.get(path)
        if answer.status_code != 200:
            raise RuntimeError(f"{path}: {answer.status_code}")
        found = TOKEN.search(answer.text)
        self.token = found[1] if found else self.token
        return answer.text

    async def change(self, path: str, says: dict[str, str]) -> None:
        """Send a form, and fetch the view after it."""
        answer = await self.client.post(path, data={"token": self.token, **says})
        if answer.status_code != 303:
            raise RuntimeError(f"{path}: {answer.status_code}")
        await self.get(answer.headers["location"].partition("#")[0])


@dataclass
class Measured:
    """What was seen."""

    light: list[float] = field(default_factory=list)
    heavy: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    memory: list[float] = field(default_factory=list)
    """Of the server, every few seconds [MB]."""
    worked: float = 0.0
    """Time of a processor that the server took [s]."""
    left: float = 0.0
    """Memory when all have gone [MB]."""

    @property
    def rise(self) -> float:
        """How much the memory rose in the second half, as a part of one; means over an eighth of the run."""
        few = max(1, len(self.memory) // 8)
        half = len(self.memory) // 2
        return mean(self.memory[-few:]) / mean(self.memory[half : half + few]) - 1


def resident(process: int) -> float:
    """Memory that a process holds [MB], where the system tells it so."""
    try:
        status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    except OSError:
        return 0.0
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1000 if found else 0.0


def worked(process: int) -> float:
    """Time of a processor that a process took [s], where the system tells it so."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def load(url: str, process: int, people: int, rate: float, seconds: float) -> Measured:
    """Let people change their builds, and measure.

    Parameters
    ----------
    url : str
        Where the page is.
    process : int
        The server's, to look at its memory.
    people : int
        How many there are.
    rate : float
        Changes of all together [1/s].
    seconds : float
        How long.
    """
    chance, seen = Random(1), Measured()
    wait = httpx.Timeout(60)
    crowd = [
        Person(httpx.AsyncClient(base_url=url, timeout=wait), BUILDS[n % len(BUILDS)]) for n in range(people)
    ]
    for one in crowd:
        await one.get(f"/build/{one.build}")
    fits = fillers()

    async def press(one: Person, number: int) -> None:
        heavy = number % 5 == 0
        path, says = f"/build/{one.build}/fit", {}
        if heavy:
            path, says = f"/build/{one.build}/goal", {"power": str(chance.randint(120, 180))}
        else:
            place = chance.choice(LIGHT)
            says = {"position": place, "part": chance.choice(fits[place])}
        began = monotonic()
        async with one.busy:  # nobody presses twice before the first press is answered
            try:
                await one.change(path, says)
            except (httpx.HTTPError, RuntimeError) as wrong:
                seen.errors.append(repr(wrong)[:200])
                return
        (seen.heavy if heavy else seen.light).append(monotonic() - began)

    async def watch() -> None:
        while True:
            seen.memory.append(resident(process))
            await asyncio.sleep(LOOK_EVERY)

    watching = asyncio.create_task(watch())
    before = worked(process)
    began, pressed = monotonic(), []
    for number in range(int(rate * seconds)):
        await asyncio.sleep(max(0.0, began + number / rate - monotonic()))
        pressed.append(asyncio.create_task(press(crowd[number % people], number)))
    await asyncio.gather(*pressed)
    watching.cancel()
    seen.worked = worked(process) - before
    seen.memory.append(resident(process))
    for one in crowd:
        await one.client.aclose()
    await asyncio.sleep(LOOK_EVERY)
    seen.left = resident(process)
    return seen


def fillers() -> dict[str, list[str]]:
    """Parts for each of the light positions."""
    from compat.library.opening import open_library
    from compat.library.sources import demo_folder

    shop = open_library(demo_folder()).shop
    return {place: list(shop.indexes.fillers[place]) for place in LIGHT}


def told(name: str, times: list[float]) -> str:
    """Median, 95 % and longest of some times."""
    if len(times) < 2:
        return f"{name}: {len(times)} changes"
    slow = quantiles(times, n=20)[-1]
    return (
        f"{name}: {len(times)} changes, median {median(times) * 1000:.0f} ms, "
        f"95 % under {slow * 1000:.0f} ms, longest {max(times) * 1000:.0f} ms"
    )


def main() -> None:
    """Start a server, load it, and tell what was seen."""
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("--people", type=int, default=50)
    wanted.add_argument("--rate", type=float, default=20.0)
    wanted.add_argument("--seconds", type=float, default=120.0)
    asked = wanted.parse_args()
    from compat.library.sources import demo_folder

    with tempfile.TemporaryDirectory() as place:
        shop = Path(place) / "shop"
        for name in ("catalog", "rules"):
            shutil.copytree(demo_folder() / name, shop / name)
        settings = {**os.environ, "COMPAT_DRAFTS": str(Path(place) / "drafts")}
        command = [sys.executable, "-m", "compat", "serve", "--shop", str(shop), "--port", "0"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=settings)
        try:
            assert server.stdout is not None
            url = server.stdout.readline().split()[0].rstrip("/")
            seen = asyncio.run(load(url, server.pid, asked.people, asked.rate, asked.seconds))
        finally:
            server.terminate()
            server.wait(30)
    print(told("light part", seen.light))
    print(told("goal", seen.heavy))
    print(told("all", seen.light + seen.heavy))
    count = len(seen.light) + len(seen.heavy)
    print(f"processor: {seen.worked:.1f} s of the server, {seen.worked / max(count, 1) * 1000:.0f} ms a change")
    print(f"errors: {len(seen.errors)} {sorted(set(seen.errors))[:5]}")
    told_memory = " ".join(f"{one:.0f}" for one in seen.memory)
    print(f"memory [MB], every {LOOK_EVERY:.0f} s: {told_memory}; all gone: {seen.left:.0f}")
    print(f"memory in the second half: {seen.rise:+.1%}")
    if seen.errors or (asked.seconds >= LONG and seen.rise > LEVEL):
        sys.exit(1)


if __name__ == "__main__":
    main()
