"""Chance of working: what the tolerances do to real machines, beside the window.

Shows the chance that a drawn machine works, a histogram of the machines' smallest margins, and the margin of
every rule. It follows the project; until a new result is there the last one stays, marked as that of
what was before. More machines can be drawn for a closer answer; that can be cancelled.
"""

from __future__ import annotations

from math import isfinite

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QProgressBar,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Progress
from shaftscore.judge.spread import LaneCost, RuleSpread, Spread, find_spread
from shaftscore.judge.spread.words import (
    CAUSE_NAMES,
    NONE_WORKS,
    chance_text,
    details,
    headline,
    margin_text,
    rule_name,
    without_chance,
)
from shaftscore.model import Project
from shaftscore.model.cells import text_cell
from shaftscore.solution import solve
from shaftscore_app.document import Document
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.runtime.jobs import Jobs, ProgressReport, Task
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import mark_over
from shaftscore_app.widgets.dialog import Button, Dialog

KIND = "chance"
MANY = 100_000
"""Machines that are drawn where a closer answer is asked for."""

HEADS = ("Rule", "Lanes", "As drawn", "Worst case", "Holds in")
EMPTY = "No chance to compute yet"
NOTHING = "There is nothing to judge. Add rules between lanes, guarded levels or a flow first."
WAITING = "Not drawn yet."


class ChanceDialog(Dialog):
    """The results; stays open beside the window. `spread` is what is shown, None while there is nothing."""

    def __init__(self, parent: QWidget, theme: Theme, document: Document, jobs: Jobs) -> None:
        """Show the chance of a document's project."""
        super().__init__(parent, theme, "Chance of working")
        from shaftscore_app.widgets.histogram import HistogramPlot  # its library takes half a second to load

        self._document, self._jobs = document, jobs
        self._task: Task | None = None
        self._own: tuple[Project, frozenset[str] | None, Spread] | None = None
        self._of = document.project
        self.spread: Spread | None = None
        self.title, self.remark = QLabel(), QLabel()
        self.plot, self.table = HistogramPlot(theme), self._made_table()
        self._add_body()
        self.set_buttons((Button("Copy as table", self.copy, stays=True), Button("Close", default=True)))
        document.report_changed.connect(self.refresh)
        document.project_changed.connect(self.cancel)
        theme.changed.connect(self._fit)
        self._closed = False
        self.finished.connect(self._close)
        self._fit()
        self.resize(theme.px(820), theme.px(680))

    @property
    def is_drawing(self) -> bool:
        """Whether many machines are being drawn."""
        return self._task is not None

    # What it shows

    def refresh(self) -> None:
        """Show the chance of the project as it is now, or the last one until it is there."""
        document, report = self._document, self._document.report
        own = self._own
        if own is not None and own[:2] == (document.project, document.lanes):
            self.spread, self._of, stale = own[2], own[0], False
        else:
            self._own, self.spread = None, report.spread
            self._of = report.project if report.chance is None else report.chance.project
            stale = self._of is not report.project
        errors = 0 if report.chance is None else report.chance.errors
        self._show_head(self.spread, stale=stale, waits=report.chance is None, errors=errors)
        self._show_rules()
        can_draw = self.spread is not None and not errors and not stale
        self.more.setEnabled(can_draw and self._task is None)
        if self._buttons:
            self.button("Copy as table").setEnabled(self.spread is not None)

    def copy(self) -> None:
        """Copy all figures: the chance, the lanes' costs, the rules and the histogram, tabs between."""
        if self.spread is not None:
            QGuiApplication.clipboard().setText(as_table(self._of, self.spread))

    def draw_many(self) -> None:
        """Draw many machines in the background."""
        report, project, lanes = self._document.report, self._document.project, self._document.lanes

        def work(progress: Progress) -> Spread | None:
            solution = solve(project, report.solution, report.lanes)
            loads, effects = report.loads, report.effects
            return find_spread(solution, report.flow, MANY, progress=progress, loads=loads, effects=effects)

        def then(spread: Spread | None) -> None:
            if self._closed:
                return
            self._end()
            if spread is not None:
                self._own = (project, lanes, spread)
            self.refresh()

        self._task = self._jobs.request_watched(
            KIND, work, on_progress=self._on_progress, then=then, failed=self._fail
        )
        self._bar.setValue(0)
        self._show_running(True)
        self.refresh()

    def cancel(self) -> None:
        """Stop drawing; what was shown before stays."""
        if self._task is not None:
            self._task.cancel()

    # Inside

    def _close(self, _result: int) -> None:
        """Stop drawing; its answer comes when the widgets are gone."""
        self.cancel()
        self._closed = True

    def _on_progress(self, told: ProgressReport) -> None:
        if self._task is not None and not self._closed:
            self._bar.setValue(round(100 * told.fraction))
            self._bar.setToolTip(told.what)

    def _fail(self, error: Exception) -> None:
        if not self._closed:
            self._end()
            self.refresh()
        if not isinstance(error, Cancelled):
            raise error

    def _end(self) -> None:
        self._task = None
        self._show_running(False)

    def _show_running(self, running: bool) -> None:
        self._bar.setVisible(running)
        self.stop.setVisible(running)
        self.more.setVisible(not running)

    def _show_head(self, spread: Spread | None, *, stale: bool, waits: bool, errors: int) -> None:
        missing, why = (NONE_WORKS, without_chance(errors)) if errors else (EMPTY, NOTHING)
        self.title.setText(headline(spread) if spread else WAITING if waits else missing)
        self.title.setStyleSheet(f"color: {self._theme.css('muted' if stale else 'text')}")
        self.remark.setText(UPDATING if stale else "")
        project = self._of
        self.details.setText(details(project, spread) if spread else "" if waits else why)
        self.left_out.setText(" ".join(("Not in this chance:", *spread.left_out)) if spread else "")
        for widget in (self.plot, self.table, self.more):
            widget.setVisible(spread is not None and (widget is not self.more or self._task is None))
        if spread is not None and not spread.histogram.counts:
            self.plot.setVisible(False)
        if spread is not None:
            self.plot.show_counts(spread.histogram)
            self.plot.setAccessibleDescription(f"{headline(spread)}. {details(project, spread)}")

    def _show_rules(self) -> None:
        rules, project = self.spread.tightest_first if self.spread is not None else (), self._of
        self.table.setRowCount(len(rules))
        for row, rule in enumerate(rules):
            for column, text in enumerate(cells(project, rule)):
                item = QTableWidgetItem(text)
                if column >= 2:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                else:
                    item.setToolTip(text)
                fails = (column == 2 and rule.smallest_deg < 0) or (column == 3 and rule.worst_deg < 0)
                if fails:
                    mark_over(item, self._theme, "fails")
                self.table.setItem(row, column, item)

    def _add_body(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.remark, 1)
        self.body.addLayout(head)
        self.details = self.say("")
        self.body.addWidget(self.plot, 3)
        self.body.addWidget(self.table, 4)
        self.left_out = self.say("", muted=True)
        self.more = QPushButton(f"Draw {MANY:,} machines")
        self.more.setToolTip("More precise, in a few seconds")
        self.more.setAutoDefault(False)
        self.more.clicked.connect(self.draw_many)
        self._bar, self.stop = QProgressBar(), QPushButton("Cancel")
        self._bar.setTextVisible(False)
        self._bar.setAccessibleName("Progress, per cent")
        self.stop.setAutoDefault(False)
        self.stop.clicked.connect(self.cancel)
        for widget in (self.more, self._bar, self.stop):
            self._row.addWidget(widget)
        self._show_running(False)

    def _made_table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADS))
        table.setAccessibleName("Margins of the rules, the tightest first")
        table.setHorizontalHeaderLabels([*HEADS])
        table.verticalHeader().hide()
        table.setShowGrid(False)
        table.setWordWrap(False)
        table.setTabKeyNavigation(False)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        return table

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.title.setFont(theme.font(15, 600))
        self.remark.setFont(theme.font(12))
        self.remark.setObjectName("muted")
        self.plot.setMinimumSize(QSize(px(300), px(170)))
        self.table.setMinimumHeight(px(140))
        self.table.setFont(theme.font(12))
        self.table.horizontalHeader().setFont(theme.font(11, 500))
        self.table.horizontalHeader().setMaximumSectionSize(px(220))
        self.table.horizontalHeader().setMinimumSectionSize(px(92))
        self.table.verticalHeader().setDefaultSectionSize(px(24))
        self._bar.setFixedWidth(px(160))
        self.refresh()


