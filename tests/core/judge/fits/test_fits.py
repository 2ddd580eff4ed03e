"""The fit of a stack: what turns its discs, sums in a chain, shifts, seats, free parts, slipping joints."""

from __future__ import annotations

from math import acos, asin, cos, degrees, inf, isfinite, pi, sqrt
from typing import Any

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import words
from shaftscore.judge.fits import StackFit, stack_fits
from shaftscore.judge.report import QUICK, examine, report_json
from shaftscore.model import Bore, Disc, Dogs, Lane, Load, Pins, Project, Rod, Stack, replaced
from shaftscore.solution import solve
from tests.machines import gate, machine

DOGS = Dogs(radius_mm=20.0, width_mm=4.0, height_mm=2.0)
HEX = Bore(shape="hex", across_mm=10.0)
ROD = Rod(across_mm=10.0, below_mm=10.0, above_mm=10.0)
LOAD = Load(spring_preload_n=8.0, friction_n=0.5)


def three(load: Load | None = None, **fields: Any) -> Project:
    stack = Stack(id="s", **({"bore": HEX} | fields))
    lanes = [gate(name, 100, 120, load=load) for name in "ABC"]
    return machine(*lanes, stacks=(stack,))


def fit(**fields: Any) -> StackFit:
    return stack_fits(solve(three(**fields)))["s"]


def hexagon(clearance: float, across: float = 10.0) -> float:
    """Play of a hexagonal bore by its formula, degrees."""
    return 30 - degrees(acos(cos(pi / 6) * (1 + 2 * clearance / across)))


def test_the_play_of_the_first_sample() -> None:
    """machine.md: bores of 10.4 mm on a hexagon of 10 mm let each disc turn by ±4.2° on it."""
    own = fit(fit_clearance_mm=0.2)
    assert own.joint_deg == pytest.approx(hexagon(0.2), rel=1e-9)
    assert own.joint_deg == pytest.approx(4.2, abs=0.05)
    assert own.law == "as-they-lie"
    assert own.shift_deg == {"a": 0.0, "b": 0.0, "c": 0.0}
    assert own.seat_mm == 0.2


def test_half_the_undersize_of_the_rod_adds_to_the_clearance() -> None:
    # ISO 286-2, h11 from 6 to 10 mm: up to 0.090 mm under.
    assert fit(fit_clearance_mm=0.1, rod=ROD).joint_deg == pytest.approx(hexagon(0.145), rel=1e-9)
    assert fit(fit_clearance_mm=0.1, rod=replaced(ROD, across_mm=9.8)).joint_deg == (
        pytest.approx(hexagon(0.245, 9.8), rel=1e-9)
    )


def test_pins_turn_each_disc_alone_and_the_chain_adds_up() -> None:
    pins = Pins(count=2, radius_mm=18.0, across_mm=3.0)
    own = fit(pins=pins, dogs=replaced(DOGS, radius_mm=26.0), keying="chain", bore=Bore(shape="round"))
    assert own.joint_deg == pytest.approx(degrees(0.1 / 18))  # machine.md: ±0.3°
    assert own.total_deg("c") == own.joint_deg
    assert own.seat_mm == 0.1
    chain = fit(dogs=DOGS, keying="chain", bore=Bore(shape="round", across_mm=10.0), fit_clearance_mm=0.1)
    assert chain.joint_deg == pytest.approx(degrees(0.1 / 20))
    joints = [1, 3, 5]  # two faces of the spacer before each disc but the first
    assert [chain.total_deg(lane) for lane in "abc"] == pytest.approx([n * degrees(0.005) for n in joints])
    top = fit(dogs=DOGS, keying="chain", driven_end="top", bore=Bore(shape="round"), fit_clearance_mm=0.1)
    assert top.discs == ("c", "b", "a")


