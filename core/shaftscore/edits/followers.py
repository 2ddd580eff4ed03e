"""Edits of followers as parts: how a lane is moved, its lengths, the same for other lanes.

Arms, rod and thickness are in the follower's record, which the program computes with, and in that of its
parts; an edit of either changes both.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from math import ceil, hypot
from typing import Any, Literal

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.built.bearings import BEARINGS
from shaftscore.edits.base import Edited, changed, consistent, constructed, lane_of, with_lane
from shaftscore.edits.beginnings import NEW_FOLLOWER
from shaftscore.edits.machine import words_of
from shaftscore.model.guided import lane_guidance, travel_mm
from shaftscore.model.lanes import (
    Follower,
    FollowerBase,
    Lane,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
)
from shaftscore.model.parts import FollowerParts, GuideLink
from shaftscore.model.project import Project

MoveKind = Literal["slide", "lever", "straight-line"]
"""How a lane is moved."""

NAMES: Mapping[MoveKind, str] = {
    "slide": "direct slide",
    "lever": "swinging lever",
    "straight-line": "straight-line lever",
}
"""What people call them."""

SHARED = {"arm_mm": "arm_mm", "output_arm_mm": "output_arm_mm", "pivot_rod_mm": "pivot_rod_mm"}
"""Fields of a swinging follower that its parts have too, by the names in both."""

BASE_MM = 30.0
"""Base radius that a new lever is laid out for where none is known, mm."""

ARM_MM, RATIO = 60.0, 2.0
"""Arm of a new lever, mm, and the ratio of its arms."""

GUIDE_MM = 30.0
"""Length of a new guide, mm (common practice: two to three times the width of the bar)."""

GAP_MM = 1.0
"""From the roller at its farthest to the guide, mm."""

END_MM = 6.0
"""From the guide to the output of a new slide, mm."""


def move_by(project: Project, lane_id: str, kind: MoveKind, base_mm: float | None = None) -> Edited:
    """Let a lane be moved by a slide, a lever or a straight-line lever.

    What can be kept of its follower is kept; the parts replace a linkage's table. base_mm: radius of the
    disc where the output is 0, for the places of pivot and guide. Raises EditError where its levels do not
    permit it.
    """
    lane = lane_of(project, lane_id)
    base = base_mm or (BASE_MM if lane.disc.base_radius_mm == "auto" else lane.disc.base_radius_mm)
    make = _slide if kind == "slide" else _lever
    follower, parts = make(lane, kind, base)
    edited = consistent(with_lane(project, changed(lane, follower=follower, parts=parts)))
    return Edited(edited, f"Move {lane.label} by a {NAMES[kind]}", lane_id=lane_id)


def set_parts(project: Project, lane_id: str, **fields: Any) -> Edited:
    """Change fields of the parts of a lane's follower, and of the follower with them.

    Raises EditError where the lane has none, or they are not allowed.
    """
    lane = lane_of(project, lane_id)
    if lane.parts is None:
        raise EditError(f"{lane.label}’s follower is not described as parts")
    parts = changed(lane.parts, **fields)
    own: dict[str, Any] = {}
    if isinstance(lane.follower, SwingingRoller):
        own = {mine: fields[key] for key, mine in SHARED.items() if key in fields}
        if parts.kind == "straight-line":
            own.pop("output_arm_mm", None)
    if "thickness_mm" in fields and lane.follower.arm_thickness_mm is not None:
        own["arm_thickness_mm"] = fields["thickness_mm"]
    follower = changed(lane.follower, **own) if own else lane.follower
    edited = consistent(with_lane(project, changed(lane, follower=follower, parts=parts)))
    return Edited(edited, f"Change the parts of {lane.label}", lane_id=lane_id)


def set_length(project: Project, lane_id: str, path: str, value_mm: float | None) -> Edited:
    """Change one length of a lane's follower or its parts, by its path ("parts.arm_mm"); None: none given.

    Raises EditError for a length that is not allowed.
    """
    record, _, name = path.partition(".")
    if record == "follower":
        return set_follower(project, lane_id, **{name: value_mm})
    if not name.startswith("links"):
        return set_parts(project, lane_id, **{name: value_mm})
    guide = lane_guidance(lane_of(project, lane_id))
    if value_mm is None or guide is None:
        return set_parts(project, lane_id, links=None)
    both = [guide.coupler_mm, guide.guide_mm]
    both[0 if "[0]" in name else 1] = value_mm
    links = tuple(constructed(GuideLink, mm=length) for length in both)
    return set_parts(project, lane_id, links=links)


def set_follower(project: Project, lane_id: str, **fields: Any) -> Edited:
    """Change fields of a lane's follower, and of its parts with them; raises EditError.

    Another bearing brings its own radius and width of the roller.
    """
    lane = lane_of(project, lane_id)
    size = BEARINGS.get(str(fields.get("bearing")))
    if size is not None:
        fields = {"roller_radius_mm": size.outer_mm / 2, "width_mm": size.width_mm, **fields}
    changes: dict[str, Any] = {"follower": changed(lane.follower, **fields)}
    if lane.parts is not None:
        changes["parts"] = _parts_with(lane, lane.parts, fields)
    edited = consistent(with_lane(project, changed(lane, **changes)))
    return Edited(edited, f"Change {lane.label}’s {words_of([*fields])}", lane_id=lane_id)


def follower_fields(lane: Lane, follower: Follower) -> dict[str, Any]:
    """Return the fields of a lane that gets a follower: with it its parts, where what both hold changes.

    Raises EditError where its parts are not for such a follower.
    """
    parts = lane.parts
    if parts is None:
        return {"follower": follower}
    if (follower.kind == "swinging-roller") == (parts.kind == "slide"):
        told = f"{lane.label} has a {NAMES[parts.kind]} for its parts"
        raise EditError(f"{told}; choose other parts or remove them in Lane > Follower parts first")
    before = dict(lane.follower)
    own = {key: value for key, value in follower if value != before.get(key)}
    made = _parts_with(lane, parts, own)
    return {"follower": follower} | ({} if made == parts else {"parts": made})


def remove_parts(project: Project, lane_id: str) -> Edited:
    """Let a lane's follower not be described as parts any more; the follower stays."""
    lane = lane_of(project, lane_id)
    follower = lane.follower
    if lane.parts is not None and lane.parts.kind == "straight-line":
        assert isinstance(follower, SwingingRoller)
        follower = changed(follower, output_arm_mm=lane.parts.output_mm)
    kept = {key: getattr(lane, key) for key in lane.model_fields_set - {"parts", "follower"}}
    made = constructed(Lane, **kept, follower=follower)
    return Edited(consistent(with_lane(project, made)), f"Remove the parts of {lane.label}", lane_id=lane_id)


