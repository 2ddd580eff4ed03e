"""A flow as it is drawn, put together from its record, a run, and what was found."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

from shaftscore.judge.findings import Finding
from shaftscore.judge.flow.drawn.banks import banks_of
from shaftscore.judge.flow.drawn.elements import Known, gate_element, magazine_element, supply_element
from shaftscore.judge.flow.drawn.ends import channel_element, diverter_element, outlet_count, outlet_element
from shaftscore.judge.flow.drawn.lines import DrawnDemand, demand_of, failing_lines, lines_of
from shaftscore.judge.flow.drawn.marks import About, Abouts, marks_of
from shaftscore.judge.flow.drawn.placing import Places
from shaftscore.judge.flow.drawn.records import FlowElement, FlowNetwork
from shaftscore.judge.flow.drawn.run import DrawnRun
from shaftscore.judge.flow.result import MagazineResult
from shaftscore.model import Flow, Project
from shaftscore.rules.items import reach


@dataclass(frozen=True)
class JudgedFlow:
    """A project's flow with what is known of it.

    run: some turns of it, or None while nothing was run. findings: of the flow. following: the keys of
    findings that follow from others, with the keys of those. needs: by magazine, of the whole simulation.
    is_stale: what is known belongs to an earlier project.
    """

    project: Project
    run: DrawnRun | None = None
    findings: tuple[Finding, ...] = ()
    following: Mapping[Hashable, Hashable] = field(default_factory=dict)
    needs: Mapping[str, MagazineResult] = field(default_factory=dict)
    is_stale: bool = False


def flow_network(judged: JudgedFlow) -> FlowNetwork:
    """Return a flow as it is drawn; that of a project without a flow is empty."""
    flow = judged.project.flow or Flow()
    places = Places(judged.project, flow)
    abouts = Abouts(flow, _short_ends(flow, judged)).of(judged.findings)
    known = _known(places, judged, abouts)
    demand = demand_of(flow, judged.run)
    elements = tuple(_elements(known, demand))
    return FlowNetwork(
        columns=places.columns,
        elements=elements,
        lines=lines_of(places, judged.run, demand, failing_lines(abouts)),
        banks=banks_of(places, elements),
        turns=0 if judged.run is None else judged.run.turns,
        is_stale=judged.is_stale,
    )


def _short_ends(flow: Flow, judged: JudgedFlow) -> dict[str, frozenset[str]]:
    """Return, by gate, the outlets downstream of it that got less than they expect."""
    run = judged.run
    counts = ((one, outlet_count(run, one)) for one in flow.outlets)
    short = {one.id for one, counted in counts if counted is not None and counted.short_turn is not None}
    ends = {to: reach(flow, to) & short for to in {gate.to for gate in flow.gates}} if short else {}
    return {gate.id: ends.get(gate.to, frozenset()) for gate in flow.gates}


def _inflow(run: DrawnRun | None, flow: Flow) -> Mapping[str, float]:
    """Return, by channel, what enters it per minute; nothing where nothing was run."""
    if run is None:
        return {}
    channels = {one.id: 0 for one in flow.channels}
    for (_, there), passed in run.passed.items():
        if there in channels:
            channels[there] += passed
    return {channel: run.rate(entering) for channel, entering in channels.items()}


def _known(places: Places, judged: JudgedFlow, abouts: tuple[About, ...]) -> Known:
    empty: dict[str, int] = {}
    for about in abouts:
        if about.finding.rule == "starvation" and about.finding.turn is not None:
            magazine = about.cause[1]
            empty[magazine] = min(about.finding.turn, empty.get(magazine, about.finding.turn))
    return Known(
        places=places,
        run=judged.run,
        needs=judged.needs,
        marks=marks_of(abouts, judged.following),
        short=frozenset(about.supply for about in abouts if about.supply),
        empty_turns=empty,
        is_stale=judged.is_stale,
    )


def _elements(known: Known, demand: DrawnDemand) -> list[FlowElement]:
    """Return the elements by column, then from the top."""
    flow, places = known.places.flow, known.places
    inflow = _inflow(known.run, flow)

    supplies = sorted(flow.supplies, key=lambda one: places.bank_place(places.bank_of_supply[one.id]))
    magazines = sorted(flow.magazines, key=lambda one: places.bank_place(places.bank_of_magazine[one.id]))
    made: list[FlowElement] = [
        *(supply_element(known, one, n) for n, one in enumerate(supplies)),
        *(magazine_element(known, one, n, demand.of_magazine[one.id]) for n, one in enumerate(magazines)),
        *(gate_element(known, one, n) for n, one in enumerate(places.gates)),
        *(channel_element(known, one, n, inflow.get(one.id)) for n, one in enumerate(flow.channels)),
        *(diverter_element(known, *both, n) for n, both in enumerate(places.diverted)),
        *(outlet_element(known, one, n) for n, one in enumerate(flow.outlets)),
    ]
    return sorted(made, key=lambda element: (element.column, element.order))
