"""Gates for selected lanes: for each level, from where, to where, and what one item is, on all lanes at once.

Levels that differ between lanes are matched by name, then by rank from the lowest; a lane that has neither is
left as it is for that level and named.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited, changed, consistent, constructed, lane_of
from shaftscore.edits.flow_network.adding import named_parts
from shaftscore.edits.flow_network.parts import flow_of, free_id, made_id, stem_of, with_parts
from shaftscore.edits.machine import set_flow
from shaftscore.model.flow import Flow, Gate
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState


@dataclass(frozen=True)
class NewEnd:
    """A part that is made along with the gates: its kind ("magazine", "channel" or "outlet") and its name."""

    kind: str
    name: str


@dataclass(frozen=True)
class LevelGates:
    """What is asked for one level.

    level: its name, rank: from the lowest, 0, on the lane that the rows are of. source: the magazine where
    items come from, by id or made new; None: no gate, one that is there goes. to: where they go; None: not
    followed further. item: what one is called. keeps: leave the gates of this level as they are.
    """

    level: str
    rank: int
    source: str | NewEnd | None = None
    to: str | NewEnd | None = None
    item: str = "item"
    keeps: bool = False


@dataclass(frozen=True)
class GatesPlan:
    """What would be done: gates by new, updated and unchanged, and the ids of those that go.

    unmatched: (lane id, level), for levels with a gate.
    """

    new: tuple[Gate, ...]
    updated: tuple[Gate, ...]
    same: int
    removed: frozenset[str]
    unmatched: tuple[tuple[str, str], ...]

    @property
    def text(self) -> str:
        """The counts: "8 gates: 5 new, 3 updated"."""
        number = len(self.new) + len(self.updated) + self.same
        parts = [f"{len(self.new)} new", f"{len(self.updated)} updated"]
        parts += [f"{len(self.removed)} removed"] if self.removed else []
        return f"{counted(number, 'gate')}: {', '.join(parts)}"


def level_rows(project: Project, lane_ids: Sequence[str]) -> tuple[LevelGates, ...]:
    """Return a row a level of the first lane that has levels, lowest first, filled with what is there.

    A level at which the lanes' gates differ is kept as it is. Without a gate the row names the magazine that
    is called like the level.
    """
    lanes = [lane_of(project, own) for own in dict.fromkeys(lane_ids)]
    first = next((lane for lane in lanes if lane.levels), None)
    if first is None:
        return ()
    flow = flow_of(project)
    return tuple(_row(flow, lanes, level, rank) for rank, level in enumerate(_by_height(first)))


def _by_height(lane: Lane) -> list[str]:
    return sorted(lane.levels, key=lambda level: lane.levels[level])


def _row(flow: Flow, lanes: Sequence[Lane], level: str, rank: int) -> LevelGates:
    at = {gate.state: gate for gate in reversed(flow.gates)}
    own = [level_on(lane, level, rank) for lane in lanes]
    gates = [
        at.get(LevelState(lane=lane.id, level=name)) for lane, name in zip(lanes, own, strict=True) if name
    ]
    kinds = {None if gate is None else (gate.source, gate.to, gate.item) for gate in gates}
    if kinds <= {None}:
        named = next(
            (one.id for one in flow.magazines if one.id.lower() == made_id(level, (), "").lower()), None
        )
        return LevelGates(level, rank, named, _usual_end(flow), level)
    if len(kinds) > 1:
        return LevelGates(level, rank, keeps=True)
    gate = next(gate for gate in gates if gate is not None)
    return LevelGates(level, rank, gate.source, gate.to, gate.item)


def _usual_end(flow: Flow) -> str | None:
    """Return where gates usually lead: where most do, else the first channel or outlet."""
    ends = [gate.to for gate in flow.gates if gate.to is not None]
    if ends:
        return max(dict.fromkeys(ends), key=ends.count)
    return next((one.id for one in flow.channels), next((one.id for one in flow.outlets), None))


def level_on(lane: Lane, level: str, rank: int) -> str | None:
    """Return the level of a lane that is meant: of that name, else at that rank, else None."""
    if level in lane.levels:
        return level
    levels = _by_height(lane)
    return levels[rank] if rank < len(levels) else None


def plan_gates(project: Project, lane_ids: Sequence[str], rows: Sequence[LevelGates]) -> GatesPlan:
    """Return what would be done; raises EditError if there is no such lane."""
    return _planned(project, lane_ids, rows)[1]


def gates_for_lanes(project: Project, lane_ids: Sequence[str], rows: Sequence[LevelGates]) -> Edited:
    """Make, change and remove the gates of lanes as the rows ask, with the new parts that they name.

    A gate that is there keeps its id, mode and times. Raises EditError if there is no such lane, magazine or
    end, or where nothing would change.
    """
    flow, plan = _planned(project, lane_ids, rows)
    if not (plan.new or plan.updated or plan.removed):
        raise EditError("These gates exist already: nothing to change")
    updated = {gate.id: gate for gate in plan.updated}
    gates = [updated.get(gate.id, gate) for gate in flow.gates if gate.id not in plan.removed]
    made = consistent(set_flow(project, changed(flow, gates=(*gates, *plan.new))).project)
    return Edited(made, f"Gates for {counted(len(set(lane_ids)), 'lane')}")


def _planned(project: Project, lane_ids: Sequence[str], rows: Sequence[LevelGates]) -> tuple[Flow, GatesPlan]:
    """Return the flow with the new ends, and the plan of the gates."""
    flow, ends = _with_ends(flow_of(project), rows)
    planner = _Planner(flow, ends)
    for lane, row, level in _matched(project, lane_ids, rows):
        if level is not None:
            planner.ask(lane, row, LevelState(lane=lane.id, level=level))
        elif row.source is not None:
            planner.unmatched.append((lane.id, row.level))
    return flow, planner.plan()


class _Planner:
    """Gathers what becomes of the gates, one lane and level after the other."""

    def __init__(self, flow: Flow, ends: Mapping[str | NewEnd, str]) -> None:
        self.unmatched: list[tuple[str, str]] = []
        self._ends = ends
        self._at = {gate.state: gate for gate in reversed(flow.gates)}
        self._taken = {own.lower() for own in flow.ids}
        self._new: list[Gate] = []
        self._updated: list[Gate] = []
        self._same = 0
        self._removed: set[str] = set()

    def ask(self, lane: Lane, row: LevelGates, state: LevelState) -> None:
        """Plan the gate of a lane's level."""
        gate = self._at.get(state)
        if row.source is None:
            self._removed |= set() if gate is None else {gate.id}
            return
        to = None if row.to is None else self._ends[row.to]
        fields = {"source": self._ends[row.source], "to": to, "item": row.item}
        if gate is None:
            stem = stem_of(f"{lane.code or lane.id} {state.level}") or "gate"
            gate_id = free_id(stem, self._taken)
            self._taken.add(gate_id.lower())
            self._new.append(constructed(Gate, id=gate_id, state=state, **fields))
        elif (made := changed(gate, **fields)) == gate:
            self._same += 1
        else:
            self._updated.append(made)

    def plan(self) -> GatesPlan:
        """Return what was gathered."""
        new, updated, removed = tuple(self._new), tuple(self._updated), frozenset(self._removed)
        return GatesPlan(new, updated, self._same, removed, tuple(self.unmatched))


