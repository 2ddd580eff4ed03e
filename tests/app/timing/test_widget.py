"""Real mouse and key events arrive in the document."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QFocusEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.document.play import Player
from shaftscore_app.document.selection import Selection
from shaftscore_app.theme import Theme
from shaftscore_app.timing.drag import DragHabits
from shaftscore_app.timing.layers.look import Font
from shaftscore_app.timing.layers.readouts import readout_head, readout_of
from shaftscore_app.timing.needs import shortest_beside
from shaftscore_app.timing.scene import Overlay
from shaftscore_app.timing.widget import TimingDiagram
from tests.app.timing.machines import gate, index_of, machine, two_gates

pytestmark = pytest.mark.gui

Key, Button, Mod = Qt.Key, Qt.MouseButton, Qt.KeyboardModifier


@dataclass
class Desk:
    """A diagram on the screen, and hands for it."""

    qtbot: QtBot
    diagram: TimingDiagram

    @property
    def document(self) -> Document:
        return self.diagram.document

    def place(self, lane_id: str, deg: float, mm: float = 10.0, *, down: float = 8.0) -> QPoint:
        """Return the place of an angle in a lane, in the body of a block at a level."""
        strip = self.diagram.scene.strip(lane_id)
        assert strip is not None
        return QPointF(self.diagram.frame.axis.x(deg), strip.y(mm) + down).toPoint()

    def press(self, at: QPoint, mod: Mod = Mod.NoModifier, button: Button = Button.LeftButton) -> None:
        self.qtbot.mousePress(self.diagram.viewport(), button, mod, at)

    def move(self, at: QPoint, mod: Mod = Mod.NoModifier) -> None:
        """Move with the left button down (the test library's own move knows no modifiers)."""
        viewport = self.diagram.viewport()
        event = QMouseEvent(
            QEvent.Type.MouseMove,
            QPointF(at),
            QPointF(viewport.mapToGlobal(at)),
            Button.NoButton,
            Button.LeftButton,
            mod,
        )
        QApplication.sendEvent(viewport, event)

    def release(self, at: QPoint, mod: Mod = Mod.NoModifier) -> None:
        self.qtbot.mouseRelease(self.diagram.viewport(), Button.LeftButton, mod, at)

    def click(self, at: QPoint, mod: Mod = Mod.NoModifier) -> None:
        self.qtbot.mouseClick(self.diagram.viewport(), Button.LeftButton, mod, at)

    def key(self, key: Key, mod: Mod = Mod.NoModifier) -> None:
        self.qtbot.keyClick(self.diagram, key, mod)

    def wheel(self, at: QPoint, notches: int, mod: Mod = Mod.NoModifier) -> None:
        viewport = self.diagram.viewport()
        event = QWheelEvent(
            QPointF(at),
            QPointF(viewport.mapToGlobal(at)),
            QPoint(),
            QPoint(0, 120 * notches),
            Button.NoButton,
            mod,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(viewport, event)

    def rules(self) -> list[str]:
        return [finding.rule for finding in self.document.report.findings]

    def block(self, lane_id: str, level: str) -> tuple[float, float]:
        lane = self.document.project.lane(lane_id)
        found = lane.blocks[index_of(self.document.project, lane_id, level)]
        return found.start_deg, found.end_deg


@pytest.fixture
def theme(qapp: QApplication) -> Iterator[Theme]:
    made = Theme(qapp, "light")
    yield made
    made.set_choice("system")
    made.leave()


def seat(qtbot: QtBot, theme: Theme, project: Project, *, height: int = 400) -> Desk:
    diagram = TimingDiagram(Document(project), theme)
    qtbot.addWidget(diagram)
    diagram.resize(1218, height)
    diagram.set_habits(DragHabits(grid_deg=0.5))
    with qtbot.waitExposed(diagram):
        diagram.show()
    diagram.setFocus()
    return Desk(qtbot, diagram)


@pytest.fixture
def desk(qtbot: QtBot, theme: Theme) -> Desk:
    """Return two gates: Assam opens at 60, Mint at 200, and they exclude one another."""
    return seat(qtbot, theme, two_gates())


def test_a_drag_makes_a_finding_appear_and_undo_makes_it_go(desk: Desk) -> None:
    assert desk.rules() == []
    desk.press(desk.place("mint", 206.0))
    for deg in (200.0, 150.0, 100.0, 76.0):
        desk.move(desk.place("mint", deg))
    assert desk.rules() == ["overlap"]
    assert desk.document.is_previewing
    desk.release(desk.place("mint", 76.0))
    assert not desk.document.is_previewing
    assert desk.block("mint", "open")[0] == pytest.approx(72.0, abs=3.0)
    assert desk.rules() == ["overlap"]
    assert desk.document.undo_name.startswith("Move Mint open to ")
    desk.document.undo()
    assert desk.rules() == []
    assert desk.block("mint", "open") == (200.0, 212.0)
    desk.document.redo()
    assert desk.rules() == ["overlap"]


def test_the_finding_goes_again_while_the_block_is_still_held(desk: Desk) -> None:
    desk.press(desk.place("mint", 206.0))
    seen = []
    for deg in (130.0, 76.0, 130.0, 206.0):
        desk.move(desk.place("mint", deg))
        seen.append(desk.rules())
    assert seen == [[], ["overlap"], [], []]
    desk.release(desk.place("mint", 206.0))
    assert not desk.document.can_undo


def test_esc_puts_everything_back_and_the_diagram_goes_on(desk: Desk) -> None:
    desk.document.select_lane("assam")
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 76.0))
    assert desk.rules() == ["overlap"]
    desk.key(Key.Key_Escape)
    assert desk.rules() == []
    assert desk.document.selection == Selection("assam")
    assert desk.diagram.scene.holding is None
    desk.move(desk.place("mint", 90.0))
    desk.release(desk.place("mint", 90.0))
    assert not desk.document.can_undo
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 250.0))
    desk.release(desk.place("mint", 250.0))
    assert desk.document.can_undo


