"""The Program maker: the states of all lanes made from pictures, truth tables, sequences or pasted cells.

Places of the lanes and the brush are at the left, the frames in the middle, what a painted cell means at the
right; below them the state table that comes of it, and what applying it would do. Where there is no room for
all of them, buttons choose one.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLayout,
    QMainWindow,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.program.counter import CounterWish, add_counter
from shaftscore.program.frames import ProgramFrame
from shaftscore.program.kept import draft_of_plain, plain_draft
from shaftscore.program.pictures import frames_of_pixels, frames_of_text
from shaftscore.program.places import resized
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.keeping.journal import Plain
from shaftscore_app.runtime.files import read_within
from shaftscore_app.runtime.turns import UNPAINTED, Later
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.program_canvas import FramesArea, FramesCanvas
from shaftscore_app.views.program_counter import CounterPane
from shaftscore_app.views.program_head import FrameAction, ProgramHead
from shaftscore_app.views.program_images import images_of
from shaftscore_app.views.program_left import LanesColumn
from shaftscore_app.views.program_meaning import MeaningPanel
from shaftscore_app.views.program_preview import ProgramPreview
from shaftscore_app.views.program_result import PaintedDialog, ProgramResult, UnappliedDialog
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_sources import (
    Maker,
    PastePane,
    SequencePane,
    SourcePane,
    TextPane,
    TruthPane,
)
from shaftscore_app.views.program_words import (
    EMPTY,
    cell_text,
    frame_count_text,
    visit_text,
)
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.focus import next_stop
from shaftscore_app.widgets.scrolling import upright_scroll

HELD_MS = 120
"""While something is held elsewhere the view follows so much later, ms."""

WIDE, HIGH = 980, 540
"""From this size on all parts are shown at once, px of the design."""

SLIM = 590
"""Under this width menus take the place of the buttons at the head, px of the design."""

LEFT, RIGHT, LOW = 206, 416, 262
"""Widths of the left and the right column, and height of the lower row, px of the design."""


class ProgramView(TabbedView):
    """The view. Over 300 lines, since it puts many parts together and makes room for them.

    Signals: status_message(sentence) with why something could not be done; work_changed() when what is not
    applied is another; image_wanted(), text_wanted() when a file shall be chosen; close_wanted() when the
    view shall close.
    """

    status_message = Signal(str)
    work_changed = Signal()
    image_wanted = Signal()
    text_wanted = Signal()
    close_wanted = Signal()

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document."""
        super().__init__()
        self._document, self._theme = document, theme
        self.session = ProgramSession(document, self)
        session = self.session
        self.canvas = FramesCanvas(session, theme)
        self.area = FramesArea(self.canvas)
        self.meaning, self.preview = MeaningPanel(session, theme), ProgramPreview(session, theme)
        self.result = ProgramResult(session, theme)
        self.truth, self.sequence = TruthPane(session, theme), SequencePane(session, theme)
        self.paste, self.counter, self.first_counter = (
            PastePane(session, theme),
            CounterPane(theme),
            CounterPane(theme),
        )
        self.left, self.head = LanesColumn(session, theme), ProgramHead(theme, self._frame_actions())
        self.lanes, self.brush, self.rows, self.columns = (
            self.left.lanes,
            self.left.brush,
            self.left.rows,
            self.left.columns,
        )
        self.sources, self.pages, self.buttons = self.head.sources, self.head.pages, self.head.buttons
        self.count = self.head.count
        self.line, self.empty = QLabel(), EmptyPage(theme, EMPTY)
        self._shows_all = True
        self._late = Later(self, self._follow_late, UNPAINTED)
        self._room = Later(self, self._make_room, 1)
        self._build()
        self._connect()
        self._fit()

    # Whether anything would be lost

    @property
    def is_unapplied(self) -> bool:
        """Whether anything is painted, typed or pasted that is neither applied nor made into frames."""
        if self._document.opened != self.session.opened:
            return False
        return self.session.is_unapplied or any(pane.is_unmade for pane in self._texts)

    @property
    def _texts(self) -> tuple[TextPane, ...]:
        return (self.truth, self.paste)

    @property
    def _makers(self) -> tuple[SourcePane, ...]:
        """The sources of frames."""
        return (self.truth, self.sequence, self.paste)

    def when_applied(self, then: Callable[[], object]) -> None:
        """Do `then` once nothing unapplied is lost by it: at once, or after asking."""
        if not self.is_unapplied:
            then()
            return

        def apply() -> None:
            if self._apply_all():
                self._forget_texts()
                then()

        def discard() -> None:
            self.discard()
            then()

        UnappliedDialog(self.window(), self._theme, apply=apply, discard=discard).open()

    def work(self) -> Plain | None:
        """Return what is not applied, as plain values; None where all is."""
        if not self.is_unapplied:
            return None
        session, texts = self.session, [pane.text.toPlainText() for pane in self._texts]
        draft = plain_draft(session.draft)
        return {"draft": draft, "frame": session.frame, "by_hand": sorted(session.by_hand), "texts": texts}

    def restore(self, work: Plain) -> None:
        """Show work that was kept; what of it cannot be read is said in the status bar."""
        for pane, text in zip(self._texts, work.get("texts", ()), strict=False):
            pane.text.setPlainText(str(text))
        try:
            draft = draft_of_plain(self._document.committed, work.get("draft"))
            self.session.restore(draft, int(work.get("frame", 0)), map(int, work.get("by_hand", ())))
        except (EditError, TypeError, ValueError) as error:
            self.status_message.emit(f"The Program maker was not restored: {error}")

    def discard(self) -> None:
        """Drop all that is not applied."""
        self._forget_texts()
        self.session.discard()

    def _forget_texts(self) -> None:
        for pane in self._texts:
            pane.forget()

    # What is shown

    def _show_now(self) -> None:
        """Show the document as it is now."""
        self.session.follow()
        self._follow()

    def _follow(self) -> None:
        """Show the draft as it is now: at once what is painted, soon what comes of it."""
        session = self.session
        has_lanes = bool(session.draft.meanings)
        self._stack.setCurrentIndex(0 if has_lanes else 1)
        self.empty.say(EMPTY, first_lane(self._document))
        self.first_counter.setVisible(self._document.is_started)
        if not has_lanes:
            return
        grid = session.draft.grid
        self.left.show_grid(grid)
        show(self.count, len(session.draft.frames))
        self.head.counted.setText(frame_count_text(session.project, session.draft))
        visit = visit_text(session.project, session.draft, session.frame, session.lane_id)
        self.line.setText("   ".join(filter(None, [cell_text(session), visit])))
        self._late.ask()

    def _follow_late(self) -> None:
        if self.session.draft.meanings:
            self.meaning.follow()
            self.preview.follow()
            self.result.follow(has_selected=bool(self._selected))

    @property
    def _selected(self) -> tuple[str, ...]:
        placed = self.session.draft.grid.lanes
        return tuple(own for own in self._document.selection.lane_ids if own in placed)

    def show_source(self, source: int) -> None:
        """Show the pane of a source, by its place in `SOURCES`."""
        self.head.show_source(source)
        self._panes.setVisible(source > 0)
        self._panes.setCurrentIndex(max(0, source - 1))
        high = (*self._makers, self.counter)[max(0, source - 1)].sizeHint().height()
        self._centre.setSizes([high, max(1, self._centre.height() - high)])

    def show_page(self, page: int) -> None:
        """Show one part, by its place in `PAGES`, where there is no room for all."""
        self.pages[page].setChecked(True)
        self._make_room()

    # What is done

    def _apply_all(self) -> bool:
        return self.session.apply()

    def _apply_selected(self) -> None:
        self.session.apply(self._selected)

    def _cancel(self) -> None:
        self.when_applied(self.close_wanted.emit)

    def _make(self, pane: SourcePane, maker: Maker) -> None:
        """Make frames of a source; asks first where some were painted by hand."""
        try:
            frames = maker()
        except EditError as error:
            pane.show_fault(f"{error}.")
            return
        pane.show_fault("")

        def take() -> None:
            self.session.take_made(frames)
            if isinstance(pane, TextPane):
                pane.take_made()

        by_hand = len(self.session.by_hand)
        if by_hand:
            PaintedDialog(self.window(), self._theme, by_hand, take).open()
        else:
            take()

    def _add_counter(self, pane: CounterPane, wish: CounterWish) -> None:
        """Add the stacks and lanes of a counter; what is painted is applied or dropped first."""

        def add() -> None:
            fault = commit(self._document, lambda: add_counter(self._document.committed, wish))
            pane.show_fault(f"{fault[:1].upper()}{fault[1:]}." if fault else "")

        self.when_applied(add)

    def open_image(self, path: Path) -> None:
        """Make frames of an image file, from the chosen one on."""
        session = self.session
        self._place(
            path,
            lambda data: frames_of_pixels(session.project, session.draft, images_of(data, path.name)),
        )

    def open_text(self, path: Path) -> None:
        """Read a text file: a table goes into the pane for cells, text art into the frames."""
        session = self.session
        if self.sources[3].isChecked():
            text = self._text_of(path)
            if text is not None:
                self.paste.text.setPlainText(text)
            return
        self._place(
            path, lambda data: frames_of_text(session.project, session.draft, data.decode("utf-8-sig"))
        )

    def _text_of(self, path: Path) -> str | None:
        try:
            return read_within(path).decode("utf-8-sig")
        except (ProjectError, UnicodeDecodeError) as error:
            why = error.faults[0] if isinstance(error, ProjectError) else error
            self.status_message.emit(f"{path.name} cannot be read: {why}")
            return None

    def _place(self, path: Path, make: Callable[[bytes], list[ProgramFrame]]) -> None:
        try:
            self.session.place_frames(make(read_within(path)))
        except ProjectError as error:
            self.status_message.emit(f"{path.name} cannot be read: {error.faults[0]}")
        except (EditError, UnicodeDecodeError) as error:
            self.status_message.emit(f"{path.name}: {error}.")

    def _paste_frames(self) -> None:
        """Add the frames on the clipboard after the chosen one: those copied here, or text art."""
        text, session = QGuiApplication.clipboard().text(), self.session
        frames = list(session.pasted(text))
        try:
            session.insert_frames(frames or frames_of_text(session.project, session.draft, text))
        except EditError as error:
            self.status_message.emit(f"Nothing was pasted: {error}.")

    def _resize_grid(self) -> None:
        try:
            self.session.set_grid(resized(self.session.draft.grid, self.rows.given(), self.columns.given()))
        except EditError as error:
            self.status_message.emit(f"{error}.")

    # Keys

    def _on_event(self, event: QEvent) -> bool:
        """Take undo and redo for the draft while it has steps; the window has them otherwise."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return False
        if self._undoes(event) or self._redoes(event):
            event.accept()
            return True
        return False

    def _undoes(self, event: QKeyEvent) -> bool:
        return event.matches(QKeySequence.StandardKey.Undo) and self.session.can_undo

    def _redoes(self, event: QKeyEvent) -> bool:
        control = Qt.KeyboardModifier.ControlModifier
        is_y = event.key() == Qt.Key.Key_Y and event.modifiers() == control
        return (event.matches(QKeySequence.StandardKey.Redo) or is_y) and self.session.can_redo

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go through the parts in order; in a window of its own round and round."""
        if isinstance(self.window(), QMainWindow):
            return super().focusNextPrevChild(forward)
        stop = next_stop([self._stack], self.window().focusWidget(), 1 if forward else -1)
        if stop is not None:
            reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
            stop.setFocus(reason)
        return stop is not None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Undo and redo steps of the draft."""
        if self._undoes(event):
            self.session.undo()
        elif self._redoes(event):
            self.session.redo()
        else:
            super().keyPressEvent(event)

    # Building

    def _build(self) -> None:
        self.setFocusProxy(self.canvas)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.head)
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._split.addWidget(self._build_upper())
        self._split.addWidget(self._build_lower())
        self._upper.lower()  # first in the order of Tab, which splitters turn round
        self._split.setStretchFactor(0, 1)
        self._split.setChildrenCollapsible(False)
        column.addWidget(self._split, 1)
        column.addWidget(self.line)
        self.line.setMinimumWidth(1)
        self._stack = QStackedWidget()
        self._stack.addWidget(whole)
        page = QWidget()
        column = QVBoxLayout(page)
        for widget, stretch in ((self.empty, 1), (self.first_counter, 0)):
            column.addWidget(widget, stretch)
        self._stack.addWidget(page)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)  # it makes room by itself
        outer.addWidget(self._stack)

    def _frame_actions(self) -> tuple[FrameAction, ...]:
        session, canvas = self.session, self.canvas
        return (
            FrameAction("Add", "Add an empty frame after the chosen one", session.add_frame),
            FrameAction("Duplicate", "Add the chosen frame once more (Ctrl+D)", session.duplicate_frame),
            FrameAction("Remove", "Remove the chosen frame", session.remove_frame),
            FrameAction("Mirror", "Exchange left and right in the chosen frame (M)", canvas.mirror),
            FrameAction(
                "Shift", "Shift the picture by the next arrow key, with Shift it wraps (S)", self._begin_shift
            ),
            FrameAction(
                "From image…", "Make frames of an image, from the chosen one on", self.image_wanted.emit
            ),
            FrameAction(
                "From text…", "Make frames of text art, from the chosen one on", self.text_wanted.emit
            ),
        )

    def _begin_shift(self) -> None:
        self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)
        self.canvas.begin_shift()

    def _build_upper(self) -> QWidget:
        self._panes = QStackedWidget()
        for pane in self._makers:
            self._panes.addWidget(pane)
            pane.make_wanted.connect(lambda maker, pane=pane: self._make(pane, maker))
        self._panes.addWidget(self.counter)
        self._panes.hide()
        self._centre = QSplitter(Qt.Orientation.Vertical)
        self._centre.addWidget(self._panes)
        self._centre.addWidget(self.area)
        self._panes.lower()
        self._centre.setStretchFactor(1, 1)
        self._centre.setChildrenCollapsible(False)
        self._left = upright_scroll(self.left)
        self._right = upright_scroll(self.meaning)
        upper = QWidget()
        row = QHBoxLayout(upper)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for widget, stretch in ((self._left, 0), (self._centre, 1), (self._right, 0)):
            row.addWidget(widget, stretch)
        self._upper = upper
        return upper

    def _build_lower(self) -> QWidget:
        self._lower = QWidget()
        row = QHBoxLayout(self._lower)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self.preview, 1)
        row.addWidget(self.result)
        return self._lower

    def _connect(self) -> None:
        session = self.session
        CalmRefresh(self, self._document, self.refresh, HELD_MS, soon=True)
        EventWatch(self, self._on_event)
        session.changed.connect(self._follow)
        session.changed.connect(self.work_changed)
        for pane in self._texts:
            pane.text.textChanged.connect(self.work_changed)
        session.status_message.connect(self.status_message)
        self.canvas.copied.connect(lambda text: QGuiApplication.clipboard().setText(text))
        self.canvas.pasted.connect(self._paste_frames)
        self.head.source_wanted.connect(self.show_source)
        self.head.page_wanted.connect(self.show_page)
        self.left.size_entered.connect(self._resize_grid)
        self.count.entered.connect(session.set_count)
        self.paste.file_wanted.connect(self.text_wanted)
        self.result.apply_wanted.connect(self._apply_all)
        self.result.apply_selected_wanted.connect(self._apply_selected)
        self.result.cancel_wanted.connect(self._cancel)
        for counter in (self.counter, self.first_counter):
            counter.add_wanted.connect(lambda wish, pane=counter: self._add_counter(pane, wish))
        self._theme.changed.connect(self._fit)
        self.show_source(0)

    def set_seen(self, seen: bool) -> None:
        """Set whether the view is in front; behind a tab nothing plays."""
        if not seen:
            self.preview.stop()
        super().set_seen(seen)

    def minimumSizeHint(self) -> QSize:
        """Return the least size: under it parts are cut."""
        return QSize(self._theme.px(280), self._theme.px(140))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._room.ask()  # not within: showing and hiding parts lays out again what is being laid out

    def _make_room(self) -> None:
        """Show all parts, or the chosen one where there is no room for all."""
        px = self._theme.px
        shows_all = self.width() >= px(WIDE) and self.height() >= px(HIGH)
        page = self.head.page
        is_slim = self.width() < px(SLIM)
        self.head.make_room(shows_all=shows_all, is_slim=is_slim, counts=self.width() >= px(820))
        self.left.make_room(hints=self.height() >= px(460))
        self._left.setVisible(shows_all or page == 0)
        self._centre.setVisible(shows_all or page == 1)
        self._right.setVisible(shows_all or page == 2)
        self._upper.setVisible(shows_all or page < 3)
        self._lower.setVisible(shows_all or page >= 3)
        self.preview.setVisible(shows_all or page == 3)
        self.result.setVisible(shows_all or page == 4)
        most = 16_777_215
        self._left.setMaximumWidth(px(LEFT) if shows_all else most)
        self._left.setMinimumWidth(px(LEFT) if shows_all else 0)
        self._right.setMaximumWidth(px(RIGHT) if shows_all else most)
        self._right.setMinimumWidth(px(RIGHT) if shows_all else 0)
        self.result.setMinimumWidth(px(RIGHT) if shows_all else 0)
        self.result.setMaximumWidth(px(RIGHT) if shows_all else most)
        self.preview.picture.setVisible(shows_all or self.width() >= px(560))
        self.preview.title.setVisible(not is_slim)
        if shows_all != self._shows_all:
            self._split.setSizes([max(1, self.height() - px(LOW)), px(LOW)])
        self._shows_all = shows_all

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.head.fit()
        self.left.fit()
        self.line.setContentsMargins(px(12), px(3), px(12), px(3))
        self.line.setFont(theme.font(12))
        self._split.setSizes([max(1, self.height() - px(LOW)), px(LOW)])
        self._make_room()
        self.refresh()
