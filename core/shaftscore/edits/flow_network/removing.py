"""Remove parts of the flow with what cannot do without them, and say beforehand what that is."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited, changed, consistent
from shaftscore.edits.flow_network.parts import (
    FlowPart,
    PartKey,
    flow_of,
    keys_of,
    mapped,
    part_label,
    part_of,
    redirected,
)
from shaftscore.edits.machine import set_flow
from shaftscore.model.flow import Channel, Diverter, Flow
from shaftscore.model.project import Project


@dataclass(frozen=True)
class Removal:
    """What goes when some parts are removed.

    keys: the parts. dependents: what cannot do without them and goes, too: gates of a magazine, channels that
    would lead nowhere. cut: parts that stay and lose a line.
    """

    keys: tuple[PartKey, ...]
    dependents: tuple[PartKey, ...]
    cut: tuple[PartKey, ...]

    @property
    def button(self) -> str:
        """What the button says: "Remove", or "Remove with 4 gates"."""
        kinds = [kind for kind, _ in self.dependents]
        words = [counted(kinds.count(kind), kind) for kind in dict.fromkeys(kinds)]
        return f"Remove with {' and '.join(words)}" if words else "Remove"


def removal_of(project: Project, keys: Collection[PartKey]) -> Removal:
    """Return what goes with some parts; raises EditError if one is not there."""
    flow = flow_of(project)
    for key in keys:
        part_of(flow, key)
    wanted, there = set(keys), keys_of(flow)
    diverted = {own for kind, own in there if kind == "diverter"}
    gone = wanted | {("diverter", own) for kind, own in wanted if kind == "channel" and own in diverted}
    while fresh := {key for key in _stranded(flow, gone) if key not in gone}:
        gone |= fresh
    order = [key for key in there if key in gone]
    chosen = tuple(key for key in order if key in wanted)
    return Removal(
        chosen,
        tuple(key for key in order if key not in wanted and key[0] != "diverter"),
        tuple(_cut(flow, gone)),
    )


def _stranded(flow: Flow, gone: Collection[PartKey]) -> list[PartKey]:
    """Return the parts that cannot do without what is gone."""
    found = [("gate", gate.id) for gate in flow.gates if ("magazine", gate.source) in gone]
    ends = _end_ids(gone)
    for channel in flow.channels:
        to = channel.to
        ways = [way.to for way in to.by_state] if isinstance(to, Diverter) else [to]
        if all(way in ends for way in ways):
            found += [("channel", channel.id)]
            found += [("diverter", channel.id)] if isinstance(to, Diverter) else []
    return found


def _end_ids(gone: Collection[PartKey]) -> frozenset[str]:
    return frozenset(own for kind, own in gone if kind in ("channel", "outlet", "magazine"))


def _cut(flow: Flow, gone: Collection[PartKey]) -> list[PartKey]:
    """Return the parts that stay and lose a line."""
    sources, ends = frozenset(own for kind, own in gone if kind in ("supply", "magazine")), _end_ids(gone)
    found = [("magazine", one.id) for one in flow.magazines if one.source in sources]
    found += [("gate", one.id) for one in flow.gates if one.to in ends]
    for channel in flow.channels:
        if isinstance(channel.to, Diverter) and any(way.to in ends for way in channel.to.by_state):
            found.append(("diverter", channel.id))
    return [key for key in found if key not in gone]


def remove_parts_of_flow(project: Project, keys: Collection[PartKey]) -> Edited:
    """Remove parts with their dependents; what is left without a line stays.

    A channel whose diverter alone is removed leads on to its first way. The flow goes with its last part.
    Raises EditError if one is not there.
    """
    plan, flow = removal_of(project, keys), flow_of(project)
    gone = {*plan.keys, *plan.dependents}
    sources, ends = frozenset(own for kind, own in gone if kind in ("supply", "magazine")), _end_ids(gone)

    def source(own: str | None) -> str | None:
        return None if own in sources else own

    def to(own: str | None) -> str | None:
        return None if own in ends else own

    left = _without(flow, gone)
    left = mapped(left, lambda part: redirected(_straight(part, gone), source, to))
    made = set_flow(project, left if left.ids else None).project
    what = part_label(project, plan.keys[0]) if len(plan.keys) == 1 else counted(len(plan.keys), "part")
    return Edited(consistent(made), f"Remove {what}{plan.button.removeprefix('Remove')}")


def _without(flow: Flow, gone: Collection[PartKey]) -> Flow:
    return changed(
        flow,
        supplies=tuple(one for one in flow.supplies if ("supply", one.id) not in gone),
        magazines=tuple(one for one in flow.magazines if ("magazine", one.id) not in gone),
        gates=tuple(one for one in flow.gates if ("gate", one.id) not in gone),
        channels=tuple(one for one in flow.channels if ("channel", one.id) not in gone),
        outlets=tuple(one for one in flow.outlets if ("outlet", one.id) not in gone),
    )


def _straight(part: FlowPart, gone: Collection[PartKey]) -> FlowPart:
    """Let a channel whose diverter goes lead on to its first way that stays."""
    if (
        not isinstance(part, Channel)
        or not isinstance(part.to, Diverter)
        or ("diverter", part.id) not in gone
    ):
        return part
    ends = _end_ids(gone)
    return changed(part, to=next(way.to for way in part.to.by_state if way.to not in ends))
