"""Places that a follower cannot touch: corners of the motion, and parts cut away from elsewhere.

A corner of the motion (a step of the velocity) is a corner of the pitch curve. On its convex side the
offset curves of both sides cut each other, so the roller cannot touch their ends: the profile is
undercut there like at a curve too sharp. Distant parts are compared over the whole curve.

Formulas, with n the outward normal of the pitch curve (a complex number of length 1), d the direction of
rotation in the disc's frame, r the roller's radius, s' the velocity by radian:

    (1) turn = -d arg(n' / n) from before a corner to after it: convex positive
    (2) flat face: contact at s' beside the line of travel, so a corner steps by s'(before) - s'(after); a
        positive step is a ridge that the face cannot touch
    (3) the running edge is the pitch curve offset by -r (inner flank), a groove's outer flank by +r
    (4) a distant part cuts a place by depth = r - distance of the place from that part's pitch curve

(1) and (3) are those of any text on offset curves; (2) follows from the support function of a disc under a
flat face (VDI 2142 and cam handbooks; from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.tolerance import LIMIT
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles.crossing import (
    Cut,
    OpenSpans,
    following,
    is_star_shaped,
    nearest_parts,
    refined,
)
from shaftscore.kinematics.profiles.limits import LaneLimits
from shaftscore.kinematics.profiles.pieces import Flags, PieceNodes
from shaftscore.kinematics.profiles.places import Flank, Undercut
from shaftscore.kinematics.profiles.trace import Kinematics

CORNER_RAD = 1e-6
"""A turn of the normal by more than this between two pieces is a corner."""

CORNER_MM = 1e-6
"""A step of a flat face's contact by more than this between two pieces is a corner, mm."""

SAME_MM = 1e-6
"""Two nodes this near to one another are one place, mm."""

SLACK_DEG = 0.5
"""How far beside a stretch a known undercut still explains a cut at its end, degrees."""


def flanks_of(limits: LaneLimits) -> tuple[Flank, ...]:
    """Return the running flanks: the profile, and a groove's outer one."""
    return ("inner", "outer") if limits.groove else ("inner",)


def corner_turns(nodes: PieceNodes, at: Kinematics) -> Reals:
    """Return the turn of the outward normal after each node, convex positive, 0 within pieces: (m,) rad.

    For a flat face: minus the step of the velocity, mm by radian (a ridge is positive too).
    """
    last = np.append(~nodes.joined, True)
    if at.model.is_flat:
        step = at.lift[1] - following(at.lift[1])  # (2)
        return np.where(last & (np.abs(step) > CORNER_MM), step, 0.0)
    turn = -at.placement.direction * np.angle(following(at.normal) * np.conj(at.normal))  # (1)
    return np.where(last & (np.abs(turn) > CORNER_RAD), turn, 0.0)


def corner_undercuts(nodes: PieceNodes, at: Kinematics, flanks: tuple[Flank, ...]) -> list[Undercut]:
    """Return the corners whose two sides cut each other, on each flank."""
    radius = -np.inf if at.model.is_flat else -at.model.roller_radius_mm
    if radius == 0:
        return []
    turns = corner_turns(nodes, at)
    judged = nodes.judged & np.roll(nodes.judged, -1)
    found: list[Undercut] = []
    for flank in flanks:
        (where,) = np.nonzero(judged & (turns > 0 if flank == "inner" else turns < 0))
        found += [Undercut("corner", *_place(nodes, int(n)), radius, flank=flank) for n in where]
    return found


Trace = Callable[[Reals], Kinematics]
"""Gives the kinematics at any angles of the stack, (n,) degrees."""


def distant_undercuts(
    nodes: PieceNodes, at: Kinematics, trace: Trace, flanks: tuple[Flank, ...], near: list[Undercut]
) -> list[Undercut]:
    """Return the places that another part of the turn cuts away, leaving out what `near` explains."""
    return [
        Undercut("distant", wrap(cut.theta_deg), segment, -cut.depth_mm, wrap(cut.other_deg), flank)
        for flank in flanks
        for cut, segment in _passes(nodes, at, trace, flank, near)
        if cut.depth_mm > LIMIT  # (4)
    ]


def deepest_pass(
    nodes: PieceNodes, at: Kinematics, trace: Trace, flanks: tuple[Flank, ...], near: list[Undercut]
) -> float:
    """Return how deep the deepest distant part cuts, mm: negative if it passes by, -inf if none is near."""
    passes = [cut for flank in flanks for cut, _ in _passes(nodes, at, trace, flank, near)]
    return max((cut.depth_mm for cut in passes), default=-np.inf)


def flank_is_star_shaped(at: Kinematics, flank: Flank) -> bool:
    """Return whether a flank under a roller goes once round the axis, so that no distant part can cut it."""
    return is_star_shaped(at.offset(_distance_mm(at, flank)), at.placement.direction)


def _distance_mm(at: Kinematics, flank: Flank) -> float:
    """Return how far outside the pitch curve a flank runs, mm."""
    radius = at.model.roller_radius_mm
    return -radius if flank == "inner" else radius  # (3)


def _passes(
    nodes: PieceNodes, at: Kinematics, trace: Trace, flank: Flank, known: list[Undercut]
) -> Iterator[tuple[Cut, int]]:
    """Yield where distant parts come nearest to a flank, with the segment of the place."""
    radius, distance = at.model.roller_radius_mm, _distance_mm(at, flank)
    if at.model.is_flat or radius == 0 or flank_is_star_shaped(at, flank):
        return
    angles = [undercut.theta_deg for undercut in known if undercut.flank == flank]
    spans, pitch, curve = _open_spans(nodes, angles), at.pitch, at.offset(distance)
    once = np.flatnonzero(~_is_again(pitch, curve, spans))
    nears = nearest_parts(pitch[once], curve[once], radius, spans.among(once))
    for cut in refined(nears, trace, nodes.theta_deg[once], distance, radius):
        yield cut, _place(nodes, int(once[cut.near.at]))[1]


def _is_again(pitch: Points, curve: Points, spans: OpenSpans) -> Flags:
    """Return which nodes are where the node before is, as at the smooth joint of two pieces: (m,) of (m,).

    Both hide their neighbours from one another, so that each pair of joints would look like a nearest pass.
    """
    same = np.abs(pitch - np.roll(pitch, 1)) <= SAME_MM
    same &= np.abs(curve - np.roll(curve, 1)) <= SAME_MM
    same &= (spans.is_open == np.roll(spans.is_open, 1)) & (spans.gap == np.roll(spans.gap, 1))
    return np.asarray(same)


def _open_spans(nodes: PieceNodes, known_deg: list[float]) -> OpenSpans:
    """Return where distant cuts are looked for: on judged pieces, away from known undercuts."""
    angle, known = wrap(nodes.theta_deg), np.sort(np.array(known_deg, np.float64))
    beside = [np.searchsorted(known, angle + turn + SLACK_DEG, "right") for turn in (-TURN, 0.0, TURN)]
    under = [np.searchsorted(known, angle + turn - SLACK_DEG, "left") for turn in (-TURN, 0.0, TURN)]
    is_open = nodes.judged & (np.array(beside) == np.array(under)).all(axis=0)
    return OpenSpans(angle, is_open, known, SLACK_DEG)


def _place(nodes: PieceNodes, node: int) -> tuple[float, int]:
    """Return the angle of a node, wrapped, and its segment."""
    return wrap(float(nodes.theta_deg[node])), int(nodes.table.segment[nodes.piece[node]])
