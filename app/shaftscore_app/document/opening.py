"""A project on its way into the editor: read and examined, on any thread, before a window shows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from shaftscore.judge.report import QUICK
from shaftscore.model.loader import load_file
from shaftscore.model.project import Project
from shaftscore_app.document.look import ShownReports, look, prepare_drawing
from shaftscore_app.runtime.files import Stamp, refuse_to_wait


@dataclass(frozen=True)
class OpenedProject:
    """A project that was read and examined, to be shown: made on any thread.

    path: where it is saved; None for nowhere yet. stamp: what its file was when it was read. is_unsaved:
    whether no file holds it as it is. is_migrated: whether its file is of an earlier version.
    """

    look: ShownReports
    path: Path | None = None
    stamp: Stamp | None = None
    is_unsaved: bool = False
    is_migrated: bool = False


def read_file(path: Path) -> OpenedProject:
    """Read and examine a file. Raises ProjectError (all its faults)."""
    refuse_to_wait(path)
    stamp = Stamp.of(path)  # before it is read: a change in between is told, not missed
    loaded = load_file(path)
    opening = opening_of(loaded.project, path)
    return replace(opening, stamp=stamp, is_migrated=loaded.is_migrated)


def opening_of(project: Project, path: Path | None = None) -> OpenedProject:
    """Examine a project that is to be shown."""
    shown = look(project, None, None, stage=QUICK)
    if shown.whole.loads is not None:
        prepare_drawing(shown.whole.loads)
    return OpenedProject(shown, path)
