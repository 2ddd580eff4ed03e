"""Banks: the elements of each lane group, their piles, and which start open.

With at most 16 gates all banks start open; with more, those with findings; with more than 60, none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base import wording
from shaftscore.judge.findings import Severity
from shaftscore.judge.flow.drawn.placing import Places
from shaftscore.judge.flow.drawn.records import (
    ElementKind,
    FlowBank,
    FlowElement,
    FlowMark,
    GateElement,
    PileElement,
    key_of,
)

ALL_OPEN = 16
"""Gates up to which all banks start open."""

NONE_OPEN = 60
"""Gates above which no bank starts open."""


def banks_of(places: Places, elements: Sequence[FlowElement]) -> tuple[FlowBank, ...]:
    """Return the banks of a flow; elements: all, in order."""
    many = sum(isinstance(element, GateElement) for element in elements)
    members: dict[str, list[FlowElement]] = {bank: [] for bank in places.banks}
    for element in elements:
        if element.bank is not None:
            members[element.bank].append(element)
    alone = len(members) == 1 and many <= ALL_OPEN
    return tuple(
        _bank(bank, own, many, "" if alone else bank or "Lanes without a group")
        for bank, own in members.items()
    )


def _bank(key: str, members: Sequence[FlowElement], gates: int, title: str) -> FlowBank:
    worst = _worst(element.mark for element in members)
    found = worst is not None and worst is not Severity.NOTE
    own = [element for element in members if isinstance(element, GateElement)]
    magazines = sum(element.kind is ElementKind.MAGAZINE for element in members)
    text = ", ".join(
        wording.counted(number, noun)
        for number, noun in ((magazines, "magazine"), (len(own), "gate"))
        if number
    )
    return FlowBank(
        key=key,
        title=title,
        text=text,
        members=tuple(element.key for element in members),
        piles=tuple(_piles(key, own)),
        worst=worst,
        starts_open=gates <= ALL_OPEN or (found and gates <= NONE_OPEN),
    )


def _piles(bank: str, gates: Sequence[GateElement]) -> Iterator[PileElement]:
    """Yield the piles of a bank: one a magazine and level, where its first gate stands."""
    piles: dict[tuple[str, str], list[GateElement]] = {}
    for gate in gates:
        piles.setdefault((gate.magazine[1], gate.level), []).append(gate)
    for (magazine, level), own in piles.items():
        yield _pile(f"{bank}/{magazine}/{level}", own)


def _pile(pile_id: str, gates: Sequence[GateElement]) -> PileElement:
    first, marks = gates[0], [gate.mark for gate in gates if gate.mark is not None]
    codes = dict.fromkeys(gate.code for gate in gates)
    name = f"{_span(list(codes))} {first.level}"
    ever = sum(gate.opens is True for gate in gates)
    worst = _worst_mark(marks)
    said = f"{name}, {wording.counted(len(gates), 'gate')}, {ever} open{'s' * (ever == 1)}"
    found = "" if worst is None else f" {worst.severity.value.capitalize()}: {worst.said}."
    return PileElement(
        key=key_of(ElementKind.PILE, pile_id),
        id=pile_id,
        name=name,
        column=first.column,
        order=first.order,
        bank=first.bank,
        mark=worst,
        spoken=f"{said}.{found}",
        gates=tuple(gate.key for gate in gates),
        ever_open=ever,
        count_text=f"{ever} of {len(gates)}",
        level=first.level,
        height=first.height,
        rank=first.rank,
        magazine=first.magazine,
    )


def _span(codes: list[str]) -> str:
    return codes[0] if len(codes) == 1 else f"{codes[0]} to {codes[-1]}"


def _worst(marks: Iterator[FlowMark | None]) -> Severity | None:
    severities = [mark.severity for mark in marks if mark is not None]
    return min(severities, key=lambda severity: severity.rank, default=None)


def _worst_mark(marks: Sequence[FlowMark]) -> FlowMark | None:
    return min(marks, key=lambda mark: mark.severity.rank, default=None)
