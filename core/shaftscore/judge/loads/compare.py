"""Every law for one lane, side by side, and which to take.

The lane is really solved with each law on all of its moves (drops keep theirs), so that every figure is
that of the machine: peaks at the nominal speed, pressure angle and base radius of the disc that results,
torque and highest speed of its loads.

The recommendation: laws that do not work or that break a limit are left out; then those with a step in
velocity, then those with a step in acceleration, as long as any others are left. Of the rest the smallest
disc wins where the base radius is automatic, else the least used limit (pressure angle, speed, contact
pressure); within `ALIKE` of it the lowest acceleration.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, get_args

import numpy as np

from shaftscore.base import wording
from shaftscore.base.tolerance import over, under
from shaftscore.edits.laws import use_law
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import LawName, Project
from shaftscore.solution import LaneSolution, solve

NAMES: tuple[LawName, ...] = tuple(name for name in get_args(LawName) if name in LAWS)
"""Laws with a fixed curve, by name."""

ALIKE = 1.02
"""Figures within this factor of the best count as alike."""


@dataclass(frozen=True, eq=False)
class LawRow:
    """One law on one lane, at the nominal speed.

    why_not: why the lane does not work with it, empty where it does. velocity mm/s, acceleration mm/s² and
    jerk mm/s³ are peaks; inf where the quantity above steps. pressure_deg: largest pressure angle, as the
    share pressure_used of its limit. top_rpm: highest speed of the master shaft at which contact holds, inf
    where any does; None without a load. torque_nm: peak at the lane's stack.
    stress_used: contact pressure as a share of what the weaker material withstands. Where the guide locks the
    follower torque and stress are inf and the speed 0. solved: the lane with this law.
    """

    law: LawName
    title: str
    why_not: str = ""
    velocity: float = np.nan
    acceleration: float = np.nan
    jerk: float = np.nan
    base_radius_mm: float = np.nan
    pressure_deg: float = np.nan
    pressure_used: float = np.nan
    undercut: bool = False
    torque_nm: float | None = None
    top_rpm: float | None = None
    stress_used: float | None = None
    solved: LaneSolution | None = None

    @property
    def steps(self) -> int:
        """2 where velocity steps, 1 where acceleration does, else 0."""
        return 2 if np.isinf(self.acceleration) else 1 if np.isinf(self.jerk) else 0


@dataclass(frozen=True, eq=False)
class LawComparison:
    """All laws on one lane; recommended: None where none works, with the reason in any case."""

    lane_id: str
    rows: tuple[LawRow, ...]
    speed_rpm: float
    recommended: LawName | None
    reason: str

    def row(self, law: str) -> LawRow:
        """Return a law's row; raises KeyError for an unknown law."""
        found: dict[str, LawRow] = {row.law: row for row in self.rows}
        return found[law]


def compare_laws(project: Project, lane_id: str) -> LawComparison:
    """Solve a lane with every law; raises EditError if it has no blocks or there is no such lane."""
    rows = tuple(_row(project, lane_id, name) for name in NAMES)
    speed = project.shaft.top_speed_rpm
    auto = project.lane(lane_id).disc.base_radius_mm == "auto"
    chosen, reason = _recommended(rows, speed, auto=auto)
    return LawComparison(lane_id, rows, speed, chosen, reason)


def _row(project: Project, lane_id: str, name: LawName) -> LawRow:
    title = LAWS[name].title[:1].upper() + LAWS[name].title[1:]
    changed = use_law(project, lane_id, name).project
    solved = solve(changed, lanes={lane_id}).lanes[lane_id]
    motion, profile = solved.motion, solved.profile
    if motion is None or profile is None:
        none = solved.no_profile or solved.no_motion
        return LawRow(name, title, (none.what if none else "") or "no time to move", solved=solved)
    return LawRow(
        name,
        title,
        solved=solved,
        **_peaks(solved, motion),
        **_shape(profile),
        **_loaded(lane_loads(changed, solved)),
    )


def _peaks(solved: LaneSolution, motion: LaneMotion) -> dict[str, Any]:
    """Return the peaks in time; a step makes the next derivative infinite."""
    per_s = float(np.radians(solved.deg_per_s))
    extremes = motion.extremes()
    corner, step = bool(motion.velocity_jumps()), bool(motion.acceleration_jumps())
    return {
        "velocity": extremes.velocity.value * per_s,
        "acceleration": np.inf if corner else extremes.acceleration.value * per_s**2,
        "jerk": np.inf if corner or step else extremes.jerk.value * per_s**3,
    }


