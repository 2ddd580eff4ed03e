"""The rows of Properties: label, fields, figures; and headings with a line under them."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore_app.theme import Theme

LABEL_WIDTH = 76
ROW_HEIGHT = 24


class Figure(QLabel):
    """A number that is only shown; it can be selected and copied."""

    def __init__(self, name: str, label: QLabel | None = None) -> None:
        """Make a figure with an accessible name, and the label that stands before it."""
        super().__init__()
        self.setAccessibleName(name)
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._label = label

    def set_row(self, label: str, shown: bool) -> None:
        """Name the row, and show or hide figure and label."""
        self.setVisible(shown)
        if self._label is not None:
            self._label.setText(label)
            self._label.setVisible(shown)

    def shown(self) -> str:
        """Return the text shown."""
        return self.text()

    def set_shown(self, text: str) -> None:
        """Show a text."""
        self.setText(text)
        self.setToolTip(text)


class Fold(QToolButton):
    """A heading whose rows can be folded away."""

    def __init__(self, theme: Theme, title: str) -> None:
        """Begin folded."""
        super().__init__()
        self._theme = theme
        self.rows: list[QWidget] = []
        self.setObjectName("fold")
        self.setText(title)
        self.setCheckable(True)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.toggled.connect(lambda _open: self.apply())
        self.apply()

    def apply(self) -> None:
        """Show or hide the rows."""
        title, opened = self.text(), self.isChecked()
        self.setIcon(self._theme.icon("chevron-down" if opened else "chevron-right", 14))
        self.setAccessibleName(f"{title}, {'open' if opened else 'folded'}")
        self.setToolTip(f"{'Fold' if opened else 'Show'} {title[:1].lower()}{title[1:]}")
        for row in self.rows:
            row.setVisible(opened)


class PropertyForm(QWidget):
    """A column of rows in a grid of six columns; the first holds the labels."""

    def __init__(self, theme: Theme) -> None:
        """Begin with a heading."""
        super().__init__()
        self._theme = theme
        self._next = 0
        self._sized: list[tuple[QWidget, float, int]] = []
        self._labels: list[QLabel] = []
        self._folds: list[Fold] = []
        self._fold: Fold | None = None
        self._said: QLabel | None = None
        self._column = QVBoxLayout(self)
        self.heading = self._made_label("", 15, 600)
        self.heading.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.remark = self._made_label("muted")
        self.lock = QToolButton()
        self.lock.setObjectName("plain")
        self.lock.setCheckable(True)
        self.lock.setAccessibleName("Locked")
        self.lock.hide()
        top = QHBoxLayout()
        top.addWidget(self.heading, 1)
        top.addWidget(self.remark)
        top.addWidget(self.lock)
        self._column.addLayout(top)
        self._grid = QGridLayout()
        self._column.addLayout(self._grid)
        self._column.addStretch(1)
        for column in range(1, 5):
            self._grid.setColumnStretch(column, 1)
        theme.changed.connect(self.fit)

    def row(self, label: str, *widgets: QWidget, spans: tuple[int, ...] = ()) -> QLabel:
        """Add a row; spans: columns of four that each widget takes (equal shares if left out)."""
        text = self._made_label("muted")
        text.setText(label)
        self._grid.addWidget(text, self._next, 0)
        column = 1
        for widget, span in zip(widgets, spans or self._shares(len(widgets)), strict=True):
            self._grid.addWidget(widget, self._next, column, 1, span)
            self._sized.append((widget, 12, 400))
            column += span
        self._take_in(text, *widgets)
        self._next += 1
        return text

    def figure(self, label: str) -> Figure:
        """Add a row with one figure."""
        text = self._made_label("muted")
        text.setText(label)
        figure = Figure(label, text)
        figure.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._grid.addWidget(text, self._next, 0, 1, 3)
        self._grid.addWidget(figure, self._next, 1, 1, 4)
        self._sized.append((figure, 12, 400))
        self._next += 1
        return figure

    def heads(self, *texts: str) -> None:
        """Add a row of small column heads over fields and figures."""
        for column, text in zip((1, 3, 4), texts, strict=True):
            head = self._made_label("muted", 11)
            head.setText(text)
            side = Qt.AlignmentFlag.AlignLeft if column == 1 else Qt.AlignmentFlag.AlignRight
            head.setAlignment(side | Qt.AlignmentFlag.AlignBottom)
            self._grid.addWidget(head, self._next, column)
        self._next += 1

    def section(self, title: str = "") -> tuple[QLabel, QLabel]:
        """Add a heading with a remark at its right and a line below; gives both labels."""
        self._fold = None
        name, remark = self._made_label("", 12, 600), self._made_label("muted")
        name.setText(title)
        remark.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        row = QHBoxLayout()
        row.addWidget(name)
        row.addWidget(remark, 1)
        self._grid.addLayout(row, self._next, 0, 1, 5)
        line = QFrame()
        line.setObjectName("line")
        line.setFixedHeight(1)
        self._grid.addWidget(line, self._next + 1, 0, 1, 5)
        self._next += 2
        return name, remark

    def fold(self, title: str) -> Fold:
        """Add a heading whose rows, all that follow up to the next heading, can be folded away."""
        self._fold = None
        fold = Fold(self._theme, title)
        self._grid.addWidget(fold, self._next, 0, 1, 5, Qt.AlignmentFlag.AlignLeft)
        self._sized.append((fold, 12, 600))
        self._next += 1
        self._folds.append(fold)
        self._fold = fold
        return fold

    def is_folded(self, widget: QWidget) -> bool:
        """Return whether a widget stands under a heading that is folded."""
        return any(widget in fold.rows and not fold.isChecked() for fold in self._folds)

    def fault_row(self) -> QLabel:
        """Add a row that says why something cannot be; it is not there while nothing is said."""
        said = self._made_label("fault")
        said.setWordWrap(True)
        said.hide()
        self._grid.addWidget(said, self._next, 0, 1, 5)
        self._next += 1
        self._said = said
        return said

    def say(self, text: str) -> None:
        """Show why something cannot be; an empty text removes it."""
        if self._said is not None:
            self._said.setText(text)
            self._said.setVisible(bool(text))

    def wide(self, widget: QWidget) -> None:
        """Add a widget over all columns."""
        self._grid.addWidget(widget, self._next, 0, 1, 5)
        self._sized.append((widget, 12, 400))
        self._take_in(widget)
        self._next += 1

    def fit(self) -> None:
        """Take sizes and fonts from the theme."""
        px = self._theme.px
        for widget, size, weight in self._sized:
            widget.setFont(self._theme.font(size, weight))
        self._column.setContentsMargins(px(12), px(10), px(12), px(12))
        self._column.setSpacing(px(6))
        self._grid.setHorizontalSpacing(px(6))
        self._grid.setVerticalSpacing(px(4))
        self._grid.setColumnMinimumWidth(0, px(LABEL_WIDTH))
        for fold in self._folds:
            fold.apply()
        for label in self._labels:
            label.setMinimumHeight(px(ROW_HEIGHT))  # not the row: one that is hidden takes no height
        self.lock.setIconSize(QSize(px(16), px(16)))

    # Inside

    def _take_in(self, *widgets: QWidget) -> None:
        """Let widgets belong to the heading above them."""
        if self._fold is not None:
            self._fold.rows += widgets
            self._fold.apply()

    def _shares(self, count: int) -> tuple[int, ...]:
        return {1: (4,), 2: (2, 2), 3: (2, 1, 1), 4: (1, 1, 1, 1)}[count]

    def _made_label(self, name: str, size: float = 12, weight: int = 400) -> QLabel:
        label = QLabel()
        label.setObjectName(name)
        if name != "fault":
            self._labels.append(label)
        label.setFont(self._theme.font(size, weight))
        self._sized.append((label, size, weight))
        return label
