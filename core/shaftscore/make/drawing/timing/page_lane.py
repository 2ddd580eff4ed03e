"""One lane of the timing diagram on paper: header, lines of steps and levels, blocks, curve, words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import TURN, Angles, wrap
from shaftscore.kinematics.course import LaneCycle
from shaftscore.kinematics.motion.surroundings import surroundings
from shaftscore.make.drawing.scene import Pattern, Stroke, Tone
from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.beside import free_place
from shaftscore.make.drawing.timing.bodies import BEAD, BodyBox, level_style, pieces_of, shape_box
from shaftscore.make.drawing.timing.curves import LaneCurve, curve_line, turns_seen
from shaftscore.make.drawing.timing.cycle import shapes_in
from shaftscore.make.drawing.timing.inking import (
    SIZE,
    Inking,
    baseline_of,
    fitted,
    text_width,
)
from shaftscore.make.drawing.timing.labels import (
    BASELINE,
    LEAST_LABELLED,
    BlockText,
    label_parts,
    place_labels,
    with_room,
)
from shaftscore.make.drawing.timing.shapes import BlockShape, Level, levels_of
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore.model import Lane, Project

NAME_X, LEVELS_RIGHT = 26.0, 8.0
"""Where names begin in a header, and the room right of the levels' names, px."""

SMALL, NAME_LINE = 10.0, 13.0
"""Size of texts beside others, and distance of the lines of a name, px."""

PATTERNS: tuple[Pattern | None, ...] = (None, "rising", "dots", "level", "crossed")
"""Patterns of levels by the number of their style."""

LEVELS: tuple[Tone, ...] = ("level-0", "level-1", "level-2", "level-3", "level-4", "level-5")
"""Fills of levels by the number of their style."""

HAIR, EDGE, CURVE = Stroke("pale", "hair"), Stroke("ink", "hair"), Stroke("ink", "bold")
"""Lines of help, edges of blocks, and the curve."""


@dataclass(frozen=True)
class PaperLane:
    """What is drawn of a lane: its strip, its blocks as they are on the axis, its curve if it moves."""

    project: Project
    lane: Lane
    axis: Axis
    strip: Strip
    curve: LaneCurve | None

    @property
    def levels(self) -> tuple[Level, ...]:
        """Return the levels by which its states are named, lowest first."""
        return levels_of(self.project.named_lane(self.lane))

    @property
    def shapes(self) -> tuple[BlockShape, ...]:
        """Return its blocks in cycle 1; a rider has those of its disc's lane, later by its station."""
        host = self.project.named_lane(self.lane)
        seen = LaneCycle.of(self.project, self.lane)
        later = surroundings(self.project, self.lane).later_deg / seen.rate if host is not self.lane else 0.0
        return tuple(replace(one, start_deg=one.start_deg + later) for one in shapes_in(host, seen))

    def pieces(self, shape: BlockShape) -> list[SeenPiece]:
        """Return the copies of a block within the turn."""
        left, right = self.axis.home
        return [one for one in pieces_of(self.axis, shape, BEAD) if left <= one.left and one.right <= right]


def draw_lane(ink: Inking, drawn: PaperLane) -> None:
    """Draw a lane over the whole width."""
    _header(ink, drawn)
    _ground(ink, drawn)
    lines = list(_curve_lines(drawn))
    floor = drawn.strip.floor
    for xs, ys in lines:
        ink.area([*xs, xs[-1], xs[0]], [*ys, floor, floor], "face", name=f"material {drawn.lane.id}")
    for shape in drawn.shapes:
        for piece in drawn.pieces(shape):
            draw_body(ink, drawn, shape, piece)
    for xs, ys in lines:
        ink.line(xs, ys, CURVE)
    if drawn.curve is None:
        middle = drawn.strip.top + drawn.strip.height / 2
        ink.text(drawn.axis.left + 6.0, baseline_of(middle), "no motion", tone="muted")
    elif drawn.strip.detail is not Detail.THIN:
        _words(ink, drawn)
    ink.line([0.0, drawn.axis.right], [drawn.strip.bottom] * 2, HAIR)


