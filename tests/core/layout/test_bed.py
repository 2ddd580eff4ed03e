"""Parts over the printer's bed: bars in pieces where they can be, pillars in lengths, all else refused."""

from __future__ import annotations

import pytest

from shaftscore.judge.findings import words
from shaftscore.judge.report import examine
from shaftscore.layout.bar_joints import joint_faults
from shaftscore.layout.follower_bars import lever_bar
from shaftscore.layout.followers import follower_layout
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_places import frame_placements
from shaftscore.make.solids.lever import lever_part
from shaftscore.make.solids.pillar import pillar_part
from shaftscore.make.solids.split import pieces_of
from shaftscore.model import Hub, MachineFrame, Print, Project, Rod, Stack, replaced
from shaftscore.solution import solve
from tests.follower_machine import lever_lane
from tests.machines import gate, machine

BED = Print(bed_x_mm=100.0, bed_y_mm=100.0)


def bad(project: Project) -> list[str]:
    return [words(one, project).what for one in examine(project).findings if one.rule == "bad-part"]


@pytest.mark.parametrize(
    ("fields", "pieces"),
    [({}, 2), ({"spring_hook_mm": 88.0}, 2), ({"output_hole_mm": 6.0}, 2)],
)
def test_a_lever_over_the_bed_is_passed_where_it_is_divided(fields: dict[str, float], pieces: int) -> None:
    lane = lever_lane()
    project = replaced(machine(replaced(lane, parts=replaced(lane.parts, **fields))), print=BED)
    layout = follower_layout(project, solve(project).lanes["lever"])
    assert layout is not None
    assert [*joint_faults(BED, lever_bar(layout))] == []
    assert len(pieces_of(project, lever_part(project, layout))) == pieces
    assert bad(project) == []


def test_a_lever_without_room_for_a_joint_is_refused() -> None:
    """From 70 to 100 % of a bed of 60 mm a bar of 10.4 mm at most has no key of 2.5 mm beside its holes."""
    lane = lever_lane()
    project = replaced(machine(lane), print=Print(bed_x_mm=24.0, bed_y_mm=24.0))
    layout = follower_layout(project, solve(project).lanes["lever"])
    assert layout is not None
    (note,) = [note for note in pieces_of(project, lever_part(project, layout))[0].notes if "split" in note]
    assert "it cannot be split" in note
    assert any("A2-L: it is 130 mm long" in one and "no place for a joint" in one for one in bad(project))


def test_a_hub_and_a_guide_over_the_bed_are_refused() -> None:
    hub = Hub(kind="bolted", thickness_mm=10.0, bolt_circle_mm=90.0)
    stack = Stack(id="s", name="Main shaft", hub=hub)
    project = replaced(machine(gate("Ginger", 100, 130, 50.0), stacks=(stack,)), print=BED)
    # bolts of 3 mm in holes of 3.4 mm on a circle of 90 mm, 1.2 mm of material about them: 95.8 mm
    assert not [one for one in bad(project) if "larger than the printer" in one]
    small = replaced(project, print=Print(bed_x_mm=95.0, bed_y_mm=120.0))
    assert [
        one
        for one in bad(small)
        if one.startswith("The hub of Main shaft of 96 mm x 96 mm x 10 mm is larger")
    ]


def test_pillars_are_made_in_lengths_that_the_printer_reaches() -> None:
    """Seats of bearings 608 in plates of 6 mm: 5 mm deep, their middles 1.5 mm behind the faces."""
    stack = Stack(id="s", rod=Rod(across_mm=8.0, below_mm=40.0, above_mm=40.0))
    lanes = [gate(name, 60.0 * k, 60.0 * k + 30, 50.0) for k, name in enumerate(("Ginger", "Rose"))]
    project = replaced(machine(*lanes, stacks=(stack,)), frame=MachineFrame(), print=Print(bed_z_mm=60.0))
    plan = machine_frame(solve(project))
    assert plan is not None
    assert plan.pillar_pieces == 2
    part = pillar_part(project, plan)
    assert (part.count, part.thickness_mm) == (8, pytest.approx(plan.between_mm / 2))
    assert "made in 2 equal lengths" in part.notes[0]
    placed = [one for one in frame_placements(project, plan) if one.instance.startswith("pillar F1")]
    assert [one.bottom_mm - plan.plates["bottom"][1] for one in placed] == [0.0, part.thickness_mm]
    assert bad(project) == []
