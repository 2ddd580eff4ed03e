"""What the diagram shows at one moment: the frame, the project with its report, and what is under way.

A `Scene` is put together for each painting and is read by all layers.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from app.selection import Selection
from app.timing.drag import Held
from app.timing.geometry.frame import Frame
from app.timing.geometry.hits import BlockHit, Grip
from app.timing.geometry.shapes import Shape, highest_mm, shapes_of
from app.timing.geometry.signs import Sign, joined, worst
from app.timing.geometry.strips import Strip
from core.angles import Arcs, wrap
from core.edits import BlockRef
from core.findings import Finding, Severity
from core.model import Lane, Project
from core.report import Report
from core.solution import LaneSolution


@dataclass(frozen=True)
class Tag:
    """What the drag tag says: a sign, the clash or the margin, and the cure."""

    severity: Severity | None
    text: str
    cure: str = ""


@dataclass(frozen=True)
class Holding:
    """A block being held: where it stands, where it stood, where it could stand, what is said of it.

    old: the block's shape before. zones: where the start could stand at its level (own angles), None where
    that is not known. tag: what is said of it.
    """

    held: Held
    old: Shape
    lane_id: str
    zones: Arcs | None = None
    tag: Tag | None = None


@dataclass(frozen=True)
class Hover:
    """What the pointer is over: a lane, and maybe a block of it."""

    lane_id: str | None = None
    block: BlockHit | None = None
    in_header: bool = False


@dataclass(frozen=True)
class Scene:
    """Everything that the layers need to know, at one moment; grip: what the arrow keys hold of a block."""

    frame: Frame
    project: Project
    report: Report
    selection: Selection
    cursor_deg: float
    hover: Hover = field(default_factory=Hover)
    holding: Holding | None = None
    has_focus: bool = False
    grip: Grip = Grip.WHOLE

    def lane(self, lane_id: str) -> Lane:
        """Give a lane."""
        return self.project.lane(lane_id)

    def solution(self, lane_id: str) -> LaneSolution | None:
        """Give a lane's solution; None where it was left out."""
        return self.report.solution.lanes.get(lane_id)

    def turns(self, lane_id: str) -> int:
        """Give how often a lane's stack turns in a cycle."""
        return self.project.stack_of(self.lane(lane_id)).turns

    def strip(self, lane_id: str) -> Strip | None:
        """Give a lane's strip on the screen; None if its group is closed."""
        row = self.frame.rows.of_lane(lane_id)
        return None if row is None else self.frame.strip(row, highest_mm(self.lane(lane_id)))

    def shapes(self, lane_id: str) -> tuple[Shape, ...]:
        """Give a lane's blocks as they stand on the axis."""
        return shapes_of(self.lane(lane_id), self.turns(lane_id))

    def output(self, lane_id: str, deg: float) -> tuple[float, float] | None:
        """Give a lane's output (mm) and its slope (mm per radian, own) at a master angle."""
        solution = self.solution(lane_id)
        if solution is None or solution.motion is None:
            return None
        values = solution.motion.at(np.array([wrap(deg * solution.turns)]))
        return float(values[0, 0]), float(values[1, 0])

    def is_held(self, lane_id: str, index: int) -> bool:
        """Tell whether a block of the project shown is the held one."""
        return self.holding is not None and self.holding.held.ref == BlockRef(lane_id, index)

    @cached_property
    def by_lane(self) -> Mapping[str, tuple[Finding, ...]]:
        """Give the findings that concern each lane."""
        found: dict[str, list[Finding]] = {}
        for finding in self.report.findings:
            for lane_id in finding.lanes:
                found.setdefault(lane_id, []).append(finding)
        return {lane_id: tuple(findings) for lane_id, findings in found.items()}

    def severity(self, *lane_ids: str) -> Severity | None:
        """Give the worst severity among the findings of some lanes."""
        return worst(f.severity for lane_id in lane_ids for f in self.by_lane.get(lane_id, ()))

    @cached_property
    def signs(self) -> tuple[Sign[Finding], ...]:
        """Give the signs on the rail."""
        axis = self.frame.axis
        left, right = axis.home
        return joined(
            (
                (x, finding.severity, finding)
                for finding in self.report.findings
                if (deg := middle_of(finding)) is not None
                for x in axis.places(deg)
                if axis.width > 1.2 * (right - left) or left <= x <= right
            ),
            self.frame.u,
        )

    @cached_property
    def chosen(self) -> Finding | None:
        """Give the chosen finding, if there still is one."""
        return find(self.report, self.selection.finding)


def find(report: Report, key: Hashable | None) -> Finding | None:
    """Give the finding of a key; None without."""
    if key is None:
        return None
    return next((finding for finding in report.findings if finding.key == key), None)


def middle_of(finding: Finding) -> float | None:
    """Give the angle at which a finding's sign stands; None where it has no place."""
    if finding.span is None or finding.span.is_full:
        return None
    at = finding.facts.get("at_deg")
    return float(at) if at is not None else finding.span.middle
