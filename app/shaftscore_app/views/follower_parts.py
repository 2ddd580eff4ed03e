"""The Follower parts view: how a lane is moved, drawn with its lengths, its bearing, its parts.

Three cards choose between a direct slide, a swinging lever and a straight-line lever. The drawing shows the
follower at the cursor's angle, from the top and from the side at its true heights; lengths are changed in the
drawing, in the fields beside it, or by dragging pivot, output and spring hook.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout

from shaftscore.base import wording
from shaftscore.built.bearings import BearingSize, BearingTableError, own_bearings
from shaftscore.edits.followers import NAMES, MoveKind
from shaftscore.layout.bearing_choice import BearingChoice, bearing_choices
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.pivots import lever_seats
from shaftscore.make.drawing.follower import FollowerDrawing, PointName, follower_drawing
from shaftscore.make.drawing.follower_scene import follower_sheet
from shaftscore.model import Lane, Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore_app.document import Document
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.document.words import lane_name
from shaftscore_app.runtime.files import read_within
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.follower_parts_canvas import FollowerCanvas
from shaftscore_app.views.follower_parts_cards import WIDE as CARDS_WIDE
from shaftscore_app.views.follower_parts_cards import ChoiceCards
from shaftscore_app.views.follower_parts_copying import copy_menu, kind_menu
from shaftscore_app.views.follower_parts_edits import FollowerEdits
from shaftscore_app.views.follower_parts_panel import WIDE as PANEL_WIDE
from shaftscore_app.views.follower_parts_panel import FollowerPanel
from shaftscore_app.views.follower_parts_touching import with_overlaps
from shaftscore_app.views.follower_parts_words import (
    EMPTY,
    KINDS,
    NO_LEVELS,
    NOT_CHOSEN,
    base_of,
    bought_text,
    choice_cards,
    figure_rows,
    levels_text,
    part_rows,
)
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.scrolling import upright_scroll

HELD_MS = 60
"""While something is held the drawing follows this late, ms."""

FORM = "lane.parts"
"""The form with all fields of the parts."""

SLIM, SLIMMER = 860, 620
"""Under these widths the cards, and then the panel, leave their place to the drawing, px of the design."""


class FollowerPartsView(TabbedView):
    """The view. Over 300 lines, since head, cards, drawing and panel make room for one another.

    Signals: form_wanted(command id) when the form of the parts is wanted; status_message(sentence) with why
    something could not be done. save_wanted(stem, kind, what gives the bytes) when the drawing is to be
    saved.
    """

    form_wanted = Signal(str)
    status_message = Signal(str)
    save_wanted = Signal(str, str, object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's followers."""
        super().__init__()
        self._document, self._theme = document, theme
        self._kept = KeptThings()
        self.edits = FollowerEdits(document, self.status_message.emit)
        self._own: Mapping[str, BearingSize] = {}
        self.cards, self.canvas, self.panel = ChoiceCards(theme), FollowerCanvas(theme), FollowerPanel(theme)
        self.chooser = ViewChooser("Lane shown", "Lane: choose which one is shown")
        self.ways = ViewChooser("How the lane is moved", "How the lane is moved (keys 1, 2 and 3)")
        self._remark, self.why = QLabel(), QLabel()
        self.empty = EmptyPage(theme, EMPTY)
        self.empty.hide()  # until it is known that there is nothing to show
        self.copy, self.remove = QPushButton("Copy to lanes…"), QPushButton("Remove parts")
        self.fields, self.save = QPushButton("All fields…"), QPushButton("Save drawing…")
        self._build()
        self._connect()
        self._fit()

    # What is shown

    @property
    def _project(self) -> Project:
        return self._document.report.project

    @property
    def _solution(self) -> Solution:
        return self._document.report.solution

    @property
    def lane(self) -> Lane | None:
        """The lane shown: the selected one; None where none is."""
        return self._document.selection.lane_in(self._project)

    @property
    def _solved(self) -> LaneSolution | None:
        lane = self.lane
        return None if lane is None else self._solution.lanes.get(lane.id)

    @property
    def layout_shown(self) -> FollowerLayout | None:
        """How the lane's follower is laid out; None where it has no parts or they cannot be laid out."""
        made = self._laid_out()
        return None if isinstance(made, str) else made

    def _laid_out(self) -> FollowerLayout | str:
        """Return the lane's layout, or why there is none."""
        solved = self._solved
        if solved is None:
            return EMPTY
        if solved.lane.parts is None:
            return NOT_CHOSEN
        try:
            make = partial(machine_follower, self._solution, solved, lever_seats(self._solution))
            made = self._kept.get("layout", "", (self._solution,), solved.lane.id, make)
        except FollowerLayoutError as error:
            return f"{error}."
        return made or NO_LEVELS

    def _show_now(self) -> None:
        """Show the lane as it is now."""
        lane, made = self.lane, self._laid_out()
        layout = None if isinstance(made, str) else made
        self._write(lane, made if isinstance(made, str) else "")
        self._show_cards(lane)
        self._show_drawing(layout)
        self.panel.setEnabled(layout is not None)
        if layout is not None:
            self._show_panel(layout)
        self._make_room()

    def _follow(self, _deg: float) -> None:
        """Draw the follower at another angle of the cursor; the lengths, figures and parts stay the same."""
        if self._is_seen:
            self._show_drawing(self.layout_shown)

    def _write(self, lane: Lane | None, why: str) -> None:
        self.why.setText(why)
        self.why.setVisible(bool(why) and lane is not None)
        self.empty.setVisible(lane is None)
        self.empty.say(EMPTY, self._way_out())
        can_edit = not self._document.is_read_only
        self.chooser.setText("No lane" if lane is None else lane_name(lane))
        self.ways.setText("" if lane is None or lane.parts is None else NAMES[lane.parts.kind].capitalize())
        self._remark.setText("" if lane is None else levels_text(lane, dict(self._project.levels_of(lane))))
        self.save.setEnabled(self.layout_shown is not None)
        for button in (self.copy, self.remove, self.fields):
            button.setEnabled(lane is not None and lane.parts is not None and can_edit)
        self.cards.setEnabled(lane is not None and can_edit)

    def _way_out(self) -> RowAction | None:
        """Return what gives the view a lane to show: the first with a disc, or the first lane at all."""
        first = next((lane for lane in self._project.lanes if lane.has_disc), None)
        if first is None:
            return first_lane(self._document)
        return RowAction(f"Select {first.label}", "view.followers", first.id)

    def _show_cards(self, lane: Lane | None) -> None:
        self.cards.setVisible(lane is not None)
        if lane is None or self._document.is_previewing:
            return
        solved, project = self._solved, self._project
        reads = (lane, solved, project.limits, project.stacks, project.shaft)
        make = partial(choice_cards, project, lane, solved)
        cards = self._kept.get("cards", "", reads, None, make)
        self.cards.show_cards(cards, None if lane.parts is None else lane.parts.kind)

    def _show_drawing(self, layout: FollowerLayout | None) -> None:
        deg = self._document.cursor_deg
        drawing = None if layout is None else follower_drawing(self._project, layout, deg)
        told = ""
        if layout is not None and drawing is not None:
            drawing, told = with_overlaps(self._solution, layout, drawing, deg, self._kept)
        self.canvas.setVisible(layout is not None)
        at = f"Seen from the top, at {wording.degrees(deg)}"
        heads = (
            (at, told or "dashed: at the lowest and the highest level"),
            ("From the side", "spread out along the lever, at true heights"),
        )
        self.canvas.show_drawing(drawing, heads)
        if layout is not None and drawing is not None:
            self._describe(layout, drawing, told)

    def _describe(self, layout: FollowerLayout, drawing: FollowerDrawing, told: str) -> None:
        """Describe the drawing to those who do not see it."""
        both = (*drawing.top_dimensions, *drawing.side_dimensions)
        said = [f"{one.name} {wording.millimetres(one.value_mm)}" for one in both]
        figures = [f"{row.name} {row.value}" for row in figure_rows(self._project, layout)]
        self.canvas.setAccessibleDescription("; ".join([*([told] if told else []), *said, *figures]))

    def _show_panel(self, layout: FollowerLayout) -> None:
        drawing = self.canvas.drawing
        refused = "" if drawing is None else " ".join(f"{one}." for one in drawing.refused)
        self.panel.show_layout(
            layout,
            figure_rows(self._project, layout),
            part_rows(self._project, layout),
            bought_text(layout),
            refused,
            is_read_only=self._document.is_read_only,
        )
        if not self._document.is_previewing:
            self._show_bearings(layout.lane)

    def _show_bearings(self, lane: Lane) -> None:
        project = self._project
        reads = (lane, project.limits, project.tolerances, project.stacks, project.shaft, self._own)
        make = partial(_choices, project, lane, self._own)
        choices = self._kept.get("bearings", "", reads, None, make)
        self.panel.bearings.show_choices(choices, is_read_only=self._document.is_read_only)

    # A table of one's own

    def set_own_bearings(self, path: Path) -> None:
        """Read the person's own table of bearings, if there is one."""
        if not path.exists():
            return
        try:
            self._own = own_bearings(read_within(path).decode("utf-8"))
        except (OSError, UnicodeDecodeError, BearingTableError) as error:
            self.status_message.emit(f"{path.name} was not read: {error}")
        self.refresh()

    # What is done

    def choose(self, kind: MoveKind) -> None:
        """Let the lane be moved in another way."""
        self._then(self.edits.move_by(kind, base_of(self._solved)))

    def enter(self, path: str, value_mm: object) -> None:
        """Change a length; None: none given."""
        why = self.edits.set_length(path, value_mm)
        self._then(why)
        self.panel.set_fault(path, why)

    def _then(self, _why: str) -> None:
        self.refresh()

    def _drag(self, name: PointName, point: complex, step_mm: float) -> None:
        layout = self.layout_shown
        if layout is not None:
            self.edits.drag(layout, name, point, step_mm)

    def _drop(self) -> None:
        self.edits.drop()
        self.refresh()

    def _cancel(self) -> None:
        self.edits.cancel()
        self.refresh()

    def _ask_copy(self) -> None:
        menu = copy_menu(self, self.edits, self.refresh)
        menu.popup(self.copy.mapToGlobal(self.copy.rect().bottomLeft()))

    def _ask_save(self) -> None:
        menu = kind_menu(self, self._save)
        menu.popup(self.save.mapToGlobal(self.save.rect().bottomLeft()))

    def _save(self, kind: str) -> None:
        from shaftscore.make.drawing.saved import scene_bytes  # kept off the start-up path

        layout, drawing = self.layout_shown, self.canvas.drawing
        if layout is not None and drawing is not None:
            stem = f"{layout.lane.code or layout.lane.id} follower"
            title = f"{layout.lane.label}: follower at {wording.degrees(self._document.cursor_deg)}"
            make = partial(scene_bytes, follower_sheet(drawing), title, kind)
            self.save_wanted.emit(stem, kind, make)

    # Building

    def _choose_lane(self) -> None:
        lanes = [lane for lane in self._project.lanes if lane.has_disc]
        select = self._document.select_lane
        self.chooser.offer((lane_name(lane), partial(select, lane.id)) for lane in lanes)

    def _choose_way(self) -> None:
        self.ways.offer((NAMES[kind].capitalize(), partial(self.choose, kind)) for kind in KINDS)

    def _build(self) -> None:
        for label in (self._remark, self.why):
            label.setObjectName("muted")
        self.why.setWordWrap(True)
        self._remark.setMinimumWidth(1)
        self.fields.setToolTip("The form with all fields of the parts")
        self.save.setToolTip("Save the drawing at its true size as SVG, DXF or PDF")
        self.copy.setToolTip("Let other lanes be moved by the same parts")
        self.remove.setToolTip("Keep the follower, and make no parts of it")
        self._head, self._body = QHBoxLayout(), QHBoxLayout()
        self._head.addWidget(self.chooser)
        self._head.addWidget(self.ways)
        self._head.addWidget(self._remark, 1)
        for button in (self.fields, self.remove, self.copy, self.save):
            button.setAutoDefault(False)
            button.setEnabled(False)  # until there is a lane
            button.setMinimumWidth(1)  # gets narrower before it widens the dock
            self._head.addWidget(button)
        self._tools = QHBoxLayout()  # for the buttons where the head has no room for them
        self._cards_area, self._panel_area = upright_scroll(self.cards), upright_scroll(self.panel)
        for area in (self._cards_area, self._panel_area):
            area.hide()  # until there is room for it
        self._body.addWidget(self._cards_area)
        middle = QVBoxLayout()
        middle.addWidget(self.why)
        middle.addWidget(self.empty, 1)
        middle.addWidget(self.canvas, 1)
        self._body.addLayout(middle, 1)
        self._body.addWidget(self._panel_area)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        column.addLayout(self._tools)
        column.addLayout(self._body, 1)
        self._middle = middle

    def _connect(self) -> None:
        document = self._document
        CalmRefresh(self, document, self.refresh, HELD_MS, soon=True)
        document.cursor_changed.connect(self._follow)
        self._theme.changed.connect(self._fit)
        self.chooser.clicked.connect(self._choose_lane)
        self.ways.clicked.connect(self._choose_way)
        self.cards.chosen.connect(self.choose)
        self.canvas.value_entered.connect(self.enter)
        self.canvas.point_moved.connect(self._drag)
        self.canvas.dropped.connect(self._drop)
        self.canvas.cancelled.connect(self._cancel)
        self.panel.value_entered.connect(self.enter)
        self.panel.side_chosen.connect(lambda side: self._then(self.edits.set_side(side)))
        self.panel.bearings.chosen.connect(lambda one: self._then(self.edits.set_bearing(one)))
        self.copy.clicked.connect(self._ask_copy)
        self.save.clicked.connect(self._ask_save)
        self.remove.clicked.connect(lambda: self._then(self.edits.remove()))
        self.fields.clicked.connect(lambda: self.form_wanted.emit(FORM))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose by 1, 2 or 3 wherever the focus is in the view."""
        place = event.key() - int(Qt.Key.Key_1)
        if 0 <= place < len(KINDS) and event.modifiers() == Qt.KeyboardModifier.NoModifier:
            self.choose(KINDS[place])
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Leave a narrow view to the drawing: cards first give up their place, then the panel."""
        wide = self.width() / self._theme.u
        has_layout = self.layout_shown is not None
        self._panel_area.setVisible(has_layout and wide >= SLIMMER)
        bar = self._panel_area.verticalScrollBar().sizeHint().width()
        least = self.panel.minimumSizeHint().width() + bar
        self._panel_area.setFixedWidth(max(self._theme.px(PANEL_WIDE), least))
        has_cards = self.lane is not None and (wide >= SLIM or not has_layout)
        self._cards_area.setVisible(has_cards)
        self.ways.setVisible(self.lane is not None and not has_cards)
        self._remark.setVisible(wide >= SLIM)
        self.fields.setVisible(wide >= SLIMMER)
        self.remove.setVisible(wide >= SLIMMER)
        self._place_tools()

    def _place_tools(self) -> None:
        """Put the buttons beside the lane, or below it where there is no room for their words."""
        head = (self.chooser, self.ways, self.fields, self.remove, self.copy, self.save)
        gap = self._theme.px(6)
        needed = sum(one.sizeHint().width() + gap for one in head if not one.isHidden()) + 4 * gap
        row, other = (self._tools, self._head) if needed > self.width() else (self._head, self._tools)
        if row.indexOf(self.save) < 0:
            for button in (self.copy, self.save):
                other.removeWidget(button)
                row.addWidget(button)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(6), px(12), px(4))
        self._head.setSpacing(px(6))
        self._tools.setContentsMargins(px(12), 0, px(12), 0)
        self._tools.setSpacing(px(6))
        self._middle.setContentsMargins(0, 0, 0, 0)
        self.why.setContentsMargins(px(12), px(12), px(12), px(12))
        self._cards_area.setFixedWidth(px(CARDS_WIDE + 20))
        self.chooser.fit(theme)
        self.ways.fit(theme)
        for widget in (self._remark, self.why, self.copy, self.remove, self.fields, self.save):
            widget.setFont(theme.font(12))
        self.cards.fit()
        self.panel.fit()
        self.refresh()


def _choices(project: Project, lane: Lane, own: Mapping[str, BearingSize]) -> tuple[BearingChoice, ...]:
    return tuple(bearing_choices(project, lane, own))
