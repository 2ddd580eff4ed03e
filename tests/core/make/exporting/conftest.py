"""Exports of the shipped samples, each written once a run, for all workers: tests only read them."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock

from shaftscore.make.exporting import ExportResult, export_project
from shaftscore.model import Project

Exporter = Callable[[str, Project], ExportResult]


@pytest.fixture(scope="session")
def exported_once(tmp_path_factory: pytest.TempPathFactory) -> Exporter:
    """Return what exports a project in every format, once for each name; its folder is not to be changed."""
    own = tmp_path_factory.getbasetemp()
    # The folder of a worker is within that of the run.
    common = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "exports"
    common.mkdir(exist_ok=True)
    made: dict[str, ExportResult] = {}

    def export(name: str, project: Project) -> ExportResult:
        if name not in made:
            with FileLock(common / f"{name}.lock"):
                made[name] = _kept(common / f"{name}.result", project)
        return made[name]

    return export


def _kept(file: Path, project: Project) -> ExportResult:
    """Return the result that another worker has kept in a file; export the project where none has."""
    if not file.exists():
        result = export_project(project, file.with_suffix(""), despite_errors=True)
        whole = file.with_suffix(".part")
        whole.write_bytes(pickle.dumps(result))
        whole.rename(file)
    found: ExportResult = pickle.loads(file.read_bytes())
    return found