# Header and ground


def _header(ink: Inking, drawn: PaperLane) -> None:
    """Write code, name and levels: a long name in two lines where the strip is high enough."""
    strip, lane, width = drawn.strip, drawn.lane, drawn.axis.left - LEVELS_RIGHT
    middle, levels = strip.top + strip.height / 2, list(_level_texts(drawn))
    for at, text in levels:
        ink.text(width, baseline_of(at, SMALL), text, size=SMALL, anchor="end", tone="muted")
    code = lane.code or ""
    ink.text(0.0, baseline_of(middle), code, tone="muted", bold=True)
    x = max(NAME_X, text_width(code, SIZE, True) + 6.0) if code else 0.0

    def room(at: float) -> float:
        beside = [text_width(text, SMALL) + 4.0 for level, text in levels if abs(level - at) < SIZE]
        return width - x - max(beside, default=0.0)

    heights = [middle]
    if strip.detail is Detail.FULL and text_width(lane.label, SIZE, True) > room(middle):
        heights = [middle - NAME_LINE / 2, middle + NAME_LINE / 2]
    for at, text in zip(heights, _broken_name(lane.label, [room(at) for at in heights]), strict=True):
        ink.text(x, baseline_of(at), text, bold=True)


def _broken_name(name: str, rooms: Sequence[float]) -> list[str]:
    """Return a name as a line for each room, px: words that fit in all but the last, which is shortened."""
    lines, words = [], name.split()
    for room in rooms[:-1]:
        count = next(
            (n for n in range(len(words), 0, -1) if text_width(" ".join(words[:n]), SIZE, True) <= room), 0
        )
        lines.append(" ".join(words[:count]))
        words = words[count:]
    return [*lines, fitted(" ".join(words), rooms[-1], SIZE, True)]


def _level_texts(drawn: PaperLane) -> Iterator[tuple[float, str]]:
    """Yield the levels that have room beside the strip: their middle, px, and what is written."""
    levels = drawn.levels if drawn.strip.detail is Detail.FULL else ()
    middles = [max(drawn.strip.y(level.output_mm), drawn.strip.top + 7.5) for level in levels]
    for index in with_room(middles, SIZE):
        name = fitted(levels[index].name, 58.0, SMALL)
        yield middles[index], f"{name} {wording.plain(levels[index].output_mm, 2)}"


def _ground(ink: Inking, drawn: PaperLane) -> None:
    """Draw the lines of steps and levels."""
    axis, strip = drawn.axis, drawn.strip
    for start in drawn.project.shaft.step_starts_deg:
        for x in axis.places(start):
            ink.line([x, x], [strip.top, strip.bottom], HAIR)
    for level in drawn.levels if strip.detail is not Detail.THIN else ():
        y = strip.y(level.output_mm)
        if level.guarded:
            ink.line([axis.left, axis.right], [y, y], Stroke("muted", "hair", "dashed"))
        elif level.output_mm > 0:
            ink.line([axis.left, axis.right], [y, y], Stroke("muted", "hair", "dotted"))


def _curve_lines(drawn: PaperLane) -> Iterator[tuple[Angles, Angles]]:
    """Yield the corners of the seen copies of the curve, px, cut to the turn."""
    if drawn.curve is None:
        return
    xs, ys = curve_line(drawn.axis, drawn.strip, drawn.curve)
    left, right = drawn.axis.home
    for begin in turns_seen(drawn.axis, float(drawn.curve.theta_deg[0])):
        x = xs + begin
        inside = (x > left) & (x < right)
        low, high = max(left, float(x[0])), min(right, float(x[-1]))
        if high > low:
            ends = np.interp([low, high], x, ys)
            yield (
                np.concatenate([[low], x[inside], [high]]),
                np.concatenate([ends[:1], ys[inside], ends[1:]]),
            )


# Blocks


