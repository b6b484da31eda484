"""Lists spoilt in every way: read or refused, never half-written, and the shop reads afterwards."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from compat.library.library import Library, load
from compat.lists.bringing import Asked, bring, bring_back
from compat.lists.giving import parts_workbook
from compat.lists.guessing import guessed
from compat.lists.writing import write_bringing
from compat.shop.source import Faults
from tests.conftest import TINY
from tests.lists.conftest import files_of
from tests.lists.small import HEAD, MAP, ROWS

DAY = Asked(date(2026, 11, 2))
NASTY = st.sampled_from(
    [
        "",
        " ",
        ";",
        '"',
        '""',
        "=1+1",
        "@x",
        "+",
        "-",
        "-1",
        "0",
        "1e400",
        "nan",
        "∞",
        "9" * 400,
        "1/0",
        "\x00",
        "\ufeff",
        "\x07",
        "\u2028",
        "\r",
        "\n",
        "a: b",
        "# x",
        "null",
        "~",
        "&a",
        "*a",
        "!!x",
        "{",
        "]",
        "'",
        "£",
        "1.2.3",
        "1,2,3",
        "STD/+0.25",
        "yes",
        "٣",
        "\U0001f600",
        "P-1",
        "\ud800",
        "74,5 mm ±",
        '3 3/8"',
        "..",
        "1..2",
    ]
)


@cache
def shop() -> Library:
    return load(TINY)


@st.composite
def lists(draw: st.DrawFn) -> bytes:
    """A list with some of its cells, lines and bytes spoilt."""
    table = [line.split(";") for line in (HEAD, *ROWS, *draw(st.lists(st.sampled_from(ROWS), max_size=3)))]
    for _ in range(draw(st.integers(0, 6))):
        row = draw(st.integers(0, len(table) - 1))
        column = draw(st.integers(0, len(table[row]) - 1)) if table[row] else 0
        how = draw(st.sampled_from(["cell", "cell", "cell", "cut", "double", "longer", "empty"]))
        if how == "cell" and table[row]:
            table[row][column] = draw(NASTY | st.text(max_size=12))
        elif how == "cut":
            table[row] = table[row][:column]
        elif how == "double":
            table.insert(row, list(table[row]))
        elif how == "longer":
            table[row].append(draw(NASTY))
        else:
            table[row] = []
    mark = draw(st.sampled_from([";", ";", ";", ",", "\t", "|"]))
    text = draw(st.sampled_from(["\n", "\r\n"])).join(mark.join(row) for row in table)
    raw = text.encode(draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])), "replace")
    for _ in range(draw(st.integers(0, 2))):
        at = draw(st.integers(0, len(raw)))
        raw = raw[:at] + draw(st.binary(max_size=2)) + raw[at + draw(st.integers(0, 2)) :]
    return raw


@st.composite
def maps(draw: st.DrawFn) -> str:
    """The mapping, mostly as it is."""
    text = MAP
    if draw(st.booleans()):
        text = text.replace("tables:", draw(st.sampled_from(["decimal: ','", "decimal: '.'"])) + "\ntables:")
    if draw(st.integers(0, 9)) == 0:
        words = text.split(" ")
        words[draw(st.integers(0, len(words) - 1))] = draw(NASTY).replace("\ud800", "")
        text = " ".join(words)
    return text


def brought(folder: Path, name: str, raw: bytes, text: str) -> Iterator[str]:
    """Bring a list into a copy of the small shop; gives what came of it."""
    own = folder / "shop"
    shutil.copytree(TINY, own)
    (folder / name).write_bytes(raw)
    (folder / "map.yaml").write_bytes(text.encode("utf-8", "replace"))
    before = files_of(own)
    try:
        found, into = bring(folder / name, folder / "map.yaml", shop().shop, own, DAY)
        assert files_of(own) == before
        written = write_bringing(found, shop().shop, own, into)
    except Faults:
        yield "refused" if files_of(own) == before else ""
        return
    after = load(own).shop
    assert len(after.parts) == len(shop().shop.parts) + len({one.part for one in found.new})
    assert set(files_of(own)) - set(before) <= set(written)
    for one in found.new:
        assert after.parts[one.part].name
    # and a second time nothing changes
    again, into = bring(folder / name, folder / "map.yaml", after, own, DAY)
    assert not again.changes
    assert write_bringing(again, after, own, into) == []
    yield "brought"


@given(lists(), maps())
@settings(max_examples=150)
def test_a_mangled_list_is_brought_or_refused_whole(raw: bytes, text: str) -> None:
    with TemporaryDirectory() as folder:
        assert all(brought(Path(folder), "list.csv", raw, text))


@given(
    st.lists(st.tuples(st.integers(0, 20), st.integers(0, 8), NASTY | st.floats() | st.booleans()), max_size=8),
    st.binary(max_size=3),
    st.integers(0, 6000),
)
@settings(max_examples=60)
def test_a_mangled_workbook_is_brought_or_refused_whole(
    cells: list[tuple[int, int, object]], spoilt: bytes, at: int
) -> None:
    from openpyxl.utils.exceptions import IllegalCharacterError

    made = Workbook()
    sheet = made.active
    assert sheet is not None
    for line in (HEAD, *ROWS):
        sheet.append(line.split(";"))
    for row, column, value in cells:
        try:
            sheet.cell(row + 1, column + 1, value)  # type: ignore[arg-type]
        except (IllegalCharacterError, ValueError):
            continue
    out = io.BytesIO()
    try:
        made.save(out)
    except UnicodeEncodeError:
        return
    raw = out.getvalue()
    raw = raw[:at] + spoilt + raw[at + len(spoilt) :]
    with TemporaryDirectory() as folder:
        assert all(brought(Path(folder), "list.xlsx", raw, MAP))


@given(st.binary(max_size=4), st.integers(0, 12_000))
@settings(max_examples=40)
def test_a_mangled_workbook_of_parts_is_taken_back_or_refused(spoilt: bytes, at: int) -> None:
    raw = parts_workbook(shop().shop, shop().shop.parts)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "parts.xlsx"
        path.write_bytes(raw[:at] + spoilt + raw[at + len(spoilt) :])
        try:
            found, _ = bring_back(path, shop().shop)
        except Faults:
            return
        assert found.unread or not found.new


@given(lists())
@settings(max_examples=80)
def test_a_guess_at_a_mangled_list_is_a_mapping_or_refused(raw: bytes) -> None:
    import yaml

    with TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        path.write_bytes(raw)
        try:
            text = guessed(path, "quayside", shop().shop)
        except Faults:
            return
        assert yaml.safe_load(text)["supplier"] == "quayside"
