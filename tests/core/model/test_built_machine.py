"""What version 2 adds to the records: what they refuse, and what follows from a field that is left out."""

from __future__ import annotations

import copy
import json
from math import cos, radians, tan
from typing import Any

import pytest
from pydantic import ValidationError

from shaftscore.base.errors import ProjectError
from shaftscore.model import (
    Bore,
    CoilSpring,
    Drive,
    FrictionCase,
    Load,
    Pins,
    Project,
    Rod,
    Shaft,
    Stack,
    Stage,
    SwingingRoller,
    Tolerances,
    TranslatingRoller,
    read_project,
    replaced,
    saved_form,
)

WORM = {"driver_teeth": 1, "driven_teeth": 30, "kind": "worm", "reverses": False}
COMPRESSION = {
    "kind": "compression",
    "wire_mm": 0.8,
    "coil_mm": 8,
    "active_coils": 10,
    "free_mm": 40,
    "installed_mm": 30,
}
EXTENSION = {**COMPRESSION, "kind": "extension", "free_mm": 30, "installed_mm": 40}
RAW: dict[str, Any] = {
    "format": "shaftscore-project",
    "version": 2,
    "shaft": {"turn": "clockwise", "speed_rpm": 6},
    "drive": {"source": {"kind": "crank", "radius_mm": 80, "turn": "clockwise"}},
    "stacks": [{"id": "main", "bore": {"shape": "hex", "across_mm": 8}}],
    "lanes": [{"id": "a", "levels": {"low": 0, "high": 8}}],
}
ROD = {"across_mm": 8, "below_mm": 10, "above_mm": 10}
ROUND = {"shape": "round", "across_mm": 8}
STRAIGHT = {"kind": "translating-roller"}
ARM = {"kind": "swinging-roller", "arm_mm": 50, "pivot_distance_mm": 62, "pivot_side": "clockwise"}


def faults_with(place: str, values: dict[str, Any]) -> list[tuple[str, str]]:
    """Put values into a part of the project; returns path and message of every fault."""
    raw = copy.deepcopy(RAW)
    target: Any = {"": raw, "stack": raw["stacks"][0], "lane": raw["lanes"][0], "drive": raw["drive"]}[place]
    target.update(values)
    with pytest.raises(ProjectError) as caught:
        read_project(json.dumps(raw).encode(), "x")
    return [(fault.path, fault.message) for fault in caught.value.faults]


BEVEL = {"driver_teeth": 10, "driven_teeth": 20, "kind": "bevel"}
LEVEL = {**BEVEL, "driver_axis": "up", "driven_axis": 90}