def test_a_chain_never_turns_further_than_its_bore_allows() -> None:
    dogs = replaced(DOGS, radius_mm=8.0, width_mm=3.0)
    chain = fit(dogs=dogs, keying="chain", fit_clearance_mm=0.2, joints="one-way")
    assert chain.total_deg("a") == pytest.approx(degrees(0.2 / 8))
    assert chain.total_deg("c") == pytest.approx(hexagon(0.2))
    assert chain.shift_deg["c"] == pytest.approx(hexagon(0.2))


def test_one_dog_alone_turns_twice_as_far_and_dogs_have_a_clearance_of_their_own() -> None:
    one = fit(dogs=replaced(DOGS, count=1, clearance_mm=0.05), keying="chain", bore=Bore(shape="round"))
    assert one.joint_deg == pytest.approx(degrees(2 * 0.05 / 20))


def test_a_play_that_is_given_overrides_the_fit() -> None:
    own = fit(joint_play_deg=3.0, joints="one-way")
    assert own.joint_deg == 1.5
    assert own.shift_deg["a"] == 1.5


def test_marks_are_lined_up_on_the_smallest_rim() -> None:
    own = fit(joints="lined-up", lined_up_mm=0.3)
    assert own.smallest_rim_mm is not None
    assert own.lined_limit_deg == pytest.approx(degrees(asin(0.3 / own.smallest_rim_mm)))
    assert float(own.drawn_lined_deg(0.1)) == 0.1  # never more than the play
    assert fit(fixing="glued", joints="loose").law == "lined-up"


def test_a_rod_of_another_shape_does_not_turn_the_disc() -> None:
    assert fit(rod=replaced(ROD, shape="round")).joint_deg == inf
    assert not isfinite(fit(bore=Bore(shape="round")).joint_deg)
    free_from = 5.0 * (2 / sqrt(3) - 1)  # the bore's half width reaches the rod's corner
    assert isfinite(fit(fit_clearance_mm=0.999 * free_from).joint_deg)
    assert not isfinite(fit(fit_clearance_mm=1.001 * free_from).joint_deg)


def rules_of(project: Project) -> list[str]:
    mine = ("free-part", "joint-slips")
    return [finding.rule for finding in examine(project).findings if finding.rule in mine]


def test_free_parts_are_found_and_their_cure_cures() -> None:
    project = three(bore=Bore(shape="round", across_mm=8.0))
    (finding,) = [one for one in examine(project).findings if one.rule == "free-part"]
    assert str(finding.severity) == "error"
    assert words(finding, project).what == (
        "A, B and C turn freely on s: nothing in their round bores holds them."
    )
    assert finding.cure is not None
    after = apply_edit(project, finding.cure.edit or "", **finding.cure.arguments).project
    assert rules_of(after) == []
    assert rules_of(three(bore=Bore(shape="round"), fixing="screwed")) == []
    assert rules_of(three()) == []


def test_pins_that_would_cut_a_wide_pocket_are_not_offered() -> None:
    """Pockets of 3.5 mm about 9 mm reach 12.5 mm; holes of 1.6 mm about 14 mm would begin at 12.4 mm."""
    dogs = Dogs(count=4, radius_mm=9.0, width_mm=3.0, height_mm=2.0, clearance_mm=2.0)
    stack = Stack(
        id="s",
        bore=Bore(shape="round", across_mm=8.0),
        dogs=dogs,
        fit_clearance_mm=0.1,
        spacer_radius_mm=17.0,
    )
    lanes = [gate(name, 100, 120, disc=Disc(base_radius_mm=40.0)) for name in "AB"]
    project = machine(*lanes, stacks=(stack,))
    (finding,) = [one for one in examine(project).findings if one.rule == "free-part"]
    assert finding.cure is not None
    assert "pins" not in finding.cure.sentence
    after = apply_edit(project, finding.cure.edit or "", **finding.cure.arguments).project
    found = {one.rule for one in examine(after).findings}
    assert not found & {"free-part", "bad-part", "weak-part"}


