"""Edits of the log-book and of the home angle."""

from __future__ import annotations

from collections.abc import Mapping

from shaftscore.base.errors import EditError
from shaftscore.edits.base import Edited, angle_words, changed, constructed, wrapped
from shaftscore.model.bench import Home, LogEntry
from shaftscore.model.project import Project


def add_note(project: Project, date: str, text: str, revisions: Mapping[str, str] | None = None) -> Edited:
    """Add a note to the log-book, below all of its date and before.

    date: year-month-day. revisions: of the parts that it is about, by code. Raises EditError if the date is
    none, the text is empty or too long, or the log-book is full.
    """
    made = constructed(LogEntry, date=date, text=text, revisions=dict(revisions) if revisions else None)
    return Edited(_sorted(project, (*project.log, made)), f"Add a note of {date}")


def change_note(
    project: Project, index: int, date: str, text: str, revisions: Mapping[str, str] | None = None
) -> Edited:
    """Change a note, counted from 0; raises EditError as `add_note`, and if it is not there."""
    before = _note_of(project, index)
    made = constructed(LogEntry, date=date, text=text, revisions=dict(revisions) if revisions else None)
    if made == before:
        return Edited(project, f"Change the note of {date}")
    log = (*project.log[:index], made, *project.log[index + 1 :])
    return Edited(_sorted(project, log), f"Change the note of {date}")


def delete_note(project: Project, index: int) -> Edited:
    """Remove a note, counted from 0; raises EditError if it is not there."""
    gone = _note_of(project, index)
    rest = (*project.log[:index], *project.log[index + 1 :])
    return Edited(changed(project, log=rest), f"Remove the note of {gone.date}")


def set_home(project: Project, angle_deg: float | None) -> Edited:
    """Set the home angle, degrees of the master shaft; None: it is chosen."""
    if angle_deg is None:
        return Edited(changed(project, home=None), "Let the home angle be chosen")
    angle = wrapped(angle_deg)
    return Edited(changed(project, home=Home(angle_deg=angle)), f"Set the home angle to {angle_words(angle)}")


def _note_of(project: Project, index: int) -> LogEntry:
    if not 0 <= index < len(project.log):
        raise EditError(f"there is no note {index + 1}; the log-book has {len(project.log)}")
    return project.log[index]


def _sorted(project: Project, log: tuple[LogEntry, ...]) -> Project:
    """Return the project with notes in the order of their dates, those of one day as they were added."""
    return changed(project, log=tuple(sorted(log, key=lambda note: note.date)))
