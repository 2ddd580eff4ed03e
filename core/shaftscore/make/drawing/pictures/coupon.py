"""The fit coupon larger than life, and what a tight, a right and a loose hole look like."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import millimetres, plain
from shaftscore.layout.placed import Points
from shaftscore.layout.stacks import own_code
from shaftscore.make.drawing.dimensions import dimension
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.pictures.prisms import contour_of
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, scene
from shaftscore.make.solids import CLEARANCES_MM, MadePart
from shaftscore.model import Stack

SCALES = (4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5)
"""Scales at which a coupon is drawn, the largest that has room."""

MEASURE_MM = 14.0
"""Room for a dimension line above and beside the coupon, mm on paper."""

SAME_MM = 0.001
"""A clearance of the project that is no farther from one of the coupon is that one."""

RING = 1.35
"""Radius of the dashed ring about a hole over the hole's own."""


@dataclass(frozen=True, eq=False)
class CouponPicture:
    """A coupon, its lower left corner at the origin, mm on paper. scale: mm on paper by mm of the coupon.

    code, revision: engraved on it. hole: number, from 1, of the one with the project's clearance; None where
    the project's is none of them. told: a sentence that says the scale and what is dashed.
    """

    scene: Scene
    scale: float
    code: str
    revision: str
    hole: int | None
    told: str


def coupon_picture(
    machine: PicturedMachine, stack: Stack, wide_mm: float, high_mm: float
) -> CouponPicture | None:
    """Return the coupon of a stack in a room on paper, mm; None where it is not made."""
    made = machine.made(own_code("FIT", machine.project, stack))
    if not made:
        return None
    part = made[0]
    size = np.ptp(part.outline, axis=0)
    room = min((wide_mm - MEASURE_MM) / size[0], (high_mm - MEASURE_MM) / size[1])
    scale = next((one for one in SCALES if one <= room), float(room))
    number = project_hole(stack)
    marks = list(_coupon(part, number, scale))
    offset = scale * complex(size[0], size[1]) / 2
    drawn = scene(marks).placed(1.0, offset)
    return CouponPicture(drawn, scale, part.code, part.revision, number, _told(stack, scale, number))


def project_hole(stack: Stack) -> int | None:
    """Return the number, from 1, of the hole with the project's clearance; None where it is none of them."""
    for number, clearance in enumerate(CLEARANCES_MM, start=1):
        if abs(clearance - stack.fit_clearance_mm) <= SAME_MM:
            return number
    return None


def _told(stack: Stack, scale: float, number: int | None) -> str:
    drawn = "Drawn at full size." if scale == 1 else f"Drawn {plain(scale, 2)} times full size."
    now = f"{millimetres(stack.fit_clearance_mm, 2)} on each side"
    if number is None:
        return f"{drawn} The clearance in the project now, {now}, is that of no hole."
    return f"{drawn} Dashed: the clearance in the project now, {now}."


def _coupon(part: MadePart, number: int | None, scale: float) -> Iterator[Mark]:
    """Yield the marks of a coupon about its middle, mm on paper."""
    outline = scale * (part.outline @ np.array([1, 1j]))
    yield Path(outline, Stroke("ink", "bold"), True, fill="paper", name=part.code)
    for place, path in enumerate(part.holes, start=1):
        yield from _hole(scale * contour_of(path), is_own=place == number)
    if part.dogs is not None:
        for pocket in part.dogs.pockets:
            yield Path(scale * contour_of(pocket), Stroke("muted", "hair", "dashed"), True, name="pocket")
        for peg in part.dogs.pegs:
            yield Path(scale * contour_of(peg), Stroke("ink", "outline"), True, fill="face", name="peg")
    for name, strokes in part.marks.groups.items():
        line = Stroke("ink", "bold") if name == "clearances" else Stroke("muted", "outline")
        for stroke in strokes:
            yield Path(scale * np.asarray(stroke), line, name=name)
    yield from _measures(part, scale)


def _hole(hole: Points, *, is_own: bool) -> Iterator[Mark]:
    if not is_own:
        yield Path(hole, Stroke("ink", "outline"), True, name="hole")
        return
    yield Path(hole, Stroke("new", "bold"), True, fill="new-face", name="hole of the project")
    middle = hole.mean()
    ring = RING * np.abs(hole - middle).max() * np.exp(2j * np.pi * np.arange(64) / 64)
    yield Path(middle + ring, Stroke("ink", "outline", "dashed"), True, name="ring")


