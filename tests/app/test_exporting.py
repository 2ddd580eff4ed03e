"""Export through the window: asked, run in a process, cancelled, failed, done."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from shaftscore.edits import BlockRef, place_block, set_disc
from shaftscore.make.exporting import export_project
from shaftscore.model.base import replaced
from shaftscore_app.commands.exporting import ExportJob
from shaftscore_app.dialogs.exporting import (
    AnotherMachineDialog,
    ErrorsOpenDialog,
    ExportDialog,
    ExportedDialog,
    ExportFailedDialog,
)
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, WindowMaker
from tests.app.machines import clean_gates, gates

WAIT_MS = 120_000


def _click(qtbot, dialog, text: str) -> None:
    qtbot.mouseClick(dialog.button(text), Qt.MouseButton.LeftButton)


def _shown(window: MainWindow, kind: type) -> list:
    return [dialog for dialog in window.findChildren(kind) if dialog.isVisible()]


def _ask(window: MainWindow) -> None:
    window.actions_table.refresh()
    window.actions_table["file.export"].trigger()


def _export(qtbot, window: MainWindow, out: Path) -> None:
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    dialog.folder.setText(str(out))
    _click(qtbot, dialog, "Export")
    assert window.groups.exports.is_running


def _wait_for(qtbot, window: MainWindow, kind: type) -> None:
    """Wait for the end of the export, which must open a dialog of this kind."""
    qtbot.waitUntil(lambda: not window.groups.exports.is_running, timeout=WAIT_MS)
    said = [label.text() for dialog in _shown(window, Dialog) for label in dialog.findChildren(QLabel)]
    assert _shown(window, kind), said


def test_a_clean_machine_is_exported_proved_and_said(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    out = tmp_path / "discs"
    _export(qtbot, window, out)
    assert window.status.is_showing_progress
    qtbot.waitUntil(lambda: not window.actions_table["file.export"].isEnabled())
    assert "running" in window.actions_table["file.export"].statusTip()
    _wait_for(qtbot, window, ExportedDialog)
    names = sorted(path.name for path in out.iterdir())
    assert "manifest.json" in names
    for lane in ("left", "right"):
        for kind in (".stl", ".dxf"):
            assert any(lane in name.lower() and name.endswith(kind) for name in names)
    assert json.loads((out / "manifest.json").read_text())
    assert not window.status.is_showing_progress
    window.actions_table.refresh()
    assert window.actions_table["file.export"].isEnabled()
    (done,) = _shown(window, ExportedDialog)
    assert "Assembly proved: " in _said(done)


def test_notes_that_have_no_room_are_counted(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    notes = [f"Note {number}." for number in range(11)]
    nothing = {"unproved": (), "assembly": "", "changes": "", "verdict": (), "left": 0, "removed": ()}
    done = ExportedDialog(
        window, window.theme, out=tmp_path, files=("A1.stl",), proved=1, notes=notes, **nothing
    )
    assert "Note 7." in _said(done)
    assert "Note 8." not in _said(done)
    assert "manifest.json lists all 11 notes." in _said(done)


def test_only_what_changed_is_written_and_said(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    out = tmp_path / "discs"
    export_project(clean_gates(), out, ["stl"])
    before = {path.name: path.stat().st_mtime_ns for path in out.glob("*.stl")}
    document = window.document
    radius = document.report.solution.lanes["left"].profile.base_radius_mm
    document.perform(set_disc(document.committed, "left", base_radius_mm=radius + 0.5))
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    dialog.folder.setText(str(out))
    for name, box in dialog.boxes.items():
        box.setChecked(name == "stl")
    dialog.only_changed.setChecked(True)
    _click(qtbot, dialog, "Export")
    _wait_for(qtbot, window, ExportedDialog)
    (told,) = _shown(window, ExportedDialog)
    said = "\n".join(label.text() for label in told.findChildren(QLabel))
    assert "1 file written." in said
    assert "changed A1 (by 0.50 mm); unchanged " in said
    after = {path.name: path.stat().st_mtime_ns for path in out.glob("*.stl")}
    assert {name for name in after if after[name] != before[name]} == {"A1_left.stl"}


def test_a_format_that_is_not_installed_is_greyed_and_says_why(
    qtbot, make_window: WindowMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shaftscore.make.exporting.formats.has_kernel", lambda: False)
    window = make_window(clean_gates())
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    assert not dialog.boxes["step"].isEnabled()
    assert "optional extra `step`" in dialog.boxes["step"].toolTip()
    assert "step" not in dialog.chosen
    assert "stl" in dialog.chosen


def test_edits_made_meanwhile_do_not_matter(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    _export(qtbot, window, tmp_path / "discs")
    document = window.document
    document.perform(place_block(document.committed, BlockRef("left", 0), 70.0))
    _wait_for(qtbot, window, ExportedDialog)
    assert document.undo_name == "Move Left open to 70.0°"


def test_cancel_leaves_nothing_and_another_export_works(
    qtbot, make_window: WindowMaker, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    out = tmp_path / "discs"
    _export(qtbot, window, out)
    qtbot.mouseClick(window.status._cancel, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not window.groups.exports.is_running, timeout=WAIT_MS)
    assert not out.exists() or list(out.iterdir()) == []
    assert not _shown(window, ExportFailedDialog)
    assert not window.status.is_showing_progress
    _export(qtbot, window, out)
    _wait_for(qtbot, window, ExportedDialog)


def test_a_folder_that_cannot_be_is_said_and_can_be_tried_again(
    qtbot, make_window: WindowMaker, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    blocked = tmp_path / "a file"
    blocked.write_text("in the way")
    _export(qtbot, window, blocked)
    _wait_for(qtbot, window, ExportFailedDialog)
    assert blocked.read_text() == "in the way"
    (dialog,) = _shown(window, ExportFailedDialog)
    _click(qtbot, dialog, "Try again")
    assert _shown(window, ExportDialog)


def test_a_proof_that_failed_shows_its_place(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    window.groups.exports._on_done(
        {"why": "A2 is 0.06 mm off the program at 212.0°", "place": ("right", 212.0)},
        ExportJob(b"", "tea", Path("out"), ("stl",), despite_errors=False),
        window.document.committed,
    )
    (dialog,) = _shown(window, ExportFailedDialog)
    _click(qtbot, dialog, "Show the place")
    assert window.document.selection.lane_id == "right"
    assert window.document.cursor_deg == 212.0


def test_open_errors_are_shown_by_default_and_exported_only_on_demand(
    qtbot, make_window: WindowMaker, tmp_path: Path
) -> None:
    window = make_window(gates())
    window.docks["findings"].hide()
    _ask(window)
    (dialog,) = _shown(window, ErrorsOpenDialog)
    assert dialog.button("Show them").isDefault()
    qtbot.keyClick(dialog, Qt.Key.Key_Return)
    assert window.docks["findings"].isVisible()
    assert not window.groups.exports.is_running
    _ask(window)
    (dialog,) = _shown(window, ErrorsOpenDialog)
    _click(qtbot, dialog, "Export anyway")
    (ask,) = _shown(window, ExportDialog)
    ask.folder.setText(str(tmp_path / "out"))
    for name, box in ask.boxes.items():
        box.setChecked(name == "stl")
    _click(qtbot, ask, "Export")
    _wait_for(qtbot, window, ExportedDialog)
    suffixes = {path.suffix for path in (tmp_path / "out").iterdir()}
    assert suffixes == {".stl", ".json"}


def test_the_dialog_needs_a_folder_and_a_format(
    qtbot, make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    go = dialog.button("Export")
    assert not go.isEnabled()
    dialog.folder.setText(str(tmp_path))
    assert go.isEnabled()
    for box in dialog.boxes.values():
        box.setChecked(False)
    assert not go.isEnabled()


def test_large_text_is_not_cut_in_the_dialog(qtbot, make_window: WindowMaker) -> None:
    """It takes more than the two thirds of the screen that Qt gives a new dialog at most."""
    window = make_window(clean_gates())
    window.theme.set_scale(min(2.0, window.screen().availableGeometry().height() / 600))
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    labels = [label for label in dialog.findChildren(QLabel) if label.text()]
    assert len(labels) > 8
    for label in labels:
        assert label.height() >= label.heightForWidth(label.width()), label.text()


@pytest.mark.parametrize("saved", [True, False])
def test_the_folder_proposed_lies_beside_the_file(
    qtbot, make_window: WindowMaker, tmp_path: Path, saved: bool
) -> None:
    window = make_window(clean_gates())
    if saved:
        window.document.save(tmp_path / "tea.shaft")
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    assert dialog.folder.text() == (str(tmp_path / "tea discs") if saved else "")


def test_closing_the_window_stops_an_export(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    out = tmp_path / "discs"
    _export(qtbot, window, out)
    window.close()
    assert not window.isVisible()
    assert not out.exists() or list(out.iterdir()) == []


def _said(dialog: Dialog) -> str:
    return "\n".join(label.text() for label in dialog.findChildren(QLabel))


def _tick(dialog: ExportDialog, *formats: str) -> None:
    for name, box in dialog.boxes.items():
        box.setChecked(name in formats)


def test_another_machine_in_the_folder_is_asked_about_and_can_be_replaced(
    qtbot, make_window: WindowMaker, tmp_path: Path
) -> None:
    other = replaced(clean_gates(), name="Puppet stage", lanes=clean_gates().lanes[:1])
    other = replaced(other, lanes=(replaced(other.lanes[0], id="arm", name="Arm"),), rules=(), flow=None)
    out = tmp_path / "discs"
    export_project(other, out, ["svg"])
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    window = make_window(replaced(clean_gates(), name="Tea machine"))
    _ask(window)
    (ask,) = _shown(window, ExportDialog)
    ask.folder.setText(str(out))
    _tick(ask, "stl")
    _click(qtbot, ask, "Export")
    _wait_for(qtbot, window, AnotherMachineDialog)
    (dialog,) = _shown(window, AnotherMachineDialog)
    assert "“Puppet stage”" in _said(dialog)
    assert "“Tea machine”" in _said(dialog)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert dialog.button("Another folder…").isDefault()
    _click(qtbot, dialog, "Another folder…")
    (ask,) = _shown(window, ExportDialog)
    assert (ask.folder.text(), ask.chosen) == (str(out), ("stl",))
    _click(qtbot, ask, "Export")
    _wait_for(qtbot, window, AnotherMachineDialog)
    (dialog,) = _shown(window, AnotherMachineDialog)
    _click(qtbot, dialog, "Replace its files")
    _wait_for(qtbot, window, ExportedDialog)
    assert {path.suffix for path in out.iterdir()} == {".stl", ".json"}
    (told,) = _shown(window, ExportedDialog)
    assert "Removed, because it belongs to the other machine, “Puppet stage”" in _said(told).replace(
        '"Puppet stage"', "“Puppet stage”"
    )


def test_other_formats_that_stay_are_said(qtbot, make_window: WindowMaker, tmp_path: Path) -> None:
    window = make_window(clean_gates())
    out = tmp_path / "discs"
    export_project(clean_gates(), out, ["stl", "svg"])
    _ask(window)
    (dialog,) = _shown(window, ExportDialog)
    dialog.folder.setText(str(out))
    _tick(dialog, "stl")
    _click(qtbot, dialog, "Export")
    _wait_for(qtbot, window, ExportedDialog)
    (told,) = _shown(window, ExportedDialog)
    kept = len(list(out.glob("*.svg")))
    assert kept > 2
    assert f"{kept} files of other formats are still true and are kept." in _said(told)


def test_formats_are_remembered_for_each_project_and_folders_are_not_inherited(
    qtbot, make_window: WindowMaker, tmp_path: Path, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No export is run: only what is asked and remembered counts."""
    window = make_window(clean_gates())
    monkeypatch.setattr(window.jobs, "request_process", lambda *_a, **_k: None)
    first, second = tmp_path / "first.shaft", tmp_path / "second.shaft"
    window.document.save(first)

    def asked() -> ExportDialog:
        _ask(window)
        return _shown(window, ExportDialog)[-1]

    dialog = asked()
    everything = dialog.chosen
    assert "svg" in everything
    dialog.folder.setText(str(tmp_path / "mine"))
    _tick(dialog, "stl", "manual")
    _click(qtbot, dialog, "Export")
    again = asked()
    assert (again.folder.text(), again.chosen) == (str(tmp_path / "mine"), ("stl", "manual"))
    again.reject()
    window.document.save(second)  # the same machine under another name
    again = asked()
    assert (again.folder.text(), again.chosen) == (str(tmp_path / "mine"), ("stl", "manual"))
    again.reject()
    window.document.new(clean_gates())
    again = asked()
    assert (again.folder.text(), again.chosen) == ("", everything)
    again.reject()
    window.document.open(second)
    assert asked().chosen == everything
    assert Settings(tmp_path / "config" / "settings.json").formats_of(first) == ("stl", "manual")
    _shown(window, ExportDialog)[-1].reject()
    window.document.open(first)
    again = asked()
    assert (again.folder.text(), again.chosen) == (str(tmp_path / "mine"), ("stl", "manual"))
