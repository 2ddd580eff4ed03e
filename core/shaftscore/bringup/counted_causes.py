"""The causes that explain what was counted where items end, beside what was seen of the lanes.

Causes found from the lanes are run through the flow, faults of items alone are added, and each of these to
the best of those. Where no lane differs, every likely fault of lanes that the flow depends on is run too:
it may be one that the checks happen to miss.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shaftscore.bringup.candidates import item_faults
from shaftscore.bringup.comparing import ComparedSheet, Tally
from shaftscore.bringup.finder import FoundCause, conditions_with
from shaftscore.bringup.records import BuildFault
from shaftscore.bringup.symptoms import sheet_faults

MOST_WITH_ITEMS = 3
"""Causes of the lanes to which a fault of items is added."""


@dataclass(frozen=True)
class CausesFound:
    """Causes, best first, and how many the flow was not run for because it would take too long."""

    causes: tuple[FoundCause, ...]
    left_out: int = 0


def with_counts(compared: ComparedSheet, of_lanes: Sequence[FoundCause], gain: float) -> CausesFound:
    """Return the causes of a sheet with what was counted; those of the lanes alone where nothing was.

    gain: by how much a cause must score over all without its fault of items (a share of all sightings).
    """
    if not compared.counted.rows:
        return CausesFound(tuple(of_lanes))
    alone = [one for one in _run(compared, _single_faults(compared, of_lanes)) if one.tally.explained]
    best = max((one.score for one in alone), default=0.0)
    lanes = sorted((one for one in alone if not _of_items(one)), key=lambda one: -one.score)
    both = ((*one.faults, fault) for one in lanes[:MOST_WITH_ITEMS] for fault in _items(compared))
    needed = best + gain
    found = [*alone, *(one for one in _run(compared, both) if one.score >= needed)]
    return CausesFound(tuple(sorted(found, key=lambda one: -one.score)), compared.counted.left_out)


def _of_items(cause: FoundCause) -> bool:
    return any(fault.kind in ("empty", "slow-items") for fault in cause.faults)


def _items(compared: ComparedSheet) -> Iterator[BuildFault]:
    return item_faults(compared.outputs.project)


def _single_faults(
    compared: ComparedSheet, of_lanes: Sequence[FoundCause]
) -> Iterator[tuple[BuildFault, ...]]:
    """Yield the causes without a second fault that only items show."""
    yield from (one.faults for one in of_lanes)
    yield from ((fault,) for fault in _items(compared))
    flow = compared.outputs.project.flow
    if flow is None or compared.lane_differences:
        return
    for fault in sheet_faults(compared.outputs):
        if fault.kind not in ("empty", "slow-items") and (not fault.lanes or flow.lanes & set(fault.lanes)):
            yield (fault,)


def _run(compared: ComparedSheet, causes: Iterable[tuple[BuildFault, ...]]) -> Iterator[FoundCause]:
    """Yield causes with what they explain of lanes and counts together."""
    for faults in causes:
        conditions = conditions_with(compared.outputs.drawn(), compared, faults)
        brought = compared.counted.brought(conditions, faults)
        if brought is not None:
            counts = Tally(*compared.counted.held_against(brought))
            yield FoundCause(faults, compared.total(conditions).plus(counts))
