"""What becomes of the play of drawn machines: angles by which discs come later, by how their joints are set.

as-they-lie: uniform within ± delta once for each joint. one-way: the known shift delta, and between discs a
normal spread with the limits ± (delta of the loosest fit less delta). lined-up, screwed, glued: normal,
limited by the marks and the play; against a straight edge nothing adds up. In a chain joints add up, to no
more than the bore allows. loose, and where a clamp slips: each joint is on its lagging flank (+ delta) while
the torque that it carries is positive, on its leading one while it is negative; where forces are not
described, anywhere within ± delta at each move. Degrees of the stack, positive later.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import inf, isfinite

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.built.arrays import Reals
from shaftscore.built.joints import flank_signs
from shaftscore.judge.fits import StackFit, joint_torques, slipping
from shaftscore.judge.loads import LaneLoads, MachineLoads
from shaftscore.model import replaced


@dataclass(frozen=True, eq=False)
class JointDraws:
    """Unit draws of the k joints just before a disc: fit (k, n) normal, play (k, n) uniform -1 to 1.

    lined: (n,) normal, of the disc's marks.
    """

    fit: Reals
    play: Reals
    lined: Reals


@dataclass(frozen=True, eq=False)
class TorqueSigns:
    """Which way the joints before a disc are pushed over a turn of its stack.

    flank: (m,) +1 lagging, -1 leading, at even angles of the stack's turn. push: by lane of the disc that
    runs in a groove, (m,) sign of the force outward. slips: whether a clamp lets the joint slip.
    """

    flank: Reals
    push: Mapping[str, Reals] = field(default_factory=dict)
    slips: bool = False

    def flank_at(self, theta_deg: float) -> float:
        """Return the flank at an angle of the stack, degrees: +1 lagging, -1 leading."""
        count = len(self.flank)
        return float(self.flank[round(wrap(theta_deg) * count / TURN) % count])


def torque_signs(fit: StackFit, loads: MachineLoads) -> dict[str, TorqueSigns]:
    """Return which way loose joints of a stack are pushed, by disc; only where it is known.

    Of a stack that is not loose only the joints that its clamp lets slip.
    """
    if fit.law != "loose" and (fit.stack.rod is None or fit.stack.rod.clamp_n is None):
        return {}
    torques = joint_torques(fit, loads)
    slips = slipping(fit, torques)
    found = {}
    for disc, torque in torques.items():
        if torque.is_known and (fit.law == "loose" or disc in slips):
            turns = torque.loads[0].solved.turns
            grid = torque.torque_nm
            own = grid[: max(len(grid) // turns, 1)]
            lanes = [one for one in torque.loads if fit.disc_of(one.solved.lane.id) == disc]
            push = {one.solved.lane.id: _pushed(one) for one in lanes if one.is_groove}
            found[disc] = TorqueSigns(flank_signs(np.nan_to_num(own)), push, disc in slips)
    return found


def _pushed(loads: LaneLoads) -> Reals:
    """Return the signs of the force along the travel over a turn of the stack, (m,) at whole degrees."""
    theta = np.arange(0.0, TURN)
    return flank_signs(np.nan_to_num(loads.forces(theta, loads.speed_rpm).driving_n))


Joints = Callable[[str], JointDraws]
"""The draws of the joints just before a disc."""

FlankDraws = Callable[[str, int, bool, int], Reals]
"""Draws of loose joints at one move: (lane, number of the move, whether it rises, k joints) -> (k, n)."""


@dataclass(frozen=True, eq=False)
class DrawnJoints:
    """The joints of n machines: joints, flank: their draws. built: (n,) 0 for the nominal machine, else 1.

    off: discs without errors. signs: by disc, which way its joints are pushed, where that is known.
    """

    joints: Joints
    flank: FlankDraws
    built: Reals
    off: frozenset[str]
    signs: Mapping[str, TorqueSigns]

    def is_slipping(self, disc: str) -> bool:
        """Return whether the clamp lets the joints before a disc slip."""
        return disc in self.signs and self.signs[disc].slips


def clamped_deg(fit: StackFit, disc: str, drawn: DrawnJoints) -> Reals:
    """Compute by how much later a disc comes from the play of tightened joints, (n,) degrees of its stack.

    Joints that slip do not count here. Parts keyed to the shaft that are no discs (index lanes) have the play
    of the bore, where it turns them.
    """
    none = np.zeros(len(drawn.built))
    if disc not in fit.discs:
        return _index_deg(fit, disc, drawn)
    if fit.law == "loose" or not (fit.has_play or fit.spread_mm > 0):
        return none
    if fit.law == "lined-up":
        return _lined_deg(fit, disc, drawn)
    each = [one for one in fit.joined(disc) if one not in drawn.off and not drawn.is_slipping(one)]
    total = sum((_joints_deg(fit, drawn.joints(one), drawn.built) for one in each), none)
    return _within_bore(fit, total, drawn.joints(disc)) if fit.is_chain else np.asarray(total)


def _index_deg(fit: StackFit, lane: str, drawn: DrawnJoints) -> Reals:
    """Compute the play of what an index lane keys to the shaft by the bore, (n,) degrees."""
    if lane in drawn.off or not isfinite(fit.bore_deg) or fit.law == "lined-up":
        return np.zeros(len(drawn.built))
    law = "as-they-lie" if fit.law == "loose" else fit.law
    stack = replaced(fit.stack, pins=None)
    mate, clearance = fit.bore_mate, fit.bore_clearance_mm
    keyed = replace(fit, stack=stack, law=law, is_chain=False, mate=mate, clearance_mm=clearance)
    return _joints_deg(keyed, drawn.joints(lane), drawn.built)


def _joints_deg(fit: StackFit, drawn: JointDraws, built: Reals) -> Reals:
    """Compute the sum of the joints just before one disc, (n,) degrees."""
    if fit.law == "as-they-lie":
        return np.asarray((fit.drawn_joint_deg(drawn.fit) * drawn.play).sum(axis=0))
    known, wide = fit.drawn_joint_deg(np.array([0.0, 1.0]))
    return np.asarray((known * built + (wide - known) * drawn.fit).sum(axis=0))


def _lined_deg(fit: StackFit, disc: str, drawn: DrawnJoints) -> Reals:
    """Compute the error of discs lined up by their marks, (n,) degrees, within what the play allows."""
    total = np.zeros(len(drawn.built))
    for one in fit.lined(disc):
        if one not in drawn.off:
            limit = fit.drawn_lined_deg(_play_to_driven_end(fit, one, drawn.joints))
            total = total + limit * drawn.joints(one).lined
    most = _play_to_driven_end(fit, disc, drawn.joints)
    return np.asarray(np.clip(total, -most, most))


def _play_to_driven_end(fit: StackFit, disc: str, joints: Joints) -> Reals:
    """Compute the play ± of a disc against the driven end, (n,) degrees: in a chain the sum."""
    if not fit.is_chain:
        return np.asarray(fit.drawn_joint_deg(joints(disc).fit[-1]))
    each = [fit.drawn_joint_deg(joints(one).fit).sum(axis=0) for one in fit.joined(disc)]
    total: Reals = np.sum(each, axis=0)
    return np.minimum(total, fit.drawn_bore_deg(joints(disc).fit[-1]))


def _within_bore(fit: StackFit, total: Reals, drawn: JointDraws) -> Reals:
    """Limit the sum of a chain to what the disc's bore allows, (n,) degrees."""
    if fit.bore_deg == inf and fit.drawn_bore_deg(-1.0) == inf:
        return total
    most = fit.drawn_bore_deg(drawn.fit[-1])
    return np.asarray(np.clip(total, -most, most))