def _measures(part: MadePart, scale: float) -> Iterator[Mark]:
    low, high = (complex(*(scale * end)) for end in (part.outline.min(axis=0), part.outline.max(axis=0)))
    wide, tall = np.ptp(part.outline, axis=0)
    aside = 6.0
    yield from dimension(complex(low.real, high.imag), high, aside * 1j, millimetres(float(wide)))
    yield from dimension(complex(high.real, low.imag), high, aside + 0j, millimetres(float(tall)))


# Tight, right, loose


@dataclass(frozen=True, eq=False)
class FitPicture:
    """One of three holes with the rod in it, its lower left corner at the origin, mm on paper."""

    scene: Scene
    title: str
    text: str
    is_right: bool


ROD_WIDE, ROD_HIGH, WALL_WIDE, WALL_HIGH = 0.28, 0.62, 0.2, 0.3
"""Sizes by the height of a picture: of the rod and of the walls beside it."""


def fit_pictures(stack: Stack, high_mm: float) -> tuple[FitPicture, ...]:
    """Return the pictures of a rod in holes of the coupon: too tight, right, too loose, mm on paper."""
    edges = {"hex": (0.25, 0.75), "square": (), "round": (), "d": (0.8,)}[stack.bore.shape]
    return (
        FitPicture(
            _fit(high_mm, edges, gap=-0.02, up=True, tilt_deg=0.0, is_right=False),
            "Does not go in by hand",
            "Take the next larger hole.",
            is_right=False,
        ),
        FitPicture(
            _fit(high_mm, edges, gap=0.012, up=False, tilt_deg=0.0, is_right=True),
            "Goes in by hand, no play",
            "This is your number.",
            is_right=True,
        ),
        FitPicture(
            _fit(high_mm, edges, gap=0.07, up=False, tilt_deg=4.0, is_right=False),
            "Goes in and wobbles",
            "Take the next smaller hole.",
            is_right=False,
        ),
    )


def _fit(
    high: float, edges: tuple[float, ...], *, gap: float, up: bool, tilt_deg: float, is_right: bool
) -> Scene:
    """Return a rod in a hole; gap: between rod and wall, by the height; up: the rod is over it."""
    rod, wall = ROD_WIDE * high, WALL_WIDE * high
    inner = rod / 2 + gap * high
    middle = complex(wall + rod / 2 + 0.07 * high, 0.0)
    low, top = 0.16 * high, (0.16 + WALL_HIGH) * high
    marks: list[Mark] = []
    for way in (-1, 1):
        near, far = middle.real + way * inner, middle.real + way * (inner + wall)
        corners = np.array([complex(near, low), complex(far, low), complex(far, top), complex(near, top)])
        marks.append(Path(corners, Stroke("ink", "outline"), True, "paper", "rising", name="wall"))
    bottom = top + 0.015 * high
    tall = min(ROD_HIGH * high, high - bottom) if up else ROD_HIGH * high
    centre = complex(middle.real, bottom + tall / 2 if up else (low + top) / 2)
    marks += _rod(centre, rod, tall, edges, tilt_deg)
    sign = complex(middle.real + inner + wall + 0.18 * high, (low + top) / 2)
    marks += [_tick(sign, 0.12 * high)] if is_right else _cross(sign, 0.08 * high)
    return scene(marks)


def _rod(
    centre: complex, wide: float, tall: float, edges: tuple[float, ...], tilt_deg: float
) -> Iterator[Path]:
    turn = np.exp(-1j * np.radians(tilt_deg))
    half = complex(wide, tall) / 2
    corners = np.array([-half, half.conjugate(), half, -half.conjugate()])
    yield Path(centre + turn * corners, Stroke("ink", "outline"), True, "shade", name="rod")
    for share in edges:
        x = (share - 0.5) * wide
        line = np.array([complex(x, -tall / 2), complex(x, tall / 2)])
        yield Path(centre + turn * line, Stroke("muted", "hair"), name="edge of the rod")


def _tick(at: complex, size: float) -> Path:
    corners = np.array([at - size, at - 0.3 * size - 0.7j * size, at + size + 0.8j * size])
    return Path(corners, Stroke("ink", "bold"), name="right")


def _cross(at: complex, size: float) -> Iterator[Path]:
    for way in (1 + 1j, 1 - 1j):
        yield Path(np.array([at - size * way, at + size * way]), Stroke("ink", "bold"), name="wrong")
