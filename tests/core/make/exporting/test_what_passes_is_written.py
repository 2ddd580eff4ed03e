"""Whatever the check passes without an error, the export writes; and what it writes is proved.

Machines are drawn with everything that shapes their parts: bores, dogs, pins, clearances, spacers, grooves,
chamfers, thin and thick discs, a printer's corrections. None of them may pass the check and stop the export.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, assume, event, given, reject, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from shaftscore.judge.findings import Severity
from shaftscore.judge.report import Report, examine
from shaftscore.make.exporting import export_project
from shaftscore.model import (
    Bore,
    Disc,
    Lane,
    Load,
    Print,
    Project,
    Stack,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.codes import with_codes
from tests.machines import gate, lane, machine

SLOW = [HealthCheck.filter_too_much, HealthCheck.too_slow]
WITHOUT_SHRINKING = [Phase.explicit, Phase.reuse, Phase.generate]
"""A machine that fails is shown as it was drawn: to make it smaller would take minutes."""


def mm(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths on a grid of 0.01 mm."""
    return st.integers(round(low * 100), round(high * 100)).map(lambda whole: whole / 100)


FOLLOWERS: tuple[Any, ...] = (
    TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0),
    TranslatingRoller(kind="translating-roller", roller_radius_mm=4.0, offset_mm=6.0),
    TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove"),
    TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0),
    TranslatingFlat(kind="translating-flat", face_width_mm=70.0),
    SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=60.0,
        pivot_distance_mm=65.0,
        pivot_side="clockwise",
    ),
)


@st.composite
def stacks(draw: st.DrawFn, *, wide: bool) -> Stack:
    shape = draw(st.sampled_from(["round", "hex", "square", "d"]))
    across = draw(mm(2.0, 14.0))
    flat = {"flat_mm": across * 0.85} if shape == "d" else {}
    dogs = pins = None
    if draw(st.booleans()):
        dogs = {
            "count": draw(st.integers(1, 6)),
            "radius_mm": draw(mm(across + 1, across + 8)),
            "width_mm": draw(mm(0.3, 3.0)),
            "height_mm": draw(mm(0.1, 4.0)),
            "clearance_mm": draw(st.none() | mm(0.0, 0.5)),
        }
    if draw(st.booleans()):
        wide = draw(mm(1.0, 4.0))
        pins = {
            "count": draw(st.integers(2, 4)),
            "radius_mm": draw(mm(across + wide / 2, across + 10)),
            "across_mm": wide,
            "clearance_mm": draw(mm(0.0, 0.3)),
        }
    fields = {
        "id": "s",
        "bore": Bore(shape=shape, across_mm=across, **flat),  # type: ignore[arg-type]
        "dogs": dogs,
        "pins": pins,
        "fit_clearance_mm": draw(mm(0.0, 0.4)),
        "fixing": draw(st.sampled_from(["keyed", "glued"])) if wide else "glued",
        "spacer_mm": draw(mm(0.0, 8.0)),
        "spacer_radius_mm": draw(mm(6.0, 24.0)),
    }
    try:
        return Stack.model_validate(fields)
    except ValidationError:  # dogs inside the bore, or too many for their circle
        reject()


@st.composite
def lanes(draw: st.DrawFn, name: str, *, wide: bool) -> Lane:
    follower = draw(st.sampled_from(FOLLOWERS))
    thickness = draw(mm(0.4, 8.0))
    disc = Disc(
        base_radius_mm=draw(st.just("auto") | mm(8.0 if wide else 30.0, 50.0)),  # type: ignore[arg-type]
        thickness_mm=thickness,
        edge_chamfer_mm=draw(mm(0.0, min(1.5, thickness / 2 - 0.01))),
        groove_depth_mm=thickness * draw(st.sampled_from([0.3, 0.6, 0.9])),
        rim_mm=draw(mm(0.2, 5.0)),
    )
    move = draw(st.sampled_from([40.0, 70.0, 90.0]))
    start, falls = draw(st.integers(0, 300)), follower.closure == "spring" and draw(st.booleans())
    own = {"follower": follower, "disc": disc, "station_deg": 120.0 if name == "B" else 0.0}
    drawn = gate(name, start, start + 40, move, levels={"closed": 0.0, "open": 4.0}, **own)
    load = Load(moving_mass_g=40.0, spring_preload_n=6.0, spring_rate_n_per_mm=0.5) if falls else None
    law = "drop" if falls else None
    blocks = tuple(replaced(one, law=law) if one.level == "closed" else one for one in drawn.blocks)
    return replaced(drawn, blocks=blocks, load=load)


