"""What the Bring-up view says: heads, cards, cells, and what screen readers hear."""

from __future__ import annotations

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.bringup import FaultRanking, LikelyCause, RepairAction
from shaftscore.bringup.stops import BenchStop, ExpectedLevel
from shaftscore.model import Project
from shaftscore.model.bench import Sighting
from shaftscore_app.views.bring_up.session import BringUpSession

POWER_OFF, SPRINGS = "Power off, plug pulled", "Springs hooked"
KEEP_CLEAR = "Keep fingers away from the discs while you turn."
LEGEND = "Filled: what you ticked. Dashed: where it should be."
EMPTY = "Add blocks to the lanes to see where to stop the machine."
NAMED = 3
"""So many codes are named; of more the rest are counted."""


def code_of(project: Project, lane_id: str) -> str:
    """Return the code of a lane, or its name where it has none."""
    lane = project.lane(lane_id)
    return lane.code or lane.label


def stop_name(stop: BenchStop) -> str:
    """Return number and name of the step that a stop is in."""
    return f"{stop.step} {stop.step_name}".strip()


def check_text(session: BringUpSession) -> str:
    """Return which check of how many this is ("Check 6 of 8, step 6 Heat")."""
    stop = session.stop
    if stop is None:
        return ""
    return f"Check {session.place + 1} of {len(session.stops)}, step {stop_name(stop)}"


def turn_text(session: BringUpSession) -> str:
    """Return where to turn the machine ("Turn to 252.0°")."""
    return "" if session.stop is None else f"Turn to {degrees(session.stop.angle_deg)}"


def how_text(project: Project) -> str:
    """Return how the machine is turned."""
    return f"By hand, {project.shaft.turn} seen from the top. If you pass it, go round again."


def expected_text(due: ExpectedLevel | None, *, resting: bool) -> str:
    """Return what is expected of a lane, in a word or two."""
    if due is None:
        return "no motion"
    if not resting or not due.level:
        return f"{'' if resting else 'moving, '}{millimetres(due.output_mm)}"
    return due.level


def seen_text(sighting: Sighting) -> str:
    """Return what was seen of a lane."""
    if sighting is None:
        return "not seen"
    return sighting if isinstance(sighting, str) else f"{plain(sighting, 2)} mm"


def sheet_text(session: BringUpSession) -> str:
    """Return of when the sheet is, or why the next tick begins a new one."""
    sheets = session.project.bring_up
    changed = session.changed_discs()
    if changed:
        return f"{codes_text(changed)} changed since {sheets[-1].date}: the next tick begins a new sheet."
    if session.sheet is None:
        return "The first tick begins a sheet, which is kept in the file."
    return f"Sheet of {session.sheet.date}, kept in the file."


def codes_text(codes: tuple[str, ...]) -> str:
    """Name codes; of many the rest are counted."""
    if len(codes) > NAMED:
        return f"{', '.join(codes[:NAMED])} and {len(codes) - NAMED} more"
    return listed(codes)


def differences_text(session: BringUpSession, ranking: FaultRanking | None) -> str:
    """Return how many sightings, and counts of items, differ ("4 of 78 sightings differ").

    Those of lanes at once, with counts of items as soon as the causes are ranked.
    """
    wrong, all_seen, noun = len(session.differences()), session.seen_count, "sighting"
    if session.has_counts and ranking is not None:
        wrong, all_seen, noun = ranking.differences, ranking.sightings, "observation"
    if not all_seen:
        return "Counted items are being compared" if session.has_counts else "Nothing was ticked yet"
    verb = "differs" if wrong == 1 else "differ"
    return f"{wrong} of {all_seen} {noun if all_seen == 1 else f'{noun}s'} {verb}"


def spoken_lane(session: BringUpSession, lane_id: str) -> str:
    """Return a lane at the current stop as it is read aloud ("B3, seen left, expected rest")."""
    project, due = session.project, session.expected(lane_id)
    lane = project.lane(lane_id)
    name = f"{lane.code} {lane.label}" if lane.code else lane.label
    wanted = expected_text(due, resting=session.is_resting(lane_id))
    if not session.is_seen(lane_id):
        return f"{name}, expected {wanted}, not ticked"
    sighting = session.sighting(lane_id)
    seen = "cannot be seen" if sighting is None else f"seen {seen_text(sighting)}"
    return f"{name}, {seen}, expected {wanted}"


def spoken_stop(session: BringUpSession) -> str:
    """Return the current stop as it is read aloud."""
    return f"{check_text(session)}. {turn_text(session)}."


HINT = "Turn to each check and tick what every lane does. What differs, and what explains it, is shown here."

ACTIONS: dict[RepairAction, str] = {
    "reverse-motor": "Motor and drive train…",
    "reprint-disc": "Export discs…",
    "correct": "Correct from measurements…",
    "line-up-hub": "Show the hub",
}
"""What the button of a cause is called."""


def explained_text(cause: LikelyCause, differences: int) -> str:
    """Return how many differences a cause explains ("4 of 4 explained")."""
    return f"{cause.explained} of {differences} explained"


def against_text(cause: LikelyCause) -> str:
    """Return how many sightings contradict a cause ("3 against")."""
    return f"{cause.against} against"


def spoken_cause(ranking: FaultRanking) -> str:
    """Return the best cause as it is read aloud ("Likely: discs B2 and B3 are swapped, 4 of 4.")."""
    cause = ranking.groups[0].first
    statement = cause.statement[0].lower() + cause.statement[1:]
    return f"Likely: {statement}, {cause.explained} of {ranking.differences}."
