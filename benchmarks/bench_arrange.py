"""Arrange: how long until a first answer, until the best, with how much memory; each in a fresh process.

Targets, in processor time: first answer of the seedling sower under 3 s, of the chime wall under 2 s, of 12
lanes with flow under 3 s; the best under 20 s and 30 s; the fastest safe speed under 5 s; memory under 1 GiB.
"Turned away": every lane is first turned by a random angle of up to 20 degrees, so that what is drawn holds
no longer; dwells may then leave their steps, since the turn took them out. There are no targets for that.
`benchmarks.arranged_better` says what it is good for.
"""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from shaftscore.base.samples import sample_folder

ROOT = Path(__file__).resolve().parents[1]
FOLDER = sample_folder()

FIRST = """
import random, sys, time
from pathlib import Path
from benchmarks.arranged_better import random_machine
from benchmarks.memory import peak_mib
from shaftscore.base.angles import wrap
from shaftscore.base.errors import Cancelled
from shaftscore.model import replaced
from shaftscore.model.loader import load_project
from shaftscore.placing import MayChange, arrange

class FirstAnswers:
    "Notes when the machine as drawn was judged, and when anything better; then it cancels."

    def __init__(self):
        self.begun, self.judged, self.better, self.drawn = time.process_time(), None, None, None

    def report(self, fraction, what):
        so_far = what.partition("; ")[2].partition("; ")[0].partition(",")[0]
        if so_far and self.judged is None:
            self.judged, self.drawn = time.process_time() - self.begun, so_far
        if so_far and so_far != self.drawn:
            self.better = time.process_time() - self.begun
            raise Cancelled("cancelled")

chance, path, reach = random.Random(4), Path(sys.argv[1]), float(sys.argv[2])
project = load_project(path) if path.exists() else random_machine(12, 1)
lanes = []
for lane in project.lanes:
    by = round(chance.uniform(-reach, reach), 1)
    starts = [wrap(round(block.start_deg + by, 6)) for block in lane.blocks]
    blocks = [replaced(b, start_deg=s, end_deg=s + b.length_deg) for b, s in zip(lane.blocks, starts)]
    lanes.append(replaced(lane, blocks=tuple(blocks)) if reach else lane)
project, seen = replaced(project, lanes=tuple(lanes)), FirstAnswers()
found = arrange(project, progress=seen, may=MayChange(order=bool(reach)))
print({"valid": found.after.errors == 0, "judged": seen.judged, "better": seen.better, "mib": peak_mib()})
"""

BEST = """
import sys
from pathlib import Path
from benchmarks.memory import peak_mib
from shaftscore.placing import arrange
from shaftscore.model.loader import load_project

found = arrange(load_project(Path(sys.argv[1])), sys.argv[2])
before, after = found.before, found.after
print({
    "peak": (before.peak_nm, after.peak_nm), "margin": (before.margin_deg, after.margin_deg),
    "chance": (before.chance, after.chance), "mib": peak_mib(),
})
"""


FASTEST = """
import sys, time
from pathlib import Path
from benchmarks.memory import peak_mib
from shaftscore.placing import fastest_safe_speed
from shaftscore.model.loader import load_project

project, begun = load_project(Path(sys.argv[1])), time.process_time()
found = fastest_safe_speed(project)
print({"rpm": found.speed_rpm, "text": found.text, "cpu_s": time.process_time() - begun, "mib": peak_mib()})
"""


def processor_s() -> float:
    """Return the processor time of this process and of those it started, s."""
    return sum(os.times()[:4])


def run(program: str, sample: str, *arguments: object) -> dict[str, Any]:
    command = [sys.executable, "-c", program, str(FOLDER / f"{sample}.shaft"), *map(str, arguments)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    return dict(ast.literal_eval(done.stdout.splitlines()[-1]))


CASES = [
    ("seedling_sower", 0.0, 3),
    ("seedling_sower", 20.0, None),
    ("chime_wall", 0.0, 2),
    ("chime_wall", 20.0, None),
    ("12 lanes with flow", 0.0, 3),
]


@pytest.mark.benchmark(group="Arrange: a first answer", timer=processor_s)
@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c[0]}, {'turned away' if c[1] else 'as drawn'}")
def test_first(benchmark: Any, case: tuple[str, float, int | None]) -> None:
    sample, reach, target = case
    answer = benchmark.pedantic(lambda: run(FIRST, sample, reach), rounds=1)
    assert answer["valid"]
    benchmark.extra_info["judged as drawn"] = f"{answer['judged']:.1f} s of processor time"
    benchmark.extra_info["first better"] = f"{answer['better']:.1f} s" + (
        f" (target {target} s)" if target else ""
    )
    benchmark.extra_info["memory"] = f"{answer['mib']:.0f} MiB (target 1 GiB)"


@pytest.mark.benchmark(group="Arrange: the best answer", timer=processor_s)
@pytest.mark.parametrize("sample", ["tea_blender", "seedling_sower", "chime_wall"])
@pytest.mark.parametrize("prefer", ["torque", "margin"])
def test_best(benchmark: Any, sample: str, prefer: str) -> None:
    answer = benchmark.pedantic(lambda: run(BEST, sample, prefer), rounds=1)
    before, after = answer["peak"]
    benchmark.extra_info["peak torque"] = f"{before:.2f} to {after:.2f} N·m ({after / before - 1:+.0%})"
    benchmark.extra_info["margin"] = f"{answer['margin'][0]:.1f} to {answer['margin'][1]:.1f} degrees"
    benchmark.extra_info["chance"] = " to ".join(f"{share:.2%}" for share in answer["chance"])
    benchmark.extra_info["memory"] = f"{answer['mib']:.0f} MiB (target 1 GiB)"


@pytest.mark.benchmark(group="Fastest safe speed", timer=processor_s)
@pytest.mark.parametrize("sample", ["tea_blender", "paper_theatre", "seedling_sower", "chime_wall"])
def test_fastest(benchmark: Any, sample: str) -> None:
    answer = benchmark.pedantic(lambda: run(FASTEST, sample), rounds=1)
    benchmark.extra_info["processor time"] = f"{answer['cpu_s']:.1f} s (target 5 s)"
    benchmark.extra_info["answer"] = f"{answer['rpm']:g} rev/min; {answer['text']}"
    benchmark.extra_info["memory"] = f"{answer['mib']:.0f} MiB (target 1 GiB)"
