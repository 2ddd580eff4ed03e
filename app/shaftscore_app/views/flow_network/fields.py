"""The fields of what is selected in the network, and what is found about it.

The form is that of the record (`forms.record_form`). What is entered is checked at once; where nothing is
wrong it is one undo step, else the field says what is wrong and the project stays. Ids are made from names
and not shown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base import wording
from shaftscore.base.errors import Fault
from shaftscore.edits import Edited, set_flow
from shaftscore.edits.drafts import ProjectPart, draft_of, inside
from shaftscore.judge.findings.words import words
from shaftscore.judge.flow.drawn import ElementKind, FlowElement
from shaftscore.model import Channel, Gate, Magazine, Outlet, Record, Supply
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Draft, Value, draft_in, drafts_in
from shaftscore_app.forms.editors import Mark
from shaftscore_app.forms.own import WayEditor
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Option
from shaftscore_app.widgets.scrolling import upright_scroll

FLOW = ProjectPart("flow", set_flow)


@dataclass(frozen=True)
class PartList:
    """Where the records of a kind of element are: key of the flow, record, and what one is called."""

    field: str
    record: type[Record]
    noun: str


PARTS: Mapping[ElementKind, PartList] = {
    ElementKind.SUPPLY: PartList("supplies", Supply, "Supply"),
    ElementKind.MAGAZINE: PartList("magazines", Magazine, "Magazine"),
    ElementKind.GATE: PartList("gates", Gate, "Gate"),
    ElementKind.CHANNEL: PartList("channels", Channel, "Channel"),
    ElementKind.DIVERTER: PartList("channels", Channel, "Diverter"),
    ElementKind.OUTLET: PartList("outlets", Outlet, "Outlet"),
}
"""By kind of element, its records; a diverter is part of the channel at whose end it is."""

HIDDEN: frozenset[Mark] = frozenset((part.record.__name__, "id") for part in PARTS.values())

WIDTH = 416
"""Width of the panel, px of the design: the form of a gate fits."""


class NetworkContext(Context):
    """What the form looks up; parts of the flow are shown by their names."""

    def options(self, which: str) -> list[Option[str]]:
        """Return what can be chosen from a list."""
        found = super().options(which)
        parts = which in ("sources", "magazines", "ends")
        return (
            [Option(one.value, wording.part_name(one.value), one.remark) for one in found] if parts else found
        )


class FieldsPanel(QWidget):
    """The panel.

    Signals: finding_wanted(key) when a finding is to be shown; left() when Esc was pressed in a field.
    """

    finding_wanted = Signal(object)
    left = Signal()

    def __init__(self, document: Document, theme: Theme) -> None:
        """Show nothing yet."""
        super().__init__()
        self._document, self._theme = document, theme
        self._element: FlowElement | None = None
        self._project: object = None
        self.form: RecordForm | None = None
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._enter)
        self.title, self.hint, self.fault = QLabel(), QLabel(), QLabel()
        self.found, self.show_finding = QLabel(), QPushButton("Show finding")
        self._build()

    def _build(self) -> None:
        self.setAccessibleName("Fields of the selected element")
        inner = QWidget()
        self._column = QVBoxLayout(inner)
        for label in (self.title, self.hint, self.found, self.fault):
            label.setWordWrap(True)
        self.hint.setObjectName("muted")
        self.fault.setObjectName("fault")
        self._place = QVBoxLayout()
        self._column.addWidget(self.title)
        self._column.addWidget(self.hint)
        self._column.addLayout(self._place)
        self._column.addWidget(self.fault)
        self._column.addWidget(self.found)
        row = QHBoxLayout()
        row.addWidget(self.show_finding)
        row.addStretch(1)
        self._column.addLayout(row)
        self._column.addStretch(1)
        self.show_finding.clicked.connect(self._show_finding)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(upright_scroll(inner))
        self._theme.changed.connect(self.fit)
        self.fit()

    def fit(self) -> None:
        """Take the theme's sizes; the form is made anew."""
        theme, px = self._theme, self._theme.px
        self.title.setFont(theme.font(15, 600))
        for label in (self.hint, self.found, self.fault):
            label.setFont(theme.font(12))
        self.show_finding.setFont(theme.font(12))
        self._column.setContentsMargins(px(12), px(8), px(12), px(12))
        self._column.setSpacing(px(8))
        self.setFixedWidth(px(WIDTH))
        self._element = None

    def show_element(self, element: FlowElement | None, count: int) -> None:
        """Show the fields of an element; count: of all that are selected."""
        project = self._document.committed
        same = element is not None and self._element is not None and element.key == self._element.key
        if not same or project is not self._project:
            self._take(element, same=same)
        self._element, self._project = element, project
        self.title.setText(_title(element, count))
        self.hint.setText("" if element is not None else _hint(count))
        self.hint.setVisible(element is None)
        self._show_found(element)

    def _show_found(self, element: FlowElement | None) -> None:
        finding = None if element is None or element.mark is None else element.mark.finding
        self.found.setVisible(finding is not None)
        self.show_finding.setVisible(finding is not None)
        if finding is not None:
            said = words(finding, self._document.report.project)
            self.found.setText("\n".join(filter(None, (f"{said.title}: {said.what}", said.cure))))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the fields with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def go_to_first(self) -> None:
        """Put the focus into the first field."""
        controls = () if self.form is None else self.form.controls()
        control = next((one for one in controls if not one.isHidden() and one.isEnabled()), None)
        if control is not None:
            control.setFocus(Qt.FocusReason.ShortcutFocusReason)

    # Inside

    def _take(self, element: FlowElement | None, *, same: bool) -> None:
        """Show a record; the form is made anew only for another element."""
        if not same or self.form is None:
            self._remake(element)
        if element is not None and self.form is not None:
            self.form.refresh()
            self.form.set_value(self._own_draft(element))
            self.form.set_faults([])
        self._show_fault("")

    def _remake(self, element: FlowElement | None) -> None:
        if self.form is not None:
            self._place.removeWidget(self.form)
            self.form.hide()
            self.form.setParent(None)  # it is not to be found any more
            self.form.deleteLater()
            self.form = None
        if element is None:
            return
        context = NetworkContext(self._document.committed, self._root)
        part, theme = PARTS[element.kind], self._theme
        own = {("Channel", "to"): lambda spec: WayEditor(spec, theme, context)}
        self.form = RecordForm(theme, context, [part.record], own=own, skip=HIDDEN)
        self.form.changed.connect(self._changed)
        self._place.addWidget(self.form)
        self._watch_lines()

    def _root(self) -> Draft:
        return draft_in(draft_of(self._document.committed.flow))

    def _own_draft(self, element: FlowElement) -> Draft:
        parts = drafts_in(self._root().get(PARTS[element.kind].field))
        return next((part for part in parts if part.get("id") == element.id), {})

    def _changed(self) -> None:
        """Check what is entered; a line of text is entered when it is left, or by Enter."""
        self._watch_lines()
        self._check()
        if not isinstance(self.focusWidget(), QLineEdit | QPlainTextEdit):
            self._enter()

    def _watch_lines(self) -> None:
        """Watch the lines of the form for when they are left; rows are made late."""
        for control in () if self.form is None else self.form.controls():
            if isinstance(control, QLineEdit | QPlainTextEdit) and not control.property("watched"):
                control.setProperty("watched", True)
                EventWatch(control, self._on_line)

    def _on_line(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusOut:
            self._later.start(0)  # the line itself reads what is typed first
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._later.start(0)
            elif event.key() == Qt.Key.Key_Escape:
                self._take(self._element, same=True)
                self.left.emit()
                return True
        return False

    def _flow_with(self, element: FlowElement) -> tuple[Draft, str] | None:
        """Return the flow with what is entered, and the path of its record; None where nothing is changed."""
        field = PARTS[element.kind].field
        flow, value = dict(self._root()), ABSENT if self.form is None else self.form.value()
        parts = drafts_in(flow.get(field))
        place = next((index for index, part in enumerate(parts) if part.get("id") == element.id), None)
        if place is None or not isinstance(value, Mapping) or value == parts[place]:
            return None
        flow[field] = (*parts[:place], value, *parts[place + 1 :])
        return flow, f"{field}[{place}]"

    def _check(self) -> bool:
        """Show what is wrong with what is entered; returns whether it can be taken."""
        made = None if self._element is None else self._flow_with(self._element)
        faults = [] if made is None else FLOW.faults(self._document.committed, made[0])
        self._say(faults, "" if made is None else made[1])
        return made is not None and not faults

    def _enter(self) -> None:
        """Make what was entered one undo step, if nothing is wrong with it."""
        element = self._element
        if element is None or not self._check():
            return
        made = self._flow_with(element)
        if made is not None:
            self._commit(element, made[0])

    def _say(self, faults: Sequence[Fault], path: str) -> None:
        """Show faults at their fields, and those elsewhere below the form."""
        own = [fault for fault in faults if fault.path.startswith(path)]
        loose = [fault for fault in faults if fault not in own]
        field, place = [*path.split("["), ""][:2]
        inner = inside(inside(own, field), f"[{place}") if path else []
        if self.form is not None:
            loose += self.form.set_faults(inner)
        self._show_fault("\n".join(str(fault) for fault in loose))

    def _show_fault(self, text: str) -> None:
        self.fault.setText(text)
        self.fault.setVisible(bool(text))

    def _commit(self, element: FlowElement, flow: Value) -> None:
        document, what = self._document, PARTS[element.kind].noun.lower()

        def make() -> Edited:
            return Edited(FLOW.edited(document.committed, flow).project, f"Change {what} {element.name}")

        self._show_fault(commit(document, make))

    def _show_finding(self) -> None:
        if self._element is not None and self._element.mark is not None:
            self.finding_wanted.emit(self._element.mark.finding.key)


def _title(element: FlowElement | None, count: int) -> str:
    if element is not None:
        return f"{PARTS[element.kind].noun} {element.name}"
    return "Nothing selected" if count == 0 else f"{count} selected"


def _hint(count: int) -> str:
    if count == 0:
        return "Select an element to see its fields."
    return "Select one element alone to change its fields."
