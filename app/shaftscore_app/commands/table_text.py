"""The text of a table that the person chooses: sightings, or a log."""

from __future__ import annotations

from collections.abc import Callable

from shaftscore.base.errors import ProjectError
from shaftscore_app.commands.services import Services
from shaftscore_app.dialogs.bench import MessageDialog
from shaftscore_app.runtime.files import read_within


def ask_table(services: Services, title: str, take: Callable[[str], object]) -> None:
    """Ask for a table, and pass its text on; what cannot be read is told."""
    path = services.document.path
    folder = str(path.parent) if path else ""
    chosen = services.picker.table_to_open(services.window, folder, title)
    if chosen is None:
        return
    try:
        text = read_within(chosen).decode("utf-8")
    except UnicodeDecodeError as error:
        why = f"{chosen} is not UTF-8 text (byte {error.start})."
    except ProjectError as error:
        why = str(error)
    else:
        take(text)
        return
    MessageDialog(services.window, services.theme, title, "It could not be read.", [why]).open()
