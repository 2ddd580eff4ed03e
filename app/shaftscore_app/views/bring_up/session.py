"""What the Bring-up view works on: the stops, the current one, the chosen lane, and the ticks of the sheet.

Nothing can be entered before the two safety ticks are set; they are of this time at the bench and are not
kept. What is ticked goes into the project at once, a step each. A sheet is of the discs that were on the
machine when it was begun: when their revisions are others by now, the next tick begins a new sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import QObject, Signal

from shaftscore.base.wording import counted
from shaftscore.bringup import BuiltOutputs, check_angles, differs_from_drawn, read_sightings
from shaftscore.bringup.stops import BenchStop, ExpectedLevel, bench_stop, expected, is_resting
from shaftscore.edits import Edited, count_items, delete_sheet, forget, set_home, start_sheet, tick
from shaftscore.make.solids.revisions import disc_revisions
from shaftscore.model import BringUp, BringUpCheck, Lane, Project
from shaftscore.model.bench import Sighting
from shaftscore.solution import Solution
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.runtime.dates import today
from shaftscore_app.runtime.jobs import Jobs

JOB = "bring-up stops"
"""Kind of the job that chooses the stops."""

SAME_DEG = 0.005
"""Angles nearer to one another than they are written are one stop, degrees."""

TICKS_FIRST = "Set both ticks first: power off, springs hooked."


class BringUpSession(QObject):
    """The work at the bench. Over 300 lines, since the parts of the view ask it for all that they show.

    Signals: changed() when stop, lane, ticks or sightings changed; stopped() when the machine is to be turned
    to another stop; status_message(sentence) with why something could not be done; spoken(text) with what
    screen readers heard.
    """

    changed = Signal()
    stopped = Signal()
    status_message = Signal(str)
    spoken = Signal(str)

    def __init__(
        self,
        document: Document,
        jobs: Jobs | None,
        day: Callable[[], str] = today,
        parent: QObject | None = None,
    ) -> None:
        """Begin at the first stop of the document's machine; day: gives the date of a new sheet."""
        super().__init__(parent)
        self._document, self._jobs, self._day = document, jobs, day
        self.power_off = self.springs_hooked = False
        self.stops: tuple[BenchStop, ...] = ()
        self.place = 0
        self.lane_id: str | None = None
        self._order: tuple[str, ...] = ()
        self._planned: tuple[float, ...] = ()
        self._extra: set[float] = set()
        self._made_of: tuple[object, ...] = ()
        self._outputs = BuiltOutputs(self.solution)
        self._differs: dict[tuple[float, str, str | float], bool] = {}
        self._opened = document.opened
        self._expected: dict[tuple[float, str], ExpectedLevel | None] = {}
        self._resting: dict[tuple[float, str], bool] = {}
        self._revisions: Mapping[str, str] | None = None
        self._changed: tuple[object, tuple[str, ...]] = (None, ())
        self._wrong: tuple[tuple[object, ...], tuple[tuple[int, str], ...]] = ((), ())

    # What is there

    @property
    def project(self) -> Project:
        """The project shown."""
        return self._document.project

    @property
    def solution(self) -> Solution:
        """The machine, solved."""
        return self._document.report.solution

    @property
    def is_ready(self) -> bool:
        """Whether both safety ticks are set."""
        return self.power_off and self.springs_hooked

    @property
    def stop(self) -> BenchStop | None:
        """The current stop; None where there is none."""
        return self.stops[self.place] if self.stops else None

    @property
    def sheet(self) -> BringUp | None:
        """The sheet that ticks go into: the newest, if it is of the discs as they are; else None."""
        sheets = self.project.bring_up
        return None if not sheets or self.changed_discs() else sheets[-1]

    def changed_discs(self) -> tuple[str, ...]:
        """Return the codes of the discs that are others than those of the newest sheet."""
        sheets, now = self.project.bring_up, self._revisions
        kept = sheets[-1].revisions if sheets else None
        if kept is None or now is None:
            return ()
        if self._changed[0] is not kept:
            self._changed = (
                kept,
                tuple(c for c in dict.fromkeys((*kept, *now)) if kept.get(c) != now.get(c)),
            )
        return self._changed[1]

    def revisions(self) -> Mapping[str, str]:
        """Return the revision of every disc by its code, as it would be engraved now."""
        if self._revisions is None:
            self._revisions = disc_revisions(self.solution)
        return self._revisions

    @property
    def order(self) -> tuple[str, ...]:
        """The lanes shown, in order; of a project that was just opened only those that it has too."""
        lanes = self.project.lane_index
        return tuple(lane_id for lane_id in self._order if lane_id in lanes)

    def lane(self, lane_id: str) -> Lane:
        """Return a lane of the project."""
        return self.project.lane(lane_id)

    def levels(self, lane_id: str) -> tuple[str, ...]:
        """Return the levels of a lane, lowest first."""
        levels = self.project.levels_of(self.lane(lane_id))
        return tuple(sorted(levels, key=lambda level: levels[level]))

    def expected(self, lane_id: str, place: int | None = None) -> ExpectedLevel | None:
        """Return where a lane is expected at a stop, the current one if None; None without a motion."""
        angle = self.stops[self.place if place is None else place].angle_deg
        key = (angle, lane_id)
        if key not in self._expected:
            solved = self.solution.lanes[lane_id]
            has_motion = solved.motion is not None
            self._expected[key] = expected(self.project, solved, angle) if has_motion else None
        return self._expected[key]

    def is_resting(self, lane_id: str, place: int | None = None) -> bool:
        """Return whether a lane dwells at a stop, so that it is asked for."""
        angle = self.stops[self.place if place is None else place].angle_deg
        key = (angle, lane_id)
        if key not in self._resting:
            solved = self.solution.lanes[lane_id]
            has_motion = solved.motion is not None
            self._resting[key] = has_motion and is_resting(self.project, solved, angle)
        return self._resting[key]

    def check(self, place: int | None = None) -> BringUpCheck | None:
        """Return what was seen at a stop, the current one if None; None where nothing was."""
        sheet = self.sheet
        at = self.place if place is None else place
        return None if sheet is None or not self.stops else sheet.check_at(self.stops[at].angle_deg)

    def is_seen(self, lane_id: str, place: int | None = None) -> bool:
        """Return whether anything is written down for a lane at a stop, "cannot see" included."""
        check = self.check(place)
        return check is not None and lane_id in check.seen

    def sighting(self, lane_id: str, place: int | None = None) -> Sighting:
        """Return what was seen of a lane at a stop; None where nothing was, or it cannot be seen."""
        check = self.check(place)
        return None if check is None else check.seen.get(lane_id)

    def differs(self, lane_id: str, place: int | None = None) -> bool:
        """Return whether what was seen of a lane at a stop is not as expected."""
        seen = self.sighting(lane_id, place)
        if seen is None:
            return False
        key = (self.stops[self.place if place is None else place].angle_deg, lane_id, seen)
        if key not in self._differs:
            self._differs[key] = differs_from_drawn(self._outputs, *key)
        return self._differs[key]

    def has_difference(self, place: int) -> bool:
        """Return whether any lane differed at a stop."""
        check = self.check(place)
        return check is not None and any(self.differs(lane_id, place) for lane_id in check.seen)

    def differences(self) -> tuple[tuple[int, str], ...]:
        """Return all that differs, as (number of the stop, lane id), in the order of the stops."""
        key = (self.sheet, self.stops, self._made_of)
        if not is_same(key, self._wrong[0]):
            found = (
                (place, lane_id)
                for place in range(len(self.stops))
                if (check := self.check(place)) is not None
                for lane_id in check.seen
                if self.differs(lane_id, place)
            )
            self._wrong = (key, tuple(found))
        return self._wrong[1]

    @property
    def wrong_lanes(self) -> frozenset[str]:
        """The lanes that differed anywhere."""
        return frozenset(lane_id for _, lane_id in self.differences())

    @property
    def seen_count(self) -> int:
        """How many sightings the sheet has; what cannot be seen is none."""
        sheet = self.sheet
        checks = () if sheet is None else sheet.checks
        return sum(seen is not None for check in checks for seen in check.seen.values())

    @property
    def has_counts(self) -> bool:
        """Whether items were counted."""
        sheet = self.sheet
        return sheet is not None and bool(sheet.arrived)

    @property
    def checks_left(self) -> int:
        """At how many stops nothing was seen yet."""
        return sum(self.check(place) is None for place in range(len(self.stops)))

    # Following the document

    def follow(self) -> None:
        """Take up what has changed in the document: another file, another program, other ticks."""
        document = self._document
        if document.opened != self._opened:
            self._opened = document.opened
            self.power_off = self.springs_hooked = False
            self._extra.clear()
            self.place, self.lane_id, self._planned = 0, None, ()
        project = self.project
        made_of = (*self.solution.lanes.values(), project.stacks, project.print, project.shaft)
        if not is_same(made_of, self._made_of):
            self._made_of = made_of
            self._expected.clear()
            self._resting.clear()
            self._differs.clear()
            self._outputs = BuiltOutputs(self.solution)
            self._revisions, self._changed = None, (None, ())
            self._plan()
        self._renew_stops()
        self.changed.emit()

    def _plan(self) -> None:
        """Choose the stops again, beside the window."""
        solution = self.solution

        def work() -> tuple[Solution, tuple[float, ...], Mapping[str, str]]:
            return solution, check_angles(solution), disc_revisions(solution)

        if self._jobs is None:
            self._take_plan(work())
        else:
            self._jobs.request(JOB, work, self._take_plan)

    def _take_plan(self, made: tuple[Solution, tuple[float, ...], Mapping[str, str]]) -> None:
        solution, angles, revisions = made
        if not is_same(tuple(solution.lanes.values()), tuple(self.solution.lanes.values())):
            return  # of an earlier machine: the newer request is on its way
        self._planned, self._revisions = angles, revisions
        self._renew_stops()
        self.changed.emit()

    def _renew_stops(self) -> None:
        """Let the stops be those planned, those typed, and those at which something was seen."""
        sheet = self.sheet
        kept = [check.angle_deg for check in sheet.checks] if sheet is not None else []
        angles: list[float] = []
        for angle in sorted({*kept, *self._planned, *self._extra}, key=lambda own: (own, own not in kept)):
            if not angles or angle - angles[-1] > SAME_DEG:
                angles.append(angle)
            elif angle in kept:
                angles[-1] = angle
        if angles == [stop.angle_deg for stop in self.stops] and self._is_named():
            return
        here = self.stop
        self.stops = tuple(bench_stop(self.project, angle) for angle in angles)
        self.place = 0 if here is None or not angles else _nearest(angles, here.angle_deg)

    def _is_named(self) -> bool:
        """Return whether the steps are called as the project calls them."""
        return all(stop == bench_stop(self.project, stop.angle_deg) for stop in self.stops)

    def set_order(self, lane_ids: tuple[str, ...]) -> None:
        """Take the order in which lanes are shown; the chosen one stays if it is among them."""
        self._order = lane_ids
        if self.lane_id not in lane_ids:
            self.lane_id = lane_ids[0] if lane_ids else None

    # What the person does

    def set_power_off(self, off: bool) -> None:
        """Take the first safety tick."""
        self.power_off = off
        self.changed.emit()

    def set_springs_hooked(self, hooked: bool) -> None:
        """Take the second safety tick."""
        self.springs_hooked = hooked
        self.changed.emit()

    def choose(self, lane_id: str) -> None:
        """Choose a lane."""
        if lane_id != self.lane_id and lane_id in self.order:
            self.lane_id = lane_id
            self.changed.emit()

    def go(self, place: int) -> None:
        """Go to a stop by its number from 0; the machine's cursor goes there too."""
        if not 0 <= place < len(self.stops):
            return
        self.place = place
        self._document.set_cursor(self.stops[place].angle_deg)
        self.changed.emit()
        self.stopped.emit()

    def go_by(self, by: int) -> None:
        """Go to the next (1) or previous (-1) stop; at the ends it says so."""
        if not self.stops:
            return
        if not 0 <= self.place + by < len(self.stops):
            self.status_message.emit("This is the last check." if by > 0 else "This is the first check.")
            return
        self.go(self.place + by)

    def go_to_angle(self, angle_deg: float) -> None:
        """Go to the stop at a master angle, degrees, 0 to under 360; it is added where there is none."""
        near = [place for place, stop in enumerate(self.stops) if abs(stop.angle_deg - angle_deg) <= SAME_DEG]
        if not near:
            self._extra.add(angle_deg)
            self._renew_stops()
            angles = [stop.angle_deg for stop in self.stops]
            near = [_nearest(angles, angle_deg)] if angles else []
        if near:
            self.go(near[0])

    def see(self, lane_id: str, sighting: Sighting) -> None:
        """Write down what was seen of a lane at the current stop; None: it cannot be seen."""
        self._write({lane_id: sighting})

    def see_rank(self, lane_id: str, rank: int) -> None:
        """Write down the level of a rank, lowest 0, if the lane has so many."""
        levels = self.levels(lane_id)
        if rank < len(levels):
            self.see(lane_id, levels[rank])
        else:
            self.status_message.emit(f"{self.lane(lane_id).label} has {len(levels)} levels.")

    def see_all(self) -> None:
        """Write down that all lanes that are not ticked yet are as expected."""
        due = {lane_id: self.expected(lane_id) for lane_id in self.order if self.is_resting(lane_id)}
        levels = {lane_id: one.level for lane_id, one in due.items() if one is not None and one.level}
        fresh = {lane_id: level for lane_id, level in levels.items() if not self.is_seen(lane_id)}
        if fresh or not self.is_ready:
            self._write(fresh)
        else:
            self.status_message.emit("All lanes that rest here are ticked already.")

    def count(self, end: str, items: Sequence[int | None]) -> None:
        """Write down how many items came to an outlet or a magazine in each of the first turns."""
        if self._may_enter():
            self._perform(lambda: count_items(self._with_sheet(), end, items))

    def clear(self, lane_id: str) -> None:
        """Forget what was seen of a lane at the current stop."""
        stop = self.stop
        if self._may_enter() and stop is not None and self.is_seen(lane_id):
            self._perform(lambda: forget(self._document.committed, stop.angle_deg, [lane_id]))

    def begin_sheet(self) -> None:
        """Begin a new sheet; the one before is kept."""
        if self._may_enter():
            day, revisions = self._day(), self.revisions()
            self._perform(lambda: start_sheet(self._document.committed, day, revisions))

    def remove_sheet(self) -> None:
        """Remove the newest sheet."""
        last = len(self.project.bring_up) - 1
        if self._may_enter() and last >= 0:
            self._perform(lambda: delete_sheet(self._document.committed, last))

    def take_table(self, text: str) -> None:
        """Write down all that a table of sightings says (see `shaftscore.bringup.reading`), as one step."""
        if self._may_enter():
            self._perform(lambda: self._with_table(text))

    def set_home(self, angle_deg: float | None) -> None:
        """Let an angle, degrees, be where the machine starts; None: the program chooses it."""
        self._perform(lambda: set_home(self._document.committed, angle_deg))

    # Inside

    def _with_table(self, text: str) -> Edited:
        read = read_sightings(self._document.committed, text)
        project = self._with_sheet()
        for check in read.checks:
            project = tick(project, check.angle_deg, dict(check.seen)).project if check.seen else project
        for end, items in read.arrived.items():
            project = count_items(project, end, items).project
        return Edited(project, f"Read {counted(read.count, 'sighting')}")

    def _may_enter(self) -> bool:
        if not self.is_ready:
            self.status_message.emit(TICKS_FIRST)
        return self.is_ready

    def _write(self, seen: Mapping[str, Sighting]) -> None:
        stop = self.stop
        if self._may_enter() and stop is not None and seen:
            self._perform(lambda: self._ticked(stop.angle_deg, seen))

    def _ticked(self, angle_deg: float, seen: Mapping[str, Sighting]) -> Edited:
        return tick(self._with_sheet(), angle_deg, seen)

    def _with_sheet(self) -> Project:
        """Return the project with a new sheet where there is none of these discs."""
        project, revisions = self._document.committed, self.revisions()
        return project if self.sheet is not None else start_sheet(project, self._day(), revisions).project

    def _perform(self, make: Callable[[], Edited]) -> None:
        fault = commit(self._document, make)
        if fault:
            self.status_message.emit(fault)


def is_same(one: Sequence[object], other: Sequence[object]) -> bool:
    """Return whether two rows hold the same objects."""
    return len(one) == len(other) and all(a is b for a, b in zip(one, other, strict=True))


def _nearest(angles: list[float], angle: float) -> int:
    return min(range(len(angles)), key=lambda place: abs(angles[place] - angle))
