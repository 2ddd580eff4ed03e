"""The Stack view: the discs of a stack in 3D with their followers, turning with the cursor, and a list.

The picture needs OpenGL, which is loaded and tried when the view is first seen; without it a sentence
and a drawn section stand in its place. The selected lane is in accent, lanes whose bodies meet others
(the finding interference) in the colour of errors.
"""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from operator import is_
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QColor, QGuiApplication, QOffscreenSurface, QOpenGLContext, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QSlider,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base import wording
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution
from shaftscore_app.document import Document
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.preload import load_for
from shaftscore_app.runtime.turns import UNPAINTED, Later
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.stack_choice import stack_shown
from shaftscore_app.views.stack_list import StackList
from shaftscore_app.views.stack_scene import Body, StackScene, least_heights, new_discs, scene_of, turn_arrow
from shaftscore_app.views.stack_section import SectionView
from shaftscore_app.widgets.chooser import ViewChooser

if TYPE_CHECKING:
    from shaftscore_app.views.stack_gl import StackPicture

HELD_MS = 120
"""While something is held the picture follows this late, ms: bodies take longer than a frame."""

MOST_GAP_MM = 24.0
"""Gap between layers with the slider at its end."""

EMPTY = "Add lanes to see the discs of the machine."

LaidOut = tuple[Project, Solution, Stack]
"""What a scene is made from."""

WIDE = 800
"""From this width on the foot says all, px of the design."""

SLIM = 480
"""Below this width the list leaves the room to the picture: codes and names alone, px of the design."""

LIST, SLIM_LIST = 244, 130
"""Least width of the list, px of the design."""

MOST_AT_ONCE = 4
"""So many new discs are laid out at once; more would keep the window waiting."""

PICTURE = "shaftscore_app.views.stack_gl"
"""The module with the 3D picture, whose libraries take 0.5 s to load and 13 MiB."""

LAY_OUT = "lay out"
"""Kind of the job that lays out a stack with many new discs."""

NEAREST = "nearest"
"""Kind of the job that looks for the parts that come nearest."""


def why_no_gl() -> str:
    """Describe why there is no 3D picture here; empty where there can be one."""
    if QGuiApplication.platformName() in ("offscreen", "minimal"):
        return "this display cannot show OpenGL"
    surface, context = QOffscreenSurface(), QOpenGLContext()
    surface.create()
    if not context.create() or not context.makeCurrent(surface):
        return "no OpenGL context can be made"
    version = context.format().version()
    context.doneCurrent()
    return "" if version >= (2, 1) else f"OpenGL {version[0]}.{version[1]} is older than 2.1"


