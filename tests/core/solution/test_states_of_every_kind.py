"""States of every kind of lane, as rules, gates and `check` see them: one set of properties for all kinds.

What a level or a range is comes from the file alone (format sections 3 and 4); where a rider is comes from
the place of the disc under it: the place under a follower at psi is psi - d theta (format section 2).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import ahead
from shaftscore.base.errors import ProjectError
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.free_zones import free_zones
from shaftscore.judge.report import examine
from shaftscore.judge.report.json_object import report_json
from shaftscore.judge.spread import find_spread
from shaftscore.model import (
    Channel,
    Flow,
    Gate,
    Lane,
    LevelState,
    Magazine,
    MotionPoint,
    Outlet,
    Project,
    RangeState,
    Stack,
    Supply,
)
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from shaftscore.solution import Solution, solve
from tests.core.kinematics.motion.making import LEVELS, any_lane, block, lane
from tests.machines import at, exclusive, gate, machine, order, requires, within

Reals = npt.NDArray[np.float64]
PITCH = max(LEVELS.values())


def _table(draw: st.DrawFn) -> Lane:
    angles = sorted(draw(st.sets(st.integers(0, 35), min_size=3, max_size=8)))
    outputs = [draw(st.sampled_from((0.0, 2.0, 4.0, 8.0, 15.0))) for _ in angles]
    points = tuple(
        MotionPoint(theta_deg=10.0 * deg, output_mm=mm) for deg, mm in zip(angles, outputs, strict=True)
    )
    return Lane(id="host", kind="points", levels=LEVELS, points=points, station_deg=draw(STATIONS))


def _index(draw: st.DrawFn) -> Lane:
    rest, half = draw(st.integers(20, 100)), draw(st.integers(0, 60))
    blocks = [block("low", 300, 300 + rest), block("mid", 180, 180 + half)]
    return lane(*sorted(blocks, key=lambda one: one.start_deg), id="host", kind="index", law="cycloidal")


STATIONS = st.sampled_from((-200.0, -75.0, 0.0, 20.0, 110.0, 290.0))


@st.composite
def machines_of(draw: st.DrawFn, kind: str) -> tuple[Project, str]:
    """A machine with a lane of a kind, and that lane's id; a rider's disc is made of blocks or of points."""
    shown = kind
    if kind == "rider":
        kind = draw(st.sampled_from(("disc", "points")))
    if kind == "disc":
        made = draw(any_lane())
        host = lane(*made.blocks, id="host", law=made.law, station_deg=draw(STATIONS))
    else:
        host = _table(draw) if kind == "points" else _index(draw)
    riders = [Lane(id="rider", kind="rider", disc_of="host", station_deg=draw(STATIONS))]
    turn, turns = draw(st.sampled_from(("clockwise", "counterclockwise"))), draw(st.integers(1, 3))
    lanes = (host, *riders) if shown == "rider" else (host,)
    return machine(*lanes, turn=turn, stacks=(Stack(id="s", turns=turns),)), lanes[-1].id


def output(solution: Solution, lane_id: str, master_deg: Reals) -> Reals:
    """Where a lane is at angles of the master shaft, mm: a rider as the disc under it says."""
    project = solution.project
    one, host = project.lane(lane_id), project.lane("host")
    own = master_deg * project.stacks[0].turns
    d = 1 if project.shaft.turn == "counterclockwise" else -1
    motion = solution.lanes["host"].motion
    assert motion is not None
    theta = own - d * (one.station_deg - host.station_deg)
    return np.asarray(motion.at(np.mod(theta, 360.0))[0])


def off(project: Project, mm: Reals, level: str) -> Reals:
    """How far outputs are from a level; an index part's highest level and 0 are one rest."""
    away = np.abs(mm - LEVELS[level])
    if project.lane("host").kind == "index":
        away = np.minimum(np.mod(mm - LEVELS[level], PITCH), np.mod(LEVELS[level] - mm, PITCH))
    return np.asarray(away)


BAND = 0.4
"""A tenth of the smallest distance between two of LEVELS (format section 4), mm."""

KINDS = ("disc", "points", "rider", "index")
FEW = settings(max_examples=25)


@FEW
@pytest.mark.parametrize("kind", KINDS)
@given(st.data(), st.sampled_from(tuple(LEVELS)), st.integers(0, 1000))
def test_a_lane_is_at_a_level_where_its_output_is_in_the_band(
    kind: str, data: st.DataObject, level: str, seed: int
) -> None:
    project, lane_id = data.draw(machines_of(kind))
    solution = solve(project)
    spans = [one.span for one in solution.intervals(LevelState(lane=lane_id, level=level))]
    theta = np.random.default_rng(seed).uniform(0, 360, 200)
    away = off(project, output(solution, lane_id, theta), level)
    clear = np.abs(away - BAND) > 1e-6
    held = np.array([any(span.contains(float(deg)) for span in spans) for deg in theta])
    assert np.all(held[clear] == (away <= BAND)[clear])