REFUSED: list[tuple[str, dict[str, Any], str, str]] = [
    (
        "lane",
        {"load": {"friction_n": 1, "frictions": [{"name": "dry", "friction_n": 1}]}},
        "friction_n",
        "together with frictions",
    ),
    (
        "lane",
        {"load": {"frictions": [{"name": "d", "friction_n": 1}] * 2}},
        "frictions[1].name",
        "frictions[0] already",
    ),
    (
        "lane",
        {"load": {"frictions": [{"name": "d", "friction_n": -1}]}},
        "frictions[0].friction_n",
        "at least 0",
    ),
    ("lane", {"load": {"static_ratio": 0.9}}, "static_ratio", "must be at least 1"),
    ("lane", {"load": {"spring_tolerance_percent": 101}}, "spring_tolerance_percent", "must be at most 100"),
    (
        "lane",
        {"load": {"spring": COMPRESSION, "spring_preload_n": 0}},
        "spring_preload_n",
        "0 N is given together with spring",
    ),
    (
        "lane",
        {"load": {"spring": COMPRESSION, "spring_rate_n_per_mm": 2}},
        "spring_rate_n_per_mm",
        "2 N/mm is given together with spring",
    ),
    (
        "lane",
        {"load": {"spring": {**COMPRESSION, "installed_mm": 41}}},
        "spring.installed_mm",
        "at most free_mm, 40 mm",
    ),
    (
        "lane",
        {"load": {"spring": {**EXTENSION, "installed_mm": 29}}},
        "spring.installed_mm",
        "at least free_mm, 30 mm",
    ),
    (
        "lane",
        {"load": {"spring": {**COMPRESSION, "initial_n": 1}}},
        "spring.initial_n",
        "extension springs only",
    ),
    (
        "lane",
        {"load": {"spring": {**EXTENSION, "ends": "closed"}}},
        "spring.ends",
        "compression springs only",
    ),
    (
        "lane",
        {"load": {"spring": {**COMPRESSION, "wire_mm": 8}}},
        "spring.wire_mm",
        "less than coil_mm, 8 mm",
    ),
    ("lane", {"load": {"spring": {**COMPRESSION, "ratio": 0}}}, "spring.ratio", "greater than 0"),
    ("lane", {"follower": {**STRAIGHT}}, "follower.roller_radius_mm", "is missing"),
    ("lane", {"follower": {**STRAIGHT, "bearing": "6O8"}}, "follower.bearing", 'did you mean "608"'),
    (
        "lane",
        {"follower": {**STRAIGHT, "bearing": "608", "roller_radius_mm": 5}},
        "follower.roller_radius_mm",
        "608 has 11 mm",
    ),
    ("lane", {"follower": {**ARM, "bearing": "608", "width_mm": 5}}, "follower.width_mm", "608 has 7 mm"),
    (
        "lane",
        {"follower": {**STRAIGHT, "roller_radius_mm": 5, "arm_side": "left"}},
        "follower.arm_side",
        "above, below",
    ),
    (
        "stack",
        {"pins": {"count": 1, "radius_mm": 18, "across_mm": 3}},
        "pins.count",
        "must be at least 2, got 1",
    ),
    (
        "stack",
        {"pins": {"count": 24, "radius_mm": 10, "across_mm": 3}},
        "pins.across_mm",
        "24 of 3 mm do not fit",
    ),
    ("stack", {"pins": {"count": 2, "radius_mm": 6, "across_mm": 3}}, "pins.radius_mm", "over 6.119 mm"),
    ("stack", {"rod": {**ROD, "across_mm": 8.5}}, "rod.across_mm", "at most the bore's 8 mm"),
    ("stack", {"rod": {**ROD, "thread": "M8"}}, "rod.shape", 'must be "round" for a thread, got "hex"'),
    ("stack", {"bore": ROUND, "rod": {**ROD, "thread": "M6"}}, "rod.thread", "across_mm is 8 mm"),
    ("stack", {"bore": ROUND, "rod": {**ROD, "thread": "M7.5"}}, "rod.thread", "write its pitch"),
    ("stack", {"bore": ROUND, "rod": {**ROD, "thread": "W8"}}, "rod.thread", ""),
    ("stack", {"rod": {**ROD, "tolerance": "6g"}}, "rod.tolerance", "the rod has none"),
    ("stack", {"rod": {**ROD, "tolerance": "h5"}}, "rod.tolerance", "is not one of h6"),
    ("stack", {"rod": {**ROD, "material": "stel"}}, "stacks[0].rod.material", 'did you mean "steel"'),
    ("stack", {"rod": {**ROD, "clamp_n": 0}}, "rod.clamp_n", "greater than 0"),
    ("stack", {"joints": "tight"}, "joints", "one-way, lined-up"),
    (
        "drive",
        {"stages": [{**WORM, "lead_angle_deg": 10, "efficiency": 0.5}]},
        "lead_angle_deg",
        "together with efficiency, 0.5",
    ),
    (
        "drive",
        {"stages": [{**WORM, "friction": 0.1, "efficiency": 0.5}]},
        "friction",
        "together with efficiency, 0.5",
    ),
    ("drive", {"stages": [{**WORM, "friction": 0.1}]}, "friction", "without lead_angle_deg"),
    ("drive", {"stages": [{**WORM, "lead_angle_deg": 89}]}, "lead_angle_deg", "cannot drive"),
    (
        "drive",
        {"stages": [{"driver_teeth": 9, "driven_teeth": 9, "kind": "belt", "lead_angle_deg": 9}]},
        "lead_angle_deg",
        "worm only",
    ),
    (
        "",
        {"limits": {"chance_percent": 80}},
        "limits.least_chance_percent",
        "at most chance_percent, 80 %, got 90 %",
    ),
    ("", {"limits": {"force_reserve": 0.5}}, "limits.force_reserve", "at least 1"),
    ("", {"tolerances": {"follower_z_mm": -1}}, "tolerances.follower_z_mm", "at least 0"),
    ("", {"print": {"layer_mm": 0}}, "print.layer_mm", "greater than 0"),
    ("", {"print": {"walls": 0}}, "print.walls", "at least 1"),
    ("", {"duty": {"hours_per_day": 25, "days_per_year": 1, "years": 1}}, "duty.hours_per_day", "at most 24"),
    ("", {"not_needed": ["shaft", "fits", "shaft"]}, "not_needed[2]", '"shaft" is not_needed[0] already'),
    ("", {"not_needed": ["wear"]}, "not_needed[0]", "is not one of timing, items"),
    (
        "drive",
        {"stages": [{**BEVEL, "reverses": True, "driver_axis": 0}]},
        "driven_axis",
        "both axes are needed",
    ),
    (
        "drive",
        {"stages": [{**BEVEL, "reverses": False, "driver_axis": "down", "driven_axis": "up"}]},
        "driven_axis",
        "is parallel to",
    ),
    ("drive", {"stages": [{**WORM, "driver_axis": 30, "driven_axis": 210}]}, "driven_axis", "is parallel to"),
    (
        "drive",
        {"stages": [{**BEVEL, "reverses": False, "driver_axis": 0, "driven_axis": "down"}]},
        "reverses",
        "false contradicts the axes, which say true",
    ),
    (
        "drive",
        {"stages": [{**WORM, "reverses": None, "driver_axis": 0, "driven_axis": "up"}]},
        "reverses",
        "whether it reverses: its axes leave the hand of its thread and its side open",
    ),
    ("drive", {"stages": [LEVEL]}, "driven_axis", 'must be "up" or "down", got 90°'),
    ("drive", {"stages": [LEVEL, {**BEVEL, "kind": "external"}]}, "driven_axis", "the last stage with axes"),
]


