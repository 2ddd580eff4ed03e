"""The timing diagram of the build sheet: a strip a lane, its curve and its blocks over one cycle.

Across the paper runs the master angle, 0 to 360 degrees in the direction in which the machine runs; in
each strip the output is drawn from the lane's lowest level (below) to its highest.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.base.wording import degrees
from shaftscore.judge.report import Report
from shaftscore.kinematics.motion.surroundings import surroundings
from shaftscore.make.drawing.fonts import wrapped
from shaftscore.make.sheet.paper import INK, MUTED, PALE, SMALL_PT, Paper
from shaftscore.model import Lane, Project
from shaftscore.solution import LaneSolution

STRIP_MM, NAMES_MM, AIR_MM = 15.0, 40.0, 3.0
"""Height of a lane's strip, width of what stands left of it, and the air above and below a curve."""

PLACES = 721
"""Angles at which a curve is drawn: every half degree."""

BLOCK = "#56b4e9"
"""Colour of blocks, of the palette of Okabe and Ito."""

TINY_PT = 5.5
"""Size of the words in blocks and at levels, points."""


def draw_timing(paper: Paper, report: Report) -> None:
    """Draw all lanes, on as many pages as they need."""
    lanes = [report.solution.lanes[lane.id] for lane in report.project.lanes]
    paper.heading("Timing diagram", keep_mm=STRIP_MM * 2)
    for said in _legend(report.project):
        paper.say(said, SMALL_PT, MUTED)
    paper.gap()
    while lanes:
        count = max(1, int((paper.room_mm - 12.0) / STRIP_MM))
        _page(paper, report.project, lanes[:count])
        lanes = lanes[count:]
        if lanes:
            paper.new_page()


def _legend(project: Project) -> Iterator[str]:
    yield (
        "Angles are degrees of the master shaft in the direction in which the machine runs. Bars are "
        "dwells, the line is the output; each strip runs from its lowest output to its highest. "
        "Levels are named where there is room; the test cards name all of them."
    )
    names = project.shaft.step_names
    starts = project.shaft.step_starts_deg
    if any(names):
        said = [f"{n} {name}" for n, name in enumerate(names[: len(starts)], 1) if name]
        yield f"Steps: {', '.join(said)}."


def _page(paper: Paper, project: Project, lanes: list[LaneSolution]) -> None:
    x0 = paper.left_mm + NAMES_MM
    wide = paper.right_mm - x0
    top = paper.y_mm + 6.0
    bottom = top + STRIP_MM * len(lanes)
    _steps(paper, project, x0, wide, (top, bottom))
    for number, solved in enumerate(lanes):
        _strip(paper, project, solved, (x0, wide, top + STRIP_MM * number))
    paper.line([(paper.left_mm, bottom), (paper.right_mm, bottom)], PALE)
    for deg in range(0, 361, 30):
        align = "right" if deg == 360 else "middle"
        paper.words(x0 + wide * deg / TURN, bottom + 3.5, degrees(deg, 0), TINY_PT, MUTED, align=align)
    paper.y_mm = bottom + 6.0


def _steps(paper: Paper, project: Project, x0: float, wide: float, ends: tuple[float, float]) -> None:
    """Draw where steps begin, and their numbers where there is room."""
    starts = project.shaft.step_starts_deg
    for number, start in enumerate(starts):
        x = x0 + wide * start / TURN
        room = wide * ((starts[number + 1] if number + 1 < len(starts) else TURN) - start) / TURN
        paper.line([(x, ends[0]), (x, ends[1])], PALE, 0.1)
        if paper.fits(str(number + 1), TINY_PT, room - 0.6):
            paper.words(x + 0.6, ends[0] - 1.0, str(number + 1), TINY_PT, MUTED)
    paper.line([(x0 + wide, ends[0]), (x0 + wide, ends[1])], PALE, 0.1)


def _strip(paper: Paper, project: Project, solved: LaneSolution, place: tuple[float, float, float]) -> None:
    """Draw a lane; place: left and width of the diagram, top of the strip."""
    x0, wide, top = place
    lane = solved.lane
    paper.line([(paper.left_mm, top), (paper.right_mm, top)], PALE)
    _name(paper, lane, top)
    if solved.motion is None:
        paper.words(x0 + 1.0, top + STRIP_MM / 2, "no motion", SMALL_PT, MUTED)
        return
    low, high = solved.motion.lowest_mm, solved.motion.highest_mm
    scale = (STRIP_MM - 2 * AIR_MM) / ((high - low) or 1.0)

    def y_of(output_mm: float) -> float:
        return top + STRIP_MM - AIR_MM - scale * (output_mm - low)

    master = np.linspace(0.0, TURN, PLACES)
    output = solved.motion.at(wrap(master * solved.turns))[0]
    output[-1] = output[0]
    paper.line(
        [(x0 + wide * deg / TURN, y_of(float(s))) for deg, s in zip(master, output, strict=True)], INK, 0.25
    )
    for level, span in dwells(project, solved):
        y = y_of(project.levels_of(lane)[level])
        _block(paper, level, span, (x0, wide, y))


def _name(paper: Paper, lane: Lane, top: float) -> None:
    said = f"{lane.code} {lane.label}" if lane.code else lane.label
    for number, line in enumerate(wrapped(said, SMALL_PT, NAMES_MM - 3.0)[:4]):
        paper.words(paper.left_mm, top + 4.0 + 3.2 * number, line, SMALL_PT)


def dwells(project: Project, solved: LaneSolution) -> Iterator[tuple[str, Arcs]]:
    """Yield every block of a lane as (level, master angles); a rider has those of its disc's lane, later."""
    lane = solved.lane
    host = project.lane(lane.disc_of) if lane.disc_of is not None else lane
    later = surroundings(project, lane).later_deg
    for block in host.blocks:
        for turn in range(solved.turns):
            start = (block.start_deg + later + TURN * turn) / solved.turns
            yield block.level, Arcs.span(start, block.length_deg / solved.turns)


def _block(paper: Paper, level: str, span: Arcs, place: tuple[float, float, float]) -> None:
    """Draw a bar on its level; one that runs through 0 in two pieces."""
    x0, wide, y = place
    ((start, length),) = span.spans
    for begin, end in ((start, min(TURN, start + length)), (0.0, start + length - TURN)):
        if end < begin or (end == begin and length > 0):
            continue
        x, size = x0 + wide * begin / TURN, wide * (end - begin) / TURN
        paper.box(x, y - 1.2, max(size, 0.3), 2.4, fill=BLOCK, edge=None)
        if paper.fits(level, TINY_PT, size - 0.6):
            paper.words(x + size / 2, y + 0.7, level, TINY_PT, INK, align="middle")