def cells(project: Project, rule: RuleSpread) -> tuple[str, ...]:
    """Write a rule's row, in the order of the heads."""
    lanes = ", ".join(project.lane(lane).label for lane in rule.lanes if lane in project.lane_index)
    worst = margin_text(rule.worst_deg)
    return rule_name(project, rule), lanes, margin_text(rule.smallest_deg), worst, chance_text(rule.chance)


def as_table(project: Project, spread: Spread) -> str:
    """Write everything as lines with tabs between their cells, numbers plain."""
    rows = [
        ("machines", "chance", "low", "high", "disc angle that is enough, deg"),
        (
            str(spread.machines),
            _plain(spread.chance),
            _plain(spread.low),
            _plain(spread.high),
            _needed(spread),
        ),
        ("rule", "lanes", "as drawn, deg", "worst case, deg", "holds in, share"),
        *(_plain_row(project, rule) for rule in spread.tightest_first),
        ("lane", "chance without its error"),
        *(_cost(project, cost) for cost in spread.costs),
        ("kind of error", "chance without it"),
        *((_sentence(CAUSE_NAMES[one.cause]), _plain(one.chance_without)) for one in spread.causes),
        ("smallest margin from, deg", "to, deg", "machines"),
        *_columns(spread),
    ]
    return "\n".join("\t".join(row) for row in rows)


def _columns(spread: Spread) -> list[tuple[str, ...]]:
    edges, counts = spread.histogram.edges_deg, spread.histogram.counts
    return [(_plain(a), _plain(b), str(n)) for a, b, n in zip(edges, edges[1:], counts, strict=False)]


def _cost(project: Project, cost: LaneCost) -> tuple[str, ...]:
    return text_cell(project.lane(cost.lane).label), _plain(cost.chance_without)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _plain_row(project: Project, rule: RuleSpread) -> tuple[str, ...]:
    name, lanes, *_ = cells(project, rule)
    margins = (_margin(value) for value in (rule.smallest_deg, rule.worst_deg))
    return text_cell(name), text_cell(lanes), *margins, _plain(rule.chance)


def _margin(degrees: float) -> str:
    """Write a margin, degrees, as a plain number; in words where it has none."""
    return _plain(degrees) if isfinite(degrees) else margin_text(degrees)


def _needed(spread: Spread) -> str:
    return "" if spread.needed_disc_angle_deg is None else _plain(spread.needed_disc_angle_deg)


def _plain(value: float) -> str:
    return f"{value:.9g}"
