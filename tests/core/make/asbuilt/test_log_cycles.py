"""Logs of slow and stepped stacks: the right cycle of each, against a counter of whole numbers.

The machine has the master, a stack that a Geneva wheel of 10 slots steps once a cycle, and a slow stack of 7
cycles. A digit is counted by whole numbers here; within a step the wheel turns by the closed form
atan2(lambda sin t, 1 - lambda cos t), lambda = sin(pi / n) (textbook formula, from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from shaftscore.base.errors import EditError
from shaftscore.make.asbuilt import estimate, read_log
from shaftscore.solution import Solution, solve
from tests.core.test_counting import GENEVA, made


def _wheel_deg(master_deg: float) -> float:
    """Return the wheel's angle by whole steps and the closed form; a step is centred 72° after 180°."""
    slots = 10
    half = 90.0 - 180.0 / slots
    step, at = divmod(master_deg - 180.0, 360.0)
    if at >= 2 * half:
        return 36.0 * (step + 1)
    lam, t = math.sin(math.pi / slots), math.radians(at - half)
    return 36.0 * step + 18.0 + math.degrees(math.atan2(lam * math.sin(t), 1 - lam * math.cos(t)))


def _solution() -> Solution:
    digit = [
        {"level": "on", "start_deg": 96, "end_deg": 174},
        {"level": "off", "start_deg": 204, "end_deg": 408},
    ]
    slow = [
        {"level": "on", "start_deg": 20, "end_deg": 95},
        {"level": "off", "start_deg": 120, "end_deg": 350},
    ]
    lanes = [
        {"id": name, "stack": stack, "levels": {"off": 0, "on": 6}, "blocks": blocks}
        for name, stack, blocks in (("digit", "ones", digit), ("week", "slow", slow))
    ]
    stages = GENEVA | {"stack": "main", "start_deg": 180, "slots": 10}
    stacks = [{"id": "main"}, {"id": "ones", "steps_from": stages}, {"id": "slow", "cycles": 7}]
    return solve(made(stacks, lanes))


SOLUTION = _solution()


def _logged(first: int, cycles: float, *, late_deg: float = 0.0, lanes: str = "digit week") -> str:
    """Write a log that starts in a cycle, from 1, at 5° of the master; late: the slow stack."""
    rows = ["angle," + ",".join(f"{name} on" for name in lanes.split())]
    for run in np.arange(5.0, 360.0 * cycles, 2.0):
        master = run + 360.0 * (first - 1)
        own = {"digit": _wheel_deg(master), "week": master / 7 - late_deg}
        values = []
        for name in lanes.split():
            solved = SOLUTION.lanes[name]
            assert solved.motion is not None
            output = float(solved.motion.at(np.array([own[name] % 360.0]))[0, 0])
            values.append("5.0" if abs(output - 6.0) <= solved.lane.band else "0.0")
        rows.append(f"{run % 360:.3f}," + ",".join(values))
    return "\n".join(rows)


def test_a_log_that_starts_in_any_cycle_is_read_in_the_right_one() -> None:
    """From cycle 53: 52 % 10 = 2 for the digit, 52 % 7 = 3 for the slow stack; 14 cycles hold both rounds."""
    found = read_log(SOLUTION, _logged(53, 14, late_deg=1.5))
    lags = {lane.lane_id: lane.lag_deg for lane in estimate(SOLUTION, found.rows).lanes}
    assert lags["week"] == pytest.approx(1.5, abs=0.3)
    assert lags["digit"] == pytest.approx(0.0, abs=0.6)
    begins = [
        place
        for place, row in zip(found.places, found.rows, strict=True)
        if row.lane == "week" and row.edge == "begin"
    ]
    # it is on at 20° and a little before, 1.5° late: own angle / 360 * 7 is within cycle 1
    assert begins
    assert all(place.startswith("cycle 1, ") for place in begins)
    assert any("week on: on" in note and "cycle 1, " in note for note in found.notes)


def test_edges_of_a_stepped_stack_are_in_the_cycle_that_counts_to_them() -> None:
    """The digit comes on before 96° of the wheel: in the third step, 72° to 108°, of cycle 3."""
    found = read_log(SOLUTION, _logged(1, 12))
    (first, *_) = [
        (place, row)
        for place, row in zip(found.places, found.rows, strict=True)
        if row.lane == "digit" and row.edge == "begin"
    ]
    place, row = first
    assert place.startswith("cycle 3, ")
    master = 720.0 + float(place.removeprefix("cycle 3, ").removesuffix("°"))
    assert row.angle_deg == pytest.approx(_wheel_deg(master), abs=0.2)
    assert 72.0 < row.angle_deg < 96.0


def test_a_log_too_short_to_tell_the_cycle_says_so() -> None:
    """Nothing of either lane changes in the first half of a cycle in which both rest."""
    with pytest.raises(EditError) as caught:
        read_log(SOLUTION, _logged(7, 0.4))
    assert "digit on does not change in the 0.4 cycles of the log" in str(caught.value)
    assert "repeats after 10 cycles" in str(caught.value)


def test_cycles_that_fit_alike_are_not_guessed_at() -> None:
    """A lane that is on twice in its round alike: half a round of it may be either half."""
    twice = [
        {"level": "on", "start_deg": start, "end_deg": start + 60}
        for start in (30, 210)
    ] + [{"level": "off", "start_deg": start, "end_deg": start + 60} for start in (120, 300)]  # fmt: skip
    twice.sort(key=lambda block: block["start_deg"])  # type: ignore[arg-type,return-value]
    lane = {"id": "week", "stack": "slow", "levels": {"off": 0, "on": 6}, "blocks": twice}
    solution = solve(made([{"id": "main"}, {"id": "slow", "cycles": 8}], [lane]))
    solved = solution.lanes["week"]
    assert solved.motion is not None
    angles = np.arange(0.0, 360.0 * 8, 2.0)
    output = solved.motion.at(angles / 8)[0]
    values = np.abs(output - 6.0) <= solved.lane.band
    lines = [f"{a % 360:.1f},{int(v)}" for a, v in zip(angles, values, strict=True)]
    with pytest.raises(EditError, match=r"2 first cycles fit it alike. Log more cycles."):
        read_log(solution, "\n".join(["angle,week on", *lines]))
