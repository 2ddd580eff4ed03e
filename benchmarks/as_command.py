"""Imported before the editor's modules: what the command does before theirs is done."""

from __future__ import annotations

import PySide6.QtWidgets  # noqa: F401 - the search belongs to it

from shaftscore_app.runtime import memory
from shaftscore_app.runtime.features import import_plainly

memory.start()
import_plainly()
