"""Every row of the design's table of mouse and keyboard, with real events in the whole window.

`ROWS` holds the table: the action as the design names it, what the mouse does for it and what the keyboard
does. A row of the design that is missing here fails `test_no_row_is_missing`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import (
    QContextMenuEvent,
    QGuiApplication,
    QMouseEvent,
    QNativeGestureEvent,
    QPointingDevice,
    QWheelEvent,
)
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu, QToolButton
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Lane, Project, replaced
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import repeat_until
from tests.app.timing.machines import block, gate, index_of, machine

pytestmark = pytest.mark.gui

Key, Button, Mod = Qt.Key, Qt.MouseButton, Qt.KeyboardModifier
CTRL, SHIFT, ALT, NONE = Mod.ControlModifier, Mod.ShiftModifier, Mod.AltModifier, Mod.NoModifier
PLACE = "Start, degrees"
"""The field of Properties that an exact value is typed in."""


def three_lanes(mint: float = 200.0, guarded: tuple[str, ...] = ()) -> Project:
    """Return two gates that exclude one another, and a flap of three levels in a group of its own."""
    flap = Lane(
        id="flap",
        name="Flap",
        group="Flaps",
        levels={"shut": 0.0, "cup": 8.0, "tray": 16.0},
        guarded=guarded,
        blocks=(block("shut", 330, 390), block("cup", 60, 200), block("tray", 230, 300)),
    )
    project = machine(gate("Assam", 60.0), gate("Mint", mint))
    return replaced(project, lanes=(*project.lanes, flap))


class Hands:
    """The window with mouse and keyboard."""

    def __init__(self, window: MainWindow, qtbot: QtBot) -> None:
        self.window, self.qtbot = window, qtbot
        self.diagram = window.diagram
        self.menus: list[QPoint] = []
        self.diagram.menu_wanted.connect(self.menus.append)

    @property
    def document(self) -> Document:
        return self.window.document

    @property
    def mint(self) -> BlockRef:
        return self.ref("mint", "open")

    def ref(self, lane_id: str, level: str) -> BlockRef:
        return BlockRef(lane_id, index_of(self.document.project, lane_id, level))

    def start(self, lane_id: str = "mint", level: str = "open") -> float:
        blocks = self.document.project.lane(lane_id).blocks
        return blocks[self.ref(lane_id, level).index].start_deg

    def length(self) -> float:
        return self.document.project.lane("mint").blocks[self.mint.index].length_deg

    def count(self, lane_id: str, level: str) -> int:
        return [made.level for made in self.document.project.lane(lane_id).blocks].count(level)

    # Mouse

    def at(self, lane_id: str, deg: float, mm: float = 10.0, down: float = 8.0) -> QPoint:
        strip = self.diagram.scene.strip(lane_id)
        assert strip is not None
        return QPointF(self.diagram.frame.axis.x(deg), strip.y(mm) + down).toPoint()

    def ruler(self, deg: float, y: int = 30) -> QPoint:
        return QPoint(round(self.diagram.frame.axis.x(deg)), y)

    def header(self, lane_id: str, share: float = 0.5) -> QPoint:
        row = self.diagram.frame.rows.of_lane(lane_id)
        assert row is not None
        return QPoint(60, round(self.diagram.frame.top_of(row) + share * row.height))

    def group(self, name: str) -> QPoint:
        row = next(r for r in self.diagram.frame.rows.rows if r.lane_id is None and r.group == name)
        return QPoint(40, round(self.diagram.frame.top_of(row) + row.height / 2))

    def press(self, at: QPoint, mod: Mod = NONE, button: Button = Button.LeftButton) -> None:
        QTest.mousePress(self.diagram.viewport(), button, mod, at)

    def move(self, at: QPoint, mod: Mod = NONE, button: Button = Button.LeftButton) -> None:
        view = self.diagram.viewport()
        where = QPointF(view.mapToGlobal(at))
        event = QMouseEvent(QEvent.Type.MouseMove, QPointF(at), where, Button.NoButton, button, mod)
        QApplication.sendEvent(view, event)

    def release(self, at: QPoint, mod: Mod = NONE, button: Button = Button.LeftButton) -> None:
        QTest.mouseRelease(self.diagram.viewport(), button, mod, at)

    def drag(self, start: QPoint, to: QPoint, mod: Mod = NONE, button: Button = Button.LeftButton) -> None:
        self.press(start, mod, button)
        self.move((start + to) / 2, mod, button)
        self.move(to, mod, button)
        self.release(to, mod, button)

    def click(self, at: QPoint, mod: Mod = NONE, button: Button = Button.LeftButton) -> None:
        QTest.mouseClick(self.diagram.viewport(), button, mod, at)

    def double(self, at: QPoint) -> None:
        QTest.mouseDClick(self.diagram.viewport(), Button.LeftButton, NONE, at)

    def wheel(self, at: QPoint, notches: int, mod: Mod = NONE, sideways: int = 0) -> None:
        view = self.diagram.viewport()
        where, delta = QPointF(view.mapToGlobal(at)), QPoint(120 * sideways, 120 * notches)
        phase = Qt.ScrollPhase.NoScrollPhase
        event = QWheelEvent(QPointF(at), where, QPoint(), delta, Button.NoButton, mod, phase, False)
        QApplication.sendEvent(view, event)

    def tool(self, command_id: str) -> None:
        button = self.window.toolbar.widgetForAction(self.window.actions_table[command_id])
        assert isinstance(button, QToolButton)
        assert button.isEnabled()
        QTest.mouseClick(button, Button.LeftButton)

    def menu_item(self, command_id: str) -> None:
        """Choose an item of the context menu that a right click has opened."""
        (menu,) = [m for m in self.window.findChildren(QMenu) if m.isVisible()]
        action = next(action for action in menu.actions() if action.objectName() == command_id)
        QTest.mouseClick(menu, Button.LeftButton, NONE, menu.actionGeometry(action).center())

    def context(self, at: QPoint, *, by_key: bool = False) -> None:
        """Send what follows a right press, or the menu key."""
        view = self.diagram.viewport()
        reason = QContextMenuEvent.Reason.Keyboard if by_key else QContextMenuEvent.Reason.Mouse
        QApplication.sendEvent(view, QContextMenuEvent(reason, at, view.mapToGlobal(at)))

    # Keyboard

    def key(self, key: Key, mod: Mod = NONE) -> None:
        if not self.window.isActiveWindow():  # after a dialog
            self.window.activateWindow()
            assert QTest.qWaitForWindowActive(self.window)
        if QApplication.focusWidget() is not self.diagram:
            self.diagram.setFocus()
        QTest.keyClick(self.diagram, key, mod)

    def keys(self, *keys: Key) -> None:
        for key in keys:
            self.key(key)

    def typed(self, text: str) -> None:
        """Type into the field that has the focus, in a dialog that has just opened if there is one."""
        for dialog in self.window.findChildren(Dialog):
            dialog.activateWindow()
        self.qtbot.waitUntil(lambda: isinstance(QApplication.focusWidget(), QLineEdit))
        field = QApplication.focusWidget()
        QTest.keyClick(field, Key.Key_A, CTRL)
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Key.Key_Return)

    def dialog(self) -> Dialog:
        (shown,) = [one for one in self.window.findChildren(Dialog) if one.isVisible()]
        return shown

    def agree(self) -> None:
        dialog = self.dialog()
        QTest.mouseClick(dialog.button(dialog.windowTitle()), Button.LeftButton)
        assert not dialog.isVisible()


# Rows


def mouse_select(h: Hands) -> None:
    h.click(h.at("mint", 206))
    assert h.document.selection.blocks == (h.mint,)


def keys_select(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_Right, CTRL)
    assert h.document.selection.blocks == (h.ref("mint", "closed"),)
    h.key(Key.Key_Left, CTRL)
    assert h.document.selection.blocks == (h.mint,)
    h.key(Key.Key_Up, CTRL)
    assert h.document.selection.lane_id == "assam"
    h.key(Key.Key_Down, CTRL)
    assert h.document.selection.lane_id == "mint"


def mouse_add_to_selection(h: Hands) -> None:
    h.click(h.at("assam", 66))
    h.click(h.at("flap", 100, 8), CTRL)
    assert h.document.selection.blocks == (h.ref("assam", "open"), h.ref("flap", "cup"))
    h.click(h.at("flap", 100, 8), CTRL)
    assert h.document.selection.blocks == (h.ref("assam", "open"),)
    h.click(h.at("flap", 100, 8), SHIFT)
    assert set(h.document.selection.blocks) == {h.ref("assam", "open"), h.ref("flap", "cup")}


def keys_add_to_selection(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_Right, CTRL | SHIFT)
    assert h.document.selection.blocks == (h.mint, h.ref("mint", "closed"))
    h.key(Key.Key_Up, CTRL | SHIFT)
    assert len(h.document.selection.blocks) == 3


def mouse_select_many(h: Hands) -> None:
    h.drag(h.at("assam", 50, 10, -4), h.at("mint", 220, 10, 16))
    assert set(h.document.selection.blocks) == {h.ref("assam", "open"), h.mint}
    h.click(h.at("flap", 40, 16))
    assert h.document.selection == Selection("flap")


def keys_select_many(h: Hands) -> None:
    h.document.select_lane("mint")
    seen = []
    for _ in range(3):
        h.key(Key.Key_A, CTRL)
        seen.append(len(h.document.selection.blocks))
    assert seen == [2, 4, 7]
    h.key(Key.Key_A, CTRL | SHIFT)
    assert h.document.selection == Selection()


def mouse_re_time(h: Hands) -> None:
    h.drag(h.at("mint", 206), h.at("mint", 236))
    assert h.start() == pytest.approx(230, abs=1)
    h.document.undo()
    h.document.select_blocks(h.ref("assam", "open"), h.mint)
    h.drag(h.at("mint", 206), h.at("mint", 226))
    assert h.start() - h.start("assam") == pytest.approx(140)
    assert h.start() == pytest.approx(220, abs=4)  # it may be drawn to something


def keys_re_time(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.keys(Key.Key_Right, Key.Key_Right, Key.Key_Left)
    assert h.start() == 200.5
    h.key(Key.Key_Right, ALT)
    assert h.start() == pytest.approx(200.6)
    assert len(h.document.undo_names) == 1
    h.document.select_blocks(h.ref("assam", "open"), h.mint)
    h.key(Key.Key_Right)
    assert (h.start("assam"), h.start()) == pytest.approx((60.4, 201.0))


def mouse_change_level(h: Hands) -> None:
    h.drag(h.at("flap", 130, 8), h.at("flap", 130, 16))
    assert h.count("flap", "tray") == 2
    h.document.undo()
    h.document.select_blocks(h.mint, h.ref("flap", "cup"))
    start, to = h.at("flap", 130, 8), h.at("flap", 130, 16)
    told: list[str] = []
    h.diagram.status_message.connect(told.append)
    h.drag(start, to)  # Mint has no level above
    assert "1 has no such level and keeps its own" in " ".join(told)
    assert (h.count("flap", "tray"), h.count("mint", "open")) == (2, 1)
    assert h.document.undo_name == "Change the level of 1 block"
    h.document.undo()
    assert h.count("flap", "tray") == 1


def keys_change_level(h: Hands) -> None:
    h.document.select_blocks(h.ref("flap", "cup"))
    h.key(Key.Key_Up)
    assert h.count("flap", "tray") == 2
    h.key(Key.Key_Down)
    assert h.count("flap", "cup") == 1


def mouse_stretch(h: Hands) -> None:
    end = h.at("mint", 212) + QPoint(-2, 0)
    h.drag(end, end + QPoint(60, 0), ALT)
    assert h.length() > 25
    assert h.start() == 200


def keys_stretch(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.keys(Key.Key_E, Key.Key_Left)
    assert (h.start(), h.length()) == (199.5, 12.5)
    h.keys(Key.Key_E, Key.Key_Right)
    assert (h.start(), h.length()) == (199.5, 13.0)
    h.keys(Key.Key_E)
    assert h.diagram.doing.grip is Grip.WHOLE


def mouse_exact_value(h: Hands) -> None:
    h.double(h.at("mint", 206))
    h.typed("210")
    assert h.start() == 210


def keys_exact_value(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_Return)
    assert QApplication.focusWidget().accessibleName() == PLACE
    h.typed("step 8")
    assert h.start() == 210


def mouse_add_block(h: Hands) -> None:
    h.double(h.at("mint", 100))
    assert h.count("mint", "open") == 2


def keys_add_block(h: Hands) -> None:
    h.document.select_lane("mint")
    h.document.set_cursor(100.0)
    h.key(Key.Key_A)
    assert h.count("mint", "open") == 2
    h.document.set_cursor(20.0)
    h.document.select_lane("mint")
    h.key(Key.Key_Insert)
    assert h.count("mint", "open") == 3


def mouse_add_lane(h: Hands) -> None:
    h.click(QPoint(20, 36))
    assert h.dialog().windowTitle() == "Add lane"


def keys_add_lane(h: Hands) -> None:
    h.key(Key.Key_N, CTRL | SHIFT)
    assert h.dialog().windowTitle() == "Add lane"


def mouse_clipboard(h: Hands) -> None:
    h.document.set_cursor(100.0)
    h.press(h.at("mint", 206), button=Button.RightButton)
    h.context(h.at("mint", 206))
    h.menu_item("edit.cut")
    assert h.count("mint", "open") == 0
    h.press(h.at("mint", 300, 0), button=Button.RightButton)
    h.context(h.at("mint", 300, 0))
    h.menu_item("edit.paste")
    assert h.start() == 100


def keys_clipboard(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.document.set_cursor(100.0)
    h.key(Key.Key_C, CTRL)
    h.key(Key.Key_V, CTRL)
    assert h.count("mint", "open") == 2
    h.key(Key.Key_Delete)
    assert h.count("mint", "open") == 1
    h.document.select_blocks(h.mint)
    h.key(Key.Key_X, CTRL)
    assert h.count("mint", "open") == 0
    assert h.document.undo_name == "Cut Mint open"
    QGuiApplication.clipboard().setText("words of another program")
    steps = len(h.document.undo_names)
    h.key(Key.Key_V, CTRL)
    assert len(h.document.undo_names) == steps


def mouse_duplicate(h: Hands) -> None:
    h.drag(h.at("mint", 206), h.at("mint", 286), CTRL)
    assert h.count("mint", "open") == 2
    assert h.start() == 200
    assert h.document.undo_name.startswith("Copy Mint open")


def keys_duplicate(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_D, CTRL)
    starts = [made.start_deg for made in h.document.project.lane("mint").blocks if made.level == "open"]
    assert starts == [200, 230]


def mouse_lock_and_law(h: Hands) -> None:
    h.click(h.at("mint", 206))
    h.tool("block.lock")
    assert h.document.project.lane("mint").blocks[h.mint.index].locked
    h.drag(h.at("mint", 206), h.at("mint", 260))
    assert h.start() == 200
    h.press(h.at("mint", 206), button=Button.RightButton)
    h.context(h.at("mint", 206))
    (menu,) = [m for m in h.window.findChildren(QMenu) if m.isVisible()]
    assert h.window.actions_table["block.law"] in menu.actions()
    menu.close()


def keys_lock_and_law(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_L, CTRL)
    assert h.document.project.lane("mint").blocks[h.mint.index].locked
    h.key(Key.Key_L, CTRL | SHIFT)
    menu = h.window.actions_table["block.law"].menu()
    assert menu.isVisible()
    QTest.keyClick(menu, Key.Key_Down)
    QTest.keyClick(menu, Key.Key_Down)
    QTest.keyClick(menu, Key.Key_Return)
    assert h.document.project.lane("mint").blocks[h.mint.index].law is not None


def mouse_times(h: Hands) -> None:
    h.click(h.at("mint", 206))
    h.tool("block.repeat")
    h.agree()
    assert h.count("mint", "open") == 2
    h.document.undo()
    h.document.set_cursor(100.0)
    h.click(h.header("mint"))
    h.tool("block.mirror")
    assert h.start() == pytest.approx(348)  # 200 - 212 about 100
    h.document.undo()
    h.tool("block.insert_time")
    h.agree()
    assert h.start() == 230
    h.document.undo()
    h.drag(h.ruler(100, 10), h.ruler(120, 10), CTRL)
    assert h.start() == pytest.approx(220, abs=1)
    assert h.document.undo_name.startswith("Insert ")


def keys_times(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_R, CTRL)
    h.typed("3")
    assert h.count("mint", "open") == 3
    h.document.undo()
    h.document.select_lane("mint")
    h.document.set_cursor(100.0)
    h.key(Key.Key_M, CTRL | SHIFT)
    assert h.start() == pytest.approx(348)
    h.document.undo()
    h.key(Key.Key_I, CTRL)
    h.typed("100")
    assert h.start() == 230


def mouse_cursor(h: Hands) -> None:
    h.click(h.ruler(150))
    assert h.document.cursor_deg == pytest.approx(150, abs=0.5)
    flag = h.ruler(h.document.cursor_deg, 10)
    h.drag(flag, flag + QPoint(round(60 * h.diagram.frame.axis.px_per_deg), 0))
    assert h.document.cursor_deg == pytest.approx(210, abs=1)
    dial = h.window.toolbar.dial
    middle = dial.rect().center()
    QTest.mousePress(dial, Button.LeftButton, NONE, middle + QPoint(0, -10))
    QTest.mouseMove(dial, middle + QPoint(10, 0))
    QTest.mouseRelease(dial, Button.LeftButton, NONE, middle + QPoint(10, 0))
    assert h.document.cursor_deg != pytest.approx(210, abs=1)


def keys_cursor(h: Hands) -> None:
    seen = []
    for key in (
        Key.Key_Period,
        Key.Key_Period,
        Key.Key_Comma,
        Key.Key_PageDown,
        Key.Key_PageUp,
        Key.Key_Home,
    ):
        h.key(key)
        seen.append(h.document.cursor_deg)
    assert seen == [1, 2, 1, 30, 0, 0]
    h.key(Key.Key_G, CTRL)
    h.typed("77")
    assert h.document.cursor_deg == 77


def mouse_play(h: Hands) -> None:
    h.tool("view.play")
    assert h.window.player.is_playing
    h.tool("view.play")
    assert not h.window.player.is_playing


def keys_play(h: Hands) -> None:
    h.key(Key.Key_Space)
    assert h.window.player.is_playing
    h.key(Key.Key_Space)
    assert not h.window.player.is_playing


def heights(h: Hands) -> list[float]:
    return [row.height for row in h.diagram.frame.rows.rows if row.lane_id]


def mouse_zoom(h: Hands) -> None:
    at, before = h.at("mint", 206), h.diagram.frame.axis
    h.wheel(at, 3, CTRL)
    zoomed = h.diagram.frame.axis
    assert zoomed.px_per_deg > before.px_per_deg
    assert zoomed.deg(at.x()) == pytest.approx(before.deg(at.x()))
    pinch(h, at, 0.25)
    assert h.diagram.frame.axis.px_per_deg == pytest.approx(1.25 * zoomed.px_per_deg)
    was = heights(h)
    h.wheel(at, 2, CTRL | SHIFT)
    assert all(now > then for now, then in zip(heights(h), was, strict=True))


def pinch(h: Hands, at: QPoint, value: float) -> None:
    view = h.diagram.viewport()
    where = QPointF(view.mapToGlobal(at))
    zoom = Qt.NativeGestureType.ZoomNativeGesture
    device = QPointingDevice.primaryPointingDevice()
    event = QNativeGestureEvent(zoom, device, 2, QPointF(at), QPointF(at), where, value, QPointF())
    QApplication.sendEvent(view, event)


def keys_zoom(h: Hands) -> None:
    before = h.diagram.frame.axis.px_per_deg
    h.key(Key.Key_Plus, CTRL)
    assert h.diagram.frame.axis.px_per_deg > before
    h.key(Key.Key_Minus, CTRL)
    assert h.diagram.frame.axis.px_per_deg == pytest.approx(before)
    was = heights(h)
    h.key(Key.Key_Plus, CTRL | SHIFT)
    assert all(now > then for now, then in zip(heights(h), was, strict=True))
    h.key(Key.Key_Minus, CTRL | SHIFT)
    assert heights(h) == pytest.approx(was, abs=1)


def mouse_whole(h: Hands) -> None:
    h.diagram.zoom(4.0)
    h.tool("view.whole_turn")
    assert h.diagram.frame.axis.is_whole
    was = heights(h)
    h.diagram.set_height("mint", 100.0)
    h.double(QPoint(100, 10))
    assert heights(h) == was


def keys_whole(h: Hands) -> None:
    h.diagram.zoom(4.0)
    h.key(Key.Key_0, CTRL)
    assert h.diagram.frame.axis.is_whole
    was = heights(h)
    h.diagram.set_height("mint", 100.0)
    h.key(Key.Key_0, CTRL | SHIFT)
    assert heights(h) == was


def tall(h: Hands) -> None:
    for lane_id in ("assam", "mint", "flap"):
        h.diagram.set_height(lane_id, 240.0)
    assert h.diagram.frame.greatest_scroll > 100


def mouse_scroll(h: Hands) -> None:
    tall(h)
    h.diagram.zoom(4.0)
    at = QPoint(600, 200)
    h.wheel(at, -1)
    assert h.diagram.frame.scroll == 60
    start = h.diagram.frame.axis.start_deg
    h.wheel(at, -1, SHIFT)
    assert h.diagram.frame.axis.start_deg > start
    h.wheel(at, 0, sideways=1)
    assert h.diagram.frame.axis.start_deg == pytest.approx(start)
    for _ in range(200):
        h.wheel(at, -1, SHIFT)
    axis = h.diagram.frame.axis
    assert 0 <= axis.start_deg + axis.length_deg / 2 < 360  # it went round
    deg = axis.deg(600)
    h.drag(at, at + QPoint(-100, -40), button=Button.MiddleButton)
    assert h.diagram.frame.axis.deg(500) == pytest.approx(deg)
    assert h.diagram.frame.scroll == 100


def keys_scroll(h: Hands) -> None:
    tall(h)
    h.diagram.zoom(4.0)
    h.key(Key.Key_PageDown, SHIFT)
    assert h.diagram.frame.scroll > 0
    h.key(Key.Key_PageUp, SHIFT)
    assert h.diagram.frame.scroll == 0
    start = h.diagram.frame.axis.start_deg
    h.key(Key.Key_PageDown, CTRL)
    assert h.diagram.frame.axis.start_deg != start
    h.key(Key.Key_PageUp, CTRL)
    assert h.diagram.frame.axis.start_deg == pytest.approx(start)


def order(h: Hands) -> list[str]:
    return [lane.id for lane in h.document.project.lanes]


def mouse_lane(h: Hands) -> None:
    h.click(h.header("mint"))
    assert h.document.selection == Selection("mint")
    h.double(h.header("mint"))
    h.typed("Ceylon")
    assert h.document.project.lane("mint").name == "Ceylon"
    h.drag(h.header("mint"), h.header("assam", 0.2))
    assert order(h) == ["mint", "assam", "flap"]
    h.drag(h.header("assam"), h.header("flap", 0.8))
    assert order(h) == ["mint", "flap", "assam"]
    assert h.document.project.lane("assam").group == "Flaps"


def keys_lane(h: Hands) -> None:
    h.document.select_lane("assam")
    h.key(Key.Key_Down, CTRL)
    assert h.document.selection == Selection("mint")
    h.key(Key.Key_Up, ALT)
    assert order(h) == ["mint", "assam", "flap"]
    h.key(Key.Key_Down, ALT)
    assert order(h) == ["assam", "mint", "flap"]
    h.key(Key.Key_F2)
    h.typed("Ceylon")
    assert h.document.project.lane("mint").name == "Ceylon"


def mouse_strip(h: Hands) -> None:
    before, border = heights(h), h.header("assam", 1.0)
    h.drag(border, border + QPoint(0, 30))
    assert heights(h)[0] == before[0] + 30


def keys_strip(h: Hands) -> None:
    before = heights(h)
    h.document.select_lane("assam")
    QTest.keyClicks(h.diagram, "+")
    assert heights(h)[0] == before[0] + 8
    QTest.keyClicks(h.diagram, "-")
    assert heights(h)[0] == before[0]


def seen(h: Hands) -> tuple[str, ...]:
    return h.diagram.frame.rows.lane_ids


def mouse_isolate(h: Hands) -> None:
    whole, findings = h.document.project, h.document.report.findings
    width, header = h.diagram.frame.axis.left, h.header("mint")
    h.move(header, button=Button.NoButton)
    h.click(QPoint(round(width - 44), header.y()))
    assert seen(h) == ("mint",)
    h.click(QPoint(48, 36))
    assert seen(h) == ("assam", "mint", "flap")
    h.click(QPoint(round(width - 18), h.header("mint").y()))
    assert seen(h) == ("assam", "flap")
    assert h.document.project is whole
    assert h.document.report.findings == findings


def keys_isolate(h: Hands) -> None:
    h.document.select_blocks(h.ref("assam", "open"), h.ref("flap", "cup"))
    h.key(Key.Key_I)
    assert seen(h) == ("assam", "flap")
    h.key(Key.Key_H, SHIFT)
    assert len(seen(h)) == 3
    h.document.select_lane("flap")
    h.key(Key.Key_H)
    assert seen(h) == ("assam", "mint")


def test_several_lanes_are_selected_by_their_headers(hands: Hands) -> None:
    h, actions = hands, hands.window.actions_table
    h.click(h.header("assam"))
    h.click(h.header("flap"), CTRL)
    assert h.document.selection == Selection.of_lanes(("assam", "flap"))
    h.click(h.header("assam"), CTRL)
    assert h.document.selection == Selection("flap")
    h.click(h.header("assam"), SHIFT)
    assert h.document.selection.lane_ids == ("flap", "mint", "assam")
    h.click(h.header("mint"), CTRL)
    properties = h.window.properties.lane
    assert properties.heading.text() == "2 lanes"
    assert not properties.name.isEnabled()
    group = properties.group
    group.setFocus()
    group.selectAll()
    QTest.keyClicks(group, "Trays")
    QTest.keyClick(group, Key.Key_Return)
    assert [lane.group for lane in h.document.project.lanes] == ["Trays", "Gates", "Trays"]
    assert len(h.document.undo_names) == 1
    assert set(h.document.selection.lane_ids) == {"assam", "flap"}
    actions["prove.alone"].trigger()
    assert h.document.lanes == {"assam", "flap"}
    actions["prove.alone"].trigger()
    actions["lane.delete"].trigger()
    assert (list(h.document.project.lane_index), h.document.undo_name) == (["mint"], "Delete 2 lanes")
    h.document.undo()
    assert set(h.document.selection.lane_ids) == {"assam", "flap"}


def test_keys_add_lanes_and_a_header_button_acts_on_all_of_them(hands: Hands) -> None:
    h = hands
    h.click(h.header("assam"))
    h.key(Key.Key_Down, CTRL | SHIFT)
    assert h.document.selection == Selection.of_lanes(("assam", "mint"))
    h.click(QPoint(round(h.diagram.frame.axis.left - 44), h.header("mint").y()))
    assert seen(h) == ("assam", "mint")


def mouse_group(h: Hands) -> None:
    h.click(h.group("Gates"))
    assert seen(h) == ("flap",)
    h.click(h.group("Gates"))
    assert seen(h) == ("assam", "mint", "flap")


def keys_group(h: Hands) -> None:
    h.document.select_lane("mint")
    h.key(Key.Key_Left)
    assert seen(h) == ("flap",)
    h.key(Key.Key_Right)
    assert seen(h) == ("assam", "mint", "flap")
    h.key(Key.Key_G, CTRL | SHIFT)
    assert h.document.project.lane("mint").group == "Group 1"


def mouse_findings(h: Hands) -> None:
    h.document.new(three_lanes(mint=70.0, guarded=("cup",)))
    sign = next(s for s in h.diagram.scene.signs if any(f.rule == "overlap" for f in s.things))
    for _ in sign.things:  # each click on a sign of several goes on to the next
        h.click(QPoint(round(sign.x), 68))
        if h.window.findings.chosen and h.window.findings.chosen.rule == "overlap":
            break
    assert h.window.findings.chosen.rule == "overlap"
    assert h.window.actions_table["prove.cure"].isEnabled()
    h.window.actions_table["prove.cure"].trigger()
    assert not [f for f in h.document.report.findings if f.rule == "overlap"]


def keys_findings(h: Hands) -> None:
    h.document.new(three_lanes(mint=70.0, guarded=("cup",)))
    h.qtbot.waitUntil(lambda: h.document.is_late_current, timeout=20_000)
    keys = []
    for key, mod in ((Key.Key_F8, NONE), (Key.Key_F8, NONE), (Key.Key_F8, SHIFT)):
        h.key(key, mod)
        keys.append(h.document.selection.finding)
    assert keys[0] == keys[2] != keys[1]
    repeat_until(lambda: _chosen_rule(h) == "overlap", lambda: h.key(Key.Key_F8))
    h.key(Key.Key_Return, CTRL)
    assert not [f for f in h.document.report.findings if f.rule == "overlap"]


def _chosen_rule(h: Hands) -> str:
    chosen = h.window.findings.chosen
    return "" if chosen is None else chosen.rule


def mouse_habits(h: Hands) -> None:
    for command_id, of in (
        ("block.snap", lambda: h.diagram.habits.snapping),
        ("block.zones", lambda: h.diagram.habits.zones),
    ):
        before = of()
        h.tool(command_id)
        assert of() != before
        h.tool(command_id)


def keys_habits(h: Hands) -> None:
    before = h.diagram.habits
    h.keys(Key.Key_G, Key.Key_Z)
    assert (h.diagram.habits.snapping, h.diagram.habits.zones) == (not before.snapping, not before.zones)
    h.keys(Key.Key_G, Key.Key_Z)
    assert h.diagram.habits == before


def mouse_undo(h: Hands) -> None:
    h.drag(h.at("mint", 206), h.at("mint", 236))
    h.tool("edit.undo")
    assert h.start() == 200
    h.tool("edit.redo")
    assert h.start() != 200
    button = h.window.toolbar.widgetForAction(h.window.actions_table["edit.undo"])
    assert isinstance(button, QToolButton)
    button.menu().aboutToShow.emit()
    assert [a.text() for a in button.menu().actions()] == list(h.document.undo_names)


def keys_undo(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.key(Key.Key_Right)
    h.key(Key.Key_Z, CTRL)
    assert h.start() == 200
    h.key(Key.Key_Z, CTRL | SHIFT)
    assert h.start() == 200.5
    h.key(Key.Key_Z, CTRL)
    h.key(Key.Key_Y, CTRL)
    assert h.start() == 200.5


def mouse_views(h: Hands) -> None:
    h.press(h.at("mint", 206), button=Button.RightButton)
    h.context(h.at("mint", 206))
    (menu,) = [m for m in h.window.findChildren(QMenu) if m.isVisible()]
    assert h.document.selection.blocks == (h.mint,)
    menu.close()


def keys_views(h: Hands) -> None:
    h.key(Key.Key_F6)
    h.qtbot.waitUntil(lambda: not h.diagram.hasFocus())
    QTest.keyClick(h.window, Key.Key_F6, SHIFT)
    h.qtbot.waitUntil(h.diagram.hasFocus)
    h.key(Key.Key_4, CTRL)
    h.qtbot.waitUntil(lambda: h.window.properties.isAncestorOf(QApplication.focusWidget()))
    QTest.keyClick(h.window, Key.Key_9, CTRL)
    h.qtbot.waitUntil(h.diagram.hasFocus)
    h.document.select_blocks(h.mint)
    for ask in (lambda: h.key(Key.Key_F10, SHIFT), lambda: h.context(QPoint(5, 5), by_key=True)):
        ask()
        (menu,) = [m for m in h.window.findChildren(QMenu) if m.isVisible()]
        assert h.menus[-1] == h.diagram.menu_place()
        menu.close()


def mouse_cancel(h: Hands) -> None:
    h.press(h.at("mint", 206))
    h.move(h.at("mint", 240))
    assert h.document.is_previewing
    h.press(h.at("mint", 240), button=Button.RightButton)
    assert not h.document.is_previewing
    h.release(h.at("mint", 240))
    assert not h.document.can_undo


def keys_cancel(h: Hands) -> None:
    h.document.select_blocks(h.mint)
    h.press(h.at("mint", 206))
    h.move(h.at("mint", 240))
    h.key(Key.Key_Escape)
    assert not h.document.is_previewing
    assert h.document.selection.blocks == (h.mint,)
    h.release(h.at("mint", 240))
    h.key(Key.Key_Escape)
    assert h.document.selection == Selection()


Do = Callable[[Hands], None]

ROWS: dict[str, tuple[Do, Do]] = {
    "select a block": (mouse_select, keys_select),
    "add to the selection": (mouse_add_to_selection, keys_add_to_selection),
    "select many / all / none": (mouse_select_many, keys_select_many),
    "re-time": (mouse_re_time, keys_re_time),
    "change level": (mouse_change_level, keys_change_level),
    "stretch": (mouse_stretch, keys_stretch),
    "exact value": (mouse_exact_value, keys_exact_value),
    "add a block": (mouse_add_block, keys_add_block),
    "add a lane": (mouse_add_lane, keys_add_lane),
    "delete / cut, copy, paste at the cursor": (mouse_clipboard, keys_clipboard),
    "duplicate": (mouse_duplicate, keys_duplicate),
    "lock / law of the move": (mouse_lock_and_law, keys_lock_and_law),
    "repeat round the turn, mirror, insert time": (mouse_times, keys_times),
    "move the cursor": (mouse_cursor, keys_cursor),
    "play, pause": (mouse_play, keys_play),
    "zoom the axis / the strips": (mouse_zoom, keys_zoom),
    "whole turn / fit lanes": (mouse_whole, keys_whole),
    "scroll lanes / axis (wraps)": (mouse_scroll, keys_scroll),
    "select a lane, rename, reorder": (mouse_lane, keys_lane),
    "resize a strip": (mouse_strip, keys_strip),
    "isolate, hide, show all": (mouse_isolate, keys_isolate),
    "open, close a group": (mouse_group, keys_group),
    "next, previous finding; its cure": (mouse_findings, keys_findings),
    "snap, free zones on or off": (mouse_habits, keys_habits),
    "undo, redo": (mouse_undo, keys_undo),
    "next, previous view / a view by number / menu of a thing": (mouse_views, keys_views),
    "cancel what runs, then clear the selection": (mouse_cancel, keys_cancel),
}
"""The design's table, row by row: what the mouse does, what the keyboard does."""

