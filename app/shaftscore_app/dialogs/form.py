"""A dialog about a part of the project: its form, checked while it is being filled in, and one undo step."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from shaftscore.edits import Edited
from shaftscore.edits.drafts import DraftPart
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.forms.draft import Absent, Value
from shaftscore_app.forms.editors import FieldEditor
from shaftscore_app.forms.flow_form import FlowForm
from shaftscore_app.forms.listing import ListEditor
from shaftscore_app.forms.stacks_form import StacksForm
from shaftscore_app.forms.titles import Titles
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.dialog_body import room_of
from shaftscore_app.widgets.scrolling import bring_into_view, upright_scroll

APPLY = "OK"

ROOM = 0.8
"""Share of the screen's height that a form may take."""


class FormDialog(Dialog):
    """Edits a part; nothing changes before the button is pressed, then it is one step."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        *,
        part: DraftPart,
        editor: FieldEditor,
        titles: Titles,
        starter: Value = None,
    ) -> None:
        """Open a part in its editor; starter: the draft to begin with where the part is absent."""
        super().__init__(parent, theme, titles.title, titles.heading)
        self._document, self._part, self.editor, self._titles = document, part, editor, titles
        draft = part.draft(document.committed)
        self._was_there = draft is not None
        if titles.absent and not self._was_there:
            self.say(titles.absent, muted=True)
        editor.set_value(draft if self._was_there else starter)
        self.body.addWidget(self._scrolled(editor), 1)
        if titles.caution:
            self.say(titles.caution, muted=True)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self._fault.hide()
        removal = (Button(titles.removal, self._remove, stays=True),) if self._may_go() else ()
        self.set_buttons((*removal, Button("Cancel"), Button(APPLY, self.apply, default=True, stays=True)))
        self.button(APPLY).setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a click leaves the field as it is
        editor.changed.connect(self.check)
        self._take_size()
        self.check()
        first = (
            editor
            if editor.focusProxy()
            else next((c for c in editor.controls() if not c.isHidden()), editor)
        )
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def fault(self) -> str:
        """Why it cannot be applied, as shown below the form."""
        return self._fault.text()

    def add_remark(self, text: str) -> None:
        """Add a paragraph above the form."""
        label = self.say(text, muted=True)
        self.body.removeWidget(label)
        self.body.insertWidget(0, label)

    def go_to(self, path: str) -> None:
        """Put the focus into the field of a path of the part, and bring it into view."""
        field = self.editor.field_at(path)
        field.setFocus(Qt.FocusReason.OtherFocusReason)
        bring_into_view(field)

    def check(self) -> None:
        """Look at what is in the form now, and say at its fields what is wrong."""
        loose = self.editor.set_faults(self._part.faults(self._document.committed, self._draft()))
        self._say("\n".join(str(fault) for fault in loose))

    def apply(self) -> None:
        """Make the step, or go to what is wrong."""
        unread = self.editor.unread()  # first: a field that is left drops what cannot be read
        if unread:
            self._say(unread)
            return
        self.setFocus()  # a field that is being typed in enters its value
        self.check()
        draft, project = self._draft(), self._document.committed
        faults = self._part.faults(project, draft)
        if faults:
            self._say(self.fault or _count_text(len(faults)))
            self._go_to_fault()
            return
        self._finish(lambda: self._part.edited(project, draft))

    # Inside

    def _draft(self) -> Value:
        value = self.editor.value()
        return self._usual() if isinstance(value, Absent) else value

    def _usual(self) -> Value:
        """Return the draft of a part in which nothing differs from what is usual."""
        return () if isinstance(self._part.draft(self._document.committed), tuple) else {}

    def _may_go(self) -> bool:
        return bool(self._titles.removal) and self._was_there

    def _remove(self) -> None:
        self._finish(lambda: self._part.edited(self._document.committed, None))

    def _finish(self, make: Callable[[], Edited]) -> None:
        fault = commit(self._document, make)
        self._say(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)

    def _say(self, text: str) -> None:
        self._fault.setText(text)
        self._fault.setVisible(bool(text))

    def _go_to_fault(self) -> None:
        faulty = [control for control in self.editor.controls() if control.property("fault") is True]
        if faulty:
            faulty[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _scrolled(self, editor: FieldEditor) -> QWidget:
        """Let a form that is higher than the screen scroll."""
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, self._theme.px(12), 0)
        column.addWidget(editor, 1)
        if not isinstance(editor, ListEditor | FlowForm | StacksForm):
            column.addStretch(1000)  # the form takes no more height than it needs
        self._scroll = upright_scroll(inner)
        bar = self._scroll.verticalScrollBar().sizeHint().width()
        least = min(inner.minimumSizeHint().width() + bar, room_of(self).width() - 2 * self._theme.px(24))
        self._scroll.setMinimumWidth(least)
        return self._scroll

    def _take_size(self) -> None:
        room = (self.screen() or QApplication.primaryScreen()).availableSize()
        width, height = (self._theme.px(side) for side in self._titles.size)
        self.resize(QSize(min(width, round(room.width() * 0.9)), min(height, round(room.height() * ROOM))))


def _count_text(count: int) -> str:
    """Return how many values are invalid, as a sentence."""
    if count == 1:
        return "1 value is invalid; it is highlighted."
    return f"{count} values are invalid; they are highlighted."
