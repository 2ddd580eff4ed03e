"""The head of the Program maker: what frames are made from, what can be done with them, which part is shown.

Where there is little room, menus take the place of the buttons.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import whole_number

SOURCES = ("Pictures", "Truth table", "Counting sequence", "Pasted cells", "Counter")
PAGES = ("Lanes", "Frames", "Meaning", "Preview", "Result")


@dataclass(frozen=True)
class FrameAction:
    """A button of the head: its text, what it does in a sentence, and what does it."""

    text: str
    tip: str
    does: Callable[[], object]


class ProgramHead(QWidget):
    """The head.

    Signals: source_wanted(place) when a source of `SOURCES` was chosen; page_wanted(place) when a part of
    `PAGES` was.
    """

    source_wanted = Signal(int)
    page_wanted = Signal(int)

    def __init__(self, theme: Theme, actions: Sequence[FrameAction]) -> None:
        """Make the head; actions: what can be done with frames."""
        super().__init__()
        self._theme = theme
        self.sources = _exclusive(self, SOURCES)
        self.pages = _exclusive(self, PAGES)
        self.pages[1].setChecked(True)
        self.buttons = {action.text: _pushed(action) for action in actions}
        self.count: Field[int] = Field(theme, "Frames", whole_number("", 1, 720))
        self.source_chooser = ViewChooser("Make from", "Source of the frames")
        self.page_chooser = ViewChooser("Part shown", "Which part of the Program maker is shown")
        self.frame_chooser = ViewChooser("Frame", "Commands for frames")
        self.counted, self._make_from, self._count_label = QLabel(), QLabel("Make from"), QLabel("Frames")
        self._shows_all = True
        self._build()
        self._connect()

    @property
    def page(self) -> int:
        """Place in `PAGES` of the part that is shown where there is no room for all."""
        return next(number for number, button in enumerate(self.pages) if button.isChecked())

    def show_source(self, source: int) -> None:
        """Mark a source, by its place in `SOURCES`."""
        self.sources[source].setChecked(True)
        self.source_chooser.setText(SOURCES[source])

    def make_room(self, *, shows_all: bool, is_slim: bool, counts: bool) -> None:
        """Show as much as there is room for; counts: whether the frames are counted in words."""
        self.page_chooser.setText(PAGES[self.page])
        for chooser in self._choosers:
            chooser.setVisible(is_slim)
        for shown in (self._make_from, *self.sources, *self.buttons.values()):
            shown.setVisible(not is_slim)
        for button in self.pages:
            button.setVisible(not shows_all and not is_slim)
        self.counted.setVisible(counts)
        if shows_all != self._shows_all:
            row = self._second if shows_all else self._page_row
            for widget in (self._count_label, self.count):
                row.addWidget(widget)
        self._shows_all = shows_all

    def fit(self) -> None:
        """Take the size of the theme's text."""
        theme, px = self._theme, self._theme.px
        self._upper.setContentsMargins(px(12), px(6), px(12), px(6))
        self._upper.setSpacing(px(6))
        self._page_row.setContentsMargins(px(12), 0, px(12), px(4))
        for row in (self._first, self._second, self._page_row):
            row.setSpacing(px(6))
        words = (self._make_from, self._count_label, self.counted)
        for widget in (*words, *self.sources, *self.pages, *self.buttons.values()):
            widget.setFont(theme.font(12))
        self.count.setFixedWidth(px(44))
        for chooser in self._choosers:
            chooser.fit(theme)

    # Inside

    @property
    def _choosers(self) -> tuple[ViewChooser, ...]:
        return (self.source_chooser, self.page_chooser, self.frame_chooser)

    def _build(self) -> None:
        self._first, self._second, self._page_row = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        self.frame_chooser.setText("Frame")
        for label in (self._make_from, self._count_label, self.counted):
            label.setObjectName("muted")
        self.counted.setMinimumWidth(1)
        for widget in (self._make_from, *self.sources, *self._choosers):
            self._first.addWidget(widget)
        self._first.addStretch(1)
        self._first.addWidget(self.counted)
        for push in self.buttons.values():
            self._second.addWidget(push)
        self._second.addStretch(1)
        self._second.addWidget(self._count_label)
        self._second.addWidget(self.count)
        for button in self.pages:
            self._page_row.addWidget(button)
        self._page_row.addStretch(1)
        for chooser in self._choosers:
            chooser.hide()
        self._upper = QVBoxLayout()
        self._upper.addLayout(self._first)
        self._upper.addLayout(self._second)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._upper)
        column.addLayout(self._page_row)

    def _connect(self) -> None:
        for number, button in enumerate(self.sources):
            button.clicked.connect(partial(self._want_source, number))
        for number, button in enumerate(self.pages):
            button.clicked.connect(partial(self._want_page, number))
        self.source_chooser.clicked.connect(self._offer_sources)
        self.page_chooser.clicked.connect(self._offer_pages)
        self.frame_chooser.clicked.connect(self._offer_frames)

    def _offer_sources(self) -> None:
        self.source_chooser.offer((name, partial(self._want_source, n)) for n, name in enumerate(SOURCES))

    def _offer_pages(self) -> None:
        self.page_chooser.offer((name, partial(self._want_page, n)) for n, name in enumerate(PAGES))

    def _offer_frames(self) -> None:
        self.frame_chooser.offer((text, button.click) for text, button in self.buttons.items())

    def _want_source(self, number: int, _on: bool = False) -> None:
        self.source_wanted.emit(number)

    def _want_page(self, number: int, _on: bool = False) -> None:
        self.page_wanted.emit(number)


def _pushed(action: FrameAction) -> QPushButton:
    """Make the button of an action."""
    push = QPushButton(action.text)
    push.setToolTip(action.tip)
    push.setAutoDefault(False)
    push.setMinimumWidth(1)
    push.clicked.connect(action.does)
    return push


def _exclusive(parent: QWidget, names: Sequence[str]) -> list[QToolButton]:
    """Make buttons of which one at a time is chosen."""
    group, made = QButtonGroup(parent), []
    for name in names:
        button = QToolButton()
        button.setText(name)
        button.setCheckable(True)
        button.setObjectName("chip")
        group.addButton(button)
        made.append(button)
    return made
