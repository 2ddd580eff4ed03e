from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from shaftscore.base.angles import wrap
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.properties import PropertiesView
from shaftscore_app.widgets.field import DIFFERENT, Field

LEFT, RIGHT = BlockRef("left", 0), BlockRef("right", 0)


@pytest.fixture
def properties(qtbot, window: MainWindow) -> PropertiesView:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return window.properties


def _enter(qtbot, field: Field, text: str) -> None:
    field.setFocus()
    field.selectAll()
    if text.isascii():
        qtbot.keyClicks(field, text)
    else:
        QApplication.clipboard().setText(text)
        field.paste()
    qtbot.keyClick(field, Qt.Key.Key_Return)


def _block(window: MainWindow, lane: str = "right", index: int = 0):
    return window.document.project.lane(lane).blocks[index]


def test_the_section_follows_the_selection(window: MainWindow, properties: PropertiesView) -> None:
    document = window.document
    document.select_blocks()
    assert properties.section is properties.machine
    document.select_lane("right")
    assert properties.section is properties.lane
    document.select_blocks(RIGHT)
    assert properties.section is properties.block
    document.select_blocks(LEFT, RIGHT)
    assert properties.section is properties.several
    document.close()
    assert properties.section is properties.machine


def test_a_block_is_shown_in_degrees_steps_and_seconds(
    window: MainWindow, properties: PropertiesView
) -> None:
    """139.5° is 4.65 of twelve steps on from the first; at 6 turns a minute 36° pass in a second."""
    window.document.select_blocks(RIGHT)
    block = properties.block
    assert (block.heading.text(), block.remark.text()) == ("Right, open", "block 1 of 2")
    shown = [(row.field.text(), row.steps.text(), row.seconds.text()) for row in block._rows]
    assert shown == [("139.5", "5.65", "3.88"), ("151.5", "6.05", "4.21"), ("12.0", "0.40", "0.33")]


