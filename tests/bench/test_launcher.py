"""What the benchmarks read off a program is that program's own."""

from __future__ import annotations

import os

import pytest

from tests.bench.launcher import Launcher

pytestmark = pytest.mark.skipif(not hasattr(os, "posix_spawn"), reason="the launcher is for POSIX systems")


def test_it_tells_what_a_program_took_and_left(launcher: Launcher) -> None:
    small = launcher.python("-c", "print('so'); raise SystemExit(3)")
    assert (small.status, small.text) == (3, "so\n")
    large = launcher.python("-c", "import time; kept = bytearray(300_000_000); time.sleep(0.1)")
    # this process is far larger than the small one, and lends it nothing
    assert 2 < small.peak < 40
    assert 300 < large.peak < 340
    assert large.seconds > 0.1
    assert 0.001 < small.worked <= small.seconds + 0.01


def test_settings_reach_the_program_and_those_that_would_change_it_do_not(
    launcher: Launcher, monkeypatch
) -> None:
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.setenv("COMPAT_SHOP", os.devnull)
    ask = "import os, sys; print(sys.dont_write_bytecode, 'COMPAT_SHOP' in os.environ, os.environ['MINE'])"
    assert launcher.python("-c", ask, MINE="yes").text == "False False yes\n"
