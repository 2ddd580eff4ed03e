"""Beside the general way: the same machine by a notebook with general libraries, in lines and in time.

Both get the same table of gates, say the same pressure angles and radii, and write a disc each as STL. The
scripts stand in `by_notebook`. The notebook does what its author thought of; ours, besides, judges pushing,
spreads and what is stated, and proves every file with a roller.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
import tokenize
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from benchmarks.by_notebook import general, ours
from shaftscore import examine

COUNT = 12
OPENS = [(index * 300.0 / COUNT + 150.0 * (index % 2)) % 300.0 for index in range(COUNT)]
PAIRS = [(index, index + 1) for index in range(0, COUNT, 2)]
GROUP = "A machine of 12 gates from its table to discs: a notebook with general libraries, and ours"

Run = Callable[[list[float], list[tuple[int, int]], Path], Any]


def lines_of(module: str) -> int:
    """Count the lines with code of a module: no blank ones, comments or texts."""
    source = Path(str(sys.modules[module].__file__)).read_text(encoding="utf-8")
    silent = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT}
    lines, fresh = set(), True
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        is_text = token.type == tokenize.STRING and fresh
        if token.type not in silent and not is_text and token.type != tokenize.ENDMARKER:
            lines.update(range(token.start[0], token.end[0] + 1))
        fresh = token.type in silent or is_text
    return len(lines)


def timed(benchmark: Any, run: Run, **said: str) -> Any:
    """Time a script in a folder of its own each round; returns what it found, and its bodies."""
    with tempfile.TemporaryDirectory() as name:
        folders = (Path(name) / str(number) for number in range(100))

        def once() -> Any:
            folder = next(folders)
            folder.mkdir()
            return run(OPENS, PAIRS, folder), folder

        found, folder = benchmark.pedantic(once, rounds=3, warmup_rounds=1)
        bodies = [trimesh.load(path) for path in sorted(folder.rglob("*.stl"))]
    benchmark.extra_info.update(said)
    return found, bodies


@pytest.mark.benchmark(group=GROUP, timer=time.process_time)
def test_notebook(benchmark: Any) -> None:
    lines = lines_of(general.__name__)
    found, bodies = timed(benchmark, general.run, lines=str(lines))
    assert len(bodies) == COUNT
    assert max(found[2]) == 0.0


@pytest.mark.benchmark(group=GROUP, timer=time.process_time)
def test_by_ours(benchmark: Any) -> None:
    lines = lines_of(ours.__name__)
    found, bodies = timed(benchmark, ours.run, lines=str(lines), besides="every file proved")
    pressures, radii, findings, _ = found
    with tempfile.TemporaryDirectory() as name:
        theirs = general.run(OPENS, PAIRS, Path(name))
    assert np.allclose(pressures, theirs[0], atol=0.01)
    assert np.allclose(radii, theirs[1], atol=0.01)
    assert not [one for one in findings if one.severity.value == "error"]
    plain = [area * general.THICKNESS / 1000.0 for area in theirs[3]]
    volumes = sorted((one.volume / 1000.0 for one in bodies), reverse=True)  # spacers are the smallest
    assert np.allclose(volumes[:COUNT], sorted(plain, reverse=True), rtol=0.03)


@pytest.mark.benchmark(group=GROUP, timer=time.process_time)
def test_by_ours_without_files(benchmark: Any) -> None:
    """All figures and findings, and no file."""
    benchmark.pedantic(lambda: examine(ours.machine(OPENS, PAIRS)), rounds=3, warmup_rounds=1)


@pytest.mark.benchmark(group=GROUP, timer=time.process_time)
def test_notebook_without_files(benchmark: Any) -> None:
    """Its figures alone: motions, pressure angles, radii, states, pairs."""
    benchmark.pedantic(lambda: general.figured(OPENS, PAIRS), rounds=3, warmup_rounds=1)
