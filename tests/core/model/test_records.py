"""Every record: strict, immutable, bounded, with the file format's defaults and a word on every field."""

from __future__ import annotations

import re
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from shaftscore import model
from shaftscore.model import (
    Block,
    Bore,
    CoilSpring,
    CrankSource,
    Disc,
    Dogs,
    Drive,
    Gate,
    Lane,
    LevelState,
    Limits,
    Load,
    Magazine,
    MotorSource,
    Order,
    Pins,
    Print,
    Project,
    RangeState,
    Rod,
    Shaft,
    Stack,
    Stage,
    SwingingRoller,
    Tolerances,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.base import Record
from shaftscore.model.faults import file_keys
from shaftscore.model.lanes import FollowerBase
from tests.strategies import floats, lanes, projects

RECORDS = [
    found
    for found in vars(model).values()
    if isinstance(found, type) and issubclass(found, Record) and found is not Record
]
NEED_NO_WORDS = {"id", "name", "kind"}


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_field_has_a_word(record: type[Record]) -> None:
    text = (record.__doc__ or "") + (FollowerBase.__doc__ or "" if issubclass(record, FollowerBase) else "")
    silent = [key for key in file_keys(record) if not re.search(rf"\b{key}\b", text)]
    assert set(silent) <= NEED_NO_WORDS


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_number_is_bounded(record: type[Record]) -> None:
    """A bound on both sides of every number, and on the length of every text and list."""
    schema = record.model_json_schema(by_alias=True)
    for definition in [schema, *schema.get("$defs", {}).values()]:
        for name, field in definition.get("properties", {}).items():
            for part in _parts(field):
                assert _bounded(part), (definition.get("title"), name, part)


def _parts(field: dict[str, Any]) -> list[dict[str, Any]]:
    inner = [part for key in ("anyOf", "oneOf", "prefixItems") for part in field.get(key, [])]
    inner += [field[key] for key in ("items", "additionalProperties") if isinstance(field.get(key), dict)]
    return [field, *(part for item in inner for part in _parts(item))]


def _bounded(part: dict[str, Any]) -> bool:
    lower, upper = {"minimum", "exclusiveMinimum"}, {"maximum", "exclusiveMaximum"}
    if part.get("type") in ("number", "integer") and "const" not in part:
        return bool(lower & part.keys()) and bool(upper & part.keys())
    if part.get("type") == "string":
        return bool({"maxLength", "pattern", "enum", "const"} & part.keys())
    if part.get("type") == "array":
        return "maxItems" in part
    return part.get("type") != "object" or "$ref" in part or "maxProperties" in part


SHAFT = {"turn": "clockwise", "speed_rpm": 6.0}
ROLLER = {"kind": "translating-roller", "roller_radius_mm": 5.0}
COIL = {"wire_mm": 0.5, "coil_mm": 5.0, "active_coils": 8.0, "free_mm": 30.0}
ARM = {"roller_radius_mm": 5.0, "arm_mm": 50.0, "pivot_distance_mm": 60.0, "pivot_side": "clockwise"}
DEFAULTS: list[tuple[Record, dict[str, Any]]] = [
    (Shaft(**SHAFT), {"top_speed_rpm": 6.0, "step_names": ()}),
    (CrankSource(kind="crank", radius_mm=80.0, turn="clockwise"), {"hand_force_n": 20.0}),
    (
        MotorSource(kind="motor", rated_speed_rpm=60.0, rated_torque_nm=0.5, turn="clockwise"),
        {"from_below": False, "stall_torque_nm": None},
    ),
    (
        Stage(driver_teeth=1, driven_teeth=2, kind="belt"),
        {"efficiency": None, "efficiency_used": 0.95, "reverses": None, "module_mm": None, "face_mm": None},
    ),
    (
        Drive(source=CrankSource(kind="crank", radius_mm=80.0, turn="clockwise")),
        {"torque_reserve": 1.5, "stages": ()},
    ),
    (
        Stack(id="a"),
        {
            "turns": 1,
            "turn": None,
            "efficiency": 1.0,
            "order": (),
            "dogs": None,
            "fit_clearance_mm": 0.2,
            "keying": "shaft",
            "joint_play_deg": None,
            "joints": None,
            "is_chain": False,
            "lined_up_mm": 0.3,
            "against": "straight-edge",
            "fixing": "keyed",
            "followers_set": None,
            "pins": None,
            "rod": None,
            "backlash_deg": 0.0,
            "body_clearance_mm": 0.5,
        },
    ),
    (
        Lane(id="a"),
        {
            "kind": "disc",
            "guarded": (),
            "law": "modified-sine",
            "load": None,
            "offset_deg": 0.0,
            "points": None,
        },
    ),
    (Disc(), {"edge_chamfer_mm": 0.4, "base_group": None}),
    (
        Block(level="a", start_deg=0.0, end_deg=1.0),
        {"locked": False, "window": None, "min_length_deg": None, "min_length_s": None, "law": None},
    ),
    (
        TranslatingRoller(**ROLLER),
        {
            "offset_mm": 0.0,
            "guide_friction": 0.0,
            "guide_length_mm": None,
            "overhang_mm": None,
            "guide_start_mm": None,
            "closure": "spring",
            "groove_clearance_mm": 0.2,
            "output_ratio": 1.0,
            "link": None,
            "link_play_mm": 0.0,
            "bearing": None,
            "arm_thickness_mm": None,
            "washer_mm": 1.0,
            "arm_side": "above",
        },
    ),
    (SwingingRoller(kind="swinging-roller", **ARM), {"output_arm_mm": None, "pivot_rod_mm": 3.0}),
    (TranslatingFlat(kind="translating-flat", face_width_mm=20.0), {"closure": "spring"}),
    (
        Load(),
        {
            "at": "roller",
            "frictions": (),
            "static_ratio": 1.3,
            "spring_tolerance_percent": 20.0,
            "spring": None,
        },
    ),
    (
        CoilSpring(kind="compression", **COIL, installed_mm=25.0),
        {"ends": "closed", "initial_n": 0.0, "ratio": 1.0, "material": "music-wire"},
    ),
    (Dogs(radius_mm=9.0, width_mm=3.0, height_mm=2.0), {"count": 3, "clearance_mm": None}),
    (Pins(count=2, radius_mm=18.0, across_mm=3.0), {"clearance_mm": 0.1}),
    (
        Rod(across_mm=8.0, below_mm=10.0, above_mm=10.0),
        {
            "shape": None,
            "thread": None,
            "tolerance": None,
            "material": "steel",
            "bearing": "ball",
            "clamp_n": None,
        },
    ),
    (
        Gate(id="g", state=LevelState(lane="a", level="b"), source="m"),
        {"mode": "single", "item_s": 0.0, "items": 1, "reload": None},
    ),
    (
        Tolerances(),
        {
            "disc_angle_deg": 0.3,
            "profile_mm": 0.10,
            "fit_spread_mm": 0.03,
            "station_mm": 0.2,
            "zero_mm": 0.1,
            "thickness_mm": 0.05,
            "thickness_common_mm": 0.05,
            "follower_z_mm": None,
            "travel_percent": 10.0,
            "speed_percent": 10.0,
            "rate_percent": 0.0,
        },
    ),
    (
        Limits(),
        {
            "pressure_angle_deg": 30.0,
            "swing_pressure_angle_deg": 45.0,
            "return_pressure_angle_deg": 45.0,
            "crest_radius_mm": 1.0,
            "hollow_margin_mm": 0.5,
            "max_disc_radius_mm": None,
            "force_reserve": 1.5,
            "chance_percent": 99.0,
            "least_chance_percent": 90.0,
        },
    ),
    (
        Print(),
        {
            "bed_x_mm": 220.0,
            "bed_y_mm": 220.0,
            "bed_z_mm": 220.0,
            "nozzle_mm": 0.4,
            "contour_mm": 0.0,
            "hole_mm": 0.0,
            "layer_mm": 0.2,
            "first_layer_mm": 0.2,
            "foot_chamfer_mm": 0.3,
            "shrinkage_percent": 0.0,
            "line_mm": 0.45,
            "walls": 3,
            "infill_percent": 20.0,
            "flow_mm3_s": 8.0,
        },
    ),
]
"""The defaults that the file format states."""


@pytest.mark.parametrize(("record", "expected"), DEFAULTS, ids=lambda value: type(value).__name__)
def test_defaults_of_the_file_format(record: Record, expected: dict[str, Any]) -> None:
    assert {name: getattr(record, name) for name in expected} == expected


def project(**fields: Any) -> Project:
    return Project(format="shaftscore-project", version=2, shaft=Shaft(**SHAFT), **fields)


def test_a_short_project_has_one_stack_and_half_the_bed_as_its_largest_disc() -> None:
    short = project()
    assert [stack.id for stack in short.stacks] == ["main"]
    assert short.max_disc_radius_mm == 110
    assert project(print=Print(bed_x_mm=180.0)).max_disc_radius_mm == 90
    assert project(limits=Limits(max_disc_radius_mm=70.0)).max_disc_radius_mm == 70


@pytest.mark.parametrize(
    ("levels", "band"),
    [
        ({}, 0.5),
        ({"a": 7.0}, 0.5),
        ({"a": 0.0, "b": 10.0}, 1.0),
        ({"c": 20.0, "a": 0.0, "b": 8.0}, 0.8),
    ],
)
def test_the_band_is_a_tenth_of_the_smallest_distance(levels: dict[str, float], band: float) -> None:
    assert Lane(id="a", levels=levels).band == pytest.approx(band)
    assert Lane(id="a", levels=levels, band_mm=0.25).band == 0.25


def test_steps_by_count_and_by_start() -> None:
    assert Shaft(**SHAFT, steps=4).step_starts_deg == (0, 90, 180, 270)
    assert Shaft(**SHAFT, steps=(0.0, 100.0)).step_starts_deg == (0, 100)


def test_a_bore_s_inner_and_outer_circle() -> None:
    """Across flats 10 mm: the corners of a hexagon lie at 10 / sqrt 3, of a square at 5 sqrt 2."""
    assert Bore(shape="hex", across_mm=10.0).outer_radius_mm == pytest.approx(10 / 3**0.5)
    assert Bore(shape="square", across_mm=10.0).outer_radius_mm == pytest.approx(5 * 2**0.5)
    assert Bore(shape="round", across_mm=10.0).outer_radius_mm == 5
    d = Bore(shape="d", across_mm=10.0, flat_mm=9.0)
    assert (d.inner_radius_mm, d.outer_radius_mm) == (4, 5)


def test_riders_have_the_stack_and_the_levels_of_their_disc() -> None:
    host = Lane(id="host", stack="side", levels={"a": 0.0, "b": 4.0})
    rider = Lane(id="rider", kind="rider", disc_of="host")
    whole = project(
        stacks=(Stack(id="main"), Stack(id="side", turn="clockwise", turns=3)), lanes=(host, rider)
    )
    assert whole.stack_of(rider).id == "side"
    assert whole.levels_of(rider) == host.levels


def test_discs_of_a_stack_bottom_to_top() -> None:
    discs = [Lane(id=name) for name in "abc"]
    made = (*discs, Lane(id="r", kind="rider", disc_of="a"), Lane(id="i", kind="index"))
    for order, expected in (((), "abc"), (("c", "a", "b"), "cab"), (("b",), "bac")):
        whole = project(stacks=(Stack(id="main", order=order),), lanes=made)
        assert "".join(lane.id for lane in whole.discs_of(whole.stacks[0])) == expected


def test_blocks_at_one_angle_keep_their_order() -> None:
    first, second = (Block(level=name, start_deg=5.0, end_deg=5.0) for name in "ba")
    lane = Lane(id="l", levels={"a": 0.0, "b": 1.0}, blocks=(first, second))
    assert lane.blocks == (first, second)


@given(lanes(), floats(-1e9, 1e9))
def test_records_cannot_be_changed(lane: Lane, value: float) -> None:
    with pytest.raises(ValidationError):
        lane.station_deg = value
    with pytest.raises(TypeError):
        lane.levels["new"] = value  # type: ignore[index]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), True, "5", None, 361.0, -361.0])
def test_a_replaced_value_is_checked(value: object) -> None:
    with pytest.raises(ValidationError):
        replaced(Lane(id="a"), station_deg=value)


@given(projects())
def test_what_is_not_replaced_stays_the_same_object(before: Project) -> None:
    """What was worked out from it before is known to hold by that."""
    after = replaced(before, notes="Oil it")
    assert after.notes == "Oil it"
    assert [
        name for name in before.model_fields_set if getattr(after, name) is not getattr(before, name)
    ] in (
        [],
        ["notes"],
    )
    for lane in before.lanes:
        renamed = replaced(lane, name="Other")
        assert renamed.blocks is lane.blocks or "blocks" not in lane.model_fields_set
        assert renamed.levels is lane.levels or "levels" not in lane.model_fields_set


def test_a_replaced_field_must_be_there() -> None:
    with pytest.raises(TypeError, match="Lane has no field staton_deg"):
        replaced(Lane(id="a"), staton_deg=1.0)


def test_replacing_keeps_inner_records_and_what_was_left_out() -> None:
    block = Block(level="a", start_deg=0.0, end_deg=1.0)
    lane = Lane(id="l", levels={"a": 0.0}, blocks=(block,))
    moved = replaced(lane, station_deg=5.0)
    assert moved.blocks[0] is block
    assert moved.model_fields_set == lane.model_fields_set | {"station_deg"}
    magazine = Magazine(id="m", source="s", capacity=5)
    assert replaced(magazine, capacity=6).source == "s"
    assert replaced(magazine, source=None).source is None


def test_an_edit_of_one_lane_does_not_look_at_the_others_again(monkeypatch: pytest.MonkeyPatch) -> None:
    lanes_made = tuple(Lane(id=f"l{n}") for n in range(64))
    whole = project(lanes=lanes_made)
    looked: list[str] = []
    monkeypatch.setattr(Lane, "contradictions", lambda self: iter(looked.append(self.id) or ()))
    moved = replaced(whole.lanes[5], station_deg=5.0)
    replaced(whole, lanes=(*lanes_made[:5], moved, *lanes_made[6:]))
    assert looked == ["l5"]


@given(projects())
def test_a_project_may_be_replaced_by_itself(whole: Project) -> None:
    assert replaced(whole, name=whole.name) == whole


@given(st.sampled_from([LevelState(lane="a", level="b"), RangeState(lane="a", from_mm=0.0, to_mm=1.0)]))
def test_a_state_is_known_by_its_keys(state: LevelState | RangeState) -> None:
    plain = state.model_dump()
    order = Order.model_validate({"kind": "order", "first": plain, "then": plain})
    assert (order.first, order.then) == (state, state)


def test_dogs_of_the_format_s_default_count() -> None:
    assert Dogs(radius_mm=10.0, width_mm=3.0, height_mm=2.0).count == 3


def test_the_model_and_the_edits_load_little() -> None:
    """A check starts fast: of libraries, the model needs numpy and pydantic alone."""
    code = (
        "import sys, shaftscore.model, shaftscore.edits\n"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    heavy = {
        "scipy",
        "shapely",
        "manifold3d",
        "lib3mf",
        "ezdxf",
        "reportlab",
        "ortools",
        "pyqtgraph",
        "PySide6",
    }
    assert {"pydantic", "shaftscore"} <= set(loaded)
    assert not heavy & set(loaded)