def test_a_right_click_while_dragging_puts_everything_back(desk: Desk) -> None:
    menus: list[QPoint] = []
    desk.diagram.menu_wanted.connect(menus.append)
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 76.0))
    desk.press(desk.place("mint", 76.0), button=Button.RightButton)
    assert desk.rules() == []
    assert not desk.document.is_previewing
    desk.release(desk.place("mint", 76.0))
    assert not desk.document.can_undo
    assert menus == []


def test_losing_the_focus_puts_everything_back(desk: Desk) -> None:
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 76.0))
    QApplication.sendEvent(desk.diagram, QFocusEvent(QEvent.Type.FocusOut, Qt.FocusReason.OtherFocusReason))
    assert not desk.document.is_previewing
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 76.0))
    QApplication.sendEvent(desk.diagram, QEvent(QEvent.Type.WindowDeactivate))
    assert not desk.document.is_previewing
    assert not desk.document.can_undo


def test_an_undo_from_elsewhere_lets_go_of_the_block(desk: Desk) -> None:
    desk.document.perform(apply_edit(desk.document.project, "rename_lane", lane_id="assam", name="Ceylon"))
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 100.0))
    desk.document.undo()
    assert desk.diagram.scene.holding is None
    desk.move(desk.place("mint", 150.0))
    desk.release(desk.place("mint", 150.0))
    assert desk.document.project.lane("assam").label == "Assam"
    assert desk.block("mint", "open") == (200.0, 212.0)


def test_an_edge_is_dragged(desk: Desk) -> None:
    end = desk.place("mint", 212.0) + QPoint(-2, 0)
    desk.press(end)
    desk.move(end + QPoint(60, 0), Mod.AltModifier)
    desk.release(end + QPoint(60, 0))
    start, stop = desk.block("mint", "open")
    assert start == 200.0
    assert stop == pytest.approx(212.0 + 60.0 / desk.diagram.frame.axis.px_per_deg, abs=0.06)
    assert desk.document.undo_name.startswith("Stretch Mint open")


def test_a_dragged_edge_tells_the_shortest_move_beside_it(desk: Desk) -> None:
    disc = apply_edit(desk.document.committed, "set_disc", lane_id="mint", base_radius_mm=15.0)
    desk.document.perform(disc)
    end = desk.place("mint", 212.0) + QPoint(-2, 0)
    desk.press(end)
    desk.move(end + QPoint(30, 0), Mod.AltModifier | Mod.ShiftModifier)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.tag is not None
    report, ref = desk.document.report, holding.held.ref
    length = 236.0 - holding.held.end_deg
    needed = shortest_beside(report, ref, Grip.END)
    assert f"move {length:.1f}°, at least {needed:.1f}°" in holding.tag.cure
    desk.key(Key.Key_Escape)
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 216.0))
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.tag is not None
    assert "at least" not in holding.tag.cure
    desk.key(Key.Key_Escape)


def test_a_drag_down_changes_the_level(desk: Desk) -> None:
    project = machine(gate("Mint", 200.0))
    desk.document.new(project)
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 206.0, 0.0))
    assert {block.level for block in desk.document.project.lane("mint").blocks} == {"closed"}
    desk.key(Key.Key_Escape)
    assert desk.document.project == project


def test_alt_is_read_during_the_drag_also_from_the_key_alone(desk: Desk) -> None:
    desk.document.set_cursor(150.0)
    at = desk.place("mint", 206.0)
    px = desk.diagram.frame.axis.px_per_deg
    desk.press(at)
    near = at + QPoint(round(-49.0 * px), 0)
    desk.move(near)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is not None
    desk.qtbot.keyPress(desk.diagram, Key.Key_Alt)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is None
    desk.qtbot.keyRelease(desk.diagram, Key.Key_Alt)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is not None
    desk.key(Key.Key_Escape)


def test_the_block_leaves_at_the_right_and_comes_in_at_the_left(desk: Desk) -> None:
    at = desk.place("mint", 206.0)
    px = desk.diagram.frame.axis.px_per_deg
    desk.press(at)
    desk.move(at + QPoint(round(160.0 * px), 0), Mod.AltModifier)
    start, end = desk.block("mint", "open")
    assert start == pytest.approx(360.0, abs=0.3) or start == pytest.approx(0.0, abs=0.3)
    assert end - start == pytest.approx(12.0)
    desk.release(at + QPoint(round(160.0 * px), 0))


