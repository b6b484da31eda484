"""`compat plot` as it is typed: numbers, files, and what is refused."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from compat.checking.check import Checked
from compat.cli import complete
from compat.paper.pictures import PICTURES, computed
from compat.paper.pictures.published import picture_json
from tests.look import check, demo_shop, published

Run = Callable[..., Any]


@cache
def as_published() -> Draft202012Validator:
    return Draft202012Validator(published()["plot"])


@pytest.mark.parametrize("name", PICTURES)
def test_numbers_are_told(name: str, run: Run) -> None:
    ran = run("plot", "street-turbo", name, "--units", "imperial")
    assert (ran.status, ran.err) == (0, "")
    assert re.search(r"\d (hp|in|lbf|psi|lb/min)\b", ran.out)
    # names may have metric numbers in them, of a build in kW or a figure in mm
    assert not re.search(r"\d (kN|bar|kPa|kg/s|N\*m)\b", ran.out)
    assert max(map(len, ran.out.splitlines())) <= 100
    assert not re.search(r" $", ran.out, re.MULTILINE)


@cache
def first_draft() -> Checked:
    library = demo_shop()
    return check(library.shop, library.book, "first-draft").checked


@pytest.mark.parametrize("name", PICTURES)
def test_json_is_as_published(name: str) -> None:
    said = json.loads(picture_json(name, computed(name, first_draft())))
    problem = next(as_published().iter_errors(said), None)
    assert problem is None, problem and problem.message
    assert said["picture"] == name
    assert said["build"] == "first-draft"
    said["unheard_of"] = 1
    assert not as_published().is_valid(said)


def test_json_is_drawn_from_what_check_says(run: Run) -> None:
    found = {
        each["rule"]: each
        for each in json.loads(run("check", "street-turbo", "--json", "--quick").out)["findings"]
    }
    said = json.loads(run("plot", "street-turbo", "headroom", "--json").out)
    assert as_published().is_valid(said)
    bars = said["bars"]
    assert len(bars) > 40
    for bar in bars:
        assert bar["headroom"] == found[bar["rule"]]["headroom"]
        assert bar["capacity"]["value"] == pytest.approx(found[bar["rule"]]["capacity"])


def test_files_of_every_ending_at_once(run: Run, tmp_path: Path) -> None:
    outs = [tmp_path / f"stack{ending}" for ending in (".svg", ".png", ".PDF")]
    outs[0].write_text("an older one")
    words = [word for out in outs for word in ("--out", out)]
    ran = run("plot", "street-turbo", "tolerance", "--rule", "deck-clearance", *words)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.splitlines() == [f"wrote {out}" for out in outs]
    assert [out.read_bytes()[:4] for out in outs] == [b"<?xm", b"\x89PNG", b"%PDF"]
    assert sorted(tmp_path.iterdir()) == sorted(outs)
    ran = run("plot", "street-turbo", "tolerance", "--rule", "deck-clearance", "--out", outs[0], "--json")
    assert json.loads(ran.out)["rule"] == "deck-clearance"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("street-turbo hedroom", "there is no picture 'hedroom'; did you mean 'headroom'?"),
        ("street-turbo portrait", "  compressor  compressor map with the operating line"),
        ("street-trubo headroom", "did you mean 'street-turbo'?"),
        ("street-turbo tolerance --rule deck-clearence", "did you mean 'deck-clearance'?"),
        ("street-turbo headroom --rule deck-clearance", "tolerance and reasons are of a rule"),
        ("fell-30-top-end compressor", "fell-30-top-end: nothing to draw: no turbocharger is fitted"),
        ("street-turbo tolerance --rule rod-fatigue", "the picture headroom shows it"),
        ("street-turbo cycle --units metrik", "neither metric nor imperial"),
        (
            "street-turbo cycle --out no-such-folder/a.svg",
            "a.svg: there is no folder no-such-folder",
        ),
        (
            "street-turbo cycle --out picture.swg",
            "no format; known are .svg, .png, .pdf; did you mean",
        ),
        ("street-turbo cycle --out picture", "has no ending that says its format"),
        ("street-turbo cycle --out .", "is a folder; name a file in it"),
        ("street-turbo cycle --out a.svg --out ./a.svg", "is given twice"),
        ("street-turbo cycle --out a.svg --shop nowhere", "nowhere: is not a folder"),
    ],
)
def test_what_is_refused(
    words: str, says: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("plot", *words.split())
    assert (ran.status, ran.out) == (2, "")
    assert says in ran.err
    assert not list(tmp_path.iterdir())


def test_two_bad_files_are_told_at_once(run: Run, tmp_path: Path) -> None:
    ran = run("plot", "street-turbo", "cycle", "--out", tmp_path / "a.gif", "--out", tmp_path / "b" / "c.png")
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 2


def test_a_folder_that_cannot_be_written(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.access
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path and real(path, mode))
    ran = run("plot", "street-turbo", "cycle", "--out", tmp_path / "a.svg")
    assert ran.status == 2
    assert "cannot be written" in ran.err
    assert not list(tmp_path.iterdir())


def test_a_disk_that_is_full_leaves_the_older_picture(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = tmp_path / "a.png"
    older.write_text("older")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    ran = run("plot", "street-turbo", "cycle", "--no-cache", "--out", older)
    assert ran.status == 2
    assert "No space left on device" in ran.err
    assert older.read_text() == "older"
    assert list(tmp_path.iterdir()) == [older]


def test_names_of_pictures_are_completed() -> None:
    assert complete.pictures("c") == ["compressor", "cycle"]
