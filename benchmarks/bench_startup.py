"""Start-up: what `check` and the editor cost beside an empty Python and beside importing everything."""

from __future__ import annotations

from typing import Any

import pytest

from benchmarks.first_paint import started
from benchmarks.memory import used_by
from shaftscore.base.samples import sample_folder
from shaftscore_app.cli.editor import has_display

TEA = sample_folder() / "tea_blender.shaft"

CHECK = f"""
import sys
sys.argv = ["shaftscore", "check", {str(TEA)!r}]
from shaftscore_app.cli.program import main
try:
    main()
except SystemExit:
    pass
"""
EVERYTHING = """
import numpy, pydantic, typer, rich, scipy.interpolate, shapely, manifold3d, lib3mf, ezdxf, reportlab
import ortools.sat.python.cp_model, PySide6.QtWidgets, pyqtgraph
"""

PROGRAMS = {
    "an empty Python": "pass",
    "import of the four libraries of check": "import numpy, pydantic, typer, rich",
    "shaftscore check tea_blender": CHECK,
    "import of every library": EVERYTHING,
}


@pytest.mark.benchmark(group="Start-up, each in a fresh process")
@pytest.mark.parametrize("what", PROGRAMS)
def test_start(benchmark: Any, what: str) -> None:
    if what.startswith("shaftscore"):
        benchmark.extra_info["target"] = "0.6 s"
    sizes = []
    benchmark.pedantic(lambda: sizes.append(used_by(PROGRAMS[what]).mib), rounds=5, warmup_rounds=1)
    benchmark.extra_info["memory"] = f"{max(sizes):.0f} MiB"


@pytest.mark.skipif(not has_display(), reason="there is no display that a window could be shown on")
@pytest.mark.benchmark(group="Start of the editor with tea_blender, until its window is painted")
def test_window_up(benchmark: Any) -> None:
    benchmark.extra_info["target"] = "0.6 s"
    starts = []
    benchmark.pedantic(lambda: starts.append(started(TEA)), rounds=5, warmup_rounds=1)
    benchmark.extra_info["processor time"] = f"{min(one.processor for one in starts):.2f} s"
