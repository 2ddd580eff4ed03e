"""What the Shaft view says: the figures of the whole turn, why there are none, and the cells of its table."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.judge.shaft import StackShaft
from shaftscore.make.drawing.shaft import DrawnRoller, ShaftAtAngle
from shaftscore.model import Project

NO_ROD = "Where are the bearings? Describe the rod to see how it bends."
EMPTY = "Add a lane to see its disc on the shaft."


@dataclass(frozen=True)
class ShaftRow:
    """A row of the table beside the drawing; overlap, of: width of contact that is left, of the width drawn.

    is_narrow: whether the tolerances may leave less contact than is required.
    """

    lane_id: str
    code: str
    name: str
    force: str
    height: str
    overlap: str
    of: str
    is_narrow: bool


HEADS = ("Lane", "Force", "Middle z", "Overlap, least")


def row_of(project: Project, roller: DrawnRoller, at: ShaftAtAngle | None) -> ShaftRow:
    """Return the row of a roller; at: forces at the angle shown, None without."""
    lane = project.lane(roller.lane_id)
    push = None if at is None else at.push_n.get(roller.lane_id)
    return ShaftRow(
        roller.lane_id,
        lane.code or "",
        lane.label,
        "no load" if push is None and at is not None else "" if push is None else force_text(push),
        f"{wording.number(roller.z_mm)} ±{wording.number(roller.spread_mm, 2)}",
        wording.number(roller.least_mm),
        f"of {wording.number(roller.overlap_mm)}",
        roller.is_narrow,
    )


def force_text(newtons: float) -> str:
    """Write the size of a force in N; one that pulls says so."""
    return wording.newtons(abs(newtons)) + (" pull" if newtons < 0 else "")


def turn_figures(shaft: StackShaft, project: Project) -> tuple[str, ...]:
    """Return the figures of a shaft over the whole turn, a sentence each."""
    return (
        _bending(shaft, project),
        f"Bearings {_reactions(shaft)}, friction {_small(shaft.peak_friction_nm.value)}.",
        _clamp(shaft),
        *shaft.case.left_out,
        *_without(shaft, project),
    )


def _bending(shaft: StackShaft, project: Project) -> str:
    lane_id, worst = max(shaft.deflection_mm.items(), key=lambda item: item[1].value)
    at = wording.degrees(worst.own_deg / shaft.case.stack.turns)
    limit = wording.millimetres(project.tolerances.profile_mm, 3)
    most = shaft.allowed_mpa
    allowed = "" if most is None else f" (allowed {wording.megapascals(most)})"
    twist = max(abs(one.value) for one in shaft.twist_deg.values())
    return (
        f"Bends by at most {wording.millimetres(worst.value, 3)} (allowed {limit}), at "
        f"{project.lane(lane_id).label}, {at}; "
        f"stress {wording.megapascals(shaft.stress_mpa.value)}{allowed}; twist {wording.degrees(twist, 2)}."
    )


def _reactions(shaft: StackShaft) -> str:
    turns, names = shaft.case.stack.turns, ("bottom", "top")
    return ", ".join(
        f"{name} {wording.newtons(one.value)} at {wording.degrees(one.own_deg / turns)}"
        for name, one in zip(names, shaft.reactions_n, strict=True)
    )


def _clamp(shaft: StackShaft) -> str:
    needed, clamp, nut = shaft.needed_clamp_n, shaft.case.rod.clamp_n, shaft.nut_torque_nm
    has = "not clamped" if clamp is None else f"clamped with {wording.newtons(clamp, 0)}"
    if needed is None:
        return f"The stack is {has}."
    by = f", {wording.newton_metres(nut)} on a nut" if nut is not None else ""
    return f"The stack is {has}; {wording.newtons(needed, 0)}{by} keeps every joint closed."


def _without(shaft: StackShaft, project: Project) -> tuple[str, ...]:
    names = [project.lane(lane_id).label for lane_id in shaft.case.without_load]
    return (f"Without a load, so without a force: {wording.listed(names)}.",) if names else ()


def _small(nm: float) -> str:
    return wording.newton_metres(nm, 2 if nm >= 0.01 else 4)


def bending_text(at: ShaftAtAngle, factor: float) -> tuple[str, str, str]:
    """Return the heading of the bending line, its figure, and how much it is exaggerated."""
    figure = f"{wording.millimetres(at.most_mm, 3)} at z {wording.number(at.most_z_mm, 0)}"
    return "Bending", figure, f"drawn {factor:,.0f} times"