def test_zoomed_in_the_view_scrolls_for_a_held_block_for_ever_round(desk: Desk) -> None:
    desk.diagram.zoom(4.0, desk.diagram.frame.axis.x(206.0))
    at = desk.place("mint", 206.0)
    desk.press(at)
    edge = QPoint(round(desk.diagram.frame.axis.right) - 1, at.y())
    desk.move(edge)
    starts = []
    for _ in range(9):
        desk.diagram.pointing.scroll(1.0)
        starts.append(desk.diagram.frame.axis.start_deg)
    speed = starts[1] - starts[0]
    assert speed == pytest.approx(550.0 / desk.diagram.frame.axis.px_per_deg, rel=0.1)
    assert starts[-1] > 500.0
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.moved_deg > 400.0
    desk.release(edge)
    assert 0.0 <= desk.diagram.frame.axis.start_deg + desk.diagram.frame.axis.length_deg / 2 < 360.0


def test_clicks_select(desk: Desk) -> None:
    mint = BlockRef("mint", index_of(desk.document.project, "mint", "open"))
    assam = BlockRef("assam", index_of(desk.document.project, "assam", "open"))
    desk.click(desk.place("mint", 206.0))
    assert desk.document.selection.blocks == (mint,)
    desk.click(desk.place("assam", 66.0), Mod.ControlModifier)
    assert desk.document.selection.blocks == (mint, assam)
    desk.click(desk.place("assam", 66.0), Mod.ControlModifier)
    assert desk.document.selection.blocks == (mint,)
    desk.click(desk.place("assam", 66.0))
    desk.click(desk.place("mint", 206.0), Mod.ShiftModifier)
    assert desk.document.selection.blocks[0] == assam
    assert desk.document.selection.blocks[-1] == mint
    desk.click(QPoint(60, desk.place("assam", 0.0).y()))
    assert desk.document.selection == Selection("assam")
    desk.click(desk.place("mint", 100.0, 10.0))
    assert desk.document.selection == Selection("mint")
    desk.key(Key.Key_Escape)
    assert desk.document.selection == Selection()


def test_a_double_click_on_empty_ground_adds_at_the_nearest_level(desk: Desk) -> None:
    desk.qtbot.mouseDClick(desk.diagram.viewport(), Button.LeftButton, pos=desk.place("mint", 100.1))
    assert "Add Mint open at" in desk.document.undo_name
    ref = desk.document.selection.blocks[0]
    made = desk.document.project.lane("mint").blocks[ref.index]
    assert (made.level, made.start_deg) == ("open", pytest.approx(100.0, abs=0.5))


def test_a_double_click_on_a_block_asks_for_its_values(desk: Desk) -> None:
    asked: list[object] = []
    desk.diagram.values_wanted.connect(asked.append)
    desk.qtbot.mouseDClick(desk.diagram.viewport(), Button.LeftButton, pos=desk.place("mint", 206.0))
    assert asked == [BlockRef("mint", index_of(desk.document.project, "mint", "open"))]
    assert not desk.document.can_undo


def test_the_cursor_is_dragged_by_its_flag_and_set_by_a_click_on_a_ruler(desk: Desk) -> None:
    axis = desk.diagram.frame.axis
    desk.click(QPointF(axis.x(150.1), 30.0).toPoint())
    assert desk.document.cursor_deg == pytest.approx(150.0, abs=0.5)
    flag = QPointF(axis.x(desk.document.cursor_deg) + 8.0, 10.0).toPoint()
    before = desk.document.cursor_deg
    desk.press(flag)
    desk.move(flag + QPoint(round(100.0 * axis.px_per_deg), 0))
    desk.release(flag + QPoint(round(100.0 * axis.px_per_deg), 0))
    assert desk.document.cursor_deg == pytest.approx(before + 100.0, abs=0.5)


@pytest.mark.parametrize(
    ("key", "deg"),
    [
        (Key.Key_Comma, 98.0),
        (Key.Key_Period, 100.0),
        (Key.Key_PageUp, 90.0),
        (Key.Key_PageDown, 120.0),
        (Key.Key_Home, 0.0),
    ],
)
def test_keys_turn_the_cursor(desk: Desk, key: Key, deg: float) -> None:
    desk.document.set_cursor(99.0)
    desk.key(key)
    assert desk.document.cursor_deg == pytest.approx(deg)


def test_arrows_nudge_and_join_into_one_step(desk: Desk) -> None:
    desk.click(desk.place("mint", 206.0))
    for _ in range(3):
        desk.key(Key.Key_Right)
    assert desk.block("mint", "open") == (201.5, 213.5)
    desk.key(Key.Key_Left, Mod.AltModifier)
    assert desk.block("mint", "open")[0] == pytest.approx(201.4)
    assert desk.document.undo_names == ("Move Mint open to 201.4°",)
    desk.document.undo()
    assert desk.block("mint", "open") == (200.0, 212.0)


