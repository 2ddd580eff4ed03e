"""The cards of the lanes with the mouse: one switch a lane, and a menu for what a switch cannot say.

Keys come from the view, so that they work wherever the focus is; the card of the chosen lane has a frame.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QContextMenuEvent,
    QFontMetricsF,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from shaftscore.model.bench import Sighting
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.bring_up.card_painting import CardLook, paint_card, segment_rects, switch_rect
from shaftscore_app.views.bring_up.card_places import CardPlaces, card_places, sections_of
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import code_of, expected_text, spoken_lane, spoken_stop
from shaftscore_app.widgets.menu import Menu

MOST_SEGMENTS = 6
"""A lane with more levels has a menu in the place of its switch."""


class LaneBoard(QWidget):
    """The drawing of all cards.

    Signals: measuring_wanted() when a value is to be typed for the chosen lane; seen(rect) when a place shall
    be scrolled to.
    """

    measuring_wanted = Signal()
    seen = Signal(object)

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Draw the lanes of a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self._look = DiagramStyle(theme)
        self._wide = 600
        self._said = ""
        self._told_stop = ""
        self.places = CardPlaces({}, (), (), 0.0, 0.0)
        self._laid: tuple[object, ...] = ()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        self.setAccessibleName("Lanes, what each did")
        EventWatch(self, self._on_event)
        session.changed.connect(self.follow)
        theme.changed.connect(self._restyle)

    def take_width(self, width: int) -> None:
        """Lay the cards into a width, px."""
        self._wide = width
        self._lay()

    def follow(self) -> None:
        """Show what has changed, and describe it to those who do not see it."""
        self._lay()
        session = self._session
        if session.lane_id is None or session.stop is None:
            return
        said, stop = spoken_lane(session, session.lane_id), spoken_stop(session)
        self.setAccessibleDescription(f"{stop} {said}")
        self.seen.emit(self.places.cards.get(session.lane_id, QRectF()))
        told = f"{stop} {said}" if stop != self._told_stop else said
        if told != self._said and session.is_ready:
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, told))
            session.spoken.emit(told)
        self._said, self._told_stop = said, stop

    def choose_beside(self, rows: int, columns: int) -> None:
        """Choose the lane beside the chosen one."""
        lane_id = self._session.lane_id
        if lane_id in self.places.cards:
            self._session.choose(self.places.beside(lane_id, rows, columns))

    def menu(self, lane_id: str) -> Menu:
        """Return the menu of a card."""
        session, menu = self._session, Menu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for level in session.levels(lane_id):
            menu.addAction(level, self._seeing(lane_id, level)).setEnabled(session.is_ready)
        menu.addSeparator()
        menu.addAction("Cannot see\tX", self._seeing(lane_id, None)).setEnabled(session.is_ready)
        menu.addAction("Type a measured value…\tM", self.measuring_wanted.emit).setEnabled(session.is_ready)
        clear = menu.addAction("Clear\tDel", lambda: session.clear(lane_id))
        clear.setEnabled(session.is_ready and session.is_seen(lane_id))
        return menu

    # Inside

    def _seeing(self, lane_id: str, sighting: Sighting) -> Callable[[], None]:
        return lambda: self._session.see(lane_id, sighting)

    def _lay(self) -> None:
        """Lay the cards again where lanes, their levels or the width have changed."""
        session, u = self._session, self._theme.u
        project = session.project
        key = (project.lanes, project.grid, self._wide, u)
        if len(key) != len(self._laid) or any(
            a is not b and a != b for a, b in zip(key, self._laid, strict=True)
        ):
            self._laid = key
            shown = [lane.id for lane in project.lanes if session.solution.lanes[lane.id].motion is not None]
            self.places = card_places(
                sections_of(project, shown), width=float(self._wide), least=self._least(shown), u=u
            )
            session.set_order(self.places.order)
            self.setMinimumHeight(round(self.places.height))
            self.setMinimumWidth(round(min(self.places.width, 4096.0 * u)))
        self.update()

    def _least(self, lane_ids: list[str]) -> float:
        """Return the width in which the levels of every lane can be read, px."""
        metrics, u = QFontMetricsF(self._theme.font(12, 600)), self._theme.u
        session = self._session
        codes = {code_of(session.project, lane_id) for lane_id in lane_ids}
        code = max((metrics.horizontalAdvance(code) for code in codes), default=0.0)
        widest = 0.0
        for levels in {session.levels(lane_id) for lane_id in lane_ids}:
            word = max((metrics.horizontalAdvance(level) for level in levels), default=0.0)
            head = code + metrics.horizontalAdvance("expected") + word + 36 * u
            count = len(levels) if len(levels) <= MOST_SEGMENTS else 1
            widest = max(widest, head, count * (word + 12 * u))
        return widest + 20 * u

    def look_of(self, lane_id: str) -> CardLook:
        """Return what the card of a lane shows."""
        session = self._session
        project, due = session.project, session.expected(lane_id)
        lane, levels = project.lane(lane_id), session.levels(lane_id)
        values = project.levels_of(lane)
        low, high = min(values.values(), default=0.0), max(values.values(), default=1.0)
        span = (high - low) or 1.0
        seen = session.sighting(lane_id)
        output = values.get(seen, low) if isinstance(seen, str) else seen if seen is not None else low
        resting = session.is_resting(lane_id)
        return CardLook(
            code_of(project, lane_id),
            lane.label,
            expected_text(due, resting=resting),
            levels,
            tuple((values[level] - low) / span for level in levels),
            0.0 if due is None else min(1.1, max(-0.1, (due.output_mm - low) / span)),
            "" if due is None else due.level,
            seen,
            min(1.1, max(-0.1, (output - low) / span)),
            session.is_seen(lane_id),
            session.differs(lane_id),
            resting,
            session.is_ready,
            lane_id == session.lane_id,
        )

    def _restyle(self) -> None:
        self._look.forget()
        self._lay()

    # Events

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the cards that are seen."""
        if self._session.stop is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        seen = QRectF(event.rect())
        painter.setFont(self._theme.font(13, 600))
        painter.setPen(self._theme.color("text"))
        for title, place in self.places.heads:
            if place.intersects(seen):
                painter.drawText(place, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, title)
        for lane_id, card in self.places.cards.items():
            if card.intersects(seen):
                shown = self.look_of(lane_id)
                paint_card(painter, self._look, card, shown, focused=True)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose a card; tick the level whose part of the switch is hit, or forget it where it was ticked."""
        lane_id = self.places.at(event.position())
        if lane_id is None or event.button() != Qt.MouseButton.LeftButton:
            return
        session = self._session
        session.choose(lane_id)
        card, levels, u = self.places.cards[lane_id], session.levels(lane_id), self._theme.u
        if not switch_rect(card, u).contains(event.position()):
            return
        if len(levels) > MOST_SEGMENTS or isinstance(session.sighting(lane_id), float):
            self.menu(lane_id).popup(self.mapToGlobal(event.position().toPoint()))
            return
        for level, rect in zip(levels, segment_rects(card, len(levels), u), strict=True):
            if rect.contains(event.position()):
                if session.sighting(lane_id) == level:
                    session.clear(lane_id)
                else:
                    session.see(lane_id, level)
                return

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Show the menu of a card: of the one under the mouse, or by its key of the chosen one."""
        by_mouse = event.reason() == QContextMenuEvent.Reason.Mouse
        lane_id = self.places.at(event.pos().toPointF()) if by_mouse else self._session.lane_id
        if lane_id is None or lane_id not in self.places.cards:
            return
        self._session.choose(lane_id)
        where = event.globalPos() if by_mouse else self.mapToGlobal(self._middle(lane_id))
        self.menu(lane_id).popup(where)

    def _middle(self, lane_id: str) -> QPoint:
        return self.places.cards[lane_id].center().toPoint()

    def _on_event(self, event: QEvent) -> bool:
        """Show the whole name of a lane, and what is expected of it, as its tooltip."""
        if not isinstance(event, QHelpEvent) or event.type() != QEvent.Type.ToolTip:
            return False
        lane_id = self.places.at(event.pos().toPointF())
        text = "" if lane_id is None or self._session.stop is None else spoken_lane(self._session, lane_id)
        QToolTip.showText(event.globalPos(), text, self)
        return True

    def sizeHint(self) -> QSize:
        """Return the room of all cards."""
        return QSize(self._wide, round(self.places.height))
