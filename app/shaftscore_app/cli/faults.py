"""What `faults` prints: the symptom sheet as text, or the JSON object."""

from __future__ import annotations

import json
from collections.abc import Iterator

from shaftscore.base.errors import one_line
from shaftscore.bringup import sheet_json, sheet_lines, symptom_sheet
from shaftscore.bringup.angles import check_angles
from shaftscore.model import Project
from shaftscore.solution import solve
from shaftscore_app.cli.exporting import Lines


def print_faults(project: Project, *, as_json: bool) -> None:
    """Print the symptom sheet of a project on stdout."""
    progress = Lines()
    try:
        solution = solve(project)
        sheet = symptom_sheet(solution, progress, angles=check_angles(solution))
    finally:
        progress.done()
    if as_json:
        print(json.dumps(sheet_json(project, sheet), indent=2, ensure_ascii=True, allow_nan=False))
        return
    print("\n".join(_lines(sheet_lines(project, sheet))))


def _lines(lines: Iterator[str]) -> Iterator[str]:
    """Yield lines without what a name could do to a terminal."""
    yield from (line and one_line(line) for line in lines)
