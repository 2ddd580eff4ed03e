"""Properties of one block: where it stands, the move that leads to it, and the state that it makes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from shaftscore.base import wording
from shaftscore.base.angles import ahead, wrap
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Block, Lane, Stack
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.document.words import step_number
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.figures import move_figures, peak_pressure, state_texts
from shaftscore_app.views.properties.form import Figure, Form
from shaftscore_app.views.properties.laws import law_options
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import angle, least_arguments, least_length, least_of


class _Times(NamedTuple):
    """A row with an angle: its field, and the same in steps and seconds."""

    field: Field
    steps: Figure
    seconds: Figure


class BlockSection(Form):
    """The fields of one block."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.level = Choice(theme, "Level")
        self.row("Level", self.level)
        self.heads("degrees", "steps", "seconds")
        self._rows = [self._times(name) for name in ("Start", "End", "Length")]
        self.start, self.end, self.length = (row.field for row in self._rows)
        self.earliest = Field(theme, "Window from", angle(document, empty="any", unit="from"))
        self.latest = Field(theme, "Window to", angle(document, empty="any", unit="to"))
        self.row("Window", self.earliest, self.latest)
        self.least = Field(theme, "Shortest", least_length())
        self.row("Shortest", self.least)
        self._move_title, self._move_range = self.section()
        self.law = Choice(theme, "Law of the move")
        self.row("Law", self.law)
        names = ("Length", "Peak velocity", "Peak acceleration", "Pressure angle")
        self._move = [self.figure(name) for name in names]
        self._state_title, self._state_band = self.section()
        self._interval = self.figure("State interval")
        self._leaves = self.figure("Item leaves at")
        self._connect()
        self.fit()

    @property
    def first(self) -> Field:
        """The field that gets the focus."""
        return self.start

    # What it shows

    def refresh(self) -> None:
        """Show the selected block."""
        lane, block, ref = self._lane, self._block, self._ref
        self.heading.setText(f"{lane.label}, {block.level}")
        self.remark.setText(f"block {ref.index + 1} of {len(lane.blocks)}")
        self._show_lock(block)
        self.level.set_options(level_options(lane))
        show(self.level, block.level)
        self._show_times(block)
        self.law.set_options(law_options(lane.law))
        show(self.law, block.law)
        self._show_figures(lane, ref.index)

    def _show_lock(self, block: Block) -> None:
        self.lock.show()
        self.lock.setChecked(block.locked)
        self.lock.setIcon(self._theme.icon("lock" if block.locked else "unlock", 16))
        self.lock.setToolTip("Lock (Ctrl+L): what is locked does not move, stretch or give way")
        self.lock.setAccessibleName("Locked")

    def _show_times(self, block: Block) -> None:
        values = (block.start_deg, wrap(block.end_deg), block.length_deg)
        stack, per_second = self._stack, self._deg_per_s
        for row, value in zip(self._rows, values, strict=True):
            row.field.set_quantity(angle(self._document, stack))
            show(row.field, value)
            show(row.seconds, wording.number(value / per_second, 2))
        starts = [step_number(self._document.project, deg / stack.turns) for deg in values[:2]]
        show(self._rows[0].steps, wording.number(starts[0], 2))
        show(self._rows[1].steps, wording.number(starts[1], 2))
        show(self._rows[2].steps, wording.number(self._steps_long(block, stack), 2))
        window = block.window
        show(self.earliest, None if window is None else window.earliest_deg)
        show(self.least, least_of(block))
        show(self.latest, None if window is None else wrap(window.latest_deg))

    def _steps_long(self, block: Block, stack: Stack) -> float:
        """Return how many steps the block lasts, counted through the seam."""
        project = self._document.project
        count = len(project.shaft.step_starts_deg)
        start = step_number(project, block.start_deg / stack.turns)
        end = step_number(project, wrap(block.end_deg) / stack.turns)
        wraps = block.end_deg >= 360.0
        return end - start + (count / stack.turns if wraps else 0.0)

    def _show_figures(self, lane: Lane, index: int) -> None:
        report = self._document.report
        solution = report.solution.lanes[lane.id]
        move = move_figures(solution, index)
        self._move_title.setText(move.title)
        self._move_range.setText(move.where)
        pressure = peak_pressure(solution, index)
        for figure, text in zip(self._move, (*move.texts, pressure), strict=True):
            show(figure, text)
        self._state_title.setText(f"While {self._block.level}")
        self._state_band.setText(f"band ±{wording.number(lane.band, 1)} mm")
        state = state_texts(self._document.project, solution, lane, index)
        show(self._interval, state.interval)
        item, when = state.leaves or ("item", "")
        self._leaves.set_row(f"{item.capitalize()} leaves at", state.leaves is not None)
        show(self._leaves, when)

    # What it changes

    def _connect(self) -> None:
        self.lock.clicked.connect(lambda on: self._do(self.start, "set_locked", refs=(self._ref,), locked=on))
        self.level.chosen.connect(
            lambda level: self._do(self.level, "set_block_level", ref=self._ref, level=level)
        )
        self.law.chosen.connect(lambda law: self._do(self.law, "set_block_law", ref=self._ref, law=law))
        self.start.entered.connect(self._set_start)
        self.end.entered.connect(self._set_end)
        self.length.entered.connect(self._set_length)
        self.least.entered.connect(
            lambda least: self._do(self.least, "set_least_length", ref=self._ref, **least_arguments(least))
        )
        self.earliest.entered.connect(lambda deg: self._set_window(self.earliest, deg, self.latest.shown()))
        self.latest.entered.connect(lambda deg: self._set_window(self.latest, self.earliest.shown(), deg))

    def _set_start(self, deg: float) -> None:
        self._do(self.start, "place_block", ref=self._ref, start_deg=wrap(deg))

    def _set_end(self, deg: float) -> None:
        start = self._block.start_deg
        end = start + ahead(start, deg)
        self._do(self.end, "stretch_block", ref=self._ref, end_deg=end, neighbours="give")

    def _set_length(self, deg: float) -> None:
        if not 0 <= deg <= 360:
            self.length.set_fault(f"A length is 0° to 360°, got {wording.degrees(deg)}")
            return
        end = self._block.start_deg + deg
        self._do(self.length, "stretch_block", ref=self._ref, end_deg=end, neighbours="give")

    def _set_window(self, field: Field, earliest: float | None, latest: float | None) -> None:
        """Set both ends of the window; the first end alone stands for itself and the block's start.

        Where one end is taken away the window goes: it has two.
        """
        had = self._block.window is not None
        if (earliest is None and latest is None) or (had and None in (earliest, latest)):
            self._do(field, "set_window", ref=self._ref, earliest_deg=None, latest_deg=None)
            return
        start = self._block.start_deg
        low = wrap(start if earliest is None else earliest)
        high = low + ahead(low, start if latest is None else latest)
        self._do(field, "set_window", ref=self._ref, earliest_deg=low, latest_deg=high)

    def _do(self, field: Any, edit: str, **arguments: object) -> None:
        """Make one undo step, or mark the field with why it cannot be."""
        document = self._document
        fault = commit(document, lambda: apply_edit(document.committed, edit, **arguments))
        mark: Callable[[str], None] | None = getattr(field, "set_fault", None)
        if mark is not None:
            mark(fault)
        if fault:
            self.refresh_after_fault(field)

    def refresh_after_fault(self, field: Any) -> None:
        """Put a choice back that could not be made (a field keeps what was typed, marked)."""
        if isinstance(field, Choice):
            value = field.shown()
            field.set_shown(value)

    # Inside

    @property
    def _ref(self) -> BlockRef:
        return self._document.selection.blocks[0]

    @property
    def _lane(self) -> Lane:
        return self._document.project.lane(self._ref.lane_id)

    @property
    def _block(self) -> Block:
        return self._lane.blocks[self._ref.index]

    @property
    def _stack(self) -> Stack:
        return self._document.project.stack_of(self._lane)

    @property
    def _deg_per_s(self) -> float:
        return 6.0 * self._document.project.shaft.speed_rpm * self._stack.turns

    def _times(self, name: str) -> _Times:
        field = Field(self._theme, name, angle(self._document))
        row = _Times(field, Figure(f"{name}, steps"), Figure(f"{name}, seconds"))
        self.row(name, *row)
        return row


def level_options(lane: Lane) -> list[Option]:
    """Return a lane's levels, highest first, with their heights."""
    ranked = sorted(lane.levels.items(), key=lambda item: -item[1])
    return [Option(name, name, wording.millimetres(mm)) for name, mm in ranked]
