"""The open project: its state, undo, selection, and how widgets are bound to it."""

from shaftscore_app.document.document import (
    LATE,
    LOOK,
    LOOKS,
    MOST_AT_ONCE,
    ONLY_TO_LOOK,
    PAINT_MS,
    REST_MS,
    Document,
    blank_project,
)
from shaftscore_app.document.pace import ExaminationPace

__all__ = [
    "LATE",
    "LOOK",
    "LOOKS",
    "MOST_AT_ONCE",
    "ONLY_TO_LOOK",
    "PAINT_MS",
    "REST_MS",
    "Document",
    "ExaminationPace",
    "blank_project",
]