@pytest.mark.parametrize(
    ("place", "values", "path", "words"), REFUSED, ids=[f"{c[2]}: {c[3][:30]}" for c in REFUSED]
)
def test_what_contradicts_itself_is_refused(
    place: str, values: dict[str, Any], path: str, words: str
) -> None:
    (found, message), *more = faults_with(place, values)
    assert not more
    assert found.endswith(path)
    assert words in message


def test_a_stage_has_the_efficiency_of_its_kind_or_of_its_worm() -> None:
    kinds = {"external": 0.95, "internal": 0.95, "belt": 0.95, "chain": 0.95, "bevel": 0.90, "worm": 0.4}
    for kind, expected in kinds.items():
        reverses = False if kind in ("bevel", "worm") else None
        stage = Stage(driver_teeth=1, driven_teeth=2, kind=kind, reverses=reverses)  # type: ignore[arg-type]
        assert stage.efficiency_used == expected
        assert replaced(stage, efficiency=0.7).efficiency_used == 0.7
    # The worm by its formula (Jindal, Machine Design, 2010, example 28-4), normal pressure angle 20 degrees.
    grip, lead = cos(radians(20)), radians(12)
    for given, friction in ((None, 0.15), (0.05, 0.05)):
        worm = Stage(**{**WORM, "lead_angle_deg": 12.0, "friction": given})
        expected = (grip - friction * tan(lead)) / (grip + friction / tan(lead))
        assert worm.efficiency_used == pytest.approx(expected, rel=1e-12)


def test_the_least_and_the_most_friction_count() -> None:
    cases = tuple(FrictionCase(name=f"{n}", friction_n=n) for n in (0.5, 0.2, 0.9))
    assert (Load(frictions=cases).friction_least_n, Load(frictions=cases).friction_most_n) == (0.2, 0.9)
    assert (Load(friction_n=0.4).friction_least_n, Load(friction_n=0.4).friction_most_n) == (0.4, 0.4)


def test_a_spring_gives_preload_and_rate_at_the_roller() -> None:
    # R = G d^4 / (8 D^3 n), G = 81,500 MPa: 81500 * 0.8^4 / (8 * 8^3 * 10) = 0.8150 N/mm; 10 mm in, 8.150 N.
    made = CoilSpring(
        **{**COMPRESSION, "coil_mm": 8.0, "active_coils": 10.0, "free_mm": 40.0, "installed_mm": 30.0}
    )
    assert made.installed.rate_n_per_mm == pytest.approx(0.8150, rel=1e-4)
    assert made.installed.preload_n == pytest.approx(8.150, rel=1e-4)
    levered = replaced(made, ratio=0.5).installed
    assert (levered.preload_n, levered.rate_n_per_mm) == pytest.approx((4.075, 0.20375), rel=1e-4)


