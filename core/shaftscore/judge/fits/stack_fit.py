"""The fit of one stack: what turns its discs, how far they can turn on it, and where they may sit.

The *clearance* is the gap to each side, from the stack's fit and half the undersize of its rod. The *play* of
a joint is ± delta, degrees of the stack; `inf` where the part turns freely. What turns a disc:

- pins, where there are any: they pass through all parts, so that plays do not add up;
- else dogs, where the stack is a chain: plays add up from the driven end, over both faces of each spacer,
  to no more than the bore allows on its rod;
- else the bore on its rod.

`joint_play_deg` overrides the play of a joint with half of it. A *known shift* is by how much all discs
that were turned one way while tightened come later than drawn. It is the phase of the whole stack: rules
between lanes of one stack do not see it (unless a chain adds it up), rules between stacks do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from math import inf, isfinite
from typing import Literal

import numpy as np

from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.built.arrays import Reals, Values
from shaftscore.built.fits import Mate, drawn_clearance_mm, effective_clearance_mm
from shaftscore.built.joints import lined_up_deg
from shaftscore.built.rods import SIZE_STEPS_MM, THREAD_6G_UM, undersize_mm
from shaftscore.built.threads import MetricThread, thread_named
from shaftscore.model import Lane, Project, Rod, Stack
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.incremental import Incremental, Reads, runs_of
from shaftscore.stack.mates import bore_mate, dog_mate, pin_mate

PlayLaw = Literal["loose", "as-they-lie", "one-way", "lined-up"]
"""What becomes of the play of a stack's joints; screwed and glued discs are lined up by their marks."""

HALF_TURN = 180.0
"""A part that turns freely may be anywhere: within this many degrees to either side."""