@dataclass(frozen=True, eq=False)
class LateFlanks:
    """By how much loose joints make one lane late, at each of its moves.

    plays: by disc whose joints count, their play ± in each machine, (k, n) degrees. most: what the bore
    allows, (n,) degrees or inf. signs: by disc where the torque is known. built: (n,) 0 for the nominal
    machine. which: machines of the draws that these are, None for all.
    """

    lane: str
    plays: Mapping[str, Reals]
    most: Reals
    signs: Mapping[str, TorqueSigns]
    flank: FlankDraws
    built: Reals
    which: np.typing.NDArray[np.intp] | None = None

    def late_deg(self, theta_deg: float, move: int, *, rises: bool) -> Reals:
        """Compute by how much later one move passes, (n,) degrees of the stack.

        theta_deg: where it passes in the nominal machine. move: its number in the lane's program.
        """
        total = np.zeros(len(self.built))
        unknown = [plays for disc, plays in self.plays.items() if disc not in self.signs]
        for disc, plays in self.plays.items():
            if disc in self.signs:
                total = total + self.signs[disc].flank_at(theta_deg) * plays.sum(axis=0) * self.built
        if unknown:
            every = np.concatenate(unknown)
            drawn = self.flank(self.lane, move, rises, len(every))
            drawn = drawn if self.which is None else drawn[:, self.which]
            total = total + (every * drawn).sum(axis=0)
        return np.asarray(np.clip(total, -self.most, self.most))

    def taken(self, which: np.typing.NDArray[np.intp]) -> LateFlanks:
        """Return those of some machines; which: (k,) their numbers."""
        plays = {disc: plays[:, which] for disc, plays in self.plays.items()}
        most = self.most[which] if self.most.ndim else self.most
        return replace(self, plays=plays, most=most, built=self.built[which], which=which)


def loose_flanks(fit: StackFit, lane: str, disc: str, drawn: DrawnJoints) -> LateFlanks | None:
    """Return what loose joints do to a lane; None where none of those that move it is loose."""
    if disc not in fit.discs:
        return None
    loose = [
        one
        for one in fit.joined(disc)
        if one not in drawn.off and (fit.law == "loose" or drawn.is_slipping(one))
    ]
    plays = {one: np.atleast_2d(fit.drawn_joint_deg(drawn.joints(one).fit)) for one in loose}
    if not any(bool(np.any(play)) for play in plays.values()):
        return None
    most = fit.drawn_bore_deg(drawn.joints(disc).fit[-1]) if fit.is_chain else np.asarray(inf)
    return LateFlanks(lane, plays, most, drawn.signs, drawn.flank, drawn.built)