@FEW
@pytest.mark.parametrize("kind", ["disc", "points", "rider"])
@given(st.data(), st.floats(0, 15), st.floats(0, 8), st.integers(0, 1000))
def test_a_lane_is_in_a_range_where_its_output_is(
    kind: str, data: st.DataObject, low: float, width: float, seed: int
) -> None:
    project, lane_id = data.draw(machines_of(kind))
    solution = solve(project)
    state = RangeState(lane=lane_id, from_mm=low, to_mm=low + width)
    spans = [one.span for one in solution.intervals(state)]
    theta = np.random.default_rng(seed).uniform(0, 360, 200)
    mm = output(solution, lane_id, theta)
    clear = np.minimum(np.abs(mm - low), np.abs(mm - low - width)) > 1e-6
    held = np.array([any(span.contains(float(deg)) for span in spans) for deg in theta])
    assert np.all(held[clear] == ((mm >= low) & (mm <= low + width))[clear])


@FEW
@pytest.mark.parametrize("kind", KINDS)
@given(st.data())
def test_check_lists_every_level_and_each_as_often_as_the_stack_turns(kind: str, data: st.DataObject) -> None:
    project, lane_id = data.draw(machines_of(kind))
    listed = report_json(examine(project))["lanes"][lane_id]["states"]
    assert set(listed) == set(LEVELS)
    turns = project.stacks[0].turns
    for spans in listed.values():
        assert all(length == 360.0 for _, length in spans) or len(spans) % turns == 0


@FEW
@pytest.mark.parametrize("kind", ["disc", "rider"])
@given(st.data())
def test_every_block_lies_in_an_interval_of_its_level_that_is_not_passing(
    kind: str, data: st.DataObject
) -> None:
    """A block of the file, later by d (psi_rider - psi_lane) for a rider, in every turn of the stack."""
    project, lane_id = data.draw(machines_of(kind).filter(lambda made: bool(made[0].lane("host").blocks)))
    solution, host = solve(project), project.lane("host")
    d = 1 if project.shaft.turn == "counterclockwise" else -1
    later = d * (project.lane(lane_id).station_deg - host.station_deg)
    turns = project.stacks[0].turns
    for number, one in enumerate(host.blocks):
        found = solution.intervals(LevelState(lane=lane_id, level=one.level))
        for turn in range(turns):
            middle = (one.start_deg + one.length_deg / 2 + later + 360.0 * turn) / turns
            (held,) = (i for i in found if i.span.is_full or i.span.contains(middle % 360.0))
            assert number in held.blocks
            assert not held.passing


@FEW
@pytest.mark.parametrize("kind", KINDS)
@given(st.data(), st.sampled_from(tuple(LEVELS)))
def test_a_level_and_the_range_that_is_its_band_are_one_state(
    kind: str, data: st.DataObject, level: str
) -> None:
    project, lane_id = data.draw(machines_of(kind))
    solution = solve(project)
    by_level = solution.intervals(LevelState(lane=lane_id, level=level))
    low, high = LEVELS[level] - BAND, LEVELS[level] + BAND
    if low < 0 or (kind == "index" and high > PITCH):
        return  # a range is of outputs that the file can name
    by_range = solution.intervals(RangeState(lane=lane_id, from_mm=low, to_mm=high))
    assert len(by_level) == len(by_range)
    for one, other in zip(by_level, by_range, strict=True):
        assert one.span.length == pytest.approx(other.span.length, abs=1e-6)
        turned = ahead(one.span.start, other.span.start)
        assert one.span.is_full or min(turned, 360.0 - turned) < 1e-6


# The rider in rules, gates, zones and the chance

OPEN_A, OPEN_B, OPEN_RIDER = at("a", "open"), at("b", "open"), at("rider", "open")


def ridden(*rules: object, b: tuple[float, float] = (185, 195), **more: object) -> Project:
    """A gate A open from 100 to 120, a rider a quarter turn later, open from 190 to 210, and a gate B."""
    rider = Lane(id="rider", name="Rider", kind="rider", disc_of="a", station_deg=-90.0)
    return machine(gate("A", 100, 120), rider, gate("B", *b), rules=rules, **more)  # type: ignore[arg-type]


def rules_of(project: Project) -> list[str]:
    return [one.rule for one in examine(project).findings if one.rule in ("overlap", "interlock")]


def test_a_rider_that_is_open_with_another_gate_is_an_overlap() -> None:
    (finding,) = (f for f in examine(ridden(exclusive(OPEN_RIDER, OPEN_B))).findings if f.rule == "overlap")
    # Both dwell open from 190 to 195; both are longer within a tenth of their way of open.
    assert finding.value is not None
    assert 5.0 <= finding.value <= 5.0 + 2 * 24.0
    assert finding.lanes == ("rider", "b")
    assert rules_of(ridden(exclusive(OPEN_RIDER, OPEN_B), b=(20, 40))) == []


