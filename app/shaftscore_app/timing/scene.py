"""What the diagram shows at one moment: the frame, the project with its report, and what is under way.

A `DiagramScene` is put together for each painting and is read by all layers.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from operator import eq

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.judge.findings import Finding, Severity
from shaftscore.judge.report import Report
from shaftscore.kinematics.course import LaneCycle
from shaftscore.kinematics.motion.surroundings import surroundings
from shaftscore.make.drawing.timing.columns import Column, columns_of, drawn_columns
from shaftscore.make.drawing.timing.curves import LaneCurve, are_alike
from shaftscore.make.drawing.timing.cycle import curve_in, findings_in, shapes_in
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.hits import BlockHit, Grip
from shaftscore.make.drawing.timing.shapes import BlockShape, highest_mm
from shaftscore.make.drawing.timing.signs import PlacedFinding, Sign, placed_findings, signs_of, worst
from shaftscore.make.drawing.timing.strips import Strip
from shaftscore.model import Lane, Project
from shaftscore.solution import LaneSolution
from shaftscore_app.document.selection import Selection
from shaftscore_app.document.stale import STALE_OPACITY, is_stale
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.timing.drag import HeldBlock

OF_LANES = ("shapes", "curve", "output", "read")
"""Kinds of kept things that tell of the lanes alone, whatever colours and sizes are."""


@dataclass(frozen=True)
class Tag:
    """What the drag tag says: a sign, the clash or the margin, and the cure."""

    severity: Severity | None
    text: str
    cure: str = ""


@dataclass(frozen=True)
class Holding:
    """A block being held: where it stands, where it stood, where it could stand, what is said of it.

    old: the block's shape before. tag: what is said of it.
    """

    held: HeldBlock
    old: BlockShape
    lane_id: str
    tag: Tag | None = None


@dataclass(frozen=True)
class Overlay:
    """What a gesture other than holding a block shows.

    band: left, top, right and bottom of a rectangle of selection, px. opened: master angle and degrees of
    time that is opened (negative: taken out). drop_y: height at which a dragged lane would go, px.
    """

    band: tuple[float, float, float, float] | None = None
    opened: tuple[float, float] | None = None
    drop_y: float | None = None


@dataclass(frozen=True)
class Hover:
    """What the pointer is over: a lane, and maybe a block of it.

    x: how far right the pointer is, px, where it is over the strips and what is read out follows it.
    button: name of a header's button.
    """

    lane_id: str | None = None
    block: BlockHit | None = None
    in_header: bool = False
    x: float | None = None
    button: str | None = None


@dataclass(frozen=True)
class DiagramScene:
    """Everything that the layers need to know, at one moment.

    grip: what the arrow keys hold of a block. hidden: how many lanes are not drawn. ghosts: lanes as they
    are proposed to be, by id. ring: how far the ring of a snap has closed, 0 to 1.
    """

    frame: Frame
    project: Project
    report: Report
    selection: Selection
    cursor_deg: float
    hover: Hover = field(default_factory=Hover)
    holding: Holding | None = None
    focus_by_keys: bool = False
    grip: Grip = Grip.WHOLE
    overlay: Overlay = field(default_factory=Overlay)
    hidden: int = 0
    ghosts: Mapping[str, Lane] = field(default_factory=dict)
    kept: KeptThings = field(default_factory=KeptThings, compare=False)
    ring: float = 1.0
    cycle: int = 1

    def lane(self, lane_id: str) -> Lane:
        """Return a lane."""
        return self.project.lane(lane_id)

    def named(self, lane_id: str) -> Lane:
        """Return the lane whose levels a lane's states name: itself, or a rider's disc's."""
        return self.project.named_lane(self.lane(lane_id))

    def solution(self, lane_id: str) -> LaneSolution | None:
        """Return a lane's solution; None where it was left out."""
        return self.report.solution.lanes.get(lane_id)

    def seen(self, lane_id: str) -> LaneCycle:
        """Return how a lane's stack follows the master in the cycle shown."""
        return LaneCycle.of(self.project, self.lane(lane_id), self.cycle)

    @cached_property
    def _strips(self) -> Mapping[str, Strip]:
        frame = self.frame
        return {
            row.lane_id: frame.strip(row, highest_mm(self.named(row.lane_id)))
            for row in frame.rows.rows
            if row.lane_id is not None
        }

    def strip(self, lane_id: str) -> Strip | None:
        """Return a lane's strip on the screen; None if its group is closed."""
        return self._strips.get(lane_id)

    def shapes(self, lane_id: str) -> tuple[BlockShape, ...]:
        """Return a lane's blocks as they stand on the axis."""
        lane, seen = self.lane(lane_id), self.seen(lane_id)
        return self.kept.get("shapes", lane_id, (lane,), seen, lambda: shapes_in(lane, seen), alike=eq)

    def curve(self, lane_id: str) -> LaneCurve | None:
        """Return a lane's true displacement over one turn; None without motion."""
        solution, cycle = self.solution(lane_id), self.cycle
        made = partial(curve_in, solution, cycle)
        return self.kept.get("curve", lane_id, (solution,), cycle, made, alike=are_alike)

    def output(self, lane_id: str) -> tuple[float, float] | None:
        """Return a lane's output (mm) and slope (mm per radian, own) at the cursor; None without motion."""
        solution, deg, cycle = self.solution(lane_id), self.cursor_deg, self.cycle
        made = partial(output_of, solution, deg, cycle)
        return self.kept.get("output", lane_id, (solution,), (deg, cycle), made)

    @cached_property
    def pointed_deg(self) -> float | None:
        """Return the master angle at the pointer, to a tenth of a degree; None where the cursor is read."""
        if self.hover.x is None or self.holding is not None:
            return None
        return wrap(round(wrap(self.frame.axis.deg(self.hover.x)), 1))

    @property
    def read_deg(self) -> float:
        """Return the master angle of all read-outs: the pointer's over the strips, else the cursor's."""
        return self.cursor_deg if self.pointed_deg is None else self.pointed_deg

    def program_deg(self, lane_id: str) -> float:
        """Return where a lane's program is at the angle of its read-out, own angle, degrees.

        Blocks lie at these angles: a rider's program is that of its disc's lane, later by its station.
        """
        later = surroundings(self.project, self.lane(lane_id)).later_deg
        return wrap(self.seen(lane_id).own(self.read_deg) - later)

    def read(self, lane_id: str) -> tuple[float, float] | None:
        """Return a lane's output and slope as its read-out shows them; None without motion."""
        solution, deg, cycle = self.solution(lane_id), self.read_deg, self.cycle
        made = partial(output_of, solution, deg, cycle)
        return self.kept.get("read", lane_id, (solution,), (deg, cycle), made)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Return all findings, those with a place in the cycle shown at their angles in it."""
        found, cycle = self.report.findings, self.cycle
        return self.kept.get("findings", "", (found,), cycle, lambda: findings_in(found, cycle))

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Return the seen columns of all findings, the worst first."""
        findings = self.findings
        return self.kept.get("columns", "", (findings,), self.frame, lambda: columns_of(self.frame, findings))

    @cached_property
    def drawn_columns(self) -> tuple[Column, ...]:
        """Return the columns as they are drawn: of very many, those that overlap as one."""
        columns = self.columns
        return self.kept.get("drawn columns", "", (columns,), None, lambda: drawn_columns(columns))

    @cached_property
    def columns_over(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """Return, for each lane, left and right of the columns over it."""
        found: dict[str, list[tuple[float, float]]] = {}
        for column in self.drawn_columns:
            for lane_id in column.lanes:
                found.setdefault(lane_id, []).append((column.left, column.right))
        return {lane_id: tuple(spans) for lane_id, spans in found.items()}

    def is_held(self, lane_id: str, index: int) -> bool:
        """Return whether a block of the project shown is held, alone or with others."""
        return index in self.lifted.get(lane_id, ())

    @cached_property
    def lifted(self) -> Mapping[str, frozenset[int]]:
        """Return all blocks that are held, by lane: what moves, or would move with the pointer."""
        if self.holding is None:
            return {}
        found: dict[str, set[int]] = {}
        for ref in self.holding.held.refs:
            found.setdefault(ref.lane_id, set()).add(ref.index)
        return {lane_id: frozenset(indices) for lane_id, indices in found.items()}

    @cached_property
    def by_lane(self) -> Mapping[str, tuple[Finding, ...]]:
        """Return the findings that concern each lane."""
        findings = self.findings
        return self.kept.get("by lane", "", (findings,), None, lambda: _by_lane(findings))

    @cached_property
    def _worst(self) -> Mapping[str, Severity]:
        of_lanes = {lane_id: {one.severity for one in found} for lane_id, found in self.by_lane.items()}
        return {lane_id: bad for lane_id, found in of_lanes.items() if (bad := worst(found)) is not None}

    def severity(self, *lane_ids: str) -> Severity | None:
        """Return the worst severity among the findings of some lanes."""
        return worst(self._worst[lane_id] for lane_id in lane_ids if lane_id in self._worst)

    def strength(self, findings: Iterable[Finding]) -> float:
        """Return how strongly a sign of findings is drawn: faintly where all are being recomputed."""
        return STALE_OPACITY if all(is_stale(self.report, one) for one in findings) else 1.0

    @cached_property
    def signs(self) -> tuple[Sign[Finding], ...]:
        """Return the signs on the rail."""
        placed, frame = self.placed, self.frame
        return self.kept.get("signs", "", (placed,), (frame.axis, frame.u), lambda: signs_of(placed, frame))

    @cached_property
    def placed(self) -> tuple[PlacedFinding, ...]:
        """Return the findings that have a place, each with the angle of its sign."""
        findings = self.findings
        return self.kept.get("placed", "", (findings,), None, lambda: placed_findings(findings))

    @cached_property
    def chosen(self) -> Finding | None:
        """Return the chosen finding, if there still is one."""
        key = self.selection.finding
        return next((one for one in self.findings if one.key == key), None) if key is not None else None


def _by_lane(findings: Sequence[Finding]) -> Mapping[str, tuple[Finding, ...]]:
    found: dict[str, list[Finding]] = {}
    for finding in findings:
        for lane_id in finding.lanes:
            found.setdefault(lane_id, []).append(finding)
    return {lane_id: tuple(own) for lane_id, own in found.items()}


def output_of(solution: LaneSolution | None, deg: float, cycle: int = 1) -> tuple[float, float] | None:
    """Return a lane's output and slope at a master angle of a cycle; None without motion."""
    if solution is None or solution.motion is None:
        return None
    values = solution.motion.at(np.array([LaneCycle(solution.course, cycle).own(deg)]))
    return float(values[0, 0]), float(values[1, 0])


def find(report: Report, key: Hashable | None) -> Finding | None:
    """Return the finding of a key; None without."""
    if key is None:
        return None
    return next((finding for finding in report.findings if finding.key == key), None)
