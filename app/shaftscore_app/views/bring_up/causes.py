"""The right part of the Bring-up view: how many sightings differ, which they are, and what explains them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore.base.wording import degrees
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import code_of, differences_text, expected_text, seen_text
from shaftscore_app.widgets.scrolling import upright_scroll

HINT = "Turn to each check and tick what every lane does. What differs, and what explains it, is shown here."

MOST_LISTED = 40
"""So many differences are listed; of more the rest are counted."""


class CausesPanel(QWidget):
    """The panel."""

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Show a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self.head, self.detail, self.more = QLabel(), QLabel(), QLabel()
        self.links: list[QPushButton] = []
        self._shown: tuple[object, ...] = ()
        self._build()
        session.changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Show the session as it is now."""
        session = self._session
        self.head.setText(differences_text(session))
        self.detail.setText("" if session.seen_count else HINT)
        self.detail.setVisible(not session.seen_count)
        wrong = session.differences()
        if self._shown == wrong:
            return
        self._shown = wrong
        for link in self.links:
            link.deleteLater()
        self.links = [self._link(place, lane_id) for place, lane_id in wrong[:MOST_LISTED]]
        for number, link in enumerate(self.links):
            self._list.insertWidget(number, link)
        self.more.setText(f"and {len(wrong) - MOST_LISTED} more" if len(wrong) > MOST_LISTED else "")
        self.more.setVisible(bool(self.more.text()))

    # Inside

    def _link(self, place: int, lane_id: str) -> QPushButton:
        """Return the line of a difference; a click goes to its check."""
        session = self._session
        due = expected_text(session.expected(lane_id, place), resting=session.is_resting(lane_id, place))
        seen = seen_text(session.sighting(lane_id, place))
        at = degrees(session.stops[place].angle_deg)
        link = QPushButton(f"{code_of(session.project, lane_id)} at {at}: seen {seen}, expected {due}")
        link.setObjectName("link")
        link.setAutoDefault(False)
        link.setFont(self._theme.font(12))
        link.clicked.connect(lambda: self._go(place, lane_id))
        return link

    def _go(self, place: int, lane_id: str) -> None:
        self._session.choose(lane_id)
        self._session.go(place)

    def _build(self) -> None:
        inner = QWidget()
        self._column = QVBoxLayout(inner)
        for label in (self.head, self.detail, self.more):
            label.setWordWrap(True)
            self._column.addWidget(label)
        self.detail.setObjectName("muted")
        self.more.setObjectName("muted")
        self._list = QVBoxLayout()
        self._column.addLayout(self._list)
        self._column.addStretch(1)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(upright_scroll(inner))
        self.more.hide()
        self.detail.hide()
        self._list.setAlignment(Qt.AlignmentFlag.AlignLeft)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(12), px(12), px(12), px(12))
        self._column.setSpacing(px(6))
        self._list.setSpacing(px(2))
        self.head.setFont(theme.font(14, 600))
        for label in (self.detail, self.more, *self.links):
            label.setFont(theme.font(12))
