"""Bodies of followers that are made as parts, and of the hub: links, posts, feet and guides where they are.

Links are where the layout puts them (`layout.followers`), as strips with round ends. What stands beside a
follower has the shape of its bracket: a post with its foot, or a block with its ears. Frame and angles: as in
`judge.bodies.parts`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from shaftscore.built.heights import HeightBand
from shaftscore.judge.bodies.follower import MovingFollower, Still
from shaftscore.judge.bodies.shapes import Circle, Shape, StraightStrip
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.layout.bracket_feet import EAR_MM, guide_inset_mm, guide_side_mm, own_screws
from shaftscore.layout.brackets import FOOT_MM, HIGHER_MM, foot_radius_mm, guide_top_mm, post_height_mm
from shaftscore.layout.follower_bars import coupler_bar, guide_link_bar
from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.hub import HubPlan, outer_face_mm
from shaftscore.layout.pivots import PivotAxle
from shaftscore.layout.train import train_parts
from shaftscore.model import Project
from shaftscore.stack.followers import post_radius_mm

SAMPLES = 241
"""Lifts at which the ways of a link's ends are measured."""

MARGIN = 1.05
"""By which the largest way between two of them is taken larger: for what lies between."""

MadePiece = tuple[str, str, HeightBand, "Still | MovingLink", PivotAxle | None]
"""Kind, name, heights, body, and what it turns on or stands about."""


@dataclass(frozen=True, eq=False)
class MovingLink:
    """The coupler or the guide link of a straight-line lever.

    layout: of its follower, the axis of the stack at 0. follower: for its motion. half_mm: half its width.
    turned_deg: by which its station is further on.
    """

    layout: FollowerLayout
    follower: MovingFollower
    piece: Literal["coupler", "guide link"]
    half_mm: float
    turned_deg: float = 0.0

    def lift_mm(self, theta_deg: Reals) -> Reals:
        """Return the lift at angles: (n,) mm."""
        return self.follower.lift_mm(theta_deg)

    @property
    def turning_deg(self) -> Reals:
        """Angles between which the lift only rises or falls, (k,) degrees."""
        return self.follower.turning_deg

    @property
    def lifts_mm(self) -> Reals:
        """Lifts from the least to the greatest, in even steps, (n,) mm."""
        return self.follower.lifts_mm

    @cached_property
    def poses(self) -> tuple[Shape, ...]:
        """The shapes at `lifts_mm`."""
        return self.at_lift(self.lifts_mm)

    def at(self, theta_deg: Reals) -> tuple[Shape, ...]:
        """Return a strip with round ends at angles, (n,) degrees."""
        return self.at_lift(self.lift_mm(theta_deg))

    def at_lift(self, lift_mm: Reals) -> tuple[Shape, ...]:
        """Return a strip with round ends at lifts, (n,) mm."""
        start, end = self._ends(lift_mm)
        long = np.abs(end - start)
        strip = StraightStrip(start, (end - start) / long, long, self.half_mm)
        return strip, Circle(start, self.half_mm), Circle(end, self.half_mm)

    def _ends(self, lift_mm: Reals) -> tuple[Points, Points]:
        """Return both joints at lifts, (n,) mm."""
        points, turn = self.layout.points_at(lift_mm), np.exp(1j * np.radians(self.turned_deg))
        assert points.joint is not None
        assert points.far is not None
        pivot = self.layout.guide_pivot
        assert pivot is not None
        start = points.joint if self.piece == "coupler" else np.full(len(lift_mm), pivot)
        return start * turn, points.far * turn

    @cached_property
    def _sampled(self) -> tuple[Reals, Points, Points]:
        lifts = self.lift_mm(self.turning_deg)
        some = np.linspace(float(np.min(lifts)), float(np.max(lifts)) + 1e-6, SAMPLES)
        return (some, *self._ends(some))

    @cached_property
    def factor(self) -> float:
        """How far any point of the body moves at most, by mm of lift."""
        lifts, start, end = self._sampled
        turned = np.abs(np.diff(np.unwrap(np.angle(end - start))))
        ways = np.maximum(np.abs(np.diff(start)), np.abs(np.diff(end))) + self.half_mm * turned
        return float(MARGIN * np.max(ways / np.diff(lifts)))

    @cached_property
    def envelope(self) -> tuple[Shape, ...]:
        """A circle that holds the link at every angle."""
        lifts, start, end = self._sampled
        middle = complex(np.mean([start, end]))
        far = float(np.max(np.abs([start - middle, end - middle])))
        step = self.factor * float(lifts[1] - lifts[0])
        return (Circle(np.array([middle]), far + self.half_mm + step),)

    def turned(self, by_deg: float) -> MovingLink:
        """Return the same at a station `by_deg` further on."""
        return replace(self, turned_deg=self.turned_deg + by_deg)


