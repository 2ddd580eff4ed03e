"""Rules and gates that speak of the states of blocks: the lanes of the blocks at their levels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.edits.base import BlockRef, Edited, block_of, changed, consistent, constructed
from shaftscore.edits.machine import set_flow
from shaftscore.edits.names import free_id
from shaftscore.model.flow import Flow, Gate
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState


def states_of_blocks(project: Project, refs: Sequence[BlockRef]) -> tuple[LevelState, ...]:
    """Return the states of blocks, each once; raises EditError if there is no such block."""
    pairs = dict.fromkeys((ref.lane_id, block_of(project, ref).level) for ref in refs)
    return tuple(LevelState(lane=lane, level=level) for lane, level in pairs)


def gates_from_blocks(project: Project, refs: Sequence[BlockRef], source: str, to: str | None) -> Edited:
    """Make gates that let one item out of a magazine while the lanes of blocks are at their levels.

    source: id of the magazine; to: where the items go, if followed further. A state that has a gate already
    gets these ways. Raises EditError if there is no such block, magazine or way.
    """
    flow = project.flow or Flow()
    gates = list(flow.gates)
    for state in states_of_blocks(project, refs):
        ways: dict[str, Any] = {"source": source, "to": to}
        place = next((index for index, gate in enumerate(gates) if gate.state == state), None)
        if place is None:
            gates.append(
                constructed(Gate, id=_gate_id(flow, gates, state), state=state, mode="single", **ways)
            )
        else:
            gates[place] = changed(gates[place], **ways)
    made = consistent(set_flow(project, changed(flow, gates=tuple(gates))).project)
    new = len(gates) - len(flow.gates)
    updated = len(states_of_blocks(project, refs)) - new
    name = f"Make {counted(new, 'gate')}" + (f", update {updated}" if updated else "")
    return Edited(made, name if new else f"Update {counted(updated, 'gate')}")


def _gate_id(flow: Flow, gates: Sequence[Gate], state: LevelState) -> str:
    return free_id(f"{state.lane} {state.level}", {*flow.ids, *(gate.id for gate in gates)}, "gate")


def refuse_few_states(states: Sequence[LevelState]) -> None:
    """Raise EditError unless there are two different states for a rule."""
    if len(states) < 2:
        raise EditError("A rule speaks of two states at least: select blocks of two lanes or levels")
