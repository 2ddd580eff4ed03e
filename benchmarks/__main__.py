"""Runs all benchmarks, prints their tables, and stores them as JSON and as a page of the guide.

`python -m benchmarks [pytest's own options]`; the JSON goes to `.benchmarks/last.json`.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from benchmarks.page import write_page

ROOT = Path(__file__).resolve().parents[1]
STORED = ROOT / ".benchmarks" / "last.json"


def main(arguments: list[str]) -> int:
    """Run and write; gives pytest's exit code."""
    STORED.parent.mkdir(exist_ok=True)
    options = ["-c", str(ROOT / "benchmarks" / "pytest.ini"), f"--benchmark-json={STORED}"]
    code = pytest.main([*options, *(arguments or [str(ROOT / "benchmarks")])])
    if code == 0 and not arguments:
        write_page(STORED, ROOT / "docs" / "guide" / "speed.md")
    return int(code)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
