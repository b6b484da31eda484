"""What many tests share: the demo shop, read once."""

from __future__ import annotations

import gc
import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import pytest
from hypothesis import settings

from compat.checking import answers
from compat.engineering import Formula, find
from compat.library.card_reading import Reader
from compat.library.kept import made_for, shop_file
from compat.library.library import Library, load
from compat.library.opening import open_library
from compat.library.sources import digest_of
from compat.library.store import Draft, Store
from compat.shop import source
from compat.shop.source import Fault, Faults
from compat.words.report import Finding, Report
from tests.look import check, demo_shop

# the first call of an example may load pint or numpy: how long one takes says nothing
settings.register_profile("patient", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("patient")

# the same texts are read some thousand times; a tree hangs on its text alone, and reading leaves it as it is
# (tests/shop/test_source.py)
source._build = lru_cache(maxsize=1024)(source._build)

read_anew = Reader.read
_cards: dict[tuple[str | bytes, str, str], Any] = {}
_said: WeakKeyDictionary[Reader, str] = WeakKeyDictionary()


def _read_once(reader: Reader, text: str | bytes, file: str = "") -> Any:
    """What a card says hangs on its text and on the expressions that it names by theirs, and is frozen: each
    command would read the demo's again."""
    said = ""
    if b'"$said"' in (text.encode() if isinstance(text, str) else text):
        said = _said.get(reader) or _said.setdefault(reader, digest_of(repr(reader.in_full).encode()))
    key = text, file, said
    found = _cards.get(key)
    if found is None:
        if len(_cards) >= 65536:
            _cards.clear()
        found = _cards[key] = read_anew(reader, text, file)
    return found


Reader.read = _read_once

run_anew = answers._answer


@lru_cache(maxsize=65536)
def _ran(name: str, arguments: tuple[tuple[str, Any], ...], moved: answers.Moved | None) -> answers.Answer:
    formula = find(name)
    assert formula is not None
    return run_anew(formula, dict(arguments), moved)


def _run_once(
    formula: Formula, arguments: Mapping[str, Any], moved: answers.Moved | None = None
) -> answers.Answer:
    """An answer hangs on the arguments alone: cycles that many builds ask for are run once for all tests."""
    if not formula.heavy:
        return run_anew(formula, arguments)
    return _ran(formula.name, tuple(sorted(arguments.items())), moved)


answers._answer = _run_once


# else each worker, and each program that a test starts, would compile all that it imports
if os.environ.pop("PYTHONDONTWRITEBYTECODE", None):
    sys.dont_write_bytecode = False


def pytest_configure(config: pytest.Config) -> None:
    """Have rubbish looked for seldom: a fifth of the time of all tests went there, of finding them as much."""
    if not config.getoption("benchmark_enable", default=False):
        gc.set_threshold(50_000, 10, 5)


def pytest_collection_finish(session: pytest.Session) -> None:
    """Have no rubbish looked for in what stays."""
    if not session.config.getoption("benchmark_enable", default=False):
        gc.collect()
        gc.freeze()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each worker tests that stand together, and one that is through half of what another has left.

    What tests of one kind share is then made once, and no worker waits for the last.
    """
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log) if config.getoption("dist") == "load" else None


@pytest.fixture
def formulas_run_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """For tests of time, of threads and of what is kept: each formula is run as often as it is asked."""
    monkeypatch.setattr(answers, "_answer", run_anew)


@pytest.fixture
def cards_read_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """For tests of time and of what is kept: each card is read as often as it is asked for."""
    monkeypatch.setattr(Reader, "read", read_anew)


@pytest.fixture(autouse=True, scope="module")
def forgets(request: pytest.FixtureRequest) -> Iterator[None]:
    """Have a module of tests give back what it kept for itself alone: sessions and checks of whole engines."""
    yield
    name = request.module.__name__
    if name.startswith("compat"):
        return  # of doctests it is the program's own
    for thing in vars(request.module).values():
        if hasattr(thing, "cache_clear") and thing.__module__ == name:
            thing.cache_clear()


@pytest.fixture(scope="session")
def demo() -> Library:
    return demo_shop()


class Tiny:
    """A small complete shop in a folder of its own, to be broken one thing at a time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def text(self, file: str) -> str:
        return (self.folder / file).read_text(encoding="utf-8")

    def write(self, file: str, text: str | bytes) -> None:
        path = self.folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode() if isinstance(text, str) else text)

    def edit(self, file: str, old: str, new: str) -> None:
        text = self.text(file)
        assert old in text, f"{file} holds no {old!r}"
        self.write(file, text.replace(old, new, 1))

    def place(self, file: str, word: str) -> str:
        """Where the word first stands, as a message names it: file:line:column, counted from the text."""
        before, found, _ = self.text(file).partition(word)
        assert found, f"{file} holds no {word!r}"
        return f"{file}:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"

    def load(self) -> Library:
        return load(self.folder)

    def faults(self) -> list[Fault]:
        """What is wrong with the files, read whole; read as an edit of a kept shop the same is wrong."""
        with pytest.raises(Faults) as caught:
            self.load()
        with pytest.raises(Faults) as after_the_edit:
            open_library(self.folder)
        assert after_the_edit.value.faults == caught.value.faults
        return list(caught.value.faults)

    def report(
        self, says: str = "", variant: str = "hob-13", goal: str = "power: 50 kW, at: 6000 rpm"
    ) -> Report:
        """Check a build of this shop that says what is given, a line for each word of a build."""
        lines = ["- build: own", "  name: Own", f"  variant: {variant}", f"  goal: {{{goal}}}"]
        lines += ["  " + line.strip() for line in says.strip().splitlines()]
        self.write("catalog/builds/own.yaml", "\n".join(lines) + "\n")
        library = self.load()
        return check(library.shop, library.book, "own").report

    def rule(self, text: str) -> None:
        """Give the shop one more rule, `mine`, whose own lines are the text."""
        lines = [
            "- rule: mine",
            "  title: A rule of this test",
            "  why: To be held.",
            "  source: common practice",
        ]
        lines += ["  " + line.strip() for line in text.strip().splitlines()]
        self.write("rules/mine.yaml", "\n".join(lines) + "\n")

    def found(self, rule: str, says: str = "", **build: str) -> Finding | None:
        """What a rule finds on the build that says what is given, or None when it does not apply."""
        findings = [finding for finding in self.report(says, **build).findings if finding.rule == rule]
        assert len(findings) <= 1
        return findings[0] if findings else None

    def finds(self, text: str, says: str = "", **build: str) -> Finding:
        """What the rule `mine` of this text finds on the build."""
        self.rule(text)
        finding = self.found("mine", says, **build)
        assert finding is not None, "the rule does not apply"
        return finding


