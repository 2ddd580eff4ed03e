"""Whether anything became slow: ratios of a short run beside those on the page of the last release.

Times differ from machine to machine; how many times as quick ours is as the alternative beside it, in one
run, differs less. Where that ratio fell by over 25 %, a warning is written; nothing fails by it, since a busy
machine may be the reason. Takes some 20 s.

    python -m benchmarks.against_release
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from benchmarks.memory import as_installed

ROOT = Path(__file__).resolve().parents[1]
PAGE = "docs/speed.md"
MOST_FALL = 0.25

ROUNDS = ("--benchmark-max-time=0.4", "--benchmark-min-rounds=5", "--benchmark-warmup=on")


@dataclass(frozen=True)
class ComparedPair:
    """Two tests of one table: ours, and the alternative beside it; the title begins so."""

    title: str
    ours: str
    other: str
    file: str


PAIRS = (
    ComparedPair("Body of one disc", "ours_bare", "trimesh_extrudes_the_bare_outline", "bench_export"),
    ComparedPair("STL of one disc", "our_stl", "trimeshs_stl", "bench_export"),
    ComparedPair("Flow", "flow[ours]", "flow[SimPy]", "bench_flow"),
    ComparedPair("Overlaps", "rules[exact intervals]", "rules[samples at 0.01 degree]", "bench_proof"),
    ComparedPair(
        "One edit of 64 lanes",
        "edit_beside_plain[ours]",
        "edit_beside_plain[plain Python, all over again]",
        "bench_solve",
    ),
    ComparedPair(
        "One lane read",
        "read[ours, exact]",
        "read[scipy PPoly of degree 5 through 65 knots a move]",
        "bench_solve",
    ),
    ComparedPair(
        "Profile of one disc",
        "profile[ours, exact]",
        "profile[shapely buffer of the pitch curve]",
        "bench_solve",
    ),
    ComparedPair(
        "State intervals", "states[ours, to 1e-9 degree]", "states[sampling at 0.01 degree]", "bench_solve"
    ),
)


def name_on_page(test: str) -> str:
    """Return how the page names a row."""
    return test.replace("_", " ").replace("[", " (").replace("]", ")")


def ratios_of_page(text: str) -> dict[str, float]:
    """Return, by the pair's title, how many times as quick ours was as the alternative."""
    found = {}
    for table in text.split("\n## ")[1:]:
        cells = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("| ")]
        to_first = {row[0]: float(row[2]) for row in cells[1:] if len(row) > 2 and _is_number(row[2])}
        for pair in PAIRS:
            ours, other = (to_first.get(name_on_page(name)) for name in (pair.ours, pair.other))
            if table.startswith(pair.title) and ours and other:
                found[pair.title] = other / ours
    return found


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def ratios_of_run(rows: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Return the same of stored rows of a run, by their medians, as on the page."""
    medians = {str(row["name"]).removeprefix("test_"): row["stats"]["median"] for row in rows}
    return {
        pair.title: medians[pair.other] / medians[pair.ours]
        for pair in PAIRS
        if pair.ours in medians and pair.other in medians
    }


def measured() -> dict[str, float]:
    """Run the pairs alone; returns their ratios. Raises CalledProcessError where a benchmark fails."""
    files = sorted({f"benchmarks/{pair.file}.py" for pair in PAIRS})
    wanted = [
        f"{file}::test_{name}"
        for file in files
        for pair in PAIRS
        for name in (pair.ours, pair.other)
        if file.endswith(f"{pair.file}.py")
    ]
    with tempfile.TemporaryDirectory() as folder:
        stored = Path(folder) / "run.json"
        command = [sys.executable, "-m", "pytest", "-q", "-c", "benchmarks/pytest.ini", *ROUNDS]
        command += [f"--benchmark-json={stored}", *wanted]
        subprocess.run(command, cwd=ROOT, env=as_installed(), check=True, stdout=subprocess.DEVNULL)
        return ratios_of_run(json.loads(stored.read_text(encoding="utf-8"))["benchmarks"])


def page_of_release() -> tuple[str, str]:
    """Return the page of the last release, and its tag; the page of this tree where no release is known."""
    tag = _git("describe", "--tags", "--abbrev=0")
    page = _git("show", f"{tag}:{PAGE}") if tag else ""
    return (page, tag) if page else ((ROOT / PAGE).read_text(encoding="utf-8"), "this tree")


def _git(*arguments: str) -> str:
    done = subprocess.run(["git", *arguments], cwd=ROOT, check=False, capture_output=True, encoding="utf-8")
    return done.stdout.strip() if done.returncode == 0 else ""


def compared(now: Mapping[str, float], before: Mapping[str, float]) -> list[str]:
    """Write a line for each pair, those that fell by too much with a warning."""
    lines = []
    for title, was in before.items():
        if title in now:
            fell = 1.0 - now[title] / was
            mark = f"warning: {fell:.0%} slower: " if fell > MOST_FALL else ""
            lines.append(f"{mark}{title}: {now[title]:.3g} times as quick as beside it, was {was:.3g}")
    return lines


def main() -> int:
    """Compare; fails only where nothing could be measured or compared."""
    text, where = page_of_release()
    lines = compared(measured(), ratios_of_page(text))
    print(f"Beside the page of {where}:")
    print("\n".join(lines) or "nothing to compare")
    return 0 if lines else 1


if __name__ == "__main__":
    sys.exit(main())
