"""The build manual of every sample: processor time of the document, and of all that it needs, by itself."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from shaftscore.base.progress import Silent
from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import examine
from shaftscore.make.drawing.paper_sizes import A4
from shaftscore.make.exporting.alone import manual_alone
from shaftscore.make.exporting.gather import gather
from shaftscore.make.manual import manual_bytes
from shaftscore.model.loader import load_project

SAMPLES = sorted(sample_folder().glob("*.shaft"))

MOST_S = {"tea_blender": 3.0, "chime_wall": 10.0}
"""Processor time that the document may take, s."""


@pytest.mark.benchmark(group="Build manual for A4 as an export writes it, bodies there, each sample")
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_document(benchmark: Any, sample: Path) -> None:
    """Drawings, tables, pages; the bodies, by which mass and hours are estimated, are those of the files."""
    project = load_project(sample)
    order = gather(examine(project), ("manual",), Silent(), True)
    for item in order.items:
        item.estimate(project)
    manual_bytes(order, A4, ())  # loads its libraries
    taken: list[float] = []

    def run() -> None:
        start = time.process_time()
        manual_bytes(order, A4, ())
        taken.append(time.process_time() - start)

    benchmark.pedantic(run, rounds=3)
    benchmark.extra_info["processor time"] = f"{min(taken):.2f} s"
    assert min(taken) < MOST_S.get(sample.stem, 10.0)


@pytest.mark.benchmark(group="Build manual for A4 by itself: check, parts, bodies, document, each sample")
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_alone(benchmark: Any, sample: Path) -> None:
    """What File > Build manual does."""
    project = load_project(sample)
    taken: list[float] = []

    def run() -> None:
        start = time.process_time()
        manual_alone(project, A4)
        taken.append(time.process_time() - start)

    benchmark.pedantic(run, rounds=1)
    benchmark.extra_info["processor time"] = f"{min(taken):.2f} s"