def test_a_rider_that_is_needed_is_judged() -> None:
    assert rules_of(ridden(requires(OPEN_B, OPEN_RIDER), b=(196, 204))) == []
    assert rules_of(ridden(requires(OPEN_B, OPEN_RIDER), b=(60, 80))) == ["interlock"]
    assert rules_of(ridden(requires(OPEN_RIDER, OPEN_B), b=(180, 220))) == []
    assert rules_of(ridden(requires(OPEN_RIDER, OPEN_B), b=(60, 80))) == ["interlock"]


def test_a_rider_in_a_sequence_is_judged() -> None:
    """B begins some 5 degrees before the rider and 355 after it; 6 rpm is 36 degrees a second."""
    assert rules_of(ridden(order(OPEN_B, OPEN_RIDER, min_s=0.0, max_s=1.0))) == []
    assert rules_of(ridden(order(OPEN_RIDER, OPEN_B, min_s=0.0, max_s=1.0))) == ["interlock"]


def flow_of(state: LevelState | RangeState) -> Flow:
    return Flow(
        supplies=(Supply(id="s"),),
        magazines=(Magazine(id="m", source="s", capacity=4, start_count=4),),
        channels=(Channel(id="c", to="cup"),),
        outlets=(Outlet(id="cup", expects=("bean",)),),
        gates=(Gate(id="g", state=state, source="m", to="c", item_s=0.1, item="bean"),),
    )


def test_a_gate_opens_by_a_level_of_a_rider() -> None:
    result = examine(ridden(flow=flow_of(OPEN_RIDER))).flow
    assert result is not None
    assert [one.rule for one in result.findings] == []
    late = examine(ridden(flow=flow_of(OPEN_RIDER))).flow
    assert late is not None
    assert late.holds_for_ever


def test_free_zones_of_a_block_hear_the_rider_on_its_disc() -> None:
    """Moved 60 degrees later, A's block takes the rider away from B, and nothing else is in the way."""
    project = ridden(exclusive(OPEN_RIDER, OPEN_B))
    zones = free_zones(solve(project), BlockRef("a", 0))
    assert not zones.contains(100.0)
    for start in (20.0, 160.0, 200.0):
        assert zones.contains(start), start
    # Wherever the zone says that it is free, the check says so too, and nowhere else.
    for start in np.arange(20.0, 280.0, 7.0):
        moved = ridden(exclusive(OPEN_RIDER, OPEN_B))
        shifted = gate("A", start, start + 20.0)
        lanes = (shifted, *moved.lanes[1:])
        clean = rules_of(machine(*lanes, rules=moved.rules)) == []
        assert clean == zones.contains(float(start)), start


def test_the_chance_counts_a_rider_s_level() -> None:
    clean = find_spread(solve(ridden(exclusive(OPEN_RIDER, OPEN_B), b=(20, 40))), machines=50)
    broken = find_spread(solve(ridden(exclusive(OPEN_RIDER, OPEN_B))), machines=50)
    assert clean is not None
    assert broken is not None
    assert (clean.chance, broken.chance) == (1.0, 0.0)


# The band of a rider


def banded(host_mm: float | None, rider_mm: float | None) -> Project:
    rider = Lane(id="rider", kind="rider", disc_of="a", station_deg=0.0, band_mm=rider_mm)
    return machine(gate("A", 100, 120, band_mm=host_mm), rider)


def test_a_twin_at_one_station_is_in_every_state_with_its_disc_s_lane() -> None:
    for host_mm in (None, 0.2, 3.0):
        solution = solve(banded(host_mm, None))
        assert solution.lanes["rider"].states == solution.lanes["a"].states


def test_a_rider_s_own_band_is_its_own() -> None:
    wide, same = solve(banded(0.2, 3.0)), solve(banded(3.0, None))
    assert wide.lanes["rider"].states == same.lanes["a"].states
    assert wide.lanes["a"].states != same.lanes["a"].states


def test_a_rider_s_band_must_tell_its_levels_apart() -> None:
    """Half the smallest distance between levels, 0 and 10 mm, is 5 mm (format, beginning)."""
    with pytest.raises(ProjectError, match=r"lanes\[1\]\.band_mm.*5 mm"):
        read_project(saved_form(banded(None, 5.0)), "wide.shaft")
    assert read_project(saved_form(banded(None, 4.9)), "wide.shaft").lane("rider").band_mm == 4.9


def test_ranges_of_a_rider_are_those_of_the_disc_under_it() -> None:
    project = ridden(exclusive(within("rider", 9.0, 10.0), OPEN_B))
    by_range, by_level = rules_of(project), rules_of(ridden(exclusive(OPEN_RIDER, OPEN_B)))
    assert by_range == by_level == ["overlap"]