@pytest.fixture(autouse=True, scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for what is kept: tests leave the user's own alone."""
    folder = tmp_path_factory.mktemp("kept")
    os.environ["COMPAT_CACHE"] = str(folder)
    os.environ["COMPAT_QUOTES"] = str(tmp_path_factory.mktemp("quotes"))
    os.environ["COMPAT_DRAFTS"] = str(tmp_path_factory.mktemp("drafts"))
    return folder


def keep_copy(kept: Path, store: Store, folder: Path) -> None:
    """Have a copy of a kept shop be kept too: opening it then looks only whether its files say the same."""
    path = shop_file(kept, folder)
    assert path is not None
    draft = Draft(kept, store)
    draft.put("made", f"{made_for(folder)}\n{folder}")
    draft.finish(path)


TINY = Path(__file__).parent / "tiny"


@pytest.fixture(scope="session")
def kept_tiny(kept: Path) -> Store:
    """The small shop as it is kept."""
    open_library(TINY)
    path = shop_file(kept, TINY)
    assert path is not None
    return Store(path)


@pytest.fixture
def tiny(tmp_path: Path, kept: Path, kept_tiny: Store) -> Tiny:
    """The small shop in a folder of its own, kept as it was before anything in it is edited."""
    folder = tmp_path / "shop"
    shutil.copytree(TINY, folder)
    keep_copy(kept, kept_tiny, folder)
    return Tiny(folder)
