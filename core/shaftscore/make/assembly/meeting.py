"""Two bodies turned through angles: where one goes into the other, how deep, and at which angle first.

Cross-sections decide. The heights at which both bodies are there are divided at the levels of both; where
all walls stand upright, one height shows a stretch. Where walls lean, what is shared at both ends bounds the
depth from above; if that is over the limit, the stretch is narrowed to where it is, and cut into thin layers,
whose shared areas bound it from below (`shaftscore.make.assembly.depth`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.layout import PlanPose
from shaftscore.make.assembly.body import SAME_LEVEL_MM
from shaftscore.make.assembly.depth import SharedLayer, deeper_than, layers_mm
from shaftscore.make.assembly.placed import PlacedBody, chosen, inverse, is_still, seen_from

Reals = npt.NDArray[np.float64]
"""Angles of the master shaft, degrees, (n,)."""

Flags = npt.NDArray[np.bool_]
"""Which of n angles, (n,)."""

AT_ONCE = 90
"""Angles at which a cross-section is moved at once, to bound the memory."""

LAYERS = 8
"""Layers into which a stretch with leaning walls is cut."""

ZOOMS = 4
"""Times at most that such a stretch is narrowed to the heights at which enough is shared."""

LOOKED_AT = 18
"""Angles among those with a fault at which the depth itself is found; beside the deepest, all are."""

INSIDE = 0.001
"""Cuts at the end of a stretch are made this share of it inside."""


@dataclass(frozen=True)
class Penetration:
    """One body in another.

    depth_mm: the largest found. first_deg, worst_deg: angles of the master shaft where it first exceeds the
    limit, and where it is largest. always: whether it does at every angle looked at.
    """

    depth_mm: float
    first_deg: float
    worst_deg: float
    always: bool


@dataclass(frozen=True)
class Stretch:
    """Heights, mm, at which both bodies of a pair are there; leans: walls of one of them lean there."""

    bottom_mm: float
    top_mm: float
    leans: bool

    @property
    def looks_mm(self) -> tuple[float, ...]:
        """Heights of cross-sections: the middle, or both ends where walls lean."""
        if not self.leans:
            return ((self.bottom_mm + self.top_mm) / 2,)
        inside = INSIDE * (self.top_mm - self.bottom_mm)
        return self.bottom_mm + inside, self.top_mm - inside

    @property
    def heights_mm(self) -> list[float]:
        """Heights at which it is cut into thin layers, ends included."""
        return [float(height) for height in np.linspace(self.bottom_mm, self.top_mm, LAYERS + 1)]

    @property
    def layers(self) -> tuple[Stretch, ...]:
        """The stretch cut into thin layers; itself where no wall leans."""
        if not self.leans:
            return (self,)
        return tuple(Stretch(low, high, True) for low, high in pairwise(self.heights_mm))


def shared_heights(first: PlacedBody, second: PlacedBody) -> tuple[float, float]:
    """Return between which heights, mm, both bodies are there; the second is lower where they are apart."""
    low, high = zip(first.heights_mm, second.heights_mm, strict=True)
    return max(low), min(high)


def stretches_of(first: PlacedBody, second: PlacedBody) -> Iterator[Stretch]:
    """Yield the stretches between the levels of both bodies, bottom to top, at which both are there."""
    low, high = shared_heights(first, second)
    heights = {low, high}
    for one in (first, second):
        own = (one.bottom_mm + level for level in one.body.levels_mm)
        heights |= {level for level in own if low < level < high}
    for bottom, top in pairwise(sorted(heights)):
        if top - bottom > SAME_LEVEL_MM:
            middle = (bottom + top) / 2
            yield Stretch(bottom, top, _leans(first, middle) or _leans(second, middle))


def _leans(one: PlacedBody, height_mm: float) -> bool:
    return one.body.leans[one.body.band(height_mm - one.bottom_mm)]


class MeetingPair:
    """Two bodies over angles of the master shaft: the poses of the second as seen from the first."""

    def __init__(
        self,
        first: PlacedBody,
        second: PlacedBody,
        master_deg: Reals,
        pose_of: Callable[[PlacedBody], PlanPose] | None = None,
    ) -> None:
        """Take the bodies and the angles, (n,); those fixed to one another are looked at once.

        A round body is fixed to one in which it only turns. pose_of: where a body is at these angles.
        """
        if first.body.is_round and not second.body.is_round:
            first, second = second, first
        self.first, self.second = first, second
        poses = [one.course(master_deg) if pose_of is None else pose_of(one) for one in (second, first)]
        pose = seen_from(*poses)
        if second.body.is_round:
            pose = PlanPose(pose.at, np.ones(len(pose.at), np.complex128))
        self.is_still = is_still(pose, second.body.reach_mm)
        self.master_deg = master_deg[:1] if self.is_still else master_deg
        self.pose = chosen(pose, np.arange(len(self.master_deg)))

    def near(self) -> Flags:
        """Return at which angles the circles about both bodies meet, (n,)."""
        return np.asarray(np.abs(self.pose.at) < self.first.body.reach_mm + self.second.body.reach_mm)

    def penetration(self, limit_mm: float, skipped: frozenset[Stretch] = frozenset()) -> Penetration | None:
        """Return how deep the bodies go into one another; None where that stays within a limit, mm.

        skipped: stretches that are judged by other means. Raises RimError where a body cannot be cut.
        """
        low, high = shared_heights(self.first, self.second)
        near = self.near()
        if high - low <= limit_mm or not near.any():
            return None
        stretches = [one for one in stretches_of(self.first, self.second) if one not in skipped]
        touched = np.zeros(len(self.master_deg), np.bool_)
        for stretch in stretches:
            for height in stretch.looks_mm:
                (open_,) = np.nonzero(near & ~touched)
                touched[open_] = self._touches(height, open_)
        (angles,) = np.nonzero(touched)
        over = [int(angle) for angle in angles if self._is_over(stretches, int(angle), limit_mm)]
        return self._deepest(stretches, over, limit_mm) if over else None

    def _sections(self, height_mm: float) -> tuple[Any, Any, bool]:
        """Return the cross-section that stays, that which is moved, and whether that is the second's."""
        first = self.first.body.section(height_mm - self.first.bottom_mm)
        second = self.second.body.section(height_mm - self.second.bottom_mm)
        import shapely  # kept off the start-up path

        stays = shapely.get_num_coordinates(first) >= shapely.get_num_coordinates(second)
        return (first, second, True) if stays else (second, first, False)

    def _touches(self, height_mm: float, angles: npt.NDArray[np.intp]) -> Flags:
        """Return at which of some angles, (k,), the cross-sections at a height meet."""
        import shapely  # kept off the start-up path

        still, mover, is_second = self._sections(height_mm)
        found = [np.zeros(0, np.bool_)]
        for at in range(0, len(angles), AT_ONCE):
            pose = chosen(self.pose, angles[at : at + AT_ONCE])
            found.append(shapely.intersects(still, _moved(mover, pose if is_second else inverse(pose))))
        return np.concatenate(found)

    def _shared(self, height_mm: float, angle: int) -> Any:
        """Return what the cross-sections at a height share at an angle, by its number."""
        still, mover, is_second = self._sections(height_mm)
        pose = chosen(self.pose, np.array([angle]))
        return still.intersection(_moved(mover, pose if is_second else inverse(pose))[0])

    def _is_over(self, stretches: list[Stretch], angle: int, limit_mm: float) -> bool:
        """Return whether the bodies go deeper into one another than a limit, mm, at an angle.

        What is shared at either end of stretches is looked at first: no depth is over the largest of them.
        """
        if self._is_plainly_over(stretches, angle, limit_mm):
            return True
        looks = [height for stretch in stretches for height in stretch.looks_mm]
        if not any(deeper_than(self._shared(height, angle), limit_mm) for height in looks):
            return False
        return self._depth_mm(stretches, angle, limit_mm) > limit_mm

    def _is_plainly_over(self, stretches: list[Stretch], angle: int, limit_mm: float) -> bool:
        """Return whether a stretch with upright walls decides that the bodies go deeper than a limit, mm."""
        return any(
            deeper_than(self._shared(one.looks_mm[0], angle), limit_mm)
            for one in stretches
            if not one.leans and one.top_mm - one.bottom_mm > limit_mm
        )

    def _narrowed(self, stretch: Stretch, angle: int, limit_mm: float) -> Stretch:
        """Return the heights of a stretch with leaning walls at which a circle over a limit is shared."""
        for _ in range(ZOOMS if stretch.leans else 0):
            heights = stretch.heights_mm
            inside = [stretch.looks_mm[0], *heights[1:-1], stretch.looks_mm[1]]
            deep = [n for n, z in enumerate(inside) if deeper_than(self._shared(z, angle), limit_mm)]
            if not deep or (deep[0] <= 1 and deep[-1] >= LAYERS - 1):
                break
            stretch = Stretch(heights[max(0, deep[0] - 1)], heights[min(LAYERS, deep[-1] + 1)], True)
        return stretch

    def _depth_mm(self, stretches: list[Stretch], angle: int, limit_mm: float) -> float:
        """Return the depth at an angle, mm; leaning walls are looked at closely where no others decide."""
        layers = stretches
        if not self._is_plainly_over(stretches, angle, limit_mm):
            narrowed = (self._narrowed(stretch, angle, limit_mm) for stretch in stretches)
            layers = [layer for stretch in narrowed for layer in stretch.layers]
        shared = [SharedLayer(one.bottom_mm, one.top_mm, self._common(one, angle)) for one in layers]
        return layers_mm(shared)

    def _common(self, layer: Stretch, angle: int) -> Any:
        """Return what the bodies share at all heights of a thin layer."""
        areas = [self._shared(height, angle) for height in layer.looks_mm]
        return areas[0] if len(areas) == 1 else areas[0].intersection(areas[1])

    def _deepest(self, stretches: list[Stretch], over: list[int], limit_mm: float) -> Penetration:
        """Look at some of the angles with a fault, then at all beside the deepest of them."""
        step = max(1, len(over) // LOOKED_AT)
        some = range(0, len(over), step)
        depths = {place: self._depth_mm(stretches, over[place], limit_mm) for place in some}
        best = max(depths, key=lambda place: depths[place])
        for place in range(max(0, best - step + 1), min(len(over), best + step)):
            if place not in depths:
                depths[place] = self._depth_mm(stretches, over[place], limit_mm)
        best = max(depths, key=lambda place: depths[place])
        return Penetration(
            depth_mm=depths[best],
            first_deg=float(self.master_deg[over[0]]),
            worst_deg=float(self.master_deg[over[best]]),
            always=len(over) == len(self.master_deg),
        )


def _moved(area: Any, pose: PlanPose) -> Any:
    """Return an area of shapely in each of k poses, an array (k,) of areas."""
    import shapely  # kept off the start-up path

    points = shapely.get_coordinates(area) @ np.array([1, 1j])
    placed = (pose.at[:, None] + pose.turn[:, None] * points).ravel()
    copies = np.repeat(np.asarray(area, dtype=object), len(pose.at))
    return shapely.set_coordinates(copies, np.column_stack([placed.real, placed.imag]))
