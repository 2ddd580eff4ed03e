"""Edits of what was seen while the machine was cranked by hand, and what lanes and levels mean for it.

Ticks go into the newest sheet. A sighting follows its level's new name; with its lane or its level it goes,
and the name of the undo step says so.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, listed, part_name
from shaftscore.edits.base import Edited, angle_words, changed, consistent, constructed, lane_of, wrapped
from shaftscore.model.bench import BringUp, BringUpCheck, Sighting
from shaftscore.model.project import Project

SHOWN = 3
"""So many lanes are named in the name of an undo step; of more the rest are counted."""


def start_sheet(project: Project, date: str, revisions: Mapping[str, str] | None = None) -> Edited:
    """Begin a sheet of what is seen; it is the newest from now on.

    date: of today, year-month-day. revisions: of the discs on the machine, by code. Raises EditError if the
    date is none, or there are as many sheets as a project keeps.
    """
    sheet = constructed(BringUp, date=date, revisions=dict(revisions) if revisions else None)
    return Edited(changed(project, bring_up=(*project.bring_up, sheet)), f"Begin a bring-up sheet, {date}")


def delete_sheet(project: Project, index: int) -> Edited:
    """Remove a sheet, counted from 0; raises EditError if it is not there."""
    sheets = project.bring_up
    if not 0 <= index < len(sheets):
        raise EditError(f"there is no sheet {index + 1}; the project has {len(sheets)}")
    rest = (*sheets[:index], *sheets[index + 1 :])
    return Edited(changed(project, bring_up=rest), f"Remove the bring-up sheet of {sheets[index].date}")


def tick(project: Project, angle_deg: float, seen: Mapping[str, Sighting]) -> Edited:
    """Write down what was seen of some lanes at a master angle, degrees, in the newest sheet.

    seen: level, output in mm, or None where the lane cannot be seen, by lane; it replaces what was written
    there before. Raises EditError if there is no sheet, lane or level of that name.
    """
    angle, sheet = wrapped(angle_deg), _newest(project)
    labels = [lane_of(project, lane_id).label for lane_id in seen]
    before = sheet.check_at(angle)
    old = {} if before is None else dict(before.seen)
    made = _with_check(sheet, angle, {**old, **seen})
    what = listed(labels) if len(labels) <= SHOWN else counted(len(labels), "lane")
    return Edited(consistent(_with_newest(project, made)), f"Tick {what} at {angle_words(angle)}")


def forget(project: Project, angle_deg: float, lane_ids: Collection[str] | None = None) -> Edited:
    """Remove sightings of lanes, of all if None, at a master angle, degrees, from the newest sheet.

    Raises EditError if there is no sheet.
    """
    angle, sheet = wrapped(angle_deg), _newest(project)
    before = sheet.check_at(angle)
    if before is None:
        return Edited(project, f"Clear the check at {angle_words(angle)}")
    left = {} if lane_ids is None else {key: own for key, own in before.seen.items() if key not in lane_ids}
    made = _with_check(sheet, angle, left)
    return Edited(_with_newest(project, made), f"Clear the check at {angle_words(angle)}")


def count_items(project: Project, end: str, items: Sequence[int | None]) -> Edited:
    """Write down how many items came to an outlet or a magazine in the first turns, in the newest sheet.

    items: of each turn, None where they were not counted; nothing counted in any turn removes the row. Raises
    EditError if there is no sheet, or for a number that no count can be.
    """
    sheet = _newest(project)
    arrived = {**(sheet.arrived or {}), end: tuple(items)}
    if all(one is None for one in items):
        del arrived[end]
    made = changed(sheet, arrived=arrived or None)
    return Edited(_with_newest(project, made), f"Count items in {part_name(end)}")


def _newest(project: Project) -> BringUp:
    if not project.bring_up:
        raise EditError("there is no bring-up sheet yet; begin one first")
    return project.bring_up[-1]


def _with_newest(project: Project, sheet: BringUp) -> Project:
    return changed(project, bring_up=(*project.bring_up[:-1], sheet))


def _with_check(sheet: BringUp, angle: float, seen: Mapping[str, Sighting]) -> BringUp:
    """Put what was seen at an angle in the place of its check; a check without sightings goes."""
    here = sheet.check_at(angle)
    rest = [check for check in sheet.checks if check is not here]
    if seen:
        own = angle if here is None else here.angle_deg
        rest.append(constructed(BringUpCheck, angle_deg=own, seen=dict(seen)))
    return changed(sheet, checks=tuple(sorted(rest, key=lambda check: check.angle_deg)))


# What lanes and levels mean for sightings


def sightings_of(project: Project, lane_id: str) -> int:
    """Count the sightings of a lane, over all sheets."""
    return sum(lane_id in check.seen for sheet in project.bring_up for check in sheet.checks)


def sheets_without(sheets: Sequence[BringUp], lane_id: str) -> tuple[BringUp, ...]:
    """Return the sheets without the sightings of a lane."""
    return _kept(sheets, lambda lane, _: lane != lane_id)


def sheets_renamed(
    sheets: Sequence[BringUp], lane_ids: Collection[str], names: Mapping[str, str]
) -> tuple[BringUp, ...]:
    """Return the sheets with the levels of some lanes called by their new names."""

    def renamed(check: BringUpCheck) -> BringUpCheck:
        seen = {
            lane: names.get(level, level) if lane in lane_ids and isinstance(level, str) else level
            for lane, level in check.seen.items()
        }
        return check if seen == check.seen else changed(check, seen=seen)

    return tuple(_with_checks(sheet, [renamed(check) for check in sheet.checks]) for sheet in sheets)


def without_lost_sightings(project: Project) -> tuple[Project, str]:
    """Drop the sightings of levels that their lanes no longer have; those of lanes left out of a part stay.

    Returns the project and what the name of the undo step adds (" with 3 sightings"; empty for none).
    """

    def known(lane_id: str, sighting: Sighting) -> bool:
        if not isinstance(sighting, str) or lane_id not in project.lane_index:
            return True
        return sighting in project.levels_of(project.lane(lane_id))

    if all(known(lane_id, level) for sheet in project.bring_up for lane_id, level in sheet.named):
        return project, ""
    sheets = _kept(project.bring_up, known)
    lost = _count(project.bring_up) - _count(sheets)
    return changed(project, bring_up=sheets), f" with {counted(lost, 'sighting')}"


def _count(sheets: Sequence[BringUp]) -> int:
    return sum(len(check.seen) for sheet in sheets for check in sheet.checks)


def _kept(sheets: Sequence[BringUp], keeps: Callable[[str, Sighting], bool]) -> tuple[BringUp, ...]:
    """Return the sheets with those sightings that `keeps`; checks without any go."""
    return tuple(_with_checks(sheet, [_thinned(check, keeps) for check in sheet.checks]) for sheet in sheets)


def _thinned(check: BringUpCheck, keeps: Callable[[str, Sighting], bool]) -> BringUpCheck | None:
    seen = {lane: own for lane, own in check.seen.items() if keeps(lane, own)}
    if len(seen) == len(check.seen):
        return check
    return changed(check, seen=seen) if seen else None


def _with_checks(sheet: BringUp, checks: Sequence[BringUpCheck | None]) -> BringUp:
    """Return a sheet with other checks, None left out; the same object where nothing changed."""
    kept = tuple(check for check in checks if check is not None)
    same = len(kept) == len(sheet.checks) and all(
        new is old for new, old in zip(kept, sheet.checks, strict=True)
    )
    return sheet if same else changed(sheet, checks=kept)
