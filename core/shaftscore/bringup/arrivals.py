"""What was counted where items end, held against what build faults would let arrive there.

A *count* is how many items came to an outlet or a magazine in one of the first turns. It differs where the
drawn machine brings another number, and a fault explains it where it brings the very number.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.base.wording import counted, part_name
from shaftscore.bringup.condition import Conditions
from shaftscore.bringup.items import TURNS, ItemsOut, faulty_flow, items_out
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.records import BuildFault
from shaftscore.model import Diverter, Flow

MOST_SLOTS_RUN = 1_000_000
"""Openings that all runs of the flow for one ranking together may look at."""

Counts = Mapping[str, Sequence[int | None]]
"""Items in each of the first turns by the id of the outlet or magazine where they end; None: not counted."""


@dataclass(eq=False)
class CountedItems:
    """Counts of one sheet, and the flow that they are compared with. Counts of other ends are left out.

    left_out: how many faults the flow was not run for, because it would take too long.
    """

    outputs: BuiltOutputs
    counts: Counts
    left_out: int = 0
    _slots: int = 0
    _kept: dict[tuple[object, ...], ItemsOut | None] = field(default_factory=dict)

    @cached_property
    def _flow(self) -> Flow | None:
        """The flow, if it can be run at all."""
        flow = self.outputs.project.flow
        return None if flow is None or _cost(flow) > MOST_SLOTS_RUN else flow

    @cached_property
    def rows(self) -> tuple[tuple[str, int, int], ...]:
        """All counts of ends that the flow has, as (end, turn from 0, items)."""
        flow = self._flow
        ends = ends_of(flow) if flow is not None else ()
        return tuple(
            (end, turn, items)
            for end, turns in self.counts.items()
            if end in ends
            for turn, items in enumerate(turns[:TURNS])
            if items is not None
        )

    @cached_property
    def _expected(self) -> tuple[int, ...]:
        """What the drawn machine brings, (rows,)."""
        return self.brought(self.outputs.drawn(), ()) or ()

    @property
    def differences(self) -> int:
        """How many counts the drawn machine contradicts."""
        return sum(row[2] != due for row, due in zip(self.rows, self._expected, strict=True))

    def brought(self, conditions: Conditions, faults: Sequence[BuildFault]) -> tuple[int, ...] | None:
        """Return what a machine with faults brings, (rows,); None where the flow was not run for it."""
        if not self.rows:
            return ()
        out = self._run(conditions, faults)
        none = (0,) * TURNS
        return None if out is None else tuple(out.arrived.get(end, none)[turn] for end, turn, _ in self.rows)

    def held_against(self, brought: Sequence[int]) -> tuple[int, int]:
        """Return how many differences a machine that brings this explains, and what counts it contradicts."""
        rows = list(zip(self.rows, self._expected, brought, strict=True))
        explained = sum(row[2] != due and row[2] == one for row, due, one in rows)
        return explained, sum(row[2] != one for row, _, one in rows)

    def told(self, brought: Sequence[int]) -> str:
        """Return a sentence about the first count that a machine contradicts; empty without one."""
        for (end, turn, items), one in zip(self.rows, brought, strict=True):
            if one != items:
                would = f"{counted(one, 'item')} would come to {part_name(end)} in turn {turn + 1}"
                return f"{would}; you counted {items}."
        return ""

    def _run(self, conditions: Conditions, faults: Sequence[BuildFault]) -> ItemsOut | None:
        """Run the flow of a machine with faults once; None once all runs together would take too long."""
        flow = self._flow
        assert flow is not None, "there are counts of its ends"
        own = tuple(conditions.get(lane) for lane in sorted(flow.lanes))
        key = (own, *(fault for fault in faults if fault.kind in ("empty", "slow-items")))
        if key not in self._kept:
            self._slots += _cost(flow)
            self._kept[key] = None if self._slots > MOST_SLOTS_RUN else self._items(flow, conditions, faults)
        if self._kept[key] is None:
            self.left_out += 1
        return self._kept[key]

    def _items(self, flow: Flow, conditions: Conditions, faults: Sequence[BuildFault]) -> ItemsOut:
        for fault in faults:
            flow = faulty_flow(flow, fault)
        return items_out(self.outputs, flow, conditions)


def expected_counts(outputs: BuiltOutputs) -> dict[str, tuple[int, ...]]:
    """Return how many items come to each end in the first turns of the drawn machine.

    Empty without a flow, and with one that takes too long to run.
    """
    flow = outputs.project.flow
    if flow is None or _cost(flow) > MOST_SLOTS_RUN:
        return {}
    arrived = items_out(outputs, flow, outputs.drawn()).arrived
    return {end: tuple(arrived.get(end, (0,) * TURNS)) for end in ends_of(flow)}


def _cost(flow: Flow) -> int:
    """Return how many openings one run looks at."""
    return TURNS * (1 + sum(gate.items for gate in flow.gates))


def ends_of(flow: Flow) -> tuple[str, ...]:
    """Return the ids of the places at which items can be counted: outlets, then magazines that gates fill."""
    filled = {gate.to for gate in flow.gates}
    for channel in flow.channels:
        to = channel.to
        filled |= {way.to for way in to.by_state} if isinstance(to, Diverter) else {to}
    magazines = (one.id for one in flow.magazines if one.id in filled)
    return (*(one.id for one in flow.outlets), *magazines)