class StackView(QWidget):
    """The view; `scene` is what it shows.

    Over 300 lines, since list, 3D, section and caption are shown, hidden and brought up to date together.
    """

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Make the view of a document's stacks; jobs: looks for what comes nearest."""
        super().__init__()
        self._document, self._theme, self._jobs = document, theme, jobs
        self._nearest: tuple[Project, str, float | None] | None = None
        self._stack_id: str | None = None
        self._is_seen = False
        self._loading = Later(self, self._load)  # it takes long
        self._late = Later(self, self.refresh, UNPAINTED)
        self.picture: StackPicture | None = None
        self.scene: StackScene | None = None
        self._laid_out: LaidOut | None = None
        self._pictured: tuple[object, ...] = ()
        self._way = ("", "")
        self.chooser = ViewChooser("Stack shown", "Stack: choose which one is shown")
        self._title, self._remark, self._angle = QLabel(), QLabel(), QLabel()
        self.empty = EmptyPage(theme, EMPTY)
        self._reason, self._room, self._hint = QLabel(), QLabel(), QLabel()
        self.section, self.list = SectionView(theme), StackList(theme)
        self.explode = QSlider(Qt.Orientation.Horizontal)
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS, soon=True)
        document.cursor_changed.connect(self._show_cursor)
        self.list.chosen.connect(document.select_lane)
        theme.changed.connect(self._fit)
        self._fit()

    # What is shown

    @property
    def stack(self) -> Stack:
        """The stack shown: the one chosen, else that of the selected lane, else the first."""
        return stack_shown(self._document.project, self._stack_id, self._document.selection.lane_id)

    @property
    def troubled(self) -> frozenset[str]:
        """Lanes whose bodies meet others, by id."""
        findings = self._document.report.findings
        return frozenset(lane for found in findings if found.rule == "interference" for lane in found.lanes)

    @property
    def gap_mm(self) -> float:
        """Gap between layers in the exploded view."""
        return MOST_GAP_MM * self.explode.value() / self.explode.maximum()

    def choose(self, stack_id: str) -> None:
        """Show another stack, whatever is selected."""
        self._stack_id = stack_id
        self.refresh()

    def set_seen(self, seen: bool) -> None:
        """Set whether the view is in front; 3D is loaded and tried once it first was seen."""
        self._is_seen = seen
        if seen and self.picture is None and not self._reason.text():
            load_for(self._jobs, PICTURE, self._loaded)
        self.refresh()

    def refresh(self) -> None:
        """Show the stack as it is now; does nothing while the view is not seen."""
        if not self._is_seen:
            return
        self._lay_out()
        if self.scene is None:
            return
        lane_id = self._document.selection.lane_id
        self._seek_nearest()
        self._write(self.scene)
        self.list.show_rows(self.scene.rows, lane_id, self.troubled)
        self._pages.setCurrentIndex(0 if self.scene.rows else 1)
        self.empty.say(EMPTY, first_lane(self._document))
        self.section.show_scene(self.scene, lane_id, self.troubled)
        self._show_picture()
        self._show_cursor(self._document.cursor_deg)

    # Inside

    def _lay_out(self) -> None:
        """Lay the stack out as it is now.

        Many new discs are laid out beside the window, which shows what was until then.
        """
        wanted = (self._document.project, self._document.report.solution, self.stack)
        if self._laid_out is not None and _same(wanted, self._laid_out):
            return
        known = self.scene.outlines if self.scene is not None else {}
        if new_discs(*wanted, known) <= MOST_AT_ONCE:
            self.scene, self._laid_out = scene_of(*wanted, self.scene), wanted
        elif not self._jobs.is_busy(LAY_OUT):
            self._jobs.request(
                LAY_OUT, partial(scene_of, *wanted, self.scene), partial(self._arrived, wanted)
            )

    def _arrived(self, wanted: LaidOut, scene: StackScene) -> None:
        """Show what was laid out; lay out again where something has changed since."""
        self.scene, self._laid_out = scene, wanted
        self.refresh()

    def _loaded(self, _nothing: None) -> None:
        self._loading.ask()

    def _load(self) -> None:
        if self.picture is not None or self._reason.text():
            return
        reason = why_no_gl()
        if not reason:
            try:
                from shaftscore_app.views.stack_gl import StackPicture  # loaded by now
            except ImportError as error:
                reason = f"OpenGL cannot be loaded ({error})"
        if reason:
            self._reason.setText(f"No 3D picture: {reason}. A section is drawn instead.")
            self._reason.show()
            self.section.show()
            self.explode.setEnabled(False)
            self.explode.setToolTip("Exploded view: needs the 3D picture")
            self.refresh()
            return
        self.picture = StackPicture()
        self.picture.setBackgroundColor(self._theme.color("panel"))  # until there is a scene to show
        self.picture.looked.connect(self._place_list)
        self.picture.installEventFilter(self)
        self._left.addWidget(self.picture, 1)
        self.refresh()

    def _seek_nearest(self) -> None:
        """Have the nearest parts looked for, once the whole report of a project is there."""
        document = self._document
        report, stack_id = document.report, self.stack.id
        known = self._nearest
        if known is not None and known[0] is report.project and known[1] == stack_id:
            return
        if not document.is_late_current or self._jobs.is_busy(NEAREST):
            return

        def work() -> float | None:
            nearest = report.nearest(stack_id)
            return None if nearest is None else nearest.clearance.least_mm

        def keep(least_mm: float | None) -> None:
            self._nearest = (report.project, stack_id, least_mm)
            self.refresh()

        self._jobs.request(NEAREST, work, keep)

    @property
    def least_mm(self) -> float | None:
        """Least clearance of the parts of the stack shown; None where it is not known (yet)."""
        known = self._nearest
        own = known is not None and known[0] is self._document.report.project and known[1] == self.stack.id
        return known[2] if known is not None and own else None

    def _place_list(self) -> None:
        """Let the rows stand beside their discs where the picture is large enough for that."""
        scene, top = self.scene, None
        if scene is not None and self.picture is not None:
            middles = [
                self.picture.seen_at(layer.middle_mm + self.gap_mm * place)
                for place, layer in enumerate(scene.plan.layers)
                if layer.lane_id is not None
            ]
            top = self.list.place_rows(middles[::-1])
        self._side.setContentsMargins(0, round(top or 0.0), 0, 0)

    def _show_picture(self) -> None:
        if self.picture is None or self.scene is None:
            return
        gap, theme = self.gap_mm, self._theme
        shown = (self.scene, gap, self._document.selection.lane_id, self.troubled, theme.dark)
        if shown == self._pictured:
            self._place_list()
            return
        self._pictured = shown
        above = self.scene.height_mm(gap) + 8.0
        arrow = turn_arrow(14.0, above, self.scene.direction), theme.color("accent")
        self.picture.show_scene(self.scene, self._colours, gap, arrow, theme.color("panel"))
        self._place_list()

    def _colours(self, body: Body) -> tuple[QColor, QColor]:
        """Return the colour of a part and of its edges."""
        theme = self._theme
        held = body.lane_id is not None and body.lane_id == self._document.selection.lane_id
        plain = {"disc": "material", "spacer": "l0", "shaft": "grid-major"}.get(body.kind, "raised")
        line = "edge" if body.kind in ("spacer", "shaft", "drive", "roller", "bar", "rod") else "curve"
        if body.lane_id in self.troubled:
            return mixed(theme.color("error"), theme.color(plain), 0.45), theme.color("error")
        if held and body.kind == "disc":
            return mixed(theme.color("accent"), theme.color(plain), 0.4), theme.color("accent")
        return theme.color(plain), theme.color("accent" if held else line)

    def _write(self, scene: StackScene) -> None:
        several = len(self._document.project.stacks) > 1
        title = f"{scene.stack.label}, {wording.counted(len(scene.rows), 'disc')}"
        self.chooser.setVisible(several)
        self._title.setVisible(not several)
        self._title.setText(title)
        self.chooser.setText(title)
        way = "counterclockwise" if scene.direction > 0 else "clockwise"
        times = _rate_text(self._document.project.rates.get(scene.stack.id))
        self._way = (f"turns {way}{times}", f"turns {way} seen from the top{times}")
        self._remark.setToolTip(self._way[1])
        self._make_room()
        self.setAccessibleDescription(
            f"{title}, {self._way[1]}. {plain_text(room_text(scene, self.least_mm))}"
        )

    def _show_cursor(self, deg: float) -> None:
        self._angle.setText(wording.degrees(deg))
        if self._is_seen and self.picture is not None and self.scene is not None:
            document = self._document
            others = {mate.stack_id for _, mate in self.scene.mates}
            own = {one.id: document.own_deg_of(one) for one in document.project.stacks if one.id in others}
            self.picture.set_cursor(document.own_deg_of(self.scene.stack), own)

    def _choose_from(self) -> None:
        stacks = self._document.project.stacks
        self.chooser.offer((stack.label, partial(self.choose, stack.id)) for stack in stacks)

    def _build(self) -> None:
        for label in (self._remark, self._reason, self._room, self._hint):
            label.setObjectName("muted")
        self._reason.setWordWrap(True)
        self._reason.hide()
        self.section.hide()
        self.chooser.clicked.connect(self._choose_from)
        self.chooser.hide()
        self.setFocusProxy(self.list)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._made_head())
        self._pages = QStackedLayout()
        self._pages.addWidget(self._made_body())
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)
        column.addWidget(self._made_foot())

    def _made_head(self) -> QHBoxLayout:
        self._head = QHBoxLayout()
        for widget in (self.chooser, self._title, self._remark):
            self._head.addWidget(widget)
        self._remark.setMinimumWidth(1)  # gives way before it widens the dock
        self._head.addStretch(1)
        self._head.addWidget(self._angle)
        return self._head

    def _made_body(self) -> QWidget:
        body = QWidget()
        column, row = QVBoxLayout(body), QHBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._reason)  # across the whole width: beside the list it would be many lines
        column.addLayout(row, 1)
        self._left = QVBoxLayout()
        self._left.addWidget(self.section, 1)
        row.addLayout(self._left, 3)
        self._side = QVBoxLayout()
        self._side.addWidget(self.list)
        row.addLayout(self._side, 2)
        return body

    def _made_foot(self) -> QWidget:
        foot = QFrame()
        foot.setObjectName("foot")
        self._foot = QHBoxLayout(foot)
        self._apart = QLabel("Exploded")
        self._apart.setObjectName("muted")
        self._hint.setText("Drag to look round; arrow keys too")
        self.explode.setRange(0, 100)
        self.explode.setAccessibleName("Exploded view, per cent")
        self.explode.setToolTip("Exploded view: lift the layers apart")
        self.explode.valueChanged.connect(lambda _value: self._show_picture())
        self._room.setMinimumWidth(1)
        self._hint.setMinimumWidth(1)
        self._foot.addWidget(self._room)
        self._foot.addStretch(1)
        for widget in (self._apart, self.explode, self._hint):
            self._foot.addWidget(widget)
        return foot

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._make_room()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the rows follow the picture's size."""
        if event.type() is QEvent.Type.Resize:
            self._place_list()
        return super().eventFilter(watched, event)

    def _make_room(self) -> None:
        wide = self.width() >= self._theme.px(WIDE)
        self._hint.setVisible(wide and self.picture is not None)
        self._remark.setText(self._way[wide])
        slim = self.width() < self._theme.px(SLIM)
        self.list.set_narrow(not wide, slim=slim)
        self.list.setMinimumWidth(self._theme.px(SLIM_LIST if slim else LIST))
        if self.scene is not None:
            self._room.setText(room_text(self.scene, self.least_mm, short=not wide))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(6), px(12), px(2))
        self._head.setSpacing(px(8))
        self._reason.setContentsMargins(px(12), 0, px(12), 0)
        self._foot.setContentsMargins(px(12), px(4), px(12), px(4))
        self._foot.setSpacing(px(8))
        self.chooser.fit(theme)
        for label in (self._remark, self._reason, self._room, self._hint, self._apart):
            label.setFont(theme.font(12))
        for bold in (self._title, self._angle):
            bold.setFont(theme.font(12, 600))
        self._angle.setStyleSheet(f"color: {theme.css('accent')}")
        self.explode.setFixedWidth(px(90))
        self.list.setMaximumWidth(px(340))
        self._late.ask()


