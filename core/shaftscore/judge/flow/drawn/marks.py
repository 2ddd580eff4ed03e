"""What is found about each element: words on the one that causes it, the sign alone on those it touches.

A finding of the flow is about one element, its cause, and touches others: the gates that go without, what
they were to fill, the outlets that get too little. Where the finding itself follows from another one, its own
element carries the sign only, too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from shaftscore.judge.findings import Finding
from shaftscore.judge.findings.naming import states_of
from shaftscore.judge.flow.drawn.records import ElementKey, ElementKind, FlowMark, key_of
from shaftscore.model import Flow, Gate, State

RELEASES = ("double-release", "missed-release")
"""Rules about openings that let too many or too few through."""


@dataclass(frozen=True)
class About:
    """What a finding is about: the element that is the cause, its words, the gates and outlets it touches.

    at_gates: what is said of the gates. supply: id of the supply that gives too little, or "".
    """

    finding: Finding
    cause: ElementKey
    words: str
    at_gates: str = ""
    gates: tuple[Gate, ...] = ()
    outlets: tuple[str, ...] = ()
    supply: str = ""

    @property
    def touched(self) -> Iterator[tuple[ElementKey, str]]:
        """The elements but the cause, with what is said of each."""
        yield from ((key_of(ElementKind.GATE, gate.id), self.at_gates) for gate in self.gates)
        yield from ((key_of(ElementKind.OUTLET, outlet), "gets too little") for outlet in self.outlets)


class Abouts:
    """What findings of one flow are about."""

    def __init__(self, flow: Flow, ends: Mapping[str, frozenset[str]]) -> None:
        """Make it for a flow. ends: by gate, the outlets downstream of it that get less than they expect."""
        self._sources = {one.id: one.source or "" for one in flow.magazines}
        self._supplies = frozenset(one.id for one in flow.supplies)
        self._ends = ends
        self._gates: dict[State, list[Gate]] = defaultdict(list)
        for gate in flow.gates:
            self._gates[gate.state].append(gate)

    def of(self, findings: Iterable[Finding]) -> tuple[About, ...]:
        """Return what findings are about, those that are about no element left out."""
        found = (self._about(one) for one in findings)
        return tuple(about for about in found if about is not None)

    def _about(self, one: Finding) -> About | None:
        turn = f" in turn {one.turn:,}" if one.turn else ""
        gates = tuple(gate for state in states_of(one) for gate in self._gates.get(state, ()))
        if one.rule == "starvation":
            return self._starved(one, gates, turn)
        if one.rule == "collision":
            channel = key_of(ElementKind.CHANNEL, str(one.facts["channel"]))
            return About(one, channel, f"items meet{turn}", f"its items meet others{turn}", gates)
        if one.rule == "misrouted":
            return self._misrouted(one, gates, turn)
        if one.rule == "wrong-order":
            outlet = key_of(ElementKind.OUTLET, str(one.facts["outlet"]))
            return About(one, outlet, f"wrong items{turn}", f"its item is out of order{turn}", gates)
        return self._released(one, gates) if one.rule in RELEASES else None

    @staticmethod
    def _misrouted(one: Finding, gates: tuple[Gate, ...], turn: str) -> About:
        if "round" in one.facts:
            channel = key_of(ElementKind.CHANNEL, str(one.facts["round"]))
            return About(one, channel, "leads round", "its items go round", gates)
        diverter = key_of(ElementKind.DIVERTER, str(one.facts["channel"]))
        words = "at two ways" if "at" in one.facts else "between ways"
        return About(one, diverter, f"{words}{turn}", f"its item is misrouted{turn}", gates)

    def _starved(self, one: Finding, gates: tuple[Gate, ...], turn: str) -> About:
        magazine = str(one.facts["magazine"])
        own = tuple(gate for gate in gates if gate.source == magazine)
        outlets = tuple(sorted({end for gate in own for end in self._ends.get(gate.id, ())}))
        source = self._sources.get(magazine, "") if "fed_per_min" in one.facts else ""
        supply = source if source in self._supplies else ""
        at_gates = f"opens empty from turn {one.turn or 1:,}"
        key = key_of(ElementKind.MAGAZINE, magazine)
        return About(one, key, f"empty{turn}", at_gates, own, outlets, supply)

    def _released(self, one: Finding, gates: tuple[Gate, ...]) -> About | None:
        """Return what an opening with too many or too few items is about: the gate, or what is full."""
        if "full" in one.facts:
            words, key = (
                f"full in turn {one.turn or 1:,}",
                key_of(ElementKind.MAGAZINE, str(one.facts["full"])),
            )
            return About(one, key, words, "finds no room for its item", gates)
        own = next((gate for gate in gates if gate.item == one.facts.get("item")), None)
        if own is None or one.value is None or one.limit is None:
            return None
        words = f"{one.value:.0f} of {one.limit:.0f} through"
        return About(one, key_of(ElementKind.GATE, own.id), words)


def marks_of(abouts: Iterable[About], following: Mapping[Hashable, Hashable]) -> dict[ElementKey, FlowMark]:
    """Return the mark of each element that findings are about.

    following: the keys of findings that follow from others, with the keys of those.
    """
    found: dict[ElementKey, FlowMark] = {}
    for about in abouts:
        one = about.finding
        words = "" if one.key in following else about.words
        _add(found, about.cause, FlowMark(one.severity, words, about.words, one))
        for key, said in about.touched:
            _add(found, key, FlowMark(one.severity, "", said, one))
    return found


def _add(found: dict[ElementKey, FlowMark], key: ElementKey, mark: FlowMark) -> None:
    """Add a mark to an element: the worst stays, of equals the one with words, of these the first."""
    there = found.get(key)
    if there is None:
        found[key] = mark
        return
    better = (mark.severity.rank, not mark.words) < (there.severity.rank, not there.words)
    found[key] = replace(mark if better else there, count=there.count + 1)
