"""The sense of the master shaft by vectors of rotation, for every way in which a motor can be placed.

A shaft's rotation is a vector along its axis (right-hand rule): seen from a place to which it points, the
shaft turns counterclockwise. Where two wheels touch, both have one velocity, w1 x p1 = w2 x p2, p from each
wheel's own axis to the contact. That is all that is used here; nothing is taken from the code.
"""

from __future__ import annotations

from itertools import product
from typing import Literal

import numpy as np
import numpy.typing as npt
import pytest

from shaftscore.judge.loads.drive import shaft_turn
from shaftscore.model import CrankSource, Drive, MotorSource, Stage, Turn

Vector = npt.NDArray[np.float64]
Wheels = Literal["external", "internal", "belt", "chain"]
Angled = Literal["bevel", "worm"]

UP = np.array([0.0, 0.0, 1.0])
TURNS: tuple[Turn, Turn] = ("clockwise", "counterclockwise")
PARALLEL: tuple[Wheels, ...] = ("external", "internal", "belt", "chain")
TRAINS: tuple[tuple[Wheels, ...], ...] = ((), *((kind,) for kind in PARALLEL), ("external", "external"))


def seen_from(rotation: Vector, place: Vector) -> Turn:
    """The sense of a rotation seen from a place far out along a direction."""
    return "counterclockwise" if rotation @ place > 0 else "clockwise"


def of_motor(turn: Turn, pointing: Vector) -> Vector:
    """The rotation of a motor's shaft that points some way; its sense is seen looking at its end."""
    return pointing if turn == "counterclockwise" else -pointing


def meshed(rotation: Vector, kind: Wheels) -> Vector:
    """The rotation of a parallel shaft: both wheels have one velocity where they touch."""
    across = np.cross(rotation, np.array([0.3, 0.5, 0.7]))
    across /= np.linalg.norm(across)
    if kind in ("belt", "chain"):  # its outer strand runs along the same side of both wheels
        return rotation
    # The contact, from the driver's axis and from the driven wheel's: on its far side, or within its rim.
    from_driver, from_driven = across, -across if kind == "external" else across
    velocity = np.cross(rotation, from_driver)
    unit = rotation / np.linalg.norm(rotation)
    way = np.sign(velocity @ np.cross(unit, from_driven))
    return unit * way


def bevelled(rotation: Vector, driven_axis: Vector, side: int) -> Vector:
    """The rotation of a shaft across: two cones touch along a line through the point where the axes meet.

    side: on which side of the driver the driven wheel is.
    """
    along = rotation / np.linalg.norm(rotation)
    contact = along + side * driven_axis
    velocity = np.cross(rotation, contact)
    way = np.sign(velocity @ np.cross(driven_axis, contact))
    return driven_axis * way


def wormed(rotation: Vector, driven_axis: Vector, hand: int, side: int) -> Vector:
    """The rotation of a worm wheel: the thread pushes its rim along the worm's axis, as its hand says.

    hand: +1 right-handed: turned counterclockwise seen from one end, the thread moves away from there.
    side: on which side of the wheel's axis the worm lies.
    """
    along = rotation / np.linalg.norm(rotation)
    pushed = -hand * along
    arm = side * np.cross(driven_axis, along)
    way = np.sign(pushed @ np.cross(driven_axis, arm))
    return driven_axis * way


def stage(kind: str, reverses: bool | None = None) -> Stage:
    return Stage(driver_teeth=10, driven_teeth=20, kind=kind, reverses=reverses)  # type: ignore[arg-type]


def driven(turn: Turn, stages: tuple[Stage, ...], *, from_below: bool) -> Turn:
    source = MotorSource(
        kind="motor", rated_speed_rpm=10, rated_torque_nm=1, turn=turn, from_below=from_below
    )
    return shaft_turn(Drive(source=source, stages=stages))


