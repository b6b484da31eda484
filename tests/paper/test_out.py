"""Files: the ending decides, every fault is told before anything is written, and a file is whole or absent."""

from __future__ import annotations

import errno
import json
import os
import random
import signal
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from compat.cli.outs import check_outs, give
from compat.paper.document import Document, Text
from compat.paper.out import ENDINGS, check_paths, write_out, write_outs
from compat.shop import writing
from compat.shop.source import Faults
from tests.paper.sample import quote

STARTS = {
    ".pdf": b"%PDF-1.7",
    ".xlsx": b"PK\x03\x04",
    ".html": b"<!doctype html>",
    ".md": b"# Quote",
    ".json": b"{",
}


def told(paths: list[Path], **more: Any) -> list[str]:
    with pytest.raises(Faults) as caught:
        check_paths(paths, **more)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("ending", [*ENDINGS, ".PDF"])
def test_the_ending_decides(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"q{ending}"
    write_out(quote(3), path)
    assert path.read_bytes().startswith(STARTS.get(ending.lower(), b""))
    assert path.stat().st_size > 50
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_an_ending_of_one_kind_of_document_is_known_where_it_is_given(tmp_path: Path) -> None:
    write_out(quote(1), tmp_path / "o.xml", {".xml": lambda document: f"<order>{document.number}</order>"})
    assert (tmp_path / "o.xml").read_text() == "<order>Q-2026-0007</order>"
    assert "'.xml' says no format" in told([tmp_path / "o.xml"])[0]


def test_every_fault_of_a_path_is_told_at_once_and_nothing_written(tmp_path: Path) -> None:
    (tmp_path / "folder.pdf").mkdir()
    (tmp_path / "file").write_text("x")
    os.mkfifo(tmp_path / "pipe.csv")
    paths = [
        tmp_path / name
        for name in (
            "good.pdf",
            "q.pdff",
            "q",
            "folder.pdf",
            "none/q.pdf",
            "file/q.pdf",
            "good.pdf",
            "pipe.csv",
        )
    ]
    with pytest.raises(Faults) as caught:
        write_outs(quote(1), paths)
    said = "\n".join(str(fault) for fault in caught.value.faults)
    assert len(caught.value.faults) == 7
    known = ".pdf, .xlsx, .csv, .md, .html, .json, .txt"
    for wanted in (
        f"q.pdff: the ending '.pdff' says no format; known are {known}; did you mean '.pdf'?",
        f"q: has no ending that says its format; known are {known}",
        "folder.pdf: is a folder; name a file in it",
        f"none/q.pdf: there is no folder {tmp_path}/none",
        f"file/q.pdf: {tmp_path}/file is no folder",
        "good.pdf: is given twice",
        "pipe.csv: is there already and is no plain file",
    ):
        assert wanted in said
    assert not (tmp_path / "good.pdf").exists()


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tmp_path.chmod(0o500)
    # a superuser may write everywhere: the system is asked, and here it says no
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    assert told([tmp_path / "q.pdf"]) == [f"{tmp_path}/q.pdf: the folder {tmp_path} cannot be written"]
    monkeypatch.undo()
    if Path("/proc/self").exists():
        with pytest.raises(Faults, match="cannot be written"):
            write_out(quote(1), Path("/proc/q.md"))
    tmp_path.chmod(0o700)


def test_a_document_that_cannot_be_made_leaves_all_files_as_they_were(tmp_path: Path) -> None:
    for name in ("q.md", "q.pdf"):
        (tmp_path / name).write_text("before")
    with pytest.raises(Faults, match=r"q\.pdf: no font here shows"):
        write_outs(Document("Quote", [Text("\ue000")]), [tmp_path / "q.md", tmp_path / "q.pdf"])
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"q.md": "before", "q.pdf": "before"}


STEPS = [
    (tempfile, "mkstemp"), (writing.os, "fdopen"), (writing.os, "fsync"),
    (Path, "chmod"), (Path, "replace"),
]  # fmt: skip


@pytest.mark.parametrize("before", ["before", None])
@pytest.mark.parametrize(("owner", "name"), STEPS)
@pytest.mark.parametrize("after", [False, True])
def test_whatever_step_fails_the_file_stays_as_it_was(
    owner: Any, name: str, after: bool, before: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "q.csv"
    if before is not None:
        path.write_text(before)
    real = getattr(owner, name)

    def fails(*args: Any, **more: Any) -> Any:
        if after:
            real(*args, **more)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(owner, name, fails)
    with pytest.raises(Faults, match=r"q\.csv: cannot be written: No space left on device"):
        write_out(quote(2), path)
    monkeypatch.undo()
    if after and name == "replace":
        assert path.read_text().startswith("Lines")  # it was in its place already
    elif before is None:
        assert not path.exists()
    else:
        assert path.read_text() == before


@pytest.mark.skipif(not hasattr(os, "fork"), reason="wants a process to kill")
def test_killed_at_any_moment_a_file_is_whole_or_absent(tmp_path: Path) -> None:
    """A process that writes without end is killed a hundred times, each time at another moment."""
    small, great = (ENDINGS[".csv"](quote(lines)) for lines in (2, 3000))
    assert isinstance(small, str)
    assert isinstance(great, str)
    whole = {small.encode(), great.encode()}
    chance = random.Random(7)
    seen: Counter[bytes] = Counter()
    for number in range(100):
        path = tmp_path / f"q{number // 5}.csv"
        ready, tell = os.pipe()
        child = os.fork()
        if child == 0:
            os.write(tell, b"!")
            while True:
                writing.write_whole(path, small)
                writing.write_whole(path, great)
        os.read(ready, 1)
        time.sleep(chance.uniform(0, 0.02))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(ready)
        os.close(tell)
        if path.exists():
            found = path.read_bytes()
            assert found in whole
            seen[found] += 1
    assert set(seen) == whole  # it was killed behind each of the two


def test_into_files_as_json_or_to_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "q.md"
    give(quote(2), [path], False)
    assert capsys.readouterr().out == f"wrote {path}\n"
    give(quote(2), [path], True)
    assert json.loads(capsys.readouterr().out)["number"] == "Q-2026-0007"
    give(replace(quote(2), title="Offer"), [], False)
    assert capsys.readouterr().out.startswith("Offer, Q-2026-0007, 30 November 2026\n")


def test_a_bad_path_stops_with_exit_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        check_outs([tmp_path / "q.doc", tmp_path])
    assert caught.value.code == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 2
    assert said[0].endswith("is a folder; name a file in it")
    assert check_outs(None) == []
    with pytest.raises(SystemExit):
        give(Document("Quote", [Text("\ue000")]), [tmp_path / "q.pdf"], False)
    assert capsys.readouterr().err.startswith(f"{tmp_path}/q.pdf: no font here shows the letter")
