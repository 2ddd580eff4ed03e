"""The fault finder: its words, its doubts, and planted faults that it must find again."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.bringup import BenchCheck, BuiltOutputs, SightingSheet, built, check_angles, likely_causes
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.comparing import nearest_level
from shaftscore.bringup.records import BuildFault
from shaftscore.solution import solve
from tests.machines import lane, machine
from tests.planted import is_told, planted

DISC = {"base_radius_mm": 30.0}
THREE = {"left": 0.0, "rest": 8.0, "right": 16.0}


def bank() -> BuiltOutputs:
    """Return four selectors with one base radius that each go left and right once a turn."""
    starts = (10.0, 70.0, 130.0, 190.0)
    lanes = [
        lane(
            f"B{number}",
            ("rest", start, start + 20.0),
            ("left", start + 50.0, start + 70.0),
            ("rest", start + 100.0, start + 160.0),
            ("right", (start + 190.0) % 360.0, (start + 190.0) % 360.0 + 40.0),
            levels=THREE,
            code=f"B{number}",
            disc=DISC,
        )
        for number, start in enumerate(starts, start=1)
    ]
    return BuiltOutputs(solve(machine(*lanes)))


def seen(outputs: BuiltOutputs, *faults: BuildFault) -> SightingSheet:
    conditions = outputs.drawn()
    for fault in faults:
        conditions = built(outputs.project, conditions, fault)
    return SightingSheet(
        tuple(
            BenchCheck(
                angle,
                {
                    one: nearest_level(outputs, one, float(outputs.at(conditions[one], np.array([angle]))[0]))
                    for one in outputs.lanes
                },
            )
            for angle in check_angles(outputs.solution)
        )
    )


def test_swapped_discs_are_named_with_what_would_look_the_same() -> None:
    own = bank()
    found = likely_causes(own.solution, seen(own, said.swapped(own.project, "b2", "b3")))
    first = found.groups[0]
    assert found.clear
    assert found.message == f"{found.differences} of {found.sightings} sightings differ."
    assert [cause.statement for cause in first.causes] == [
        "Discs B2 and B3 are swapped",
        "The levers of B2 and B3 are crossed",
    ]
    assert (first.first.explained, first.first.against) == (found.differences, 0)
    assert first.told == (
        "“The levers of B2 and B3 are crossed” would look the same. Check this first: Read the codes on the "
        "edge of the two discs."
    )
    other = found.groups[1].first
    assert other.told.startswith("B")
    assert "; you saw " in other.told


def test_nothing_is_said_of_nothing() -> None:
    own = bank()
    assert likely_causes(own.solution, SightingSheet()).message == "Nothing was seen yet."
    found = likely_causes(own.solution, seen(own))
    assert (found.differences, found.groups, found.clear) == (0, (), False)
    assert found.message == f"All {found.sightings} sightings are as drawn."


def test_few_differences_are_not_clear_and_say_how_many_more_to_look_at() -> None:
    own = bank()
    right = seen(own)
    other = "left" if right.checks[0].seen["b1"] != "left" else "right"
    found = likely_causes(
        own.solution, SightingSheet((BenchCheck(right.checks[0].angle_deg, {"b1": other}),))
    )
    assert not found.clear
    assert found.message == "Not clear yet. 2 more checks will tell."
    assert found.next_look is not None
    assert found.next_look.sentence.startswith(f"Look at B1 in step {found.next_look.step} (")


def test_the_next_look_tells_two_causes_apart() -> None:
    own = bank()
    sheet = seen(own, said.off_position(own.project, "b2", 60.0, turned_over=False))
    few = SightingSheet(tuple(BenchCheck(c.angle_deg, {"b2": c.seen["b2"]}) for c in sheet.checks[:6]))
    look = likely_causes(own.solution, few).next_look
    assert look is not None
    assert look.first.level != look.second.level


@pytest.mark.parametrize("faults", [1, 2])
def test_planted_faults_are_in_the_first_group(faults: int) -> None:
    # Figures of 1,000 machines: benchmarks/planted_faults.py and docs/guide/fault_figures.md.
    cases = [case for seed in range(1000, 1006) if min((case := planted(seed, faults)).shows) >= 3]
    found = 0
    for case in cases:
        groups = likely_causes(case.solution, case.sheet, case.outputs).groups
        found += any(is_told(case, cause.faults) for cause in groups[0].causes)
    assert len(cases) >= 3
    assert found >= len(cases) - 1
