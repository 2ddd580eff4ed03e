"""The collector of cyclic garbage: rare while the program starts, as usual and short once it has started."""

from __future__ import annotations

import gc
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from sample_projects import __path__ as samples
from shaftscore_app.runtime import memory

TEA = Path(next(iter(samples))) / "tea_blender.shaft"

WHOLE_PASSES = """
import gc, sys
passes = []
gc.callbacks.append(lambda phase, info: passes.append((phase, info["generation"])))
from shaftscore_app.cli.program import main
sys.argv = ["shaftscore", "check", sys.argv[1]]
before = len(passes)
try:
    main()
except SystemExit:
    pass
print(passes[before:].count(("start", 2)), gc.get_freeze_count() > 0, file=sys.stderr)
"""


@pytest.fixture(autouse=True)
def _as_it_was() -> Iterator[None]:
    usual = gc.get_threshold()
    yield
    gc.set_threshold(*usual)
    gc.unfreeze()


def test_passes_are_rare_until_the_editor_has_settled() -> None:
    usual = gc.get_threshold()
    memory.start()
    assert gc.get_threshold()[0] > 50 * usual[0]
    assert gc.isenabled()
    memory.settle()
    assert gc.get_threshold() == usual
    assert gc.get_freeze_count() > 0


def test_check_looks_at_every_object_not_once() -> None:
    done = subprocess.run(
        [sys.executable, "-c", WHOLE_PASSES, str(TEA)],
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=300,
    )
    assert done.stderr.split() == ["0", "True"]