def draw_body(ink: Inking, drawn: PaperLane, shape: BlockShape, piece: SeenPiece) -> None:
    """Draw one seen copy of a block: fill and pattern by the rank of its level, a bead for a stop."""
    strip, name = drawn.strip, f"block {drawn.lane.id} {shape.index}"
    box = shape_box(strip, piece, shape, 1.0)
    style = level_style(shape.level.rank)
    pattern = PATTERNS[style.pattern] if strip.detail is not Detail.THIN else None
    if shape.is_stop:
        home = drawn.axis.home
        ink.rounded(box, LEVELS[style.number], EDGE, name=name, radius=box.width / 2, within=home)
        return
    seen = BodyBox(piece.left, box.top, piece.width, box.height)
    if piece.is_cut:
        ink.box(seen, LEVELS[style.number], EDGE, pattern=pattern, name=name)
    else:
        ink.rounded(seen, LEVELS[style.number], EDGE, pattern=pattern, name=name)
    if style.double and min(seen.width, seen.height) > 8.0:
        ink.box(BodyBox(seen.left + 2.5, seen.top + 2.5, seen.width - 5.0, seen.height - 5.0), None, EDGE)


# Words


def range_text(shape: BlockShape) -> str:
    """Return from where to where a block lasts, master angles: "99° to 51°"."""
    start, end = (wrap(round(deg, 1)) for deg in (shape.start_deg, shape.start_deg + shape.length_deg))
    return f"{wording.plain(start, 1)}° to {wording.plain(end, 1)}°"


def _words(ink: Inking, drawn: PaperLane) -> None:
    """Write in every block what it is and from where to where; of short ones, beside them."""
    bodies = [
        shape_box(drawn.strip, piece, shape, 1.0) for shape in drawn.shapes for piece in drawn.pieces(shape)
    ]
    outside = [shape for shape in drawn.shapes if not _inside(ink, drawn, shape)]
    for shape in outside:
        bodies += _beside(ink, drawn, shape, bodies)


def _inside(ink: Inking, drawn: PaperLane, shape: BlockShape) -> bool:
    """Write in a block what has room there; returns whether its name has."""
    if shape.is_stop or drawn.axis.px(shape.length_deg) < LEAST_LABELLED:
        return False
    parts = label_parts(drawn.axis, shape, 1.0)
    said = range_text(shape)
    labels = place_labels(parts, BlockText(shape.level.name, said, None), lambda text: _wide(text, said))
    top = drawn.strip.y(shape.level.output_mm)
    style = level_style(shape.level.rank)
    for label in labels:
        if style.pattern:
            ground = BodyBox(label.left - 2.0, top + 2.0, label.width + 4.0, drawn.strip.body - 4.0)
            ink.box(ground, LEVELS[style.number])
        size = SIZE if label.is_name else SMALL
        ink.text(label.left, top + drawn.strip.body / 2 + BASELINE, label.text, size=size, bold=label.is_name)
    return any(label.is_name for label in labels)


def _wide(text: str, said: str) -> float:
    return text_width(text, SMALL) if text == said else text_width(text, SIZE, True)


def _beside(ink: Inking, drawn: PaperLane, shape: BlockShape, taken: Sequence[BodyBox]) -> Iterator[BodyBox]:
    """Write beside a block what it is, in as many words as have room; yields the box of the words."""
    for text in _short_words(drawn, shape):
        wide = text_width(text, SMALL)
        for piece in drawn.pieces(shape):
            body = shape_box(drawn.strip, piece, shape, 1.0)
            place = free_place(drawn.axis, drawn.strip, drawn.curve, body, wide, taken=taken)
            if place is not None:
                middle = place.top + place.height / 2
                ink.text(place.left, baseline_of(middle, SMALL), text, size=SMALL, tone="muted")
                yield place
                return


def _short_words(drawn: PaperLane, shape: BlockShape) -> Iterator[str]:
    name, start = shape.level.name, wording.plain(wrap(round(shape.start_deg, 1)), 1)
    if shape.is_stop:
        yield f"{name} at {start}°"
    else:
        lasts = shape.length_deg / TURN * 60.0 / drawn.project.shaft.speed_rpm
        yield f"{name} {range_text(shape)}, {wording.seconds(lasts)}"
        yield f"{name} {range_text(shape)}"
    yield name
