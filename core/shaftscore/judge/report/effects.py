"""What the forces and the shafts of a machine add to the chance that it works."""

from __future__ import annotations

from functools import partial

from shaftscore.built.arrays import Flags, Reals
from shaftscore.judge.loads import LaneLoads, MachineLoads
from shaftscore.judge.shaft import MachineShafts
from shaftscore.judge.spread import BuiltEffects


def built_effects(loads: MachineLoads, shafts: MachineShafts | None) -> BuiltEffects:
    """Return what bends and twists (shafts with a rod), and what sticks or floats (lanes with a spring)."""
    sprung = {lane_id: lane for lane_id, lane in loads.lanes.items() if lane.reserve is not None}
    return BuiltEffects(
        lift_mm={} if shafts is None else shafts.lift_errors_mm,
        angle_deg={} if shafts is None else shafts.twists_deg,
        fails={lane_id: partial(_fails, lane) for lane_id, lane in sprung.items()},
        reads=(*sprung.values(), *(() if shafts is None else shafts.found.values())),
    )


def _fails(lane: LaneLoads, friction_share: Reals, spring_draw: Reals) -> Flags:
    """Return the machines (n,) in which a lane sticks or floats: shares (n,) 0 to 1, unit draws (n,)."""
    limits = lane.force_limits
    assert limits is not None, "a spring closes the lane"
    return limits.fails(friction_share, spring_draw)
