"""Numbers: none twice, none lost, and a record is whole or not there, whoever is stopped when."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from compat.library.sources import demo_folder
from compat.shop.source import Faults
from compat.trade.frozen import keep, kept, number_of, numbers, quotes_folder

ROOT = Path(__file__).parents[2]
DAY = date(2026, 3, 9)
PATTERN = "Q-{year}-{count:4}"
KEEPER = """
import sys
from datetime import date
from pathlib import Path
from compat.trade.frozen import keep
folder, who, many = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
sys.stdin.readline()
for turn in range(many):
    record = lambda number: {"number": number, "who": who, "turn": turn, "more": "x" * 60_000}
    print(keep(folder, "Q-{year}-{count:4}", date(2026, 3, 9), record), flush=True)
"""


def keeper(folder: Path, who: str, many: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", KEEPER, str(folder), who, str(many)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def begin(process: subprocess.Popen[str]) -> None:
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"


def go(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    process.stdin.write("\n")
    process.stdin.flush()


def test_eight_at_once_never_get_the_same_number(tmp_path: Path) -> None:
    folder = tmp_path / "quotes"
    waiting = [keeper(folder, str(who), 25) for who in range(8)]
    for process in waiting:
        begin(process)
    for process in waiting:
        go(process)
    said = [line for process in waiting for line in process.communicate(timeout=120)[0].split()]
    assert len(said) == len(set(said)) == 200
    assert sorted(said) == numbers(folder) == [f"Q-2026-{count:04}" for count in range(1, 201)]
    own = [kept(folder, number) for number in said]
    assert len({(record["who"], record["turn"]) for record in own}) == 200
    assert all(record["number"] == number for record, number in zip(own, said, strict=True))
    assert not list(folder.glob(".*"))


def test_stopped_at_any_moment_nothing_is_lost_or_doubled(tmp_path: Path) -> None:
    """Sixty times somebody is killed while it keeps quotes, at moments over the whole of its work."""
    folder, chance = tmp_path / "quotes", random.Random(4)
    said: list[str] = []
    for turn in range(60):
        process = keeper(folder, f"killed {turn}", 40)
        begin(process)
        go(process)
        time.sleep(chance.uniform(0, 0.06))
        process.send_signal(signal.SIGKILL)
        lines = process.communicate(timeout=30)[0].splitlines()
        said += [line for line in lines if line]
    there = numbers(folder)
    assert len(said) == len(set(said))
    assert set(said) <= set(there), "a number that was told is gone"
    # what was kept and not yet told when its keeper was killed is at most one each time
    assert len(there) - len(said) <= 60
    assert there == [f"Q-2026-{count:04}" for count in range(1, len(there) + 1)], "a number is left out"
    records = [kept(folder, number) for number in there]
    assert [record["number"] for record in records] == there
    assert all(len(record["more"]) == 60_000 for record in records)
    keep(folder, PATTERN, DAY, lambda number: {"number": number})
    assert len(numbers(folder)) == len(there) + 1


def test_a_number_that_is_taken_is_never_written_over(tmp_path: Path) -> None:
    first = keep(tmp_path, PATTERN, DAY, lambda number: {"number": number})
    before = (tmp_path / f"{first}.json").read_bytes()
    asked: list[str] = []

    def record(number: str) -> dict[str, Any]:
        if not asked:  # somebody else is quicker
            (tmp_path / f"{number}.json").write_text("taken")
        asked.append(number)
        return {"number": number}

    assert keep(tmp_path, PATTERN, DAY, record) == "Q-2026-0003"
    assert asked == ["Q-2026-0002", "Q-2026-0003"]
    assert (tmp_path / "Q-2026-0002.json").read_text() == "taken"
    assert (tmp_path / f"{first}.json").read_bytes() == before


def test_each_year_begins_anew_where_the_year_is_in_the_number(tmp_path: Path) -> None:
    def record(number: str) -> dict[str, Any]:
        return {"number": number}

    years = [2025, 2025, 2026, 2025]
    got = [keep(tmp_path, "{year}-{count}", date(year, 5, 1), record) for year in years]
    assert got == ["2025-1", "2025-2", "2026-1", "2025-3"]
    assert [keep(tmp_path, "N{count:3}", date(year, 5, 1), record) for year in years] == [
        "N001", "N002", "N003", "N004",
    ]  # fmt: skip
    assert number_of("N{count:3}", DAY, 1234) == "N1234"


def test_a_record_that_was_changed_is_no_quote_any_more(tmp_path: Path) -> None:
    number = keep(tmp_path, PATTERN, DAY, lambda number: {"number": number, "total": "100.00"})
    path = tmp_path / f"{number}.json"
    assert kept(tmp_path, number)["total"] == "100.00"
    text = path.read_text()
    assert json.loads(text)["record"]["total"] == "100.00"
    path.chmod(0o644)
    for wrong in (text.replace("100.00", "10.00"), text[:40], "", "[]", '{"record": 1}'):
        path.write_text(wrong)
        with pytest.raises(Faults, match="not as it was written"):
            kept(tmp_path, number)


@pytest.mark.parametrize("name", ["Q-2026-0009", "../secret", ".", "", "Q 1", "x" * 3000])
def test_a_number_that_is_not_there(name: str, tmp_path: Path) -> None:
    keep(tmp_path, PATTERN, DAY, lambda number: {"number": number})
    (tmp_path.parent / "secret.json").write_text("{}")
    with pytest.raises(Faults, match="is kept here"):
        kept(tmp_path, name)


def test_where_quotes_lie(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop, demo = tmp_path / "shop", demo_folder()
    shop.mkdir()
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("COMPAT_QUOTES")
    assert quotes_folder(shop, "lantern-yard") == shop / "quotes"
    assert quotes_folder(demo, "lantern-yard").parts[-2:] == ("quotes", "lantern-yard")
    assert demo not in quotes_folder(demo, "lantern-yard").parents
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "mine"))
    assert quotes_folder(shop, "lantern-yard") == tmp_path / "mine"


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Faults, match="keeps no quotes"):
        keep(tmp_path / "file" / "quotes", PATTERN, DAY, lambda number: {"number": number})
