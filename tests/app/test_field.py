from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from shaftscore_app.document import Document
from shaftscore_app.document.binding import show
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dial import Dial
from shaftscore_app.widgets.field import DIFFERENT, VARIOUS, Field
from shaftscore_app.widgets.quantities import angle, grid_quantity, master_angle, millimetres, rpm_quantity
from tests.app.machines import gates


@pytest.fixture
def page(qtbot):
    widget = QWidget()
    QVBoxLayout(widget)
    qtbot.addWidget(widget)
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    qtbot.waitUntil(widget.isActiveWindow)
    return widget


def _field(page: QWidget, theme: Theme, quantity: object, name: str = "Start") -> tuple[Field, list[object]]:
    field, entered = Field(theme, name, quantity), []
    field.entered.connect(entered.append)
    page.layout().addWidget(field)
    field.show()
    page.activateWindow()
    field.setFocus()
    return field, entered


def _type(qtbot, field: Field, text: str, end: Qt.Key = Qt.Key.Key_Return) -> None:
    field.selectAll()
    if text.isascii():
        qtbot.keyClicks(field, text)
    else:  # a test's keyboard has no such keys
        QApplication.clipboard().setText(text)
        field.paste()
    qtbot.keyClick(field, end)


@pytest.mark.parametrize(
    ("typed", "deg"),
    [
        ("150", 150.0),
        ("150°", 150.0),
        ("150,5", 150.5),
        ("4.17 s", 150.12),
        ("step 6", 150.0),
        ("−10", -10.0),
    ],
)
def test_an_angle_is_read_in_any_unit(qtbot, page: QWidget, theme: Theme, typed: str, deg: float) -> None:
    field, entered = _field(page, theme, angle(Document(gates())))
    _type(qtbot, field, typed)
    assert entered == [pytest.approx(deg)]


@pytest.mark.parametrize(("typed", "mm"), [("12", 12.0), ("12 mm", 12.0), ("1.2 cm", 12.0), ("0,5 in", 12.7)])
def test_a_length_is_read_in_any_unit(qtbot, page: QWidget, theme: Theme, typed: str, mm: float) -> None:
    field, entered = _field(page, theme, millimetres())
    _type(qtbot, field, typed)
    assert entered == [pytest.approx(mm)]


def test_what_cannot_be_read_is_said_at_once_and_not_entered(qtbot, page: QWidget, theme: Theme) -> None:
    field, entered = _field(page, theme, millimetres())
    field.set_shown(3.0)
    field.selectAll()
    qtbot.keyClicks(field, "twelve")
    assert '"twelve"' in field.fault
    assert field.property("fault") is True
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert entered == []
    assert field.text() == "twelve"
    qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert (field.text(), field.fault, field.shown()) == ("3.0", "", 3.0)
    _type(qtbot, field, "4")
    assert entered == [4.0]


def test_leaving_a_field_enters_what_can_be_read_and_keeps_what_cannot(
    qtbot, page: QWidget, theme: Theme
) -> None:
    field, entered = _field(page, theme, millimetres())
    other, _ = _field(page, theme, millimetres(), "End")
    field.set_shown(3.0)
    field.setFocus()
    _type(qtbot, field, "5", Qt.Key.Key_Tab)
    assert entered == [5.0]
    field.set_shown(5.0)
    field.setFocus()
    _type(qtbot, field, "five", Qt.Key.Key_Tab)
    assert (entered, field.text(), field.shown()) == ([5.0], "five", 5.0)
    assert field.property("fault") is True
    assert "five" in field.unread()
    assert other is not field
    field.put_back()
    assert (field.text(), field.fault) == ("5.0", "")


def test_the_same_value_is_not_entered_again(qtbot, page: QWidget, theme: Theme) -> None:
    field, entered = _field(page, theme, millimetres())
    field.set_shown(3.0)
    _type(qtbot, field, "3.00 mm")
    assert (entered, field.text()) == ([], "3.0")


def test_empty_means_a_word_only_where_the_quantity_has_one(qtbot, page: QWidget, theme: Theme) -> None:
    must, entered = _field(page, theme, millimetres())
    must.set_shown(3.0)
    must.selectAll()
    qtbot.keyClick(must, Qt.Key.Key_Delete)
    qtbot.keyClick(must, Qt.Key.Key_Return)
    assert entered == []
    may, entered = _field(page, theme, millimetres("auto"))
    may.set_shown(3.0)
    may.selectAll()
    qtbot.keyClick(may, Qt.Key.Key_Delete)
    qtbot.keyClick(may, Qt.Key.Key_Return)
    assert entered == [None]
    may.set_shown(None)
    assert (may.text(), may.placeholderText()) == ("", "auto")