@dataclass(frozen=True, eq=False)
class StackFit:
    """The fit of one stack; see the module's text.

    law: what becomes of the play. mate, clearance_mm: what turns a disc and its clearance; the mate is None
    where joint_play_deg overrides it. bore_mate, bore_clearance_mm: the bore on its rod. seat_mm: radius of
    the circle in which a disc may sit off its axis. discs: lanes with discs, from the driven end.
    riders: lane to the disc that it rides on. is_chain: whether
    plays add up. joints_before: how many joints there are just before each disc. lined_limit_deg: plus-minus
    limit of discs lined up by their marks, before the play limits it. spread_mm: plus-minus limit by
    which clearances differ. smallest_rim_mm: smallest base radius of the discs, None without profiles.
    """

    stack: Stack
    law: PlayLaw
    mate: Mate | None
    clearance_mm: float
    bore_mate: Mate
    bore_clearance_mm: float
    seat_mm: float
    discs: tuple[str, ...]
    riders: Mapping[str, str]
    is_chain: bool
    joints_before: Mapping[str, int]
    lined_limit_deg: float
    spread_mm: float
    smallest_rim_mm: float | None

    @cached_property
    def joint_deg(self) -> float:
        """Play ± delta of one joint, degrees of the stack; `inf` where the part turns freely."""
        if self.stack.joint_play_deg is not None:
            return self.stack.joint_play_deg / 2
        assert self.mate is not None
        delta = float(self.mate.play_deg(self.clearance_mm))
        return delta if self.is_chain else min(delta, self.bore_deg)

    @cached_property
    def bore_deg(self) -> float:
        """Play that the bore alone allows, degrees of the stack; `inf` where it does not turn the disc.

        And where the play is given: then the fit says nothing of it.
        """
        if self.stack.joint_play_deg is not None:
            return inf
        return float(self.bore_mate.play_deg(self.bore_clearance_mm))

    @property
    def is_free(self) -> bool:
        """Whether nothing but friction, screws or glue turns a disc."""
        return bool(self.discs) and not isfinite(self.joint_deg)

    @property
    def has_play(self) -> bool:
        """Whether a disc can turn on its joint at all."""
        return self.joint_deg > ANGLE_DEG

    def drawn_joint_deg(self, unit_fits: Values) -> Reals:
        """Compute the play ± of joints whose clearance differs by shares of the spread, (...,) degrees.

        unit_fits: (...,), 1 at the plus limit. A part that turns freely gives half a turn.
        """
        if self.stack.joint_play_deg is not None:
            return np.full(np.shape(unit_fits), self.stack.joint_play_deg / 2)
        assert self.mate is not None
        play = self.mate.play_deg(self._drawn_mm(self.clearance_mm, unit_fits))
        own = play if self.is_chain else np.minimum(play, self.drawn_bore_deg(unit_fits))
        return np.minimum(own, HALF_TURN)

    def drawn_bore_deg(self, unit_fits: Values) -> Reals:
        """Compute the play ± that bores allow whose clearance differs by shares of the spread, degrees.

        unit_fits: (...,), 1 at the plus limit; `inf` where the bore does not limit the play.
        """
        if self.stack.joint_play_deg is not None:
            return np.full(np.shape(unit_fits), inf)
        return self.bore_mate.play_deg(self._drawn_mm(self.bore_clearance_mm, unit_fits))

    def drawn_seat_mm(self, unit_fits: Values) -> Reals:
        """Compute the radius of seats whose clearance differs by shares of the spread, (...,) mm."""
        return self._drawn_mm(self.seat_mm, unit_fits)

    def _drawn_mm(self, nominal_mm: float, unit_fits: Values) -> Reals:
        return drawn_clearance_mm(nominal_mm, self.spread_mm, np.asarray(unit_fits, dtype=np.float64))

    def drawn_lined_deg(self, play_deg: Values) -> Reals:
        """Compute ± limits of discs lined up by their marks, never over their play, (...,) degrees."""
        return np.minimum(self.lined_limit_deg, np.asarray(play_deg, dtype=np.float64))

    def joined(self, disc: str) -> tuple[str, ...]:
        """Return the discs whose joints move a disc: its own, and in a chain all before it."""
        if not self.is_chain or disc not in self.discs:
            return (disc,)
        return self.discs[: self.discs.index(disc) + 1]

    def printed(self, disc: str) -> tuple[str, ...]:
        """Return the discs whose printed angles move a disc: those joined to it.

        Its own alone where it is lined up against a straight edge, which takes up what others are off.
        """
        straight = self.law == "lined-up" and self.stack.against == "straight-edge"
        straight = straight and self.has_play
        return (disc,) if straight else self.joined(disc)

    def lined(self, disc: str) -> tuple[str, ...]:
        """Return the discs whose marks move a disc: its own; against the neighbour also all before it."""
        if self.stack.against == "straight-edge" or disc not in self.discs:
            return (disc,)
        return self.discs[: self.discs.index(disc) + 1]

    def total_deg(self, disc: str) -> float:
        """Return the play ± of a disc against the driven end, degrees of the stack: in a chain the sum."""
        joints = sum(self.joints_before[one] for one in self.joined(disc))
        return min(joints * self.joint_deg, self.bore_deg) if self.is_chain else self.joint_deg

    def known_shift_deg(self, disc: str) -> float:
        """Return by how much a disc is known to come later than drawn, degrees of the stack."""
        return self.total_deg(disc) if self.law == "one-way" else 0.0

    def disc_of(self, lane_id: str) -> str:
        """Return the disc that moves a lane of this stack."""
        return self.riders.get(lane_id, lane_id)

    @property
    def lanes(self) -> tuple[str, ...]:
        """All lanes that a disc of this stack moves: those with discs, and riders."""
        return (*self.discs, *self.riders)

    @property
    def play_deg(self) -> Mapping[str, float]:
        """Play ± at the joint of each lane's disc, degrees of the stack."""
        return dict.fromkeys(self.lanes, self.joint_deg)

    @property
    def shift_deg(self) -> Mapping[str, float]:
        """Known shift of each lane, degrees of the stack."""
        return {lane: self.known_shift_deg(self.disc_of(lane)) for lane in self.lanes}


def stack_fits(solution: Solution, kept: Incremental | None = None) -> Mapping[str, StackFit]:
    """Return the fit of every stack by its id; kept: the store of unchanged ones."""
    kept = kept or Incremental()
    return {stack.id: _kept(solution, stack, kept) for stack in solution.project.stacks}


def _kept(solution: Solution, stack: Stack, kept: Incremental) -> StackFit:
    return kept.keep(("fit", stack.id), _reads(solution, stack, kept), lambda _: stack_fit(solution, stack))


