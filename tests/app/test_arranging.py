"""Arrange timing and the fastest safe speed, through the window: asked, run, proposed, taken, refused."""

from __future__ import annotations

import time

import pytest
from PySide6.QtCore import Qt

from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.findings import Severity
from shaftscore.model import Stack
from shaftscore.model.loader import read_project
from shaftscore.placing import MayChange
from shaftscore_app.dialogs.arrange import CANCELLED, CHANGED, ArrangeDialog
from shaftscore_app.dialogs.fastest import FastestDialog
from shaftscore_app.dialogs.running import RunningDialog
from shaftscore_app.dialogs.spreading import SpreadDialog
from shaftscore_app.dialogs.stacking import StackingDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.runtime.jobs import PATIENCE_S
from shaftscore_app.timing.layers.ghosts import ghosts_of
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, clean_gates, gates, gates_file
from tests.core.placing.banks import one_chute
from tests.machines import gate, machine
from tests.samples import sample, tangled_sower

WAIT_MS = 120_000


def two_gates():
    """Two gates that are open together, and nothing else."""
    file = gates_file()
    return read_project(as_bytes({**file, "lanes": file["lanes"][:2]}), "two.shaft")


def press(qtbot, button) -> None:
    assert button.isVisible()
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def opened(window: MainWindow, command: str, kind: type):
    window.actions_table.refresh()
    window.actions_table[command].trigger()
    (dialog,) = [one for one in window.findChildren(kind) if one.isVisible()]
    return dialog


def arranged(qtbot, window: MainWindow) -> ArrangeDialog:
    dialog = opened(window, "prove.arrange", ArrangeDialog)
    press(qtbot, dialog.go)
    assert dialog.is_running
    qtbot.waitUntil(lambda: not dialog.is_running, timeout=WAIT_MS)
    return dialog


