"""The bench through the window: build manual, folders exported before, the fit from the coupon."""

from __future__ import annotations

import io
import math
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from shaftscore.edits import set_disc
from shaftscore.make.exporting import export_project
from shaftscore.make.solids.revisions import disc_revisions
from shaftscore_app.dialogs.bench import (
    CheckedDialog,
    CouponDialog,
    MadeAgainDialog,
    MessageDialog,
    PaperSizeDialog,
)
from shaftscore_app.dialogs.logbook import LogBookDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, WindowMaker
from tests.app.machines import clean_gates

WAIT_MS = 120_000


def _shown(window: MainWindow, kind: type) -> list:
    return [dialog for dialog in window.findChildren(kind) if dialog.isVisible()]


def _trigger(window: MainWindow, command: str) -> None:
    window.actions_table.refresh()
    window.actions_table[command].trigger()


def _press(qtbot, dialog: Dialog, text: str) -> None:
    qtbot.mouseClick(dialog.button(text), Qt.MouseButton.LeftButton)


def _texts(dialog: Dialog) -> str:
    return "\n".join(label.text() for label in dialog.findChildren(QLabel))


def _answer(qtbot, window: MainWindow, kind: type) -> Dialog:
    qtbot.waitUntil(lambda: not window.groups.bench.is_running, timeout=WAIT_MS)
    qtbot.waitUntil(lambda: bool(_shown(window, kind)), timeout=WAIT_MS)
    return _shown(window, kind)[0]


def test_the_build_manual_is_written_where_it_was_asked_for(
    qtbot, make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    answers.pdf = tmp_path / "manual.pdf"
    _trigger(window, "file.manual")
    (dialog,) = _shown(window, PaperSizeDialog)
    _press(qtbot, dialog, "A4…")
    assert not window.actions_table["file.manual"].isEnabled() or window.groups.bench.is_running
    told = _answer(qtbot, window, MessageDialog)
    assert "The build manual is written." in _texts(told)
    reader = pypdf.PdfReader(io.BytesIO((tmp_path / "manual.pdf").read_bytes()))
    assert "Pinch points" in reader.pages[0].extract_text()
    assert not window.status.is_showing_progress


def test_a_manual_that_cannot_be_written_is_said(
    qtbot, make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    answers.pdf = tmp_path / "nowhere" / "manual.pdf"
    _trigger(window, "file.manual")
    _press(qtbot, _shown(window, PaperSizeDialog)[0], "US Letter…")
    assert "Nothing was written." in _texts(_answer(qtbot, window, MessageDialog))


def test_discs_of_a_folder_are_checked_and_compared(
    qtbot, make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    export_project(clean_gates(), tmp_path, ["stl"])
    window = make_window(clean_gates())
    answers.out = tmp_path
    _trigger(window, "prove.check_exported")
    dialog = _answer(qtbot, window, CheckedDialog)
    assert "do what the diagram says." in _texts(dialog)
    _press(qtbot, dialog, "Close")
    assert answers.proposed[-1] == "Folder of exported files to check"
    document = window.document
    radius = document.report.solution.lanes["left"].profile.base_radius_mm
    document.perform(set_disc(document.committed, "left", base_radius_mm=radius + 1.5))
    _trigger(window, "prove.made_again")
    dialog = _answer(qtbot, window, MadeAgainDialog)
    assert "1 part must be reprinted." in _texts(dialog)
    assert answers.proposed[-1] == "Folder of the last export to compare with"
    assert "changed: its edge moved by up to 1.50 mm" in dialog.parts.item(0).text()
    assert dialog.newest.text() == "The log-book is empty."
    assert document.committed.log == ()
    qtbot.mouseClick(dialog.noted, Qt.MouseButton.LeftButton)
    (note,) = document.committed.log
    code = document.committed.lane("left").code
    assert (note.text, list(note.revisions)) == ("Printed", [code])
    assert note.revisions[code] == disc_revisions(document.report.solution)[code]
    assert f"Printed  ({code} R" in dialog.newest.text()
    assert not dialog.noted.isEnabled()


def test_the_log_book_is_written_changed_and_cleared(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    _trigger(window, "prove.log")
    (dialog,) = _shown(window, LogBookDialog)
    qtbot.keyClicks(dialog.note, "Bearings came")
    qtbot.keyClicks(dialog.parts, "A1")
    _press(qtbot, dialog, "Add")
    assert dialog.fault == '"A1" needs a code and a revision, such as A1 R0F3'
    dialog.parts.clear()
    qtbot.mouseClick(dialog.now, Qt.MouseButton.LeftButton)
    dialog.date.setText("2026-03-32")
    _press(qtbot, dialog, "Add")
    assert "is not a day of the calendar" in dialog.fault
    dialog.date.setText("2026-03-14")
    _press(qtbot, dialog, "Add")
    log = window.document.committed.log
    assert [(note.date, note.text) for note in log] == [("2026-03-14", "Bearings came")]
    assert dict(log[0].revisions) == disc_revisions(window.document.report.solution)
    dialog.table.selectRow(0)
    dialog.note.setText("Bearings fitted")
    _press(qtbot, dialog, "Change")
    assert window.document.committed.log[0].text == "Bearings fitted"
    dialog.table.selectRow(0)
    _press(qtbot, dialog, "Remove")
    assert window.document.committed.log == ()
    assert dialog.table.rowCount() == 0


def test_a_folder_without_an_export_is_said(
    qtbot, make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    answers.out = tmp_path
    _trigger(window, "prove.check_exported")
    assert "Nothing was exported there." in _texts(_shown(window, MessageDialog)[0])


def test_the_hole_that_fits_becomes_one_undoable_step(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    _trigger(window, "machine.fit")
    (dialog,) = _shown(window, CouponDialog)
    stack = window.document.committed.stacks[0]
    assert dialog.hole.shown() == pytest.approx(stack.fit_clearance_mm)
    texts = [dialog.hole.itemText(place) for place in range(dialog.hole.count())]
    corner = math.cos(math.pi / 6)  # of the hexagon bore of 8 mm
    plays = [math.degrees(math.pi / 6 - math.acos(corner * (1 + 2 * c / 8))) for c in (0.05, 0.2)]
    assert [texts[0], texts[3]] == [f"05: 0.05 mm, ±{plays[0]:.1f}°", f"20: 0.20 mm, ±{plays[1]:.1f}°"]
    dialog.hole.setFocus()
    for _ in range(2):
        qtbot.keyClick(dialog.hole, Qt.Key.Key_Down)
    _press(qtbot, dialog, "Use this clearance")
    document = window.document
    assert document.committed.stacks[0].fit_clearance_mm == pytest.approx(0.3)
    assert "fit clearance" in document.undo_name
    document.undo()
    assert document.committed.stacks[0].fit_clearance_mm == stack.fit_clearance_mm


def test_without_discs_there_is_nothing_for_the_bench(make_window: WindowMaker) -> None:
    window = make_window(None)
    window.actions_table.refresh()
    for command in ("file.manual", "prove.check_exported", "prove.made_again", "machine.fit"):
        assert not window.actions_table[command].isEnabled()