def _parts_with(lane: Lane, parts: FollowerParts, fields: Mapping[str, Any]) -> FollowerParts:
    """Return the parts of a lane with what its follower's fields change in them."""
    own = {key: fields[mine] for key, mine in SHARED.items() if fields.get(mine) is not None}
    if fields.get("arm_thickness_mm") is not None:
        own["thickness_mm"] = fields["arm_thickness_mm"]
    if isinstance(lane.follower, SwingingRoller) and {"pivot_distance_mm", "pivot_side"} & set(fields):
        own["pivot"] = None  # it is where the follower's record says
    return changed(parts, **own) if own else parts


def copy_parts(project: Project, lane_id: str, others: Sequence[str]) -> Edited:
    """Put the follower and the parts of a lane on other lanes as well.

    Raises EditError where a lane cannot have them, with its name.
    """
    lane = lane_of(project, lane_id)
    made = {other: _with_parts_of(lane, lane_of(project, other)) for other in others}
    copied = changed(project, lanes=tuple(made.get(one.id, one) for one in project.lanes))
    try:
        consistent(copied)
    except EditError:
        for one in made.values():  # one by one only here: each looks at the whole project
            with _named(one):
                consistent(with_lane(project, one))
        raise
    named = f"Copy the parts of {lane.label} to {counted(len(others), 'lane')}"
    return Edited(copied, named, lane_id=lane_id)


def _with_parts_of(lane: Lane, other: Lane) -> Lane:
    """Return a lane with the follower and the parts of another one; raises EditError with its name."""
    with _named(other):
        return changed(other, follower=lane.follower, parts=lane.parts)


@contextmanager
def _named(lane: Lane) -> Iterator[None]:
    """Return a context that names a lane in an EditError."""
    try:
        yield
    except EditError as error:
        raise EditError(f"{lane.label}: {error}") from error


def copy_differs(project: Project, lane_id: str, other_id: str) -> tuple[str, ...]:
    """Return in what another lane differs from a lane, so that a copied follower may not do there."""
    lane, other = lane_of(project, lane_id), lane_of(project, other_id)
    found = []
    if travel_mm(lane) != travel_mm(other):
        found.append("highest level")
    if lane.disc.base_radius_mm != other.disc.base_radius_mm:
        found.append("base radius")
    if lane.disc.thickness_mm != other.disc.thickness_mm:
        found.append("disc thickness")
    return tuple(found)


