"""drop-late and drop-one-way."""

from __future__ import annotations

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Lane, Load, Stack
from tests.machines import block, lane, machine

LOAD = Load(moving_mass_g=100.0, spring_preload_n=1.0)
DOWN = {"down": 0.0, "up": 12.0}


def hammer(gap: float, **more: object) -> Lane:
    """A hammer that drops 12 mm from 100 degrees on, its next dwell `gap` degrees later."""
    blocks = (block("up", 40, 100), block("down", 100 + gap, 300, law="drop"))
    return lane("Hammer", *blocks, levels=DOWN, load=LOAD, **more)


def test_a_drop_in_time_is_only_noted() -> None:
    project = machine(hammer(40.0), rpm=10.0)
    found = [f for f in examine(project, stage=QUICK).findings if f.rule.startswith("drop")]
    assert [f.rule for f in found] == ["drop-one-way"]
    assert found[0].severity is Severity.NOTE
    assert found[0].start_deg == pytest.approx(100.0)
    assert words(found[0], project).what == (
        "The drop to down has a steep edge: do not turn the machine backwards here."
    )
    assert not any(
        f.rule in ("velocity-jump", "undercut", "pressure-angle")
        for f in examine(project, stage=QUICK).findings
    )


def test_a_drop_that_lands_late_tells_by_how_much() -> None:
    """A constant force alone takes sqrt(2 h m / F) for the height: any text on mechanics."""
    project = machine(hammer(10.0), rpm=60.0)
    (late,) = [f for f in examine(project, stage=QUICK).findings if f.rule == "drop-late"]
    fall_s = (2 * 0.012 * 0.1 / 1.0) ** 0.5
    assert late.value is not None
    # 12 mm under 1 N on 0.1 kg, at 360 degrees a second; the crest holds the follower back at first.
    assert fall_s * 360.0 - 10.0 <= late.value + 1e-9 < 30.0
    assert late.start_deg == pytest.approx(110.0)
    assert float(late.facts["seconds"]) == pytest.approx(late.value / 360.0)
    assert words(late, project).cure.startswith("Begin Hammer down at ")


def test_after_the_cure_the_drop_lands_in_time() -> None:
    project = machine(hammer(10.0), rpm=60.0)
    (late,) = [f for f in examine(project, stage=QUICK).findings if f.rule == "drop-late"]
    assert late.cure is not None
    assert late.cure.edit is not None
    edited = apply_edit(project, late.cure.edit, **late.cure.arguments).project
    assert not [f for f in examine(edited).findings if f.rule == "drop-late"]


def test_a_faster_stack_drops_in_the_first_of_its_turns() -> None:
    project = machine(hammer(60.0), rpm=5.0, stacks=(Stack(id="s", turns=2),))
    (note,) = [f for f in examine(project).findings if f.rule == "drop-one-way"]
    assert note.start_deg == pytest.approx(50.0)
