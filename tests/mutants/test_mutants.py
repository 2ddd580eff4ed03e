"""The tests notice the slips that matter: each mutant of `table.MUTANTS` makes its own tests fail.

The quick test keeps the table true to the code. The long one runs the tests against a copy of the library
with the mutant in it: `python -m pytest -m long tests/mutants`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.mutants.table import MUTANTS, Mutant

ROOT = Path(__file__).resolve().parent.parent.parent
PACKAGE = ROOT / "core" / "shaftscore"


def test_every_mutant_finds_its_text_once_and_its_tests() -> None:
    for mutant in MUTANTS:
        assert (PACKAGE / mutant.file).read_text(encoding="utf-8").count(mutant.old) == 1, mutant.name
        assert mutant.new != mutant.old, mutant.name
        for node in mutant.tests:
            file, _, name = node.partition("::")
            assert (ROOT / file).is_file(), f"{mutant.name}: {file}"
            text = (ROOT / file).read_text(encoding="utf-8")
            assert not name or f"def {name.split('::')[-1]}(" in text, f"{mutant.name}: {node}"


def test_names_of_mutants_are_their_own() -> None:
    names = [mutant.name for mutant in MUTANTS]
    assert len(names) >= 20
    assert len(set(names)) == len(names)


def _copied(folder: Path) -> Path:
    """Copy the library and its samples, and return the folder from which `shaftscore` is imported."""
    shutil.copytree(PACKAGE, folder / "core" / "shaftscore", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "sample_projects", folder / "sample_projects")
    return folder / "core"


def _run(core: Path, tests: tuple[str, ...]) -> subprocess.CompletedProcess[str]:
    """Run tests with the library of a folder first on the path; the same examples each time, no cache."""
    paths = os.pathsep.join(map(str, (core, ROOT, ROOT / "app")))
    shown = "import shaftscore; print(shaftscore.__file__)"
    environment = {
        **{key: value for key, value in os.environ.items() if not key.startswith(("PYTEST_", "COV_"))},
        "PYTHONPATH": paths,
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    place = subprocess.run(
        [sys.executable, "-c", shown], env=environment, capture_output=True, text=True, check=True, cwd=core
    )
    assert Path(place.stdout.strip()).is_relative_to(core), "the copy must be what is imported"
    pythonpath = f"pythonpath={core} {ROOT} {ROOT / 'app'}"
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-o", pythonpath]
    command.append("--hypothesis-profile=thorough")
    return subprocess.run(
        [*command, *tests], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )


@pytest.mark.long
@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.name)
def test_a_mutant_is_noticed(mutant: Mutant, tmp_path: Path) -> None:
    core = _copied(tmp_path)
    file = core / "shaftscore" / mutant.file
    file.write_text(file.read_text(encoding="utf-8").replace(mutant.old, mutant.new), encoding="utf-8")
    ran = _run(core, mutant.tests)
    # 1: tests failed; any other code means that they could not be run at all.
    assert ran.returncode == 1, f"{mutant.name} was not noticed:\n{ran.stdout[-2000:]}{ran.stderr[-2000:]}"
    assert " failed" in ran.stdout
    assert "ImportError" not in ran.stdout, "a mutant must break a rule, not the import"


@pytest.mark.long
def test_without_a_mutant_the_same_tests_pass(tmp_path: Path) -> None:
    tests = tuple(dict.fromkeys(node for mutant in MUTANTS for node in mutant.tests))
    ran = _run(_copied(tmp_path), tests)
    assert ran.returncode == 0, ran.stdout[-3000:] + ran.stderr[-2000:]
