"""The public library: what it offers, its examples, how lightly it loads."""

from __future__ import annotations

import contextlib
import doctest
import importlib
import inspect
import io
import json
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import shaftscore

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "guide" / "python.md"

FUNCTIONS = {"load", "save", "examine", "apply_edit", "arrange", "export", "verify", "sample_folder"}
"""The public functions, as the contributors' map names them."""


def examples() -> list[doctest.DocTest]:
    found = doctest.DocTestFinder(recurse=False)
    parts = [shaftscore, *(getattr(shaftscore, name) for name in sorted(FUNCTIONS))]
    return [test for part in parts for test in found.find(part, globs={}) if test.examples]


@pytest.mark.parametrize("example", examples(), ids=lambda example: example.name)
def test_the_example_of_each_text_runs(example: doctest.DocTest) -> None:
    told = io.StringIO()
    outcome = doctest.DocTestRunner().run(example, out=told.write)
    assert outcome.attempted
    assert not outcome.failed, told.getvalue()


def test_every_public_function_has_an_example_and_every_name_is_there() -> None:
    assert {name for name in shaftscore.__all__ if inspect.isfunction(getattr(shaftscore, name))} == FUNCTIONS
    assert {test.name.split(".")[-1] for test in examples()} >= FUNCTIONS
    for name in shaftscore.__all__:
        assert inspect.getdoc(getattr(shaftscore, name)), name


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'made_up'"):
        _ = shaftscore.made_up


def test_no_room_bears_the_name_of_a_public_function() -> None:
    rooms = {module.name for module in pkgutil.iter_modules(shaftscore.__path__)}
    assert not rooms & set(shaftscore.__all__)
    for name in ("shaftscore.placing", "shaftscore.make.exporting", "shaftscore.judge.report"):
        importlib.import_module(name)
    assert all(inspect.isfunction(getattr(shaftscore, name)) for name in FUNCTIONS)


def test_importing_it_loads_neither_qt_nor_a_library() -> None:
    code = "import json, sys, shaftscore; print(json.dumps(sorted({n.split('.')[0] for n in sys.modules})))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(json.loads(ran.stdout))
    assert "shaftscore" in loaded
    assert not loaded & {"PySide6", "shaftscore_app", "numpy", "pydantic", "scipy", "ortools", "shapely"}


def test_the_page_of_the_guide_runs() -> None:
    """Its blocks, one after the other, as a reader would type them."""
    blocks = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) >= 5
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        exec(compile("\n".join(blocks), str(PAGE), "exec"), {})
    assert re.search(r"\d+ findings before, \d+ after", said.getvalue())
    assert "()" in said.getvalue().splitlines()[-1]
