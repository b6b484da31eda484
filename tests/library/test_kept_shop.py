"""What is kept of a shop says what its files say, whatever happens to it."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

import compat
from compat.library.kept import kept_listing, made_for, shop_file
from compat.library.library import Library, build_of_id
from compat.library.opening import open_library
from compat.library.sources import demo_folder, looks_like_more
from compat.library.store import Broken, Draft, Store
from compat.paper.schemas import report_json
from compat.shop.source import Faults
from tests.conftest import Tiny
from tests.look import check

TABLES = ("families", "variants", "positions", "features", "parts", "works", "joints", "suppliers", "builds")
WORKED_OUT = ("kinds", "specs", "setups")
BOOK = ("rules", "figures", "changes", "conditions", "bounds")
INDEXES = ("fillers", "offerers", "needers", "sold_by", "joints_before", "homes")


def differences(one: Library, other: Library) -> Iterator[str]:
    """Every table in which two readings of a shop differ, in what it holds or in which order."""
    shops, books = (one.shop, other.shop), (one.book, other.book)
    for pair, names in ((shops, (*TABLES, *WORKED_OUT)), (books, BOOK)):
        for name in names:
            a, b = (list(getattr(each, name).items()) for each in pair)
            # the order of conditions is that of the kinds of things, in which nothing is ever told
            if (a != b) if name != "conditions" else (dict(a) != dict(b)):
                yield name
    for name in INDEXES:
        a, b = (without_empty(getattr(each.indexes, name)) for each in shops)
        if a != b:
            yield name
    for feature in (*one.shop.features, *(f"position:{position}" for position in one.shop.positions)):
        if tuple(one.shop.cheapest(feature)) != tuple(other.shop.cheapest(feature)):
            yield f"cheapest {feature}"
    if one.shop.specs.keys() == other.shop.specs.keys() and places(one) != places(other):
        yield "places of specs"
    if one.book.influence != other.book.influence:
        yield "influence"
    if one.shop.info != other.shop.info or one.shop.names() != other.shop.names():
        yield "names"
    for a, b in ((one.shop.nodes, other.shop.nodes), (one.book.nodes, other.book.nodes)):
        if set(a) != set(b) or any(a[key].spot != b[key].spot for key in a):
            yield "places"


def places(library: Library) -> list[Any]:
    """Where every spec of a part, and of a variant's setup, was written: no part of what makes two equal."""
    tables = (library.shop.specs, library.shop.setups)
    return [{key: spec.spot for key, spec in stated.items()} for table in tables for stated in table.values()]


def without_empty(table: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) for key, value in table.items() if value}


def test_the_kept_demo_shop_is_the_demo_shop(demo: Library) -> None:
    kept = open_library(demo_folder())
    assert type(kept.shop) is not type(demo.shop)
    assert list(differences(demo, kept)) == []
    assert list(differences(demo, open_library(demo_folder()))) == []


def test_places_inside_things_are_kept(demo: Library) -> None:
    kept = open_library(demo_folder())
    asked = 0
    for shop, stored in ((demo.shop, kept.shop), (demo.book, kept.book)):
        for key, node in shop.nodes.items():
            for path in paths(node):
                assert stored.nodes[key].spot_of(path) == node.spot_of(path)
                assert stored.nodes[key].spot_in(path, 3) == node.spot_in(path, 3)
                asked += 1
            assert stored.nodes[key].spot_of(["nothing", 7]) == node.spot_of(["nothing", 7])
    assert asked > 20_000


