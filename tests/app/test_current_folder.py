"""Nothing in the folder that the program is started in can be imported by it or by its processes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATH = [str(ROOT / folder) for folder in ("core", "app")]
"""What the program is imported from in a checkout."""

PLANTED = ("multiprocessing", "numpy", "typer", "pydantic", "pickle", "shaftscore_app", "shaftscore")
"""Names that a stranger's folder could hold; the program, or a library of it, imports each."""

STARTER = """
import sys
from PySide6.QtCore import QCoreApplication
from shaftscore_app.commands.bench import again_task
from shaftscore_app.runtime.jobs import Jobs

if __name__ == "__main__":
    qt = QCoreApplication([])
    jobs, seen = Jobs(), []
    def end(what):
        seen.append(what)
        qt.quit()
    jobs.request_process(
        "a", again_task, (b"{}", "no project", None), on_progress=print, then=end, failed=end
    )
    qt.exec()
    jobs.close()
    print(type(seen[0]).__name__, getattr(seen[0], "kind", ""))
"""
"""Asks for a process as the editor does, from a script outside the current folder, as an installed one is."""


def plant(folder: Path, *, leave_out: tuple[str, ...] = ()) -> Path:
    """Make a folder of packages that leave a file behind when they are imported, and then fail."""
    for name in set(PLANTED) - set(leave_out):
        (folder / name).mkdir(parents=True)
        (folder / name / "__init__.py").write_text(
            f"open({str(folder / 'ran')!r}, 'a').write({name!r} + ' ')\nraise SystemExit(3)\n"
        )
    return folder


def run(arguments: list[str], folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONSAFEPATH"}
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={**kept, "PYTHONPATH": os.pathsep.join(PATH), "QT_QPA_PLATFORM": "offscreen", **more},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


def ran(folder: Path) -> str:
    path = folder / "ran"
    return path.read_text(encoding="utf-8") if path.exists() else ""


@pytest.mark.parametrize("flags", [[], ["-I"]], ids=["plain", "isolated"])
def test_a_process_imports_nothing_from_the_current_folder(tmp_path: Path, flags: list[str]) -> None:
    folder = plant(tmp_path / "strange")
    script = tmp_path / "script.py"
    path = [f"import sys; sys.path[:0] = {PATH!r}"] if flags else []
    script.write_text("\n".join([*path, STARTER]))
    done = run([*flags, str(script)], folder)
    assert done.stdout.split() == ["JobError", "ProjectError"], done.stderr
    assert ran(folder) == ""


def test_an_environment_that_python_ignores_is_refused_not_trusted(tmp_path: Path) -> None:
    folder = plant(tmp_path / "strange")
    script = tmp_path / "script.py"
    script.write_text(f"import sys; sys.path[:0] = {PATH!r}\n{STARTER}")
    done = run(["-E", str(script)], folder)
    assert done.stdout.split() == ["JobError", "UnsafeStart"], done.stderr
    assert ran(folder) == ""


def test_the_environment_is_as_it_was_after_a_process_began(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(f"{STARTER}\n    import os; print(os.environ.get('PYTHONSAFEPATH'))")
    assert run([str(script)], tmp_path).stdout.split() == ["JobError", "ProjectError", "None"]


def test_the_module_forgets_the_current_folder(tmp_path: Path) -> None:
    folder = plant(
        tmp_path / "strange", leave_out=("shaftscore_app",)
    )  # Python itself looks for that one there
    done = run(["-m", "shaftscore_app", "check", str(ROOT / "sample_projects" / "tea_blender.shaft")], folder)
    assert done.returncode == 0, done.stderr
    assert ran(folder) == ""


def test_the_module_still_runs_from_a_checkout() -> None:
    done = run(["-m", "shaftscore_app", "--version"], ROOT / "app", PYTHONPATH=str(ROOT / "core"))
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("shaftscore")