def test_values_that_differ_are_various(page: QWidget, theme: Theme) -> None:
    field, _ = _field(page, theme, millimetres())
    field.set_shown(DIFFERENT)
    assert (field.text(), field.placeholderText(), field.shown()) == ("", VARIOUS, DIFFERENT)


def test_names_hold_the_unit(page: QWidget, theme: Theme, document: Document) -> None:
    field, _ = _field(page, theme, angle(document))
    assert field.accessibleName() == "Start, degrees"


def test_decimals_that_matter_are_shown(page: QWidget, theme: Theme) -> None:
    field, _ = _field(page, theme, millimetres())
    for value, text in ((3.0, "3.0"), (3.125, "3.125"), (-0.5, "−0.5")):
        field.set_shown(value)
        assert field.text() == text


@pytest.mark.parametrize(("typed", "deg"), [("370", 10.0), ("-10", 350.0), ("step 12", 330.0)])
def test_an_angle_of_the_shaft_is_brought_into_the_turn(document: Document, typed: str, deg: float) -> None:
    assert master_angle(document).read(typed) == pytest.approx(deg)


@pytest.mark.parametrize("typed", ["0", "-1", "91", "one"])
def test_a_grid_that_cannot_be_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match=r"grid|not a number"):
        grid_quantity().read(typed)


def test_a_speed_is_read_by_the_second_too() -> None:
    assert rpm_quantity().read("0.5 rev/s") == 30.0


def test_show_is_silent_and_skips_equal_values(qtbot, page: QWidget, theme: Theme) -> None:
    field, entered = _field(page, theme, millimetres())
    show(field, 3.0)
    field.setCursorPosition(2)
    show(field, 3.0)
    assert (field.cursorPosition(), entered) == (2, [])
    choice = Choice(theme, "Level")
    qtbot.addWidget(choice)
    chosen: list[object] = []
    choice.chosen.connect(chosen.append)
    choice.set_options([Option("a", "A"), Option("b", "B", "10 mm")])
    show(choice, "b")
    assert (choice.shown(), choice.currentIndex(), chosen) == ("b", 1, [])


def test_a_choice_tells_only_what_the_person_chose(qtbot, page: QWidget, theme: Theme) -> None:
    choice, chosen = Choice(theme, "Level"), []
    page.layout().addWidget(choice)
    choice.chosen.connect(chosen.append)
    choice.set_options([Option("a", "A"), Option("b", "B")])
    choice.set_shown("a")
    page.activateWindow()
    choice.setFocus()
    qtbot.keyClick(choice, Qt.Key.Key_Down)
    assert chosen == ["b"]
    choice.set_shown(DIFFERENT)
    assert choice.currentIndex() == -1


def test_the_dial_turns_with_the_pointer_and_through_0(qtbot, page: QWidget, theme: Theme) -> None:
    dial, turned = Dial(theme), []
    page.layout().addWidget(dial)
    dial.setFixedSize(60, 60)
    dial.turned.connect(turned.append)
    qtbot.mousePress(dial, Qt.MouseButton.LeftButton, pos=dial.rect().center().__class__(55, 30))
    qtbot.mouseRelease(dial, Qt.MouseButton.LeftButton)
    assert turned[-1] == pytest.approx(90.0, abs=3)
    dial.set_shown(359.5)
    dial.setFocus()
    qtbot.keyClick(dial, Qt.Key.Key_Right)
    assert turned[-1] == pytest.approx(0.5)


def test_a_refusal_is_said_without_its_place_in_the_file(page: QWidget, theme: Theme) -> None:
    field, _ = _field(page, theme, rpm_quantity(), "Speed")
    field.set_fault("speed_rpm: must be at most 10000, got 99999.0")
    assert field.fault == "must be at most 10000, got 99999.0"
    field.set_fault("blocks[2].start_deg: must be under 360, got 400.0")
    assert field.fault == "must be under 360, got 400.0"
    field.set_fault("A window is 0° to 360° wide, got 400.0°")
    assert field.fault == "A window is 0° to 360° wide, got 400.0°"
