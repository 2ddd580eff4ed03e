"""Exports made before a test begins: the same one is made once, and copied for each test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from shaftscore.make.exporting import ExportResult, export_project
from shaftscore.model import Project
from shaftscore.model.saved import saved_form

_MADE: dict[tuple[bytes, tuple[str, ...]], tuple[ExportResult, dict[str, bytes]]] = {}


def exported(project: Project, out: Path, formats: Sequence[str] | None = None) -> ExportResult:
    """Put a project's export into a new or empty folder, and return its result."""
    assert not out.exists() or not list(out.iterdir())
    key = (saved_form(project), tuple(formats or ()))
    if key not in _MADE:
        with TemporaryDirectory() as place:
            made = export_project(project, Path(place), formats)
            _MADE[key] = made, {path.name: path.read_bytes() for path in made.out.iterdir()}
    result, files = _MADE[key]
    out.mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        (out / name).write_bytes(data)
    return replace(result, out=out)
