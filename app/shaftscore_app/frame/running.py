"""The editor from start to end."""

from __future__ import annotations

import sys
from pathlib import Path

import platformdirs
from PySide6.QtCore import QLocale, QTimer
from PySide6.QtWidgets import QApplication

from shaftscore_app.document import Document, ExaminationPace
from shaftscore_app.frame.crash import Crashes, keep_logs
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.effects import wants_less_motion
from shaftscore_app.runtime.first_painting import FirstPainting
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.memory import SETTLE_MS, settle, share_heaps
from shaftscore_app.runtime.preload import load_beside
from shaftscore_app.runtime.settings import Settings, Values
from shaftscore_app.theme import Theme, program_icon


def run(path: Path | None) -> int:
    """Run the editor, with a file if one is given; returns the program's exit code."""
    share_heaps()
    QLocale.setDefault(QLocale.c())
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("shaftscore")
    app.setApplicationDisplayName("")
    app.setDesktopFileName("shaftscore")
    app.setWindowIcon(program_icon())
    keep_logs(Path(platformdirs.user_state_dir("shaftscore", appauthor=False)))
    settings = Settings.of_the_person(Values(reduce_motion=wants_less_motion()))
    theme = Theme(app, settings.values.theme, settings.values.text_scale)
    jobs = Jobs()
    document = Document(jobs=jobs, pace=ExaminationPace.measured())
    window = MainWindow(document, theme, settings, jobs, store=PersonStore.of_the_person())
    crashes = Crashes(
        window,
        theme,
        document,
        store=window.store,
        drafting=window.drafting,
        save_as=window.groups.files.save_as,
    )
    uninstall = crashes.install(jobs)
    window.show()
    window.groups.keeping.look_for_drafts()
    if path is not None:
        FirstPainting(window, lambda: window.groups.files.open(path))
    QTimer.singleShot(SETTLE_MS, settle)
    QTimer.singleShot(SETTLE_MS, window, lambda: load_beside(jobs))
    code = app.exec()
    uninstall()
    return code
