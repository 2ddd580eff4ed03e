"""Play and seat of bores and dogs read back from files: closed forms, and shapely, as two other routes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from shaftscore.built.fits import DogMate, FlatMate, Mate, PinMate, PolygonMate
from shaftscore.make.proof.convex import body_of_ring, hole_of_ring
from shaftscore.make.proof.fits import FitFigures, FitTask
from shaftscore.make.proof.mates import fit_inputs
from shaftscore.make.proof.rim import RimError
from shaftscore.make.proof.turning import Points
from shaftscore.make.solids import disc_part
from shaftscore.make.solids.part import printed
from shaftscore.make.solids.solid import part_mesh
from shaftscore.model import Bore, Dogs, Pins, Print, Project, Rod, Stack
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from shaftscore.stack import BulgePath, bore_path, dog_paths, pin_paths
from tests.core.make.exporting.machines import one_sided

HOLE_MM = 0.07
"""What the printer makes holes too small by, which a file for it makes good."""

BORES: dict[str, tuple[Bore, Mate]] = {
    "hex": (Bore(shape="hex", across_mm=10.0), PolygonMate(6, 10.0)),
    "square": (Bore(shape="square", across_mm=9.0), PolygonMate(4, 9.0)),
    "d": (Bore(shape="d", across_mm=10.0, flat_mm=8.0), FlatMate(10.0, 8.0)),
    "shallow d": (Bore(shape="d", across_mm=12.0, flat_mm=11.0), FlatMate(12.0, 11.0)),
}


def machine(bore: Bore, clearance_mm: float, dogs: Dogs | None = None) -> Project:
    project = one_sided(printing=Print(hole_mm=HOLE_MM, contour_mm=-0.04))
    stack = Stack(id="main", bore=bore, dogs=dogs, fit_clearance_mm=clearance_mm)
    return replaced(project, stacks=(stack,))


def in_file(path: BulgePath) -> Points:
    """A ring as a file for a printer has it: chords of 0.002 mm, corners on a grid of 10 nm."""
    return np.asarray(np.round(path.flattened(0.002), 5) @ np.array([1, 1j]))


def task_of(project: Project, name: str) -> FitTask:
    (task,) = (t for t in fit_inputs(project, project.stacks[0]).tasks("printed") if t.name == name)
    return task


def figures(project: Project, name: str) -> FitFigures:
    """What is found of openings as they are written, grown for the printer."""
    stack, clearance = project.stacks[0], project.stacks[0].fit_clearance_mm
    if name == "bore":
        rings = [in_file(bore_path(stack.bore, clearance + HOLE_MM))]
    else:
        assert stack.dogs is not None
        grown = clearance + HOLE_MM if name == "pockets" else -0.04
        rings = [in_file(path) for path in dog_paths(stack.dogs, grown)]
    return task_of(project, name).fitted(rings)


@pytest.mark.parametrize("clearance_mm", [0.0, 0.05, 0.2, 0.3])
@pytest.mark.parametrize("shape", BORES)
def test_play_is_the_closed_form(shape: str, clearance_mm: float) -> None:
    bore, mate = BORES[shape]
    found = figures(machine(bore, clearance_mm), "bore")
    assert found.plays_deg == pytest.approx([float(mate.play_deg(clearance_mm))] * 2, abs=0.005)


@pytest.mark.parametrize("clearance_mm", [0.0, 0.05, 0.2])
@pytest.mark.parametrize("shape", ["hex", "square", "d", "shallow d", "round"])
def test_seat_is_the_clearance(shape: str, clearance_mm: float) -> None:
    bore = BORES[shape][0] if shape in BORES else Bore(shape="round", across_mm=8.0)
    found = figures(machine(bore, clearance_mm), "bore")
    assert found.seat_mm == pytest.approx(clearance_mm, abs=0.001)


def test_a_hexagon_of_10_4_mm_turns_by_4_2_degrees_on_a_rod_of_10() -> None:
    """The figure that a check of exported discs once missed: measured on the version before."""
    found = figures(machine(BORES["hex"][0], 0.2), "bore")
    assert found.plays_deg == pytest.approx([4.2458, 4.2458], abs=0.001)


@pytest.mark.parametrize(("shape", "clearance_mm"), [("hex", 0.8), ("square", 2.0), ("d", 1.05)])
def test_too_wide_a_bore_turns_freely(shape: str, clearance_mm: float) -> None:
    """Across corners 11.547, 12.728 and 10 mm: the bore of 11.6, 13 and flat at 5.1 mm lets them pass."""
    found = figures(machine(BORES[shape][0], clearance_mm), "bore")
    assert found.plays_deg == (np.inf, np.inf)


def test_a_round_bore_is_proved_by_its_shifts_alone() -> None:
    found = figures(machine(Bore(shape="round", across_mm=8.0), 0.15), "bore")
    assert found.plays_deg == (np.inf, np.inf)
    assert found.shifts_mm == pytest.approx([0.15] * 72, abs=0.001)


@pytest.mark.parametrize("share", [0.375, 0.625])
def test_points_on_chords_do_not_narrow_a_hole(share: float) -> None:
    """Triangles cut chords: the second of three holes of 1 mm, at 180 degrees on a circle of 11.67 mm."""
    path = pin_paths(Pins(count=3, radius_mm=11.67, across_mm=1.0), 0.0)[1]
    ring = in_file(path)
    cut = np.column_stack([ring, ring + share * (np.roll(ring, -1) - ring)]).ravel()
    hole = hole_of_ring(cut)
    from_axis = hole.distances_mm - (np.conj(hole.normals) * -11.67).real
    assert from_axis.min() == pytest.approx(0.5, abs=1e-4)
    assert len(hole.normals) == len(hole_of_ring(ring).normals)


def test_an_arc_beside_a_flat_is_as_long_again_once_a_correction_is_taken_back() -> None:
    """A D of 2.63 mm drawn 0.95 mm smaller all round has lost its arc from 43 to 73 degrees off the flat.

    By the program every wall of the hole is 0.19 mm from the rod's: along a normal of it, so is the shift.
    """
    bore = Bore(shape="d", across_mm=2.63, flat_mm=2.2355)
    project = replaced(machine(bore, 0.19), print=Print(hole_mm=-0.95))
    found = task_of(project, "bore").fitted([in_file(bore_path(bore, 0.19 - 0.95))])
    angle = np.abs(np.degrees(np.angle(np.exp(2j * np.pi * np.arange(72) / 72))))
    normal = (angle == 0) | (angle > 45.0)
    assert np.asarray(found.shifts_mm)[normal] == pytest.approx(0.19, abs=0.002)


def shifts_left(body: shapely.Polygon, hole: shapely.Polygon) -> shapely.Geometry:
    """All shifts by which a body lies within a convex hole: what the hole moved by each corner shares."""
    left = hole
    for x, y in body.exterior.coords[:-1]:
        left = left.intersection(translate(hole, -x, -y)) if left is not hole else translate(hole, -x, -y)
    return left


@pytest.mark.parametrize("shape", ["hex", "square", "d"])
def test_play_is_that_of_shapely_on_the_exported_bore(shape: str) -> None:
    """Just before the angle there is a shift that fits, just beyond it none does, either way.

    Here the chords of a D stay as they are in the file: 0.002 mm, which turn it by 0.06°.
    """
    before = 0.06 if shape == "d" else 0.02
    project = machine(BORES[shape][0], 0.2)
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    mesh = part_mesh(printed(disc_part(project, project.lanes[0], profile)))
    reach = bore_path(BORES[shape][0], 0.2 + HOLE_MM).largest_radius + 0.1  # marks keep 1 mm away
    plan = mesh.corners[:, :2]
    section = np.unique(np.round(plan[np.hypot(*plan.T) < reach], 6), axis=0)
    ring = section[np.argsort(np.arctan2(section[:, 1], section[:, 0]))]
    play = task_of(project, "bore").fitted([ring @ np.array([1, 1j])]).clockwise_deg
    hole = shapely.Polygon(ring).buffer(-HOLE_MM, join_style="mitre")
    rod = shapely.Polygon(bore_path(BORES[shape][0], 0.0).flattened(0.002))
    for way in (-1, 1):
        assert not shifts_left(rotate(rod, way * (play - before), origin=(0, 0)), hole).is_empty
        assert shifts_left(rotate(rod, way * (play + 0.05), origin=(0, 0)), hole).is_empty


DOGS = [
    Dogs(count=1, radius_mm=11.0, width_mm=3.0, height_mm=2.0),
    Dogs(count=2, radius_mm=11.0, width_mm=3.0, height_mm=2.0),
    Dogs(count=3, radius_mm=9.0, width_mm=4.0, height_mm=2.0),
    Dogs(count=6, radius_mm=14.0, width_mm=4.0, height_mm=2.0),
]


@pytest.mark.parametrize("name", ["pockets", "dogs"])
@pytest.mark.parametrize("dogs", DOGS, ids=lambda dogs: f"{dogs.count} dogs")
def test_play_of_dogs(dogs: Dogs, name: str) -> None:
    """By the closed form c/r, 2c/r of one alone; the long dog's far ends meet a little before."""
    project = machine(BORES["hex"][0], 0.15, dogs)
    found = figures(project, name)
    closed = float(DogMate(dogs.count, dogs.radius_mm).play_deg(0.15))
    long_share = float(np.hypot(1.0, dogs.width_mm / 2 / dogs.radius_mm))
    assert closed / long_share - 0.005 <= min(found.plays_deg) <= max(found.plays_deg) <= closed + 0.002
    assert found.plays_deg == pytest.approx(task_of(project, name).program.plays_deg, abs=0.005)
    assert found.seat_mm == pytest.approx(0.15, abs=0.001)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_play_of_pins(count: int) -> None:
    """c/r, whatever their number: 0.1 mm at 16 mm, 0.358°."""
    pins = Pins(count=count, radius_mm=16.0, across_mm=4.0)
    project = machine(BORES["hex"][0], 0.2)
    project = replaced(project, stacks=(replaced(project.stacks[0], pins=pins),))
    rings = [in_file(path) for path in pin_paths(pins, 0.1 + HOLE_MM)]
    found = task_of(project, "pin holes").fitted(rings)
    assert found.plays_deg == pytest.approx([float(PinMate(16.0).play_deg(0.1))] * 2, abs=0.002)
    assert found.seat_mm == pytest.approx(0.1, abs=0.001)