def test_presses_on_another_block_are_another_step(desk: Desk) -> None:
    desk.click(desk.place("mint", 206.0))
    desk.key(Key.Key_Right)
    desk.click(desk.place("assam", 66.0))
    desk.key(Key.Key_Right)
    desk.click(desk.place("mint", 206.0))
    desk.key(Key.Key_Right)
    assert len(desk.document.undo_names) == 3


def test_e_holds_an_edge_for_the_arrows(desk: Desk) -> None:
    desk.click(desk.place("mint", 206.0))
    desk.key(Key.Key_E)
    desk.key(Key.Key_Left)
    assert desk.block("mint", "open") == (199.5, 212.0)
    desk.key(Key.Key_E)
    desk.key(Key.Key_Right)
    assert desk.block("mint", "open") == (199.5, 212.5)
    desk.key(Key.Key_E)
    assert desk.diagram.doing.grip is Grip.WHOLE


def test_up_and_down_change_the_level(desk: Desk) -> None:
    desk.document.new(machine(gate("Mint", 200.0)))
    desk.document.select_blocks(BlockRef("mint", 0))
    desk.key(Key.Key_Down)
    assert desk.document.can_undo
    assert {block.level for block in desk.document.project.lane("mint").blocks} == {"closed"}
    desk.document.undo()
    desk.key(Key.Key_Up)
    assert not desk.document.can_undo


def test_keys_add_delete_and_walk(desk: Desk) -> None:
    desk.document.set_cursor(100.0)
    desk.click(QPoint(60, desk.place("mint", 0.0).y()))
    desk.key(Key.Key_Insert)
    assert desk.document.undo_name == "Add Mint open at 100.0°"
    desk.key(Key.Key_Delete)
    assert desk.document.undo_name == "Delete Mint open"
    desk.click(desk.place("mint", 206.0))
    desk.key(Key.Key_Up, Mod.ControlModifier)
    assert desk.document.selection.lane_id == "assam"
    desk.key(Key.Key_Right, Mod.ControlModifier)
    assert desk.document.selection.blocks[0].lane_id == "assam"
    asked: list[object] = []
    desk.diagram.values_wanted.connect(asked.append)
    desk.key(Key.Key_Return)
    assert asked == list(desk.document.selection.blocks)


def test_the_wheel_zooms_at_the_pointer_and_scrolls(desk: Desk) -> None:
    at = desk.place("mint", 206.0)
    deg = desk.diagram.frame.axis.deg(at.x())
    desk.wheel(at, 5, Mod.ControlModifier)
    assert desk.diagram.frame.axis.px_per_deg > 6.0
    assert desk.diagram.frame.axis.deg(at.x()) == pytest.approx(deg)
    start = desk.diagram.frame.axis.start_deg
    desk.wheel(at, -2, Mod.ShiftModifier)
    assert desk.diagram.frame.axis.start_deg > start
    heights = [row.height for row in desk.diagram.frame.rows.rows if row.lane_id]
    desk.wheel(at, 2, Mod.ControlModifier | Mod.ShiftModifier)
    assert all(
        now.height > was
        for now, was in zip([r for r in desk.diagram.frame.rows.rows if r.lane_id], heights, strict=True)
    )
    desk.diagram.whole_turn()
    desk.diagram.fit_lanes()
    assert desk.diagram.frame.axis.is_whole
    assert [row.height for row in desk.diagram.frame.rows.rows if row.lane_id] == heights


def test_the_lower_border_of_a_header_resizes_its_strip(desk: Desk) -> None:
    row = desk.diagram.frame.rows.of_lane("assam")
    assert row is not None
    border = QPointF(60.0, desk.diagram.frame.top_of(row) + row.height).toPoint()
    desk.press(border)
    desk.move(border + QPoint(0, 30))
    desk.release(border + QPoint(0, 30))
    after = desk.diagram.frame.rows.of_lane("assam")
    assert after is not None
    assert after.height == row.height + 30
    desk.click(QPoint(60, desk.place("assam", 0.0).y()))
    desk.key(Key.Key_Minus)
    smaller = desk.diagram.frame.rows.of_lane("assam")
    assert smaller is not None
    assert smaller.height == after.height - 8


def test_a_click_on_a_group_row_closes_and_opens_it(desk: Desk) -> None:
    group = desk.diagram.frame.rows.rows[0]
    at = QPointF(40.0, desk.diagram.frame.top_of(group) + 8.0).toPoint()
    desk.click(at)
    assert desk.diagram.frame.rows.lane_ids == ()
    desk.click(at)
    assert desk.diagram.frame.rows.lane_ids == ("assam", "mint")


