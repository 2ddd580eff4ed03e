"""Licences of what Shaftscore stands on, and where they are shown."""

from __future__ import annotations

from importlib import metadata

from PySide6.QtWidgets import QMessageBox

from shaftscore_app.dialogs.helping import AboutDialog, LicencesDialog
from shaftscore_app.runtime.licences import library_notices
from tests.app.conftest import WindowMaker
from tests.app.machines import gates


def test_every_needed_library_is_there_with_its_licence() -> None:
    """Rich needs markdown-it-py, which needs mdurl, and Pygments: its own metadata say so."""
    found = {notice.name: notice for notice in library_notices("rich")}
    assert set(found) == {"markdown-it-py", "mdurl", "Pygments"}
    assert "MIT" in found["mdurl"].licence
    assert found["Pygments"].licence == "BSD-2-Clause"
    assert found["Pygments"].version == metadata.version("pygments")
    assert any(
        "Redistribution and use in source and binary forms" in text for text in found["Pygments"].texts
    )


def test_about_leads_to_the_licences_and_to_qt(qtbot, make_window: WindowMaker, monkeypatch) -> None:
    shown: list[object] = []
    monkeypatch.setattr(QMessageBox, "aboutQt", shown.append)
    window = make_window(gates())
    window.actions_table["help.about"].trigger()
    about = window.findChild(AboutDialog)
    about.button("About Qt").click()
    assert shown == [about]
    about.button("Licences…").click()
    qtbot.waitUntil(lambda: window.findChild(LicencesDialog) is not None)
    assert window.findChild(LicencesDialog).text.toPlainText().startswith("Libraries used by Shaftscore")
