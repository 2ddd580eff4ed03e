"""What a view of the flow draws: counts of the magazines and items in the channels, over some turns."""

from __future__ import annotations

from types import MappingProxyType

from shaftscore.judge.flow.engine import Event, EventKind, FlowRun
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.result import FlowHistory, Passage

SHOWN_TURNS = 8
"""Turns that a history shows."""


def history(network: Network, turn: int) -> FlowHistory:
    """Run again and keep what happened about a turn (from 1).

    Shows the first `SHOWN_TURNS` turns if `turn` is among them, else those that end 2 turns after it.
    """
    first = max(1, turn + 3 - SHOWN_TURNS) if turn > SHOWN_TURNS else 1
    last = first + SHOWN_TURNS - 1
    run = FlowRun(network, record=True)
    while run.turns < last:
        run.turn()
    run.state()  # brings what no gate has asked for up to date
    return history_of(network, sorted(run.events or []), first, last)


def history_of(network: Network, events: list[Event], first: int, last: int) -> FlowHistory:
    """Keep what happened in the turns first to last (from 1) of a run; events: all of it, by time."""
    since, until = (first - 1) * network.clock.cycle_us, last * network.clock.cycle_us
    return FlowHistory(
        cycle_us=network.clock.cycle_us,
        first_turn=first,
        last_turn=last,
        counts=MappingProxyType(_counts(network, events, since)),
        passages=MappingProxyType(_passages(network, events, since, until)),
    )


def _counts(network: Network, events: list[Event], since: int) -> dict[str, tuple[tuple[int, int], ...]]:
    """Return each magazine's steps; what happens at one instant is one step."""
    count = [store.start for store in network.stores]
    steps: list[dict[int, int]] = [{since: start} for start in count]
    for time, kind, index in events:
        if kind not in (EventKind.ARRIVED, EventKind.LEFT):
            continue
        store = index if kind is EventKind.ARRIVED else network.slots[index].store
        count[store] += 1 if kind is EventKind.ARRIVED else -1
        steps[store][max(time, since)] = count[store]
    return {store.id: tuple(steps[i].items()) for i, store in enumerate(network.stores)}


def _passages(
    network: Network, events: list[Event], since: int, until: int
) -> dict[str, tuple[Passage, ...]]:
    found: dict[str, list[Passage]] = {}
    for time, kind, index in events:
        if kind is not EventKind.LEFT:
            continue
        slot, enters = network.slots[index], time
        for step in slot.route.passes:
            passage = Passage(
                network.gates[slot.gate].id, enters, time + step.earliest_us, time + step.latest_us
            )
            if enters < until and passage.latest_us >= since:
                found.setdefault(step.channel, []).append(passage)
            enters = time + step.earliest_us
    return {channel: tuple(sorted(items, key=lambda p: p.enters_us)) for channel, items in found.items()}
