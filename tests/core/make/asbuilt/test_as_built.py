"""Lags and play from made-up measurements whose truth is known."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.judge.report import QUICK, examine
from shaftscore.kinematics.motion.states import StateInterval, level_intervals
from shaftscore.make.asbuilt import correct_as_built, estimate, read_rows
from shaftscore.make.asbuilt.expected import EDGES, measurable_edges, with_measured
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore.model.project import Measured
from shaftscore.solution import LaneSolution, Solution
from tests.app.machines import as_bytes, gates_file

LAGS = {"left": 1.7, "right": -2.3, "flap": 0.4}
PLAY = 1.2


def solved(turns: int = 1, **offsets: float) -> Solution:
    """Solve the gates; offsets: offset_deg by lane."""
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    for lane in file["lanes"]:
        lane["offset_deg"] = offsets.get(lane["id"], 0.0)
    # apart, so that each lane has a motion
    file["lanes"][1]["blocks"][0] |= {"start_deg": 170.0, "end_deg": 182.0}
    file["lanes"][1]["blocks"][1] |= {"start_deg": 215.0, "end_deg": 500.0}
    return examine(read_project(as_bytes(file), "x"), stage=QUICK).solution


@cache
def intervals_of(one: LaneSolution, level: str) -> tuple[StateInterval, ...]:
    assert one.motion is not None
    return tuple(level_intervals(one.lane, one.motion, level))


def measured(
    solution: Solution,
    lags: dict[str, float],
    play: float,
    *,
    noise: float = 0.0,
    seed: int = 1,
    senses: tuple[str, ...] = ("forward", "backward"),
) -> list[Measured]:
    """Measure every edge of every level in each sense on a machine with these lags and this play."""
    chance, rows = np.random.default_rng(seed), []
    for lane_id, lag in lags.items():
        one = solution.lanes[lane_id]
        assert one.motion is not None
        for level in one.lane.levels:
            for interval in intervals_of(one, level):
                for edge, at in (("begin", interval.span.start), ("end", interval.span.end)):
                    for sense in senses:
                        reading = at + lag - (play if sense == "backward" else 0.0)
                        reading += noise * chance.standard_normal()
                        rows.append(
                            Measured(
                                lane=lane_id, level=level, edge=edge, angle_deg=wrap(reading), sense=sense
                            )
                        )
    return rows


@pytest.mark.parametrize("turns", [1, 3])
def test_exact_readings_give_lags_and_play_back(turns: int) -> None:
    solution = solved(turns)
    found = estimate(solution, measured(solution, LAGS, PLAY))
    assert {lane.lane_id: lane.lag_deg for lane in found.lanes} == pytest.approx(LAGS, abs=1e-7)
    assert found.stacks[0].play_deg == pytest.approx(PLAY, abs=1e-7)
    assert all(lane.u_deg == pytest.approx(0.0, abs=1e-6) for lane in found.lanes)


NOISE = 0.3


@pytest.mark.parametrize("seed", range(20))
def test_noisy_readings_are_right_within_four_sigma(seed: int) -> None:
    """Sigma of the scatter that was put in: errors then follow a normal law (6e-5 lie beyond 4)."""
    solution = solved(3)
    found = estimate(solution, measured(solution, LAGS, PLAY, noise=NOISE, seed=seed))
    (stack,) = found.stacks
    assert stack.scatter_deg is not None
    known = NOISE / stack.scatter_deg
    for lane in found.lanes:
        assert lane.u_deg is not None
        assert abs(lane.lag_deg - LAGS[lane.lane_id]) < 4 * known * lane.u_deg
    assert stack.play_deg is not None
    assert stack.u_deg is not None
    assert abs(stack.play_deg - PLAY) < 4 * known * stack.u_deg


def test_errors_over_their_uncertainties_follow_students_law() -> None:
    """32 rows less 4 unknowns: variance 28 / 26 (a textbook property of Student's law)."""
    solution = solved(3)
    errors = []
    for seed in range(500):
        found = estimate(solution, measured(solution, LAGS, PLAY, noise=NOISE, seed=seed))
        errors.append([(lane.lag_deg - LAGS[lane.lane_id]) / (lane.u_deg or 0.0) for lane in found.lanes])
    over = np.array(errors)
    assert np.std(over) == pytest.approx((28 / 26) ** 0.5, rel=0.08)  # 500 runs: 3 % each lane
    assert np.all(np.abs(np.mean(over, axis=0)) < 4 * 1.04 / 500**0.5)


def test_uncertainties_are_those_of_many_repeated_measurements() -> None:
    """The spread of 400 estimates is the mean standard uncertainty of one, within its own scatter."""
    solution = solved()
    runs = [estimate(solution, measured(solution, LAGS, PLAY, noise=0.3, seed=n)) for n in range(400)]
    plays = np.array([run.stacks[0].play_deg for run in runs])
    told = np.sqrt(np.mean([run.stacks[0].u_deg ** 2 for run in runs]))  # type: ignore[operator]
    assert np.std(plays) == pytest.approx(told, rel=0.15)  # four times 1 / sqrt(2 x 400)
    lags = np.array([run.lanes[0].lag_deg for run in runs])
    told = np.sqrt(np.mean([run.lanes[0].u_deg ** 2 for run in runs]))  # type: ignore[operator]
    assert np.std(lags) == pytest.approx(told, rel=0.15)


def test_two_rows_of_one_edge_agree_with_mean_and_difference() -> None:
    """One edge four times, done by hand: 10.0, 10.2 forward and 9.1, 8.9 backward of an edge at 9.5."""
    solution = solved()
    one = solution.lanes["left"]
    assert one.motion is not None
    at = level_intervals(one.lane, one.motion, "open")[0].span.start
    rows = [
        Measured(lane="left", level="open", edge="begin", angle_deg=at + by, sense=sense)
        for by, sense in ((0.5, "forward"), (0.7, "forward"), (-0.4, "backward"), (-0.6, "backward"))
    ]
    found = estimate(solution, rows)
    assert found.lanes[0].lag_deg == pytest.approx(0.6)
    assert found.stacks[0].play_deg == pytest.approx(1.1)
    # s² = 4 x 0.1² / (4 - 2); u(lag) = s / sqrt 2; u(play) = s
    assert found.stacks[0].scatter_deg == pytest.approx(0.02**0.5)
    assert found.lanes[0].u_deg == pytest.approx(0.1)
    assert found.stacks[0].u_deg == pytest.approx(0.02**0.5)


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_a_positive_offset_brings_the_lane_later(turn: str) -> None:
    """Geometry: with the stack at theta + offset, the disc's point for theta stands before the follower."""
    file = gates_file(shaft={"turn": turn, "speed_rpm": 6.0})
    file["lanes"][0] |= {"offset_deg": 2.0, "station_deg": 30.0}
    profile = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution.lanes["left"].profile
    assert profile is not None
    theta = np.linspace(0.0, 359.0, 60)
    disc = profile.at(theta)
    stands = disc.pitch * np.exp(1j * profile.direction * np.radians(theta + 2.0))
    wanted = profile.model.centre(disc.lift[0])[0] * np.exp(1j * np.radians(30.0))
    assert np.max(np.abs(stands - wanted)) < 1e-9


@pytest.mark.parametrize("turns", [1, 3])
def test_the_corrected_machine_runs_the_program(turns: int) -> None:
    """Discs made at an offset come later by it and by what is wrong with them; then all is right."""
    offsets = {"left": 3.0, "right": -1.0, "flap": 0.0}
    wrong = {"left": 0.8, "right": 1.5, "flap": -2.0}
    before = solved(turns, **offsets)
    late = {lane: offsets[lane] + wrong[lane] for lane in wrong}
    edited = correct_as_built(before.project, estimate(before, measured(before, late, PLAY)))
    for lane_id, error in wrong.items():  # what is wrong with a disc stays; its offset is what changes
        assert edited.project.lane(lane_id).offset_deg + error == pytest.approx(0.0, abs=1e-3)
    assert edited.project.stacks[0].backlash_deg == pytest.approx(PLAY, abs=1e-3)
    assert edited.project.measured == ()
    assert edited.name == "Correct from measurements"


def test_a_play_under_nothing_is_written_as_nothing() -> None:
    solution = solved()
    edited = correct_as_built(solution.project, estimate(solution, measured(solution, LAGS, -0.2)))
    assert edited.project.stacks[0].backlash_deg == 0.0


def test_a_play_that_no_train_has_is_refused() -> None:
    solution = solved()
    at = solution.lanes["left"].states["open"][0].span.start
    rows = [
        Measured(lane="left", level="open", edge="begin", angle_deg=wrap(at + by), sense=sense)
        for by, sense in ((0.0, "forward"), (-100.0, "backward"))
    ]
    with pytest.raises(EditError, match=r"play of 100\.0° cannot be"):
        correct_as_built(solution.project, estimate(solution, rows))


def test_forward_rows_alone_tell_lags_but_no_play() -> None:
    solution = solved()
    found = estimate(solution, measured(solution, LAGS, PLAY, senses=("forward",)))
    assert {lane.lane_id: lane.lag_deg for lane in found.lanes} == pytest.approx(LAGS, abs=1e-7)
    assert found.stacks[0].play_deg is None
    corrected = correct_as_built(solution.project, found).project
    assert corrected.stacks[0].backlash_deg == solution.project.stacks[0].backlash_deg


def test_one_lane_in_both_senses_serves_the_others_of_its_stack() -> None:
    solution = solved()
    rows = measured(solution, {"left": LAGS["left"]}, PLAY)
    rows += measured(solution, {"flap": LAGS["flap"]}, PLAY, senses=("backward",))
    found = estimate(solution, rows)
    assert {lane.lane_id: lane.lag_deg for lane in found.lanes} == pytest.approx(
        {"left": LAGS["left"], "flap": LAGS["flap"]}, abs=1e-7
    )


def test_backward_rows_alone_cannot_tell_lag_from_play() -> None:
    solution = solved()
    with pytest.raises(EditError, match=r"Left on main: turned backward only.*measure one edge forward"):
        estimate(solution, measured(solution, {"left": 1.0}, PLAY, senses=("backward",)))


def test_as_many_rows_as_unknowns_leave_no_uncertainty() -> None:
    solution = solved()
    row = measured(solution, {"left": 1.0}, 0.0, senses=("forward",))[:1]
    (lane,) = estimate(solution, row).lanes
    assert (lane.lag_deg, lane.u_deg, lane.rows) == (pytest.approx(1.0), None, 1)


def test_a_row_belongs_to_the_nearest_edge_also_through_zero() -> None:
    """Shut ends at 30 degrees and begins again before 360: a reading of 0.5 is late for the begin."""
    solution = solved()
    one = solution.lanes["flap"]
    assert one.motion is not None
    begins = [i.span.start for i in level_intervals(one.lane, one.motion, "shut")]
    late = 365.0 - begins[0]
    row = Measured(lane="flap", level="shut", edge="begin", angle_deg=5.0, sense="forward")
    assert estimate(solution, [row]).lanes[0].lag_deg == pytest.approx(late)


def test_all_bad_rows_are_told_together() -> None:
    solution = solved()
    bad = [
        Measured(lane="left", level="opne", edge="begin", angle_deg=1.0, sense="forward"),
        Measured(lane="nobody", level="open", edge="end", angle_deg=1.0, sense="forward"),
    ]
    wanted = r'row 1: Left has no level "opne" \(it has [a-z, ]+\); row 2: there is no lane "nobody"'
    with pytest.raises(EditError, match=wanted):
        estimate(solution, bad)
    with pytest.raises(EditError, match="nothing was measured yet"):
        estimate(solution, [])


def test_rows_are_read_as_a_spreadsheet_copies_them() -> None:
    project: Project = solved().project
    head = "Lane\tLevel\tEdge\tAngle\tSense"
    text = f"{head}\nLeft\topen\tbegin\t120,5\tforward\n\nA2\tclosed\tEnd\t95°\tBackward\t\n"
    assert [row.model_dump() for row in read_rows(project, text)] == [
        {"lane": "left", "level": "open", "edge": "begin", "angle_deg": 120.5, "sense": "forward"},
        {"lane": "right", "level": "closed", "edge": "end", "angle_deg": 95.0, "sense": "backward"},
    ]


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("Lefd\topen\tbegin\t1\tforward", 'line 1: there is no lane "Lefd"'),
        ("Left\topen\tbegin\t1", "line 1: has 4 columns; 5 are required: lane, level, edge, angle, sense"),
        ("Left\topne\tbegin\t1\tforward", 'line 1: level "opne" is not one of'),
        ("Left\topen\tmiddle\t1\tforward", 'line 1: edge "middle" is not one of begin, end'),
        ("Left\topen\tend\t360\tforward", "line 1: angle 360° is not 0° to under 360°"),
        ("Left\topen\tend\tten\tforward", 'line 1: "ten"'),
        ("Left\topen\tend\t1\tsideways", 'line 1: sense "sideways" is not one of forward, backward'),
    ],
)
def test_a_line_that_cannot_be_read_says_why(line: str, wanted: str) -> None:
    with pytest.raises(EditError, match="^" + re.escape(wanted)):
        read_rows(solved().project, line)