def _common(lane: Lane) -> dict[str, Any]:
    """Return what every kind of follower keeps of a lane's, and what a part needs."""
    own = lane.follower
    names = set(FollowerBase.model_fields) & own.model_fields_set
    kept = {name: getattr(own, name) for name in names - {"link", "output_ratio"}}
    if not isinstance(own, TranslatingFlat):
        kept["roller_radius_mm"] = own.roller_radius_mm
        if own.bearing is not None:
            kept["bearing"] = own.bearing
    return {**NEW_FOLLOWER, **kept}


def _lever(lane: Lane, kind: MoveKind, base_mm: float) -> tuple[Follower, FollowerParts]:
    """Return a lever and its parts: of a lane that has one, or square to the travel in its middle."""
    common, own = _common(lane), lane.follower
    if isinstance(own, SwingingRoller):
        arm, distance, side = own.arm_mm, own.pivot_distance_mm, own.pivot_side
        output = lane.parts.output_mm if lane.parts is not None else own.output_arm_mm or own.arm_mm
    else:
        arm, side = ARM_MM, "clockwise"
        ratio = own.output_ratio if own.output_ratio != 1 else RATIO
        output = round(arm * ratio, 1)
        middle = base_mm + common.get("roller_radius_mm", 0.0) + travel_mm(lane) / ratio / 2
        distance = round(hypot(middle, arm), 1)
    common.setdefault("roller_radius_mm", 5.0)
    parts = _parts(lane, kind, common, {"arm_mm": arm, "output_arm_mm": output})
    placed = {"arm_mm": arm, "pivot_distance_mm": distance, "pivot_side": side}
    if kind == "lever":
        placed["output_arm_mm"] = output
    follower = constructed(
        SwingingRoller,
        **{
            **_wide(common, parts.pivot_rod_mm),
            **placed,
            "kind": "swinging-roller",
            "pivot_rod_mm": parts.pivot_rod_mm,
        },
    )
    return follower, parts


def _slide(lane: Lane, kind: MoveKind, base_mm: float) -> tuple[Follower, FollowerParts]:
    """Return a bar in a guide that begins where the roller does not come, and its parts."""
    own, common = lane.follower, _common(lane)
    if isinstance(own, TranslatingFlat):
        raise EditError(f"{lane.label}: a flat face is not made as a slide; choose a roller first")
    common.setdefault("roller_radius_mm", 5.0)
    common = _wide(common, 0.0)
    half = common["body_width_mm"] / 2
    prime = base_mm + common["roller_radius_mm"]
    start = float(ceil(prime + travel_mm(lane) + half + GAP_MM))
    length = GUIDE_MM
    if isinstance(own, TranslatingRoller):
        start = max(own.guide_start_mm or 0.0, start)
        length = own.guide_length_mm or length
        named = ("offset_mm", "overhang_mm", "guide_friction")
        common |= {name: getattr(own, name) for name in named if name in own.model_fields_set}
    arm = float(ceil(start - prime + length + END_MM))
    follower = constructed(
        TranslatingRoller,
        **{**common, "kind": "translating-roller", "guide_start_mm": start, "guide_length_mm": length},
    )
    return follower, _parts(lane, kind, common, {"arm_mm": arm})


def _parts(
    lane: Lane, kind: MoveKind, common: Mapping[str, Any], lengths: Mapping[str, float]
) -> FollowerParts:
    """Return parts of a kind with what can be kept of a lane's."""
    kept: dict[str, Any] = {}
    if lane.parts is not None:
        names = {"output_hole_mm", "pivot_rod_mm"} | ({"links"} if kind == lane.parts.kind else set())
        kept = {name: getattr(lane.parts, name) for name in names & lane.parts.model_fields_set}
    elif isinstance(lane.follower, SwingingRoller) and "pivot_rod_mm" in lane.follower.model_fields_set:
        kept = {"pivot_rod_mm": lane.follower.pivot_rod_mm}
    return constructed(
        FollowerParts, **{**kept, **lengths, "kind": kind, "thickness_mm": common["arm_thickness_mm"]}
    )


def _wide(common: Mapping[str, Any], rod_mm: float) -> dict[str, Any]:
    """Return a follower's fields with a body that is wide enough for its roller and its pivot."""
    radius = common["roller_radius_mm"]
    own = common.get("body_width_mm") or 2 * radius
    return {**common, "body_width_mm": max(own, 8.0, float(ceil(rod_mm + 5.0)) if rod_mm else 0.0)}
