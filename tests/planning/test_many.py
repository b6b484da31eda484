"""A sweep on several processes is what one check after the other says; what was done stays done."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.checking.session import Session
from compat.library.library import build_of_id
from compat.planning import jobs as planned
from compat.planning import many
from compat.planning.jobs import Job, jobs_of
from compat.planning.many import Swept, Tried, on_cores
from compat.rulebook.models import AGAINST
from compat.shop.source import Faults
from tests.conftest import Tiny

Run = Callable[..., Any]


def swept(
    tiny: Tiny,
    asked: list[Job],
    place: Path,
    cores: int,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Swept:
    return many.run(tiny.folder, asked, place, on_cores(tiny.folder, cores), progress)


def jobs(tiny: Tiny, *powers: str) -> list[Job]:
    return jobs_of(tiny.load().shop, ["hob"], ["rod"], powers)


def test_it_says_what_sweeps_one_by_one_say(tiny: Tiny, tmp_path: Path) -> None:
    library = tiny.load()
    asked = jobs(tiny, "50 kW", "150 kW")
    assert {job.build for job in asked} == {
        v.variant for v in library.shop.variants.values() if v.family == "hob"
    }
    whole = swept(tiny, asked, tmp_path / "kept", cores=2)
    found = whole.tried
    session = Session(library.shop, library.book)
    for one in found:
        ready = build_of_id(library.shop, one.build).aiming(power=one.power)
        checked = session.check(ready.fitting(rod=one.parts[0]))
        apart = [
            o for o in checked.outcomes
            if o.verdict in AGAINST and (o.rule not in library.book.rules or o.rule in library.book.judged)
        ]  # fmt: skip
        assert bool(apart) == (one.verdict in AGAINST), one
        # what stands against it is the engine's own, whichever part is fitted, or hangs on the part
        still = {told.rule for told in whole.still[one.build, one.power]}
        assert still <= {outcome.rule for outcome in apart}
        assert ({o.rule for o in apart} == still) == one.stands, one
        if not one.stands:
            assert one.rule in {o.rule for o in apart} - still
            assert one.title == library.book.rules[one.rule].rule.title
    assert {one.verdict in AGAINST for one in found} == {True, False}
    assert swept(tiny, asked, tmp_path / "other", cores=1) == whole


def test_what_was_done_is_not_done_again(tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = jobs(tiny, "50 kW")
    place = tmp_path / "kept"
    found = swept(tiny, asked[:1], place, cores=1).tried
    done: list[Job] = []

    def counted(library: Any, job: Job) -> Any:
        done.append(job)
        ((_, parts),) = job.parts
        fine, none = "6" * len(parts), [-1] * len(parts)
        return {"still": [], "rules": [], "titles": [], "worst": fine, "of_parts": fine, "whose": none}

    monkeypatch.setattr(many, "do_job", counted)
    again = swept(tiny, asked, place, cores=1).tried
    assert done == asked[1:]
    assert again[: len(found)] == found
    broken = next(iter(place.glob("*.json")))
    broken.write_text(broken.read_text(encoding="utf-8").replace('"found"', '"fuond"'), encoding="utf-8")
    done.clear()
    swept(tiny, asked, place, cores=1)
    assert len(done) == 1
    tiny.edit("catalog/parts/extra.yaml", "640 GBP", "641 GBP")  # another shop: all of it again
    done.clear()
    swept(tiny, asked, place, cores=1)
    assert done == asked


DO = many._do
MARK = "COMPAT_TEST_KILLED"


def killed_once(job: Job) -> Any:
    """Do a job; the first process that comes here is killed in the middle of it."""
    try:
        with Path(os.environ[MARK]).open("x", encoding="utf-8"):
            pass
    except FileExistsError:
        return DO(job)
    os.kill(os.getpid(), signal.SIGKILL)
    return None


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system kills no process that way")
def test_a_process_killed_in_the_middle_loses_nothing(
    tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = jobs(tiny, "50 kW", "60 kW")
    whole = swept(tiny, asked, tmp_path / "whole", cores=1)
    monkeypatch.setenv(MARK, str(tmp_path / "killed"))
    monkeypatch.setattr(many, "_do", killed_once)
    counts: list[int] = []
    found = swept(tiny, asked, tmp_path / "kept", 2, lambda done, of: counts.append(done))
    assert (tmp_path / "killed").exists()
    assert found == whole
    assert counts[-1] == len(asked)


def always_killed(job: Job) -> Any:
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system kills no process that way")
def test_it_does_not_go_on_for_ever(tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "_do", always_killed)
    with pytest.raises(Faults, match="processes ended 3 times"):
        swept(tiny, jobs(tiny, "50 kW", "60 kW"), tmp_path / "kept", cores=2)


def test_everything_wrong_is_told_at_once(tiny: Tiny, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(Faults) as caught:
        jobs_of(tiny.load().shop, ["hub"], ["rood"], [])
    assert len(caught.value.faults) == 2
    with pytest.raises(Faults, match="is a mass") as caught:
        jobs(tiny, "50 kg")
    assert len(caught.value.faults) == 1  # and not once for every engine
    shop = tiny.load().shop
    with pytest.raises(Faults, match="--over: the shop has no part for setup"):
        jobs_of(shop, ["hob"], ["setup"], [])
    with pytest.raises(Faults, match="the fuel is part of the goal"):
        jobs_of(shop, ["hob"], ["fuel"], [])
    monkeypatch.setattr(planned, "MOST", 3)
    with pytest.raises(Faults, match=r"combinations in all \(\d for rod\), and 3 are the most"):
        jobs_of(shop, ["hob"], ["rod"], [])


# the command


def test_the_command_tells_what_goes_together(tiny: Tiny, run: Run, tmp_path: Path) -> None:
    out = tmp_path / "swept.csv"
    words = ("sweep", "hob", "--over", "rod", "--power", "50 kW", "--shop", tiny.folder, "--cores", "1")
    ran = run(*words)
    assert (ran.status, ran.err) == (0, "")
    assert "combinations have nothing against them" in ran.out
    assert run(*words, "--out", out).status == 0
    assert "rod" in out.read_text(encoding="utf-8-sig").splitlines()[0].casefold()
    wrong = run("sweep", "hob", "--over", "rood", "--shop", tiny.folder)
    assert wrong.status == 2
    assert "did you mean 'rod'" in wrong.err


def test_parquet_holds_every_combination(tiny: Tiny, run: Run, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet", reason="pyarrow is not installed")
    out = tmp_path / "swept.parquet"
    words = ("sweep", "hob", "--over", "rod", "--shop", tiny.folder, "--cores", "1", "--out", out)
    assert run(*words).status == 0
    rows = parquet.read_table(out).to_pylist()
    shop = tiny.load().shop
    assert {row["rod"] for row in rows} <= set(shop.fillers["rod"])
    assert all(
        isinstance(Tried(row["build"], row["goal"], (row["rod"],), row["verdict"]), Tried) for row in rows
    )
