"""The start page: it is in the diagram's place as long as there is no machine."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QLabel, QSizePolicy, QVBoxLayout, QWidget

from shaftscore_app.theme import Theme

WIDTH = 420
FOOT = (
    "Turning parts pinch, springs store energy, stalled motors grow hot. Cut the power before you reach in; "
    "guard what visitors and children can reach; follow local codes and licensed practice."
)


class StartPage(QWidget):
    """The page.

    Signals: new_wanted(), sample_wanted() (the person chooses which), open_wanted(), recent_wanted(path).
    """

    new_wanted = Signal()
    sample_wanted = Signal()
    open_wanted = Signal()
    recent_wanted = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Make the page without recent files."""
        super().__init__()
        self._theme = theme
        self.setAutoFillBackground(True)
        self._title = QLabel("Start with what your machine must do")
        self._foot = QLabel(FOOT)
        self._foot.setObjectName("muted")
        self._foot.setWordWrap(True)
        self._recent_title = QLabel("Recent files")
        self._recent_title.setObjectName("muted")
        self.new = BigButton(
            theme, "turn-table", "Write a state table", "Steps down, lanes across; paste from a spreadsheet"
        )
        self.sample = BigButton(
            theme, "crank", "Start from a sample", "A machine that works, to change into yours"
        )
        self.open = BigButton(theme, "open", "Open a file", "Or drop one here")
        self.new.clicked.connect(self.new_wanted)
        self.sample.clicked.connect(self.sample_wanted)
        self.open.clicked.connect(self.open_wanted)
        self._recent = QVBoxLayout()
        self._build()
        theme.changed.connect(self._fit)
        self._fit()

    def set_recent(self, paths: list[Path]) -> None:
        """List recent files, the newest first."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.deleteLater()
        self._recent_title.setVisible(bool(paths))
        for path in paths[:5]:
            button = BigButton(self._theme, "", path.name, str(path.parent))
            button.clicked.connect(lambda _checked=False, chosen=path: self.recent_wanted.emit(chosen))
            self._recent.addWidget(button)

    def _build(self) -> None:
        self._column = QWidget()
        column = QVBoxLayout(self._column)
        column.setContentsMargins(0, 0, 0, 0)
        for widget in (self._title, self.new, self.sample, self.open, self._recent_title):
            column.addWidget(widget)
        column.addLayout(self._recent)
        column.addWidget(self._foot)
        self._inner = column
        outer = QVBoxLayout(self)
        outer.addStretch(1)
        outer.addWidget(self._column, 0, Qt.AlignmentFlag.AlignHCenter)
        outer.addStretch(1)

    def _fit(self) -> None:
        theme = self._theme
        self._column.setFixedWidth(theme.px(WIDTH))
        self._inner.setSpacing(theme.px(6))
        self._title.setFont(theme.font(15, 600))
        self._title.setContentsMargins(theme.px(12), 0, 0, theme.px(6))
        self._recent_title.setFont(theme.font(12))
        self._recent_title.setContentsMargins(theme.px(12), theme.px(8), 0, 0)
        self._foot.setFont(theme.font(12))
        self._foot.setContentsMargins(theme.px(12), theme.px(12), theme.px(12), 0)
        self._foot.setMinimumHeight(self._foot.heightForWidth(theme.px(WIDTH)))
        palette = self.palette()
        palette.setColor(self.backgroundRole(), theme.color("panel"))
        self.setPalette(palette)


class BigButton(QAbstractButton):
    """A row with icon, title and one line."""

    def __init__(self, theme: Theme, icon: str, title: str, line: str) -> None:
        """Make a row; without an icon it is lower."""
        super().__init__()
        self._theme, self._icon_name, self._line = theme, icon, line
        self.setText(title)
        self.setAccessibleName(title)
        self.setAccessibleDescription(line)
        self.setToolTip(f"{title}: {line}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def sizeHint(self) -> QSize:
        """Return the height of a row."""
        return QSize(self._theme.px(WIDTH), self._theme.px(56 if self._icon_name else 40))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw frame, icon, title and line."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, px = self._theme, self._theme.px
        self._draw_frame(painter)
        left = px(12)
        if self._icon_name:
            painter.drawPixmap(
                px(14), (self.height() - px(20)) // 2, theme.pixmap(self._icon_name, 20, "accent")
            )
            left = px(48)
        place = self.rect().adjusted(left, px(4), -px(12), -px(4))
        painter.setFont(theme.font(13, 600))
        painter.setPen(theme.color("text"))
        half = place.height() // 2
        top = place.adjusted(0, 0, 0, -half)
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, self.text())
        painter.setFont(theme.font(12))
        painter.setPen(theme.color("muted"))
        fitted = painter.fontMetrics().elidedText(self._line, Qt.TextElideMode.ElideMiddle, place.width())
        below = place.adjusted(0, half + px(1), 0, 0)
        painter.drawText(below, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, fitted)

    def _draw_frame(self, painter: QPainter) -> None:
        theme = self._theme
        lit = self.underMouse() or self.isDown()
        focus = self.hasFocus()
        painter.setPen(theme.color("accent" if focus else "line"))
        if not self._icon_name and not focus:
            painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.color("hover" if lit else "field" if self._icon_name else "panel"))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -2, -2), theme.px(5), theme.px(5))
