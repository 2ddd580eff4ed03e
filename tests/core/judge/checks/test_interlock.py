"""The rule interlock: what requires and order ask for, where it is missing, and cures that cure."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs
from shaftscore.edits import apply_edit
from shaftscore.judge.checks.interlock import missing
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Lane, Project, Stack
from tests.machines import at, gate, lane, machine, order, requires, within

OPEN = "open"


def flap(start: float, end: float) -> Lane:
    """A two-level flap that is at `cup` from start to end, moves of 20 degrees beside it."""
    length = 360.0 - (end - start) - 40.0
    rest = (end + 20.0) % 360.0
    return lane("Flap", ("cup", start, end), ("shut", rest, rest + length), levels={"shut": 0.0, "cup": 8.0})


def interlocks(project: Project) -> list[Finding]:
    return [finding for finding in examine(project).findings if finding.rule == "interlock"]


def held(*spans: tuple[float, float]) -> tuple[StateInterval, ...]:
    return tuple(StateInterval(Arcs.span(*span), False, ()) for span in spans)


@pytest.mark.parametrize(
    ("asked", "need", "gone"),
    [
        ((100, 20), [(90, 40)], []),
        ((100, 20), [(100, 20)], []),
        ((100, 20), [(90, 20)], [(110, 10)]),
        ((100, 20), [(105, 5)], [(100, 5), (110, 10)]),
        ((350, 20), [(340, 15), (5, 20)], [(355, 10)]),
        ((350, 20), [], [(350, 20)]),
        ((0, 360), [(10, 350)], [(0, 10)]),
        ((100, 20), [(0, 360)], []),
        ((100, 20), [(90, 20), (110, 20)], []),
    ],
)
def test_what_is_missing(
    asked: tuple[float, float], need: list[tuple[float, float]], gone: list[tuple[float, float]]
) -> None:
    found = [(part.start, part.length) for part in missing(Arcs.span(*asked), held(*need))]
    assert found == [pytest.approx(part) for part in gone]


def test_requires_tells_what_is_missing_and_where() -> None:
    rule = requires(within("rose", 5, 10), within("flap", 4, 8), lead_deg=2.0, lag_deg=6.0)
    # Both states end half way through a symmetric move: Rose 228 to 264, Flap 90 to 266.
    project = machine(flap(100, 256), gate("Rose", 240, 252), rules=(rule,))
    (finding,) = interlocks(project)
    assert finding.lanes == ("flap", "rose")
    assert finding.span is not None
    assert (finding.span.start, finding.span.length) == pytest.approx((266.0, 4.0))
    assert finding.value == pytest.approx(4.0)
    said = words(finding, project)
    assert said.what == (
        "Flap is not within 4.0 mm to 8.0 mm while Rose is within 5.0 mm to 10.0 mm: "
        "4.0° missing from 266.0°."
    )
    assert said.cure == "End Flap cup at 260.0°, 4.0° later."


def test_lead_and_lag_in_seconds_count_at_the_nominal_speed() -> None:
    rule = requires(within("rose", 5, 10), within("flap", 4, 8), lag_s=0.1)
    fits = machine(flap(100, 256), gate("Rose", 240, 250), rules=(rule,), rpm=6.0)
    assert not interlocks(fits)  # 262 + 3.6
    (late,) = interlocks(machine(flap(100, 256), gate("Rose", 240, 250), rules=(rule,), rpm=12.0))
    assert late.value == pytest.approx(3.2)  # 262 + 7.2 - 266


def test_each_opening_of_a_faster_stack_needs_the_state() -> None:
    rule = requires(at("b", OPEN), within("flap", 4, 8))
    stacks = (Stack(id="slow"), Stack(id="fast", turns=3))
    fast = lane("B", ("open", 30, 60), ("closed", 120, 330), stack="fast")
    found = interlocks(machine(flap(100, 256), fast, stacks=stacks, rules=(rule,)))
    assert len(found) == 1
    assert found[0].span is not None
    assert 10.0 < found[0].span.middle < 20.0


def test_order_counts_from_begin_to_the_next_begin() -> None:
    first, then = within("a", 5, 10), within("b", 5, 10)
    project = machine(gate("A", 350, 360), gate("B", 8, 20), rules=(order(first, then, min_s=1.0),))
    (finding,) = interlocks(project)
    assert finding.value == pytest.approx(18 / 36)
    assert finding.limit == 1.0
    assert (finding.start_deg, finding.end_deg) == pytest.approx((338.0, 356.0))
    assert words(finding, project).what == (
        "B 5.0 mm to 10.0 mm begins 500 ms after A 5.0 mm to 10.0 mm; at least 1.00 s required."
    )
    late = machine(gate("A", 350, 360), gate("B", 8, 20), rules=(order(then, first, max_s=9.0),))
    (finding,) = interlocks(late)
    assert finding.value == pytest.approx(342 / 36)
    assert "at most 9.00 s required" in words(finding, late).what


def test_a_state_that_never_begins_breaks_an_order() -> None:
    always = lane("B", ("open", 0, 360))
    project = machine(gate("A", 100, 120), always, rules=(order(at("a", OPEN), at("b", OPEN)),))
    (finding,) = interlocks(project)
    assert words(finding, project).what == "B open never begins after A open."
    assert finding.span == Arcs.full()
    turned = machine(gate("A", 100, 120), always, rules=(order(at("b", OPEN), at("a", OPEN)),))
    assert not interlocks(turned)


def test_a_state_that_never_begins_is_one_finding_however_often_the_first_begins() -> None:
    first = lane("A", ("open", 20, 40), ("closed", 60, 80), ("open", 120, 150), ("closed", 190, 350))
    for other in (lane("B", ("open", 0, 360)), lane("B", ("closed", 0, 360))):
        project = machine(first, other, rules=(order(at("a", OPEN), at("b", OPEN), max_s=1.0),))
        (finding,) = interlocks(project)
        assert words(finding, project).what == "B open never begins after A open."
        assert finding.value is None


def test_an_order_of_a_state_with_itself_counts_to_its_next_begin() -> None:
    rule = order(at("a", OPEN), at("a", OPEN), min_s=9.9, max_s=10.1)
    assert not interlocks(machine(gate("A", 100, 120), rules=(rule,), rpm=6.0))


def test_a_lane_without_motion_leaves_its_rules_out() -> None:
    clash = lane("Rose", ("open", 100, 130), ("closed", 120, 300))
    rules = (requires(at("rose", OPEN), at("flap", "cup")), order(at("flap", "cup"), at("rose", OPEN)))
    report = examine(machine(flap(100, 256), clash, rules=rules))
    assert {finding.rule for finding in report.findings} == {"no-time"}


@given(
    start=st.integers(0, 359),
    offset=st.floats(-12, 12).map(lambda value: round(value, 2)),
    lead=st.floats(0, 10).map(lambda value: round(value, 2)),
)
def test_after_the_cure_less_is_missing(start: int, offset: float, lead: float) -> None:
    rule = requires(at("rose", OPEN), at("flap", "cup"), lead_deg=lead)
    begin = (start + offset) % 360
    project = machine(flap(start, start + 60.0), gate("Rose", begin, begin + 40.0), rules=(rule,))
    before = interlocks(project)
    assume(before)
    cure = before[0].cure
    assert cure is not None
    assert cure.edit is not None
    after = interlocks(apply_edit(project, cure.edit, **cure.arguments).project)
    assert len(after) < len(before)


@given(
    wait=st.floats(1, 60).map(lambda value: round(value, 2)),
    least=st.floats(0, 1.5).map(lambda value: round(value, 3)),
)
def test_after_the_cure_of_an_order_it_is_kept(wait: float, least: float) -> None:
    rule = order(at("a", OPEN), at("b", OPEN), min_s=least, max_s=least + 0.2)
    project = machine(gate("A", 100, 120), gate("B", 100 + wait, 120 + wait), rules=(rule,))
    before = interlocks(project)
    assume(before)
    cure = before[0].cure
    assert cure is not None
    assert cure.edit == "place_block"
    assert not interlocks(apply_edit(project, cure.edit, **cure.arguments).project)


def test_a_cure_holds_the_stretch_that_it_is_told_for_and_not_another_one() -> None:
    """A longer dwell before a shorter move: the state's end moves by half as much as the block's."""
    held = [("open", 60, 90), ("closed", 200, 200), ("open", 260, 270), ("closed", 300, 330)]
    asks = [("open", 154, 156), ("closed", 164, 166), ("open", 174, 186), ("closed", 194, 506)]
    project = machine(
        lane("N", *held),
        lane("W", *asks),
        rules=(requires(within("w", 5, 10), within("n", 5, 10)),),
    )
    found = [one for one in examine(project, late=False).findings if one.rule == "interlock"]
    assert [round(one.span.start) for one in found if one.span is not None] == [150, 170]
    for finding in found:
        if finding.cure is None or finding.cure.edit is None:
            continue  # ending the dwell at 135 would cure what begins at 150, not what begins at 170
        cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
        assert finding.span is not None
        left = [one.span for one in examine(cured, late=False).findings if one.rule == "interlock"]
        assert all((finding.span & span).length < 1e-6 for span in left if span is not None)
