"""A corpus of malformed files: each is refused with the path of its first fault and a message that helps.

A case changes a good project and says which path is at fault first and what the message holds.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from shaftscore.base.errors import ProjectError
from shaftscore.model import read_project
from shaftscore.model.parse import MOST_BYTES, MOST_DEPTH, MOST_FAULTS

GOOD: dict[str, Any] = {
    "format": "shaftscore-project",
    "version": 2,
    "name": "Corpus",
    "shaft": {"turn": "clockwise", "speed_rpm": 6, "steps": 12},
    "drive": {
        "source": {"kind": "motor", "rated_speed_rpm": 60, "rated_torque_nm": 0.5, "turn": "clockwise"},
        "stages": [{"driver_teeth": 10, "driven_teeth": 100, "kind": "belt"}],
    },
    "stacks": [
        {"id": "main", "order": ["flap", "mint"], "bore": {"shape": "d", "across_mm": 6, "flat_mm": 5.5}},
        {"id": "side", "turns": 3, "dogs": {"radius_mm": 9, "width_mm": 3, "height_mm": 2}},
    ],
    "lanes": [
        {
            "id": "mint",
            "name": "Mint",
            "levels": {"closed": 0, "open": 10},
            "blocks": [
                {"level": "closed", "start_deg": 0, "end_deg": 100},
                {"level": "open", "start_deg": 120, "end_deg": 150},
            ],
        },
        {
            "id": "flap",
            "levels": {"shut": 0, "cup": 8, "tray": 20},
            "guarded": ["cup"],
            "blocks": [{"level": "tray", "start_deg": 10, "end_deg": 10}],
            "follower": {
                "kind": "swinging-roller",
                "roller_radius_mm": 5,
                "arm_mm": 50,
                "pivot_distance_mm": 60,
                "pivot_side": "clockwise",
            },
        },
        {
            "id": "wave",
            "kind": "points",
            "stack": "side",
            "points": [{"theta_deg": 90 * n, "output_mm": n} for n in range(3)],
        },
        {"id": "twin", "kind": "rider", "disc_of": "mint", "station_deg": 90},
        {"id": "belt", "kind": "index", "levels": {"next": 25}},
    ],
    "rules": [
        {
            "kind": "exclusive",
            "states": [{"lane": "mint", "level": "open"}, {"lane": "flap", "level": "tray"}],
        },
        {
            "kind": "requires",
            "when": {"lane": "mint", "from_mm": 3, "to_mm": 10},
            "need": {"lane": "twin", "level": "open"},
        },
        {
            "kind": "order",
            "first": {"lane": "mint", "level": "open"},
            "then": {"lane": "flap", "level": "cup"},
        },
    ],
    "flow": {
        "supplies": [{"id": "hopper", "rate_per_min": 3}],
        "magazines": [{"id": "caddy", "from": "hopper", "capacity": 5, "start_count": 2}],
        "channels": [
            {
                "id": "chute",
                "travel_min_s": 0.2,
                "travel_max_s": 0.4,
                "to": {
                    "lane": "flap",
                    "by_state": [{"state": {"lane": "flap", "level": "cup"}, "to": "cup"}],
                },
            }
        ],
        "outlets": [{"id": "cup", "expects": ["scoop"]}],
        "gates": [
            {
                "id": "gate",
                "state": {"lane": "mint", "level": "open"},
                "from": "caddy",
                "to": "chute",
                "item": "scoop",
            }
        ],
    },
    "materials": [{"name": "oak", "modulus_gpa": 11, "poisson": 0.3, "contact_mpa": 12}],
    "measured": [{"lane": "mint", "level": "open", "edge": "begin", "angle_deg": 121, "sense": "forward"}],
}
"""A project that uses every record."""

Change = Callable[[dict[str, Any]], object]


def faults_of(data: bytes) -> list[tuple[str, str]]:
    with pytest.raises(ProjectError) as caught:
        read_project(data, "bad.shaft")
    return [(fault.path, fault.message) for fault in caught.value.faults]


def faults_after(change: Change) -> list[tuple[str, str]]:
    project = copy.deepcopy(GOOD)
    change(project)
    return faults_of(json.dumps(project).encode())


def put(path: str, value: object) -> Change:
    """Return the change that sets the value at a path such as `lanes[0].blocks[1].level`."""
    steps = [int(step) if step.isdigit() else step for step in re.findall(r"[^.\[\]]+", path)]

    def change(project: Any) -> None:
        for step in steps[:-1]:
            project = project[step]
        project[steps[-1]] = value

    return change


def drop(path: str) -> Change:
    """Return the change that takes a key away."""
    steps = [int(step) if step.isdigit() else step for step in re.findall(r"[^.\[\]]+", path)]

    def change(project: Any) -> None:
        for step in steps[:-1]:
            project = project[step]
        del project[steps[-1]]

    return change


def test_the_good_project_is_good() -> None:
    assert read_project(json.dumps(GOOD).encode(), "good").name == "Corpus"


BYTES: dict[str, tuple[bytes, str, str]] = {
    "empty": (b"", "", "empty"),
    "blank": (b" \n\t", "", "empty"),
    "utf-16": ("{}".encode("utf-16"), "", "UTF-16"),
    "byte order mark": (b"\xef\xbb\xbf{}", "", "byte order mark"),
    "latin-1": (b'{"name":\n"\xfc"}', "", "byte 10 (0xFC, line 2)"),
    "cut off": (b'{"format": "shaft', "", "line 1, column 12"),
    "trailing comma": (
        b'{\n"format": 1,\n}',
        "",
        "not JSON: ",
    ),  # Python 3.13 points at the comma, earlier ones at what follows
    "two values": (b"{} {}", "", "not JSON: Extra data at line 1, column 4"),
    "binary": (b"PK\x03\x04", "", "not JSON"),
    "a list": (b"[]", "", "a project is an object, got a list"),
    "a number": (b"7", "", "got 7"),
    "null": (b"null", "", "got null"),
    "a double key": (
        b'{"shaft": {"turn": 1, "speed_rpm": 2, "turn": 3}}',
        "shaft",
        'the key "turn" occurs twice',
    ),
    "a double key on top": (b'{"name": "a", "name": "b"}', "", 'the key "name" occurs twice'),
    "a double key in a list": (b'{"lanes": [{}, {"id": "a", "id": "b"}]}', "lanes[1]", 'the key "id"'),
    "NaN": (b'{"lanes": [{"band_mm": NaN}]}', "lanes[0].band_mm", "NaN is not a finite number"),
    "Infinity": (
        b'{"shaft": {"speed_rpm": -Infinity}}',
        "shaft.speed_rpm",
        "Infinity is not a finite number",
    ),
    "1e400": (b'{"shaft": {"speed_rpm": 1e400}}', "shaft.speed_rpm", "not a finite number"),
    "a number of 5,000 digits": (b'{"version": ' + b"9" * 5000 + b"}", "version", "not a finite number"),
    "half a surrogate pair": (b'{"name": "\\ud800"}', "name", "half a surrogate pair"),
    "half a surrogate pair in a key": (b'{"a\\udc00": 1}', "", "half a surrogate pair"),
    "too deep": (
        b'{"a":' + b"[" * MOST_DEPTH + b"]" * MOST_DEPTH + b"}",
        "a[0][0]",
        f"deeper than {MOST_DEPTH}",
    ),
    "deeper than the reader can go": (b"[" * 100_000 + b"]" * 100_000, "", f"deeper than {MOST_DEPTH}"),
    "too many signs": (b"[" + b"," * 2_000_000 + b"]", "", "2,000,001 commas, colons and opening brackets"),
    "too large": (b" " * (MOST_BYTES + 1), "", f"{MOST_BYTES:,} are the most"),
    "a list too long": (b'{"x": [' + b"0," * 100_000 + b"0]}", "x", "100,001 entries; 100,000 are the most"),
    "an object with too many keys": (
        json.dumps({f"k{n}": n for n in range(10_001)}).encode(),
        "",
        "10,001 keys; 10,000 are the most",
    ),
}


@pytest.mark.parametrize("case", BYTES)
def test_bytes_that_are_no_project(case: str) -> None:
    data, path, words = BYTES[case]
    found = faults_of(data)
    assert found[0][0] == path
    assert words in found[0][1]


CASES: list[tuple[Change, str, str]] = [
    # The head.
    (drop("format"), "format", "is missing"),
    (put("format", "other"), "format", 'is "other"; a project file has "shaftscore-project"'),
    (drop("version"), "version", "is missing"),
    (put("version", 3), "version", "Made by a newer Shaftscore (file version 3; this one reads up to 2)."),
    (put("version", 0), "version", "must be 2, got 0"),
    (put("version", "1"), "version", 'must be 2, got "1"'),
    # Keys and types.
    (put("nmae", "x"), "nmae", 'unknown key; did you mean "name"?'),
    (put("zzz", 1), "zzz", "unknown key; known here: format, version, name, notes, shaft"),
    (put("lanes[1].follower.arm", 5), "lanes[1].follower.arm", 'did you mean "arm_mm"?'),
    (put("rules[2].frist", 5), "rules[2].frist", 'did you mean "first"?'),
    (put("flow.magazines[0].form", 5), "flow.magazines[0].form", 'did you mean "from"?'),
    (
        put("flow.gates[0].source", "caddy"),
        "flow.gates[0].source",
        "unknown key; known here: id, state, from",
    ),
    (put("drive.source.rated_torque", 1), "drive.source.rated_torque", 'did you mean "rated_torque_nm"?'),
    (drop("shaft"), "shaft", "is missing"),
    (drop("shaft.turn"), "shaft.turn", "is missing"),
    (put("shaft", 5), "shaft", "must be an object, got 5"),
    (put("lanes", {"a": 1}), "lanes", "must be a list, got an object"),
    (put("lanes[0]", "mint"), "lanes[0]", 'must be an object, got "mint"'),
    (put("lanes[0].blocks", {}), "lanes[0].blocks", "must be a list, got an object"),
    (put("lanes[0].id", 7), "lanes[0].id", "must be text, got 7"),
    (put("shaft.speed_rpm", "6"), "shaft.speed_rpm", 'must be a number, got "6"'),
    (put("shaft.speed_rpm", True), "shaft.speed_rpm", "must be a number, got true"),
    (put("shaft.speed_rpm", None), "shaft.speed_rpm", "must be a number, got null"),
    (put("stacks[0].turns", 1.5), "stacks[0].turns", "must be a whole number, got 1.5"),
    (put("stacks[0].clamped", True), "stacks[0].clamped", "unknown key; known here: id, name"),
    (put("stacks[0].joints", "tight"), "stacks[0].joints", '"tight" is not one of loose, as-they-lie'),
    # Bounds.
    (put("shaft.speed_rpm", 0), "shaft.speed_rpm", "must be at least 0.001, got 0"),
    (put("stacks", []), "stacks", "has 0 entries; 1 are the least"),
    (
        put("lanes[0].blocks[1].start_deg", 360),
        "lanes[0].blocks[1].start_deg",
        "must be less than 360, got 360",
    ),
    (put("lanes[0].levels.open", -1), "lanes[0].levels.open", "must be at least 0, got -1"),
    (put("lanes[0].levels", {"": 1}), 'lanes[0].levels[""]', "must not be empty"),
    (put("lanes[0].levels", {"half way": "up"}), 'lanes[0].levels["half way"]', 'must be a number, got "up"'),
    (put("lanes[0].name", "x" * 201), "lanes[0].name", "has 201 characters; 200 are the most"),
    (put("lanes[0].id", "tea mint"), "lanes[0].id", '"tea mint" is not an id'),
    (put("lanes[0].code", "mint1"), "lanes[0].code", '"mint1" is not a code'),
    (put("lanes[0].blocks", [{}] * 721), "lanes[0].blocks", "has 721 entries; 720 are the most"),
    (put("stacks", [{"id": f"s{n}"} for n in range(101)]), "stacks", "has 101 entries; 100 are the most"),
    (put("limits", {"pressure_angle_deg": 90}), "limits.pressure_angle_deg", "must be less than 90, got 90"),
    (put("materials[0].poisson", 0.5), "materials[0].poisson", "must be less than 0.5, got 0.5"),
    # Choices.
    (put("shaft.turn", "clokwise"), "shaft.turn", 'did you mean "clockwise"?'),
    (put("lanes[0].law", "cyclodial"), "lanes[0].law", 'did you mean "cycloidal"?'),
    (
        put("lanes[0].blocks[0].law", "sine"),
        "lanes[0].blocks[0].law",
        '"sine" is not one of constant-velocity',
    ),
    (
        put("lanes[1].follower.kind", "swing-roller"),
        "lanes[1].follower.kind",
        'did you mean "swinging-roller"?',
    ),
    (drop("lanes[1].follower.kind"), "lanes[1].follower.kind", "is missing"),
    (put("rules[0].kind", "exlusive"), "rules[0].kind", 'did you mean "exclusive"?'),
    (put("drive.source.kind", "crnak"), "drive.source.kind", 'did you mean "crank"?'),
    (
        put("lanes[0].disc", {"base_radius_mm": "atuo"}),
        "lanes[0].disc.base_radius_mm",
        '"atuo" is not "auto"',
    ),
    (put("shaft.steps", "twelve"), "shaft.steps", 'got "twelve"'),
    (put("flow.channels[0].to", 5), "flow.channels[0].to", "must be text, got 5"),
    (put("flow.channels[0].to", {}), "flow.channels[0].to.lane", "is missing"),
    # Numbers that contradict their own record.
    (
        put("shaft.speed_max_rpm", 5),
        "shaft.speed_max_rpm",
        "must be at least speed_rpm, 6 rev/min, got 5 rev/min",
    ),
    (put("shaft.steps", [0, 90, 60]), "shaft.steps[2]", "must be over the step before, 90°, got 60°"),
    (put("shaft.step_names", ["x"] * 13), "shaft.step_names", "has 13 names for 12 steps"),
    (
        put("drive.source.stall_torque_nm", 0.4),
        "drive.source.stall_torque_nm",
        "at least rated_torque_nm, 0.5 N·m",
    ),
    (put("drive.stages[0].kind", "worm"), "drive.stages[0].reverses", "is missing; a worm stage"),
    (put("drive.stages[0].kind", "bevel"), "drive.stages[0].reverses", "is missing; a bevel stage"),
    (put("drive.stages[0].driven_axis", "up"), "drive.stages[0].driven_axis", "is for bevel and worm only"),
    (put("drive.stages[0].reverses", False), "drive.stages[0].reverses", "false is given for kind belt"),
    (drop("stacks[0].bore.flat_mm"), "stacks[0].bore.flat_mm", "is missing; a d of 6 mm needs it"),
    (put("stacks[0].bore.flat_mm", 6), "stacks[0].bore.flat_mm", "between 3 and 6 mm"),
    (put("stacks[0].bore.shape", "hex"), "stacks[0].bore.flat_mm", "5.5 mm is given for shape hex"),
    (
        put("stacks[1].dogs.radius_mm", 4),
        "stacks[1].dogs.radius_mm",
        "must be over the bore's 4.619 mm, got 4 mm",
    ),
    (
        put("stacks[1].dogs.width_mm", 20),
        "stacks[1].dogs.width_mm",
        "3 of 20 mm do not fit on a circle of 56.5 mm",
    ),
    (put("stacks[0].keying", "chain"), "stacks[0].keying", '"chain" needs dogs'),
    (put("lanes[0].blocks[1].end_deg", 110), "lanes[0].blocks[1].end_deg", "(120° to 480°), got 110°"),
    (put("lanes[0].blocks[1].end_deg", 481), "lanes[0].blocks[1].end_deg", "(120° to 480°), got 481°"),
    (
        put("lanes[0].blocks[1].window", {"earliest_deg": 10, "latest_deg": 371}),
        "lanes[0].blocks[1].window.latest_deg",
        "370°, got 371°",
    ),
    (
        put(
            "lanes[0].blocks[0]",
            {"level": "open", "start_deg": 1, "end_deg": 2, "min_length_deg": 3, "min_length_s": 4},
        ),
        "lanes[0].blocks[0].min_length_s",
        "4 s is given together with min_length_deg, 3°",
    ),
    (
        put("lanes[0].levels", {"closed": 3, "open": 3}),
        'lanes[0].levels["open"]',
        'is at 3 mm, where "closed" is',
    ),
    (put("lanes[1].band_mm", 4), "lanes[1].band_mm", "must be less than 4 mm, half the smallest distance"),
    (put("lanes[0].kind", "points"), "lanes[0].points", "is missing; kind points needs it"),
    (put("lanes[2].kind", "disc"), "lanes[2].points", "is for kind points only; this lane is of kind disc"),
    (
        put("lanes[2].points[2].theta_deg", 90),
        "lanes[2].points[2].theta_deg",
        "must be over the point before, 90°",
    ),
    (drop("lanes[3].disc_of"), "lanes[3].disc_of", "is missing; kind rider needs it"),
    (put("lanes[3].levels", {"up": 1}), "lanes[3].levels", "has 1; a rider has none of its own"),
    (put("lanes[3].law", "drop"), "lanes[3].law", "drop is given; a rider has no law of its own"),
    (put("lanes[4].levels", {"rest": 0}), "lanes[4].levels", "the pitch by which kind index steps on"),
    (
        lambda project: project["lanes"][0].update(
            follower={"kind": "translating-roller", "roller_radius_mm": 5, "offset_mm": -25},
            disc={"base_radius_mm": 20},
        ),
        "lanes[0].follower.offset_mm",
        "must be less than the prime circle's 25 mm (base and roller) to either side, got −25 mm",
    ),
    (put("lanes[1].disc", {"base_radius_mm": 4}), "lanes[1].follower.arm_mm", "10 to 110 mm from the axis"),
    (put("lanes[1].disc", {"base_radius_mm": 105}), "lanes[1].follower.arm_mm", "not at 110 mm"),
    (put("lanes[1].follower.output_ratio", 2), "lanes[1].follower.output_ratio", "a swinging follower"),
    (
        put("lanes[0].follower", {"kind": "translating-flat", "face_width_mm": 9, "closure": "groove"}),
        "lanes[0].follower.closure",
        "a flat face is closed by a spring",
    ),
    (
        put("lanes[0].follower", {"kind": "translating-roller", "roller_radius_mm": 0, "closure": "groove"}),
        "lanes[0].follower.roller_radius_mm",
        "must be greater than 0 mm in a groove",
    ),
    (
        put(
            "lanes[0].follower",
            {
                "kind": "translating-flat",
                "face_width_mm": 9,
                "link": [{"roller_mm": 0, "output_mm": 0}, {"roller_mm": 5, "output_mm": 9}],
            },
        ),
        "lanes[0].follower.link",
        "reaches 9 mm of output; the highest level is at 10 mm",
    ),
    (
        put(
            "lanes[0].follower",
            {
                "kind": "translating-flat",
                "face_width_mm": 9,
                "link": [
                    {"roller_mm": 0, "output_mm": 0},
                    {"roller_mm": 5, "output_mm": 9},
                    {"roller_mm": 5, "output_mm": 12},
                ],
            },
        ),
        "lanes[0].follower.link[2].roller_mm",
        "must be over the row before, 5 mm, got 5 mm",
    ),
    (
        put("lanes[0].disc", {"edge_chamfer_mm": 3}),
        "lanes[0].disc.edge_chamfer_mm",
        "half of thickness_mm, 2.5 mm",
    ),
    (
        put("lanes[0].disc", {"base_radius_mm": 20, "base_group": "a"}),
        "lanes[0].disc.base_group",
        "base_radius_mm is 20 mm",
    ),
    (
        lambda project: (
            project["lanes"][1].update(disc={"groove_depth_mm": 5})
            or project["lanes"][1]["follower"].update(closure="groove")
        ),
        "lanes[1].disc.groove_depth_mm",
        "must be less than thickness_mm, 5 mm, got 5 mm",
    ),
    (
        lambda p: p["rules"][0].update(gap_deg=2, gap_s=0.1),
        "rules[0].gap_s",
        "0.1 s is given together with gap_deg, 2°",
    ),
    (lambda p: p["rules"][1].update(lead_deg=2, lead_s=0.1), "rules[1].lead_s", "together with lead_deg"),
    (lambda p: p["rules"][1].update(lag_deg=2, lag_s=0.1), "rules[1].lag_s", "together with lag_deg"),
    (
        lambda p: p["rules"][2].update(min_s=2, max_s=1),
        "rules[2].max_s",
        "must be at least min_s, 2 s, got 1 s",
    ),
    (put("rules[1].when.from_mm", 11), "rules[1].when.to_mm", "must be at least from_mm, 11 mm, got 10 mm"),
    (
        put("rules[0].states[1]", {"lane": "mint", "level": "open"}),
        "rules[0].states[1]",
        "is states[0] again",
    ),
    (put("flow.magazines[0].start_count", 6), "flow.magazines[0].start_count", "6 is over the capacity of 5"),
    (put("flow.magazines[0].from", "caddy"), "flow.magazines[0].from", '"caddy" cannot fill itself'),
    (
        put("flow.channels[0].travel_max_s", 0.1),
        "flow.channels[0].travel_max_s",
        "at least travel_min_s, 0.2 s",
    ),
    (put("flow.gates[0].items", 2), "flow.gates[0].items", "a single gate lets 1 out at a time, got 2"),
    (
        put("flow.gates[0].mode", "stream"),
        "flow.gates[0].item_s",
        "must be greater than 0 for a stream, got 0",
    ),
    (
        put("flow.gates[0].reload", {"state": {"lane": "flap", "level": "shut"}, "item_s": 1}),
        "flow.gates[0].reload.state.lane",
        '"flap" is not the gate\'s lane, "mint"',
    ),
    (
        put("flow.channels[0].to.by_state[0].state.lane", "mint"),
        "flow.channels[0].to.by_state[0].state.lane",
        '"mint" is not the diverter\'s lane, "flap"',
    ),
    # References.
    (
        put("lanes[0].blocks[1].level", "opne"),
        "lanes[0].blocks[1].level",
        '"opne" is not one of Mint\'s levels (closed, open); did you mean "open"?',
    ),
    (
        put("lanes[1].guarded", ["cop"]),
        "lanes[1].guarded[0]",
        "is not one of flap's levels (shut, cup, tray)",
    ),
    (put("lanes[1].guarded", ["cup", "cup"]), "lanes[1].guarded[1]", '"cup" is guarded[0] already'),
    (put("lanes[1].id", "mint"), "lanes[1].id", '"mint" is lanes[0] already'),
    (put("stacks[1].id", "main"), "stacks[1].id", '"main" is stacks[0] already'),
    (
        lambda p: [lane.update(code="B2") for lane in p["lanes"][:2]],
        "lanes[1].code",
        '"B2" is lanes[0] already',
    ),
    (put("lanes[2].stack", "sied"), "lanes[2].stack", 'there is no stack "sied"; did you mean "side"?'),
    (put("stacks[0].order", ["mnit"]), "stacks[0].order[0]", 'there is no lane "mnit"; did you mean "mint"?'),
    (put("stacks[0].order", ["mint", "mint"]), "stacks[0].order[1]", '"mint" stands at order[0] already'),
    (put("stacks[0].order", ["wave"]), "stacks[0].order[0]", '"wave" is on the stack "side"'),
    (put("stacks[0].order", ["twin"]), "stacks[0].order[0]", '"twin" has no disc, it is of kind rider'),
    (put("lanes[3].disc_of", "mnt"), "lanes[3].disc_of", 'there is no lane "mnt"; did you mean "mint"?'),
    (put("lanes[3].disc_of", "belt"), "lanes[3].disc_of", '"belt" has no disc, it is of kind index'),
    (put("lanes[3].disc_of", "twin"), "lanes[3].disc_of", "cannot ride on itself"),
    (put("lanes[3].stack", "side"), "lanes[3].stack", '"side" is not the stack of its disc, "main"'),
    (put("lanes[0].disc", {"material": "steal"}), "lanes[0].disc.material", 'did you mean "steel"?'),
    (put("lanes[1].follower.material", "brass"), "lanes[1].follower.material", "PLA, PETG, ABS, nylon, POM"),
    (
        put("rules[0].states[0].lane", "mimt"),
        "rules[0].states[0].lane",
        'there is no lane "mimt"; did you mean "mint"?',
    ),
    (put("rules[1].need.level", "opn"), "rules[1].need.level", "is not one of twin's levels (closed, open)"),
    (put("rules[2].then.level", "cap"), "rules[2].then.level", 'did you mean "cup"?'),
    (put("flow.gates[0].state.level", "opn"), "flow.gates[0].state.level", 'did you mean "open"?'),
    (put("flow.gates[0].from", "hopper"), "flow.gates[0].from", 'there is no magazine "hopper"'),
    (
        put("flow.gates[0].to", "chuet"),
        "flow.gates[0].to",
        'no channel or outlet or magazine "chuet"; did you mean "chute"?',
    ),
    (put("flow.magazines[0].from", "hoper"), "flow.magazines[0].from", 'did you mean "hopper"?'),
    (put("flow.channels[0].to", "chute"), "flow.channels[0].to", 'leads round to "chute" itself'),
    (
        put("flow.outlets[0].id", "caddy"),
        "flow.channels[0].to.by_state[0].to",
        'there is no channel or outlet or magazine "cup"',
    ),
    (put("measured[0].lane", "mnt"), "measured[0].lane", 'did you mean "mint"?'),
    (put("measured[0].level", "half"), "measured[0].level", "is not one of Mint's levels"),
    (
        lambda p: p["materials"].append(dict(p["materials"][0])),
        "materials[1].name",
        '"oak" is materials[0] already',
    ),
]


@pytest.mark.parametrize(
    ("change", "path", "words"), CASES, ids=[f"{path}: {words[:30]}" for _, path, words in CASES]
)
def test_first_fault_of_a_malformed_project(change: Change, path: str, words: str) -> None:
    found = faults_after(change)
    assert found[0][0] == path, found
    assert words in found[0][1]


def test_a_newer_version_is_refused_by_that_alone() -> None:
    newer = GOOD | {"version": 3, "unheard_of": {}, "lanes": 5}
    assert [path for path, _ in faults_of(json.dumps(newer).encode())] == ["version"]


def test_all_faults_come_together_references_included() -> None:
    def change(project: dict[str, Any]) -> None:
        project["lanes"][0]["law"] = "x"
        project["lanes"][0]["blocks"][1]["level"] = "opne"
        project["lanes"][1]["levels"]["shut"] = -1
        project["shaft"]["speed_rpm"] = "fast"
        project["rules"][0]["states"][0]["level"] = "opn"
        project["rules"][2]["then"]["lane"] = "flop"
        project["flow"]["gates"][0]["to"] = "chuet"
        project["print"] = {"bed_x_mm": 0}

    paths = {path for path, _ in faults_after(change)}
    assert paths == {
        "lanes[0].law",
        "lanes[1].levels.shut",
        "shaft.speed_rpm",
        "print.bed_x_mm",
        "rules[0].states[0].level",
        "rules[2].then.lane",
        "flow.gates[0].to",
    } | {"lanes[0].blocks[1].level"}


def test_levels_at_fault_do_not_make_faults_of_what_names_them() -> None:
    found = faults_after(put("lanes[0].levels", {"closed": 0, "open": "up"}))
    assert [path for path, _ in found] == ["lanes[0].levels.open"]


def test_reading_stops_after_a_hundred_faults() -> None:
    def change(project: dict[str, Any]) -> None:
        project["lanes"] = [{"id": f"l{n}", "oops": n} for n in range(4000)]

    project = copy.deepcopy(GOOD)
    change(project)
    with pytest.raises(ProjectError) as caught:
        read_project(json.dumps(project).encode(), "bad.shaft")
    assert len(caught.value.faults) == MOST_FAULTS
    assert str(caught.value).startswith("bad.shaft: 100 or more faults\n")
    assert str(caught.value).endswith("\nand more")


def test_a_file_that_is_not_there_is_one_fault(tmp_path: Any) -> None:
    from shaftscore.model import load_project

    with pytest.raises(ProjectError, match="cannot be read"):
        load_project(tmp_path / "none.shaft")
    with pytest.raises(ProjectError, match="cannot be read"):
        load_project(tmp_path)


def test_a_file_is_read_from_disk(tmp_path: Any) -> None:
    from shaftscore.model import load_project

    path = tmp_path / "good.shaft"
    path.write_text(json.dumps(GOOD), encoding="utf-8")
    assert load_project(path).lane("twin").disc_of == "mint"
