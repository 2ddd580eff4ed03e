"""The right part of the Bring-up view: how many sightings differ, and the causes that explain them, ranked.

The chosen cause is open: where to look, what to do, what would look the same, and its actions.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from shaftscore.bringup import AlikeCauses, LikelyCause, NextLook
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.ranking import CauseRanker
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import (
    ACTIONS,
    HINT,
    against_text,
    differences_text,
    explained_text,
    spoken_cause,
)
from shaftscore_app.widgets.scrolling import upright_scroll

NOT_LISTED = (
    "Not listed? Measure where a lane really changes, and enter it in Lane > Correct from measurements…"
)
SUGGEST = "Suggest a check that tells them apart"


class ShareBar(QWidget):
    """A bar that shows which share of the differences a cause explains."""

    def __init__(self, theme: Theme) -> None:
        """Show nothing yet."""
        super().__init__()
        self._theme, self._share, self._strong = theme, 0.0, False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_share(self, share: float, *, strong: bool) -> None:
        """Show a share, 0 to 1; strong: in the accent colour."""
        self._share, self._strong = share, strong
        self.update()

    def sizeHint(self) -> QSize:
        """Return a thin bar."""
        return QSize(self._theme.px(90), self._theme.px(7))

    def minimumSizeHint(self) -> QSize:
        """Return the least that is seen."""
        return QSize(self._theme.px(40), self._theme.px(7))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the bar."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        whole, radius = QRectF(self.rect()), self.height() / 2
        painter.setBrush(self._theme.color("line"))
        painter.drawRoundedRect(whole, radius, radius)
        if self._share > 0:
            painter.setBrush(self._theme.color("accent" if self._strong else "curve"))
            part = QRectF(
                whole.left(), whole.top(), max(whole.height(), whole.width() * self._share), whole.height()
            )
            painter.drawRoundedRect(part, radius, radius)


class CauseCard(QFrame):
    """A group of causes that cannot be told apart: the simplest, and in words the others.

    Signals: chosen() when it was clicked; action_wanted(cause) when its button was pressed; suggested() when
    a check that tells causes apart is asked for; stack_wanted(cause).
    """

    chosen = Signal()
    action_wanted = Signal(object)
    suggested = Signal()
    stack_wanted = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Make an empty card."""
        super().__init__()
        self._theme = theme
        self.cause: LikelyCause | None = None
        self.rank, self.statement, self.score = QLabel(), QLabel(), QLabel()
        self.look, self.told = QLabel(), QLabel()
        self.bar = ShareBar(theme)
        self.act, self.suggest, self.show_stack = (
            QPushButton(),
            QPushButton(SUGGEST),
            QPushButton("Show in Stack"),
        )
        self.setObjectName("cause")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._build()

    def show_group(
        self, group: AlikeCauses, differences: int, *, opened: bool, look: NextLook | None
    ) -> None:
        """Show a group; opened: with all that is known of it."""
        cause = self.cause = group.first
        self.rank.setText(str(cause.rank))
        self.statement.setText(cause.statement)
        self.bar.set_share(cause.explained / max(1, differences), strong=opened)
        error = self._theme.css("error")
        against = f', <b style="color: {error}">{against_text(cause)}</b>' if cause.against else ""
        self.score.setText(f"<b>{explained_text(cause, differences)}</b>{against}")
        self.look.setText(
            " ".join(f"{fault.look} {fault.do}" for fault in cause.faults) if opened else cause.told
        )
        self.look.setVisible(bool(self.look.text()))
        self.told.setText(group.told if opened else "")
        self.told.setVisible(bool(self.told.text()))
        action = ACTIONS.get(cause.faults[0].action, "")
        self.act.setText(action)
        self.act.setVisible(opened and bool(action))
        self.suggest.setVisible(opened and look is not None)
        self.suggest.setToolTip("" if look is None else look.sentence)
        self.show_stack.setVisible(opened and bool(cause.lanes))
        spoken = f"{cause.statement}, {explained_text(cause, differences)}, {against_text(cause)}"
        self.setAccessibleName(f"Cause {cause.rank}: {spoken}")
        self.fit(opened=opened)

    def fit(self, *, opened: bool) -> None:
        """Take the theme's fonts and colours."""
        theme, px = self._theme, self._theme.px
        self.statement.setFont(theme.font(13, 600))
        for label in (self.rank, self.score, self.look, self.told):
            label.setFont(theme.font(12))
        for button in (self.act, self.suggest, self.show_stack):
            button.setFont(theme.font(12))
        self._row.setContentsMargins(px(12), px(9), px(12), px(9))
        self._row.setSpacing(px(8))
        self._column.setSpacing(px(5))
        ground = theme.css("accent-soft" if opened else "panel")
        left = theme.css("accent") if opened else "transparent"
        self.setStyleSheet(
            f"QFrame#cause {{ background: {ground}; border: none; border-left: {px(3)}px solid {left};"
            f" border-bottom: 1px solid {theme.css('line')}; }}"
            f" QFrame#cause:focus {{ border: 2px solid {theme.css('accent')}; }}"
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the card by Space; Enter stays with the checks."""
        if event.key() == Qt.Key.Key_Space:
            self.chosen.emit()
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Open the card."""
        self.chosen.emit()
        super().mousePressEvent(event)

    # Inside

    def _build(self) -> None:
        for label in (self.statement, self.look, self.told):
            label.setWordWrap(True)
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.told.setObjectName("muted")
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.rank, 0, Qt.AlignmentFlag.AlignTop)
        self._column = QVBoxLayout()
        self._column.addWidget(self.statement)
        line = QHBoxLayout()
        line.addWidget(self.bar, 1)
        line.addWidget(self.score)
        self._column.addLayout(line)
        self._column.addWidget(self.look)
        self._column.addWidget(self.told)
        for button in (self.act, self.suggest, self.show_stack):
            button.setAutoDefault(False)
            self._column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        self.act.setObjectName("wanted")
        self._row.addLayout(self._column, 1)
        self.act.clicked.connect(lambda: self.action_wanted.emit(self.cause))
        self.suggest.clicked.connect(self.suggested)
        self.show_stack.clicked.connect(lambda: self.stack_wanted.emit(self.cause))


