"""Free zones, against closed forms and against setting the block in and examining the machine."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.edits.setting_in import moves_of
from shaftscore.judge.checks.free_zones import copy_zones, free_zones, group_zones
from shaftscore.judge.checks.slides import copy_ways, slides_of
from shaftscore.judge.findings import Finding
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Project, Stack
from shaftscore.solution import solve
from tests.machines import at, block, exclusive, gate, lane, machine, order, requires, within

OPEN = "open"
STACKS = (Stack(id="slow"), Stack(id="fast", turns=3))


def ref_of(project: Project, lane_id: str, level: str = OPEN) -> BlockRef:
    blocks = project.lane(lane_id).blocks
    return BlockRef(lane_id, next(n for n, one in enumerate(blocks) if one.level == level))


def zones(project: Project, lane_id: str = "a", level: str = OPEN) -> list[tuple[float, float]]:
    found = free_zones(solve(project), ref_of(project, lane_id, level))
    return [(round(start, 6), round(start + length, 6)) for start, length in found.spans]


def half(name: str, **_: object) -> object:
    return within(name, 5, 10)  # 12 degrees beside the dwell, for moves of 24


def test_without_rules_a_gate_is_free_everywhere() -> None:
    project = machine(gate("A", 100, 120))
    assert free_zones(solve(project), ref_of(project, "a")) == Arcs.full()


def test_one_other_gate_blocks_what_lies_about_it() -> None:
    rule = exclusive(half("a"), half("b"), gap_deg=6.0)
    project = machine(gate("A", 100, 120), gate("B", 200, 210), rules=(rule,))
    # B holds from 188 to 222; A from start - 12 to start + 32.
    assert zones(project) == [(240.0, 360.0 + 150.0)]


def test_a_gap_between_two_gates_is_free_where_it_fits() -> None:
    rule = exclusive(half("a"), half("b"), half("c"))
    project = machine(gate("A", 0, 20), gate("B", 100, 110), gate("C", 190, 200), rules=(rule,))
    # Between 122 and 178 there are 56 degrees for 44.
    assert zones(project) == [(134.0, 146.0), (224.0, 416.0)]


def test_a_zone_of_one_place_does_not_count_below_rounding() -> None:
    rule = exclusive(half("a"), half("b"), half("c"))
    tight = machine(gate("A", 0, 20), gate("B", 100, 110), gate("C", 177.5, 190), rules=(rule,))
    assert zones(tight) == [(214.0, 416.0)]


def test_requires_leaves_what_fits_inside() -> None:
    rule = requires(half("a"), half("b"), lead_deg=3.0)
    project = machine(gate("A", 0, 20), gate("B", 100, 200), rules=(rule,))
    # B holds from 88 to 212; A asks for start - 15 to start + 32.
    assert zones(project) == [(103.0, 180.0)]


def test_a_need_may_slide_as_far_as_it_is_needed() -> None:
    rule = requires(half("a"), half("b"), lag_deg=3.0)
    project = machine(gate("A", 150, 170), gate("B", 100, 200), rules=(rule,))
    # A asks for 138 to 185; B holds from start - 12 to start + 112.
    assert zones(project, "b") == [(73.0, 150.0)]


def test_order_keeps_its_limits() -> None:
    rule = order(half("b"), half("a"), min_s=0.5, max_s=1.0)
    project = machine(gate("A", 150, 170), gate("B", 100, 120), rules=(rule,), rpm=6.0)
    # B begins at 88, so A begins at 106 to 124, 12 before its dwell.
    assert zones(project) == [(118.0, 136.0)]


def test_between_two_levels_a_block_stays_between_them() -> None:
    levels = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
    flap = lane("A", ("shut", 0, 60), ("cup", 84, 260), ("tray", 284, 320), levels=levels)
    project = machine(flap)
    # The moves of 24 keep their length; the dwells beside give down to a momentary stop.
    assert zones(project, level="cup") == [(24.0, 120.0)]


def test_a_block_may_go_into_another_dwell_of_the_level() -> None:
    levels = {"rest": 0.0, "tap": 3.0, "push": 6.0}
    blocks = [("rest", 0, 80), ("tap", 100, 110), ("rest", 130, 180), ("push", 200, 210)]
    blocks += [("rest", 230, 290), ("push", 310, 330)]
    project = machine(lane("A", *blocks, levels=levels))  # type: ignore[arg-type]
    assert zones(project, level="tap") == [(20.0, 150.0), (250.0, 260.0)]


def test_a_locked_block_goes_nowhere_and_gives_no_room() -> None:
    blocks = (block("open", 100, 120, locked=True), block("closed", 144, 436))
    assert free_zones(solve(machine(lane("A", *blocks))), BlockRef("a", 0)).is_empty
    held = (block("open", 100, 120), block("closed", 144, 436, locked=True))
    assert zones(machine(lane("A", *held))) == [(100.0, 100.0)]


@pytest.mark.parametrize("by", [0.0, 0.685, 133.333, 359.9])
def test_between_momentary_stops_a_block_has_just_its_own_place(by: float) -> None:
    """Nothing beside it can give; the ends round otherwise at each angle, and its place is always there."""
    levels = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
    rows = [("shut", 0.0, 0.0), ("cup", 20.3, 40.1), ("tray", 80.7, 0.0)]
    starts = [round((start + by) % 360, 3) for _, start, _ in rows]
    made = [block(level, at, round(at + n, 3)) for (level, _, n), at in zip(rows, starts, strict=True)]
    project = machine(lane("A", *made, levels=levels))
    assert zones(project, level="cup") == [(starts[1], starts[1])]


def test_a_block_in_a_clash_finds_a_place_with_the_usual_moves() -> None:
    project = machine(lane("A", ("open", 100, 140), ("closed", 130, 440)))
    assert solve(project).lanes["a"].motion is None
    assert free_zones(solve(project), ref_of(project, "a")) == Arcs.full()


def test_zones_at_another_level() -> None:
    levels = {"low": 0.0, "middle": 5.0, "high": 10.0}
    a = lane("A", ("low", 144, 436), ("middle", 100, 120), levels=levels)
    rule = exclusive(at("a", "high"), half("b"))
    project = machine(a, gate("B", 200, 210), rules=(rule,))
    ref = ref_of(project, "a", "middle")
    assert free_zones(solve(project), ref).is_full
    assert not free_zones(solve(project), ref, "high").is_full


def test_what_is_broken_everywhere_is_left_out() -> None:
    always = lane("B", ("open", 0, 360))
    project = machine(gate("A", 0, 20), always, rules=(exclusive(half("a"), at("b", OPEN)),))
    assert free_zones(solve(project), ref_of(project, "a")).is_full


SPAN = st.tuples(st.integers(0, 359), st.integers(0, 40))


def broken_in(project: Project) -> list[Finding]:
    return [f for f in examine(project, stage=QUICK).findings if f.rule in ("overlap", "interlock")]


@settings(max_examples=16)
@given(
    own=SPAN,
    others=st.lists(SPAN, min_size=1, max_size=3),
    rule=st.sampled_from(["exclusive", "closed", "when", "need", "first", "then"]),
    gap=st.integers(0, 15),
    turns=st.integers(1, 3),
    seed=st.integers(0, 10_000),
)
def test_zones_are_where_setting_in_breaks_nothing(  # noqa: PLR0917 - drawn by hypothesis
    own: tuple[int, int],
    others: list[tuple[int, int]],
    rule: str,
    gap: int,
    turns: int,
    seed: int,
) -> None:
    a = gate("A", own[0], own[0] + own[1], 24.0, stack="fast")
    b = [gate(f"B{n}", start, start + length, 20.0) for n, (start, length) in enumerate(others)]
    rules = {
        "exclusive": exclusive(half("a"), *(at(one.id, OPEN) for one in b), gap_deg=float(gap)),
        "closed": exclusive(at("a", "closed"), at("b0", OPEN), gap_deg=float(gap)),
        "when": requires(half("a"), at("b0", "closed"), lead_deg=float(gap)),
        "need": requires(at("b0", OPEN), at("a", "closed"), lag_deg=float(gap)),
        "first": order(half("a"), at("b0", OPEN), min_s=0.2, max_s=8.0),
        "then": order(at("b0", OPEN), half("a"), min_s=0.2, max_s=3.0),
    }
    stacks = (Stack(id="slow"), Stack(id="fast", turns=turns))
    project = machine(a, *b, rules=(rules[rule],), stacks=stacks)
    ref = ref_of(project, "a")
    free = free_zones(solve(project), ref)
    starts = np.random.default_rng(seed).uniform(0, 360, 8)
    ends = [end for start, length in free.spans for end in (start, start + length)]
    ends = [] if free.is_full else ends
    found = {}
    for start in map(float, starts):
        if any(abs((start - end + 180) % 360 - 180) < 1e-3 for end in ends):
            continue
        moved = apply_edit(project, "place_block", ref=ref, start_deg=start).project
        found[start] = broken_in(moved)
    everywhere = min((len(one) for one in found.values()), default=0)
    for start, findings in found.items():
        if not findings:
            assert free.contains(start)
        elif everywhere == 0:
            assert not free.contains(start)


# A copy


def test_a_copy_is_free_in_the_dwells_that_hold_it_and_its_moves() -> None:
    rule = exclusive(half("a"), half("b"), gap_deg=6.0)
    project = machine(gate("A", 100, 120), gate("B", 200, 210), rules=(rule,))
    free = copy_zones(solve(project), [ref_of(project, "a")]).shift(100.0)
    # The rest lasts from 144 to 436: the copy's moves of 24 fit with a start from 168 to 392. B holds from
    # 188 to 222, the copy from start - 12 to start + 32, and 6 stay between.
    assert [(round(a, 6), round(a + n, 6)) for a, n in free.spans] == [(240.0, 392.0)]


def test_a_copy_of_a_locked_block_is_free_and_a_locked_dwell_takes_none() -> None:
    blocks = (block("open", 100, 120, locked=True), block("closed", 144, 436))
    project = machine(lane("A", *blocks))
    free = copy_zones(solve(project), [BlockRef("a", 0)])
    assert [(round(a, 6), round(n, 6)) for a, n in free.spans] == [(68.0, 224.0)]
    held = machine(lane("A", block("open", 100, 120), block("closed", 144, 436, locked=True)))
    assert copy_zones(solve(held), [BlockRef("a", 0)]).is_empty


@settings(max_examples=16)
@given(
    own=SPAN,
    others=st.lists(SPAN, min_size=1, max_size=3),
    rule=st.sampled_from(["exclusive", "closed", "when", "need"]),
    gap=st.integers(0, 15),
    turns=st.integers(1, 3),
    seed=st.integers(0, 10_000),
)
def test_zones_of_a_copy_are_where_laying_it_breaks_nothing(  # noqa: PLR0917 - drawn by hypothesis
    own: tuple[int, int],
    others: list[tuple[int, int]],
    rule: str,
    gap: int,
    turns: int,
    seed: int,
) -> None:
    a = gate("A", own[0], own[0] + own[1], 24.0, stack="fast")
    b = [gate(f"B{n}", start, start + length, 20.0) for n, (start, length) in enumerate(others)]
    rules = {
        "exclusive": exclusive(half("a"), *(at(one.id, OPEN) for one in b), gap_deg=float(gap)),
        "closed": exclusive(at("a", "closed"), at("b0", OPEN), gap_deg=float(gap)),
        "when": requires(half("a"), at("b0", "closed"), lead_deg=float(gap)),
        "need": requires(at("b0", OPEN), at("a", "closed"), lag_deg=float(gap)),
    }
    project = machine(a, *b, rules=(rules[rule],), stacks=(Stack(id="slow"), Stack(id="fast", turns=turns)))
    ref = ref_of(project, "a")
    ways = copy_zones(solve(project), [ref])
    free = Arcs.of((own[0] + begin * turns, length * turns) for begin, length in ways.spans)
    ends = [end for start, n in free.spans for end in (start, start + n)]
    before = own[0]
    room = (own[0] + own[1] + 48.0, own[0] + 360.0 - 48.0 - own[1])
    found = {}
    for start in map(float, np.random.default_rng(seed).uniform(*room, 8)):
        if any(abs((start - end + 180) % 360 - 180) < 1e-3 for end in ends):
            continue
        by = (start - before) / turns
        copied = apply_edit(project, "duplicate_blocks", refs=[ref], by_deg=by).project
        found[start] = [
            f for f in examine(copied, stage=QUICK).findings if f.rule in ("overlap", "interlock")
        ]
    everywhere = min((len(one) for one in found.values()), default=0)
    for start, findings in found.items():
        if not findings:
            assert free.contains(start % 360)
        elif everywhere == 0:
            assert not free.contains(start % 360)


def test_copies_of_several_blocks_are_free_where_each_has_its_dwell() -> None:
    rule = exclusive(half("a"), half("c"), gap_deg=6.0)
    project = machine(gate("A", 100, 120), gate("B", 130, 150), gate("C", 200, 210), rules=(rule,))
    ways = copy_zones(solve(project), [ref_of(project, "a"), ref_of(project, "b")])
    # Both rests last 292 and hold a copy with its moves, 68 in all: by 68 to 292 both fit. C holds from 188
    # to 222 and A's copy from 88 + by to 132 + by, with 6 between: by 140 and more.
    assert [(round(a, 6), round(a + n, 6)) for a, n in ways.spans] == [(140.0, 292.0)]


@settings(max_examples=16)
@given(
    spans=st.lists(SPAN, min_size=2, max_size=3),
    other=SPAN,
    gap=st.integers(0, 15),
    turns=st.integers(1, 3),
    seed=st.integers(0, 10_000),
)
def test_zones_of_several_copies_are_where_laying_them_breaks_nothing(
    spans: list[tuple[int, int]], other: tuple[int, int], gap: int, turns: int, seed: int
) -> None:
    own = [
        gate(f"A{n}", at, at + length, 24.0, stack="fast" if n else "slow")
        for n, (at, length) in enumerate(spans)
    ]
    b = gate("B", other[0], other[0] + other[1], 20.0)
    rule = exclusive(*(half(one.id) for one in own), half("b"), gap_deg=float(gap))
    project = machine(*own, b, rules=(rule,), stacks=(Stack(id="slow"), Stack(id="fast", turns=turns)))
    refs = [ref_of(project, one.id) for one in own]
    ways, possible = copy_zones(solve(project), refs), copy_ways(project, refs)
    ends = [end for start, n in ways.spans for end in (start, start + n)]
    found = {}
    for by in map(float, np.random.default_rng(seed).uniform(0.0, 360.0, 12)):
        near = any(abs((by - end + 180) % 360 - 180) < 1e-3 for end in ends)
        if near or not possible.contains(by):
            assert near or not ways.contains(by)
            continue
        copied = apply_edit(project, "duplicate_blocks", refs=refs, by_deg=by).project
        found[by] = broken_in(copied)
    everywhere = min((len(one) for one in found.values()), default=0)
    for by, findings in found.items():
        if not findings:
            assert ways.contains(by)
        elif everywhere == 0:
            assert not ways.contains(by)


# Several blocks together


def test_a_group_is_free_where_all_of_it_is() -> None:
    rule = exclusive(half("a"), half("b"), half("c"))
    project = machine(gate("A", 0, 20), gate("B", 100, 110), gate("C", 190, 200), rules=(rule,))
    refs = [ref_of(project, "a"), ref_of(project, "b")]
    # A holds from 348 to 32, B from 88 to 122, C from 178 to 212. B may come up to C; beyond it, both must
    # have passed, or C stands between them.
    spans = [(round(a, 6), round(a + n, 6)) for a, n in group_zones(solve(project), refs).spans]
    # Later by up to 56 (B ends at 178); between 124 (B begins at 212) and 146 (A ends at 178);
    # from 224 (A begins at 212).
    assert spans == [(124.0, 146.0), (224.0, 360.0 + 56.0)]


def test_a_group_that_holds_all_of_a_rule_is_free_everywhere() -> None:
    project = machine(gate("A", 0, 20), gate("B", 100, 110), rules=(exclusive(half("a"), half("b")),))
    refs = [ref_of(project, "a"), ref_of(project, "b")]
    assert group_zones(solve(project), refs).is_full
    levels = {"low": 0.0, "middle": 5.0, "high": 10.0}
    a = lane("A", ("low", 144, 436), ("high", 100, 120), levels=levels)
    alone = machine(a, rules=(exclusive(at("a", "high"), at("a", "middle")),))
    assert free_zones(solve(alone), ref_of(alone, "a", "high")).is_full


def test_a_group_of_locked_blocks_goes_nowhere() -> None:
    project = machine(lane("A", block("open", 100, 120, locked=True), ("closed", 144, 436)))
    assert group_zones(solve(project), [BlockRef("a", 0)]).is_empty


def test_a_group_at_other_levels_is_free_where_the_rules_of_those_levels_hold() -> None:
    levels = {"low": 0.0, "middle": 2.0, "high": 10.0}
    a = lane("A", ("middle", 100, 120), ("low", 144, 436), levels=levels)
    rule = exclusive(half("a"), half("b"), gap_deg=6.0)
    project = machine(a, gate("B", 200, 210), gate("C", 20, 30), rules=(rule,))
    refs = [BlockRef("a", 0), ref_of(project, "c")]
    assert group_zones(solve(project), refs).is_full  # the middle is not half way up
    raised = apply_edit(project, "set_block_level", ref=refs[0], level="high").project
    # A holds from 88 to 132, B from 188 to 222: 50 degrees on A comes within 6 of B, 140 on it is past.
    (span,) = group_zones(solve(project), refs, raised).spans
    assert (span[0], span[0] + span[1]) == pytest.approx((140.0, 360.0 + 50.0), abs=1e-6)


@settings(max_examples=12)
@given(own=SPAN, second=SPAN, other=SPAN, turns=st.integers(1, 3), seed=st.integers(0, 10_000))
def test_group_zones_are_where_moving_breaks_nothing(
    own: tuple[int, int], second: tuple[int, int], other: tuple[int, int], turns: int, seed: int
) -> None:
    a = gate("A", own[0], own[0] + own[1], 24.0, stack="fast")
    b = gate("B", second[0], second[0] + second[1], 20.0)
    c = gate("C", other[0], other[0] + other[1], 22.0)
    rule = exclusive(half("a"), at("b", OPEN), at("c", OPEN), gap_deg=4.0)
    stacks = (Stack(id="slow"), Stack(id="fast", turns=turns))
    project = machine(a, b, c, rules=(rule,), stacks=stacks)
    refs = [ref_of(project, "a"), ref_of(project, "b")]
    free = group_zones(solve(project), refs)
    ends = [] if free.is_full else [end for start, n in free.spans for end in (start, start + n)]
    found = {}
    for by in map(float, np.random.default_rng(seed).uniform(0, 360, 8)):
        if any(abs((by - end + 180) % 360 - 180) < 1e-3 for end in ends):
            continue
        moved = apply_edit(project, "move_blocks", refs=refs, by_deg=by).project
        found[by] = [f for f in examine(moved, stage=QUICK).findings if f.rule == "overlap"]
    everywhere = min((len(one) for one in found.values()), default=0)
    for by, findings in found.items():
        if not findings:
            assert free.contains(by)
        elif everywhere == 0:
            assert not free.contains(by)


@pytest.mark.parametrize("level", ["rest", "tap", "push"])
def test_on_a_slide_the_moves_keep_their_length(level: str) -> None:
    levels = {"rest": 0.0, "tap": 3.0, "push": 6.0}
    blocks = [("rest", 0, 80), ("tap", 100, 110), ("rest", 130, 180), ("push", 200, 210)]
    blocks += [("rest", 230, 290), ("push", 310, 330)]
    project = machine(lane("A", *blocks, levels=levels))  # type: ignore[arg-type]
    ref = ref_of(project, "a", level)
    own = project.lane("a").blocks[ref.index]
    slides = slides_of(project, ref)
    assert slides
    for slide in slides:
        for u in (-slide.reach_deg, 0.0, slide.reach_deg):
            start = (slide.middle_deg + u) % 360
            edited = apply_edit(project, "place_block", ref=ref, start_deg=start)
            made = edited.project.lane("a")
            index = edited.selection[0].index
            assert made.blocks[index].start_deg == pytest.approx(start, abs=1e-5)
            assert made.blocks[index].length_deg == pytest.approx(own.length_deg)
            gaps = moves_of(made.blocks)
            assert gaps[index - 1] == pytest.approx(slide.before_deg, abs=1e-5)
            after = slide.window_deg - slide.before_deg - own.length_deg
            assert gaps[index] == pytest.approx(after, abs=1e-5)