def test_a_block_through_the_seam_lasts_as_many_steps_as_it_is_long(
    window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_blocks(BlockRef("right", 1))
    row = properties.block._rows[2]
    assert (row.field.text(), row.steps.text()) == ("300.0", "10.00")


@pytest.mark.parametrize("typed", ["200", "200°", "5.5556 s", "2e2"])
def test_a_start_typed_in_any_unit_moves_the_block_as_one_step(
    qtbot, window: MainWindow, properties: PropertiesView, typed: str
) -> None:
    window.document.select_blocks(RIGHT)
    _enter(qtbot, properties.block.start, typed)
    assert _block(window).start_deg == pytest.approx(200.0, abs=1e-2)
    assert _block(window).length_deg == pytest.approx(12.0)
    assert len(window.document.undo_names) == 1
    assert window.document.selection.blocks == (RIGHT,)
    window.document.undo()
    assert properties.block.start.text() == "139.5"


def test_end_and_length_stretch_the_block(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    window.document.select_blocks(RIGHT)
    _enter(qtbot, properties.block.end, "161.5")
    assert (_block(window).start_deg, _block(window).length_deg) == (139.5, 22.0)
    _enter(qtbot, properties.block.length, "10")
    assert (_block(window).start_deg, _block(window).length_deg) == (139.5, 10.0)
    assert len(window.document.undo_names) == 2


@pytest.mark.parametrize("typed", ["-1", "361", "step 99", "soon"])
def test_a_length_that_cannot_be_is_said_and_changes_nothing(
    qtbot, window: MainWindow, properties: PropertiesView, typed: str
) -> None:
    window.document.select_blocks(RIGHT)
    before = window.document.project
    _enter(qtbot, properties.block.length, typed)
    assert window.document.project is before
    assert properties.block.length.fault
    assert properties.block.length.property("fault") is True


def test_level_law_lock_and_window_are_edits(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    document, block = window.document, properties.block
    document.select_blocks(BlockRef("flap", 2))
    block.level.setFocus()
    qtbot.keyClick(block.level, Qt.Key.Key_Down)
    assert _block(window, "flap", 2).level == "cup"
    block.law.setFocus()
    qtbot.keyClick(block.law, Qt.Key.Key_Down)
    assert _block(window, "flap", 2).law == next(iter(LAWS))
    qtbot.mouseClick(block.lock, Qt.MouseButton.LeftButton)
    assert _block(window, "flap", 2).locked
    qtbot.mouseClick(block.lock, Qt.MouseButton.LeftButton)
    assert not _block(window, "flap", 2).locked
    _enter(qtbot, block.earliest, "300")
    window_record = _block(window, "flap", 2).window
    assert window_record is not None
    assert window_record.earliest_deg == 300.0
    assert len(document.undo_names) == 5
    for _ in range(5):
        document.undo()
    assert not document.is_modified


def test_a_locked_block_says_why_it_does_not_move(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_blocks(RIGHT)
    qtbot.mouseClick(properties.block.lock, Qt.MouseButton.LeftButton)
    before = window.document.project
    _enter(qtbot, properties.block.start, "200")
    assert window.document.project is before
    assert "locked" in properties.block.start.fault


def test_figures_of_the_move_follow_the_handbooks_factors(
    window: MainWindow, properties: PropertiesView
) -> None:
    """Peak velocity Cv h / T and peak acceleration Ca h / T² of the modified sine.

    Outside values: Cv = 1.760, Ca = 5.528 (R. L. Norton, Cam Design and Manufacturing Handbook, table of
    peak factors of double-dwell functions).
    """
    window.document.select_blocks(RIGHT)
    length, velocity, acceleration, pressure = (figure.text() for figure in properties.block._move)
    travel, time = 10.0, 24.0 / 36.0
    assert length == "24.0°, 667 ms"
    assert float(velocity.split()[0]) == pytest.approx(1.760 * travel / time, rel=5e-3)
    assert float(acceleration.split()[0]) == pytest.approx(5.528 * travel / time**2, rel=5e-3)
    assert pressure.endswith("of 30.0°")


def test_the_state_interval_is_the_solutions(window: MainWindow, properties: PropertiesView) -> None:
    window.document.select_blocks(RIGHT)
    interval = window.document.report.solution.lanes["right"].states["open"][0].span
    text = properties.block._interval.text()
    assert text == f"{interval.start:.1f}° to {interval.end:.1f}°, {interval.length:.1f}°"
    assert not properties.block._leaves.isVisible()


def test_several_blocks_show_what_they_share_and_change_together(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    document, several = window.document, properties.several
    document.select_blocks(LEFT, BlockRef("left", 1))
    assert several.level.shown() is DIFFERENT
    assert several.length.shown() is DIFFERENT
    document.select_blocks(LEFT, RIGHT)
    assert (several.level.shown(), several.length.shown()) == ("open", 12.0)
    _enter(qtbot, several.length, "14")
    assert [_block(window, lane).length_deg for lane in ("left", "right")] == [14.0, 14.0]
    assert len(document.undo_names) == 1
    document.undo()
    assert [_block(window, lane).length_deg for lane in ("left", "right")] == [12.0, 12.0]


def test_windows_of_several_blocks_are_told_from_where_each_starts(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    document, several = window.document, properties.several
    refs = [BlockRef("left", 0), BlockRef("right", 0)]
    document.select_blocks(*refs)
    assert (several.earlier.shown(), several.later.shown()) == (None, None)
    before = [document.project.lane(ref.lane_id).blocks[ref.index] for ref in refs]
    _enter(qtbot, several.earlier, "10")
    _enter(qtbot, several.later, "5.5")
    after = [document.project.lane(ref.lane_id).blocks[ref.index] for ref in refs]
    assert [block.start_deg for block in after] == [block.start_deg for block in before]
    for block in after:
        assert block.window is not None
        assert wrap(block.start_deg - block.window.earliest_deg) == pytest.approx(10.0)
        assert wrap(block.window.latest_deg - block.start_deg) == pytest.approx(5.5)
    assert document.undo_name == "Set the windows of 2 blocks"
    assert (several.earlier.shown(), several.later.shown()) == (10.0, 5.5)
    document.perform(
        apply_edit(document.committed, "place_block", ref=refs[0], start_deg=after[0].start_deg + 2)
    )
    document.select_blocks(*refs)
    assert several.earlier.shown() is DIFFERENT
    _enter(qtbot, several.later, "400")
    assert "0° to 360° wide" in several.later.fault
    document.undo()
    several.earlier.clear()
    qtbot.keyClick(several.earlier, Qt.Key.Key_Return)
    assert all(document.project.lane(ref.lane_id).blocks[ref.index].window is None for ref in refs)


def test_several_blocks_start_elsewhere_together(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    document, several = window.document, properties.several
    document.select_blocks(LEFT, RIGHT)
    before = [_block(window, lane).start_deg for lane in ("left", "right")]
    first = min(before)
    assert several.start.shown() == first
    _enter(qtbot, several.start, f"{first + 10:g}")
    after = [_block(window, lane).start_deg for lane in ("left", "right")]
    assert after == pytest.approx([start + 10.0 for start in before])
    assert len(document.undo_names) == 1
    _enter(qtbot, several.start, f"{first - 5:g}")
    after = [_block(window, lane).start_deg for lane in ("left", "right")]
    assert after == pytest.approx([start - 5.0 for start in before])
    document.perform(apply_edit(document.committed, "set_locked", refs=(LEFT, RIGHT), locked=True))
    count = len(document.undo_names)
    _enter(qtbot, several.start, "90")
    assert several.start.fault
    assert len(document.undo_names) == count


def test_a_lanes_fields_are_edits(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    document, lane = window.document, properties.lane
    document.select_lane("right")
    for field, typed in (
        (lane.name, "Second"),
        (lane.group, "Doors"),
        (lane.station, "90"),
        (lane.roller, "4"),
        (lane.base, "60"),
        (lane.thickness, "6"),
    ):
        _enter(qtbot, field, typed)
    record = document.project.lane("right")
    assert (record.name, record.group, record.station_deg) == ("Second", "Doors", 90.0)
    assert (record.follower.roller_radius_mm, record.disc.base_radius_mm) == (4.0, 60.0)
    assert record.disc.thickness_mm == 6.0
    assert len(document.undo_names) == 6
    assert lane._figures[0].text() == "60.00 mm"


def test_an_automatic_base_radius_can_be_asked_for_again(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("right")
    base = properties.lane.base
    _enter(qtbot, base, "60")
    base.selectAll()
    qtbot.keyClick(base, Qt.Key.Key_Delete)
    qtbot.keyClick(base, Qt.Key.Key_Return)
    assert window.document.project.lane("right").disc.base_radius_mm == "auto"
    assert properties.lane._governed.text().startswith("sized by ")


def test_a_value_out_of_bounds_is_said_with_the_value(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("right")
    before = window.document.project
    _enter(qtbot, properties.lane.thickness, "-3")
    assert window.document.project is before
    assert "-3" in properties.lane.thickness.fault.replace("−", "-")


def test_the_machines_fields_are_edits(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    document, machine = window.document, properties.machine
    document.select_blocks()
    _enter(qtbot, machine.speed, "12")
    _enter(qtbot, machine.steps, "24")
    _enter(qtbot, machine.rise, "25")
    machine.turn.setFocus()
    qtbot.keyClick(machine.turn, Qt.Key.Key_Down)
    shaft = document.project.shaft
    assert (shaft.speed_rpm, shaft.steps, shaft.turn) == (12.0, 24, "counterclockwise")
    assert document.project.limits.pressure_angle_deg == 25.0
    assert machine.cycle.text() == "5.00 s"
    assert window.toolbar.speed.text() == "12.0"


def test_the_speed_in_the_toolbar_is_the_machines(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    _enter(qtbot, window.toolbar.speed, "0.5 rev/s")
    assert window.document.project.shaft.speed_rpm == 30.0
    window.document.undo()
    assert window.toolbar.speed.text() == "6.0"


@pytest.mark.parametrize(("typed", "deg"), [("290", 290.0), ("-10", 350.0), ("step 6", 150.0), ("1 s", 36.0)])
def test_the_shafts_angle_is_typed_in_any_unit(
    qtbot, window: MainWindow, properties: PropertiesView, typed: str, deg: float
) -> None:
    _enter(qtbot, window.toolbar.angle, typed)
    assert window.document.cursor_deg == pytest.approx(deg)
    assert math.isclose(window.toolbar.dial.shown(), deg)


def test_what_a_drag_shows_follows_live(window: MainWindow, properties: PropertiesView) -> None:
    from shaftscore.edits import place_block

    document = window.document
    document.select_blocks(RIGHT)
    document.preview(place_block(document.committed, RIGHT, 200.0))
    assert properties.block.start.text() == "200.0"
    document.preview(None)
    assert properties.block.start.text() == "139.5"


def _undo(qtbot, redo: bool = False) -> None:
    """Press the keys of undo, or redo, where the focus is."""
    shift = Qt.KeyboardModifier.ShiftModifier if redo else Qt.KeyboardModifier.NoModifier
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | shift)


def test_undo_in_a_field_takes_back_what_was_typed_then_the_documents_last_step(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_blocks(RIGHT)
    field = properties.block.start
    _enter(qtbot, field, "200")
    assert _block(window).start_deg == 200.0
    assert field.hasFocus()
    field.selectAll()
    qtbot.keyClicks(field, "3")
    _undo(qtbot)
    assert field.text() == "200.0"
    assert window.document.can_undo
    _undo(qtbot)
    assert not window.document.can_undo
    assert _block(window).start_deg == 139.5
    assert field.text() == "139.5"
    _undo(qtbot, redo=True)
    assert _block(window).start_deg == 200.0
    assert field.text() == "200.0"


def test_undo_in_a_field_that_was_only_entered_takes_the_last_step_back(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    document = window.document
    document.select_blocks(RIGHT)
    document.perform(apply_edit(document.committed, "set_locked", refs=(RIGHT,), locked=True))
    properties.block.length.setFocus()
    _undo(qtbot)
    assert not document.can_undo
    assert not _block(window).locked
