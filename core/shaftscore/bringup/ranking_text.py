"""A ranking of causes in words, and as the object of `faults --seen --json`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from shaftscore.bringup.records import AlikeCauses, FaultRanking, LikelyCause
from shaftscore.bringup.telling import fault_json, sighting_json


def ranking_lines(ranking: FaultRanking) -> Iterator[str]:
    """Yield the lines of a ranking: the message, the groups best first, and where to look next."""
    yield ranking.message
    for group in ranking.groups:
        yield ""
        yield from _group_lines(group, ranking.differences)
    if ranking.next_look is not None:
        yield ""
        yield ranking.next_look.sentence


def _group_lines(group: AlikeCauses, differences: int) -> Iterator[str]:
    for cause in group.causes:
        yield f"{cause.rank}  {cause.statement}. {explained_text(cause, differences)}"
        if cause.told:
            yield f"   {cause.told}"
        if cause is group.first:
            yield from (f"   {fault.look} {fault.do}" for fault in cause.faults)
    if group.told:
        yield f"   {group.told}"


def explained_text(cause: LikelyCause, differences: int) -> str:
    """Return how well a cause explains the sheet: "3 of 4 explained, 1 against."."""
    against = f", {cause.against} against" if cause.against else ""
    return f"{cause.explained} of {differences} explained{against}."


def ranking_json(ranking: FaultRanking) -> dict[str, Any]:
    """Return a ranking as plain values; its keys are in docs/guide/trouble.md."""
    look = ranking.next_look
    return {
        "sightings": ranking.sightings,
        "differences": ranking.differences,
        "clear": ranking.clear,
        "message": ranking.message,
        "groups": [{"causes": [_cause_json(one) for one in group.causes]} for group in ranking.groups],
        "next_look": None
        if look is None
        else {
            "lane": look.lane,
            "angle_deg": round(look.angle_deg, 6),
            "step": look.step,
            "first": sighting_json(look.first),
            "second": sighting_json(look.second),
        },
    }


def _cause_json(cause: LikelyCause) -> dict[str, Any]:
    return {
        "rank": cause.rank,
        "statement": cause.statement,
        "explained": cause.explained,
        "against": cause.against,
        "brought": list(cause.brought),
        "faults": [fault_json(fault) for fault in cause.faults],
    }