def _shape(profile: Profile) -> dict[str, Any]:
    used = [place.value / place.limit for place in profile.steep_places if place.limit > 0]
    return {
        "base_radius_mm": profile.base_radius_mm,
        "pressure_deg": profile.max_pressure_angle_deg,
        "pressure_used": max(used, default=0.0),
        "undercut": bool(profile.undercuts()),
    }


def _loaded(loads: LaneLoads | None) -> dict[str, Any]:
    if loads is None:
        return {}
    grip = loads.least_grip
    if grip is not None and grip.value <= 0:
        return {"torque_nm": np.inf, "top_rpm": 0.0, "stress_used": np.inf}
    torque, pressure, limit = loads.peak_torque, loads.peak_pressure, loads.float_speed
    return {
        "torque_nm": torque.value if torque else 0.0,
        "top_rpm": limit.value if limit else np.inf,
        "stress_used": pressure.value / loads.allowed_mpa if pressure else 0.0,
    }


def _breaks(row: LawRow, speed: float) -> bool:
    """Return whether a law breaks a limit of the lane."""
    floats = row.top_rpm is not None and under(row.top_rpm, speed, speed)
    stress = row.stress_used is not None and over(row.stress_used, 1.0)
    return row.undercut or over(row.pressure_used, 1.0) or floats or stress


def _worst_use(row: LawRow, speed: float) -> float:
    """Return the largest share of its limits that a law uses."""
    shares = [row.pressure_used, row.stress_used or 0.0]
    if row.top_rpm is not None:
        shares.append(speed / row.top_rpm if row.top_rpm > 0 else np.inf)
    return max(shares)


def _recommended(rows: Iterable[LawRow], speed: float, *, auto: bool) -> tuple[LawName | None, str]:
    """Choose a law and say why, in one sentence."""
    everything = tuple(rows)
    works = [row for row in everything if not row.why_not]
    if not works:
        return None, f"No law works: {everything[0].why_not}."
    if all(np.isinf(_worst_use(row, speed)) for row in works):
        return (
            None,
            "No law helps: under each of them the guide locks the follower, or contact is lost at rest.",
        )
    left, dropped = works, []
    if len(works) < len(everything):
        dropped.append(f"{wording.counted(len(everything) - len(works), 'law')} without a disc")
    sieves: tuple[tuple[str, Callable[[LawRow], bool]], ...] = (
        ("over a limit", lambda row: not _breaks(row, speed)),
        ("with a step in velocity", lambda row: row.steps < 2),
        ("with a step in acceleration", lambda row: row.steps < 1),
    )
    for what, keep in sieves:
        kept = [row for row in left if keep(row)]
        if kept and len(kept) < len(left):
            dropped.append(f"{wording.counted(len(left) - len(kept), 'law')} {what}")
        left = kept or left
    best, why = _smallest_disc(left) if auto else _least_used(left, speed)
    broken = "" if not _breaks(best, speed) else " No law keeps all limits; this one is nearest."
    out = f" Left out: {wording.listed(dropped)}." if dropped else ""
    return best.law, f"{best.title}: {why}.{out}{broken}"


def _smallest_disc(rows: list[LawRow]) -> tuple[LawRow, str]:
    least = min(row.base_radius_mm for row in rows)
    alike = [row for row in rows if row.base_radius_mm <= ALIKE * least]
    best = min(alike, key=lambda row: row.acceleration)
    return best, f"the smallest disc, base radius {wording.millimetres(best.base_radius_mm)}" + _gentlest(
        alike
    )


def _least_used(rows: list[LawRow], speed: float) -> tuple[LawRow, str]:
    least = min(_worst_use(row, speed) for row in rows)
    alike = [row for row in rows if _worst_use(row, speed) <= ALIKE * least]
    best = min(alike, key=lambda row: row.acceleration)
    share = wording.percent(100 * _worst_use(best, speed))
    return best, f"its limits are used least, {share}" + _gentlest(alike)


def _gentlest(alike: list[LawRow]) -> str:
    return " and the lowest acceleration among its like" if len(alike) > 1 else ""
