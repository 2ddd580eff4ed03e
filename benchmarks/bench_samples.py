"""Checking and exporting every sample: time and memory, each in a fresh process."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest

from benchmarks.memory import used_by
from shaftscore.base.samples import sample_folder

SAMPLES = sorted(sample_folder().glob("*.shaft"))
LOAD = (
    "from pathlib import Path\nfrom shaftscore.model.loader import load_project\n"
    "p = load_project(Path({file!r}))\n"
)
EXAMINE = LOAD + "from shaftscore.judge.report import examine\nexamine(p)"
EXPORT = (
    LOAD
    + "from shaftscore.make.exporting.run import export_project\n"
    + "export_project(p, Path({out!r}), despite_errors=True)"
)


@pytest.mark.benchmark(group="Everything that `check` reports, each sample")
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_check(benchmark: Any, sample: Path) -> None:
    sizes = []
    benchmark.pedantic(lambda: sizes.append(used_by(EXAMINE.format(file=str(sample))).mib), rounds=3)
    benchmark.extra_info["memory"] = f"{max(sizes):.0f} MiB"


@pytest.mark.benchmark(group="Export in every format at hand, with proof, each sample")
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_export(benchmark: Any, sample: Path) -> None:
    sizes = []

    def run() -> None:
        with tempfile.TemporaryDirectory() as out:
            sizes.append(used_by(EXPORT.format(file=str(sample), out=out)).mib)

    benchmark.pedantic(run, rounds=1)
    benchmark.extra_info["memory"] = f"{max(sizes):.0f} MiB"