@pytest.mark.parametrize("train", TRAINS)
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("from_below", [False, True])
def test_wheels_alone_on_a_motor_whose_shaft_points_up_or_down(
    train: tuple[Wheels, ...], turn: Turn, from_below: bool
) -> None:
    rotation = of_motor(turn, -UP if from_below else UP)
    for kind in train:
        rotation = meshed(rotation, kind)
    made = tuple(stage(kind) for kind in train)
    assert driven(turn, made, from_below=from_below) == seen_from(rotation, UP)


@pytest.mark.parametrize(("before", "after"), list(product(TRAINS, TRAINS)))
@pytest.mark.parametrize("kind", ["bevel", "worm"])
@pytest.mark.parametrize("turn", TURNS)
def test_a_bevel_or_a_worm_brings_a_motor_that_lies_to_the_stack(
    before: tuple[Wheels, ...], after: tuple[Wheels, ...], kind: Angled, turn: Turn
) -> None:
    """Every way the motor may point, every side and hand; `reverses` as the file format defines it."""
    directions = [np.array(way) for way in ((1.0, 0, 0), (-1.0, 0, 0), (0, 1.0, 0), (0, -1.0, 0))]
    for pointing, side, hand in product(directions, (1, -1), (1, -1)):
        rotation = of_motor(turn, pointing)
        for wheels in before:
            rotation = meshed(rotation, wheels)
        driver = seen_from(rotation, pointing)
        rotation = bevelled(rotation, UP, side) if kind == "bevel" else wormed(rotation, UP, hand, side)
        reverses = seen_from(rotation, UP) != driver
        for wheels in after:
            rotation = meshed(rotation, wheels)
        made = (*map(stage, before), stage(kind, reverses), *map(stage, after))
        for from_below in (False, True):
            assert driven(turn, made, from_below=from_below) == seen_from(rotation, UP)


def test_the_axes_of_a_worm_do_not_say_its_sense() -> None:
    """Same axes, other hand or other side: the wheel turns the other way. So a file must say `reverses`."""
    pointing = np.array((1.0, 0.0, 0.0))
    senses = {
        (hand, side): seen_from(wormed(of_motor("clockwise", pointing), UP, hand, side), UP)
        for hand, side in product((1, -1), (1, -1))
    }
    assert senses[1, 1] == senses[-1, -1] != senses[1, -1] == senses[-1, 1]


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("reverses", [False, True])
@pytest.mark.parametrize("kind", ["bevel", "worm"])
def test_a_first_bevel_or_worm_is_held_against_the_motor_s_shaft_end(
    kind: Angled, reverses: bool, turn: Turn
) -> None:
    """The file format's own words: from_below then changes nothing."""
    other: Turn = TURNS[1 - TURNS.index(turn)]
    for from_below in (False, True):
        made = (stage(kind, reverses),)
        assert driven(turn, made, from_below=from_below) == (other if reverses else turn)


@pytest.mark.parametrize("turn", TURNS)
def test_a_crank_is_seen_from_the_top_from_the_start(turn: Turn) -> None:
    """Format section 1: a crank has no from_below; `turn` is seen from the top."""
    drive = Drive(source=CrankSource(kind="crank", radius_mm=80.0, turn=turn), stages=(stage("external"),))
    assert shaft_turn(drive) == TURNS[1 - TURNS.index(turn)]


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(("leads", "side"), [("up", 1), ("down", -1)])
def test_the_axes_of_a_bevel_stage_say_whether_it_reverses(turn: Turn, leads: str, side: int) -> None:
    """The driver is on the motor’s side of the mesh, the driven wheel where its shaft leads."""
    pointing = np.array([0.0, 1.0, 0.0])
    rotation = of_motor(turn, pointing)
    contact = -pointing + side * UP  # from where the axes meet, along the line in which the cones touch
    velocity = np.cross(rotation, contact)
    driven_rotation = UP * np.sign(velocity @ np.cross(UP, contact))
    axes = {"driver_axis": 90.0, "driven_axis": leads}
    made = Stage.model_validate({"driver_teeth": 10, "driven_teeth": 20, "kind": "bevel", **axes})
    assert driven(turn, (made,), from_below=False) == seen_from(driven_rotation, UP)