def _matched(
    project: Project, lane_ids: Sequence[str], rows: Sequence[LevelGates]
) -> Iterator[tuple[Lane, LevelGates, str | None]]:
    """Yield each lane with each row that asks for something, and the lane's own level for it."""
    for lane_id in dict.fromkeys(lane_ids):
        lane, used = lane_of(project, lane_id), {row.level for row in rows}
        for row in rows:
            level = level_on(lane, row.level, row.rank)
            taken = level is not None and level != row.level and level in used
            if not row.keeps:
                yield lane, row, None if taken else level


def _with_ends(flow: Flow, rows: Sequence[LevelGates]) -> tuple[Flow, Mapping[str | NewEnd, str]]:
    """Return the flow with the new parts that rows name, and the id of every end that rows name."""
    asked = dict.fromkeys(end for row in rows if not row.keeps for end in (row.source, row.to))
    ids: dict[str | NewEnd, str] = {}
    for end in asked:
        if isinstance(end, str):
            ids[end] = end
        elif end is not None:
            ids[end] = made_id(end.name, flow.ids, end.kind)
            flow = with_parts(flow, named_parts(flow, end.kind, ids[end]))
    return flow, ids


def unmatched_text(project: Project, plan: GatesPlan) -> str:
    """Name the lanes that have no level for a gate: "C1 has no level for right." or an empty text."""
    lanes = dict.fromkeys(lane for lane, _ in plan.unmatched)
    said = []
    for lane in lanes:
        levels = [level for own, level in plan.unmatched if own == lane]
        said.append(f"{project.lane(lane).label} has no level for {', '.join(levels)}")
    more = [f"{len(said) - 4} more lanes likewise"] if len(said) > 5 else said[4:5]
    return ". ".join([*said[:4], *more]) + "." * bool(said)