class CausesPanel(QWidget):
    """The panel.

    Signals: action_wanted(cause) for the action of a cause; stack_wanted(cause) to show its discs;
    status_message(sentence).
    """

    action_wanted = Signal(object)
    stack_wanted = Signal(object)
    status_message = Signal(str)

    def __init__(self, session: BringUpSession, ranker: CauseRanker, theme: Theme) -> None:
        """Show the ranking of a session."""
        super().__init__()
        self._session, self._ranker, self._theme = session, ranker, theme
        self.head, self.detail, self.foot = QLabel(), QLabel(), QLabel(NOT_LISTED)
        self.cards: list[CauseCard] = []
        self._open = 0
        self._said = ""
        self._build()
        session.changed.connect(self.refresh)
        ranker.ranked.connect(self._take)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Show the head as it is now; causes follow when they are ranked."""
        session, ranking = self._session, self._ranker.ranking
        self.head.setText(differences_text(session, ranking))
        detail = "Ranking the causes…" if self._ranker.is_ranking else ""
        if not detail and ranking is not None and not ranking.clear and ranking.differences:
            detail = ranking.message
        elif not detail and ranking is not None and ranking.differences:
            detail = "Ranked by what each cause explains."
        self.detail.setText(detail if session.seen_count or session.has_counts else HINT)
        self.detail.setVisible(bool(self.detail.text()))

    def open_card(self, number: int) -> None:
        """Open a card by its number from 0."""
        self._open = number
        self._show_cards()

    def suggest(self) -> None:
        """Go to the check that tells the first causes apart."""
        look = None if self._ranker.ranking is None else self._ranker.ranking.next_look
        if look is not None:
            self._session.go_to_angle(look.angle_deg)
            self._session.choose(look.lane)
            self.status_message.emit(look.sentence)

    # Inside

    def _take(self) -> None:
        """Show a new ranking, and describe its best to those who do not see it."""
        self._open = 0
        self._show_cards()
        self.refresh()
        ranking = self._ranker.ranking
        said = "" if ranking is None or not ranking.clear else spoken_cause(ranking)
        if said and said != self._said:
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))
            self._session.spoken.emit(said)
        self._said = said

    def _show_cards(self) -> None:
        ranking = self._ranker.ranking
        groups = () if ranking is None else ranking.groups
        while len(self.cards) < len(groups):
            self._add_card(len(self.cards))
        for number, card in enumerate(self.cards):
            card.setVisible(number < len(groups))
        if ranking is None:
            return
        for number, group in enumerate(groups):
            look = ranking.next_look if number == 0 else None
            self.cards[number].show_group(group, ranking.differences, opened=number == self._open, look=look)
        self.foot.setVisible(bool(groups))

    def _add_card(self, number: int) -> None:
        card = CauseCard(self._theme)
        card.chosen.connect(self._opening(number))
        card.action_wanted.connect(self.action_wanted)
        card.stack_wanted.connect(self.stack_wanted)
        card.suggested.connect(self.suggest)
        self.cards.append(card)
        self._list.addWidget(card)

    def _opening(self, number: int) -> Callable[[], None]:
        return lambda: self.open_card(number)

    def _build(self) -> None:
        self.setAccessibleName("Likely causes")
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._top = QVBoxLayout()
        for label in (self.head, self.detail):
            label.setWordWrap(True)
            self._top.addWidget(label)
        self._list = QVBoxLayout()
        self._list.setSpacing(0)
        column.addLayout(self._top)
        column.addLayout(self._list)
        column.addWidget(self.foot)
        column.addStretch(1)
        self.foot.setWordWrap(True)
        self.foot.hide()
        for label in (self.detail, self.foot):
            label.setObjectName("muted")
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(upright_scroll(inner))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._top.setContentsMargins(px(12), px(12), px(12), px(10))
        self._top.setSpacing(px(4))
        self.foot.setContentsMargins(px(12), px(10), px(12), px(10))
        self.head.setFont(theme.font(14, 600))
        for label in (self.detail, self.foot):
            label.setFont(theme.font(12))
        self._show_cards()
