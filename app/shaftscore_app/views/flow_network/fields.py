"""The fields of what is selected in the network, and what is found about it.

The form is that of the record (`forms.record_form`). What is entered is checked at once; where nothing is
wrong it is one undo step, else the field says what is wrong and the project stays. Ids are made from names
and not shown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

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
from shaftscore_app.forms.record_form import RecordForm, fault_words
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

OWN: frozenset[Mark] = frozenset({("Gate", "state"), ("Gate", "reload"), ("Outlet", "expects")})
"""Fields that are each element's own: they are not shown for several."""

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

    Signals: finding_wanted(key) when a finding is to be shown; left() when Esc was pressed in a field;
    refused(sentence) when what was typed could not be taken and its field is gone.
    """

    finding_wanted = Signal(object)
    left = Signal()
    refused = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Show nothing yet."""
        super().__init__()
        self._document, self._theme = document, theme
        self._elements: tuple[FlowElement, ...] = ()
        self._project: object = None
        self.form: RecordForm | None = None
        self._faults = ""
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
        """Take the theme's sizes; the form is rebuilt."""
        theme, px = self._theme, self._theme.px
        self.title.setFont(theme.font(15, 600))
        for label in (self.hint, self.found, self.fault):
            label.setFont(theme.font(12))
        self.show_finding.setFont(theme.font(12))
        self._column.setContentsMargins(px(12), px(8), px(12), px(12))
        self._column.setSpacing(px(8))
        self.setFixedWidth(px(WIDTH))
        self._elements = ()

    @property
    def _element(self) -> FlowElement | None:
        """The element whose fields are shown: the last one selected, where all are of one kind."""
        kinds = {element.kind for element in self._elements}
        return self._elements[-1] if len(kinds) == 1 else None

    def show_elements(self, elements: tuple[FlowElement, ...]) -> None:
        """Show the fields of what is selected; of several of one kind what is changed goes to all."""
        self._take_typed()
        project, before = self._document.committed, [element.key for element in self._elements]
        same = [element.key for element in elements] == before
        self._elements = elements
        if not same or project is not self._project:
            self._take(same=same)
        self._project = project
        self.title.setText(_title(elements))
        hint = _hint(elements)
        self.hint.setText(hint)
        self.hint.setVisible(bool(hint))
        self._show_found(self._element if len(elements) == 1 else None)

    def _take_typed(self) -> None:
        """Take what was typed in a line that was left just now, before its form goes."""
        if self._later.isActive():
            self._later.stop()
            self._enter()
            if self._faults:
                self.refused.emit(f"{_title(self._elements)} is as before. {self._faults}")

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

    def _take(self, *, same: bool) -> None:
        """Show a record; the form is rebuilt only for other elements."""
        element = self._element
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
        skip = HIDDEN | OWN if len(self._elements) > 1 else HIDDEN
        self.form = RecordForm(theme, context, [part.record], own=own, skip=skip)
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
                by_enter = isinstance(control, QLineEdit)  # a text of several lines needs it itself
                EventWatch(control, partial(self._on_line, by_enter=by_enter))

    def _on_line(self, event: QEvent, *, by_enter: bool) -> bool:
        if event.type() == QEvent.Type.FocusOut:
            self._later.start(0)  # the line itself reads what is typed first
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if by_enter and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._later.start(0)
            elif event.key() == Qt.Key.Key_Escape:
                self._later.stop()
                self._take(same=True)
                self.left.emit()
                return True
        return False

    def _flow_with(self, element: FlowElement) -> tuple[Draft, str] | None:
        """Return the flow with what is entered, and the path of its record; None where nothing is changed."""
        field = PARTS[element.kind].field
        flow, value = dict(self._root()), ABSENT if self.form is None else self.form.value()
        parts, ids = drafts_in(flow.get(field)), {one.id for one in self._elements}
        place = next((index for index, part in enumerate(parts) if part.get("id") == element.id), None)
        if place is None or not isinstance(value, Mapping) or value == parts[place]:
            return None
        before = parts[place]
        flow[field] = tuple(
            _changed_alike(part, before, value) if part.get("id") in ids else part for part in parts
        )
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
        said = [str(fault) for fault in loose] + [fault_words([self._record], fault) for fault in inner]
        self._faults = "; ".join(said)
        if self.form is not None:
            loose += self.form.set_faults(inner)
        self._show_fault("\n".join(str(fault) for fault in loose))

    @property
    def _record(self) -> type[Record]:
        """The record whose fields are shown."""
        return PARTS[ElementKind.SUPPLY if self._element is None else self._element.kind].record

    def _show_fault(self, text: str) -> None:
        self.fault.setText(text)
        self.fault.setVisible(bool(text))

    def _commit(self, element: FlowElement, flow: Value) -> None:
        document, noun, count = self._document, PARTS[element.kind].noun.lower(), len(self._elements)
        what = f"{noun} {element.name}" if count == 1 else wording.counted(count, noun)

        def make() -> Edited:
            return Edited(FLOW.edited(document.committed, flow).project, f"Change {what}")

        self._show_fault(commit(document, make))

    def _show_finding(self) -> None:
        element = self._element
        if element is not None and element.mark is not None:
            self.finding_wanted.emit(element.mark.finding.key)


def _changed_alike(part: Draft, before: Draft, after: Draft) -> Draft:
    """Return a record in which those fields are changed that differ between two others."""
    changed = [key for key in {**before, **after} if before.get(key, ABSENT) != after.get(key, ABSENT)]
    kept = {key: value for key, value in part.items() if key not in changed}
    return {**kept, **{key: after[key] for key in changed if key in after}}


def _title(elements: Sequence[FlowElement]) -> str:
    if len(elements) == 1:
        return f"{PARTS[elements[0].kind].noun} {elements[0].name}"
    if len({element.kind for element in elements}) == 1:
        return wording.counted(len(elements), PARTS[elements[0].kind].noun.lower())
    return f"{len(elements)} selected" if elements else "Nothing selected"


def _hint(elements: Sequence[FlowElement]) -> str:
    if not elements:
        return "Select an element to see its fields."
    if len(elements) == 1:
        return ""
    if len({element.kind for element in elements}) == 1:
        return f"What you change goes to all of them; the values shown are those of {elements[-1].name}."
    return "Select elements of one kind to change their fields."
