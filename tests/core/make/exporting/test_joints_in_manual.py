"""What the build manual says of play, seat, and how the joints are set; the table of a coupon's holes."""

from __future__ import annotations

import csv
import math
from itertools import pairwise
from pathlib import Path

import pypdf
import pytest
import shapely
from shapely.affinity import rotate

from shaftscore.judge.fits import stack_fit
from shaftscore.make.drawing.joint_texts import joint_steps, play_text, setting_steps
from shaftscore.make.solids.hole_play import hole_plays
from shaftscore.model import Bore, Dogs, Pins, Project, Rod, Stack
from shaftscore.model.base import replaced
from shaftscore.model.shaft import Turn
from shaftscore.solution import solve
from shaftscore.stack import bore_path
from tests.core.make.exporting.conftest import Exporter
from tests.core.make.exporting.machines import one_sided
from tests.samples import sample

HEX = Bore(shape="hex", across_mm=10.0)
DOGS = Dogs(count=3, radius_mm=12.0, width_mm=3.0, height_mm=2.0)
LATE_DEG = math.degrees(math.pi / 6 - math.acos(math.cos(math.pi / 6) * 1.04))
"""Play of a hexagon of 10 mm with 0.2 mm on each side: 4.2458°."""


def said(stack: Stack, turn: Turn = "counterclockwise") -> tuple[str, list[str]]:
    """What the manual says of the play of a stack, and the steps by which its joints are set."""
    project = replaced(one_sided(turn), stacks=(stack,))
    fit = stack_fit(solve(project), stack)
    return play_text(fit), [*joint_steps(project, fit)]


def test_one_way_names_the_sense_and_by_how_much_discs_come_later() -> None:
    play, (step,) = said(Stack(id="main", bore=HEX, joints="one-way"), "clockwise")
    assert play == (
        "main: each disc can turn by ±4.2° on the shaft (clearance 0.20 mm on each side). "
        "A disc can sit up to 0.20 mm off the axis."
    )
    assert step == (
        "Turn all discs counterclockwise while tightening: hold the shaft, turn them counterclockwise, seen "
        "from the top, as far as they go, and keep them there while you tighten the stack. There the shaft "
        "drives them; all discs come later by 4.2°, and the check counts that."
    )


def test_it_states_the_clamping_force_and_how_followers_are_set() -> None:
    """The torque by hand: 0.2 x 600 N x 8 mm = 0.96 N·m (U. C. Jindal, Machine Design: K 0.2)."""
    rod = Rod(across_mm=8.0, below_mm=10.0, above_mm=10.0, clamp_n=600.0)
    clamp = "Clamp the stack with 600 N{}. Half of it is counted, since printed parts creep."
    assert [*setting_steps(Stack(id="s"))] == []
    assert [*setting_steps(Stack(id="s", rod=rod, followers_set="built"))] == [
        clamp.format(""),
        "Set the height of each follower on the built stack: the middle of its roller at the middle of the "
        "disc as it is now.",
    ]
    threaded = Stack(id="s", rod=replaced(rod, shape="round", thread="M8"), followers_set="drawing")
    assert [*setting_steps(threaded)] == [
        clamp.format(": 0.96 N·m on its dry M8 nuts"),
        "Set the height of each follower by dimension, from z 0 to the middle of its disc as drawn.",
    ]


def driven_when_the_rod_leads_by(lead_deg: float) -> int:
    """Sense in which a rod that is turned too far in a hexagon bore pushes the disc: +1 counterclockwise.

    Where the rod would be in the material it pushes at right angles to the wall.
    """
    hole = shapely.Polygon(bore_path(HEX, 0.2).flattened(0.01))
    rod = rotate(shapely.Polygon(bore_path(HEX, 0.0).flattened(0.01)), lead_deg, origin=(0, 0))
    corners = [*hole.exterior.coords]
    walls = [shapely.LineString(pair) for pair in pairwise(corners)]
    torque = 0.0
    for piece in shapely.get_parts(rod.difference(hole)):
        (x0, y0), (x1, y1) = min(walls, key=piece.distance).coords
        outward = (y1 - y0, x0 - x1)  # the hole runs counterclockwise
        at = piece.centroid
        torque += piece.area * (at.x * outward[1] - at.y * outward[0])
    return 1 if torque > 0 else -1


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_the_sense_brings_discs_to_the_flank_that_drives_them(turn: Turn) -> None:
    """The shaft drives a disc in its own sense only while it leads: so the disc must be turned back on it."""
    sign = 1 if turn == "counterclockwise" else -1
    lead = next(
        lead for lead in (LATE_DEG + 1.0, -LATE_DEG - 1.0) if driven_when_the_rod_leads_by(lead) == sign
    )
    back = "counterclockwise" if -lead > 0 else "clockwise"  # of the disc on the shaft
    _, (step,) = said(Stack(id="main", bore=HEX, joints="one-way"), turn)
    assert step.startswith(f"Turn all discs {back} while tightening")


def test_the_rods_size_is_counted_in_the_play_as_built() -> None:
    """h11 at 10 mm: up to 0.090 mm under (ISO 286-2), so 0.245 mm to each side and 5.29°."""
    rod = Rod(across_mm=10.0, below_mm=5.0, above_mm=5.0)
    play, _ = said(Stack(id="main", bore=HEX, rod=rod))
    assert "turn by ±5.3° on the shaft (clearance up to 0.2" in play
    assert "0.20 mm of the hole, the rest of the shaft’s size" in play


def test_as_they_lie() -> None:
    _, (step,) = said(Stack(id="main", bore=HEX, joints="as-they-lie"))
    assert step.startswith("Tighten the discs as they lie: each can then be off by up to 4.2° either way.")


