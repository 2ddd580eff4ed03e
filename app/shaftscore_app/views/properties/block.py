"""Properties of one block: where it stands, the move that leads to it, and the state that it makes."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from shaftscore.base import wording
from shaftscore.base.angles import ahead, wrap
from shaftscore.edits import (
    BlockRef,
    Edited,
    place_block,
    set_block_law,
    set_block_level,
    set_least_length,
    set_locked,
    set_window,
    stretch_block,
)
from shaftscore.model import Block, Lane, LawName, Project, Stack
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.document.words import step_number
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.figures import move_figures, peak_pressure, state_texts
from shaftscore_app.views.properties.form import Figure, PropertyForm
from shaftscore_app.views.properties.laws import law_options
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Various
from shaftscore_app.widgets.quantities import (
    Least,
    angle,
    least_degrees,
    least_length,
    least_of,
    least_seconds,
)

Entry = Field[float] | Field[Least] | Choice[str] | Choice[LawName | None]
"""What a person enters a value of the block in."""


class _Times(NamedTuple):
    """A row with an angle: its field, and the same in steps and seconds."""

    field: Field[float]
    steps: Figure
    seconds: Figure


class BlockSection(PropertyForm):
    """The fields of one block."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.level: Choice[str] = Choice(theme, "Level")
        self.row("Level", self.level)
        self.heads("degrees", "steps", "seconds")
        self._rows = [self._times(name) for name in ("Start", "End", "Length")]
        self.start, self.end, self.length = (row.field for row in self._rows)
        self.earliest = Field(theme, "Window from", angle(document, empty="any", unit="from"))
        self.latest = Field(theme, "Window to", angle(document, empty="any", unit="to"))
        self.row("Window", self.earliest, self.latest)
        self.least = Field(theme, "Minimum length", least_length())
        self.row("Minimum length", self.least)
        self._move_title, self._move_range = self.section()
        self.law: Choice[LawName | None] = Choice(theme, "Law of the move")
        self.row("Law", self.law)
        names = ("Length", "Peak velocity", "Peak acceleration", "Pressure angle")
        self._move = [self.figure(name) for name in names]
        self._state_title, self._state_band = self.section()
        self._interval = self.figure("State interval")
        self._leaves = self.figure("Item leaves at")
        self._connect()
        self.fit()

    @property
    def first(self) -> Field[float]:
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
        self.lock.setToolTip("Lock (Ctrl+L): a locked block does not move, stretch or shrink")
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
        self.lock.clicked.connect(self._set_locked)
        self.level.chosen.connect(self._set_level)
        self.law.chosen.connect(self._set_law)
        self.start.entered.connect(self._set_start)
        self.end.entered.connect(self._set_end)
        self.length.entered.connect(self._set_length)
        self.least.entered.connect(self._set_least)
        self.earliest.entered.connect(lambda deg: self._set_window(self.earliest, deg, _end_of(self.latest)))
        self.latest.entered.connect(lambda deg: self._set_window(self.latest, _end_of(self.earliest), deg))

    def _set_locked(self, locked: bool) -> None:
        self._do(self.start, lambda project, ref: set_locked(project, (ref,), locked))

    def _set_level(self, level: str) -> None:
        self._do(self.level, lambda project, ref: set_block_level(project, ref, level))

    def _set_law(self, law: LawName | None) -> None:
        self._do(self.law, lambda project, ref: set_block_law(project, ref, law))

    def _set_least(self, least: Least | None) -> None:
        deg, seconds = least_degrees(least), least_seconds(least)
        self._do(self.least, lambda project, ref: set_least_length(project, ref, deg, seconds))

    def _set_start(self, deg: float) -> None:
        self._do(self.start, lambda project, ref: place_block(project, ref, wrap(deg)))

    def _set_end(self, deg: float) -> None:
        start = self._block.start_deg
        end = start + ahead(start, deg)
        self._stretch(self.end, end)

    def _set_length(self, deg: float) -> None:
        if not 0 <= deg <= 360:
            self.length.set_fault(f"A length is 0° to 360°, got {wording.degrees(deg)}")
            return
        end = self._block.start_deg + deg
        self._stretch(self.length, end)

    def _stretch(self, field: Field[float], end: float) -> None:
        self._do(field, lambda project, ref: stretch_block(project, ref, end_deg=end, neighbours="give"))

    def _set_window(self, field: Field[float], earliest: float | None, latest: float | None) -> None:
        """Set both ends of the window; the first end alone stands for itself and the block's start.

        Where one end is taken away the window goes: it has two.
        """
        had = self._block.window is not None
        if (earliest is None and latest is None) or (had and None in (earliest, latest)):
            self._do(field, lambda project, ref: set_window(project, ref, None, None))
            return
        start = self._block.start_deg
        low = wrap(start if earliest is None else earliest)
        high = low + ahead(low, start if latest is None else latest)
        self._do(field, lambda project, ref: set_window(project, ref, low, high))

    def _do(self, entry: Entry, edit: Callable[[Project, BlockRef], Edited]) -> None:
        """Make one undo step of an edit of the block, or mark the field with why it cannot be."""
        document, ref = self._document, self._ref
        fault = commit(document, lambda: edit(document.committed, ref))
        if isinstance(entry, Field):
            entry.set_fault(fault)
        elif fault:
            entry.put_back()

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


def _end_of(field: Field[float]) -> float | None:
    """Return the end of a window that a field shows; None where it shows none."""
    deg = field.shown()
    return None if isinstance(deg, Various) else deg


def level_options(lane: Lane) -> list[Option[str]]:
    """Return a lane's levels, highest first, with their heights."""
    ranked = sorted(lane.levels.items(), key=lambda item: -item[1])
    return [Option(name, name, wording.millimetres(mm)) for name, mm in ranked]
