"""Properties of lanes: every field of follower, disc and load, of one lane or of several at once."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QPushButton

from shaftscore.edits import BlockRef
from shaftscore.model import SwingingRoller, TranslatingFlat
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.properties import PropertiesView
from shaftscore_app.widgets.choice import Choice
from shaftscore_app.widgets.dialog import Dialog
from shaftscore_app.widgets.field import DIFFERENT, Field
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, gates_file

LEFT, RIGHT = BlockRef("left", 0), BlockRef("right", 0)


@pytest.fixture
def properties(qtbot, window: MainWindow) -> PropertiesView:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    window.document.select_blocks(LEFT, RIGHT)  # the rows of lanes are made when they are wanted
    for section in (window.properties.lane, window.properties.several):
        for fold in section._folds:
            fold.setChecked(True)
    return window.properties


def _enter(qtbot, field: Field, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def _choose(qtbot, choice: Choice, value: object) -> None:
    values = [option.value for option in choice.options()]
    choice.setFocus()
    steps = values.index(value) - choice.currentIndex()
    for _ in range(abs(steps)):
        qtbot.keyClick(choice, Qt.Key.Key_Down if steps > 0 else Qt.Key.Key_Up)


def test_a_follower_becomes_an_arm_and_then_a_flat_face(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("left")
    rows = properties.lane.rows
    assert not rows.widget("follower", "arm_mm").isVisible()
    _choose(qtbot, rows.follower_kind, "swinging-roller")
    follower = window.document.project.lane("left").follower
    assert isinstance(follower, SwingingRoller)
    assert follower.roller_radius_mm == 5.0
    assert rows.widget("follower", "arm_mm").isVisible()
    assert not rows.widget("follower", "offset_mm").isVisible()
    _enter(qtbot, rows.widget("follower", "arm_mm"), "45")
    assert window.document.project.lane("left").follower.arm_mm == 45.0
    _choose(qtbot, rows.follower_kind, "translating-flat")
    assert isinstance(window.document.project.lane("left").follower, TranslatingFlat)
    assert window.document.undo_names[0] == "Change Left’s follower"


def test_rows_of_a_groove_come_with_the_groove(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    window.document.select_lane("left")
    rows = properties.lane.rows
    assert not rows.widget("disc", "rim_mm").isVisible()
    _choose(qtbot, rows.widget("follower", "closure"), "groove")
    assert rows.widget("disc", "rim_mm").isVisible()
    _enter(qtbot, rows.widget("disc", "rim_mm"), "5")
    assert window.document.project.lane("left").disc.rim_mm == 5.0
    _enter(qtbot, rows.widget("disc", "groove_depth_mm"), "9")
    assert "must be less than thickness_mm" in rows.widget("disc", "groove_depth_mm").fault


def test_a_choice_that_cannot_be_goes_back_and_says_why(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("left")
    lane = properties.lane
    _choose(qtbot, lane.rows.follower_kind, "translating-flat")
    closure = lane.rows.widget("follower", "closure")
    closure.setFocus()
    qtbot.keyClick(closure, Qt.Key.Key_Down)
    assert "needs a roller" in lane.said.text()
    assert lane.said.isVisible()
    assert closure.shown() == "spring"


def test_heights_and_guards_of_levels_are_typed_in_place(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("flap")
    levels = properties.lane.levels
    assert [*levels.heights] == ["tray", "cup", "shut"]
    _enter(qtbot, levels.heights["tray"], "2 cm")
    assert window.document.project.lane("flap").levels["tray"] == 20.0
    _enter(qtbot, levels.heights["tray"], "8")
    assert 'where "cup" is; levels differ in height' in levels.heights["tray"].fault
    qtbot.mouseClick(levels.guards["cup"], Qt.MouseButton.LeftButton, pos=QPoint(6, 8))
    assert window.document.project.lane("flap").guarded == ()
    assert len(window.document.undo_names) == 2


def test_levels_that_lanes_share_change_together(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("left")
    _enter(qtbot, properties.lane.levels.heights["open"], "12")
    window.document.select_blocks(LEFT, RIGHT)
    levels = properties.several.levels
    assert levels.heights["open"].shown() is DIFFERENT
    _enter(qtbot, levels.heights["open"], "11")
    lanes = [window.document.project.lane(own) for own in ("left", "right")]
    assert [lane.levels["open"] for lane in lanes] == [11.0, 11.0]
    assert window.document.undo_names[0] == "Set the height of open of 2 lanes"
    window.document.select_blocks(LEFT, BlockRef("flap", 0))
    assert not levels.heights


def test_a_load_is_made_by_its_first_value(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    window.document.select_lane("left")
    _enter(qtbot, properties.lane.rows.widget("load", "moving_mass_g"), "0.2 kg")
    assert window.document.project.lane("left").load.moving_mass_g == 200.0


def test_several_lanes_show_various_and_change_as_one_step(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("left")
    _enter(qtbot, properties.lane.rows.widget("", "station_deg"), "30")
    _enter(qtbot, properties.lane.rows.widget("disc", "thickness_mm"), "8")
    window.document.select_blocks(LEFT, RIGHT)
    rows = properties.several.rows
    assert rows.widget("", "station_deg").shown() is DIFFERENT
    assert rows.widget("", "station_deg").placeholderText() == "various"
    assert rows.widget("follower", "roller_radius_mm").shown() == 5.0
    _enter(qtbot, rows.widget("", "station_deg"), "90")
    _enter(qtbot, rows.widget("disc", "thickness_mm"), "6")
    _choose(qtbot, rows.widget("", "law"), "cycloidal")
    lanes = [window.document.project.lane(own) for own in ("left", "right")]
    assert {(lane.station_deg, lane.disc.thickness_mm, lane.law) for lane in lanes} == {
        (90.0, 6.0, "cycloidal")
    }
    assert "Change thickness of 2 lanes" in window.document.undo_names
    assert "Change station of 2 lanes" in window.document.undo_names
    assert window.document.project.lane("flap").station_deg == 0.0


def test_lanes_with_unlike_followers_show_only_what_both_have(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_lane("left")
    _choose(qtbot, properties.lane.rows.follower_kind, "translating-flat")
    window.document.select_blocks(LEFT, RIGHT)
    rows = properties.several.rows
    assert rows.follower_kind.shown() is DIFFERENT
    assert not rows.widget("follower", "roller_radius_mm").isVisible()
    _enter(qtbot, rows.widget("follower", "link_play_mm"), "0.2")
    plays = [window.document.project.lane(own).follower.link_play_mm for own in ("left", "right")]
    assert plays == [0.2, 0.2]


@pytest.mark.parametrize(
    ("typed", "least"), [("5", (5.0, None)), ("200 ms", (None, 0.2)), ("3 deg", (3.0, None))]
)
def test_the_shortest_length_is_degrees_or_seconds(
    qtbot,
    window: MainWindow,
    properties: PropertiesView,
    typed: str,
    least: tuple[float | None, float | None],
) -> None:
    window.document.select_blocks(RIGHT)
    _enter(qtbot, properties.block.least, typed)
    block = window.document.project.lane("right").blocks[0]
    assert (block.min_length_deg, block.min_length_s) == least
    window.document.select_blocks(LEFT, RIGHT)
    assert properties.several.least.shown() is DIFFERENT
    _enter(qtbot, properties.several.least, typed)
    assert window.document.project.lane("left").blocks[0].min_length_s == least[1]


def test_a_lane_becomes_an_index_then_a_rider_and_is_never_left_without_points(
    qtbot, make_window: WindowMaker
) -> None:
    window = make_window(read_project(as_bytes(gates_file(rules=[])), "free.shaft"))
    document, lane = window.document, window.properties.lane
    document.select_lane("flap")
    lane._folds[0].setChecked(True)
    lane.kind.setFocus()
    qtbot.keyClick(lane.kind, Qt.Key.Key_Down)
    assert document.project.lane("flap").kind == "index"
    qtbot.keyClick(lane.kind, Qt.Key.Key_Down)
    flap = document.project.lane("flap")
    assert (flap.kind, flap.disc_of, flap.blocks) == ("rider", "left", ())
    assert lane.rows.widget("", "disc_of").isVisible()
    _choose(qtbot, lane.rows.widget("", "disc_of"), "right")
    assert document.project.lane("flap").disc_of == "right"
    qtbot.keyClick(lane.kind, Qt.Key.Key_Down)
    assert document.project.lane("flap").kind == "rider"
    assert lane.said.text() == "Flap has no points yet: read them with Lane > Points from CSV…"
    for _ in range(3):
        document.undo()
    assert not document.is_modified


def test_a_kind_that_a_rule_forbids_is_refused_in_words(qtbot, make_window: WindowMaker) -> None:
    file = gates_file()
    file["lanes"][2]["levels"] = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
    rules = [
        *file["rules"],
        {"kind": "requires", "when": _state("left", "open"), "need": _state("flap", "cup")},
    ]
    window = make_window(read_project(as_bytes({**file, "rules": rules}), "ruled.shaft"))
    window.document.select_lane("flap")
    lane = window.properties.lane
    lane._folds[0].setChecked(True)
    lane.kind.setFocus()
    for _ in range(2):
        qtbot.keyClick(lane.kind, Qt.Key.Key_Down)
    assert window.document.project.lane("flap").kind == "index"
    assert '"cup" is not one of Flap\'s levels' in lane.said.text()


def _state(lane: str, level: str) -> dict[str, str]:
    return {"lane": lane, "level": level}


def test_buttons_open_the_dialogs_of_tables(qtbot, window: MainWindow, properties: PropertiesView) -> None:
    window.document.select_lane("left")
    button = next(
        b for b in properties.lane.findChildren(QPushButton) if b.accessibleName() == "Change levels"
    )
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    assert dialog.windowTitle() == "Set levels"


def test_the_machine_says_what_it_has_and_opens_its_forms(
    qtbot, window: MainWindow, properties: PropertiesView
) -> None:
    window.document.select_blocks()
    said = {name: figure.text() for name, figure in properties.machine._said_of.items()}
    assert (said["Drive"], said["Stacks"], said["Rules"], said["Flow"]) == (
        "none",
        "1 stack",
        "1 rule",
        "none",
    )
    for button in properties.machine.findChildren(QPushButton):
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert len(properties.machine.findChildren(QPushButton)) == 8
