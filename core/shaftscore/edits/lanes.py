"""Edits of lanes: add, delete, rename, reorder, and what a lane is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, listed
from shaftscore.edits.base import Edited, changed, consistent, lane_of, with_lane, wrapped
from shaftscore.edits.beginnings import new_roller
from shaftscore.edits.machine import words_of
from shaftscore.edits.mentions import mentions, with_levels_renamed, without_lane
from shaftscore.edits.names import free_id
from shaftscore.edits.sightings import without_lost_sightings
from shaftscore.model.codes import with_codes
from shaftscore.model.lanes import Lane, Load
from shaftscore.model.project import Project


def add_lane(
    project: Project, name: str, group: str, levels: Mapping[str, float], after: str | None = None
) -> Edited:
    """Add a lane without blocks; its id is made of its name, its code given.

    levels: name to output, mm. after: id of the lane that it shall follow, the last if None. It stands on
    that lane's stack. Raises EditError if the levels are not allowed or there is no such lane.
    """
    neighbour = (
        lane_of(project, after) if after is not None else (project.lanes[-1] if project.lanes else None)
    )
    stack = neighbour.stack if neighbour is not None else None
    empty = Lane(id=free_id(name, project.lane_index), stack=stack, follower=new_roller())
    made = changed(empty, name=name, group=group, levels=levels)
    place = len(project.lanes) if neighbour is None else project.lane_index[neighbour.id] + 1
    lanes = with_codes([*project.lanes[:place], made, *project.lanes[place:]])
    edited = consistent(changed(project, lanes=lanes))
    return Edited(edited, f"Add lane {made.label}", lane_id=made.id)


def delete_lane(project: Project, lane_id: str) -> Edited:
    """Remove a lane, and with it the rules, gates, measurements and sightings that speak of it.

    A rule between several lanes stays for the others. Raises EditError if another lane rides on its
    disc or items are sent its way.
    """
    lane = lane_of(project, lane_id)
    riders = [other.label for other in project.lanes if other.disc_of == lane_id]
    if riders:
        raise EditError(f"{listed(riders)} rides on {lane.label}’s disc; delete that first")
    gone = mentions(project, lane_id)
    edited = consistent(without_lane(project, lane_id))
    return Edited(edited, f"Delete lane {lane.label}" + (f" with {listed(gone)}" if gone else ""))


def delete_lanes(project: Project, lane_ids: Sequence[str]) -> Edited:
    """Remove lanes as one step, riders before their discs. Raises EditError as `delete_lane`."""
    chosen = sorted(dict.fromkeys(lane_ids), key=lambda lane_id: lane_of(project, lane_id).disc_of is None)
    edited = Edited(project, f"Delete {counted(len(chosen), 'lane')}")
    for lane_id in chosen:
        edited = delete_lane(edited.project, lane_id)
    return edited if len(chosen) == 1 else Edited(edited.project, f"Delete {counted(len(chosen), 'lane')}")


def rename_lane(project: Project, lane_id: str, name: str) -> Edited:
    """Rename a lane; its id stays. Raises EditError if the name is over 200 characters."""
    lane = lane_of(project, lane_id)
    made = changed(lane, name=name)
    return Edited(with_lane(project, made), f"Rename {lane.label} to {made.label}", lane_id=lane_id)


def move_lane(project: Project, lane_id: str, place: int, group: str | None = None) -> Edited:
    """Move a lane to another place among the lanes, counted from 0; discs keep their order.

    group: the group that it shall belong to there, its own if None. Raises EditError if there is no such
    lane.
    """
    lane = lane_of(project, lane_id)
    rest = [other for other in project.lanes if other is not lane]
    at = max(0, min(place, len(rest)))
    moved = lane if group in (None, lane.group) else changed(lane, group=group)
    edited = changed(project, lanes=(*rest[:at], moved, *rest[at:]))
    return Edited(edited, f"Move lane {lane.label}", lane_id=lane_id)


def group_lanes(project: Project, lane_ids: Sequence[str], group: str) -> Edited:
    """Put lanes into a group, one below the other where the first of them stands; "" for none.

    Raises EditError if there is no such lane.
    """
    chosen = {lane_id: lane_of(project, lane_id) for lane_id in lane_ids}
    first = min(project.lane_index[lane_id] for lane_id in chosen)
    own = [changed(lane, group=group) for lane in project.lanes if lane.id in chosen]
    before = [lane for lane in project.lanes[:first] if lane.id not in chosen]
    after = [lane for lane in project.lanes[first:] if lane.id not in chosen]
    what = chosen[lane_ids[0]].label if len(chosen) == 1 else counted(len(chosen), "lane")
    name = f"Put {what} into {group}" if group else f"Take {what} out of the group"
    return Edited(changed(project, lanes=(*before, *own, *after)), name)


def set_lane(project: Project, lane_id: str, **fields: Any) -> Edited:
    """Change fields of a lane; raises EditError if it is not there or they are not allowed."""
    lane = lane_of(project, lane_id)
    if fields.get("id", lane_id) != lane_id:
        raise EditError(f'the id "{lane_id}" stays, since others refer to it; change the name instead')
    edited, lost = without_lost_sightings(with_lane(project, changed(lane, **fields)))
    name = f"Change {lane.label}’s {words_of([*fields])}{lost}"
    return Edited(consistent(edited), name, lane_id=lane_id)


def spread_followers(project: Project, stations: Mapping[str, float]) -> Edited:
    """Put the followers of lanes at other stations, degrees by lane id; their programs stay.

    Raises EditError if there is no such lane, or it has riders or is one, since their programs would move.
    """
    ridden = {lane.disc_of for lane in project.lanes}
    made = project
    for lane_id, angle in stations.items():
        lane = lane_of(project, lane_id)
        if lane.kind == "rider" or lane_id in ridden:
            raise EditError(f"{lane.label} shares its disc with another lane; its follower stays where it is")
        made = with_lane(made, changed(lane, station_deg=wrapped(angle)))
    count = len({wrapped(angle) for angle in stations.values()})
    return Edited(made, f"Spread followers over {counted(count, 'station')}")


def set_kind(project: Project, lane_id: str, kind: str, disc_of: str | None = None) -> Edited:
    """Let a lane be of another kind; what only its old kind has goes with it.

    disc_of: for a rider, the lane on whose disc it rides, the first other disc if None. Raises EditError
    where there is no such disc, for kind points without points, and where rules, gates or measurements
    name a level that would go.
    """
    lane = lane_of(project, lane_id)
    if kind == "points" and lane.points is None:
        raise EditError(f"{lane.label} has no points yet: read them with Lane > Points from CSV…")
    gone = (
        {"points", "disc_of"}
        if kind != "rider"
        else {"points", "levels", "blocks", "guarded", "law", "stack"}
    )
    if kind == "points":
        gone = {"disc_of"}
    kept = {key: getattr(lane, key) for key in lane.model_fields_set - gone - {"kind"}}
    made = changed(Lane(id=lane.id), **kept, kind=kind, **_riding(project, lane, kind, disc_of))
    edited, lost = without_lost_sightings(with_lane(project, made))
    return Edited(consistent(edited), f"Let {lane.label} be of kind {kind}{lost}", lane_id=lane_id)


def _riding(project: Project, lane: Lane, kind: str, disc_of: str | None) -> dict[str, Any]:
    """Write on which disc a rider rides."""
    if kind != "rider":
        return {}
    discs = [other.id for other in project.lanes if other.has_disc and other is not lane]
    if not discs:
        raise EditError("there is no other disc to ride on")
    return {"disc_of": disc_of or discs[0]}


def set_disc(project: Project, lane_id: str, **fields: Any) -> Edited:
    """Change fields of a lane's disc; raises EditError if they are not allowed."""
    return _set_part(project, lane_id, "disc", fields)


