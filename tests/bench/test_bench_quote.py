"""A quote as a PDF from a standing start beside the check it rests on: bounded to three times of it.

Each command is a process of its own, with byte code and what was kept of the shop; both run in turns, so that
the ratio holds for the state of the machine just then. Not collected where benchmarks are off (`conftest.py`).
"""

from __future__ import annotations

import statistics
from pathlib import Path

from tests.bench.launcher import Launcher, Spent

ROUNDS = 7
COMPAT = ("-m", "compat")


def test_quote_to_check(benchmark, launcher: Launcher, tmp_path: Path) -> None:
    settings = {"COMPAT_CACHE": str(tmp_path / "cache"), "COMPAT_QUOTES": str(tmp_path / "quotes")}
    (tmp_path / "cache").mkdir(0o700)
    paper = tmp_path / "q.pdf"

    def check() -> Spent:
        return launcher.python(*COMPAT, "check", "street-turbo", **settings)

    def quote() -> Spent:
        spent = launcher.python(*COMPAT, "quote", "street-turbo", "--out", str(paper), **settings)
        assert spent.status == 0, spent.text
        assert "Kept as" in spent.text
        return spent

    assert check().status == 0
    quote()
    checks: list[Spent] = []
    quotes: list[Spent] = []
    benchmark.pedantic(
        lambda: quotes.append(quote()), setup=lambda: checks.append(check()) and None, rounds=ROUNDS
    )
    assert paper.read_bytes().startswith(b"%PDF")
    extra = benchmark.extra_info
    seconds = [one.seconds / other.seconds for one, other in zip(quotes, checks, strict=True)]
    extra["median of the ratios to check"] = round(statistics.median(seconds), 2)
    extra["least to least"] = round(min(q.seconds for q in quotes) / min(c.seconds for c in checks), 2)
    worked = min(one.worked for one in quotes) / min(one.worked for one in checks)
    extra["least to least, of a processor"] = round(worked, 2)
    extra["peak MB"] = round(max(one.peak for one in quotes))
    assert worked < 3