def test_many_lanes_scroll_and_a_finding_is_shown(qtbot: QtBot, theme: Theme) -> None:
    lanes = [gate(f"Lane{index}", 5.0 * index + 40.0, group=f"Bank{index // 32}") for index in range(64)]
    desk = seat(qtbot, theme, machine(*lanes))
    assert all(row.height == 24 for row in desk.diagram.frame.rows.rows if row.lane_id)
    desk.wheel(desk.place("lane3", 180.0, 0.0), -3)
    assert desk.diagram.frame.scroll == 180
    finding = next(found for found in desk.document.report.findings if "lane62" in found.lanes)
    desk.diagram.reduce_motion = True
    desk.diagram.zoom(8.0)
    desk.diagram.show_finding(finding.key)
    assert finding.span is not None
    assert desk.diagram.frame.axis.places(finding.span.middle)
    row = desk.diagram.frame.rows.of_lane(finding.lanes[0])
    assert row in desk.diagram.frame.seen_rows()


def test_a_click_on_a_sign_chooses_its_finding(desk: Desk) -> None:
    desk.document.perform(
        apply_edit(desk.document.project, "place_block", ref=BlockRef("mint", 0), start_deg=70.0)
    )
    (finding,) = desk.document.report.findings
    (sign,) = desk.diagram.scene.signs
    desk.click(QPointF(sign.x, 68.0).toPoint())
    assert desk.document.selection.finding == finding.key


def test_only_the_changed_lane_is_repainted(qtbot: QtBot, theme: Theme) -> None:
    lanes = [gate(f"Lane{index}", 5.0 * index + 40.0) for index in range(12)]
    desk = seat(qtbot, theme, machine(*lanes, gap_deg=None), height=700)
    desk.diagram.grab()
    made = desk.diagram.kept.made
    assert made["strip"] == 12
    desk.diagram.grab()
    assert (made["strip"], made["header"], made["readout"], made["rulers"]) == (12, 12, 12, 1)
    desk.press(desk.place("lane0", 46.0))
    desk.move(desk.place("lane0", 80.0))
    desk.diagram.grab()
    begun = made["strip"]
    assert begun <= 15  # its own, and those whose labels the tag now covers
    for count, deg in enumerate((81.0, 82.0, 83.0), 1):
        desk.move(desk.place("lane0", deg), Mod.AltModifier)
        desk.diagram.grab()
        assert made["strip"] == begun + count
    desk.key(Key.Key_Escape)


def test_a_label_is_painted_over_what_crosses_it_and_only_then_apart(qtbot: QtBot, theme: Theme) -> None:
    desk = seat(qtbot, theme, two_gates())
    desk.diagram.grab()
    made = desk.diagram.kept.made
    desk.document.set_cursor(140.0)
    desk.diagram.grab()
    assert (made["strip"], made.get("labels beside the cursor", 0)) == (2, 0)
    start = desk.block("assam", "closed")[0]
    desk.document.set_cursor(start + 5.0)
    desk.diagram.grab()
    assert (made["strip"], made["labels beside the cursor"]) == (3, 1)


def test_rows_at_rest_look_as_if_painted_anew(qtbot: QtBot, theme: Theme) -> None:
    """A cursor beside, on and past labels: copied rows and rows painted from nothing are the same picture."""
    desk = seat(qtbot, theme, two_gates())
    start = desk.block("assam", "closed")[0]
    for deg in (140.0, 141.0, start + 5.0, start + 6.0, 300.0):
        desk.document.set_cursor(deg)
        copied = desk.diagram.grab().toImage()
        desk.diagram.kept.forget()
        desk.diagram.canvas._at_rest._seen = None
        assert desk.diagram.grab().toImage() == copied
        desk.diagram.grab()
    assert desk.diagram.kept.made["rows"] >= 3


def test_the_diagram_is_read_aloud(desk: Desk) -> None:
    assert desk.diagram.accessibleName() == "Timing diagram"
    desk.click(desk.place("mint", 206.0))
    assert desk.diagram.accessibleDescription().startswith(
        "Mint, open, 10 millimetres, from 200 to 212 degrees"
    )
    desk.key(Key.Key_Right)
    assert "from 200.5 to 212.5 degrees" in desk.diagram.accessibleDescription()


