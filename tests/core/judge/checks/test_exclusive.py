"""The rule overlap: how stretches lie, the sweep, gaps, and cures that cure."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs
from shaftscore.edits import apply_edit
from shaftscore.judge.checks.exclusive import closeness
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import FULL, QUICK, ExaminationStage, examine
from shaftscore.model import Lane, Project, Stack
from shaftscore.rules.exclusive import close_pairs
from tests.machines import at, block, exclusive, gate, lane, machine, within

OPEN = "open"


def overlaps(project: Project, stage: ExaminationStage = QUICK) -> list[Finding]:
    return [finding for finding in examine(project, stage=stage).findings if finding.rule == "overlap"]


LIES = [
    ((10, 20), (25, 10), 0, True, (25, 5), -5),
    ((10, 20), (25, 10), 3, True, (25, 5), -8),
    ((10, 20), (32, 10), 3, False, (30, 2), -1),
    ((10, 20), (32, 10), 2, False, (30, 2), 0),
    ((10, 20), (30, 10), 0, False, (30, 0), 0),
    ((350, 20), (5, 10), 0, True, (5, 5), -5),
    ((350, 20), (12, 10), 4, False, (10, 2), -2),
    ((5, 10), (355, 8), 4, False, (3, 2), -2),
    ((0, 360), (40, 10), 0, True, (40, 10), -10),
    ((10, 200), (200, 181), 0, True, (10, 11), -11),  # they share two stretches: the longer counts
    ((10, 200), (190, 185), 0, True, (190, 20), -20),
]
"""(first, second, gap) as (start, length), and what must come of it: overlap, where, slack."""


@pytest.mark.parametrize("case", LIES)
def test_how_two_stretches_lie(case: tuple[Any, ...]) -> None:
    first, second, gap, overlap, where, slack = case
    near = closeness(Arcs.span(*first), Arcs.span(*second), gap)
    assert near.overlaps is overlap
    assert (near.where.start, near.where.length) == pytest.approx(where)
    assert near.slack_deg == pytest.approx(slack)


SPANS = st.tuples(st.floats(0, 359.5), st.floats(0, 200))


@given(st.lists(st.tuples(st.integers(0, 5), SPANS), max_size=12), st.floats(0, 90))
def test_the_sweep_finds_what_comparing_all_pairs_finds(
    members: list[tuple[int, tuple[float, float]]], gap: float
) -> None:
    members = sorted(members, key=lambda one: one[1][0])
    starts, lengths = [span[0] for _, span in members], [span[1] for _, span in members]
    swept = [*close_pairs(starts, lengths, [member for member, _ in members], gap)]
    assert len(swept) == len(set(swept))
    every = {
        (one, other)
        for other in range(len(members))
        for one in range(other)
        if members[one][0] != members[other][0]
        and closeness(Arcs.span(*members[one][1]), Arcs.span(*members[other][1]), gap).slack_deg < -1e-6
    }
    assert every <= set(swept)
    assert all(one < other for one, other in swept)


class Counted(list[int]):
    """Members that count how often one of them is looked at by its number: when a pair is compared."""

    looks = 0

    def __getitem__(self, number: Any) -> Any:
        self.looks += 1
        return super().__getitem__(number)


@pytest.mark.parametrize("count", [100, 400])
def test_the_sweep_compares_neighbours_not_all_pairs(count: int) -> None:
    step = 360.0 / count
    starts, lengths = [number * step for number in range(count)], [0.6 * step] * count
    members = Counted(range(count))
    assert list(close_pairs(starts, lengths, members, 0.3 * step)) == []
    assert members.looks == 0
    # With a gap that reaches the next one each interval meets two; all pairs would be count^2 / 2.
    assert len(list(close_pairs(starts, lengths, members, 0.5 * step))) == count
    assert members.looks <= 10 * count


def test_an_overlap_tells_the_exact_interval() -> None:
    rule = exclusive(at("sencha", OPEN), at("mint", OPEN), gap_s=0.1)
    project = machine(gate("Sencha", 120, 132), gate("Mint", 139.5, 151.5), rules=(rule,))
    (finding,) = overlaps(project)
    # Modified sine, 10 mm in 24 degrees, 1 mm of band: the band is left 5.611232 degrees after the
    # dwell's end; its closed form was inverted with 40 digits (outside value).
    assert finding.span is not None
    assert finding.span.start == pytest.approx(139.5 - 5.6112315655, abs=1e-9)
    assert finding.end_deg == pytest.approx(132 + 5.6112315655, abs=1e-9)
    assert finding.value == pytest.approx(2 * 5.6112315655 - 7.5, abs=1e-8)
    assert finding.limit == pytest.approx(3.6)
    said = words(finding, project)
    assert said.what == "Both are open for 3.7° (103 ms); a gap of 3.6° is required."
    assert said.cure == "Start Mint open at 146.9°, 7.4° later."


def test_one_pair_has_an_overlap_or_a_short_gap_never_both() -> None:
    rule = exclusive(at("a", OPEN), at("b", OPEN), gap_deg=30.0)
    for start in range(100, 180, 4):
        found = overlaps(machine(gate("A", 100, 120), gate("B", float(start), start + 20.0), rules=(rule,)))
        assert len(found) <= 1


def test_a_gap_that_is_just_met_is_enough() -> None:
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_deg=6.0)
    # Half way up is half way through a symmetric move: 12 degrees beside each dwell.
    assert not overlaps(machine(gate("A", 100, 120), gate("B", 150, 170), rules=(rule,)))
    (short,) = overlaps(machine(gate("A", 100, 120), gate("B", 149, 170), rules=(rule,)))
    assert short.facts["how"] == "gap"
    assert short.value == pytest.approx(5.0)
    assert short.span is not None
    assert (short.span.start, short.span.length) == pytest.approx((132.0, 5.0))


def test_states_of_one_lane_can_exclude_each_other() -> None:
    one = lane("A", ("closed", 0, 100), ("open", 120, 340))
    rule = exclusive(at("a", OPEN), at("a", "closed"), gap_deg=12.0)
    (found,) = overlaps(machine(one, rules=(rule,)))  # both gaps are short: one pair, one finding
    assert found.lanes == ("a",)
    assert found.facts["how"] == "gap"
    assert found.value == pytest.approx(20.0 * (1 - 2 * 0.2338013152288950), abs=1e-9)  # as above


def test_a_stack_that_turns_three_times_overlaps_three_times() -> None:
    stacks = (Stack(id="slow"), Stack(id="fast", turns=3))
    always = lane("A", ("open", 0, 360))
    fast = lane("B", ("open", 30, 60), ("closed", 120, 330), stack="fast")
    project = machine(always, fast, stacks=stacks, rules=(exclusive(at("a", OPEN), at("b", OPEN)),))
    found = overlaps(project)
    assert len({finding.key for finding in found}) == 3
    starts = sorted(finding.start_deg or 0.0 for finding in found)
    assert starts[1] - starts[0] == pytest.approx(120.0)
    assert sum(finding.value or 0.0 for finding in found) == pytest.approx(
        sum(interval.span.length for interval in examine(project).solution.lanes["b"].states[OPEN])
    )


def test_lanes_left_out_take_their_states_with_them() -> None:
    rule = exclusive(at("a", OPEN), at("b", OPEN), at("c", OPEN))
    project = machine(gate("A", 100, 120), gate("B", 110, 130), gate("C", 115, 140), rules=(rule,))
    assert len(overlaps(project)) == 3
    chosen = examine(project, lanes=["a", "c"])
    assert [finding.lanes for finding in chosen.findings if finding.rule == "overlap"] == [("a", "c")]


def moved_gate(name: str, start: float, length: float, move: float, locked: bool) -> Lane:
    made = gate(name, start, start + length, move)
    return lane(
        name,
        *(block(b.level, b.start_deg, b.end_deg, locked=locked and b.level == OPEN) for b in made.blocks),
    )


@settings(max_examples=40)
@given(
    start=st.floats(0, 359).map(lambda value: round(value, 3)),
    offset=st.floats(-25, 25).map(lambda value: round(value, 3)),
    lengths=st.tuples(st.integers(0, 25), st.integers(0, 25)),
    gap=st.floats(0, 12).map(lambda value: round(value, 2)),
    locked_and_turns=st.tuples(
        st.sampled_from([(False, False), (True, False), (False, True)]), st.integers(1, 3)
    ),
)
def test_after_the_cure_the_finding_is_gone(
    start: float,
    offset: float,
    lengths: tuple[int, int],
    gap: float,
    locked_and_turns: tuple[tuple[bool, bool], int],
) -> None:
    locked, turns = locked_and_turns
    a, b = (
        moved_gate(name, (start + by) % 360, length, 20.0, lock)
        for name, by, length, lock in zip("AB", (0.0, offset), lengths, locked, strict=True)
    )
    rule = exclusive(at("a", OPEN), at("b", OPEN), gap_deg=gap)
    project = machine(a, b, rules=(rule,), stacks=(Stack(id="s", turns=turns),))
    before = overlaps(project, FULL)
    assume(before)
    cure = before[0].cure
    assert cure is not None
    assert cure.edit == "place_block"
    after = overlaps(apply_edit(project, cure.edit, **cure.arguments).project)
    assert len(after) < len(before)
    ref = cure.arguments["ref"]
    assert not locked["ab".index(ref.lane_id)]  # type: ignore[attr-defined]


def test_a_member_that_is_never_held_breaks_nothing() -> None:
    twice = lane("A", (OPEN, 20, 40), ("closed", 60, 80), (OPEN, 120, 150), ("closed", 190, 350))
    rule = exclusive(at("a", OPEN), at("b", OPEN))
    report = examine(machine(twice, lane("B", ("closed", 0, 360)), rules=(rule,)))
    assert not [finding for finding in report.findings if finding.rule == "overlap"]
    assert report.margin is None


def test_the_cure_is_the_smallest_shift() -> None:
    """No shift that is 0.2 degree smaller than the cure's, of either block, either way, would do."""
    rule = exclusive(at("a", OPEN), at("b", OPEN), gap_deg=3.0)
    project = machine(gate("A", 100, 120), gate("B", 125, 137), rules=(rule,))
    (finding,) = overlaps(project)
    assert finding.cure is not None
    ref, start = (finding.cure.arguments[key] for key in ("ref", "start_deg"))
    shift = abs(float(start) - project.lane(ref.lane_id).blocks[ref.index].start_deg) - 0.2  # type: ignore[attr-defined, arg-type]
    for lane_id in "ab":
        for by in (-shift, shift):
            blocks = project.lane(lane_id).blocks
            index = next(i for i, one in enumerate(blocks) if one.level == OPEN)
            moved = apply_edit(
                project, "place_block", ref=type(ref)(lane_id, index), start_deg=blocks[index].start_deg + by
            )
            assert overlaps(moved.project)


def test_findings_of_pairs_that_did_not_change_are_kept() -> None:
    rule = exclusive(*(at(name, OPEN) for name in "abcd"))
    gates = [gate("A", 100, 120), gate("B", 110, 130), gate("C", 200, 220), gate("D", 210, 230)]
    first = examine(machine(*gates, rules=(rule,)))
    project = apply_edit(
        first.project, "place_block", ref=first.findings[0].subjects[2], start_deg=101.0
    ).project
    second = examine(project, first)
    kept = Counter(any(f is old for old in first.findings) for f in second.findings if f.rule == "overlap")
    assert kept == {True: 1, False: 1}