def _kept_in(dogs: Dogs, turn_deg: float) -> Iterator[shapely.Geometry]:
    """Shifts that each peg, turned about the axis, has in its own pocket."""
    for peg, pocket in zip(dog_paths(dogs, 0.0), dog_paths(dogs, 0.15), strict=True):
        body = rotate(shapely.Polygon(peg.flattened(0.001)), turn_deg, origin=(0, 0))
        yield shifts_left(body, shapely.Polygon(pocket.flattened(0.0005)))


def test_play_of_dogs_is_that_of_shapely() -> None:
    dogs = DOGS[2]
    play = figures(machine(BORES["hex"][0], 0.15, dogs), "pockets").clockwise_deg
    assert not shapely.intersection_all([*_kept_in(dogs, play - 0.03)]).is_empty
    assert shapely.intersection_all([*_kept_in(dogs, play + 0.03)]).is_empty


def test_dogs_without_clearance_do_not_turn() -> None:
    for name in ("pockets", "dogs"):
        assert figures(machine(BORES["hex"][0], 0.0, DOGS[2]), name).plays_deg == (0.0, 0.0)


@pytest.mark.parametrize("chord_mm", [0.002, 0.0005, 0.0001])
@pytest.mark.parametrize("width_mm", [0.3, 1.0, 3.0])
def test_a_short_side_beside_fine_arcs_stays_straight(width_mm: float, chord_mm: float) -> None:
    """The long dog reaches half its width beyond its circle, and as far as its width along it, no farther.

    Chords as in printers' files, in STEP and in drawings as they are read: its sides turn by as little as a
    chord of its ends does in a coarser file.
    """
    dogs = Dogs(count=1, radius_mm=8.0, width_mm=width_mm, height_mm=1.0)
    ring = np.asarray(dog_paths(dogs, 0.0)[0].flattened(chord_mm) @ np.array([1, 1j]))
    body = body_of_ring(ring, chord_mm=chord_mm)
    outward, inward, *along = body.reach_mm(np.array([1, -1, 1j, -1j]))
    assert [outward, -inward] == pytest.approx([8.0 + width_mm / 2, 8.0 - width_mm / 2], abs=1e-6)
    assert along == pytest.approx([width_mm, width_mm], abs=chord_mm / 10)
    hole = hole_of_ring(ring, chord_mm=chord_mm)
    faces = hole.distances_mm[np.abs(hole.normals - 1) < 1e-6]
    assert faces == pytest.approx([8.0 + width_mm / 2], abs=1e-6)


