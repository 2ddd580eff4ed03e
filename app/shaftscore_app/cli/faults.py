"""What `faults` prints: the symptom sheet, or the causes of what was seen; as text or as a JSON object."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from shaftscore.base.errors import EditError, one_line
from shaftscore.bringup import (
    check_angles,
    likely_causes,
    ranking_json,
    ranking_lines,
    read_sightings,
    sheet_json,
    sheet_lines,
    symptom_sheet,
)
from shaftscore.bringup.reading import MOST_TEXT
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
    _print(sheet_json(project, sheet) if as_json else None, sheet_lines(project, sheet))


def print_causes(project: Project, file: Path, *, as_json: bool) -> None:
    """Print the causes of what was seen, a CSV file. Raises EditError with its name if it cannot be read."""
    try:
        with file.open(encoding="utf-8-sig") as read:
            sheet = read_sightings(project, read.read(MOST_TEXT + 1))
    except UnicodeDecodeError as error:
        raise EditError(f"{file}: is no text in UTF-8") from error
    except OSError as error:
        raise EditError(f"{file}: {error.strerror or error}") from error
    except EditError as error:
        raise EditError(f"{file}: {error}") from error
    solution = solve(project)
    ranking = likely_causes(solution, sheet, angles=check_angles(solution))
    _print(ranking_json(ranking) if as_json else None, ranking_lines(ranking))


def _print(made: Mapping[str, object] | None, lines: Iterable[str]) -> None:
    """Print a JSON object, or lines where there is none."""
    if made is not None:
        print(json.dumps(made, indent=2, ensure_ascii=True, allow_nan=False))
    else:
        print("\n".join(_lines(lines)))


def _lines(lines: Iterable[str]) -> Iterator[str]:
    """Yield lines without what a name could do to a terminal."""
    yield from (line and one_line(line) for line in lines)