def test_a_theme_is_taken_at_once(desk: Desk, theme: Theme) -> None:
    at = QPoint(desk.diagram.width() // 2, 395 - 60)
    light = desk.diagram.grab().toImage().pixelColor(at)
    theme.set_choice("dark")
    dark = desk.diagram.grab().toImage().pixelColor(at)
    assert light.lightness() > 200
    assert dark.lightness() < 60


def hover(desk: Desk, at: QPoint) -> None:
    """Move the pointer with no button down."""
    viewport = desk.diagram.viewport()
    places = QPointF(at), QPointF(viewport.mapToGlobal(at))
    move = QMouseEvent(QEvent.Type.MouseMove, *places, Button.NoButton, Button.NoButton, Mod.NoModifier)
    QApplication.sendEvent(viewport, move)


def read_out(desk: Desk, lane_id: str) -> tuple[str, str]:
    """Return what is written beside a lane: its output, and its level or where it moves to."""
    readout = readout_of(desk.diagram.scene, lane_id)
    return readout.output, readout.state


def angle_of(desk: Desk) -> float:
    """Return the angle that the head of the read-outs names."""
    return float(readout_head(desk.diagram.scene).angle.rstrip("°"))


@pytest.mark.parametrize("lane_id", ["mint", "assam"])
def test_the_read_outs_are_those_of_the_angle_that_their_head_names(desk: Desk, lane_id: str) -> None:
    """Over a block (Mint's, which is open there) and over an empty place of another lane."""
    desk.document.set_cursor(300.0)
    assert readout_head(desk.diagram.scene).whose == "At the cursor"
    assert angle_of(desk) == 300.0
    assert read_out(desk, "mint") == read_out(desk, "assam") == ("0.0 mm", "closed")
    hover(desk, desk.place(lane_id, 206.0))
    head = readout_head(desk.diagram.scene)
    assert head.whose == "At the pointer"
    assert angle_of(desk) == pytest.approx(206.0, abs=0.5)  # a pixel is 0.4°
    assert head.step == f"step {1 + angle_of(desk) / 30.0:.2f}"
    assert head.time == f"{angle_of(desk) / 360.0 * 10.0:.2f} s"  # six turns a minute
    assert read_out(desk, "mint") == ("10.0 mm", "open")
    assert read_out(desk, "assam") == ("0.0 mm", "closed")
    QApplication.sendEvent(desk.diagram.viewport(), QEvent(QEvent.Type.Leave))
    assert readout_head(desk.diagram.scene).whose == "At the cursor"
    assert read_out(desk, "mint") == ("0.0 mm", "closed")


def test_the_read_outs_follow_the_view_that_scrolls_below_the_pointer(desk: Desk) -> None:
    at = desk.place("mint", 206.0)
    desk.diagram.zoom(5.0, float(at.x()))
    hover(desk, at)
    desk.wheel(at, -4, Mod.ShiftModifier)
    assert angle_of(desk) == pytest.approx(desk.diagram.frame.axis.deg(at.x()), abs=0.06)
    assert abs(angle_of(desk) - 206.0) > 5.0


def test_the_read_outs_go_back_to_the_cursor_when_it_turns_and_while_a_button_is_held(desk: Desk) -> None:
    hover(desk, desk.place("mint", 206.0))
    desk.document.set_cursor(70.0)  # as play does, and the keys
    assert readout_head(desk.diagram.scene).whose == "At the cursor"
    assert read_out(desk, "assam") == ("10.0 mm", "open")
    at = desk.place("mint", 300.0)
    hover(desk, at)
    desk.press(at)
    assert readout_head(desk.diagram.scene).whose == "At the cursor"
    desk.release(at)
    assert readout_head(desk.diagram.scene).whose == "At the pointer"


def test_over_the_headers_and_the_rulers_the_read_outs_are_the_cursors(desk: Desk) -> None:
    for x, y in ((50, 150), (600, 30)):
        hover(desk, desk.place("mint", 206.0))
        hover(desk, QPoint(x, y))
        assert readout_head(desk.diagram.scene).whose == "At the cursor"


@pytest.mark.parametrize(("width", "whose"), [(1218, "At the pointer"), (900, "Pointer")])
def test_the_head_has_room_in_its_column(desk: Desk, width: int, whose: str) -> None:
    desk.diagram.resize(width, 400)
    hover(desk, desk.place("mint", 206.0))
    scene = desk.diagram.scene
    assert readout_head(scene).whose == whose
    room = scene.frame.width - scene.frame.axis.right - 12.0
    assert desk.diagram.look.width(whose, Font()) <= room


def test_the_middle_button_drags_the_view_and_the_bar_below_goes_elsewhere(desk: Desk) -> None:
    desk.diagram.zoom(5.0, desk.diagram.frame.axis.x(200.0))
    before = desk.diagram.frame.axis
    at = QPoint(600, 150)
    desk.press(at, button=Button.MiddleButton)
    desk.move(at + QPoint(-100, 0))
    desk.qtbot.mouseRelease(desk.diagram.viewport(), Button.MiddleButton, pos=at + QPoint(-100, 0))
    assert desk.diagram.frame.axis.deg(500.0) == pytest.approx(before.deg(600.0))
    frame = desk.diagram.frame
    bar = QPointF(frame.axis.left + frame.axis.width * 60.0 / 380.0, frame.height - 6.0).toPoint()
    desk.click(bar)
    axis = desk.diagram.frame.axis
    assert axis.deg(axis.left + axis.width / 2) == pytest.approx(50.0, abs=1.0)
    assert axis.px_per_deg == before.px_per_deg


def test_a_click_without_a_drag_selects_that_block_alone(desk: Desk) -> None:
    desk.click(desk.place("mint", 206.0))
    desk.click(desk.place("assam", 66.0), Mod.ControlModifier)
    desk.click(desk.place("mint", 206.0))
    assert [ref.lane_id for ref in desk.document.selection.blocks] == ["mint"]


def test_the_focus_is_shown_where_it_came_by_keys(desk: Desk) -> None:
    desk.click(QPoint(60, desk.place("assam", 0.0).y()))
    assert not desk.diagram.led_by_keys
    desk.key(Key.Key_Down, Mod.ControlModifier)
    assert desk.diagram.led_by_keys
    assert desk.document.selection == Selection("mint")


def test_the_corner_asks_for_a_lane_and_a_header_for_a_name(desk: Desk) -> None:
    wanted: list[str] = []
    desk.diagram.lane_wanted.connect(lambda: wanted.append("lane"))
    desk.diagram.rename_wanted.connect(wanted.append)
    desk.click(QPoint(20, 36))
    desk.qtbot.mouseDClick(
        desk.diagram.viewport(), Button.LeftButton, pos=QPoint(60, desk.place("mint", 0.0).y())
    )
    assert wanted == ["lane", "mint"]


def test_what_cannot_be_done_is_said(desk: Desk) -> None:
    said: list[str] = []
    desk.diagram.status_message.connect(said.append)
    desk.key(Key.Key_Insert)
    assert said[-1] == "Select a lane first: click its header"
    ref = BlockRef("mint", index_of(desk.document.project, "mint", "open"))
    desk.document.perform(apply_edit(desk.document.project, "set_locked", refs=(ref,), locked=True))
    desk.click(desk.place("mint", 206.0))
    desk.key(Key.Key_Right)
    assert "is locked" in said[-1]
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 230.0))
    assert said[-1] == "Mint open is locked; Ctrl+L unlocks it"
    desk.release(desk.place("mint", 230.0))
    assert desk.block("mint", "open") == (200.0, 212.0)


