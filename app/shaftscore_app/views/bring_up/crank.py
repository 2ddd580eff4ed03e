"""The left part of the Bring-up view: where to turn the machine to, the dial, and the two safety ticks."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from shaftscore.base.angles import ahead, wrap
from shaftscore.base.wording import degrees
from shaftscore_app.document import Document
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import (
    KEEP_CLEAR,
    POWER_OFF,
    SPRINGS,
    check_text,
    how_text,
    sheet_text,
    turn_text,
)
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import master_angle

MOST_TICKS, MOST_NUMBERS = 72, 24
"""More steps than this have no line, or no number, on the dial."""

LEAST_DIAL, MOST_DIAL = 140, 320
"""Least and greatest height of the dial, px of the design."""

BESIDE_DIAL = 330
"""Height of all else in the panel, px of the design; without room for the least dial too it has none."""


class BenchDial(QWidget):
    """The dial: steps, the way from the last check to this one, and a dot a check.

    Signals: chosen(place) when a dot was clicked.
    """

    chosen = Signal(int)

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Show the stops of a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Dial of the checks")
        session.changed.connect(self.update)
        theme.changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        """Return room for numbers and dots."""
        return QSize(self._theme.px(220), self._theme.px(220))

    def minimumSizeHint(self) -> QSize:
        """Return the least room in which dots are told apart."""
        return QSize(self._theme.px(LEAST_DIAL), self._theme.px(LEAST_DIAL))

    def dot(self, place: int) -> QPointF:
        """Return where the dot of a stop is."""
        return self._at(self._session.stops[place].angle_deg, self._radius + 8 * self._theme.u)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the check whose dot is clicked."""
        reach = 9 * self._theme.u
        for place in range(len(self._session.stops)):
            way = self.dot(place) - event.position()
            if math.hypot(way.x(), way.y()) <= reach:
                self.chosen.emit(place)
                return

    # Inside

    @property
    def _middle(self) -> QPointF:
        return QRectF(self.rect()).center()

    @property
    def _radius(self) -> float:
        return max(20.0, min(self.width(), self.height()) / 2 - 16 * self._theme.u)

    def _sign(self) -> float:
        return 1.0 if self._session.project.shaft.turn == "clockwise" else -1.0

    def _at(self, deg: float, radius: float) -> QPointF:
        """Return the place of an angle: 0 at the top, growing as the shaft turns, seen from the top."""
        turned = math.radians(deg) * self._sign()
        return self._middle + QPointF(math.sin(turned), -math.cos(turned)) * radius

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw rim, steps, dots, the way here, and the hand."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, u = self._theme, self._theme.u
        painter.setPen(QPen(theme.color("edge"), 1.25 * u))
        painter.setBrush(theme.color("field"))
        painter.drawEllipse(self._middle, self._radius, self._radius)
        self._paint_steps(painter)
        for place in range(len(self._session.stops)):
            self._paint_dot(painter, place)
        self._paint_way(painter)

    def _paint_steps(self, painter: QPainter) -> None:
        theme, u, radius = self._theme, self._theme.u, self._radius
        starts = self._session.project.shaft.step_starts_deg
        here = self._session.stop
        painter.setPen(QPen(theme.color("line"), u))
        for tick in range(MOST_TICKS):
            painter.drawLine(self._at(5.0 * tick, radius - 2 * u), self._at(5.0 * tick, radius - 5 * u))
        if len(starts) > MOST_TICKS:
            return
        painter.setPen(QPen(theme.color("muted"), u))
        for start in starts:
            painter.drawLine(self._at(start, radius - 2 * u), self._at(start, radius - 12 * u))
        if len(starts) > MOST_NUMBERS:
            return
        for number, start in enumerate(starts, start=1):
            wide = ahead(start, starts[number % len(starts)]) or 360.0
            current = here is not None and here.step == number
            painter.setFont(theme.font(12, 600 if current else 400))
            painter.setPen(theme.color("accent" if current else "text"))
            middle = self._at(wrap(start + wide / 2), radius - 20 * u)
            box = QRectF(middle.x() - 20 * u, middle.y() - 10 * u, 40 * u, 20 * u)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(number))

    def _paint_dot(self, painter: QPainter, place: int) -> None:
        """Draw a dot: filled where something was seen, red where it differed, open where nothing was yet."""
        session, theme, u = self._session, self._theme, self._theme.u
        seen = session.check(place) is not None
        token = "error" if seen and session.has_difference(place) else "text" if seen else "panel"
        painter.setBrush(theme.color(token))
        painter.setPen(QPen(theme.color("edge" if not seen else token), 1.25 * u))
        radius = (5.5 if place == session.place else 4.0) * u
        painter.drawEllipse(self.dot(place), radius, radius)

    def _paint_way(self, painter: QPainter) -> None:
        """Draw the hand, and the arc from the check before in the running direction."""
        session, u = self._session, self._theme.u
        stop = session.stop
        if stop is None:
            return
        accent = self._theme.color("accent")
        before = session.stops[session.place - 1].angle_deg
        wide = ahead(before, stop.angle_deg)
        radius = self._radius * 0.62
        painter.setPen(QPen(accent, 2.5 * u))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if wide > 0.5:
            count = max(2, int(wide))
            arc = [self._at(before + wide * n / count, radius) for n in range(count + 1)]
            painter.drawPolyline(QPolygonF(arc))
            self._paint_head(painter, stop.angle_deg, radius)
        painter.setPen(QPen(accent, 2 * u))
        painter.drawLine(self._middle, self._at(stop.angle_deg, self._radius * 0.68))
        painter.setBrush(self._theme.color("text"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(self._middle, 4 * u, 4 * u)

    def _paint_head(self, painter: QPainter, deg: float, radius: float) -> None:
        """Draw the head of the arc's arrow."""
        u = self._theme.u
        tip = self._at(deg, radius)
        back = math.degrees(9 * u / radius)
        corners = [tip, self._at(deg - back, radius - 5 * u), self._at(deg - back, radius + 5 * u)]
        painter.setBrush(self._theme.color("accent"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawPolygon(QPolygonF(corners))


class CrankPanel(QWidget):
    """The panel: heading, dial, buttons, safety ticks, and a field for any other angle.

    Signals: table_wanted() when a file with a table of sightings shall be chosen.
    """

    table_wanted = Signal()

    def __init__(self, session: BringUpSession, document: Document, theme: Theme) -> None:
        """Show a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self.check, self.turn, self.how, self.sheet = QLabel(), QLabel(), QLabel(), QLabel()
        self.care = QLabel(KEEP_CLEAR)
        self.more = ViewChooser("Sheet", "Commands for the sheet, a table of sightings and the home angle")
        self.more.setText("Sheet")
        self.dial = BenchDial(session, theme)
        self.back, self.next = QPushButton("Back"), QPushButton("Next check")
        self.all = QPushButton("All as expected")
        self.power_off, self.springs = Check(theme, POWER_OFF, POWER_OFF), Check(theme, SPRINGS, SPRINGS)
        self.angle: Field[float] = Field(theme, "Check at another angle", master_angle(document))
        self._build()
        self._connect()
        self._fit()
        self.refresh()

    def refresh(self) -> None:
        """Show the session as it is now."""
        session = self._session
        self.check.setText(check_text(session))
        self.turn.setText(turn_text(session))
        self.how.setText(how_text(session.project) if session.stop is not None else "")
        self.sheet.setText(sheet_text(session))
        self.power_off.set_shown(session.power_off)
        self.springs.set_shown(session.springs_hooked)
        self.next.setEnabled(session.place + 1 < len(session.stops))
        self.back.setEnabled(session.place > 0)
        self.all.setEnabled(session.is_ready and session.stop is not None)
        self.next.setObjectName("wanted" if session.is_ready else "")

    def choices(self) -> list[tuple[str, Callable[[], object]]]:
        """Return what can be done with the sheet, as texts with what they do."""
        session, stop = self._session, self._session.stop
        found: list[tuple[str, Callable[[], object]]] = [("New sheet", session.begin_sheet)]
        if session.project.bring_up:
            date = session.project.bring_up[-1].date
            found.append((f"Remove the sheet of {date}", session.remove_sheet))
        found.append(("Paste a table of sightings", lambda: session.take_table(copied_text())))
        found.append(("Open a table of sightings…", self.table_wanted.emit))
        if stop is not None:
            at = stop.angle_deg
            found.append((f"Let {degrees(at)} be the home angle", lambda: session.set_home(at)))
        if session.project.home is not None:
            found.append(("Let the home angle be chosen", lambda: session.set_home(None)))
        return found

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep the keys of the field to itself."""
        if self.window().focusWidget() is self.angle:
            event.accept()
        else:
            event.ignore()

    def take_room(self, high: int) -> None:
        """Leave the dial out where the height, px, is too little for it beside the rest."""
        px = self._theme.px
        room = min(px(MOST_DIAL), high - px(BESIDE_DIAL))
        self.dial.setVisible(room >= px(LEAST_DIAL))
        self.dial.setFixedHeight(max(px(LEAST_DIAL), room))

    # Inside

    def _build(self) -> None:
        for label in (self.check, self.how, self.sheet, self.care):
            label.setObjectName("muted")
        for label in (self.check, self.turn, self.how, self.sheet, self.care):
            label.setWordWrap(True)
        for button in (self.back, self.next, self.all):
            button.setAutoDefault(False)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.back.setToolTip("Go to the check before (Backspace)")
        self.next.setToolTip("Go to the next check (Enter)")
        self.all.setToolTip("Tick every lane that is not ticked yet as expected (A)")
        self.next.setObjectName("wanted")
        self.angle.setToolTip("Add a check at another angle of the master shaft, and go there")
        column = QVBoxLayout(self)
        for label in (self.check, self.turn, self.how):
            column.addWidget(label)
        column.addWidget(self.dial)
        row = QHBoxLayout()
        row.addWidget(self.back)
        row.addWidget(self.next, 1)
        column.addLayout(row)
        for widget in (self.power_off, self.springs, self.care):
            column.addWidget(widget)
        other = QGridLayout()
        self._other = QLabel("Other angle")
        other.addWidget(self._other, 0, 0)
        other.addWidget(self.angle, 0, 1)
        column.addLayout(other)
        row = QHBoxLayout()
        row.addWidget(self.sheet, 1)
        row.addWidget(self.more, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(row)
        column.addStretch(1)
        self._column = column

    def _connect(self) -> None:
        session = self._session
        session.changed.connect(self.refresh)
        self._theme.changed.connect(self._fit)
        self.back.clicked.connect(lambda: session.go_by(-1))
        self.next.clicked.connect(lambda: session.go_by(1))
        self.all.clicked.connect(session.see_all)
        self.power_off.chosen.connect(session.set_power_off)
        self.springs.chosen.connect(session.set_springs_hooked)
        self.dial.chosen.connect(session.go)
        self.angle.entered.connect(self._go_to)
        self.more.clicked.connect(lambda: self.more.offer(self.choices()))

    def _go_to(self, deg: float) -> None:
        self.angle.set_shown(None)
        self._session.go_to_angle(wrap(deg))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.check.setFont(theme.font(13))
        self.turn.setFont(theme.font(24, 600))
        self.more.fit(theme)
        for muted in (self.how, self.sheet, self.care, self._other):
            muted.setFont(theme.font(12))
        for button in (self.back, self.next, self.all):
            button.setFont(theme.font(13))
            button.setMinimumHeight(px(32 if button is not self.all else 26))
        for box in (self.power_off, self.springs):
            box.setFont(theme.font(13))
        for button in (self.back, self.next):
            button.setIconSize(QSize(px(16), px(16)))
        self.back.setIcon(theme.icon("step-back", 16))
        self.next.setIcon(theme.icon("step-forward", 16))
        self._column.setContentsMargins(px(14), px(12), px(14), px(12))
        self._column.setSpacing(px(8))
