"""A machine of gates as a skilled person would work it out with numpy, scipy, shapely and trimesh.

Motions by the modified-sine law, profiles as the inner envelope of the roller, pressure angle and curvature,
who is open when, the pairs that must never be open together, and a printable disc with its bore each.
Everything is sampled at a tenth of a degree, except where a gate opens and closes, which is solved for.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from shapely import affinity
from shapely.geometry import Point, Polygon

BASE, ROLLER, LIFT, THICKNESS, BORE, BAND = 75.0, 5.0, 10.0, 6.0, 12.0, 1.0
MOVE_DEG, OPEN_DEG = 24.0, 12.0
THETA = np.linspace(0.0, 360.0, 3601)


def modified_sine(x):
    k = 1.0 / (4.0 + np.pi)
    mid = k * (2.0 + np.pi * x - 2.25 * np.sin(4.0 * np.pi / 3.0 * x + np.pi / 3.0))
    first = k * (np.pi * x - 0.25 * np.sin(4.0 * np.pi * x))
    last = k * (4.0 + np.pi * x - 0.25 * np.sin(4.0 * np.pi * x))
    return np.where(x < 0.125, first, np.where(x < 0.875, mid, last))


def lift_curve(opens):
    along = (THETA - opens) % 360.0
    s = np.zeros_like(THETA)
    s[along <= OPEN_DEG] = LIFT
    falls = (along > OPEN_DEG) & (along < OPEN_DEG + MOVE_DEG)
    s[falls] = LIFT * (1.0 - modified_sine((along[falls] - OPEN_DEG) / MOVE_DEG))
    rises = along > 360.0 - MOVE_DEG
    s[rises] = LIFT * modified_sine((along[rises] - 360.0 + MOVE_DEG) / MOVE_DEG)
    s[-1] = s[0]
    return CubicSpline(np.radians(THETA), s, bc_type="periodic")


def figures(curve):
    t = np.radians(THETA)
    y, v, a = BASE + ROLLER + curve(t), curve(t, 1), curve(t, 2)
    pressure = np.degrees(np.abs(np.arctan2(v, y))).max()
    curvature = (y * y + 2.0 * v * v - y * a) / (y * y + v * v) ** 1.5
    convex = curvature > 0.0
    return pressure, (1.0 / curvature[convex] - ROLLER).min()


def profile(curve):
    t = np.radians(THETA[:-1])
    y = BASE + ROLLER + curve(t)
    pitch = Polygon(np.column_stack([y * np.cos(-t), y * np.sin(-t)]))
    disc = pitch.buffer(-ROLLER, quad_segs=32)
    if disc.geom_type != "Polygon":
        raise ValueError("the roller does not get everywhere: the disc falls apart")
    return disc


def open_between(curve, opens):
    def above(deg):
        return curve(np.radians(deg % 360.0)) - (LIFT - BAND)

    first = brentq(above, opens - MOVE_DEG, opens)
    last = brentq(above, opens + OPEN_DEG, opens + OPEN_DEG + MOVE_DEG)
    return first, last


def overlap(one, other):
    length, shift = one[1] - one[0], (other[0] - one[0]) % 360.0
    other_length = other[1] - other[0]
    return max(0.0, min(length, shift + other_length) - shift) + max(0.0, shift + other_length - 360.0)


def body(disc, number):
    bore = Point(0.0, 0.0).buffer(BORE / 2.0, quad_segs=32)
    mark = affinity.translate(Point(0.0, 0.0).buffer(1.0), BASE - 6.0, 0.0)
    solid = trimesh.creation.extrude_polygon(disc.difference(bore.union(mark)), THICKNESS, engine="manifold")
    if not solid.is_watertight:
        raise ValueError(f"disc {number} is not closed")
    return solid


def figured(opens, pairs):
    """Work out figures alone; returns pressure angles, least radii and overlaps of pairs."""
    curves = [lift_curve(start) for start in opens]
    pressures, radii = zip(*(figures(curve) for curve in curves), strict=True)
    states = [open_between(curve, start) for curve, start in zip(curves, opens, strict=True)]
    return pressures, radii, [overlap(states[a], states[b]) for a, b in pairs]


def run(opens, pairs, folder: Path):
    """Work out the machine and write its discs; returns the figures, and the areas of the discs."""
    areas = []
    for number, start in enumerate(opens):
        disc = profile(lift_curve(start))
        body(disc, number).export(folder / f"disc_{number}.stl")
        areas.append(disc.area)
    return *figured(opens, pairs), areas
