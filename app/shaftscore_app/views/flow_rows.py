"""The rows of the Flow view: magazines with their counts, channels with their items; no Qt.

Times are in *turns* of the master shaft from the start of the run: 2.5 is the middle of the third turn.
A row *fails* where an error of the flow is about it; from then on its counts mean nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from shaftscore.base import wording
from shaftscore.base.angles import TURN
from shaftscore.judge.findings import RULES, Finding, Severity
from shaftscore.judge.flow import FlowHistory, FlowResult, MagazineResult, Passage
from shaftscore.judge.flow.drawn import DrawnRun
from shaftscore.judge.report import Report
from shaftscore.model import Diverter, Flow, Magazine, Project
from shaftscore.model.cells import text_cell

NO_FLOW = "This machine has no flow. Add one (Machine > Flow) to see counts and items."
NO_ROWS = "This flow has no magazines and no channels. Add some to see their items."
NOT_YET = "The flow is being run."


@dataclass(frozen=True)
class Failure:
    """Where a row fails first: at (turns from the start), its finding, and what the last column says."""

    at: float
    finding: Finding
    text: str


@dataclass(frozen=True)
class MagazineRow:
    """A magazine: counts as steps (time in turns, count from then on), its capacity and figures."""

    name: str
    capacity: int
    steps: tuple[tuple[float, int], ...]
    result: MagazineResult
    failure: Failure | None

    @property
    def last(self) -> str:
        """What the last column says."""
        return self.failure.text if self.failure else f"{self.result.lowest_count} of {self.capacity}"

    def count_at(self, at: float) -> int:
        """Return the count at a time, turns from the start."""
        count = self.steps[0][1]
        for since, now in self.steps:
            if since > at:
                break
            count = now
        return count


@dataclass(frozen=True)
class ChannelItem:
    """An item in a channel: what it is, when it enters and when it leaves (earliest, latest), turns."""

    name: str
    enters: float
    leaves: float
    latest: float


@dataclass(frozen=True)
class ChannelRow:
    """A channel: its items, and how many enter it in a turn, fewest and most."""

    name: str
    items: tuple[ChannelItem, ...]
    per_turn: tuple[int, int]
    failure: Failure | None

    @property
    def last(self) -> str:
        """What the last column says."""
        if self.failure:
            return self.failure.text
        fewest, most = self.per_turn
        return f"{most} a turn" if fewest == most else f"{fewest} to {most} a turn"


Row = MagazineRow | ChannelRow


@dataclass(frozen=True)
class FlowPicture:
    """What the view shows.

    title: whether the flow holds. rows: magazines, then channels. first_turn, last_turn: what is known
    (from 1); failed_turn: of the first failure. turn_s: length of a turn, s. stale: it belongs to an
    earlier project than the one that is shown.
    """

    title: str
    holds: bool | None
    rows: tuple[Row, ...]
    first_turn: int
    last_turn: int
    failed_turn: int | None
    turn_s: float
    stale: bool

    def turns_in_sight(self, count: int) -> tuple[int, int]:
        """Return the first and last turn to show when there is room for `count`, a failure among them."""
        count = max(1, min(count, self.last_turn - self.first_turn + 1))
        first = self.first_turn
        if self.failed_turn is not None:
            first = max(first, min(self.failed_turn + 2, self.last_turn) - count + 1)
        return first, first + count - 1

    def place(self, at: float) -> str:
        """Write a time in turns as people read it: turn, angle and time from the start."""
        turn = int(at // 1)
        deg = (at - turn) * TURN
        return f"turn {turn + 1}, {wording.degrees(deg)}, {wording.seconds(at * self.turn_s)} from the start"

    @property
    def summary(self) -> str:
        """Write it in one line, for those who hear the view."""
        said = [f"{row.name}: {'lowest count ' * _counts(row)}{row.last}" for row in self.rows]
        return ". ".join([self.title, *said]) + "."

    @property
    def table(self) -> str:
        """Return counts and items as a table: a row a change, tabs between columns."""
        lines = ["what\tname\tturn\tangle_deg\ttime_s\tcount_or_item\tleaves_s\tlatest_s"]
        for row in self.rows:
            lines += self._magazine_lines(row) if isinstance(row, MagazineRow) else self._channel_lines(row)
        return "\n".join(lines)

    def _magazine_lines(self, row: MagazineRow) -> Iterator[str]:
        for at, count in row.steps:
            yield "\t".join(("magazine", text_cell(row.name), *self._when(at), str(count), "", ""))

    def _channel_lines(self, row: ChannelRow) -> Iterator[str]:
        for item in row.items:
            ends = (f"{end * self.turn_s:.6f}" for end in (item.leaves, item.latest))
            yield "\t".join(
                ("channel", text_cell(row.name), *self._when(item.enters), text_cell(item.name), *ends)
            )

    def _when(self, at: float) -> tuple[str, str, str]:
        return str(int(at // 1) + 1), f"{at % 1 * TURN:.3f}", f"{at * self.turn_s:.6f}"


def picture_of(report: Report, run: DrawnRun | None = None) -> FlowPicture | str:
    """Return what the view shows of a report, or the sentence why there is nothing.

    run: of as many turns as are asked for; where it ends before the first failure, the turns about that are
    shown instead.
    """
    if report.project.flow is None:
        return NO_FLOW
    if report.flow is None or report.flow_project is None or report.flow_project.flow is None:
        return NOT_YET
    result, project = report.flow, report.flow_project
    if run is not None and run.turns and (result.holds_for_ever is not False or result.turns <= run.turns):
        result = replace(result, history=run.history)
    history = result.history
    rows = tuple(_rows(result, project, report.flow_project.flow))
    if not rows:
        return NO_ROWS
    return FlowPicture(
        title=title_of(result, project, report),
        holds=result.holds_for_ever,
        rows=rows,
        first_turn=history.first_turn,
        last_turn=history.last_turn,
        failed_turn=result.turns if result.holds_for_ever is False else None,
        turn_s=history.cycle_us / 1e6,
        stale=not report.is_current,
    )


def title_of(result: FlowResult, project: Project, report: Report) -> str:
    """Describe whether the flow holds, in one sentence; of lanes checked alone only for what lies in them."""
    within = "" if report.lanes is None else "These lanes alone: "
    if result.holds_for_ever is False:
        return f"{within}Fails in turn {result.turns:,}"
    if result.holds_for_ever:
        return f"{within}Holds for every further turn"
    flow = project.flow
    still = (
        [gate.state.lane for gate in flow.gates if _has_no_motion(gate.state.lane, report)] if flow else []
    )
    if still:
        names = wording.listed([project.lane(lane_id).label for lane_id in dict.fromkeys(still)])
        return f"{within}Not known: no motion of {names} yet"
    if any(finding.rule == "not-checked" for finding in result.findings):
        return f"{within}Not known: not every gate was run"
    return f"{within}Holds for at least {result.turns:,} turns"


def _has_no_motion(lane_id: str, report: Report) -> bool:
    solved = report.solution.lanes.get(lane_id)
    return solved is not None and solved.motion is None


def _rows(result: FlowResult, project: Project, flow: Flow) -> Iterator[Row]:
    failures = _failures(result, flow)
    for magazine in flow.magazines:
        if magazine.id in result.magazines:
            yield _magazine_row(magazine, result, project, flow, failures.get(magazine.id))
    items = {gate.id: gate.item for gate in flow.gates}
    for channel in flow.channels:
        passages = result.history.passages.get(channel.id, ())
        yield _channel_row(channel.id, passages, result.history, items, failures.get(channel.id))


def _magazine_row(
    magazine: Magazine, result: FlowResult, project: Project, flow: Flow, failure: Failure | None
) -> MagazineRow:
    cycle = result.history.cycle_us
    return MagazineRow(
        name=magazine_name(magazine.id, project, flow),
        capacity=magazine.capacity,
        steps=tuple((time / cycle, count) for time, count in result.history.counts[magazine.id]),
        result=result.magazines[magazine.id],
        failure=failure,
    )


def _channel_row(
    channel_id: str,
    passages: tuple[Passage, ...],
    history: FlowHistory,
    names: dict[str, str],
    failure: Failure | None,
) -> ChannelRow:
    cycle = history.cycle_us
    turns = range(history.first_turn - 1, history.last_turn)
    counts = [sum(passage.enters_us // cycle == turn for passage in passages) for turn in turns]
    items = (
        ChannelItem(names[p.gate], p.enters_us / cycle, p.leaves_us / cycle, p.latest_us / cycle)
        for p in passages
    )
    return ChannelRow(wording.part_name(channel_id), tuple(items), (min(counts), max(counts)), failure)


def magazine_name(magazine_id: str, project: Project, flow: Flow) -> str:
    """Name a magazine by the one lane that lets its items out, where that lane empties no other."""
    lanes = {gate.state.lane for gate in flow.gates if gate.source == magazine_id}
    if len(lanes) == 1:
        (lane_id,) = lanes
        if {gate.source for gate in flow.gates if gate.state.lane == lane_id} == {magazine_id}:
            return project.lane(lane_id).label
    return wording.part_name(magazine_id)


def _failures(result: FlowResult, flow: Flow) -> dict[str, Failure]:
    """Return the first failure of each magazine and channel, by id."""
    found: dict[str, Failure] = {}
    for finding in result.findings:
        if finding.severity is not Severity.ERROR or finding.turn is None:
            continue
        at = finding.turn - 1 + (finding.start_deg or 0.0) / TURN
        rule = "empty" if finding.rule == "starvation" else RULES[finding.rule].title.lower()
        for row_id in _about(finding, flow):
            if row_id not in found or found[row_id].at > at:
                found[row_id] = Failure(at, finding, f"{rule}, turn {finding.turn:,}")
    return found


def _about(finding: Finding, flow: Flow) -> Iterator[str]:
    """Yield the ids of the magazine or channels that a finding of the flow is about."""
    for fact in ("magazine", "channel"):
        if fact in finding.facts:
            yield str(finding.facts[fact])
            return
    if finding.rule == "wrong-order":
        for channel in flow.channels:
            if finding.facts["outlet"] in _ends(channel.to):
                yield channel.id
        return
    for gate in flow.gates:
        if gate.state in finding.subjects:
            yield gate.source


def _ends(to: str | Diverter) -> tuple[str, ...]:
    return tuple(branch.to for branch in to.by_state) if isinstance(to, Diverter) else (to,)


def _counts(row: Row) -> bool:
    """Return whether the last column of a row is a count of a magazine."""
    return isinstance(row, MagazineRow) and row.failure is None
