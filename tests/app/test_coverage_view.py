"""The Coverage view: rows and their states, what their buttons open, and what a person leaves out."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QWidget

from shaftscore.edits import set_drive, set_lane
from shaftscore.judge.report import QUICK, examine
from shaftscore.judge.report.coverage import AREAS, coverage_of
from shaftscore.model import Drive, FrictionCase, Load, MotorSource, Project, Rod, Stage, replaced
from shaftscore_app.document.coverage import RowState, coverage_rows, head_detail, head_text
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.coverage import CoverageView
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates
from tests.core.judge.report.test_causes import starving
from tests.core.judge.report.test_coverage import CRANK, LOAD, LOCKING, STACK, whole, with_lane

OLD = (
    Path(__file__).parents[1]
    / "core"
    / "model"
    / "versions"
    / "v1"
    / "samples"
    / "tea_blender_first_draft.shaft"
)
KEYS = ["timing", "items", "forces", "torque", "fits", "shaft", "parts", "chance"]


@pytest.fixture
def clean(qtbot, make_window: WindowMaker) -> MainWindow:
    """A window of two gates of which the program alone is described, the view in front."""
    window = make_window(clean_gates())
    _show(qtbot, window)
    return window


def _show(qtbot, window: MainWindow) -> None:
    window.docks.show("coverage")
    qtbot.waitUntil(lambda: len(_view(window).rows) == len(KEYS))


def _view(window: MainWindow) -> CoverageView:
    return window.docks.view(CoverageView)


def _dialog(window: MainWindow) -> QDialog:
    return next(dialog for dialog in window.findChildren(QDialog) if dialog.isVisible())


def test_eight_rows_and_eight_pieces_stand_in_the_same_order(clean: MainWindow) -> None:
    view = _view(clean)
    assert [row.shown.key for row in view.rows if row.shown] == KEYS
    assert list(view.bar.states) == [row.shown.state for row in view.rows if row.shown]
    assert view.head.text() == "Holds as far as it is described"
    assert view.row("timing").shown is not None
    assert view.row("timing").shown.words == "checked, holds"
    assert view.row("forces").shown.words == "not described yet"
    assert view.row("fits").shown.words == "partly described"


def test_it_follows_while_a_machine_is_described(clean: MainWindow) -> None:
    view, document = _view(clean), clean.document
    document.perform(set_lane(document.committed, "left", load=LOAD))
    row = view.row("forces").shown
    assert row is not None
    assert row.words.endswith("holds for 1 of 2 lanes; 1 not described yet")
    document.perform(set_drive(document.committed, CRANK))
    torque = view.row("torque").shown
    assert torque is not None
    assert torque.action is not None
    assert (torque.action.text, torque.action.lane_id) == ("Describe loads…", "right")


def _worm() -> Drive:
    turned = MotorSource(kind="motor", rated_speed_rpm=60.0, rated_torque_nm=0.5, turn="clockwise")
    stages = (
        Stage(driver_teeth=12, driven_teeth=24, kind="external"),
        Stage(driver_teeth=1, driven_teeth=30, kind="worm", reverses=False),
    )
    return Drive(source=turned, stages=stages)


def _thin() -> Project:
    return with_lane(follower=replaced(whole().lanes[1].follower, arm_thickness_mm=None))


def _stack(**changes: Any) -> Project:
    return whole(stacks=(replaced(STACK, **changes),))


DRY = Load(frictions=(FrictionCase(name="Dry", friction_n=0.0),), spring_preload_n=40.0)
D_ROD = Rod(shape="d", across_mm=8.0, below_mm=8.0, above_mm=8.0)

GAPS: dict[str, tuple[Callable[[], Project], str, str]] = {
    "lanes": (lambda: whole(lanes=()), "timing", "Name"),
    "lanes[1].blocks": (lambda: with_lane(blocks=()), "timing", "Timing diagram"),
    "flow": (lambda: whole(flow=None), "items", "Add a supply"),
    "lanes[1].load.friction_n": (lambda: with_lane(load=None), "forces", "Friction, newtons"),
    "lanes[1].load.frictions": (lambda: with_lane(load=DRY), "forces", "Case 1, item or state"),
    "lanes[1].follower.arm_thickness_mm": (_thin, "fits", "Lever thickness, millimetres"),
    "drive": (lambda: whole(drive=None), "torque", "Source, kind"),
    "drive.stages[1].efficiency": (lambda: whole(drive=_worm()), "torque", "Stage 2, efficiency"),
    "stacks[0].joints": (lambda: _stack(joints=None), "fits", "Setting of the joints"),
    "stacks[0].followers_set": (lambda: _stack(followers_set=None), "fits", "Setting of follower heights"),
    "stacks[0].rod": (lambda: _stack(rod=None), "shaft", "Shaft and bearings"),
    "stacks[0].rod.shape": (lambda: _stack(rod=D_ROD), "shaft", "Shape"),
}
"""Each kind of path that `not_described` names: a machine that lacks it, its row, the field to fill in."""


@pytest.fixture(scope="module")
def named_paths() -> set[str]:
    """Every kind of path that the coverage of these machines names, places in lists left out."""
    reports = [coverage_of(make()) for make, _, _ in GAPS.values()]
    paths = (path for found in reports for missing in found.not_described.values() for path in missing)
    return {re.sub(r"\d+", "n", path) for path in paths}


def test_the_paths_below_are_all_that_coverage_can_name(named_paths: set[str]) -> None:
    assert named_paths == {re.sub(r"\d+", "n", path) for path in GAPS}


def test_every_gap_opens_its_form_at_the_field_that_describes_it(qtbot, clean: MainWindow) -> None:
    for path, (make, key, name) in GAPS.items():
        clean.document.new(make())
        qtbot.waitUntil(lambda: clean.document.is_late_current, timeout=20_000)
        _describe(qtbot, clean, key)
        qtbot.waitUntil(lambda: _focused(clean) is not None)
        field = _focused(clean)
        assert field is not None
        assert field.accessibleName() == name or getattr(field, "text", str)() == name, path
        if path == "lanes[1].blocks":
            assert clean.document.selection.lane_id == clean.document.project.lanes[1].id
            continue
        qtbot.waitUntil(partial(_is_wholly_seen, field))
        _dialog(clean).done(0)


def _is_wholly_seen(widget: QWidget) -> bool:
    return widget.isVisible() and widget.visibleRegion().boundingRect() == widget.rect()


def _describe(qtbot, window: MainWindow, key: str) -> None:
    """Press the button of a row; where it shows findings, choose in its menu what describes the rest."""
    qtbot.waitUntil(lambda: _view(window).row(key).shown is not None)
    row = _view(window).row(key)
    assert row.shown is not None
    if row.shown.describe is None:
        _view(window)._scroll.ensureWidgetVisible(row.button)
        qtbot.mouseClick(row.button, Qt.MouseButton.LeftButton)
        return
    menu, text = row.menu(), row.shown.describe.text
    next(one for one in menu.actions() if one.text() == text).trigger()
    menu.deleteLater()


def _focused(window: MainWindow) -> QWidget | None:
    dialog = next((one for one in window.findChildren(QDialog) if one.isVisible()), None)
    return (dialog or window).focusWidget()


def test_a_form_of_a_lane_is_that_of_the_first_lane_without(qtbot, clean: MainWindow) -> None:
    document = clean.document
    document.perform(set_lane(document.committed, "left", load=LOAD))
    assert _view(clean).row("forces").button.text() == "Show"  # the stress of the other lane
    menu = _view(clean).row("forces").menu()
    next(one for one in menu.actions() if one.text() == "Describe loads…").trigger()
    assert document.selection.lane_id == "right"
    _dialog(clean).done(0)


def test_what_a_person_leaves_out_is_a_step_that_undo_takes_back(qtbot, clean: MainWindow) -> None:
    view, document = _view(clean), clean.document
    menu = view.row("items").menu()
    action = next(one for one in menu.actions() if one.text() == "This machine has no items")
    action.trigger()
    assert document.committed.not_needed == ("items",)
    row = view.row("items").shown
    assert row is not None
    assert (row.state, row.words) == (RowState.NOT_NEEDED, "not needed, by you")
    assert view.row("items").button.text() == "Undo"
    qtbot.mouseClick(view.row("items").button, Qt.MouseButton.LeftButton)
    assert document.committed.not_needed == ()
    document.undo()
    assert document.committed.not_needed == ("items",)
    document.undo()
    assert document.committed.not_needed == ()


def test_the_keyboard_goes_through_the_rows_and_opens_their_forms(qtbot, clean: MainWindow) -> None:
    view = _view(clean)
    clean.activateWindow()
    view.rows[0].setFocus()
    qtbot.waitUntil(view.rows[0].hasFocus)
    for _ in range(2):
        qtbot.keyClick(clean.focusWidget(), Qt.Key.Key_Down)
    assert view.row("forces").hasFocus()
    qtbot.keyClick(clean.focusWidget(), Qt.Key.Key_Return)
    assert "Load" in _dialog(clean).windowTitle()
    _dialog(clean).done(0)
    qtbot.keyClick(view.row("forces"), Qt.Key.Key_Up)
    assert view.row("items").hasFocus()


def test_rows_are_read_aloud_with_state_and_what_is_missing(clean: MainWindow) -> None:
    view = _view(clean)
    assert view.row("shaft").accessibleName().startswith("Shaft: not described yet. Missing: the rod")
    assert view.row("shaft").button.accessibleName() == "Shaft: Describe rod…"
    assert "Forces not described yet" in view.bar.accessibleName()


def test_the_status_bar_names_what_is_not_described_and_leads_there(qtbot, clean: MainWindow) -> None:
    button = clean.status.gaps
    assert button.text() == "Not described yet: 4 areas"
    clean.docks["coverage"].hide()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert clean.docks["coverage"].isVisible()


def test_found_rows_show_their_findings_only(qtbot, make_window: WindowMaker) -> None:
    window = make_window(starving())
    _show(qtbot, window)
    row = _view(window).row("items").shown
    assert row is not None
    assert row.words == "1 cause, 5 consequences"
    assert _view(window).head.text() == "Not ready to export"
    qtbot.mouseClick(_view(window).row("items").button, Qt.MouseButton.LeftButton)
    assert {one.finding.rule for one in window.findings.model.rows} == {"starvation"}
    assert window.findings.area_chip.text() == "Items only"
    qtbot.mouseClick(window.findings.area_chip, Qt.MouseButton.LeftButton)
    assert window.findings.area_chip.isHidden()


def test_a_d_rod_in_a_round_bore_lacks_its_flat_and_not_the_rod() -> None:
    rod = Rod(shape="d", across_mm=8.0, below_mm=8.0, above_mm=8.0)
    report = examine(whole(stacks=(replaced(STACK, rod=rod),)), stage=QUICK)
    shaft = next(row for row in coverage_rows(report, late_coming=False) if row.key == "shaft")
    assert shaft.detail == "Missing: the flat of the D rod, which is that of a D bore."


def test_the_head_says_when_everything_holds() -> None:
    report = examine(whole(not_needed=("forces", "torque", "fits", "heights", "shaft", "parts")), stage=QUICK)
    quiet = [row.state for row in coverage_rows(report, late_coming=False)]
    assert quiet[1] is RowState.NOT_NEEDED
    assert report.coverage.is_complete
    assert head_text(report) == "Everything described holds"
    assert head_text(examine(with_lane(load=None), stage=QUICK)) == "Holds as far as it is described"


def test_a_shaft_that_cannot_be_computed_leads_to_the_findings() -> None:
    rows = coverage_rows(examine(with_lane(follower=LOCKING)), late_coming=False)
    (shaft,) = [row for row in rows if row.key == "shaft"]
    assert (shaft.state, shaft.words) == (RowState.NOT_DESCRIBED, "described, cannot be computed")
    assert shaft.detail == "Described, but it cannot be computed: see the findings."


def test_nothing_holds_where_nothing_is_checked() -> None:
    report = examine(replaced(clean_gates(), not_needed=AREAS))
    rows = coverage_rows(report, late_coming=False)
    assert {row.state for row in rows[:-1]} == {RowState.NOT_NEEDED}
    assert head_text(report) == "Nothing is checked"
    assert head_detail(report, rows) == "All areas are left out by you."


def test_a_shaft_that_is_still_computed_does_not_hold_yet() -> None:
    report = examine(whole(), stage=QUICK)
    assert report.shafts is None
    for late_coming, state in ((True, RowState.CHECKING), (False, RowState.OUT_OF_DATE)):
        rows = {row.key: row.state for row in coverage_rows(report, late_coming=late_coming)}
        assert [key for key, shown in rows.items() if shown is state] == ["torque", "shaft"] + [
            "chance"
        ] * late_coming
    rows = {row.key: row.state for row in coverage_rows(examine(whole(), report), late_coming=False)}
    assert (rows["torque"], rows["shaft"]) == (RowState.CHECKED, RowState.CHECKED)


def test_a_file_of_version_1_says_once_what_is_judged_now(qtbot, make_window: WindowMaker) -> None:
    window = make_window(None)
    window.document.open(OLD)
    bar = window.version_bar
    qtbot.waitUntil(lambda: not bar.isHidden())
    assert bar.text.text().startswith("File version 1 described the drawing")
    qtbot.mouseClick(bar.button("Show coverage"), Qt.MouseButton.LeftButton)
    assert bar.isHidden()
    assert window.docks["coverage"].isVisible()
    window.document.perform(set_drive(window.document.committed, None))
    assert bar.isHidden()
