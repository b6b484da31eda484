"""The demo shop and the README as a builder types them."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command

from compat.cli import complete
from compat.cli.app import app
from compat.cli.shops import ALSO, PLURALS
from compat.library.library import Library

README = Path(__file__).parents[2] / "README.md"


@pytest.mark.parametrize(
    ("words", "status", "first"),
    [
        ("check first-draft", 1, "first-draft does NOT go together: "),
        ("check street-turbo", 0, "street-turbo goes together: nothing conflicts, falls short or is missing."),
        ("check tarn-20-base --units imperial", 0, "tarn-20-base goes together"),
        ("why first-draft deck-clearance", 0, "CONFLICT: Piston height at top dead centre"),
        ("why tarn-20-base hot-running", 0, "The rule does not apply to tarn-20-base: "),
        ("why first-draft need-coil-mount", 0, "MISSING: Mount for coils on the plugs, asked by the "),
        ("show shop", 0, "pellow-bridge: Pellow Bridge Engine Works (shop; catalog/shop.yaml"),
        ("show tarn", 0, "tarn: Marrick Tarn (family; "),
        ("show work", 0, "    "),
        ("show deck-clearance", 0, "deck-clearance: Piston height at top dead centre (rule; "),
        ("show compression_ratio", 0, "compression_ratio: Compression ratio (figure; "),
    ],
)  # fmt: skip
def test_first_line(words: str, status: int, first: str, run: Callable[..., Any]) -> None:
    ran = run(*shlex.split(words))
    assert ran.status == status, ran.err
    assert ran.out.splitlines()[0].startswith(first)
    assert ran.err == ""
    assert not re.search(r" $", ran.out, re.MULTILINE)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("check tarn-20-bas", "did you mean 'tarn-20-base'?"),
        ("check no-such.yaml", "no-such.yaml"),
        ("why first-draft deck-clearence", "did you mean 'deck-clearance'?"),
        ("show pistons", "did you mean 'piston'?"),
        ("check first-draft --shop no-such-folder", "is not a folder"),
    ],
)
def test_wrong_name(words: str, says: str, run: Callable[..., Any]) -> None:
    ran = run(*shlex.split(words))
    assert ran.status == 2
    assert says in ran.err
    assert ran.out == ""


def test_everything_can_be_shown(demo: Library) -> None:
    from compat.paper.entries import entry_lines

    names = [*demo.shop.nodes, *demo.book.nodes]
    assert len(names) > 1000
    for kind, name in names:
        for system in ("metric", "imperial"):
            lines = list(entry_lines(demo, kind, name, system))
            assert lines[0][1].startswith(f"{name}: "), (kind, name)
            for _, text in lines:
                # how Python writes a mapping, a tuple of one or nothing is no word of a shop
                assert not re.search(r"\{'|\(\{|None\b|,\)|dict_", text), (kind, name, text)


@pytest.mark.parametrize("word", [*PLURALS, *ALSO])
def test_every_list(word: str, run: Callable[..., Any]) -> None:
    ran = run("show", word)
    assert ran.status == 0
    assert ran.out.strip()


def test_a_list_is_complete(run: Callable[..., Any], demo: Library) -> None:
    shown = {line.split()[0] for line in run("show", "rules").out.splitlines() if re.match(r"    \S", line)}
    assert set(demo.book.rules) <= shown


def test_readme_builds_are_accepted(run: Callable[..., Any], tmp_path: Path) -> None:
    blocks = re.findall(r"```yaml\n(- build: .*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert blocks
    for number, text in enumerate(blocks):
        file = tmp_path / f"draft-{number}.yaml"
        file.write_text(text, encoding="utf-8")
        ran = run("check", file)
        assert ran.status in (0, 1), ran.err
        assert ran.out.startswith("my-draft ")


def test_readme_commands_work(run: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = README.read_text(encoding="utf-8")
    draft = re.findall(r"```yaml\n(- build: .*?)```", text, re.DOTALL)[0]
    (tmp_path / "my-draft.yaml").write_text(draft)
    (tmp_path / "bores.csv").write_text(re.findall(r"```csv\n(.*?)```", text, re.DOTALL)[0])
    text = re.sub(r"```text\n.*?```", "", text, flags=re.DOTALL)  # what is printed may speak of a command too
    quick = (
        "check|why|quotes?|order|sheet|plot|show|calc|lint|schemas|find|parts|builds|history|compare|fits|needs"
    )
    commands = re.findall(rf"`(compat (?:{quick})\b[^`]*)`", text)
    assert {command.split()[1] for command in commands} >= set(
        quick.replace("quotes?", "quote|quotes").split("|")
    )
    for command in dict.fromkeys(commands):
        if "--deep" in command or "--record" in command or "--since" in command:
            continue  # minutes, and what it writes into a shop: `test_unnoticed` and `tests/starting` do that
        ran = run(*shlex.split(command)[1:], typed=draft)
        # lint and a draft may have remarks; none of these lines is at fault
        assert ran.status in (0, 1), (command, ran.err)
        assert ran.out, command


def test_readme_names_commands_and_options_that_there_are() -> None:
    """Also of those that take too long to be run here, write into a shop or never end."""
    known = {
        name: {opt for param in command.params for opt in param.opts}
        for name, command in get_command(app).commands.items()
    }
    told = re.findall(r"`compat ([a-z][^`]*)`", README.read_text(encoding="utf-8"))
    assert {words.split()[0] for words in told} == {*known}
    for words in told:
        name, *rest = shlex.split(words)
        assert {word for word in rest if word.startswith("--")} <= known[name], words


def test_readme_names_every_command_that_tells_another_program() -> None:
    (line,) = [
        one for one in README.read_text(encoding="utf-8").splitlines() if "| feed another program |" in one
    ]
    commands = get_command(app).commands
    telling = {name for name, one in commands.items() if any("--json" in param.opts for param in one.params)}
    assert set(re.findall(r"`(\w+)`", line)) == telling


def test_completion(demo: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COMPAT_SHOP", raising=False)
    assert complete.builds("street") == ["street-turbo"]
    assert "tarn-20-base" in complete.builds("tarn")
    assert complete.rules("deck-clear") == ["deck-clearance"]
    assert "deck-block" in complete.ids("deck")
    assert complete.formulas("swept") == ["swept_volume"]
    monkeypatch.setenv("COMPAT_SHOP", "/no/such/folder")
    assert complete.builds("street") == []
