"""Exports of the shipped samples, each written once a session: tests only read them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from shaftscore.make.exporting import ExportResult, export_project
from shaftscore.model import Project

Exporter = Callable[[str, Project], ExportResult]


@pytest.fixture(scope="session")
def exported_once(tmp_path_factory: pytest.TempPathFactory) -> Exporter:
    """Return what exports a project in every format, once for each name; its folder is not to be changed."""
    made: dict[str, ExportResult] = {}

    def export(name: str, project: Project) -> ExportResult:
        if name not in made:
            made[name] = export_project(project, tmp_path_factory.mktemp(name), despite_errors=True)
        return made[name]

    return export
