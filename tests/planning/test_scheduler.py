"""A sweep on the workers of a Dask scheduler is what this machine says, whichever of them is lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from socket import socket
from typing import Any

import pytest

from compat.library.sources import lent_files
from compat.planning import at_worker, over_scheduler
from compat.planning.jobs import Job, is_result, jobs_of
from compat.planning.many import files_digest, on_cores, run, shop_files
from compat.planning.over_scheduler import on_scheduler
from compat.shop.source import Fault, Faults, Spot
from tests.conftest import Tiny

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
POWERS = tuple(f"{power} kW" for power in range(36, 96, 5))


class Cluster:
    """A scheduler and its workers, each a process of its own on this machine, on ports that are free."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.started: list[subprocess.Popen[bytes]] = []
        told = folder / "scheduler.json"
        self.start("scheduler", "--port", "0", "--scheduler-file", str(told))
        until(told.is_file)
        self.address: str = json.loads(told.read_text(encoding="utf-8"))["address"]

    def start(self, what: str, *words: str, program: Path = ROOT) -> subprocess.Popen[bytes]:
        """Start a process; `program`: where its compat lies."""
        command = [
            sys.executable,
            "-m",
            f"distributed.cli.dask_{what}",
            "--host",
            "127.0.0.1",
            "--no-dashboard",
        ]
        process = subprocess.Popen(
            [*command, *words],
            env={**os.environ, "PYTHONPATH": str(program)},
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.started.append(process)
        return process

    def work(self, name: str) -> subprocess.Popen[bytes]:
        """Start a worker."""
        words = ("--no-nanny", "--nthreads", "1", "--name", name, "--local-directory", str(self.folder / name))
        return self.start("worker", self.address, *words)

    def stop(self) -> None:
        for process in self.started:
            process.kill()
            process.wait()


@pytest.fixture
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    pytest.importorskip("distributed", reason="dask and distributed are not installed")
    made = Cluster(tmp_path_factory.mktemp("cluster"))
    yield made
    made.stop()


def until(so: Callable[[], bool]) -> None:
    ends = time.monotonic() + 60
    while not so():
        assert time.monotonic() < ends, "it does not come to it"
        time.sleep(0.05)


def asked(tiny: Tiny) -> list[Job]:
    return jobs_of(tiny.load().shop, ["hob"], ["rod"], POWERS)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system kills no process that way")
def test_a_worker_killed_in_the_middle_loses_nothing(tiny: Tiny, tmp_path: Path, cluster: Cluster) -> None:
    from distributed import Client

    jobs = asked(tiny)
    workers = {name: cluster.work(name) for name in ("one", "two")}
    with Client(cluster.address, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)
        place = tmp_path / "kept"
        lost: list[str] = []

        def kill(done: int, of: int) -> None:
            """After the first job both hold still, and one that is at another is killed."""
            if done != 1 or lost:
                return
            for process in workers.values():
                process.send_signal(signal.SIGSTOP)
            named = {one["id"]: where for where, one in client.scheduler_info()["workers"].items()}
            busy = [name for name in workers if client.processing()[named[name]]]
            assert busy, "no worker was at anything"
            lost.append(busy[0])
            cluster.work("late")
            workers[busy[0]].kill()
            for process in workers.values():
                process.send_signal(signal.SIGCONT)

        found = run(tiny.folder, jobs, place, on_scheduler(tiny.folder, cluster.address), kill)
        assert lost
        assert workers[lost[0]].wait(10) == -signal.SIGKILL
        # a worker that comes later is sent the shop, and one that has it is not sent it again
        client.wait_for_workers(2, timeout=60)
        digest = files_digest(shop_files(tiny.folder))
        assert True in client.run(at_worker.holds, digest).values()
        again = run(tiny.folder, jobs, tmp_path / "again", on_scheduler(tiny.folder, cluster.address))
        assert set(client.run(at_worker.holds, digest).values()) == {True}
    assert found == again == run(tiny.folder, jobs, tmp_path / "here", on_cores(tiny.folder, 1))
    assert len(found.tried) == len(jobs) * len(jobs[0].parts[0][1])

    def nobody(digest: str, left: Any) -> Any:
        raise AssertionError("what is kept is done again")

    assert run(tiny.folder, jobs, place, nobody) == found


# what a worker does with what it is sent


@pytest.fixture
def worker(monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker that holds nothing yet."""
    monkeypatch.setattr(at_worker, "_sent", {})
    monkeypatch.setattr(at_worker, "_open", {})


def files_of(tiny: Tiny) -> tuple[str, at_worker.Files]:
    files = list(shop_files(tiny.folder))
    return files_digest(files), files


@pytest.mark.usefixtures("worker")
def test_a_shop_is_held_by_its_digest(tiny: Tiny, tmp_path: Path) -> None:
    digest, files = files_of(tiny)
    job = asked(tiny)[0]
    assert at_worker.do(digest, at_worker.program(), job) == ("absent", None)
    assert not at_worker.holds(digest)
    assert at_worker.take(digest, files) == ""
    assert at_worker.holds(digest)
    says, told = at_worker.do(digest, at_worker.program(), job)
    assert says == "done"
    assert is_result(told, job)
    assert at_worker.holds(digest)
    assert at_worker.do(digest, "0.0.0 another", job) == ("other", at_worker.program())
    for other in range(at_worker.MOST):
        changed = [*files, (f"rules/{other}.yaml", b"[]\n")]
        assert at_worker.take(files_digest(changed), changed) == ""
    assert at_worker.do(digest, at_worker.program(), job)[0] == "done"


@pytest.mark.usefixtures("worker")
def test_what_was_not_asked_for_is_not_taken(tiny: Tiny) -> None:
    digest, files = files_of(tiny)
    name, raw = files[0]
    bent = [(name, raw + b" "), *files[1:]]
    assert at_worker.take(digest, bent) == "what came is not what was sent"
    assert at_worker.take(digest, files[:-1]) == "what came is not what was sent"
    for other in (
        [("/etc/passwd", b"")],
        [("../catalog/a.yaml", b"")],
        [("catalog", "text")],
        ["catalog"],
        None,
    ):
        assert at_worker.take(digest, other) == "what came is no shop"  # type: ignore[arg-type]
    assert not at_worker.holds(digest)


@pytest.mark.usefixtures("worker")
def test_no_name_that_is_sent_says_where_anything_is_written(tiny: Tiny, tmp_path: Path) -> None:
    digest, files = files_of(tiny)
    job = asked(tiny)[0]
    at_worker.take(digest, files)
    plain = at_worker.do(digest, at_worker.program(), job)
    outside = tmp_path / "outside.yaml"
    names = [f"{name.split('/')[0]}/../../{outside}/{number}\0" for number, (name, _) in enumerate(files)]
    renamed = [(name, raw) for name, (_, raw) in zip(names, files, strict=True)]
    other = files_digest(renamed)
    assert at_worker.take(other, renamed) == ""
    assert at_worker.do(other, at_worker.program(), job) == plain
    assert not outside.exists()


@pytest.mark.usefixtures("worker")
def test_a_shop_that_cannot_be_read_is_a_fault_in_words() -> None:
    files = [("catalog/a.yaml", b"- part: [\n"), ("rules/a.yaml", b"[]\n")]
    digest = files_digest(files)
    assert at_worker.take(digest, files) == ""
    says, told = at_worker.do(digest, at_worker.program(), Job("hob-13", "", ()))
    assert says == "fault"
    assert all(isinstance(sentence, str) for sentence in told)


def test_the_program_is_known_by_what_it_says_and_not_by_where_it_lies() -> None:
    version, digest = at_worker.program().split()
    assert version == at_worker.__version__
    assert len(digest) == 32
    assert list(lent_files())


# who is asked


class Workers:
    """What a client of Dask does, with workers that answer as they are told to."""

    def __init__(self, *answers: tuple[str, Any], version: object = None, program: object = None) -> None:
        self.answers = list(answers)
        self.version = at_worker.__version__ if version is None else version
        self.program = at_worker.program() if program is None else program
        self.sent = 0

    def nthreads(self) -> dict[str, int]:
        return {"tcp://w:1": 1}

    def run(self, function: Any, *args: Any, workers: list[str], on_error: str) -> dict[str, Any]:
        answers = {"resolve_name": self.version, "program": self.program, "holds": False, "take": ""}
        self.sent += function.__name__ == "take"
        return dict.fromkeys(workers, answers[function.__name__])

    def submit(self, function: Any, *args: Any, pure: bool) -> Any:
        from concurrent.futures import Future

        future: Future[Any] = Future()
        future.set_result(self.answers.pop(0))
        return future


def done(tiny: Tiny, workers: Workers) -> list[tuple[Job, Any]]:
    pytest.importorskip("distributed", reason="dask and distributed are not installed")
    from compat.planning.over_scheduler import _Sender

    return list(_Sender(workers, "tcp://s:1", *files_of(tiny)).done(asked(tiny)[:1]))  # type: ignore[arg-type]


def good(tiny: Tiny) -> dict[str, Any]:
    ((_, parts),) = asked(tiny)[0].parts
    fine, none = "6" * len(parts), [-1] * len(parts)
    return {"still": [], "rules": [], "titles": [], "worst": fine, "of_parts": fine, "whose": none}


def test_who_lacks_the_shop_is_sent_it_and_asked_again(tiny: Tiny) -> None:
    workers = Workers(("absent", None), ("absent", None), ("done", good(tiny)))
    assert done(tiny, workers) == [(asked(tiny)[0], good(tiny))]
    assert workers.sent == 3  # at first, and to each that came later and said so


def test_a_worker_with_another_program_is_refused(tiny: Tiny) -> None:
    refused = (
        (Workers(version="0.0.9"), "has compat 0.0.9, and this is"),
        (Workers(version="ModuleNotFoundError('compat')"), "cannot load compat"),
        (Workers(version=ModuleNotFoundError("compat")), "cannot load compat; install version"),
        (Workers(program=f"{at_worker.__version__} other"), "with other files than this one"),
        (Workers(("other", "0.0.9 xyz")), "has compat 0.0.9, and this is"),
    )
    for workers, why in refused:
        with pytest.raises(Faults, match=why):
            done(tiny, workers)


def test_what_is_done_is_kept_when_the_others_are_lost(
    tiny: Tiny, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def one_and_no_more(folder: Path, address: str) -> Any:
        def spread(digest: str, left: Any) -> Any:
            yield next(iter(on_cores(folder, 1)(digest, left)))
            raise Faults([Fault(Spot("--scheduler", 0), "all have gone")])

        return spread

    monkeypatch.setattr(over_scheduler, "on_scheduler", one_and_no_more)
    words = ("sweep", "hob", "--over", "rod", "--shop", tiny.folder)
    place = tmp_path / "kept"
    ran = run(*words, "--scheduler", "s:1", "--resume", place)
    assert ran.status == 2
    first, then = ran.err.splitlines()
    assert first == "--scheduler: all have gone"
    assert then.endswith("what is done is kept, and the same command goes on from there.")
    assert len(list(place.iterdir())) == 1
    ran = run(*words, "--resume", place, "--json")
    assert ran.status == 0
    assert ran.out == run(*words, "--json").out


def test_what_is_no_result_is_not_kept(tiny: Tiny) -> None:
    whole = good(tiny)
    for wrong in (
        None,
        {"still": []},
        {**whole, "worst": whole["worst"][1:]},
        {**whole, "of_parts": f"{whole['of_parts']}6"},
        {**whole, "worst": whole["worst"].replace("6", "7")},
        {**whole, "worst": list(whole["worst"])},
        {**whole, "whose": [0, *whole["whose"][1:]]},
        {**whole, "whose": [-2, *whole["whose"][1:]]},
        {**whole, "whose": [True, *whole["whose"][1:]], "rules": ["a", "b"], "titles": ["A", "B"]},
        {**whole, "rules": ["a"]},
        {**whole, "rules": [1], "titles": ["A"]},
        {**whole, "still": [["rule", "ok", "title", "because"]]},
    ):
        with pytest.raises(Faults, match="no result of this program"):
            done(tiny, Workers(("done", wrong)))
    with pytest.raises(Faults, match="hob-13 at a worker: it says why"):
        done(tiny, Workers(("fault", ["it says why"])))


def test_a_fault_reaches_another_process_as_it_is() -> None:
    import pickle

    found = Faults([Fault(Spot("a.yaml", 3, 4), "says no"), Fault(Spot("b", 0), "nor this", unread=True)])
    assert pickle.loads(pickle.dumps(found)).faults == found.faults


# the command


def test_nobody_there_is_told_within_seconds(tiny: Tiny, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed", reason="dask and distributed are not installed")
    assert over_scheduler.ANSWERS <= 5
    monkeypatch.setattr(over_scheduler, "ANSWERS", 1.0)
    words = ("sweep", "hob", "--over", "rod", "--shop", tiny.folder, "--scheduler")
    for address in (
        "",
        "here",
        "http://here:1",
        "tcp://here:99999",
        "tcp://:5",
        "here:port",
        "a b:1",
        "tcp://a:0",
    ):
        ran = run(*words, address) if address else run(*words[:-1], "--scheduler", " ")
        assert ran.status == 2
        assert "is no address; write host and port" in ran.err
    with socket() as silent:
        silent.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{silent.getsockname()[1]}"
        began = time.monotonic()
        ran = run(*words, address)  # bound, and nobody listens
        assert ran.status == 2
        assert f"no Dask scheduler answers at {address}" in ran.err
        silent.listen()  # takes the call, and says nothing
        ran = run(*words, address)
        assert ran.status == 2
        assert f"no Dask scheduler answers at {address}" in ran.err
        assert time.monotonic() - began < 10
    assert run(*words, "a:1", "--cores", "2").status == 2


def test_without_the_extra_it_is_named(tiny: Tiny, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    ran = run("sweep", "hob", "--over", "rod", "--shop", tiny.folder, "--scheduler", "127.0.0.1:1")
    assert ran.status == 2
    assert "pip install 'shop-compat[dask]'" in ran.err
