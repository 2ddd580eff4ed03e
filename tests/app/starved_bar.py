"""A bar of spices whose coriander runs empty: 12 selectors in 3 banks, 6 magazines, 24 gates, one chute."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from shaftscore.judge.flow import FlowHistory
from shaftscore.judge.flow.drawn import FlowNetwork, JudgedFlow, drawn_run, flow_network
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.document import Document

SPICES = {"A": ("cumin", "coriander"), "B": ("paprika", "chilli"), "C": ("turmeric", "pepper")}
BANKS = {"A": "Earth bank", "B": "Red bank", "C": "Gold bank"}
VISITS = {
    **dict.fromkeys(("A2", "B1", "B2", "C1", "C2"), ("left",)),
    **dict.fromkeys(("A3", "A4", "B3", "B4", "C3", "C4"), ("right",)),
    "A1": ("left", "right"),
}
"""The levels that each selector visits in a turn, 110 degrees apart."""

ROLLER = {"kind": "translating-roller", "roller_radius_mm": 5.0}


def _blocks(first_deg: float, levels: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    visits = sorted(((first_deg + 110.0 * n) % 360.0, level) for n, level in enumerate(levels))
    nexts = [start for start, _ in visits[1:]] + [visits[0][0] + 360.0]
    for (start, level), following in zip(visits, nexts, strict=True):
        yield {"level": level, "start_deg": start, "end_deg": start + 12.0}
        yield {"level": "rest", "start_deg": start + 32.0, "end_deg": following - 20.0}


def _selector(code: str, number: int) -> dict[str, Any]:
    return {
        "id": code.lower(),
        "name": f"Selector {code}",
        "code": code,
        "group": BANKS[code[0]],
        "levels": {"left": 0.0, "rest": 8.0, "right": 16.0},
        "blocks": [*_blocks(5.0 + 24.0 * number, VISITS[code])],
        "follower": ROLLER,
    }


def _flow(rates: Mapping[str, float]) -> dict[str, Any]:
    spices = [spice for pair in SPICES.values() for spice in pair]
    ways = [{"state": {"lane": "flap", "level": level}, "to": level} for level in ("jar", "bin")]
    chute = {"travel_min_s": 0.3, "travel_max_s": 0.45, "headway_s": 0.15}
    return {
        "supplies": [{"id": f"{one}_hopper", "rate_per_min": rates.get(one, 12.0)} for one in spices],
        "magazines": [
            {"id": one, "from": f"{one}_hopper", "travel_s": 1.0, "capacity": 8, "start_count": 6}
            for one in spices
        ],
        "gates": [
            {
                "id": f"{bank.lower()}{number}_{level}",
                "state": {"lane": f"{bank.lower()}{number}", "level": level},
                "from": spice,
                "to": "chute",
                "item_s": 0.2,
                "item": "measure",
            }
            for bank, pair in SPICES.items()
            for level, spice in zip(("left", "right"), pair, strict=True)
            for number in range(1, 5)
        ],
        "channels": [{"id": "chute", **chute, "to": {"lane": "flap", "by_state": ways}}],
        "outlets": [{"id": "jar", "expects": ["measure"] * 13}, {"id": "bin"}],
    }


@cache
def starved_bar(coriander_per_min: float = 9.0) -> Project:
    """Read the bar; at 9 per min coriander runs empty: its gates are meant to let 15 per min out."""
    flap = {
        "id": "flap",
        "name": "Flap",
        "code": "D1",
        "group": "Flap",
        "levels": {"bin": 0.0, "jar": 10.0},
        "blocks": [{"level": "jar", "start_deg": 0.0, "end_deg": 360.0}],
        "follower": ROLLER,
    }
    made = {
        "format": "shaftscore-project",
        "version": 1,
        "name": "Spice bar",
        "shaft": {"turn": "clockwise", "speed_rpm": 5.0, "steps": 8},
        "lanes": [*(_selector(code, n) for n, code in enumerate(sorted(VISITS))), flap],
        "flow": _flow({"coriander": coriander_per_min}),
    }
    return read_project(json.dumps(made).encode(), "spice_bar.shaft")


def drawn(document: Document, turns: int = 16) -> tuple[FlowNetwork, FlowHistory]:
    """Return the network of a document, and what happened in its run."""
    report = document.report
    run = drawn_run(report.project, report.solution.intervals, turns)
    assert report.flow is not None
    judged = JudgedFlow(report.project, run, report.flow.findings, {}, report.flow.magazines)
    return flow_network(judged), run.history
