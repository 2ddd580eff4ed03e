"""Indexing and pressing: a published timing diagram without overlap, then with it, as a user writes both.

Source: mechanical-design-handbook.blogspot.com, "Timing diagram", part 1 (no overlap) and part 2 (maximum
overlap), November 2009. An indexing mill steps 100 mm in 150 degrees by a cycloid, a die moves 50 mm by
a cycloid and rests 100 degrees at the bottom; 2000 pieces an hour. Without overlap each waits for the
other: 55 degrees are left for each move of the die. With twice the angle its acceleration is a quarter.

The ranges of the rule with overlap are ours, since the source gives no side clearance: the die is among the
pieces below 30 mm (31 mm of piece less 1 mm), the mill off its stop by more than 1 mm.
"""

from __future__ import annotations

from math import pi, sin

import numpy as np
import pytest
from scipy.optimize import brentq

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import words
from shaftscore.judge.report import QUICK, Report, examine, report_json
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.model import Block, Exclusive, Lane, Project, RangeState, Shaft

RPM = 2000 / 60
STROKE, PITCH = 50.0, 100.0
AMONG_MM, OFF_MM = 30.0, 1.0
STILL_MM = 1e-3
"""What counts as standing, for the rule of the diagram without overlap."""


def apart(die_below_mm: float, mill_off_mm: float) -> Exclusive:
    """Make the rule: the die below a height, and the mill off its stop, never both."""
    return Exclusive(
        kind="exclusive",
        states=(
            RangeState(lane="die", from_mm=0.0, to_mm=die_below_mm),
            RangeState(lane="mill", from_mm=mill_off_mm, to_mm=PITCH - mill_off_mm),
        ),
    )


WAITING = apart(STROKE - STILL_MM, STILL_MM)
SHARING = apart(AMONG_MM, OFF_MM)


def press(die_move_deg: float, *rules: Exclusive) -> Project:
    """Write the machine: the die is down about 0 degrees, the mill steps about 180."""
    die = Lane(
        id="die",
        name="Die",
        levels={"down": 0.0, "up": STROKE},
        law="cycloidal",
        blocks=(
            Block(level="up", start_deg=50.0 + die_move_deg, end_deg=310.0 - die_move_deg),
            Block(level="down", start_deg=310.0, end_deg=410.0),
        ),
    )
    mill = Lane(
        id="mill",
        name="Mill",
        kind="index",
        levels={"stop": 0.0, "next": PITCH},
        law="cycloidal",
        blocks=(Block(level="stop", start_deg=255.0, end_deg=465.0),),
    )
    shaft = Shaft(turn="clockwise", speed_rpm=RPM)
    return Project(format="shaftscore-project", version=2, shaft=shaft, lanes=(die, mill), rules=rules)


def peak(report: Report, lane: str) -> float:
    """Return the peak acceleration that the report tells of a lane, m/s2."""
    lanes = report_json(report)["lanes"]
    assert isinstance(lanes, dict)
    return float(lanes[lane]["peak_acceleration_mm_s2"]) / 1000


def overlaps(report: Report) -> list[str]:
    return [words(f, report.project).what for f in report.findings if f.rule == "overlap"]


def together_deg(project: Project) -> float:
    """Sample the turn, and give for how long die and mill are in each other's way; no rule is asked."""
    theta = np.arange(0.0, 360.0, 0.005)
    solution = examine(project, stage=QUICK).solution
    die, mill = (solution.lanes[lane].motion for lane in ("die", "mill"))
    assert isinstance(die, LaneMotion)
    assert isinstance(mill, LaneMotion)
    off = mill.at(theta)[0]
    clash = (die.at(theta)[0] <= AMONG_MM) & (off >= OFF_MM) & (off <= PITCH - OFF_MM)
    return float(np.count_nonzero(clash)) * 0.005


def reached(share: float) -> float:
    """Solve s = x - sin(2 pi x) / (2 pi), the cycloid, for x by another library."""
    return float(brentq(lambda x: x - sin(2 * pi * x) / (2 * pi) - share, 0.0, 1.0, xtol=1e-12))


def test_without_overlap_each_waits_for_the_other_with_55_degrees_for_the_die() -> None:
    report = examine(press((360 - 150 - 100) / 2, WAITING))
    assert overlaps(report) == []
    seconds = 55 / (6 * RPM)
    assert seconds == pytest.approx(0.275)
    assert peak(report, "die") == pytest.approx(4.15417, abs=5e-6)
    assert peak(report, "mill") == pytest.approx(1.11701, abs=5e-6)
    # A cycloid leaves its rest so flatly that 1 µm lasts some degrees: more than those cannot be taken.
    assert overlaps(examine(press(59, WAITING))) != []


def test_with_overlap_nothing_meets_and_the_acceleration_falls_to_a_quarter() -> None:
    without, overlapped = examine(press(55, WAITING)), examine(press(110, SHARING))
    assert overlaps(overlapped) == []
    assert together_deg(overlapped.project) == 0.0
    assert overlapped.margin is not None
    meets, leaves = 50 + 110 * reached(AMONG_MM / STROKE), 105 + 150 * reached(OFF_MM / PITCH)
    assert overlapped.margin.smallest_deg == pytest.approx(leaves - meets, abs=1e-6)
    assert peak(overlapped, "die") == pytest.approx(1.03854, abs=5e-6)
    assert peak(overlapped, "die") == pytest.approx(2 * pi * 0.05 / 0.55**2, rel=1e-9)
    fall = 1 - peak(overlapped, "die") / peak(without, "die")
    assert f"{100 * fall:.0f} %" == "75 %"
    assert peak(overlapped, "mill") == pytest.approx(peak(without, "mill"))


def test_both_move_at_once_which_the_rule_without_ranges_forbids() -> None:
    solution = examine(press(110, SHARING), stage=QUICK).solution
    moving = [
        motion.stretches([low], [high])[0]
        for lane, low, high in (("die", 0.5, STROKE - 0.5), ("mill", 0.5, PITCH - 0.5))
        if isinstance(motion := solution.lanes[lane].motion, LaneMotion)
    ]
    die, mill = (Arcs.of((s.span.start, s.span.length) for s in one) for one in moving)
    assert (die & mill).length > 50
    assert overlaps(examine(press(110, WAITING))) != []


def test_too_much_overlap_is_told_with_a_cure_that_parts_them() -> None:
    later = press(110, SHARING)
    die = later.lane("die")
    early = apply_edit(later, "stretch_block", ref=_down(die), end_deg=83.0, neighbours="stay").project
    report = examine(early)
    (finding,) = (one for one in report.findings if one.rule == "overlap")
    assert together_deg(early) == pytest.approx(finding.value or 0.0, abs=0.02)
    assert finding.cure is not None
    assert finding.cure.edit is not None
    cured = apply_edit(early, finding.cure.edit, **finding.cure.arguments).project
    assert overlaps(examine(cured)) == []
    assert together_deg(cured) == 0.0


def _down(die: Lane) -> BlockRef:
    return BlockRef("die", next(i for i, block in enumerate(die.blocks) if block.level == "down"))
