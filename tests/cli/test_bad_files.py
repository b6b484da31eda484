"""Files that are no YAML, no text or no files at all; and odd ones that must read all the same."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HEAD = "- supplier: extra\n  name: "
DEEP = "{a: " * 70 + "1" + "}" * 70
BOMB = "\n".join(
    ["- &a [x, x, x, x, x, x, x, x, x, x]"]
    + [f"- &{this} [{', '.join([f'*{last}'] * 10)}]" for last, this in zip("abcdef", "bcdefg", strict=True)]
)

UNREADABLE = [
    ("binary", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "1:1", "byte 0x89 is not UTF-8"),
    ("NUL", b"- supplier: extra\n  name: a\x00b\n", "2:10", "holds a control character"),
    ("escape that a terminal would obey", b"- supplier: extra\n  name: \x1b[1m\n", "2:9", "control character"),
    ("the same, written as an escape", HEAD + '"\\e[31mred"\n', "2:9", "holds a control character"),
    ("latin-1", "- supplier: extra\n  name: Café\n".encode("latin-1"), "2:12", "byte 0xe9 is not UTF-8"),
    ("latin-1 behind a mark", b"\xef\xbb\xbf- supplier: caf\xe9\n", "1:16", "byte 0xe9 is not UTF-8"),
    ("UTF-16", "- supplier: extra\n".encode("utf-16"), "1:1", "is not UTF-8; save the file as UTF-8"),
    ("tab", "- supplier: extra\n\tname: Extra\n", "2:1", "the line holds a tab: indent with spaces"),
    ("bracket left open", "- supplier: extra\n  name: [a, b\n", "3:1", "is not valid YAML"),
    ("quote left open", HEAD + "'Extra\n", "3:1", "is not valid YAML"),
    ("colon in a plain text", HEAD + "Extra: more\n", "2:14", "mapping values are not allowed"),
    ("aliases that explode", BOMB, "5:3", "grows too large through its aliases"),
    ("alias of nothing", HEAD + "*extra\n", "2:9", "alias '*extra' names no anchor before it"),
    ("alias within itself", HEAD + "&extra [*extra]\n", "2:17", "stands inside the thing it names"),
    ("tag that would run code", HEAD + "!!python/object/apply:os.system [ls]\n", "2:9", "has no meaning here"),
    ("tag", HEAD + "!!str Extra\n", "2:9", "has no meaning here; write plain text"),
    ("two documents", HEAD + "Extra\n---\n- supplier: more\n", "4:1", "keep one document in a file"),
    ("key that is a list", "- {[supplier]: extra}\n", "1:4", "a key must be a plain word"),
    ("key that is null", "- ~: extra\n", "1:3", "a key must be a plain word"),
    ("key of hundreds of letters", f"- {'x' * 300}: extra\n", "1:3", "key of 300 characters"),
    ("nested without end", f"- supplier: {DEEP}\n", "1:245", "is nested more than 60 deep"),
    ("brackets by the thousand", "[" * 5000, "1:1001", "exceeded maximum nesting depth"),
    ("entries by the hundred thousand", "- x\n" * 130_000, "120000:3", "holds too many entries"),
    ("YAML of another age", "%YAML 9.9\n---\n- supplier: extra\n", "1:1", "is not valid YAML"),
]

BROKEN = [
    ("word alone", "extra\n", "1:1", "is no entry; each starts with one of: shop, family"),
    ("list of lists", "- [supplier, extra]\n", "1:3", "is no entry"),
    ("entry of nothing", "- {}\n", "1:3", "is no entry"),
    ("a null among the entries", "- {supplier: e, name: E, currency: GBP}\n- \n", "2:2", "is no entry"),
    ("very long line", HEAD + "Extra\n  currency: " + "G" * 900_000 + "\n", "3:3", "is no id of this kind"),
    ("merge", "- {supplier: e, name: E, currency: GBP, <<: {n: n}}\n", "1:41", "'<<' is not known"),
    ("id of nothing", "- {supplier: , name: Extra, currency: GBP}\n", "1:4", "'supplier' wants a word or text"),
]  # fmt: skip

READABLE = [
    ("empty", ""),
    ("only comments", "# nothing yet\n\n# still nothing\n"),
    ("null document", "~\n"),
    ("document of nothing", "---\n...\n"),
    ("byte order mark", b"\xef\xbb\xbf- supplier: extra\n  name: Extra\n  currency: GBP\n"),
    ("line ends of another system", b"- supplier: extra\r\n  name: Extra\r\n  currency: GBP\r\n"),
    ("one entry without a list", "supplier: extra\nname: Extra\ncurrency: GBP\n"),
    ("number as an id", "- supplier: 4711\n  name: 12\n  currency: GBP\n"),
    ("JSON", '[{"supplier": "extra", "name": "Extra", "currency": "GBP"}]'),
    ("letters of all the world", HEAD + "Ægir & Søn, 東京 ☂\n  currency: GBP\n"),
    ("an alias", "- {supplier: e, name: &e E, currency: GBP}\n- {supplier: f, name: *e, currency: GBP}\n"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "place", "says"), [pytest.param(*c[1:], id=c[0]) for c in UNREADABLE])
def test_unreadable(content: str | bytes, place: str, says: str, tiny: Any, run: Callable[..., Any]) -> None:
    tiny.write("catalog/extra.yaml", content)
    started = time.process_time()
    ran = run("check", "hob-13", "--shop", tiny.folder)
    assert time.process_time() - started < 5
    given, last = ran.err.splitlines()
    assert given.startswith(f"catalog/extra.yaml:{place}: ")
    assert says in given
    assert len(given) < 520
    assert (last, ran.out, ran.status) == ("1 fault; nothing was checked.", "", 2)


@pytest.mark.parametrize(("content", "place", "says"), [pytest.param(*c[1:], id=c[0]) for c in BROKEN])
def test_broken(content: str, place: str, says: str, tiny: Any, run: Callable[..., Any]) -> None:
    test_unreadable(content, place, says, tiny, run)


@pytest.mark.parametrize("content", [pytest.param(c[1], id=c[0]) for c in READABLE])
def test_readable(content: str | bytes, tiny: Any, run: Callable[..., Any]) -> None:
    tiny.write("catalog/extra.yaml", content)
    ran = run("check", "hob-13", "--shop", tiny.folder)
    assert (ran.err, ran.status) == ("", 0)


def test_an_unreadable_file_does_not_make_all_its_names_unknown(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", "  name: Block, Hob\n", "  name: Block: Hob\n")
    tiny.edit("rules/figures.yaml", "  name: Quench gap\n", "\tname: Quench gap\n")
    found = [str(fault) for fault in tiny.faults()]
    assert [text.split(":")[0] for text in found] == ["catalog/parts/factory.yaml", "rules/figures.yaml"]


def refused(ran: Any, *says: str) -> None:
    assert (ran.status, ran.out) == (2, "")
    for text in says:
        assert text in ran.err
    assert len(ran.err.splitlines()) <= 2


def test_file_of_fifty_megabytes(tiny: Any, run: Callable[..., Any]) -> None:
    with (tiny.folder / "catalog/extra.yaml").open("wb") as file:
        file.truncate(50_000_000)
    refused(run("lint", "--shop", tiny.folder), "catalog/extra.yaml:1:1: file of 50 MB; the most is 2 MB")


def test_link_that_leads_to_itself(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/extra.yaml").symlink_to("extra.yaml")
    refused(run("lint", "--shop", tiny.folder), "catalog/extra.yaml:1:1: cannot be read: Too many levels")


def test_link_to_nothing(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/extra.yaml").symlink_to("nowhere.yaml")
    refused(run("lint", "--shop", tiny.folder), "catalog/extra.yaml:1:1: cannot be read: No such file")


def test_folders_linked_in_a_circle_are_not_followed(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/again").symlink_to(tiny.folder / "catalog", target_is_directory=True)
    assert run("lint", "--shop", tiny.folder).status == 0


def test_folder_with_the_name_of_a_file(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/extra.yaml").mkdir()
    assert run("lint", "--shop", tiny.folder).status == 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_pipe_that_nobody_writes_to(tiny: Any, run: Callable[..., Any]) -> None:
    os.mkfifo(tiny.folder / "catalog/extra.yaml")
    refused(run("lint", "--shop", tiny.folder), "catalog/extra.yaml:1:1: is no file but a device or pipe")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device on this system")
def test_device_without_end(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/extra.yaml").symlink_to("/dev/zero")
    refused(run("lint", "--shop", tiny.folder), "catalog/extra.yaml:1:1: is no file but a device or pipe")


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may read everything")
def test_file_that_may_not_be_read(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "catalog/shop.yaml").chmod(0)
    refused(run("lint", "--shop", tiny.folder), "catalog/shop.yaml:1:1: cannot be read: Permission denied")


def test_other_files_are_let_be(tiny: Any, run: Callable[..., Any]) -> None:
    for name in ("notes.txt", ".hidden.yaml", "shop.yaml~", ".git/x.yaml", "photo.jpg"):
        tiny.write(f"catalog/{name}", b"\x00\xff")
    assert run("lint", "--shop", tiny.folder).status == 0


def test_thousands_of_faults_are_all_told(tiny: Any, run: Callable[..., Any]) -> None:
    known = "- {{part: known-{0}, name: K, fills: piston}}\n"
    wrong = "- {{part: wrong-{0}, name: W, fills: piston, includes: [knwon-{0}, never-{0}-heard-of]}}\n"
    text = "".join(known.format(n) for n in range(900)) + "".join(wrong.format(n) for n in range(1500))
    tiny.write("catalog/extra.yaml", text)
    ran = run("lint", "--shop", tiny.folder)
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 3001
    assert "part 'knwon-77' is not known; did you mean 'known-77'?" in ran.err


def test_empty_catalogue(tiny: Any, run: Callable[..., Any]) -> None:
    for path in sorted((tiny.folder / "catalog").rglob("*.yaml")):
        path.unlink()
    refused(run("lint", "--shop", tiny.folder), f"{tiny.folder}/catalog: holds no entry in any .yaml file")


def test_shop_without_an_engine(tiny: Any, run: Callable[..., Any]) -> None:
    for name in ("catalog", "rules"):
        for path in sorted((tiny.folder / name).rglob("*.yaml")):
            path.unlink()
    tiny.write("catalog/shop.yaml", "- {shop: bare, name: Bare, currency: GBP, labour_rate: 40 GBP}\n")
    refused(run("lint", "--shop", tiny.folder), "/catalog: holds no variant; a build has nothing to start from")


def test_no_rules_folder(tiny: Any, run: Callable[..., Any]) -> None:
    (tiny.folder / "rules").rename(tiny.folder / "rulez")
    refused(run("lint", "--shop", tiny.folder), f"{tiny.folder}: holds no folder 'rules'")


def test_no_rules_at_all_is_no_fault(tiny: Any, run: Callable[..., Any]) -> None:
    for path in (tiny.folder / "rules").glob("*.yaml"):
        path.unlink()
    tiny.edit("catalog/engine.yaml", "  stated: {swept_volume: 1297 cm^3}\n", "")
    ran = run("check", "hob-15", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (0, "")


REAL = [
    (("check", "sport", "--shop", "shop.txt"), "shop.txt: is not a folder; --shop wants one"),
    (("check", "sprot", "--shop", "shop"), "sprot: no build, variant or build file of that name"),
    (("check", "nowhere/draft.yaml", "--shop", "shop"), "nowhere/draft.yaml:1:1: cannot be read: No such file"),
    (("check", "shop/", "--shop", "shop"), "shop:1:1: is no file but a folder"),
    (("check", "draft.yaml", "--shop", "shop"), "draft.yaml:2:9: byte 0xe9 is not UTF-8"),
    (("check", "two.yaml", "--shop", "shop"), "two.yaml:1:1: holds 2 builds; a build file holds one"),
    (("check", "none.yaml", "--shop", "shop"), "none.yaml:1:1: holds 0 builds; a build file holds one"),
    (("lint", "--shop", "broken"), "catalog/shop.yaml:3:3: 'nmae' is not known in a shop"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), [pytest.param(*case, id=case[0][1]) for case in REAL])
def test_as_a_program_of_its_own(words: tuple[str, ...], says: str, tiny: Any, tmp_path: Path) -> None:
    (tmp_path / "shop.txt").write_text("no folder")
    (tmp_path / "draft.yaml").write_bytes(b"- build: draft\n  name: \xe9\n")
    both = [tiny.text(f"catalog/builds/{name}.yaml") for name in ("sport", "mixed")]
    (tmp_path / "two.yaml").write_text("".join(both))
    (tmp_path / "none.yaml").write_text("# nothing\n")
    if "broken" in words:
        tiny.edit("catalog/shop.yaml", "  name: Lantern", "  nmae: Lantern")
        tiny.folder.rename(tmp_path / "broken")
    root = Path(__file__).parents[2]
    ran = subprocess.run(
        [sys.executable, "-m", "compat", *words],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(root), "COLUMNS": "100"},
        capture_output=True,
        encoding="utf-8",
        timeout=20,
        check=False,
    )
    assert ran.returncode == 2
    assert says in ran.stderr
    assert "Traceback" not in ran.stderr
    assert ran.stdout == ""


def test_a_folder_that_may_not_be_looked_into_is_told(
    tiny: Any, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rules and parts in it would be missed without a word. Whoever runs tests may be allowed everything."""
    looked_into = os.scandir

    def scandir(path: Any) -> Any:
        if str(path).endswith("catalog/parts"):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return looked_into(path)

    assert run("check", "hob-13", "--shop", tiny.folder).status == 0
    monkeypatch.setattr(os, "scandir", scandir)
    for command in (("check", "hob-13"), ("check", "hob-13", "--no-cache"), ("lint",)):
        ran = run(*command, "--shop", tiny.folder)
        told = f"{tiny.folder}/catalog/parts: cannot be looked into: Permission denied"
        assert (ran.status, ran.out, ran.err.splitlines()[0]) == (2, "", told)


def test_a_command_says_what_it_left_undone(tiny: Any, run: Callable[..., Any]) -> None:
    tiny.write("catalog/extra.yaml", "- supplier: extra\n")
    for command, undone in {
        ("quote", "hob-13"): "quoted",
        ("find", "rod"): "looked up",
        ("lint",): "checked",
    }.items():
        assert run(*command, "--shop", tiny.folder).err.splitlines()[-1].endswith(f"nothing was {undone}.")
