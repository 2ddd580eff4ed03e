"""The next step: what it asks for first, what its button opens, and when the line is shown."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog

from shaftscore.edits import set_flow, set_not_needed
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Flow, Supply, replaced
from shaftscore_app.document.cure_place import first_difference
from shaftscore_app.document.next_step import SENTENCES, MarkState, next_step
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.frame.next_step_bar import HEIGHT
from shaftscore_app.runtime.settings import Settings
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates, gates
from tests.app.test_coverage_view import GAPS
from tests.core.judge.report.test_causes import starving
from tests.core.judge.report.test_coverage import whole, with_lane

QUIET = {"not_needed": ("forces", "torque", "fits", "heights", "shaft", "parts")}
"""Leaves the warnings of the bare machine out, so that nothing is left to do."""


def test_every_gap_has_a_sentence_that_names_what_it_asks_for() -> None:
    assert {path.replace("[0]", "").replace("[1]", "") for path in GAPS} == set(SENTENCES)
    for path, (make, _, _) in GAPS.items():
        step = next_step(examine(make(), stage=QUICK), exported=False)
        if path == "stacks[0].rod.shape":  # such a rod turns freely in its disc, which comes first
            assert step.marks[5].state is MarkState.ERROR
            continue
        name = "B" if path.startswith("lanes[") else "main" if path.startswith("stacks[") else ""
        assert name in step.sentence
        assert step.action.path == path
        assert step.action.lane_id == ("b" if name == "B" else None)


def test_gaps_come_in_the_order_of_the_marks() -> None:
    """A machine of lanes alone: items before loads, stack and fit; lanes without a load are counted."""
    project, seen = clean_gates(), []
    for area in ("items", "forces", "torque", "heights", "shaft", "fits"):
        step = next_step(examine(project, stage=QUICK), exported=False)
        (mark,) = [mark for mark in step.marks if mark.is_next]
        seen.append((mark.key, step.area))
        project = set_not_needed(project, [*project.not_needed, area]).project  # type: ignore[list-item]
        if area == "forces":
            assert step.sentence == "State mass, spring and friction of Left and 1 more lane"
    areas = ("items", "forces", "torque", "heights", "shaft", "fits")
    assert seen == list(zip(("items", "loads", "loads", "stack", "stack", "fit"), areas, strict=True))


def test_the_error_from_which_most_follows_comes_before_all_gaps() -> None:
    """One hopper starves six gates: its feed comes before the overlap-free timing and the missing loads."""
    report = examine(starving())
    step = next_step(report, exported=False)
    assert len(report.folded.following(step.finding)) == 5  # type: ignore[arg-type]
    assert step.action.path == "flow.supplies[0].rate_per_min"
    assert [mark.state for mark in step.marks[:4]] == [
        MarkState.DONE,
        MarkState.DONE,
        MarkState.ERROR,
        MarkState.OPEN,
    ]


def test_a_warning_comes_before_the_export_and_the_manual_after_it() -> None:
    warned = next_step(examine(whole(), stage=QUICK), exported=True)
    assert warned.sentence.startswith("Contact stress, A: Peak")
    assert (warned.action.command, warned.action.lane_id) == ("lane.load", "a")
    quiet = examine(replaced(clean_gates(), not_needed=("items", *QUIET["not_needed"])), stage=QUICK)
    before, after = (next_step(quiet, exported=exported) for exported in (False, True))
    assert (before.sentence, before.action.command) == ("Export the discs", "file.export")
    assert (before.marks[-1].state, after.marks[-1].state) == (MarkState.OPEN, MarkState.DONE)
    assert after.action.command == "file.manual"


def test_the_first_difference_is_the_path_of_the_value_that_changed() -> None:
    was = Flow(supplies=(Supply(id="a"), Supply(id="b", rate_per_min=2.0)))
    now = replaced(was, supplies=(was.supplies[0], Supply(id="b", rate_per_min=3.0)))
    assert first_difference(was, now) == "supplies[1].rate_per_min"
    assert first_difference(was, replaced(was, supplies=())) == "supplies"
    assert first_difference(was, was) == ""


# The line


@pytest.fixture
def starved(make_window: WindowMaker) -> MainWindow:
    return make_window(starving())


def _dialog(window: MainWindow) -> QDialog:
    return next(dialog for dialog in window.findChildren(QDialog) if dialog.isVisible())


def _by_keys(qtbot, starved: MainWindow) -> None:
    """Reach the marks and the button by Tab and arrows, and press it."""
    starved.activateWindow()
    qtbot.waitUntil(starved.isActiveWindow)
    marks = starved.next_step.marks
    held = next(button for button in marks.buttons if button.focusPolicy() & Qt.FocusPolicy.TabFocus)
    assert held.accessibleName() == "Items: 1 error, next"
    held.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(held, Qt.Key.Key_Left)
    assert marks.buttons[1].hasFocus()
    qtbot.keyClick(marks.buttons[1], Qt.Key.Key_Tab)
    assert starved.next_step.button.hasFocus()
    assert starved.next_step.button.accessibleName().startswith("Next: G03: Feed at least 39.6")
    qtbot.keyClick(starved.next_step.button, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: any(d.isVisible() for d in starved.findChildren(QDialog)))
    _dialog(starved).done(0)


def test_its_button_opens_the_form_at_the_field_that_cures_also_by_keys(qtbot, starved: MainWindow) -> None:
    _by_keys(qtbot, starved)
    line = starved.next_step
    qtbot.mouseClick(line.button, Qt.MouseButton.LeftButton)
    dialog = _dialog(starved)
    focused = dialog.focusWidget()
    assert focused is not None
    assert focused.accessibleName().startswith("Rate")
    dialog.done(0)
    starved.document.perform(set_flow(starved.document.committed, None))
    assert line.sentence.whole_text == "Describe what moves through the machine"
    qtbot.mouseClick(line.leave_out, Qt.MouseButton.LeftButton)
    assert starved.document.committed.not_needed == ("items",)
    assert line.sentence.whole_text.startswith("State mass, spring and friction of G00")
    assert line.height() == starved.theme.px(HEIGHT)


def test_it_is_hidden_by_the_first_export_and_by_the_person_project_by_project(
    make_window: WindowMaker, settings: Settings, tmp_path: Path
) -> None:
    window = make_window(with_lane(load=None))
    action, line, document = window.actions_table["view.next_step"], window.next_step, window.document
    assert not line.isHidden()
    assert action.isChecked()
    window.groups.exports.exported.emit(document.committed)
    assert line.isHidden()
    document.save(tmp_path / "first.shaft")  # what was known of it goes with it to its file
    assert Settings(settings.folder / "settings.json").next_step_of(tmp_path / "first.shaft") == "exported"
    action.trigger()
    assert not line.isHidden()
    window.groups.exports.exported.emit(document.committed)
    assert not line.isHidden()  # the person wants to see it
    assert line.marks.buttons[-1].accessibleName() == "Export: done"
    document.new(clean_gates())
    assert not line.isHidden()
    line.close_button.click()
    assert line.isHidden()
    document.open(tmp_path / "first.shaft")
    assert not line.isHidden()
    document.close()
    assert line.isHidden()
    document.new(gates())
    line.button.click()
    assert line.shown is not None
    assert window.findings.chosen is line.shown.finding  # what is in the diagram is chosen and shown
    assert window.findings.chosen is not None