@st.composite
def machines(draw: st.DrawFn, *, wide: bool = True) -> Project:
    """Machines of one or two lanes; wide: also many that cannot be made, and many that only just can."""
    names = draw(st.sampled_from(["A", "AB"]))
    made: list[Lane] = [draw(lanes(name, wide=wide)) for name in names]
    if draw(st.booleans()):
        made.append(lane("Empty"))
    printer = Print(
        contour_mm=draw(st.just(0.0) | mm(-0.4, 0.4) | mm(*(-3.0, 3.0) if wide else (-0.4, 0.4))),
        hole_mm=draw(st.just(0.0) | mm(-0.2, 0.4) | mm(*(-2.0, 2.0) if wide else (-0.2, 0.4))),
        nozzle_mm=draw(st.sampled_from([0.2, 0.4, 0.8])),
        shrinkage_percent=draw(st.just(0.0) | st.just(0.7) | st.just(-0.4)),
    )
    return machine(*with_codes(made), stacks=(draw(stacks(wide=wide)),), print=printer)


def has_errors(report: Report) -> bool:
    return report.count(Severity.ERROR) > 0


def written(project: Project, formats: tuple[str, ...]) -> None:
    """Check a machine, and export it if it passes."""
    report = examine(project, cures=False)
    event("passes" if not has_errors(report) else "has errors")
    assume(not has_errors(report))
    with TemporaryDirectory() as folder:
        result = export_project(report, Path(folder) / "out", formats)
        assert result.files
        assert not any(proof.faults for proof in result.proofs)


def test_narrow_dogs_without_clearance_are_written(tmp_path: Path) -> None:
    """A dog fits its own pocket exactly: drawings, whose arcs are read finely, must not make it larger."""
    dogs = {"count": 1, "radius_mm": 5.0, "width_mm": 1.0, "height_mm": 0.1, "clearance_mm": 0.0}
    stack = Stack.model_validate(
        {"id": "s", "bore": {"shape": "hex", "across_mm": 4.0}, "dogs": dogs, "fixing": "glued"}
    )
    disc = Disc(base_radius_mm=14.0, thickness_mm=5.0)
    lanes = with_codes([gate("A", 0, 40, 70, levels={"closed": 0.0, "open": 4.0}, disc=disc)])
    project = machine(*lanes, stacks=(stack,), print=Print(hole_mm=0.1, contour_mm=-0.1))
    report = examine(project)
    assert not has_errors(report)
    result = export_project(report, tmp_path / "out", ("stl", "dxf", "svg"))
    found = {fit.file.rsplit(".", 1)[1]: fit.play_deg for fit in result.fits if fit.name == "dogs"}
    assert found == dict.fromkeys(("stl", "dxf", "svg"), (0.0, 0.0))


@settings(max_examples=6, deadline=None, suppress_health_check=SLOW, phases=WITHOUT_SHRINKING)
@given(project=machines(wide=False))
def test_what_passes_the_check_is_written(project: Project) -> None:
    written(project, ("stl",))


@pytest.mark.long
@settings(
    max_examples=1500,
    deadline=None,
    suppress_health_check=SLOW,
    phases=WITHOUT_SHRINKING,
)
@given(project=machines())
def test_what_passes_the_check_is_written_in_every_format(project: Project) -> None:
    written(project, ("3mf", "stl", "dxf", "svg", "csv"))
