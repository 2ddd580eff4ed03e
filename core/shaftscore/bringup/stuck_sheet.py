"""The sheet of stuck lanes: what a jam of each does, and what protects the machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from shaftscore.base.wording import counted, millimetres, newton_metres, newtons, percent, plain
from shaftscore.bringup.sheets import (
    CURRENT_CAUTION,
    PINCH_CAUTION,
    SPRING_CAUTION,
    UNKNOWN,
    OperationSheet,
    SheetTable,
    listed,
    lowered,
)
from shaftscore.bringup.stuck import (
    PART_RESERVE,
    SlipTorque,
    StuckLane,
    StuckLanes,
    is_cranked,
    is_rated_alone,
)
from shaftscore.bringup.stuck_items import StuckItems, stuck_sentences
from shaftscore.judge.findings.in_rounds import round_angle

HEADS = ("Lane", "Least force", "First to yield", "At", "Force there", "Shaft torque", "Link")

MOST_PARTS = 5
"""Parts that the details of a lane name, the weakest first."""


def stuck_sheet(stuck: StuckLanes) -> OperationSheet:
    """Return what a jam of each lane does, and what protects the machine."""
    drive = stuck.project.drive
    if not stuck.lanes:
        return OperationSheet("Add blocks to a lane to see what a jam of it does.")
    keys = tuple(one.solved.lane.id for one in stuck.lanes)
    table = SheetTable("Jam of one lane", HEADS, tuple(map(_row, stuck.lanes)), keys)
    more = list(slip_sentences(stuck.slip, cranked=drive is not None and is_cranked(drive)))
    if drive is not None and is_rated_alone(drive):
        more.append("The motor states no stall torque: its rated torque counts, and it gives more than that.")
    return OperationSheet(
        _head(stuck),
        tuple(more),
        (table,),
        (CURRENT_CAUTION, PINCH_CAUTION, SPRING_CAUTION),
    )


def _head(stuck: StuckLanes) -> str:
    if stuck.project.drive is None:
        return "The motor is not described, so the force of a jam is not known."
    broken = sum(one.is_broken for one in stuck.lanes)
    if broken:
        return (
            f"The drive is strong enough to damage {broken} of {counted(len(stuck.lanes), 'lane')} in a jam."
        )
    return "The drive stalls before any part yields, as far as strengths are known."


def slip_sentences(slip: SlipTorque, *, cranked: bool) -> Iterator[str]:
    """Yield the setting of a clutch that protects the machine, or why none does."""
    if slip.by is None or slip.by.weakest is None:
        yield "No strength of a part is known, so no setting of a clutch can be given."
        return
    yield from _setting(slip, f"{lowered(slip.by.weakest.name)} of {slip.by.label}", cranked=cranked)
    yield (
        "At the ends of a move any torque gives a force without bound. Over the last "
        f"{millimetres(slip.by.end_mm, 2)} of lift the parts of {slip.by.label} must therefore be flexible."
    )


def _setting(slip: SlipTorque, weakest: str, *, cranked: bool) -> Iterator[str]:
    most = newton_metres(slip.most_nm)
    if slip.least_nm is None:
        yield f"A clutch on the shaft must slip under {most} ({weakest}); what it carries is not described."
        return
    least = newton_metres(slip.least_nm)
    if not slip.exists:
        yield (
            f"No clutch on the shaft protects every part: it must carry {least}, the peak torque with its "
            f"reserve, and slip under {most} ({weakest}, reserve {plain(PART_RESERVE)})."
        )
        yield "Protect each lane instead: a link in its follower that gives way at the force under “Link”."
    elif not slip.is_needed:
        given = newton_metres(slip.stall_nm or 0.0)
        yield f"No clutch is needed: the drive gives at most {given}, under {most}."
    else:
        yield f"Set a clutch on the shaft to slip between {least} and {most} ({weakest})."
        if slip.stall_shares is not None and not cranked:
            low, high = (percent(100 * share) for share in slip.stall_shares)
            yield f"Or limit the motor’s current to between {low} and {high} of its current at a standstill."


def _row(one: StuckLane) -> tuple[str, ...]:
    weak, force = one.weakest, one.least_force
    return (
        one.label,
        UNKNOWN if force is None else newtons(force[0], 0),
        UNKNOWN if weak is None else weak.name,
        "" if weak is None else round_angle(weak.theta_deg, one.solved.course.cycles),
        "" if weak is None else newtons(weak.force_n, 0),
        "" if weak is None else newton_metres(weak.torque_nm * one.weight),
        _link(one),
    )


def _link(one: StuckLane) -> str:
    if one.carried_n is None or not isfinite(one.most_link_n):
        return UNKNOWN
    low, high = newtons(one.carried_n, 0), newtons(one.most_link_n, 0)
    return f"{low} to {high}" if one.link_exists else f"none: carries {low}, bears {high}"


def stuck_details(one: StuckLane, items: Sequence[StuckItems]) -> tuple[str, ...]:
    """Return all that is known of the jam of one lane."""
    found = []
    if one.least_force is not None:
        force = newtons(one.least_force[0], 0)
        angle = round_angle(one.least_force[1], one.solved.course.cycles)
        found.append(f"{one.label}: a jam pushes with {force} at the roller at {angle}, with more elsewhere.")
    found += _parts(one)
    for at in items:
        said = " ".join(stuck_sentences(at)) or "No item goes wrong."
        found.append(f"Stuck at {at.level}: {said}")
    if one.beside:
        found.append(f"Shares its rod or disc with {listed(one.beside)}: look at these too.")
    return (*found, *one.strengths.unknown)


def _parts(one: StuckLane) -> Iterator[str]:
    """Yield which parts yield first, by torque of the master shaft."""
    if one.weakest is None:
        return
    torques = {name: float(values[one.guarded].min()) for name, values in one.yield_torques.items()}
    order = sorted(torques, key=lambda name: torques[name])[:MOST_PARTS]
    parts = ", ".join(f"{name} {newton_metres(torques[name] * one.weight)}" for name in order)
    yield f"Yields first, by torque of the shaft: {parts}."