def test_every_edge_can_be_measured_in_the_order_of_the_turn() -> None:
    """Two gates and a flap: each dwell but the guarded middle one begins and ends once in a turn."""
    solution = solved()
    edges = measurable_edges(solution)
    angles = [edge.expected_deg for edge in edges]
    assert angles == sorted(angles)
    assert all(0 <= deg < 360 for deg in angles)
    flap = [(edge.level, edge.edge) for edge in edges if edge.lane_id == "flap"]
    assert sorted(flap) == sorted(
        [
            *[("cup", "begin"), ("cup", "end")] * 2,
            *(("shut", e) for e in EDGES),
            *(("tray", e) for e in EDGES),
        ]
    )
    begins = [e.expected_deg for e in edges if (e.lane_id, e.level, e.edge) == ("left", "open", "begin")]
    (span,) = (interval.span for interval in intervals_of(solution.lanes["left"], "open"))
    assert begins == [pytest.approx(span.start)]


def test_measured_rows_are_shown_at_the_nearest_edge_like_them() -> None:
    solution = solved()
    edges = measurable_edges(solution)
    first = next(edge for edge in edges if (edge.lane_id, edge.level, edge.edge) == ("left", "open", "end"))
    rows = [
        Measured(lane="left", level="open", edge="end", angle_deg=first.expected_deg + 1.0, sense=sense)
        for sense in ("forward", "backward")
    ]
    shown = with_measured(edges, rows)
    place = shown.index(next(edge for edge in shown if edge.measured is not None))
    assert [edge.measured for edge in shown[place : place + 2]] == rows
    assert {edge.expected_deg for edge in shown[place : place + 2]} == {first.expected_deg}
    assert len(shown) == len(edges) + 1