def stack_fit(solution: Solution, stack: Stack) -> StackFit:
    """Return the fit of one stack of a solved project."""
    project = solution.project
    bore_clearance = _bore_clearance_mm(stack)
    bore = bore_mate(stack.bore, stack.rod)
    mate, clearance = _mate(stack, bore, bore_clearance)
    on_stack = project.lanes_of(stack)
    discs = from_driven_end(project, stack)
    known = set(discs)
    rim = _smallest_rim_mm(solution, discs)
    seat = bore_clearance if stack.pins is None else min(bore_clearance, stack.pins.clearance_mm)
    return StackFit(
        stack=stack,
        law="lined-up" if stack.fixing != "keyed" else stack.joints or "as-they-lie",
        mate=None if stack.joint_play_deg is not None else mate,
        clearance_mm=clearance,
        bore_mate=bore,
        bore_clearance_mm=bore_clearance,
        seat_mm=seat,
        discs=discs,
        riders={lane.id: lane.disc_of for lane in on_stack if lane.disc_of in known and lane.disc_of},
        is_chain=stack.is_chain,
        joints_before=joints_before(stack, discs),
        lined_limit_deg=_lined_limit_deg(stack, rim),
        spread_mm=project.tolerances.fit_spread_mm,
        smallest_rim_mm=rim,
    )


def _reads(solution: Solution, stack: Stack, kept: Incremental) -> Reads:
    """Return what a fit depends on: its record, the spread of fits, and the lanes on the stack."""
    project = solution.project
    read = []
    for number, run in runs_of(project.lanes_of(stack)):
        solved = [solution.lanes.get(lane.id) for lane in run]
        own = partial(_read, run, solved)
        read.append(kept.keep_alike(("fit reads", stack.id, number), (*run, *solved), own))
    return (stack, project.tolerances.fit_spread_mm, *read)


def _read(lanes: Sequence[Lane], solved: Sequence[LaneSolution | None]) -> tuple[object, ...]:
    """Return what a fit depends on in some lanes."""
    each = zip(lanes, solved, strict=True)
    return tuple((lane.id, lane.kind, lane.disc_of, _base_radius_mm(one)) for lane, one in each)


def _base_radius_mm(lane: LaneSolution | None) -> float | None:
    return None if lane is None or lane.profile is None else lane.profile.base_radius_mm


def _smallest_rim_mm(solution: Solution, discs: tuple[str, ...]) -> float | None:
    radii = [_base_radius_mm(solution.lanes.get(disc)) for disc in discs]
    return min((radius for radius in radii if radius is not None), default=None)


def _lined_limit_deg(stack: Stack, rim_mm: float | None) -> float:
    """Return the plus-minus limit of discs lined up by marks on the smallest rim, or that of spacers."""
    return float(lined_up_deg(stack.lined_up_mm, rim_mm or stack.spacer_radius_mm, inf))


def from_driven_end(project: Project, stack: Stack) -> tuple[str, ...]:
    """Return the ids of the lanes whose discs a stack carries, from its driven end."""
    order = tuple(lane.id for lane in project.discs_of(stack))
    return order if stack.driven_end == "bottom" else order[::-1]


def joints_before(stack: Stack, discs: Sequence[str]) -> dict[str, int]:
    """Return how many joints there are just before each disc: in a chain also the far face of a spacer.

    discs: lane ids, from the driven end.
    """
    between = 2 if stack.is_chain and stack.spacer_mm > 0 else 1
    return {disc: between if place else 1 for place, disc in enumerate(discs)}


def _bore_clearance_mm(stack: Stack) -> float:
    """Return the clearance of the bore: the fit, half the undersize of the rod, and a smaller rod, mm."""
    rod = stack.rod
    if rod is None:
        return stack.fit_clearance_mm
    smaller = (stack.bore.across_mm - rod.across_mm) / 2
    return effective_clearance_mm(stack.fit_clearance_mm, _greatest_undersize_mm(rod, stack)) + smaller


def _greatest_undersize_mm(rod: Rod, stack: Stack) -> float:
    """Return the greatest undersize that the rod's class allows, mm.

    Rods beyond the tables count as the largest in them, pitches between two rows as the coarser one.
    """
    thread = None if rod.thread is None else thread_named(rod.thread)
    if thread is not None and thread.pitch_mm not in THREAD_6G_UM:
        coarser = [pitch for pitch in THREAD_6G_UM if pitch > thread.pitch_mm]
        thread = MetricThread(thread.nominal_mm, min(coarser, default=max(THREAD_6G_UM)))
    return undersize_mm(rod.tolerance_in(stack.bore), min(rod.across_mm, SIZE_STEPS_MM[-1]), thread)[1]


def _mate(stack: Stack, bore: Mate, bore_clearance_mm: float) -> tuple[Mate, float]:
    """Return what turns a disc of the stack, and its clearance."""
    if stack.pins is not None:
        return pin_mate(stack.pins), stack.pins.clearance_mm
    if stack.keying == "chain" and stack.dogs is not None:
        return dog_mate(stack.dogs), stack.pocket_clearance_mm
    return bore, bore_clearance_mm