DESIGN = """select a block · add to the selection · select many / all / none · re-time · change level
stretch · exact value · add a block · add a lane · delete / cut, copy, paste at the cursor · duplicate
lock / law of the move · repeat round the turn, mirror, insert time · move the cursor · play, pause
zoom the axis / the strips · whole turn / fit lanes · scroll lanes / axis (wraps)
select a lane, rename, reorder · resize a strip · isolate, hide, show all · open, close a group
next, previous finding; its cure · snap, free zones on or off · undo, redo
next, previous view / a view by number / menu of a thing · cancel what runs, then clear the selection"""
"""The first column of the design's table."""


def test_no_row_is_missing() -> None:
    assert list(ROWS) == DESIGN.replace("\n", " · ").split(" · ")
    assert len({do for row in ROWS.values() for do in row}) == 2 * len(ROWS)


@pytest.fixture(scope="module")
def shown(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[MainWindow]:
    """Yield one window for all rows, since it takes longer to make than to use."""
    folder = tmp_path_factory.mktemp("rows")
    theme, jobs = Theme(qapp, "light"), Jobs()
    document, settings = Document(three_lanes(), jobs=jobs), Settings(Path(folder) / "settings.json")
    window = MainWindow(document, theme, settings, jobs, store=PersonStore(Path(folder)))
    window.resize(1600, 1000)
    window.show()
    QTest.qWaitForWindowExposed(window)
    yield window
    window.close_at_once()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    theme.set_choice("system")
    theme.leave()


@pytest.fixture
def hands(shown: MainWindow, qtbot: QtBot) -> Iterator[Hands]:
    hands = Hands(shown, qtbot)
    shown.document.new(three_lanes())
    diagram = shown.diagram
    diagram.reduce_motion = True
    diagram.view.closed = frozenset()
    diagram.show_all_lanes()
    diagram.whole_turn()
    diagram.fit_lanes()
    diagram.set_scroll(0.0)
    shown.activateWindow()
    assert QTest.qWaitForWindowActive(shown)
    diagram.setFocus()
    yield hands
    diagram.cancel()
    for menu in shown.findChildren(QMenu):
        menu.close()
    for dialog in shown.findChildren(Dialog):
        dialog.close()
    diagram.menu_wanted.disconnect(hands.menus.append)


@pytest.mark.parametrize("by", ["mouse", "keyboard"])
@pytest.mark.parametrize("action", ROWS)
def test_row(hands: Hands, action: str, by: str) -> None:
    ROWS[action][by == "keyboard"](hands)