def set_discs(project: Project, lane_ids: Sequence[str], **fields: Any) -> Edited:
    """Change the same fields of the discs of several lanes.

    Raises EditError if a lane is not there or they are not allowed.
    """
    made = project
    for lane_id in lane_ids:
        made = set_disc(made, lane_id, **fields).project
    if len(lane_ids) == 1:
        return set_disc(project, lane_ids[0], **fields)
    return Edited(made, f"Change the {words_of([*fields])} of {counted(len(lane_ids), 'disc')}")


def size_base_circles(project: Project) -> Edited:
    """Let every disc be as small as its limits allow: an automatic base radius for each.

    Raises EditError if an arm does not reach a base that is not given.
    """
    lanes = [
        changed(lane, disc=changed(lane.disc, base_radius_mm="auto"))
        if lane.has_disc and lane.disc.base_radius_mm != "auto"
        else lane
        for lane in project.lanes
    ]
    return Edited(consistent(changed(project, lanes=tuple(lanes))), "Size all base circles")


def set_load(project: Project, lane_id: str, **fields: Any) -> Edited:
    """Change fields of a lane's load (made if there is none); raises EditError if they are not allowed."""
    return _set_part(project, lane_id, "load", fields)


def _set_part(project: Project, lane_id: str, part: str, fields: Mapping[str, Any]) -> Edited:
    lane = lane_of(project, lane_id)
    own = getattr(lane, part)
    made = changed(Load() if own is None else own, **fields)
    edited = consistent(with_lane(project, changed(lane, **{part: made})))
    return Edited(edited, f"Change {lane.label}’s {words_of([*fields])}", lane_id=lane_id)


def set_levels(
    project: Project, lane_id: str, levels: Mapping[str, float], renamed: Mapping[str, str] | None = None
) -> Edited:
    """Replace the levels of a lane, name to output in mm.

    renamed: old name to new, for levels that only change their name: blocks, guards, rules, gates and
    measurements go with them, and so do sightings; those of levels that go are dropped. Raises EditError if a
    level that is used otherwise would go.
    """
    lane = lane_of(project, lane_id)
    names = dict(renamed or {})
    blocks = [changed(b, level=names[b.level]) if b.level in names else b for b in lane.blocks]
    guarded = [names.get(level, level) for level in lane.guarded]
    made = changed(lane, levels=levels, blocks=tuple(blocks), guarded=tuple(guarded))
    renamed_project = with_levels_renamed(with_lane(project, made), lane_id, names)
    edited, lost = without_lost_sightings(renamed_project)
    return Edited(consistent(edited), f"Change {lane.label}’s levels{lost}", lane_id=lane_id)