def test_a_bearing_sets_radius_and_width_and_the_saved_form_names_the_bearing_alone() -> None:
    # 608 is 8 x 22 x 7 and 625 is 5 x 16 x 5 mm (ISO 15, as printed in size charts).
    straight = TranslatingRoller(kind="translating-roller", bearing="608")  # type: ignore[call-arg]
    assert (straight.roller_radius_mm, straight.width_mm) == (11, 7)
    swinging = SwingingRoller(bearing="625", **{**ARM, "arm_mm": 50.0, "pivot_distance_mm": 62.0})
    assert (swinging.roller_radius_mm, swinging.width_mm) == (8, 5)
    assert replaced(swinging, arm_mm=40.0).roller_radius_mm == 8
    raw = copy.deepcopy(RAW)
    raw["lanes"][0]["follower"] = {**STRAIGHT, "bearing": "608"}
    project = read_project(json.dumps(raw).encode(), "x")
    assert json.loads(saved_form(project))["lanes"][0]["follower"] == {**STRAIGHT, "bearing": "608"}


def test_another_bearing_takes_the_place_of_the_sizes_of_the_first() -> None:
    straight = TranslatingRoller(kind="translating-roller", bearing="608")  # type: ignore[call-arg]
    with pytest.raises(ValidationError, match="625 has 8 mm"):
        replaced(straight, bearing="625")
    made = TranslatingRoller.model_validate({**straight.model_dump(), "bearing": "625"})
    assert (made.roller_radius_mm, made.width_mm) == (8, 5)


@pytest.mark.parametrize(
    ("bore", "fields", "shape", "tolerance"),
    [
        (Bore(shape="hex"), {}, "hex", "h11"),
        (Bore(shape="square"), {}, "square", "h11"),
        (Bore(shape="round"), {}, "round", "h9"),
        (Bore(shape="d", flat_mm=7.0), {}, "d", "h9"),
        (Bore(shape="hex"), {"shape": "round"}, "round", "h9"),
        (Bore(shape="hex"), {"shape": "round", "thread": "M8"}, "round", "6g"),
        (Bore(shape="hex"), {"tolerance": "h12"}, "hex", "h12"),
    ],
)
def test_a_rod_has_the_shape_of_the_bore_and_the_usual_class(
    bore: Bore, fields: dict[str, Any], shape: str, tolerance: str
) -> None:
    rod = Rod(across_mm=8.0, below_mm=10.0, above_mm=10.0, **fields)
    assert (rod.shape_in(bore), rod.tolerance_in(bore)) == (shape, tolerance)


def test_followers_set_on_the_built_stack_are_more_exact_along_the_shaft() -> None:
    def limit(stated: float | None, **stack: Any) -> float:
        own = Stack(id="main", **stack)
        made = Project(
            format="shaftscore-project",
            version=2,
            shaft=Shaft(turn="clockwise", speed_rpm=6.0),
            tolerances=Tolerances(follower_z_mm=stated),
        )
        return made.follower_z_mm(own)

    assert (limit(None), limit(None, followers_set="drawing")) == (0.5, 0.5)
    assert limit(None, followers_set="built") == 0.3
    assert limit(0.4, followers_set="built") == 0.4


def test_pins_fit_on_their_circle_by_the_chord() -> None:
    # Six on a circle: the chord is the radius.
    assert Pins(count=6, radius_mm=10.0, across_mm=9.99).count == 6
    with pytest.raises(ValidationError, match="do not fit"):
        Pins(count=6, radius_mm=10.0, across_mm=10.0)


@pytest.mark.parametrize(("leads", "reverses"), [("down", True), ("up", False)])
def test_two_bevel_stages_bring_the_drive_round_to_the_shaft(leads: str, reverses: bool) -> None:
    """Seen at its end a shaft turns as its driver does; seen from the top, one that leads down does not."""
    last = {**BEVEL, "driver_axis": 90, "driven_axis": leads}
    drive = Drive.model_validate({**RAW["drive"], "stages": (LEVEL, last)})
    assert drive.stages[1].reverses_used is reverses