def test_lined_up_says_against_what_and_how_closely() -> None:
    """0.3 mm at the smallest rim, 24 mm: asin(0.3/24) = 0.72°."""
    _, (step,) = said(Stack(id="main", bore=HEX, joints="lined-up"))
    assert step == (
        "Lay a straight edge along the stack and line up the zero marks of all discs along it, to within "
        "0.30 mm at the rim of the smallest disc (±0.7°), then tighten the stack. Check all marks again "
        "afterwards."
    )
    neighbour = Stack(id="main", bore=HEX, joints="lined-up", against="neighbour", lined_up_mm=0.5)
    _, (step,) = said(neighbour)
    assert step.startswith(
        "Line up the zero mark of each disc with that of its neighbour, from the driven end"
    )
    assert "to within 0.50 mm at the rim of the smallest disc (±1.2°)" in step


@pytest.mark.parametrize(("fixing", "how"), [("screwed", "screw each disc"), ("glued", "glue each disc")])
def test_fixed_discs_are_lined_up_first(fixing: str, how: str) -> None:
    _, (step,) = said(Stack(id="main", bore=HEX, fixing=fixing))
    assert f"then {how} to the shaft" in step


def test_loose_joints_of_a_chain_add_up() -> None:
    stack = Stack(id="main", bore=HEX, dogs=DOGS, keying="chain", joints="loose")
    play, (step,) = said(stack)
    assert "each joint can turn by ±1.0° in its dogs (clearance 0.20 mm on each side); in all," in play
    assert step.startswith("The joints keep their play")
    assert step.endswith("by the sum of the joints between it and the driven end.")


def test_pins_are_pushed_through_first() -> None:
    """0.1 mm at 15 mm: 0.38°."""
    pins = Pins(count=2, radius_mm=15.0, across_mm=3.0)
    play, steps = said(Stack(id="main", bore=HEX, pins=pins, joints="as-they-lie"))
    assert "each disc can turn by ±0.4° on its pins (clearance 0.10 mm on each side)" in play
    assert steps[0] == (
        "Push the 2 pins, 3 mm in diameter, through all discs and spacers on the circle of radius 15 mm."
    )
    assert steps[1].startswith("Tighten the discs as they lie: each can then be off by up to 0.4°")


def test_what_drives_the_discs_is_named() -> None:
    """0.1 mm at 15 mm: 0.38°; pins turn the discs where there are any, dogs where they make a chain."""
    pins = Pins(count=2, radius_mm=15.0, across_mm=3.0)
    _, steps = said(Stack(id="main", bore=HEX, pins=pins, dogs=DOGS, keying="chain", joints="one-way"))
    late = "all discs come later by 0.4°, and the check counts that."
    assert steps[1].endswith(f"There the pins drive them; {late}")
    _, (step,) = said(Stack(id="main", bore=HEX, dogs=DOGS, keying="chain", joints="one-way"))
    late = "each disc comes later by the sum of the joints before it."
    assert step.endswith(f"There the dogs of their neighbours drive them; {late}")


def test_discs_that_turn_freely() -> None:
    play, (step,) = said(Stack(id="main", bore=Bore(shape="round", across_mm=10.0), joints="one-way"))
    assert play.startswith("main: the discs turn freely on the shaft; nothing but their fixing holds")
    assert "they turn freely, so no stop will be felt" in step


def machine() -> Project:
    return replaced(one_sided(), stacks=(Stack(id="main", bore=HEX, joints="one-way"),))


def test_each_hole_of_a_coupon_has_its_play() -> None:
    """Hexagon of 10 mm: acos by hand for 0.05, 0.2 and 0.4 mm; across corners it is free from 0.77 mm on."""
    project = machine()
    plays = {one.clearance_mm: one.play_deg for one in hole_plays(project, project.stacks[0])}
    for clearance in (0.05, 0.2, 0.4):
        own = math.degrees(math.pi / 6 - math.acos(math.cos(math.pi / 6) * (1 + clearance / 5)))
        assert plays[clearance] == pytest.approx(own)
    assert [one.hole for one in hole_plays(project, project.stacks[0])] == list(range(1, 9))


def test_a_thin_shaft_turns_freely_in_the_widest_holes() -> None:
    project = replaced(one_sided(), stacks=(Stack(id="main", bore=Bore(shape="hex", across_mm=4.0)),))
    texts = [one.play_text for one in hole_plays(project, project.stacks[0])]
    assert texts[0] == "±2.6°"
    assert texts[-1] == "turns freely"


def test_the_manual_and_the_coupons_table_have_it(exported_once: Exporter) -> None:
    result = exported_once("tea_blender", sample("tea_blender"))
    pages = pypdf.PdfReader(Path(result.out) / "build_manual_a4.pdf").pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    with (result.out / "FIT_fit-coupon-of-main-shaft.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    assert head == ["hole", "clearance_mm", "play_deg"]
    plays = hole_plays(sample("tea_blender"), sample("tea_blender").stacks[0])
    assert [(int(hole), float(gap)) for hole, gap, _ in rows] == [(p.hole, p.clearance_mm) for p in plays]
    assert [float(play) for *_, play in rows] == pytest.approx([p.play_deg for p in plays], abs=1e-4)
    assert f"play of a joint {' '.join(p.play_text for p in plays)}" in text
    fit = stack_fit(solve(sample("tea_blender")), sample("tea_blender").stacks[0])
    assert play_text(fit) in text
    assert "Proof of the fit" in text
    (bores,) = {found.program_deg for found in result.fits if found.name == "bore" and found.part == "A1"}
    times = sum(found.name == "bore" and not found.part.startswith("FIT") for found in result.fits)
    assert f"bore ±{bores:.3f}° {times} times ±" in text
