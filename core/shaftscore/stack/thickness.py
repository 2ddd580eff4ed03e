"""How thick the material of a part must stay, and how deep its marks go: common to bodies and checks."""

from __future__ import annotations

from shaftscore.model import Lane, Print

FLOOR_MM = 0.8
"""Least material over a pocket, under a groove or a mark: four usual layers (common practice, no source)."""

GAP_MM = 0.8
"""Least gap between two dogs: two lines of a usual nozzle (common practice, no source)."""

MARK_MM, MARK_SHARE = 0.6, 0.4
"""Marks are this deep (three usual layers, common practice), on a thin disc this share of its thickness."""


CHAMFER_SHARE = 0.4
"""A chamfer takes at most this share of the thickness on each face, and of a groove's depth and rim."""


def edge_chamfer_mm(lane: Lane) -> float:
    """Return the chamfer on the running edges of a lane's disc that its thickness has room for, mm."""
    disc = lane.disc
    room = [disc.thickness_mm]
    if lane.follower.closure == "groove":
        room += [disc.groove_depth_mm, disc.rim_mm]
    return min(disc.edge_chamfer_mm, CHAMFER_SHARE * min(room))


def bottom_chamfer_mm(printer: Print, lane: Lane) -> float:
    """Return how high the chamfer at the bottom of a lane's printed disc may be, mm: edge or foot chamfer."""
    foot = min(printer.foot_chamfer_mm, CHAMFER_SHARE * lane.disc.thickness_mm)
    return max(edge_chamfer_mm(lane), foot)


def mark_depth(thickness_mm: float) -> float:
    """Depth of the marks on a part, mm."""
    return min(MARK_MM, MARK_SHARE * thickness_mm)
