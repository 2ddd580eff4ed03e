"""Whatever the check passes without an error, the export writes: machines with hub, frame and followers.

Slides, levers and straight-line levers are drawn with their lengths and heights; rods, plates, pillars and
hubs with theirs; a printer's corrections over all of them.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from shaftscore.base.errors import EditError
from shaftscore.edits.followers import move_by
from shaftscore.model import (
    Disc,
    Drive,
    Hub,
    Lane,
    MachineFrame,
    MotorSource,
    Print,
    Project,
    Rod,
    Stack,
    Stage,
    replaced,
)
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.test_what_passes_is_written import SLOW, WITHOUT_SHRINKING, mm, written
from tests.machines import gate, machine

STATIONS = (0.0, 120.0, 240.0)


@st.composite
def hubs(draw: st.DrawFn) -> Hub:
    kind = draw(st.sampled_from(["clamp", "set-screw", "bolted"]))
    circle = draw(mm(18.0, 60.0)) if kind == "bolted" else draw(st.none() | mm(18.0, 60.0))
    fields = {"kind": kind, "thickness_mm": draw(mm(6.0, 16.0)), "bolt_circle_mm": circle}
    fields |= {"bolts": draw(st.integers(1, 6)), "bolt_mm": draw(st.sampled_from([2.5, 3.0, 4.0]))}
    return Hub.model_validate(fields)


@st.composite
def stacks(draw: st.DrawFn, *, wide: bool) -> Stack:
    shape = draw(st.sampled_from(["round", "hex", "square"]))
    across = draw(st.sampled_from([5.0, 6.0, 8.0, 10.0]))
    fields: dict[str, Any] = {
        "id": "s",
        "name": "Main shaft",
        "bore": {"shape": shape, "across_mm": across},
        "fixing": "keyed" if shape != "round" else "glued",
        "fit_clearance_mm": draw(mm(0.05, 0.3)),
        "spacer_mm": draw(st.just(12.0) | mm(2.0, 16.0)),
        "spacer_radius_mm": draw(mm(9.0, 16.0)),
        "rod": Rod(
            across_mm=across, below_mm=draw(mm(4.0 if wide else 22.0, 40.0)), above_mm=draw(mm(4.0, 40.0))
        ),
        "hub": draw(st.none() | hubs()),
        "driven_end": draw(st.sampled_from(["bottom", "bottom", "top"])),
    }
    if draw(st.booleans()):
        fields["dogs"] = {
            "count": 3,
            "radius_mm": across / 2 + 5.0,
            "width_mm": 3.0,
            "height_mm": draw(mm(1.0, 3.0)),
        }
    return Stack.model_validate(fields)


def loose(lane: Lane, draw: st.DrawFn, *, wide: bool) -> Lane:
    """Change the lengths of a lane's follower as somebody might who does not look."""
    parts, follower = lane.parts, lane.follower
    assert parts is not None
    changed: dict[str, Any] = {"thickness_mm": draw(st.just(4.0) | mm(0.5, 8.0))}
    if draw(st.booleans()):
        changed["spring_hook_mm"] = draw(mm(2.0, 130.0))
    changed["output_hole_mm"] = draw(st.just(3.2) | mm(0.5, 8.0))
    own: dict[str, Any] = {"arm_thickness_mm": changed["thickness_mm"]}
    if wide or draw(st.integers(0, 4)) == 0:
        own["body_width_mm"] = draw(st.none() | mm(3.0, 20.0))
    own["arm_side"] = draw(st.sampled_from(["above", "above", "below", "both"]))
    return replaced(lane, parts=replaced(parts, **changed), follower=replaced(follower, **own))


@st.composite
def machines(draw: st.DrawFn, *, wide: bool = True) -> Project:
    """Complete machines of one to three lanes; wide: also many that cannot be made."""
    names = draw(st.sampled_from(["A", "AB", "ABC"]))
    lanes = []
    for name, station in zip(names, STATIONS, strict=False):
        start = draw(st.integers(0, 300))
        disc = Disc(base_radius_mm=draw(mm(26.0, 40.0)), thickness_mm=draw(mm(3.0, 8.0)))
        lanes.append(gate(name, start, start + 40, 70.0, disc=disc, station_deg=station))
    stages = ()
    if draw(st.booleans()):
        fields = {"driver_teeth": draw(st.integers(10, 16)), "driven_teeth": draw(st.integers(30, 60))}
        module = draw(st.sampled_from([0.8, 1.0, 1.5]))
        stages = (Stage(kind="external", module_mm=module, face_mm=draw(mm(4.0, 12.0)), **fields),)
    turn = "counterclockwise" if stages else "clockwise"
    motor = {"kind": "motor", "rated_speed_rpm": 30.0, "rated_torque_nm": 2.0, "stall_torque_nm": 4.0}
    source = MotorSource.model_validate(motor | {"turn": turn})
    frame = {"plate_mm": draw(mm(2.0, 10.0)), "margin_mm": draw(mm(4.0, 30.0))}
    frame |= {"pillars": draw(st.integers(3, 6)), "pillar_mm": draw(st.sampled_from([4.0, 5.0, 6.0]))}
    printer = Print(
        contour_mm=draw(st.just(0.0) | mm(-0.3, 0.3) | mm(*(-3.0, 3.0) if wide else (-0.3, 0.3))),
        hole_mm=draw(st.just(0.0) | mm(-0.2, 0.3) | mm(*(-2.0, 2.0) if wide else (-0.2, 0.3))),
        bed_z_mm=draw(st.sampled_from([220.0, 220.0, 60.0])),
        bed_x_mm=draw(st.sampled_from([220.0, 220.0, 100.0])),
    )
    project = machine(
        *with_codes(lanes),
        rpm=6.0,
        stacks=(draw(stacks(wide=wide)),),
        print=printer,
        frame=draw(st.none() | st.just(MachineFrame(**frame))),
        drive=draw(st.none() | st.just(Drive(source=source, stages=stages))),
    )
    for lane in project.lanes:
        kind = draw(st.sampled_from(["slide", "lever", "straight-line"]))
        try:
            project = move_by(project, lane.id, kind).project
            mine = loose(project.lane(lane.id), draw, wide=wide)
            project = replaced(
                project, lanes=tuple(mine if one.id == lane.id else one for one in project.lanes)
            )
        except (EditError, ValidationError):
            reject()
    return project


@settings(max_examples=2, deadline=None, suppress_health_check=SLOW, phases=WITHOUT_SHRINKING)
@given(project=machines(wide=False))
def test_a_complete_machine_that_passes_is_written(project: Project) -> None:
    written(project, ("stl",))


@pytest.mark.long
@settings(max_examples=300, deadline=None, suppress_health_check=SLOW, phases=WITHOUT_SHRINKING)
@given(project=machines())
def test_any_complete_machine_that_passes_is_written(project: Project) -> None:
    written(project, ("3mf", "stl", "dxf", "svg", "csv"))
