"""Rounds of kill -9, each followed by recovery; what must hold stands in `benchmarks.kill_rounds`."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


def rounds(count: int, seed: int) -> dict[str, float]:
    """Run rounds in a process of their own: they fork, which a process with a window must not."""
    command = [sys.executable, "-m", "benchmarks.kill_rounds", str(count), str(seed)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    figures: dict[str, float] = json.loads(done.stdout)
    return figures


@pytest.mark.skipif(sys.platform == "win32", reason="the rounds fork")
def test_nothing_is_lost_in_ten_rounds_of_kill() -> None:
    figures = rounds(10, 1)
    assert figures["rounds"] == 10
    assert figures["edits"] > 0
    assert figures["drafts_found"] > 0
    assert figures["oldest_lost_s"] <= 2.0


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="the rounds fork")
def test_nothing_is_lost_in_three_hundred_rounds_of_kill() -> None:
    figures = rounds(300, 2)
    assert figures["saves"] > 100
    assert figures["drafts_found"] > 100
    assert figures["died_in_a_call"] > 50
    assert figures["oldest_lost_s"] <= 2.0
