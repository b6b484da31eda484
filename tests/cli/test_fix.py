"""The command `fix`: what it prints, writes and refuses."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import compat

Run = Callable[..., Any]


def test_a_build_is_put_right_and_the_file_written_checks_clean(run: Run, tiny: Any, tmp_path: Path) -> None:
    own = tmp_path / "right.yaml"
    ran = run("fix", "mixed", "--shop", tiny.folder, "--seconds", "60", "--write", own, "--json")
    assert ran.status == 0
    data = json.loads(ran.out)
    assert (data["build"], data["ended"]) == ("mixed", "proved")
    best = data["builds"][0]
    assert best["changes"]
    assert Decimal(best["money"]) == sum(Decimal(best[one]) for one in ("parts", "labour", "outwork"))
    checked = run("check", own, "--shop", tiny.folder)
    assert checked.status == 0
    shop = compat.open_shop(tiny.folder)
    assert shop.check(shop.read(own)).proven
    assert "build: right" in own.read_text()
    again = run("fix", own, "--shop", tiny.folder, "--seconds", "60", "--json")
    assert json.loads(again.out)["builds"][0]["changes"] == []


def test_what_is_kept_stays(run: Run, tiny: Any) -> None:
    ran = run("fix", "mixed", "--shop", tiny.folder, "--keep", "piston", "--seconds", "60", "--json")
    assert ran.status == 0
    for build in json.loads(ran.out)["builds"]:
        assert not [one for one in build["changes"] if one["on"] == "piston"]


def test_comments_of_the_build_are_kept_and_the_old_file_is_left_alone(
    run: Run, tiny: Any, tmp_path: Path
) -> None:
    text = (
        "# for the autumn\n"
        "- build: mine      # his third\n"
        "  name: Mine\n"
        "  variant: hob-13\n"
        "  fit:\n"
        "    piston: sport-piston   # found on a shelf\n"
        "  goal: {power: 60 kW, at: 6000 rpm, rev_limit: 7200 rpm, duty: endurance}\n"
    )
    old, own = tmp_path / "mine.yaml", tmp_path / "better.yaml"
    old.write_text(text, encoding="utf-8")
    ran = run("fix", old, "--shop", tiny.folder, "--write", own, "--seconds", "60")
    assert ran.status == 0
    assert old.read_text(encoding="utf-8") == text
    made = own.read_text(encoding="utf-8")
    assert made.startswith("# for the autumn\n- build: better      # his third\n")
    assert run("check", own, "--shop", tiny.folder).status == 0
    over = run("fix", old, "--shop", tiny.folder, "--write", own)
    assert over.status == 2
    assert "is there already" in over.err
    assert own.read_text(encoding="utf-8") == made


def test_prices_that_no_longer_hold_are_told(run: Run, tiny: Any) -> None:
    words = ("fix", "mixed", "--shop", tiny.folder, "--seconds", "60", "--others", "0")
    assert "expired" not in run(*words, "--date", "2026-11-30").out
    name = re.search(r"- supplier: (\S+)\n  name: (.+)", tiny.text("catalog/shop.yaml"))
    assert name is not None
    tiny.edit("catalog/shop.yaml", name[0], f"{name[0]}\n  list_date: 2025-01-01\n  list_expires: 2026-11-29")
    before = run(*words, "--date", "2026-11-29")
    after = run(*words, "--date", "2026-11-30")
    assert (before.status, after.status) == (0, 0)
    assert "expired" not in before.out
    assert f"The price list of {name[2]} expired on 29 November 2026: ask before you order." in after.out
    data = json.loads(run(*words, "--date", "2026-11-30", "--json").out)
    assert data["builds"][0]["expired"] == {name[1]: "2026-11-29"}
    assert data["on"] == "2026-11-30"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--keep", "rdo"), "did you mean 'rod'"),
        (("--avoid", "nothing"), "part 'nothing' is not known"),
        (("--avoid-supplier", "nobody"), "supplier 'nobody' is not known"),
        (("--budget=-5",), "below zero"),
        (("--budget", "lots"), "no amount of money"),
        (("--budget", "5 XAU"), "which the shop counts in"),
        (("--aim", "speed"), "aim 'speed' is not known"),
        (("--aim", "headroom"), "within what budget"),
        (("--seconds", "0"), "none"),
        (("--wish", "rod"), "says nothing of its price"),
        (("--write", "no/such/folder/own.yaml"), "there is no folder"),
    ],
)
def test_bad_terms_are_told(words: tuple[str, ...], says: str, run: Run, tiny: Any) -> None:
    ran = run("fix", "mixed", "--shop", tiny.folder, *words)
    assert ran.status == 2
    assert says in ran.err
    assert ran.out == ""


def test_all_bad_terms_are_told_at_once(run: Run, tiny: Any) -> None:
    ran = run("fix", "mixed", "--shop", tiny.folder, "--keep", "rdo", "--avoid", "nothing", "--aim", "fast")
    assert ran.status == 2
    assert all(word in ran.err for word in ("'rdo'", "'nothing'", "'fast'"))


def test_what_cannot_be_is_told_and_ends_with_1(run: Run, tiny: Any, tmp_path: Path) -> None:
    """Nothing may be bought, and the shelf has no other rod."""
    own = tmp_path / "own.yaml"
    words = ("--budget", "0", "--keep", "piston", "--keep", "crankshaft", "--seconds", "60")
    ran = run("fix", "mixed", "--shop", tiny.folder, *words, "--write", own)
    assert ran.status == 1
    assert "nothing puts it right" in ran.out.splitlines()[0]
    assert not own.exists()
