"""What many tests share: the demo shop, read once."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from compat.library.library import Library, demo_folder, load
from compat.shop.source import Fault, Faults

# the first call of an example may load pint or numpy: how long one takes says nothing
settings.register_profile("patient", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("patient")


@pytest.fixture(scope="session")
def demo() -> Library:
    return load(demo_folder())


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
        with pytest.raises(Faults) as caught:
            self.load()
        return list(caught.value.faults)


@pytest.fixture
def tiny(tmp_path: Path) -> Tiny:
    shutil.copytree(Path(__file__).parent / "tiny", tmp_path / "shop")
    return Tiny(tmp_path / "shop")
