"""Runs all benchmarks, prints their tables, and stores them as JSON and as a page of the guide.

`python -m benchmarks [--page] [pytest's own options]`; the JSON goes to `.benchmarks/last.json`. With
`--page` the tables of a run of some files are written into the page, and all others stay.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from benchmarks.page import update_page, write_page

ROOT = Path(__file__).resolve().parents[1]
STORED = ROOT / ".benchmarks" / "last.json"
PAGE = ROOT / "docs" / "speed.md"


def main(arguments: list[str]) -> int:
    """Run and write; gives pytest's exit code."""
    STORED.parent.mkdir(exist_ok=True)
    options = ["-c", str(ROOT / "benchmarks" / "pytest.ini"), f"--benchmark-json={STORED}"]
    some = [one for one in arguments if one != "--page"]
    code = pytest.main([*options, *(some or [str(ROOT / "benchmarks")])])
    if code == 0 and not some:
        write_page(STORED, PAGE)
    elif code == 0 and some != arguments:
        update_page(STORED, PAGE)
    return int(code)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
