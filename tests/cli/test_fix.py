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
        (("--out", "own.xyz"), "'.xyz' says no format"),
        (("--keep", "sport-rod"), "is a part; name its position, 'rod'"),
        (("--keep", "fuel"), "the goal stays as it is"),
        (("--avoid", "quayside"), "is a supplier; name it with --avoid-supplier"),
        (("--avoid", "piston"), "is a position; name parts of it"),
        (("--avoid", "zz-*"), "no part is called 'zz-*'"),
        (("--avoid-supplier", "quaside"), "did you mean 'quayside'"),
        (("--avoid-supplier", "sport-rod"), "is a part, no supplier"),
        (
            ("--keep", "piston", "--avoid", "sport-piston"),
            "is kept, and that is 'sport-piston', which",
        ),
        (("--budget", "500 EUR"), "is not in GBP, which the shop counts in"),
        (("--budget", "EUR 500"), "is not in GBP, which the shop counts in"),
        (("--budget", "nan"), "no amount of money"),
        (("--seconds", "nan"), "nan seconds to search in are none"),
        (("--wish", "rod=-5"), "for giving up 'rod' is below zero"),
        (("--wish", "pistn=5"), "did you mean 'piston'"),
        (("--wish", "piston=dear"), "--wish: 'dear' is no amount of money"),
        (("--wish", "rod=5"), "the build says nothing of 'rod'"),
    ],
)
def test_bad_terms_are_told(words: tuple[str, ...], says: str, run: Run, tiny: Any) -> None:
    ran = run("fix", "mixed", "--shop", tiny.folder, *words)
    assert ran.status == 2
    assert says in ran.err
    assert ran.out == ""


def test_all_that_is_wrong_is_told_at_once(run: Run, tiny: Any) -> None:
    terms = ("--keep", "rdo", "--avoid", "nothing", "--aim", "fast", "--budget", "5 XAU", "--seconds", "0")
    files = ("--out", "own.xyz", "--write", "no/such/folder/own.yaml")
    ran = run("fix", "mixde", "--shop", tiny.folder, *terms, *files, "--wish", "rod")
    assert ran.status == 2
    assert ran.out == ""
    told = ("'mixed'", "'rod'", "'nothing'", "'fast'", "5 XAU", "0 seconds", "'.xyz'", "no/such/folder")
    assert all(word in ran.err for word in (*told, "--wish"))
    assert "9 faults; nothing was checked." in ran.err


def test_what_is_kept_is_told_as_the_build_has_it(run: Run, tiny: Any) -> None:
    words = ("--keep", "piston", "--keep", "deck-block", "--keep", "knock_control", "--seconds", "60")
    out = " ".join(run("fix", "mixed", "--shop", tiny.folder, *words).out.split())
    assert "kept: piston (sport-piston), deck-block (not done), knock_control (as the variant has it)" in out


def test_a_star_avoids_all_parts_that_are_called_so_but_those_that_are_kept(run: Run, tiny: Any) -> None:
    words = ("fix", "mixed", "--shop", tiny.folder, "--seconds", "60", "--others", "0", "--json")
    for avoided, kept in (("sport-*", ()), ("sport-p*", ("--keep", "piston"))):
        (build,) = json.loads(run(*words, "--avoid", avoided, *kept).out)["builds"]
        after = {one["on"]: one["after"] for one in build["changes"]}
        assert not [part for part in after.values() if part.startswith(avoided.rstrip("*"))]
        assert ("piston" in after) == (not kept)
    # the piston that is kept goes on no rod but one that is avoided
    assert not json.loads(run(*words, "--avoid", "sport-*", "--keep", "piston").out)["builds"]


IMPOSSIBLE = {
    "{power: 5 kW, at: 600 rpm, rev_limit: 6800 rpm}": (1, "Peak power lies above idle: it comes to 600 rpm"),
    "{power: 900 kW, at: 6000 rpm, rev_limit: 6500 rpm}": (1, "Gearbox for the peak torque: capacity 240"),
    "{power: 0 kW, at: 6000 rpm, rev_limit: 6500 rpm}": (2, "'0 kW' is zero"),
    "{power: -5 kW, at: 0 rpm, rev_limit: 6500 rpm}": (2, "'-5 kW' is below zero"),
    "{power: 95 kW, at: 6000 rpm, rev_limit: 6500 rpm}\n  fit: {piston: fell-30-piston}": (
        1,
        "Piston of another family: made for Marrick Fell (fell-30-piston)",
    ),
}


@pytest.mark.parametrize("said", IMPOSSIBLE)
def test_an_impossible_wish_is_answered_as_a_check_answers(said: str, run: Run, tmp_path: Path) -> None:
    """What fails whatever is chosen is named at once; what is no goal at all is refused."""
    status, says = IMPOSSIBLE[said]
    own = tmp_path / "wish.yaml"
    own.write_text(f"- build: wish\n  name: Wish\n  variant: tarn-20-base\n  goal: {said}\n", encoding="utf-8")
    ran = run("fix", own, "--keep", "piston")
    assert (ran.status, run("check", own, "--quick").status) == (status, status)
    assert says in " ".join((ran.out + ran.err).split())
    assert (ran.out == "") == (status == 2)


def test_what_cannot_be_is_told_and_ends_with_1(run: Run, tiny: Any, tmp_path: Path) -> None:
    """Nothing may be bought, and the shelf has no other rod."""
    own = tmp_path / "own.yaml"
    words = ("--budget", "0", "--keep", "piston", "--keep", "crankshaft", "--seconds", "60")
    ran = run("fix", "mixed", "--shop", tiny.folder, *words, "--write", own)
    assert ran.status == 1
    assert "nothing puts it right" in ran.out.splitlines()[0]
    assert not own.exists()
