"""The left column of the Program maker: the places of the lanes, the size of their grid, and the brush."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from shaftscore.model import LaneGrid
from shaftscore_app.document.binding import show
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_brush import BrushList
from shaftscore_app.views.program_lanes import LanePlaces
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import HINT, PLACE_HINT
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import whole_number


class LanesColumn(QWidget):
    """The column.

    Signals: size_entered() when other rows or columns were entered.
    """

    size_entered = Signal()

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Make the column of a session."""
        super().__init__()
        self._theme = theme
        self.lanes, self.brush = LanePlaces(session, theme), BrushList(session, theme)
        self.rows: Field[int] = Field(theme, "Rows", whole_number("rows", 1, 100))
        self.columns: Field[int] = Field(theme, "Columns", whole_number("columns", 1, 100))
        self._titles = (QLabel("Place the lanes"), QLabel("Paint with"))
        self._hints = (QLabel(PLACE_HINT), QLabel(HINT))
        self._build()

    def show_grid(self, grid: LaneGrid) -> None:
        """Show the size of a grid."""
        show(self.rows, grid.rows)
        show(self.columns, grid.columns)

    def make_room(self, *, hints: bool) -> None:
        """Show the hints where there is room for them."""
        for hint in self._hints:
            hint.setVisible(hints)

    def fit(self) -> None:
        """Take the size of the theme's text."""
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(12), px(10), px(12), px(10))
        self._column.setSpacing(px(6))
        for title in self._titles:
            title.setFont(theme.font(13, 600))
        for hint in self._hints:
            hint.setFont(theme.font(12))

    def _build(self) -> None:
        sizes = QHBoxLayout()
        for field in (self.rows, self.columns):
            field.setMinimumWidth(1)
            field.entered.connect(lambda value, field=field: self._enter(field, value))
            sizes.addWidget(field, 1)
        for hint in self._hints:
            hint.setObjectName("muted")
            hint.setWordWrap(True)
        self._column = QVBoxLayout(self)
        for widget in (self._titles[0], self._hints[0], self.lanes):
            self._column.addWidget(widget)
        self._column.addLayout(sizes)
        for item in (self._titles[1], self.brush, self._hints[1]):
            self._column.addWidget(item)
        self._column.addStretch(1)

    def _enter(self, field: Field[int], value: int) -> None:
        field.set_shown(value)
        self.size_entered.emit()