def paths(node: Any, before: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    for step, child in node.children.items():
        yield (*before, step)
        yield from paths(child, (*before, step))


@pytest.mark.parametrize("system", ["metric", "imperial"])
def test_no_report_differs_with_and_without_what_is_kept(demo: Library, system: str) -> None:
    kept = open_library(demo_folder())
    for name in (*demo.shop.builds, *demo.shop.variants):
        says = [report_json(check(each.shop, each.book, name).reported(system)) for each in (demo, kept)]
        assert says[0] == says[1]


def test_an_edit_reads_only_the_file(tiny: Tiny, monkeypatch: pytest.MonkeyPatch) -> None:
    before = open_library(tiny.folder)
    assert before.shop.parts
    read: list[str] = []
    from compat.library import compiling

    own = compiling.read_bytes

    def reading(path: Path, shown: str) -> bytes:
        read.append(shown)
        return own(path, shown)

    monkeypatch.setattr(compiling, "read_bytes", reading)
    files = [
        path for path in sorted((tiny.folder / "catalog" / "parts").iterdir()) if not looks_like_more(path)
    ]
    assert len(files) >= 2
    files[0].write_text(files[0].read_text().replace(" GBP", ".50 GBP", 1))
    open_library(tiny.folder)
    assert f"catalog/parts/{files[0].name}" in read
    assert not {f"catalog/parts/{path.name}" for path in files[1:]} & set(read)
    read.clear()
    open_library(tiny.folder)
    assert read == []


def report_of(folder: Path, cache: bool = True) -> str:
    library = open_library(folder, cache)
    return report_json(check(library.shop, library.book, build_of_id(library.shop, "hob-13")).report)


@pytest.fixture
def path(tiny: Tiny, kept: Path) -> Path:
    """The file in which the small shop is kept."""
    found = shop_file(kept, tiny.folder)
    assert found is not None
    assert found.is_file()
    return found


def flipped(raw: bytes, at: int) -> bytes:
    return raw[:at] + bytes([raw[at] ^ 0x5A]) + raw[at + 1 :]


def test_flipped_bytes_change_nothing_but_time(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    raw = path.read_bytes()
    chance = random.Random(20)
    for at in [*range(0, 120, 8), *(chance.randrange(len(raw)) for _ in range(60))]:
        path.write_bytes(flipped(raw, at))
        assert report_of(tiny.folder) == says, at


def test_a_wiped_page_changes_nothing_but_time(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    raw = path.read_bytes()
    for start in range(0, len(raw), 4096 * 5):
        path.write_bytes(raw[:start] + bytes(4096) + raw[start + 4096 :])
        assert report_of(tiny.folder) == says, start


@pytest.mark.parametrize("length", [0, 1, 15, 100, 4096, 20_000])
def test_a_half_written_file_changes_nothing_but_time(length: int, tiny: Tiny, path: Path) -> None:
    path.write_bytes(path.read_bytes()[:length])
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    assert len(path.read_bytes()) > 20_000  # and is made anew


def test_a_file_that_breaks_while_it_is_read_changes_nothing_but_time(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    chance = random.Random(7)
    for _ in range(12):
        library = open_library(tiny.folder)
        raw = bytearray(path.read_bytes())
        for at in range(4096, len(raw), 97):
            raw[at] ^= chance.randrange(1, 256)
        with path.open("r+b") as file:  # the very file that is open
            file.write(raw)
        report = check(library.shop, library.book, build_of_id(library.shop, "hob-13")).report
        assert report_json(report) == says


def test_an_entry_that_is_lost_changes_nothing_but_time(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    with sqlite3.connect(path) as database:
        keys = [key for (key,) in database.execute("SELECT key FROM entries ORDER BY key")]
    whole = path.read_bytes()
    for key in ["said", *random.Random(3).sample(keys, 40)]:
        path.write_bytes(whole)
        with sqlite3.connect(path) as database:
            database.execute("DELETE FROM entries WHERE key = ?", (key,))
        database.close()
        assert report_of(tiny.folder) == says, key


def test_an_entry_of_another_thing_is_not_believed(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    with sqlite3.connect(path) as database:
        rods = "SELECT value FROM entries WHERE key LIKE 'thing/part/%' ORDER BY key LIMIT 1"
        database.execute(f"UPDATE entries SET value = ({rods}) WHERE key LIKE 'thing/part/%'")
    database.close()
    assert report_of(tiny.folder) == says


def test_a_foreign_file_changes_nothing_but_time(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    path.write_text("a shopping list")
    assert report_of(tiny.folder) == says
    path.unlink()
    with sqlite3.connect(path) as database:
        database.execute("CREATE TABLE entries (key TEXT, value TEXT)")
        database.execute("INSERT INTO entries VALUES ('made', 'by somebody')")
    database.close()
    assert report_of(tiny.folder) == says


def test_what_another_version_kept_is_not_read(tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kept_listing(tiny.folder) is not None
    monkeypatch.setattr("compat.library.kept.program_stamp", lambda: "another")
    assert kept_listing(tiny.folder) is None
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    assert kept_listing(tiny.folder) is not None


def test_what_is_kept_of_another_folder_is_not_read(tiny: Tiny, kept: Path, path: Path) -> None:
    open_library(demo_folder())
    other = shop_file(kept, demo_folder())
    assert other is not None
    path.write_bytes(other.read_bytes())
    assert kept_listing(tiny.folder) is None
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)


# who may keep, and where


def test_nothing_is_kept_when_told_so(tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path.unlink()
    report_of(tiny.folder, cache=False)
    compat.open_shop(tiny.folder, cache=False).check("hob-13")
    assert not path.exists()
    monkeypatch.setenv("COMPAT_CACHE", "off")
    report_of(tiny.folder)
    assert not path.exists()


def test_a_folder_that_others_may_write_to_is_left_alone(
    tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_to_all = tmp_path / "open"
    open_to_all.mkdir()
    open_to_all.chmod(0o777)
    monkeypatch.setenv("COMPAT_CACHE", str(open_to_all))
    report_of(tiny.folder)
    assert list(open_to_all.iterdir()) == []
    open_to_all.chmod(0o700)
    report_of(tiny.folder)
    assert list(open_to_all.iterdir())


def test_a_file_that_others_may_write_to_is_not_read(tiny: Tiny, kept: Path, path: Path) -> None:
    path.chmod(0o666)
    assert shop_file(kept, tiny.folder) is None
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    path.unlink()
    path.symlink_to(tiny.folder / "catalog" / "shop.yaml")
    assert shop_file(kept, tiny.folder) is None


def test_where_nothing_can_be_written_the_files_are_read(
    tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "file", tmp_path / "file" / "below", Path("/proc/nowhere")):
        monkeypatch.setenv("COMPAT_CACHE", str(place))
        assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)


def test_a_full_disk_costs_nothing_but_time(tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path.unlink()

    def full(self: Draft, key: str, text: bytes | str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Draft, "put", full)
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    assert not [file for file in path.parent.iterdir() if file.suffix == ".draft"]


# several at once


def test_processes_that_start_together_say_the_same(tiny: Tiny, path: Path) -> None:
    path.unlink()
    command = [sys.executable, "-m", "compat", "check", "hob-13", "--shop", str(tiny.folder)]
    for _ in range(2):
        together = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(4)]
        said = {process.communicate()[0] for process in together}
        assert len(said) == 1
        assert "hob-13" in said.pop()
    assert path.exists()


def test_threads_that_read_together_read_the_same(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    library = open_library(tiny.folder)

    def once(_: int) -> str:
        return report_json(check(library.shop, library.book, build_of_id(library.shop, "hob-13")).report)

    with ThreadPoolExecutor(8) as threads:
        assert set(threads.map(once, range(24))) == {says}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a system without fork")
@pytest.mark.parametrize("edited", [False, True])
def test_a_forked_process_reads_for_itself(edited: bool, tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    library = open_library(tiny.folder)
    if edited:
        tiny.edit("catalog/shop.yaml", "name:", "name: ")
    else:
        path.unlink()
    open_library(tiny.folder)  # another file stands in its place now
    child = os.fork()
    if child == 0:
        try:
            report = check(library.shop, library.book, build_of_id(library.shop, "hob-13")).report
            os._exit(0 if report_json(report) == says else 1)
        except Faults as told:  # the files are no longer those that were opened
            os._exit(2 if "open it again" in str(told) else 3)
        finally:
            os._exit(4)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == (2 if edited else 0)


def test_whoever_has_it_open_reads_on_after_an_edit(tiny: Tiny, path: Path) -> None:
    says = report_of(tiny.folder, cache=False)
    library = open_library(tiny.folder)
    tiny.edit("catalog/parts/factory.yaml", "stroke: 75.40 mm", "stroke: 79.40 mm")
    assert report_of(tiny.folder) != says
    report = check(library.shop, library.book, build_of_id(library.shop, "hob-13")).report
    assert report_json(report) == says


def test_a_store_without_a_way_back_says_that_it_is_broken(tmp_path: Path) -> None:
    draft = Draft(tmp_path)
    draft.put("made", "here")
    draft.put("thing", "1" * 2000)
    draft.finish(tmp_path / "a")
    store = Store(tmp_path / "a")
    assert store.get("thing") == b"1" * 2000
    with pytest.raises(Broken):
        store.get("other")
    with pytest.raises(Broken):
        Store(tmp_path / "b")
    assert made_for(tmp_path) != made_for(tmp_path.parent)


def test_what_is_faulty_is_told_and_what_was_kept_stays(tiny: Tiny, path: Path) -> None:
    before = path.read_bytes()
    text = tiny.text("catalog/shop.yaml")
    tiny.write("catalog/shop.yaml", text + "\n- nothing: at all\n")
    with pytest.raises(Faults):
        open_library(tiny.folder)
    assert path.read_bytes() == before
    tiny.write("catalog/shop.yaml", text)
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