def test_a_clamp_may_carry_a_free_part_where_forces_are_known() -> None:
    def clamped(force: float, load: Load | None) -> Project:
        rod = Rod(across_mm=8.0, below_mm=10.0, above_mm=10.0, clamp_n=force)
        return three(load=load, bore=Bore(shape="round", across_mm=8.0), rod=rod)

    assert rules_of(clamped(5000.0, LOAD)) == []
    assert rules_of(clamped(10.0, LOAD)) == ["free-part"]
    (unknown,) = [one for one in examine(clamped(5000.0, None)).findings if one.rule == "free-part"]
    assert str(unknown.severity) == "warning"
    assert "is not known, as forces are not described" in words(unknown, clamped(5000.0, None)).what


def clamp_nm(force: float, outer: float, inner: float) -> float:
    """Torque of a clamped ring by the formula of machine.md, with half of the force, N·m."""
    arm = (outer**3 - inner**3) / (outer**2 - inner**2)
    return 0.2 * force / 2 * 2 / 3 * arm / 1000


def test_a_joint_slips_just_below_the_force_that_carries_it() -> None:
    def at(force: float, **more: Any) -> Project:
        return three(load=LOAD, rod=replaced(ROD, clamp_n=force), joints="one-way", **more)

    report = examine(at(1.0))
    (finding,) = [one for one in report.findings if one.rule == "joint-slips"]
    peak = finding.value
    assert peak is not None
    assert report.loads is not None
    assert peak == pytest.approx(max(abs(v) for v in report.loads.lanes["a"].drawn_torque_nm), rel=1e-9)
    ring = (12.0, 5.0 / cos(pi / 6))  # spacer, corner of the bore
    assert finding.limit == pytest.approx(clamp_nm(1.0, *ring), rel=1e-9)
    least = peak / clamp_nm(1.0, *ring)
    assert rules_of(at(0.999 * least)) == ["joint-slips"]
    assert rules_of(at(1.001 * least)) == []
    assert rules_of(at(0.999 * least, fixing="glued")) == []
    assert finding.cure is not None
    after = apply_edit(at(1.0), finding.cure.edit or "", **finding.cure.arguments).project
    assert rules_of(after) == []


def test_the_joint_of_a_chain_carries_all_discs_beyond_it() -> None:
    chain = {"dogs": DOGS, "keying": "chain", "rod": replaced(ROD, clamp_n=1.0), "joints": "one-way"}
    first, *_ = [one for one in examine(three(load=LOAD, **chain)).findings if one.rule == "joint-slips"]
    alone = examine(three(load=LOAD, **chain | {"keying": "shaft"})).findings
    single = next(one for one in alone if one.rule == "joint-slips")
    assert first.lanes[0] == "a"
    assert first.value == pytest.approx(3 * (single.value or 0.0), rel=1e-9)  # three lanes that move alike


def test_json_has_the_fit_of_every_stack_with_discs() -> None:
    rider = Lane(id="r", name="R", kind="rider", disc_of="a", station_deg=90.0)
    stacks = (Stack(id="s", bore=HEX, joints="one-way"), Stack(id="bare"))
    made = report_json(examine(machine(gate("A", 100, 120, stack="s"), rider, stacks=stacks)))["fits"]
    delta = pytest.approx(hexagon(0.2), rel=1e-9)
    assert made == {
        "s": {
            "joints": "one-way",
            "clearance_mm": 0.2,
            "play_deg": {"a": delta, "r": delta},
            "shift_deg": {"a": delta, "r": delta},
            "seat_mm": 0.2,
        }
    }


def test_fits_and_their_findings_are_taken_over() -> None:
    project = three(bore=Bore(shape="round", across_mm=8.0))
    first = examine(project)
    moved = apply_edit(project, "set_name", name="Other").project
    second = examine(moved, first, stage=QUICK)
    assert second.fits["s"] is first.fits["s"]
    assert [one for one in second.findings if one.rule == "free-part"] == [
        one for one in first.findings if one.rule == "free-part"
    ]