def test_a_held_block_shows_where_it_would_be_free_and_is_drawn_there(desk: Desk) -> None:
    px = desk.diagram.frame.axis.px_per_deg
    at = desk.place("mint", 206.0)
    desk.press(at)
    desk.move(desk.place("mint", 76.0))
    assert desk.rules() == ["overlap"]
    holding = desk.diagram.scene.holding
    assert holding is not None
    zones = holding.held.zones
    assert zones is not None
    (zone,) = zones
    desk.move(at + QPoint(round((zone.start - 200.0) * px) - 6, 0))
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is not None
    assert holding.held.hold.target.words == "free from here"
    assert desk.rules() == []
    desk.release(at)
    assert desk.block("mint", "open")[0] == pytest.approx(zone.start, abs=1e-5)
    # At the end of a zone the rule holds with nothing to spare: the spread of real machines says so.
    assert desk.rules() == ["unlikely"]


@pytest.mark.parametrize("how", ["shift", "edge", "off"])
def test_no_zones_where_they_would_not_be_true(desk: Desk, how: str) -> None:
    at = desk.place("mint", 212.0) + QPoint(-2, 0) if how == "edge" else desk.place("mint", 206.0)
    desk.diagram.set_habits(DragHabits(zones=how != "off"))
    mod = Mod.ShiftModifier if how == "shift" else Mod.NoModifier
    desk.press(at)
    desk.move(at + QPoint(40, 0), mod)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.zones is None
    desk.key(Key.Key_Escape)


def test_a_copy_shows_where_it_would_be_free_and_is_drawn_there(desk: Desk) -> None:
    px = desk.diagram.frame.axis.px_per_deg
    at = desk.place("mint", 206.0)
    desk.press(at, Mod.ControlModifier)
    desk.move(desk.place("mint", 76.0), Mod.ControlModifier)
    assert desk.rules() == ["overlap"]
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.zones is not None
    begins = [zone.start for zone in holding.held.zones]
    assert begins
    desk.move(at + QPoint(round((begins[-1] - 200.0) * px) - 6, 0), Mod.ControlModifier)
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is not None
    assert holding.held.hold.target.words == "free from here"
    assert desk.rules() == []
    desk.release(at, Mod.ControlModifier)
    starts = [made.start_deg for made in desk.document.project.lane("mint").blocks if made.level == "open"]
    assert starts == pytest.approx(sorted([200.0, begins[-1]]), abs=1e-5)


def test_the_ring_of_a_snap_closes_and_less_motion_leaves_it_out(desk: Desk, qtbot: QtBot) -> None:
    desk.press(desk.place("mint", 206.0))
    desk.move(desk.place("mint", 226.0))
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is None
    desk.move(desk.place("mint", 246.0))  # its start comes near step 9, at 240 degrees
    holding = desk.diagram.scene.holding
    assert holding is not None
    assert holding.held.hold is not None
    assert desk.diagram.scene.ring < 1.0
    qtbot.waitUntil(lambda: desk.diagram.scene.ring == 1.0)
    desk.diagram.reduce_motion = True
    desk.move(desk.place("mint", 226.0))
    desk.move(desk.place("mint", 246.0))
    assert desk.diagram.scene.ring == 1.0
    desk.key(Key.Key_Escape)


