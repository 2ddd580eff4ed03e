"""Checking and exporting every sample: time and memory, each in a fresh process."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest

from benchmarks.bench_arrange import processor_s, run
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
    + "from shaftscore_app.runtime.both_cores import BothCores\n"
    + "from shaftscore_app.cli.exporting import SECOND_LOADS\n"
    + "with BothCores(SECOND_LOADS) as both:\n"
    + "    export_project(p, Path({out!r}), despite_errors=True, beside=both)"
)


TARGETS = {"chime_wall": "0.6 s, 150 MiB", "seedling_sower": "0.6 s, 150 MiB"}


@pytest.mark.benchmark(group="Everything that `check` reports, each sample", timer=processor_s)
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_check(benchmark: Any, sample: Path) -> None:
    sizes = []
    benchmark.pedantic(lambda: sizes.append(used_by(EXAMINE.format(file=str(sample))).mib), rounds=3)
    benchmark.extra_info["memory"] = f"{max(sizes):.0f} MiB"
    if sample.stem in TARGETS:
        benchmark.extra_info["target"] = TARGETS[sample.stem]


PARTS = """
import sys, time
from pathlib import Path
from benchmarks.memory import peak_mib
from shaftscore.judge.report import examine_as_drawn
from shaftscore.judge.report.effects import built_effects
from shaftscore.judge.spread import find_spread
from shaftscore.judge.spread.drawing import Drawing
from shaftscore.judge.spread.judging import judge
from shaftscore.judge.spread.tally import MOST_MACHINES, MachineTally
from shaftscore.judge.spread.worst import worst_cases
from shaftscore.model.loader import load_project

report, times = examine_as_drawn(load_project(Path(sys.argv[1]))), [time.process_time()]
effects, before = built_effects(report.loads, report.shafts), peak_mib()
spread = find_spread(report.solution, report.flow, loads=report.loads, effects=effects)
times.append(time.process_time())
drawing, tally = Drawing.of(report.solution, report.loads, effects), MachineTally()
for drawn in drawing.blocks(MOST_MACHINES):
    tally.add(judge(drawn, report.flow), drawn.count)
times.append(time.process_time())
mib = peak_mib() - before
worst_cases(drawing.drawn(1), tuple(tally.rules.values()), report.flow)
times.append(time.process_time())
whole, many, worst = (after - begun for begun, after in zip(times, times[1:]))
print({"machines": spread.machines, "whole": whole, "many": many, "worst": worst, "mib": mib})
"""

CHANCE_MIB = 100
"""What the chance may take of memory, however many machines are drawn."""


@pytest.mark.benchmark(group="The chance of a sample: until it is decided", timer=processor_s)
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_chance(benchmark: Any, sample: Path) -> None:
    answer = benchmark.pedantic(lambda: run(PARTS, sample.stem), rounds=1)
    benchmark.extra_info["decided by"] = f"{answer['machines']:,} machines"
    benchmark.extra_info["all of it"] = f"{answer['whole']:.2f} s"
    benchmark.extra_info["of that the worst case"] = f"{answer['worst']:.2f} s"
    benchmark.extra_info["100,000 machines instead"] = f"{answer['many']:.2f} s"
    benchmark.extra_info["memory"] = f"{answer['mib']:.0f} MiB more (target {CHANCE_MIB} MiB)"
    assert answer["mib"] < CHANCE_MIB


@pytest.mark.benchmark(group="Export in every format at hand, with proof, each sample")
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_export(benchmark: Any, sample: Path) -> None:
    sizes = []

    def run() -> None:
        with tempfile.TemporaryDirectory() as out:
            sizes.append(used_by(EXPORT.format(file=str(sample), out=out)).mib)

    benchmark.pedantic(run, rounds=1)
    if sample.stem == "chime_wall":
        benchmark.extra_info["goal"] = "7 s, set when a machine was its discs"
    benchmark.extra_info["memory"] = f"{max(sizes):.0f} MiB"
