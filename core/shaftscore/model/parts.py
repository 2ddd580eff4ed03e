"""What completes a machine: the hub of a stack, the parts of followers, the frame."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from shaftscore.base.wording import plain
from shaftscore.model.base import Contradiction, PositiveMm, Record, SignedMm


class Hub(Record):
    """What fixes the driven end of a stack to its shaft, and turns it.

    kind: how it is fixed: clamped by a slot and a screw, by a set screw, or bolted on. thickness_mm: of its
    collar, mm; a driven gear is below it, as wide as its teeth. bolt_circle_mm: diameter of the circle of its
    bolts, mm. bolts: how many. bolt_mm: diameter of bolts and screw, mm. gear: whether its rim is the driven
    gear of the last stage; if absent it is where that stage has a module. teeth, module_mm: of the wheel on
    it where no stage gives them: on a further stack it meshes with the wheel of a stack before it.
    """

    kind: Literal["clamp", "set-screw", "bolted"]
    thickness_mm: PositiveMm = 10.0
    bolt_circle_mm: PositiveMm | None = None
    bolts: Annotated[int, Field(ge=1, le=24)] = 3
    bolt_mm: PositiveMm = 3.0
    gear: bool | None = None
    teeth: Annotated[int, Field(ge=1, le=10000)] | None = None
    module_mm: Annotated[float, Field(gt=0, le=100)] | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse teeth without a gear, a bolted hub without a bolt circle, and bolts too large for it."""
        if self.gear is False and self.teeth is not None:
            yield "teeth", f"{self.teeth} are given, but gear is false"
        if self.bolt_circle_mm is None:
            if self.kind == "bolted":
                yield "bolt_circle_mm", "is missing; a bolted hub needs it"
        elif self.bolt_circle_mm <= self.bolt_mm:
            least, told = plain(self.bolt_mm), plain(self.bolt_circle_mm)
            yield "bolt_circle_mm", f"must be over bolt_mm, {least} mm, got {told} mm"


class PivotPlace(Record):
    """Where a lever turns in the frame, seen from the top, x along the lane's station line.

    x_mm, y_mm: from the axis of the lane's stack, mm.
    """

    x_mm: SignedMm
    y_mm: SignedMm


class GuideLink(Record):
    """One link of a straight-line lever. mm: distance between its two pivots, mm."""

    mm: PositiveMm


class FollowerParts(Record):
    """How a follower is made, and how it moves what it is for.

    kind: a slide in a guide, a lever, or a lever of which links guide the output along a line. arm_mm: from
    pivot to roller, mm; of a slide its length from the roller to the output. output_arm_mm: from pivot to
    output, mm, arm_mm if absent. pivot: of the lever; that of the follower if absent. links: of a
    straight-line lever, found by the program if absent. spring_hook_mm: from the pivot (of a slide from the
    roller) to the hook of the spring, mm; none if absent. output_hole_mm: diameter of the hole at the output,
    mm. thickness_mm: of the printed parts, mm. pivot_rod_mm: diameter of the rods that they turn on, mm.
    """

    kind: Literal["slide", "lever", "straight-line"]
    arm_mm: PositiveMm
    output_arm_mm: PositiveMm | None = None
    pivot: PivotPlace | None = None
    links: Annotated[tuple[GuideLink, ...], Field(min_length=2, max_length=2)] | None = None
    spring_hook_mm: PositiveMm | None = None
    output_hole_mm: PositiveMm = 3.2
    thickness_mm: PositiveMm = 5.0
    pivot_rod_mm: PositiveMm = 4.0

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a pivot or an output arm of a slide, and links of what has none."""
        if self.kind == "slide":
            for key in ("output_arm_mm", "pivot"):
                if getattr(self, key) is not None:
                    yield key, "is given for kind slide; it is for levers only"
        if self.links is not None and self.kind != "straight-line":
            yield "links", f"are given for kind {self.kind}; they are for straight-line only"

    @property
    def output_mm(self) -> float:
        """From the pivot to the output, mm."""
        return self.arm_mm if self.output_arm_mm is None else self.output_arm_mm


class MotorPlace(Record):
    """Where the motor is screwed to the frame, and how.

    x_mm, y_mm: of its axis from the axis of the first stack, mm. face: on which side of its plate it is.
    pilot_mm: diameter of the hole for its collar, mm. screw_circle_mm: diameter of the circle of its screws,
    mm. screws: how many. screw_mm: their diameter, mm.
    """

    x_mm: SignedMm
    y_mm: SignedMm
    face: Literal["below", "above"]
    pilot_mm: PositiveMm
    screw_circle_mm: PositiveMm
    screws: Annotated[int, Field(ge=2, le=12)]
    screw_mm: PositiveMm

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse screws that would lie in the pilot hole."""
        least = self.pilot_mm + self.screw_mm
        if self.screw_circle_mm <= least:
            told = plain(self.screw_circle_mm)
            what = f"must be over {plain(least)} mm (pilot_mm and screw_mm), got {told} mm"
            yield "screw_circle_mm", what


class MachineFrame(Record):
    """The two end plates that hold shafts, pivots and motor, and the pillars between them.

    plate_mm: thickness of a plate, mm. margin_mm: from what lies farthest out to the edge of the plates, mm.
    pillars: how many. pillar_mm: diameter of their rods, mm. motor: where it is, if it is screwed to the
    frame. material: of the plates.
    """

    plate_mm: PositiveMm = 6.0
    margin_mm: PositiveMm = 15.0
    pillars: Annotated[int, Field(ge=3, le=12)] = 4
    pillar_mm: PositiveMm = 6.0
    motor: MotorPlace | None = None
    material: Annotated[str, Field(min_length=1, max_length=200)] = "PLA"
