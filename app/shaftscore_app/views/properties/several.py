"""Properties of several blocks: common values, "various" where they differ."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from shaftscore.base import wording
from shaftscore.base.angles import TURN, ahead, turn_to, wrap
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.edits import (
    BlockRef,
    Edited,
    move_blocks,
    set_block_law,
    set_block_level,
    set_least_length,
    set_locked,
    set_window,
    stretch_block,
)
from shaftscore.model import (
    Block,
    Disc,
    Lane,
    LawName,
    Load,
    Project,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
)
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.form import PropertyForm
from shaftscore_app.views.properties.laws import law_options
from shaftscore_app.views.properties.levels import LevelsLive
from shaftscore_app.views.properties.live import LaneRows, common
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

Slack = float | Various | None
"""How far blocks may start from where they start, degrees: one for all, different ones, or anywhere."""

NO_ROOM = "They have room only to {}: their neighbours, or locked blocks, leave no more"


class SeveralSection(PropertyForm):
    """The fields of several blocks; a value entered goes to all of them as one step."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.level: Choice[str] = Choice(theme, "Level")
        self.row("Level", self.level)
        self.start = Field(theme, "First start", angle(document))
        self.start.setToolTip("First start: where the earliest of them starts; all go with it")
        self.row("First start", self.start)
        self.length = Field(theme, "Length", angle(document))
        self.row("Length", self.length)
        self.earlier = Field(
            theme, "Window, earlier than it starts", angle(document, empty="any", unit="earlier")
        )
        self.later = Field(theme, "Window, later than it starts", angle(document, empty="any", unit="later"))
        for field in (self.earlier, self.later):
            field.setToolTip("Window: how far each may start from where it starts now; empty for any place")
        self.row("Window", self.earlier, self.later)
        self.law: Choice[LawName | None] = Choice(theme, "Law of the moves")
        self.row("Law", self.law)
        self.least = Field(theme, "Minimum length", least_length())
        self.row("Minimum length", self.least)
        self._has_lanes = False
        self.least.entered.connect(self._set_least)
        self.level.chosen.connect(self._set_level)
        self.start.entered.connect(self._set_start)
        self.length.entered.connect(self._set_length)
        self.earlier.entered.connect(lambda deg: self._set_windows(self.earlier, deg, self.later.shown()))
        self.later.entered.connect(lambda deg: self._set_windows(self.later, self.earlier.shown(), deg))
        self.law.chosen.connect(self._set_law)
        self.lock.clicked.connect(self._set_locked)
        self.fit()

    def _add_lanes(self) -> None:
        """Add the rows of the lanes of the blocks, once they are wanted: the window opens sooner."""
        self._has_lanes = True
        self._lane_title, _ = self.section("Their lanes")
        self.said = self.fault_row()
        rows = LaneRows(self, self._document, self._theme, self._own_lanes, self.say)
        rows.add("", Lane, "group", "law", "band_mm", "station_deg", "offset_deg", "stack")
        self.fold("Levels that they share")
        self.levels = LevelsLive(self._document, self._theme, self._own_lanes, self.say)
        self.wide(self.levels)
        self.fold("Followers")
        rows.add_follower_kind()
        for record in (TranslatingRoller, SwingingRoller, TranslatingFlat):
            rows.add("follower", record)
        self.fold("Discs")
        rows.add("disc", Disc)
        self.fold("Loads")
        rows.add("load", Load)
        self.rows = rows
        for fold in self._folds:
            fold.toggled.connect(lambda _open: self.refresh())
        self.fit()

    @property
    def first(self) -> Choice[str]:
        """The field that gets the focus."""
        return self.level

    def refresh(self) -> None:
        """Show what the selected blocks have in common."""
        if not self._refs:
            return
        if not self._has_lanes:
            self._add_lanes()
        blocks = self._blocks
        lanes = list(dict.fromkeys(lane.label for lane in self._lanes))
        self.heading.setText(wording.counted(len(blocks), "block"))
        self.remark.setText(lanes[0] if len(lanes) == 1 else wording.counted(len(lanes), "lane"))
        self.level.set_options([Option(name, name) for name in self._common_levels()])
        show(self.level, common(block.level for block in blocks))
        show(self.start, min(self._starts))
        show(self.length, common(round(block.length_deg, 6) for block in blocks))
        show(self.earlier, common(_slack(block)[0] for block in blocks))
        show(self.later, common(_slack(block)[1] for block in blocks))
        self.law.set_options([Option(None, "Same as lane"), *law_options()])
        show(self.law, common(block.law for block in blocks))
        show(self.least, common(least_of(block) for block in blocks))
        self._lane_title.setText("Their lane" if len(lanes) == 1 else "Their lanes")
        self.rows.refresh()
        self.levels.refresh()
        locked = common(block.locked for block in blocks)
        self.lock.show()
        self.lock.setChecked(locked is True)
        self.lock.setIcon(self._theme.icon("lock" if locked is True else "unlock", 16))
        self.lock.setAccessibleName("Locked")
        self.lock.setToolTip("Lock (Ctrl+L): a locked block does not move, stretch or shrink")

    # Inside

    @property
    def _refs(self) -> tuple[BlockRef, ...]:
        return self._document.selection.blocks

    @property
    def _lanes(self) -> list[Lane]:
        return [self._document.project.lane(ref.lane_id) for ref in self._refs]

    def _own_lanes(self) -> list[Lane]:
        """Return each lane once."""
        return [self._document.project.lane(own) for own in dict.fromkeys(ref.lane_id for ref in self._refs)]

    @property
    def _blocks(self) -> list[Block]:
        return [lane.blocks[ref.index] for lane, ref in zip(self._lanes, self._refs, strict=True)]

    @property
    def _starts(self) -> list[float]:
        """Return where the blocks start, angles of the master shaft."""
        project = self._document.project
        turns = [project.stack_of(lane).turns for lane in self._lanes]
        return [block.start_deg / k for block, k in zip(self._blocks, turns, strict=True)]

    def _common_levels(self) -> list[str]:
        first, *rest = self._lanes
        ranked = sorted(first.levels, key=lambda name: -first.levels[name])
        return [name for name in ranked if all(name in lane.levels for lane in rest)]

    def _set_level(self, level: str) -> None:
        self._each(lambda project, ref: set_block_level(project, ref, level), f"Set {self._many} to {level}")

    def _set_law(self, law: LawName | None) -> None:
        self._each(lambda project, ref: set_block_law(project, ref, law), f"Set the law of {self._many}")

    def _set_least(self, least: Least | None) -> None:
        def change(project: Project, ref: BlockRef) -> Edited:
            return set_least_length(project, ref, least_degrees(least), least_seconds(least))

        self._each(change, f"Set the shortest length of {self._many}")

    def _set_start(self, deg: float) -> None:
        """Move all so that the earliest starts at an angle of the master shaft."""
        by, refs = turn_to(min(self._starts), deg), self._refs
        fault = commit(self._document, lambda: move_blocks(self._document.committed, refs, by))
        short = abs(turn_to(min(self._starts), deg)) > EDIT_DEG
        self.start.set_fault(fault or (NO_ROOM.format(wording.degrees(min(self._starts))) if short else ""))

    def _set_length(self, deg: float) -> None:
        def stretch(project: Project, ref: BlockRef) -> Edited:
            start = project.lane(ref.lane_id).blocks[ref.index].start_deg
            return stretch_block(project, ref, end_deg=start + deg, neighbours="give")

        self._each(stretch, f"Set the length of {self._many}")

    def _set_windows(self, field: Field[float], earlier: Slack, later: Slack) -> None:
        """Let each start so far from where it starts; a side that is not one number for all is 0.

        Where one side is taken away the windows go: they have two.
        """
        had = all(block.window is not None for block in self._blocks)
        free = (earlier is None and later is None) or (had and None in (earlier, later))
        before, after = (
            0.0 if side is None or isinstance(side, Various) else side for side in (earlier, later)
        )
        if not (free or (min(before, after) >= 0 and before + after <= TURN)):
            field.set_fault(f"A window is 0° to 360° wide, got {wording.degrees(before + after)}")
            return

        def keep(project: Project, ref: BlockRef) -> Edited:
            start = project.lane(ref.lane_id).blocks[ref.index].start_deg
            low = None if free else wrap(start - before)
            high = None if low is None else low + before + after
            return set_window(project, ref, low, high)

        self._each(keep, f"Set the windows of {self._many}")

    def _set_locked(self, locked: bool) -> None:
        refs = self._refs
        self._commit(lambda: set_locked(self._document.committed, refs, locked))

    @property
    def _many(self) -> str:
        return wording.counted(len(self._refs), "block")

    def _each(self, change: Callable[[Project, BlockRef], Edited], name: str) -> None:
        self._commit(lambda: in_turn(self._document.committed, self._refs, change, name))

    def _commit(self, make: Callable[[], Edited]) -> None:
        self.length.set_fault(commit(self._document, make))


def _slack(block: Block) -> tuple[float | None, float | None]:
    """Return by how much a block may start earlier and later, degrees; None for both without a window."""
    if block.window is None:
        return None, None
    low, start = block.window.earliest_deg, block.start_deg
    width = block.window.latest_deg - low
    width += TURN if width < 0 else 0.0
    before = ahead(low, start)
    before = before if before <= width else turn_to(low, start)  # it may start outside of its window
    return round(before, 6), round(width - before, 6)


def in_turn(
    project: Project,
    refs: Iterable[BlockRef],
    change: Callable[[Project, BlockRef], Edited],
    name: str,
) -> Edited:
    """Make an edit of one block after the other: one step for all. Raises what an edit raises."""
    done: list[BlockRef] = []
    for ref in refs:
        edited = change(project, ref)
        project = edited.project
        done.append(edited.selection[0] if edited.selection else ref)
    return Edited(project, name, tuple(done))