def test_a_proposal_is_shown_as_ghosts_and_taken_as_one_step(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    document, before = window.document, window.document.committed
    assert document.whole_report.count(Severity.ERROR) == 1
    dialog = arranged(qtbot, window)
    assert dialog.has_proposal, dialog.answer.text()
    assert dialog.figures.isVisible()
    assert document.committed is before
    scene = window.diagram.scene
    assert set(scene.ghosts) == set(dialog.chosen)
    assert any(list(ghosts_of(scene, lane_id)) for lane_id in scene.ghosts)
    window.diagram.grab()
    assert dialog.accept_lanes.text() == "Accept all"
    press(qtbot, dialog.accept_lanes)
    assert document.undo_name.startswith("Arrange ")
    assert document.whole_report.count(Severity.ERROR) == 0
    assert window.diagram.scene.ghosts == {}
    document.undo()
    assert document.committed == before
    assert not document.can_undo


def test_single_lanes_can_be_taken(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    document, before = window.document, window.document.committed
    dialog = arranged(qtbot, window)
    item = dialog.lanes.topLevelItem(0)
    left_out = str(item.data(0, Qt.ItemDataRole.UserRole))
    item.setCheckState(0, Qt.CheckState.Unchecked)
    assert left_out not in window.diagram.scene.ghosts
    if not dialog.chosen:
        assert not dialog.accept_lanes.isEnabled()
        item.setCheckState(0, Qt.CheckState.Checked)
        assert dialog.accept_lanes.isEnabled()
        return
    assert dialog.partly.isVisible()
    press(qtbot, dialog.accept_lanes)
    changed = {lane.id for lane in before.lanes if document.committed.lane(lane.id) != lane}
    assert changed
    assert left_out not in changed


def test_discard_leaves_everything_as_it_was(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    before = window.document.committed
    dialog = arranged(qtbot, window)
    press(qtbot, dialog.discard)
    assert window.document.committed is before
    assert window.diagram.scene.ghosts == {}
    assert opened(window, "prove.arrange", ArrangeDialog)  # it can be asked for again


def test_an_edit_lets_the_proposal_go(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    document = window.document
    dialog = arranged(qtbot, window)
    document.perform(place_block(document.committed, BlockRef("left", 0), 90.0))
    assert not dialog.has_proposal
    assert dialog.answer.text() == CHANGED
    assert window.diagram.scene.ghosts == {}


def test_what_cannot_be_is_said(qtbot, make_window: WindowMaker) -> None:
    window = make_window(gates())  # its flap sweeps through a guarded level, wherever its blocks stand
    dialog = arranged(qtbot, window)
    assert not dialog.has_proposal
    assert "Flap sweeps through a guarded level (cup)" in dialog.answer.text()
    assert dialog.answer.height() >= dialog.answer.heightForWidth(dialog.answer.width())  # nothing is cut


def test_what_may_change_is_asked_for(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    dialog = opened(window, "prove.arrange", ArrangeDialog)
    assert dialog.may == MayChange()
    for name in ("lengths", "order"):
        qtbot.keyClick(dialog.boxes[name], Qt.Key.Key_Space)
    assert dialog.may == MayChange(lengths=False, order=True)
    assert not dialog.keep.isEnabled()
    qtbot.keyClick(dialog.boxes["starts"], Qt.Key.Key_Space)
    assert not dialog.go.isEnabled()  # nothing may change


def test_cancel_changes_nothing_and_another_run_works(qtbot, make_window: WindowMaker) -> None:
    window = make_window(two_gates())
    dialog = opened(window, "prove.arrange", ArrangeDialog)
    press(qtbot, dialog.go)
    press(qtbot, dialog.stop)
    qtbot.waitUntil(lambda: not dialog.is_running, timeout=WAIT_MS)
    assert dialog.answer.text() == CANCELLED
    assert not dialog.has_proposal
    press(qtbot, dialog.go)
    qtbot.waitUntil(lambda: dialog.has_proposal, timeout=WAIT_MS)


def test_cancel_keeps_the_best_at_once(qtbot, make_window: WindowMaker) -> None:
    window = make_window(one_chute())  # its first answer is not the last one
    dialog = opened(window, "prove.arrange", ArrangeDialog)
    press(qtbot, dialog.go)
    qtbot.waitUntil(lambda: "best so far" in dialog.doing.text(), timeout=WAIT_MS)
    assert dialog.is_running
    press(qtbot, dialog.stop)
    begun = time.monotonic()
    qtbot.waitUntil(lambda: not dialog.is_running, timeout=WAIT_MS)
    assert time.monotonic() - begun < PATIENCE_S  # it was not ended by force, with which the best is lost
    assert dialog.has_proposal, dialog.answer.text()
    assert dialog.answer.text().startswith("The search was cancelled; this is the best found until then.")
    assert dialog.accept_lanes.isEnabled()


@pytest.mark.parametrize("command", ["prove.arrange", "machine.fastest"])
def test_without_blocks_there_is_nothing_to_do(make_window: WindowMaker, command: str) -> None:
    window = make_window(None)
    window.actions_table.refresh()
    assert not window.actions_table[command].isEnabled()
    assert window.actions_table[command].statusTip() == "There are no blocks yet"


def test_the_fastest_safe_speed_is_found_and_can_be_used(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())  # a gap of 0.1 s: 97.5 degrees between the gates, about
    document = window.document
    dialog = opened(window, "machine.fastest", FastestDialog)
    qtbot.waitUntil(lambda: dialog.found is not None, timeout=WAIT_MS)
    assert dialog.found.speed_rpm > document.committed.shaft.speed_rpm
    assert "Overlap" in dialog.answer.text()
    press(qtbot, dialog.use)
    assert document.committed.shaft.speed_rpm == dialog.found.speed_rpm
    errors = [one.rule for one in document.whole_report.findings if one.severity is Severity.ERROR]
    assert set(errors) <= {"unlikely"}
    document.undo()
    assert document.committed.shaft.speed_rpm == 6.0


def test_esc_while_it_runs_closes_it_for_good(qtbot, make_window: WindowMaker) -> None:
    """The answer of what was cancelled comes when the dialog's widgets are gone."""
    window = make_window(sample("seedling_sower"))
    for command in ("machine.fastest", "machine.stacking", "prove.arrange"):
        dialog = opened(window, command, RunningDialog)
        if not dialog.is_running:
            press(qtbot, dialog.go)
        qtbot.waitUntil(lambda dialog=dialog: dialog.is_running)
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
        qtbot.waitUntil(lambda: not window.findChildren(RunningDialog))
        qtbot.waitUntil(lambda: not window.jobs.is_busy(), timeout=WAIT_MS)
        assert not window.document.can_undo, command


def test_tangled_followers_are_put_apart_as_one_step(qtbot, make_window: WindowMaker) -> None:
    window = make_window(tangled_sower())
    document, before = window.document, window.document.committed
    assert any(finding.rule == "interference" for finding in document.whole_report.findings)
    dialog = opened(window, "machine.stacking", StackingDialog)
    qtbot.waitUntil(lambda: dialog.found is not None, timeout=WAIT_MS)
    assert dialog.found.after == 0
    assert "none comes too near now" in dialog.answer.text()
    assert dialog.answer.height() >= dialog.answer.heightForWidth(dialog.answer.width())  # nothing is cut
    press(qtbot, dialog.use)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=WAIT_MS)
    assert not any(finding.rule == "interference" for finding in document.whole_report.findings)
    document.undo()
    assert document.committed == before


def test_colliding_followers_are_spread_over_stations_or_tiers(qtbot, make_window: WindowMaker) -> None:
    """Followers 12 mm high on discs that are 11 mm apart."""
    lanes = [gate(name, 60.0 * k, 60.0 * k + 30, 50.0) for k, name in enumerate(("Ginger", "Rose", "Sage"))]
    window = make_window(machine(*lanes, stacks=(Stack(id="main", follower_height_mm=12.0),)))
    document, before = window.document, window.document.committed
    dialog = opened(window, "machine.spread", SpreadDialog)
    qtbot.waitUntil(lambda: dialog.found is not None, timeout=WAIT_MS)
    assert dialog.found.collisions == 2
    assert dialog.found.spacers == {"main": pytest.approx(7.6)}
    assert dialog.answer.height() >= dialog.answer.heightForWidth(dialog.answer.width())  # nothing is cut
    press(qtbot, dialog.stations)
    moved = {
        lane.id: lane.station_deg for lane in document.committed.lanes if lane.id in dialog.found.stations
    }
    assert moved == dict(dialog.found.stations)
    assert document.undo_name.startswith("Spread followers over ")
    document.undo()
    assert document.committed == before
