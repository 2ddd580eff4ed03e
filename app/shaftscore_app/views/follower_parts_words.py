"""What the Follower parts view says: the three choices, figures, parts and purchases, without Qt."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.base.errors import EditError
from shaftscore.edits import move_by
from shaftscore.edits.followers import NAMES, MoveKind
from shaftscore.layout.followers import FollowerFigures, FollowerLayout, FollowerLayoutError, follower_layout
from shaftscore.layout.purchases import follower_purchases
from shaftscore.make.solids import MadePart, SolidError
from shaftscore.make.solids.followers import MAKERS, follower_part
from shaftscore.model import Lane, Project
from shaftscore.solution import LaneSolution, solve

KINDS: tuple[MoveKind, ...] = ("slide", "lever", "straight-line")
"""The choices in the order of their keys 1, 2, 3."""

EMPTY = "Select a lane to see what moves it."
NO_LEVELS = "Add levels and blocks to the lane to see its follower."
NOT_CHOSEN = "Choose how the lane is moved: the parts are then made with the discs."
SMALL_MM = 0.01
"""A deviation under this is said to be under it."""


@dataclass(frozen=True)
class ChoiceCard:
    """A choice: its kind, title, ratio and what else is said.

    is_possible: whether it can be made.
    """

    kind: MoveKind
    title: str
    ratio: str
    detail: str
    is_possible: bool


def choice_cards(project: Project, lane: Lane, solved: LaneSolution | None) -> tuple[ChoiceCard, ...]:
    """Return the three choices for a lane, each with what it would do there."""
    return tuple(_card(project, lane, solved, kind) for kind in KINDS)


def _card(project: Project, lane: Lane, solved: LaneSolution | None, kind: MoveKind) -> ChoiceCard:
    title = NAMES[kind].capitalize()
    layout = tried(project, lane, solved, kind)
    if isinstance(layout, str):
        return ChoiceCard(kind, title, "not possible", layout, is_possible=False)
    figures = layout.figures
    if kind == "slide":
        lift = wording.millimetres(figures.lift_mm)
        detail = f"{figures.parts} printed parts. To reach {lift} the disc itself must lift {lift}."
        return ChoiceCard(kind, title, "Output = lift", detail, is_possible=True)
    ratio = f"{wording.number(figures.ratio, 1)} to 1"
    what = "output on an arc" if kind == "lever" else "output straight"
    pivots = wording.counted(figures.pivots, "pivot")
    detail = f"{figures.parts} printed parts, {pivots}. {off_text(figures.off_line_mm)}"
    return ChoiceCard(kind, title, f"{ratio}, {what}", detail, is_possible=True)


def off_text(off_mm: float) -> str:
    """Return by how much an output leaves a straight line, as a sentence."""
    if off_mm < SMALL_MM:
        return f"Leaves a straight line by under {wording.millimetres(SMALL_MM, 2)}."
    return f"Leaves a straight line by {wording.millimetres(off_mm, 2)}."


def tried(project: Project, lane: Lane, solved: LaneSolution | None, kind: MoveKind) -> FollowerLayout | str:
    """Return how a lane would be laid out with a choice, or why it cannot be."""
    try:
        if lane.parts is not None and lane.parts.kind == kind and solved is not None:
            made = follower_layout(project, solved)
        else:
            edited = move_by(project, lane.id, kind, base_of(solved)).project
            made = follower_layout(edited, solve(edited, lanes=[lane.id]).lanes[lane.id])
    except (EditError, FollowerLayoutError) as error:
        return str(error)
    return made or NO_LEVELS


def base_of(solved: LaneSolution | None) -> float | None:
    """Return the base radius of a lane that is solved, mm; None for others."""
    return None if solved is None or solved.profile is None else solved.profile.base_radius_mm


@dataclass(frozen=True)
class FigureRow:
    """A row of the figures: its name, its value, and whether that breaks a limit."""

    name: str
    value: str
    is_over: bool = False


def figure_rows(project: Project, layout: FollowerLayout) -> tuple[FigureRow, ...]:
    """Return what a follower does, as rows."""
    figures, profile = layout.figures, layout.profile
    swings = layout.pivot is not None
    limits = project.limits
    limit = limits.swing_pressure_angle_deg if swings else limits.pressure_angle_deg
    pressure = profile.max_pressure_angle_deg
    said = f"{wording.degrees(pressure)} of {wording.degrees(limit)}"
    rows = [
        FigureRow("Ratio", f"{wording.number(figures.ratio, 2)} to 1"),
        FigureRow("Travel of the output", wording.millimetres(figures.travel_mm)),
        FigureRow("Lift of the roller", wording.millimetres(figures.lift_mm, 2)),
        *_lever_rows(figures, swings=swings),
        FigureRow("Pressure angle", said, pressure > limit),
        FigureRow("Play at the output", wording.millimetres(layout.output_play_mm, 2)),
    ]
    return tuple(rows)


def _lever_rows(figures: FollowerFigures, *, swings: bool) -> list[FigureRow]:
    if not swings:
        return []
    off = figures.off_line_mm
    told = f"under {wording.millimetres(SMALL_MM, 2)}" if off < SMALL_MM else wording.millimetres(off, 2)
    return [FigureRow("Swing", wording.degrees(figures.swing_deg)), FigureRow("Off a straight line", told)]


def bought_text(layout: FollowerLayout) -> str:
    """Return what is bought for a follower, in one line."""
    bearing = getattr(layout.lane.follower, "bearing", None)
    items = [f"bearing {bearing}"] if bearing else []
    for one in follower_purchases(layout):
        items.append(f"{one.count} {one.what} {one.size}" if one.count > 1 else f"{one.what} {one.size}")
    return ", ".join(items)


def levels_text(lane: Lane, levels: dict[str, float]) -> str:
    """Return a lane's levels, lowest first: "tray 0, shut 8, cup 16 mm"."""
    named = sorted(levels.items(), key=lambda item: item[1])
    text = ", ".join(f"{name} {wording.plain(value, 1)}" for name, value in named)
    return f"{text} mm" if text else f"{lane.label} has no levels"


def part_rows(project: Project, layout: FollowerLayout) -> tuple[FigureRow, ...]:
    """Return the printed parts that can be made, each with its count and its size."""
    rows = []
    for maker in MAKERS[layout.parts.kind]:
        try:
            part = follower_part(maker, project, layout)
        except SolidError:  # the drawing says why
            continue
        rows.append(FigureRow(f"{part.code} {part.label.split(' of ')[0]}", _part_text(part)))
    return tuple(rows)


def _part_text(part: MadePart) -> str:
    """Return how often a part is made, and its size."""
    count = f"{part.count} × " if part.count > 1 else ""
    x, y = (float(size) for size in part.outline.max(axis=0) - part.outline.min(axis=0))
    return f"{count}{wording.number(x, 0)} × {wording.number(y, 0)} × {wording.plain(part.top_mm, 1)} mm"