def made_pieces(layout: FollowerLayout, follower: MovingFollower) -> Iterator[MadePiece]:
    """Yield the links of a follower that is made as parts, and what stands beside it.

    layout: with the axis of its stack at 0.
    """
    if layout.pivot is None:
        yield from _guide(layout)
        return
    lever, rod = PivotAxle(layout.pivot, layout.parts.pivot_rod_mm), layout.parts.pivot_rod_mm
    yield from _post(layout, lever, "")
    if layout.guide is None or layout.guide_pivot is None:
        return
    guide = PivotAxle(layout.guide_pivot, rod)
    low = layout.bands.levers[-1]
    coupler = MovingLink(layout, follower, "coupler", coupler_bar(layout).half_mm)
    yield "coupler", "coupler", layout.link_band, coupler, None
    link = MovingLink(layout, follower, "guide link", guide_link_bar(layout).half_mm)
    yield "guide link", "guide link", low, link, guide
    yield from _post(layout, guide, "guide ")
    axle = Still((Circle(np.array([guide.at]), rod / 2),))
    yield "guide rod", "guide link’s rod", HeightBand(layout.floor_mm, low.top_mm), axle, guide


def _post(layout: FollowerLayout, axle: PivotAxle, which: Literal["", "guide "]) -> Iterator[MadePiece]:
    """Yield the post about a rod, and its foot unless it is a sleeve."""
    low, high = layout.floor_mm, layout.floor_mm + max(post_height_mm(layout), 0.0)
    name = "guide link’s post" if which else "pivot post"
    post = Still((Circle(np.array([axle.at]), post_radius_mm(axle.rod_mm)),))
    if high > low + HIGHER_MM:
        yield f"{which}post", name, HeightBand(low, high), post, axle
    if layout.is_sleeve:
        return
    screws, turn = own_screws(layout), layout.bracket_turn(axle.at)
    half = max(guide_inset_mm(), foot_radius_mm(axle.rod_mm))
    reach = max(abs(screw) for screw in screws) + guide_inset_mm()
    strip = StraightStrip(np.array([axle.at - turn * reach]), np.array([turn]), 2 * reach, half)
    yield f"{which}foot", f"{name}’s foot", HeightBand(low, low + FOOT_MM), Still((strip,)), axle


def _guide(layout: FollowerLayout) -> Iterator[MadePiece]:
    """Yield the block of a slide's guide, and its foot."""
    start, low, side = layout.guide_start, layout.floor_mm, guide_side_mm(layout.lane)
    assert start is not None
    where, along = np.array([start]), np.array([layout.station])
    block = Still((StraightStrip(where, along, layout.guide_length_mm, side),))
    foot = Still((StraightStrip(where, along, layout.guide_length_mm, side + EAR_MM),))
    yield "block", "guide block", HeightBand(low, guide_top_mm(layout)), block, None
    yield "foot", "guide’s foot", HeightBand(low, low + FOOT_MM), foot, None


def hub_bodies(project: Project, plan: HubPlan) -> Iterator[tuple[str, str, HeightBand, Still]]:
    """Yield kind, name, heights (from the bottom of its stack) and body of a hub's foot and collar."""
    face, way = outer_face_mm(project, plan), -1 if plan.upside_down else 1
    foot = face + way * plan.foot_mm
    inner = face + way * plan.height_mm
    if plan.foot_mm:
        wheel = plan.foot_radius_mm
        if wheel is None:
            assert plan.gear is not None
            wheel = plan.gear.wheel.tip_mm
        name = "flange" if plan.gear is None else "wheel"
        yield "wheel", f"the {name} of {plan.stack.label}", _band(face, foot), _round(wheel)
    yield "hub", f"the hub of {plan.stack.label}", _band(foot, inner), _round(plan.collar_mm)


def pinion_bodies(project: Project) -> Iterator[tuple[str, HeightBand, Still]]:
    """Yield name, heights and body of the pinions of the drive, wheels on their axles apart.

    Heights from the bottom of the first stack, its axis at 0. Raises ValueError where one cannot be made.
    """
    for part in train_parts(project):
        centre = np.array([part.plan.stage.driver_at])
        name, wheel = f"the pinion of stage {part.plan.stage.spur.number}", part.plan.wheel
        tip = part.plan.stage.spur.pair.pinion.tip_mm
        yield name, part.pinion_band, Still((Circle(centre, tip),))
        if wheel is not None:
            tip = wheel.spur.pair.wheel.tip_mm
            yield f"the wheel of stage {wheel.spur.number}", part.wheel_band, Still((Circle(centre, tip),))


def _band(one_mm: float, other_mm: float) -> HeightBand:
    return HeightBand(min(one_mm, other_mm), max(one_mm, other_mm))


def _round(radius_mm: float) -> Still:
    return Still((Circle(np.zeros(1, np.complex128), radius_mm),))
