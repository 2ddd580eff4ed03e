"""Small machines for tests of exports, and independent roller and motion to hold their files against."""

from __future__ import annotations

from typing import Any

import numpy as np

from shaftscore.model import (
    Block,
    Bore,
    Disc,
    Follower,
    Lane,
    Print,
    Project,
    Shaft,
    Stack,
    TranslatingFlat,
    TranslatingRoller,
    Turn,
)
from shaftscore.model.codes import with_codes

LIFT_MM = 7.0
REST, OPEN = (10.0, 95.0), (150.0, 232.0)
"""The one-sided program: rest, a rise, open, a longer fall."""


def one_sided(
    turn: Turn = "counterclockwise",
    *,
    turns: int = 1,
    station_deg: float = 40.0,
    offset_mm: float = 0.0,
    follower: Follower | None = None,
    bore: Bore | None = None,
    printing: Print | None = None,
    name: str = "Tea flap",
    **disc: Any,
) -> Project:
    """A machine of one lane that rises late in the turn: no mirror image of it is the same."""
    fixing = "glued" if bore is not None and bore.shape == "round" else "keyed"  # a round bore turns freely
    lane = Lane(
        id="flap",
        name=name,
        levels={"closed": 0.0, "open": LIFT_MM},
        blocks=(
            Block(level="closed", start_deg=REST[0], end_deg=REST[1]),
            Block(level="open", start_deg=OPEN[0], end_deg=OPEN[1]),
        ),
        law="polynomial-345",
        station_deg=station_deg,
        follower=follower
        or TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm=offset_mm),
        disc=Disc(**{"base_radius_mm": 24.0, **disc}),
    )
    return Project(
        format="shaftscore-project",
        version=2,
        name="Test machine",
        shaft=Shaft(turn=turn, speed_rpm=6.0),
        stacks=(Stack(id="main", turns=turns, bore=bore or Bore(), fixing=fixing),),
        lanes=with_codes((lane,)),
        print=printing or Print(),
    )


def output_345(own_deg: np.ndarray) -> np.ndarray:
    """The program's output by the polynomial 10x³ - 15x⁴ + 6x⁵, written out independently."""
    theta = own_deg - 360.0 * np.floor(own_deg / 360.0)
    rise = np.clip((theta - REST[1]) / (OPEN[0] - REST[1]), 0, 1)
    after = np.where(theta < REST[0], theta + 360.0, theta)
    fall = np.clip((after - OPEN[1]) / (REST[0] + 360.0 - OPEN[1]), 0, 1)
    fall = np.where((after > OPEN[1]) | (theta < REST[0]), fall, 0.0)

    def shape(x: np.ndarray) -> np.ndarray:
        return 10 * x**3 - 15 * x**4 + 6 * x**5

    return LIFT_MM * np.where(fall > 0, 1 - shape(fall), shape(rise))


FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=60.0)
