"""What stands in the timing diagram of a machine without lanes."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QWidget

from shaftscore_app.document import Document
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.views.empty_page import EmptyPage

TEXT = (
    "Each lane is a strip of this diagram. Add a lane, or paste a table with its heads into the state table."
)

WIDE = 420
"""Width of its words, px of the design, as on the start page."""


class EmptyDiagram(EmptyPage):
    """The page; it stays in the middle of the diagram, and is there only while there are no lanes."""

    def __init__(self, document: Document, theme: Theme, diagram: QWidget) -> None:
        """Stand on a diagram."""
        super().__init__(theme)
        self._document, self._diagram = document, diagram
        self.setParent(diagram)
        EventWatch(diagram, self._on_event)
        for signal in (document.project_changed, document.file_changed):
            signal.connect(self._show)
        theme.changed.connect(self._place)
        self._show()

    def _show(self) -> None:
        action = first_lane(self._document)
        self.say(TEXT, action)
        self.setVisible(action is not None and self._document.is_started)
        self._place()

    def _on_event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize:
            self._place()
        return False

    def _place(self) -> None:
        width = min(self._theme.px(WIDE), self._diagram.width())
        height = min(self.heightForWidth(width), self._diagram.height())
        left, top = (self._diagram.width() - width) // 2, (self._diagram.height() - height) // 2
        self.setGeometry(left, top, width, height)