def test_every_block_of_a_held_group_is_lifted(desk: Desk) -> None:
    refs = [BlockRef(lane, index_of(desk.document.project, lane, "open")) for lane in ("assam", "mint")]
    desk.document.select_blocks(*refs)
    desk.press(desk.place("mint", 206.0))
    assert desk.diagram.scene.lifted == {}
    desk.move(desk.place("mint", 216.0))
    scene = desk.diagram.scene
    assert all(len(scene.lifted[lane]) == 1 for lane in ("assam", "mint"))
    project = desk.document.project
    assert all(scene.is_held(lane, index_of(project, lane, "open")) for lane in ("assam", "mint"))
    desk.key(Key.Key_Escape)
    assert desk.diagram.scene.lifted == {}


def two_fingers(desk: Desk, pixels: QPoint) -> None:
    at, viewport = QPoint(600, 150), desk.diagram.viewport()
    event = QWheelEvent(
        QPointF(at),
        QPointF(viewport.mapToGlobal(at)),
        pixels,
        pixels * 2,
        Button.NoButton,
        Mod.NoModifier,
        Qt.ScrollPhase.ScrollUpdate,
        False,
    )
    QApplication.sendEvent(viewport, event)


def test_two_fingers_scroll_both_ways_by_px_and_forgive_a_tremor(desk: Desk) -> None:
    desk.diagram.zoom(4.0)
    desk.diagram.set_height("assam", 240.0)
    desk.diagram.set_height("mint", 240.0)
    before = desk.diagram.frame
    two_fingers(desk, QPoint(-30, -25))
    after = desk.diagram.frame
    assert after.scroll == 25
    assert after.axis.start_deg - before.axis.start_deg == pytest.approx(30 / before.axis.px_per_deg)
    two_fingers(desk, QPoint(-5, -40))
    assert desk.diagram.frame.scroll == 65
    assert desk.diagram.frame.axis == after.axis


def test_an_undo_from_elsewhere_ends_every_gesture(desk: Desk) -> None:
    axis = desk.diagram.frame.axis
    ruler = QPointF(axis.x(100.0), 10.0).toPoint()
    header = QPoint(60, desk.place("assam", 0.0).y())
    for begin, to, mod in (
        (ruler, ruler + QPoint(60, 0), Mod.ControlModifier),
        (header, header + QPoint(0, 90), Mod.NoModifier),
    ):
        desk.document.perform(
            apply_edit(desk.document.committed, "rename_lane", lane_id="assam", name="Ceylon")
        )
        desk.press(begin, mod)
        desk.move(to, mod)
        desk.document.undo()
        assert desk.diagram.pointing.gesture is None
        assert desk.diagram.scene.overlay == Overlay()
        desk.release(to, mod)
        assert desk.document.committed == two_gates()


def test_a_dragged_lane_shows_where_it_would_go(desk: Desk) -> None:
    header = QPoint(60, desk.place("assam", 0.0).y())
    desk.press(header)
    desk.move(header + QPoint(0, 100))
    row = desk.diagram.frame.rows.of_lane("mint")
    assert row is not None
    assert desk.diagram.scene.overlay.drop_y == desk.diagram.frame.top_of(row) + row.height
    desk.key(Key.Key_Escape)
    assert desk.diagram.scene.overlay == Overlay()
    desk.release(header + QPoint(0, 100))
    assert not desk.document.can_undo


def test_time_is_taken_out_and_what_cannot_be_is_said(desk: Desk) -> None:
    said: list[str] = []
    desk.diagram.status_message.connect(said.append)
    axis = desk.diagram.frame.axis
    ruler = QPointF(axis.x(120.0), 10.0).toPoint()
    desk.press(ruler, Mod.ControlModifier)
    desk.move(ruler - QPoint(20, 0), Mod.ControlModifier)
    desk.move(ruler - QPoint(400, 0), Mod.ControlModifier)
    assert "can give" in said[-1]
    desk.release(ruler - QPoint(400, 0), Mod.ControlModifier)
    assert desk.document.undo_name.startswith("Take 8.0° from")
    assert desk.block("mint", "open")[0] == pytest.approx(192.0, abs=0.5)


def test_a_rectangle_scrolls_the_view_under_it(qtbot: QtBot, theme: Theme) -> None:
    lanes = [gate(f"Lane{index}", 5.0 * index + 40.0) for index in range(40)]
    desk = seat(qtbot, theme, machine(*lanes, gap_deg=None))
    frame = desk.diagram.frame
    desk.press(QPointF(frame.axis.x(20.0), frame.lanes_top + 40.0).toPoint())
    low = QPointF(frame.axis.x(359.0), frame.lanes_bottom - 4.0).toPoint()
    desk.move(low)
    begun = len(desk.document.selection.blocks)
    for _ in range(20):
        desk.diagram.pointing.scroll(0.5)
    assert desk.diagram.frame.scroll == desk.diagram.frame.greatest_scroll
    assert len(desk.document.selection.blocks) > begun
    desk.key(Key.Key_Escape)
    assert desk.document.selection == Selection()


def test_marks_of_a_play_that_is_slower() -> None:
    clock = iter([0.0, 1.0])
    player = Player(Document(two_gates()), lambda: next(clock))
    player.rate = 0.5
    player.toggle()
    player.tick()
    assert player._document.cursor_deg == pytest.approx(18.0)  # 6 turns a minute are 36 degrees a second
    player.pause()
