"""What leaves the program: nothing that a terminal would obey, and no complaint when nobody reads on."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.cli.streams import Guarded, Unbroken
from compat.paper.visible import json_safe, visible

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
CLEAN, BROKEN = "street-turbo", "first-draft"


def started(*words: str, **how: Any) -> subprocess.Popen[str]:
    """The program as a process of its own."""
    env = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "COLUMNS": "100",
        "PYTHONIOENCODING": "utf-8",
        **how.pop("env", {}),
    }
    return subprocess.Popen(
        [sys.executable, "-m", "compat", *words], env=env, stdin=subprocess.DEVNULL, encoding="utf-8", **how
    )


@pytest.mark.parametrize(("build", "status"), [(CLEAN, 0), (BROKEN, 1)])
def test_a_reader_who_takes_one_line(build: str, status: int) -> None:
    with started("check", build, "--all", "--quick", stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline().startswith(f"{build} ")
        process.stdout.close()
        assert process.stderr.read() == ""
        assert process.wait(timeout=60) == status


def test_a_reader_who_takes_nothing() -> None:
    """The pipe is closed before the first letter: both ways out at once."""
    reader, writer = os.pipe()
    os.close(reader)
    with started("check", CLEAN, stdout=writer, stderr=writer) as process:
        os.close(writer)
        assert process.wait(timeout=60) == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device on this system")
def test_a_disk_that_is_full() -> None:
    with (
        Path("/dev/full").open("w") as full,
        started("calc", "--find", "bolt", stdout=full, stderr=subprocess.PIPE) as process,
    ):
        assert process.stderr is not None
        assert process.stderr.read() == "compat: No space left on device\n"
        assert process.wait(timeout=60) == 2


def test_what_is_written_after_the_reader_has_gone_is_swallowed() -> None:
    reader, writer = os.pipe()
    with os.fdopen(writer, "w") as stream:
        guarded = Guarded(stream)
        guarded.write("one\n")
        guarded.flush()
        assert os.read(reader, 100) == b"one\n"
        os.close(reader)
        for _ in range(3):
            assert guarded.write("two\n" * 100_000) == 400_000
            guarded.flush()
        assert guarded.styled.gone


def test_other_failures_of_a_stream_are_not_hushed() -> None:
    class Full(io.StringIO):
        def write(self, text: str) -> int:
            raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        Unbroken(Full()).write("one")


HOSTILE = "\x1b[31m\x07\x9b1mred\u202erev\u2066iso\r"


@pytest.mark.parametrize("code", [*range(0x20), *range(0x7F, 0xA0), 0x61C, 0x200E, *range(0x202A, 0x202F),
                                  *range(0x2066, 0x206A), 0xD800])  # fmt: skip
def test_every_control_character_is_shown(code: int) -> None:
    """Categories Cc and Cs, and the explicit directional marks of Unicode annex 9, sections 2.1 to 2.6."""
    letter = chr(code)
    if letter in "\t\n":
        assert visible(letter) == letter
        return
    assert unicodedata.category(letter) in ("Cc", "Cf", "Cs")
    shown = visible(f"a{letter}b")
    assert re.fullmatch(r"a\\(x[0-9a-f]{2}|u[0-9a-f]{4})b", shown)
    assert shown.isprintable()
    assert json.loads(json_safe(json.dumps(letter, ensure_ascii=False))) == letter


@pytest.mark.parametrize("text", ["Ægir & Søn, 東京 ☂", "±0.01 → 10 %", "ａ", "👩‍🔧", "עברית"])
def test_letters_of_all_the_world_are_let_be(text: str) -> None:
    assert visible(text) == json_safe(text) == text


def harmless(text: str) -> bool:
    return visible(text) == text


@pytest.mark.parametrize(
    "words",
    [
        ("check", HOSTILE), ("check", f"{HOSTILE}.yaml"), ("check", "mixed", "--only", HOSTILE),
        ("check", "mixed", "--shop", HOSTILE), ("check", "mixed", "--units", HOSTILE),
        ("check", "mixed", f"--{HOSTILE}"), ("why", "mixed", HOSTILE), ("why", HOSTILE, "quench"),
        ("why", "mixed", "quench", "--depth", HOSTILE), ("show", HOSTILE), ("lint", "--shop", HOSTILE),
        ("calc", HOSTILE), ("calc", "--find", HOSTILE), ("calc", "swept_volume", HOSTILE),
        ("calc", "swept_volume", f"bore={HOSTILE}"), ("calc", "swept_volume", f"{HOSTILE}=1 mm"),
        ("calc", "dwell_duty", f"ignition={HOSTILE}"), ("schemas", f"/dev/null/{HOSTILE}"), (HOSTILE,),
    ],
    ids=repr,
)  # fmt: skip
def test_no_argument_reaches_the_terminal_as_it_is(
    words: tuple[str, ...], run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPAT_SHOP", str(ROOT / "tests" / "tiny"))
    ran = run(*words)
    assert (ran.status, ran.out) == (2, "")
    assert harmless(ran.err), repr(ran.err)
    assert r"\x1b[31m\x07\x9b1mred\u202erev\u2066iso" in ran.err


@pytest.mark.parametrize("name", [f"{HOSTILE}.yaml", "line\nend.yaml"])
def test_no_name_of_a_file_reaches_it(name: str, tiny: Any, run: Run) -> None:
    tiny.write(f"catalog/{name}", "- suplier: extra\n")
    for words in (("lint",), ("check", "hob-13"), ("lint", "--json")):
        ran = run(*words, "--shop", tiny.folder)
        assert ran.status == 2
        assert harmless(ran.out + ran.err)
        assert len(ran.err.splitlines()) == 2


def test_nothing_that_a_file_holds_reaches_it(tiny: Any, run: Run) -> None:
    """Bidirectional marks are letters to YAML 1.2 (section 5.1); what they would turn round is a name."""
    tiny.edit("rules/rules.yaml", "title: Piston to head", 'title: "Piston \\u202eto\\u202c head\\u2066"')
    tiny.edit("catalog/shop.yaml", "  name: ", "  name: \u200f")
    seen = 0
    for words in (
        ("check", "mixed"), ("check", "mixed", "--all"), ("check", "mixed", "--brief"), ("lint",),
        ("why", "mixed", "quench"), ("show", "rules"), ("show", "quench"), ("show", "shop"),
        ("check", "mixed", "--loads"),
        ("check", "mixed", "--json"), ("why", "mixed", "quench", "--json"), ("show", "quench", "--json"),
        ("show", "rules", "--json"),
    ):  # fmt: skip
        ran = run(*words, "--shop", tiny.folder)
        assert harmless(ran.out + ran.err), words
        seen += "\\u202eto\\u202c head\\u2066" in ran.out
        if "--json" in words:
            assert "Piston \u202eto\u202c head\u2066" in json.dumps(json.loads(ran.out), ensure_ascii=False)
    assert seen >= 9


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals on this system")
@pytest.mark.parametrize(
    ("env", "styles"),
    [
        ({"TERM": "xterm"}, r"\x1b\[[0-9;]*m"),
        ({"TERM": "dumb"}, None),
        ({"TERM": "xterm", "NO_COLOR": "1"}, r"\x1b\[[0-3]?m"),
    ],
    ids=["colour", "dumb", "no colour"],
)  # fmt: skip
def test_a_terminal_gets_styles_of_our_own_and_no_others(
    env: dict[str, str], styles: str | None, tiny: Any
) -> None:
    import pty

    tiny.edit("rules/rules.yaml", "title: Piston to head", 'title: "Piston \\u202e head"')
    ours, theirs = pty.openpty()
    words = ("check", "mixed", "--shop", str(tiny.folder))
    with started(*words, stdout=theirs, stderr=theirs, env=env) as process:
        os.close(theirs)
        raw = b""
        while chunk := _read(ours):
            raw += chunk
        assert process.wait(timeout=60) == 1
    os.close(ours)
    text = raw.decode().replace("\r\n", "\n")
    assert ("\x1b" in text) == bool(styles)
    plain = re.sub(styles, "", text) if styles else text
    assert harmless(plain)
    assert "Piston \\u202e head [quench]" in plain


def _read(descriptor: int) -> bytes:
    try:
        return os.read(descriptor, 65536)
    except OSError:  # how some systems say that the other side has closed
        return b""