def _same(first: LaidOut, second: LaidOut) -> bool:
    """Return whether two scenes would be made from the same objects."""
    lanes = [laid_out[1].lanes.values() for laid_out in (first, second)]
    return first[0] is second[0] and first[2] is second[2] and all(map(is_, *lanes))


def mixed(first: QColor, second: QColor, share: float) -> QColor:
    """Mix two colours; share: of the first, 0 to 1."""
    pairs = (
        (first.redF(), second.redF()),
        (first.greenF(), second.greenF()),
        (first.blueF(), second.blueF()),
    )
    return QColor.fromRgbF(*(share * one + (1 - share) * two for one, two in pairs))


def room_text(scene: StackScene, least_mm: float | None = None, *, short: bool = False) -> str:
    """Write the least clearance over a turn and the least distances in height, shortly or in full.

    least_mm: None where it is not known, or no parts can meet. Empty with fewer than two discs.
    """
    least = least_heights(scene.project, scene.plan, scene.stack)
    if least.followers_mm is None or least.disc_mm is None:
        return ""
    clear = "" if least_mm is None else f"Least clearance <b>{wording.millimetres(least_mm)}</b>"
    between, beside = wording.millimetres(least.followers_mm), wording.millimetres(least.disc_mm)
    if short:
        nearest = min(least.followers_mm, least.disc_mm)
        return clear or f"Least in height <b>{wording.millimetres(nearest)}</b>"
    heights = f"in height <b>{between}</b> follower to follower, <b>{beside}</b> follower to next disc"
    return f"{clear}, {heights}" if clear else f"Least {heights}"


def plain_text(text: str) -> str:
    """Return a text without its bold."""
    return text.replace("<b>", "").replace("</b>", "")


def _rate_text(rate: Fraction | None) -> str:
    """Return how often a stack turns, after a comma; nothing for once in a cycle."""
    if rate is None or rate == 1:
        return ""
    if rate.denominator == 1:
        return f", {wording.counted(rate.numerator, 'turn')} a cycle"
    return f", {wording.counted(rate.numerator, 'turn')} in {wording.counted(rate.denominator, 'cycle')}"
