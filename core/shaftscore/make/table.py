"""One lane as a table: motion, pressure angle, pitch curve, profile and loads by the stack's angle.

`theta_deg` is the angle of the lane's own stack, at the nominal speed; at steps the value just after
them. s, v, a, j are of the output. Points are in the disc's frame; curvature is of the profile, convex
positive; the pressure angle is positive where the contact force leans with the surface's movement, as
on a rise. `torque_nm` is at the lane's own stack, with the strongest spring and the most
friction. What is not computed, or not finite, is an empty cell.

The table of one cycle goes by the angle of the master in it: `cycle` and `master_deg` come first, and a lane
on a slow or stepped stack moves as it does then.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN
from shaftscore.base.errors import ShaftscoreError
from shaftscore.base.wording import counted
from shaftscore.judge.loads import LaneLoads, lane_loads
from shaftscore.judge.loads.cases import TORQUE
from shaftscore.judge.loads.stepped import stepped_loads
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, solve
from shaftscore.solution.cycles import circle_deg, motion_at

Columns = dict[str, npt.NDArray[np.float64] | None]
"""Values (n,) by column; None where they are not computed."""

COLUMNS = (
    "theta_deg",
    "s_mm",
    "v_mm_s",
    "a_mm_s2",
    "j_mm_s3",
    "pressure_angle_deg",
    "pitch_x_mm",
    "pitch_y_mm",
    "profile_x_mm",
    "profile_y_mm",
    "radius_mm",
    "curvature_1_mm",
    "contact_n",
    "torque_nm",
)
"""Heads of the columns, in their order."""

CYCLE_COLUMNS = ("cycle", "master_deg")
"""Heads of the columns that come first in the table of one cycle."""

DIGITS = 9
"""Decimals of a cell at most."""

MOST_ROWS = 1_000_000
"""Rows of a table at most."""


class TableError(ShaftscoreError, ValueError):
    """A table that cannot be made, with the reason."""


def angles(every_deg: float) -> npt.NDArray[np.float64]:
    """Return 0, every, 2 every, ... under 360 degrees: (n,).

    Raises TableError if `every_deg` is not a finite number over 0, or gives over `MOST_ROWS` rows.
    """
    if not math.isfinite(every_deg) or every_deg <= 0:
        raise TableError(f"the step of a table is greater than 0 degrees, got {every_deg!r}")
    count = TURN / every_deg
    if count > MOST_ROWS:
        raise TableError(f"a step of {every_deg!r} degrees makes over {MOST_ROWS} rows")
    return np.arange(math.ceil(count - 1e-9), dtype=np.float64) * np.float64(every_deg)


def columns(lane: LaneSolution, theta_deg: npt.NDArray[np.float64]) -> Columns:
    """Return each column at the angles: (n,), or None where it is not computed.

    Raises TableError if the lane has no motion.
    """
    if lane.motion is None:
        raise TableError(f"{lane.lane.label} has no motion: its findings say why")
    if lane.course.is_stepped:
        raise TableError(
            f"the stack of {lane.lane.label} is stepped: its speed depends on the cycle; name one"
        )
    omega = math.radians(lane.deg_per_s)
    scale = omega ** np.arange(4)
    table: Columns = dict.fromkeys(COLUMNS)
    table["theta_deg"] = theta_deg
    table |= dict(zip(COLUMNS[1:5], lane.motion.at(theta_deg) * scale[:, None], strict=True))
    return table | _disc(lane, theta_deg)


def _disc(lane: LaneSolution, theta_deg: npt.NDArray[np.float64]) -> Columns:
    if lane.profile is None:
        return {}
    at = lane.profile.at(theta_deg)
    return {
        "pressure_angle_deg": at.pressure_deg,
        "pitch_x_mm": at.pitch.real,
        "pitch_y_mm": at.pitch.imag,
        "profile_x_mm": at.profile.real,
        "profile_y_mm": at.profile.imag,
        "radius_mm": at.distance_mm,
        "curvature_1_mm": at.curvature,
    }


def rows(table: Columns) -> Iterator[list[str]]:
    """Yield the heads, then a row an angle, as text."""
    heads = [head for head in (*CYCLE_COLUMNS, *COLUMNS) if head in table]
    yield heads
    cells = [_cells(table[head], _count(table)) for head in heads]
    yield from (list(row) for row in zip(*cells, strict=True))


def _count(table: Columns) -> int:
    theta = table["theta_deg"]
    return 0 if theta is None else len(theta)


def _cells(values: npt.NDArray[np.float64] | None, count: int) -> list[str]:
    return [""] * count if values is None else [cell(float(value)) for value in values]


def cell(value: float) -> str:
    """Write one value in any unit: ASCII, at most 9 decimals, no exponent, empty where it is not finite."""
    if not math.isfinite(value):
        return ""
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def lane_table(project: Project, lane_id: str, theta_deg: npt.NDArray[np.float64]) -> Iterator[list[str]]:
    """Solve one lane and yield its table at angles of its stack, (n,) degrees, heads first.

    Raises KeyError for an unknown lane, TableError if it has no motion.
    """
    lane = solve(project, lanes=(lane_id,)).lanes[lane_id]
    yield from rows(columns(lane, theta_deg) | _loads(lane_loads(project, lane), theta_deg))


def cycle_table(
    project: Project, lane_id: str, cycle: int, master_deg: npt.NDArray[np.float64]
) -> Iterator[list[str]]:
    """Solve one lane and yield its table in one cycle, from 1, at angles of the master, (n,), heads first.

    Raises KeyError for an unknown lane, TableError if it has no motion, or the machine repeats before.
    """
    if not 1 <= cycle <= project.period:
        most = counted(project.period, "cycle")
        raise TableError(f"there is no cycle {cycle}: the machine repeats after {most}")
    lane = solve(project, lanes=(lane_id,)).lanes[lane_id]
    if lane.motion is None:
        raise TableError(f"{lane.lane.label} has no motion: its findings say why")
    circle = circle_deg(lane, cycle, master_deg)
    own, values = motion_at(lane, circle)
    table: Columns = {"cycle": np.full(len(own), float(cycle)), "master_deg": master_deg}
    table |= dict.fromkeys(COLUMNS) | {"theta_deg": own} | dict(zip(COLUMNS[1:5], values, strict=True))
    yield from rows(table | _disc(lane, own) | _loads_in(project, lane, own, circle))


def _loads_in(
    project: Project, lane: LaneSolution, own: npt.NDArray[np.float64], circle: npt.NDArray[np.float64]
) -> Columns:
    """Return contact force and torque at the nominal speed, (n,); on a stepped stack those in its steps."""
    stepped = stepped_loads(project, (lane,)).get(lane.lane.id)
    if stepped is None:
        return _loads(lane_loads(project, lane), own)
    forces = stepped.forces(circle, stepped.lane.speed_rpm)
    torque = stepped.forces(circle, stepped.lane.speed_rpm, TORQUE).stack_torque_nm
    return {"contact_n": forces.contact_n, "torque_nm": torque}


def _loads(loads: LaneLoads | None, theta_deg: npt.NDArray[np.float64]) -> Columns:
    """Return contact force and torque at the nominal speed, for a lane with a load record."""
    if loads is None:
        return {}
    forces = loads.forces(theta_deg, loads.speed_rpm)
    torque = loads.forces(theta_deg, loads.speed_rpm, case=TORQUE).torque_nm
    return {"contact_n": forces.contact_n, "torque_nm": torque}
