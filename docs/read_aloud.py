"""What a screen reader finds in a window, and what is wrong with it: names, tags, places, hit areas.

Each fault is a sentence that names the control. The tree is asked through Qt, as a reader asks; Qt makes it
of the widgets, and the diagram and the network make their own parts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from PySide6.QtCore import QObject, QRect
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QWidget

from shaftscore_app.widgets.check import TickBox

Name, Role = QAccessible.Text.Name, QAccessible.Role

LEAST_PX = 24
"""Least side of a hit area at 100 %, px: Web Content Accessibility Guidelines 2.2, 2.5.8."""

MOST_CHILDREN = 60
"""So many parts of one part are asked: a long table repeats itself."""

HIT = {
    Role.Button,
    Role.ButtonMenu,
    Role.ButtonDropDown,
    Role.CheckBox,
    Role.RadioButton,
    Role.ComboBox,
    Role.EditableText,
    Role.Slider,
    Role.SpinBox,
    Role.Dial,
    Role.PageTab,
}
"""What is pressed or clicked into."""

NAMED = HIT | {
    Role.List,
    Role.Table,
    Role.Tree,
    Role.ProgressBar,
    Role.Canvas,
    Role.Graphic,
    Role.Chart,
}
"""What must have a name, whether it takes the focus or not."""

UNNAMED = (Role.StaticText, Role.Cell, Role.PageTabList)
"""What may be empty, or is named by what is in it."""

_TAG = re.compile(r"</?[a-zA-Z][^<>]*>|&[a-z]+;")


def parts(part: QAccessibleInterface) -> Iterator[QAccessibleInterface]:
    """Yield what is seen in a part, itself first."""
    if part.state().invisible:
        return
    yield part
    for index in range(min(part.childCount(), MOST_CHILDREN)):
        child = part.child(index)
        if child is not None and child.isValid():
            yield from parts(child)


def faults(root: QWidget, u: float = 1.0) -> Iterator[str]:
    """Yield what is wrong in a window, dialog or view; u: scale of the text."""
    whole = QAccessible.queryAccessibleInterface(root)
    for part in parts(whole):
        for fault in _faults(part, u):
            yield f"{_said(part)}: {fault}"


def _faults(part: QAccessibleInterface, u: float) -> Iterator[str]:
    name, role, state = part.text(Name), part.role(), part.state()
    if _is_inside(part):
        return
    if (role in NAMED or (state.focusable and role not in UNNAMED)) and not name.strip():
        yield "has no name"
    if role == Role.ComboBox and not _labels(part):
        yield "is named by no label"
    if _TAG.search(name):
        yield "has a tag in its name"
    if "\t" in name:
        yield "has a tab in its name"
    hit = _hit_area(part)
    if role in HIT and not hit.isEmpty() and min(hit.width(), hit.height()) < int(LEAST_PX * min(1.0, u)):
        yield f"is {hit.width()} x {hit.height()} px"


def _labels(part: QAccessibleInterface) -> list[str]:
    """Return the labels that name a part; on Linux Qt gives a combo box no other name than its value."""
    found = part.relations(QAccessible.RelationFlag.Label)
    return [label.text(Name) for label, _relation in found if label.text(Name).strip()]


def _hit_area(part: QAccessibleInterface) -> QRect:
    """Return where a part is hit; a box that is ticked says so itself, its place is that of its ink."""
    thing = part.object()
    return thing.hit_area() if isinstance(thing, TickBox) else part.rect()


def _is_inside(part: QAccessibleInterface) -> bool:
    """Return whether a part is Qt's own: a bar that scrolls, a button in a field, a window's own part."""
    thing = part.object()
    if part.role() in (Role.ScrollBar, Role.Window, Role.Client, Role.Dialog, Role.Separator, Role.Splitter):
        return True
    return isinstance(thing, QObject) and thing.objectName().startswith("qt_")


def _said(part: QAccessibleInterface) -> str:
    thing, holders = part.object(), []
    holder = part
    while holder is not None and len(holders) < 12:
        widget = holder.object()
        if widget is not None:
            holders.append(widget.objectName() or type(widget).__name__)
        holder = holder.parent()
    kind = type(thing).__name__ if thing is not None else "part"
    return f"{part.role().name} “{part.text(Name)[:60]}” ({kind} in {' < '.join(holders[1:5])})"
