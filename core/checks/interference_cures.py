"""Cures of interference: thicker or smaller spacers, or another station for the follower.

Every number is tried on the bodies before it is offered. Thicker spacers bring no other parts together;
another station must keep the lane's parts away from all others. A disc is laid out anew for its station,
so the program stays; a lane with riders stays where it is, because their programs would move.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from core.angles import wrap
from core.bodies import Pair, Part, keeps_apart, pairs_of, parts_of
from core.bodies.parts import Turning
from core.checks.cures import Attempt
from core.edits import apply_edit
from core.errors import EditError
from core.findings import Cure, Finding
from core.model import Stack
from core.solution import Solution
from core.wording import degrees, down_to, millimetres, up_to

STEP_DEG = 10
"""Stations are tried in these steps."""

CURE_MM = 0.1
"""Lengths in cures are rounded outward to this many mm."""


def cure_of(solution: Solution, stack: Stack, pair: Pair, finding: Finding) -> Cure | None:
    """Give the first way that cures as an edit, with all that do in its sentence; None if none does."""
    ways = [*_spacers(solution, stack, pair, finding), *_stations(solution, stack, pair)]
    if not ways:
        return None
    text = ", or ".join(way.sentence for way in ways)
    return Cure(sentence=f"{text[:1].upper()}{text[1:]}.", edit=ways[0].edit, arguments=ways[0].arguments)


def _spacers(solution: Solution, stack: Stack, pair: Pair, finding: Finding) -> Iterator[Attempt]:
    """Yield spacers between the two parts that are thick enough, or small enough to be passed."""
    if "rod" in (pair.first.kind, pair.second.kind):
        return
    changed: dict[str, object]
    if pair.second.kind == "spacer":
        short = stack.body_clearance_mm - (finding.value or 0.0)
        radius = down_to(stack.spacer_radius_mm - short, CURE_MM)
        text = f"spacer radius {millimetres(radius)}"
        changed = {"stack_id": stack.id, "spacer_radius_mm": radius}
    else:
        between = max(1, _layers_between(solution, stack, pair))
        gap = max(pair.second.bottom_mm - pair.first.top_mm, pair.first.bottom_mm - pair.second.top_mm)
        more = up_to((stack.body_clearance_mm - gap) / between, CURE_MM)
        text = f"spacer {millimetres(more)} thicker"
        changed = {"stack_id": stack.id, "spacer_mm": round(stack.spacer_mm + more, 6)}
    if _is_cured(solution, stack, pair, changed):
        yield Attempt("set_stack", changed, text)


def _layers_between(solution: Solution, stack: Stack, pair: Pair) -> int:
    """Count the spacers between the discs of two parts."""
    order = [lane.id for lane in solution.project.discs_of(stack)]
    return abs(order.index(pair.first.host) - order.index(pair.second.host))


def _is_cured(solution: Solution, stack: Stack, pair: Pair, changed: dict[str, object]) -> bool:
    """Try a change of the stack: tell whether the pair keeps apart after it."""
    try:
        project = apply_edit(solution.project, "set_stack", **changed).project
    except EditError:
        return False
    made = next(one for one in project.stacks if one.id == stack.id)
    pairs = pairs_of(parts_of(replace(solution, project=project), made), made)
    same = [one for one in pairs if _names(one) == _names(pair)]
    return all(keeps_apart(one, made.body_clearance_mm) for one in same)


def _names(pair: Pair) -> tuple[str, ...]:
    return pair.first.kind, pair.first.lane, pair.second.kind, pair.second.lane


def _stations(solution: Solution, stack: Stack, pair: Pair) -> Iterator[Attempt]:
    """Yield the nearest station for the first part's lane at which nothing comes too near to its parts."""
    lane = solution.project.lane(pair.first.lane)
    ridden = {other.disc_of for other in solution.project.lanes}
    if lane.kind == "rider" or lane.id in ridden or _is_hopeless(pair, stack):
        return
    parts = parts_of(solution, stack)
    for by in sorted(range(STEP_DEG - 180, 181, STEP_DEG), key=lambda by: (abs(by), by < 0)):
        if by != 0 and _fits(parts, stack, lane.id, by):
            text = f"station {degrees(abs(by), 0)} {'on' if by > 0 else 'back'}"
            moved = {"lane_id": lane.id, "station_deg": wrap(lane.station_deg + by)}
            yield Attempt("set_lane", moved, text)
            return


def _is_hopeless(pair: Pair, stack: Stack) -> bool:
    """Tell whether the first part reaches the other wherever it stands: a disc's round core, a spacer."""
    body = pair.second.body
    if pair.second.kind == "spacer":
        return True
    if not isinstance(body, Turning):
        return False
    return pair.first.near_mm < body.profile.min_radius_mm + stack.body_clearance_mm


def _fits(parts: tuple[Part, ...], stack: Stack, lane_id: str, by_deg: float) -> bool:
    """Tell whether the parts of a lane keep away from all others at a station `by_deg` further on."""
    turned = tuple(_at_station(part, lane_id, by_deg) for part in parts)
    return all(
        keeps_apart(pair, stack.body_clearance_mm)
        for pair in pairs_of(turned, stack)
        if lane_id in (pair.first.lane, pair.second.lane)
    )


def _at_station(part: Part, lane_id: str, by_deg: float) -> Part:
    return part.turned(by_deg) if part.lane == lane_id and part.kind != "spacer" else part
