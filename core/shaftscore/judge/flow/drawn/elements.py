"""Supplies, magazines and gates with what is written on them; what comes after is in `ends`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.judge.flow.drawn.placing import Places
from shaftscore.judge.flow.drawn.records import (
    ElementKey,
    ElementKind,
    FlowElement,
    FlowMark,
    GateElement,
    MagazineElement,
    SupplyElement,
    key_of,
)
from shaftscore.judge.flow.drawn.run import DrawnRun
from shaftscore.judge.flow.result import MagazineResult
from shaftscore.model import Gate, LevelState, Magazine, Project, State, Supply


@dataclass(frozen=True)
class Known:
    """What is known of one flow when its elements are made.

    run: that the figures are from, or None. needs: by magazine, of the whole simulation. marks: by key.
    short: supplies that give too little. empty_turns: by magazine, the first turn in which it is empty.
    is_stale: all that is of an earlier project.
    """

    places: Places
    run: DrawnRun | None
    needs: Mapping[str, MagazineResult]
    marks: Mapping[ElementKey, FlowMark]
    short: frozenset[str]
    empty_turns: Mapping[str, int]
    is_stale: bool = False

    @property
    def project(self) -> Project:
        """The project of the flow."""
        return self.places.project

    def name_of(self, part_id: str | None) -> str:
        """Return what a part of the flow is called; "outside" for none."""
        return "outside" if part_id is None else wording.part_name(part_id)

    def element(
        self,
        kind: ElementKind,
        part_id: str,
        *,
        order: int,
        facts: str,
        name: str = "",
        bank: str | None = None,
        magazine: str = "",
    ) -> FlowElement:
        """Return what an element has in common with all others; facts: what is said of it."""
        key = key_of(kind, part_id)
        mark = self.marks.get(key)
        said = f"{facts}." if mark is None else f"{facts}. {mark.severity.value.capitalize()}: {mark.said}."
        return FlowElement(
            key=key,
            id=part_id,
            name=name or wording.part_name(part_id),
            column=self.places.column(kind, magazine),
            order=order,
            bank=bank,
            mark=mark,
            spoken=said,
        )


def amount(number: int, noun: str = "item") -> str:
    """Write a count in a sentence: "one item", "2 items"."""
    return f"one {noun}" if number == 1 else wording.counted(number, noun)


# Supplies and magazines


def supply_element(known: Known, supply: Supply, order: int) -> SupplyElement:
    """Return a supply as it is drawn."""
    rate = supply.rate_per_min
    text = "endless" if rate is None else wording.per_minute(rate)
    is_short = supply.id in known.short
    facts = f"Supply {wording.part_name(supply.id)}, {text}{', less than is drawn from it' * is_short}"
    bank = known.places.bank_of_supply[supply.id]
    base = known.element(ElementKind.SUPPLY, supply.id, order=order, facts=facts, bank=bank)
    return SupplyElement(**vars(base), rate_per_min=rate, rate_text=text, is_short=is_short)


def magazine_element(known: Known, magazine: Magazine, order: int, demand: float | None) -> MagazineElement:
    """Return a magazine as it is drawn; demand: items that its gates are meant to let out, 1/min."""
    lowest = _lowest(known, magazine.id)
    lowest_text = "" if lowest is None else f"lowest {lowest:,} of {magazine.capacity:,}"
    demand_text = "" if demand is None else f"{wording.plain(demand, 1)} per min"
    start_text = f"starts with {magazine.start_count:,}"
    said = (f"Magazine {wording.part_name(magazine.id)}", demand_text, lowest_text, start_text)
    base = known.element(
        ElementKind.MAGAZINE,
        magazine.id,
        order=order,
        facts=", ".join(filter(None, said)),
        bank=known.places.bank_of_magazine[magazine.id],
        magazine=magazine.id,
    )
    return MagazineElement(
        **vars(base),
        capacity=magazine.capacity,
        start_count=magazine.start_count,
        lowest_count=lowest,
        demand_per_min=demand,
        demand_text=demand_text,
        lowest_text=lowest_text,
        start_text=start_text,
        empty_turn=known.empty_turns.get(magazine.id),
    )


def _lowest(known: Known, magazine: str) -> int | None:
    """Return the lowest count: of the whole simulation where it knows one, else of the run that is drawn."""
    if magazine in known.needs:
        return known.needs[magazine].lowest_count
    return known.run.lowest.get(magazine) if known.run is not None and known.run.turns else None


# Gates


@dataclass(frozen=True)
class LevelPlace:
    """A state as it is drawn; fields as those of GateElement."""

    lane: str
    code: str
    level: str
    height: float
    rank: int


def level_place(project: Project, state: State) -> LevelPlace:
    """Return how a state is drawn, a range with one level in it as that one; KeyError for an unknown lane."""
    lane = project.lane(state.lane)
    heights = sorted(lane.levels.values())
    low, high = (heights[0], heights[-1]) if heights else (0.0, 0.0)
    if isinstance(state, LevelState):
        text, inside = state.level, [own for name, own in lane.levels.items() if name == state.level]
        middle = inside[0] if inside else low
    else:
        text = f"{wording.plain(state.from_mm, 2)} to {wording.plain(state.to_mm, 2)} mm"
        inside = [own for own in heights if state.from_mm <= own <= state.to_mm]
        middle = inside[0] if len(inside) == 1 else (state.from_mm + state.to_mm) / 2
    height = min(1.0, max(0.0, (middle - low) / (high - low))) if high > low else 0.0
    rank = heights.index(inside[0]) if len(inside) == 1 else -1
    return LevelPlace(lane.id, lane.code or lane.label, text, height, rank)


def gate_element(known: Known, gate: Gate, order: int) -> GateElement:
    """Return a gate as it is drawn."""
    place = level_place(known.project, gate.state)
    per_turn, opens = _openings(known, gate.id)
    name = f"{place.code} {place.level}"
    unknown = known.run is None or (known.is_stale and per_turn is None)
    text = "" if unknown else _per_turn_text(per_turn, opens)
    said = text if per_turn is None or not opens else f"{amount(per_turn)} a turn"
    facts = (
        f"Gate {name}, from {known.name_of(gate.source)} to {known.name_of(gate.to)}{', ' * bool(said)}{said}"
    )
    base = known.element(
        ElementKind.GATE,
        gate.id,
        order=order,
        facts=facts,
        name=name,
        bank=known.places.bank_of_gate(gate),
        magazine=gate.source,
    )
    return GateElement(
        **vars(base),
        **vars(place),
        magazine=key_of(ElementKind.MAGAZINE, gate.source),
        item=gate.item,
        per_turn=per_turn,
        per_turn_text=text,
        opens=opens,
        first_opening_deg=None if known.run is None else known.run.opens_deg.get(gate.id),
    )


def _openings(known: Known, gate: str) -> tuple[int | None, bool | None]:
    """Return the items that a gate is meant to let through a turn, and whether it ever opens, if known."""
    run = known.run
    if run is None or gate not in run.meant:
        return None, None
    return run.meant[gate], gate in run.opens_deg


def _per_turn_text(per_turn: int | None, opens: bool | None) -> str:
    if per_turn is None:
        return "no motion yet"
    return f"{per_turn:,} a turn" if opens else "never opens"