def turned(ring: Points, degrees: float) -> Points:
    return np.asarray(ring * np.exp(1j * np.radians(degrees)))


def test_a_bore_turned_counterclockwise_lets_its_part_turn_clockwise() -> None:
    """A disc whose hole is ahead of its zero mark has to turn back to go on: its play is 1° more that way."""
    project = machine(BORES["hex"][0], 0.2)
    ring = turned(in_file(bore_path(BORES["hex"][0], 0.2 + HOLE_MM)), 1.0)
    found = task_of(project, "bore").fitted([ring])
    assert found.clockwise_deg == pytest.approx(5.246, abs=0.005)
    assert found.counterclockwise_deg == pytest.approx(3.246, abs=0.005)


def test_pegs_turned_counterclockwise_let_their_part_turn_clockwise() -> None:
    """The other way of reading: the file holds the pegs, the neighbour the pockets."""
    project = machine(BORES["hex"][0], 0.2, DOGS[2])
    rings = [turned(in_file(path), 0.5) for path in dog_paths(DOGS[2], -0.04)]
    found = task_of(project, "dogs").fitted(rings)
    assert found.clockwise_deg - found.counterclockwise_deg == pytest.approx(1.0, abs=0.01)


def test_a_part_that_does_not_go_on_has_no_play() -> None:
    project = machine(BORES["hex"][0], 0.2)
    ring = turned(in_file(bore_path(BORES["hex"][0], 0.2 + HOLE_MM)), 20.0)
    assert np.isnan(task_of(project, "bore").fitted([ring]).plays_deg).all()


def test_a_hollow_opening_is_refused() -> None:
    """A nick in a side is no bore that a rod can be fitted into by its hull."""
    ring = in_file(bore_path(BORES["square"][0], 0.2))
    nick = (ring[0] + ring[1]) / 2 * 0.98
    with pytest.raises(RimError, match="hollow by"):
        hole_of_ring(np.insert(ring, 1, nick))


def test_figures_are_those_of_the_nominal_rod() -> None:
    """The file holds no rod: its undersize widens the play of the machine, not that of the file."""
    project = machine(BORES["hex"][0], 0.2)
    rod = Rod(across_mm=10.0, below_mm=5.0, above_mm=5.0, tolerance="h11")
    with_rod = replaced(project, stacks=(replaced(project.stacks[0], rod=rod),))
    assert figures(with_rod, "bore").plays_deg == figures(project, "bore").plays_deg
