"""Edits of lanes and of the machine, and the table of all edits."""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import EDITS, apply_edit
from shaftscore.model import (
    Channel,
    Disc,
    Drive,
    Duty,
    Exclusive,
    Flow,
    Gate,
    LevelState,
    Load,
    MachineFrame,
    Magazine,
    Material,
    Measured,
    MotorSource,
    Order,
    Outlet,
    Project,
    Stack,
    Supply,
)
from tests.core.edits.machines import lane, machine, rows_of

DUTY = Duty(hours_per_day=8.0, days_per_year=250.0, years=5.0)
MINT, ROSE, ELDER = (LevelState(lane=own, level="open") for own in ("mint", "rose", "elder"))


def tea() -> Project:
    """Return three lanes with rules, a gate and a measurement."""
    rows = [("closed", 0, 100), ("open", 120, 150)]
    return machine(
        lane(*rows, group="caddies"),
        lane(*rows, own_id="rose", group="caddies", guarded=("half",)),
        lane(*rows, own_id="elder", group="caddies"),
        rules=(
            Exclusive(kind="exclusive", states=(MINT, ROSE, ELDER)),
            Exclusive(kind="exclusive", states=(MINT, ROSE)),
            Order(kind="order", first=ROSE, then=ELDER),
        ),
        flow=Flow(
            supplies=(Supply(id="hopper"),),
            magazines=(Magazine(id="caddy", source="hopper", capacity=5),),
            channels=(Channel(id="chute", to="cup"),),
            outlets=(Outlet(id="cup"),),
            gates=(Gate(id="gate", state=MINT, source="caddy", to="chute"),),
        ),
        measured=(Measured(lane="mint", level="open", edge="begin", angle_deg=121.0, sense="forward"),),
    )


def edited(name: str, project: Project | None = None, /, **arguments: Any) -> Project:
    return apply_edit(tea() if project is None else project, name, **arguments).project


def test_the_table_names_every_edit_after_its_function() -> None:
    assert all(edit.__name__ == name and edit.__doc__ for name, edit in EDITS.items())


def test_an_edit_that_is_not_there() -> None:
    with pytest.raises(EditError, match='no edit "place_blok"; did you mean "place_block"'):
        apply_edit(tea(), "place_blok")


def test_add_lane() -> None:
    step = apply_edit(
        tea(), "add_lane", name="Jäger & Öl", group="caddies", levels={"shut": 0.0, "up": 8.0}, after="mint"
    )
    made = step.project.lanes[1]
    assert (made.id, made.name, made.group, made.code) == ("jager_ol", "Jäger & Öl", "caddies", "A2")
    assert dict(made.levels) == {"shut": 0, "up": 8}
    assert (step.name, step.lane_id) == ("Add lane Jäger & Öl", "jager_ol")
    again = edited("add_lane", step.project, name="Jäger Öl", group="x", levels={"shut": 0.0})
    assert [own.id for own in again.lanes] == ["mint", "jager_ol", "rose", "elder", "jager_ol_2"]
    assert edited("add_lane", name="\u8336", group="", levels={}).lanes[-1].id == "lane"
    with pytest.raises(EditError, match="levels"):
        edited("add_lane", name="x", group="", levels={"a": 1.0, "b": 1.0})


def test_added_lanes_get_codes_past_those_that_are_there() -> None:
    project = machine(lane(code="B1", group="g"), lane(own_id="rose", code="A1", group="h"))
    made = edited("add_lane", project, name="x", group="g", levels={})
    assert made.lanes[-1].code == "B2"
    assert edited("add_lane", project, name="x", group="new", levels={}).lanes[-1].code == "C1"


def test_delete_lanes_is_one_step_and_lets_riders_go_first() -> None:
    twin = lane().model_validate({"id": "rider", "kind": "rider", "disc_of": "mint"})
    rider = machine(lane(), lane(own_id="rose"), twin)
    step = apply_edit(rider, "delete_lanes", lane_ids=["mint", "rider"])
    assert list(step.project.lane_index) == ["rose"]
    assert step.name == "Delete 2 lanes"
    one = apply_edit(tea(), "delete_lanes", lane_ids=["mint"])
    assert one == apply_edit(tea(), "delete_lane", lane_id="mint")


def test_delete_lane_takes_along_what_speaks_of_it() -> None:
    step = apply_edit(tea(), "delete_lane", lane_id="mint")
    assert step.name == "Delete lane Mint with 1 rule, 1 gate and 1 measurement"
    assert [own.id for own in step.project.lanes] == ["rose", "elder"]
    assert [rule.kind for rule in step.project.rules] == ["exclusive", "order"]
    assert step.project.rules[0].states == (ROSE, ELDER)
    assert step.project.flow.gates == ()
    assert step.project.measured == ()


def test_a_lane_that_others_need_is_not_deleted() -> None:
    rider = machine(
        lane(), lane(own_id="rose").model_validate({"id": "twin", "kind": "rider", "disc_of": "mint"})
    )
    with pytest.raises(EditError, match="twin rides on Mint’s disc"):
        edited("delete_lane", rider, lane_id="mint")


def test_a_deleted_lane_leaves_the_order_of_its_stack() -> None:
    project = machine(lane(), lane(own_id="rose"), stacks=(Stack(id="main", order=("rose", "mint")),))
    assert edited("delete_lane", project, lane_id="mint").stacks[0].order == ("rose",)


def test_rename_and_move_lane() -> None:
    step = apply_edit(tea(), "rename_lane", lane_id="mint", name="Peppermint")
    assert (step.project.lane("mint").name, step.name) == ("Peppermint", "Rename Mint to Peppermint")
    for place, order in (
        (0, "rose mint elder"),
        (2, "mint elder rose"),
        (9, "mint elder rose"),
        (1, "mint rose elder"),
    ):
        moved = edited("move_lane", lane_id="rose", place=place)
        assert [own.id for own in moved.lanes] == order.split()


def test_set_levels_renames_everywhere() -> None:
    levels = {"closed": 0.0, "wide": 12.0, "half": 5.0}
    made = edited("set_levels", lane_id="mint", levels=levels, renamed={"open": "wide"})
    assert rows_of(made)[1][0] == "wide"
    wide = LevelState(lane="mint", level="wide")
    assert made.rules[0].states == (wide, ROSE, ELDER)
    assert made.flow.gates[0].state == wide
    assert made.measured[0].level == "wide"
    assert made.rules[2] is tea().rules[2] or made.rules[2] == tea().rules[2]
    guarded = edited(
        "set_levels",
        lane_id="rose",
        levels={"closed": 0.0, "open": 10.0, "mid": 5.0},
        renamed={"half": "mid"},
    )
    assert guarded.lane("rose").guarded == ("mid",)


def test_a_level_that_is_used_does_not_go() -> None:
    with pytest.raises(EditError, match=r'blocks\[1\].level: "open" is not one of'):
        edited("set_levels", lane_id="mint", levels={"closed": 0.0})
    bare = edited("delete_blocks", refs=[])
    assert bare == tea()
    empty = machine(
        lane(), rules=(Exclusive(kind="exclusive", states=(MINT, LevelState(lane="mint", level="half"))),)
    )
    with pytest.raises(EditError, match=r'rules\[0\].states\[0\].level: "open" is not one of'):
        edited("set_levels", empty, lane_id="mint", levels={"closed": 0.0, "half": 5.0})


@pytest.mark.parametrize(
    ("name", "arguments", "path", "value", "step"),
    [
        ("set_name", {"name": "Tea"}, "name", "Tea", "Name the project Tea"),
        ("set_notes", {"notes": "n"}, "notes", "n", "Change the notes"),
        ("set_shaft", {"speed_rpm": 12.0}, "shaft.speed_rpm", 12.0, "Change the shaft’s speed"),
        (
            "set_limits",
            {"pressure_angle_deg": 25.0},
            "limits.pressure_angle_deg",
            25.0,
            "Change the limit of pressure angle",
        ),
        (
            "set_tolerances",
            {"profile_mm": 0.1},
            "tolerances.profile_mm",
            0.1,
            "Change the tolerance of profile",
        ),
        ("set_print", {"flow_mm3_s": 9.0}, "print.flow_mm3_s", 9.0, "Change the printer’s flow"),
        ("set_duty", {"duty": DUTY}, "duty", DUTY, "Change the duty"),
        ("set_frame", {"frame": MachineFrame()}, "frame", MachineFrame(), "Change the frame"),
        ("set_frame", {"frame": None}, "frame", None, "Remove the frame"),
        ("set_duty", {"duty": None}, "duty", None, "Remove the duty"),
        (
            "set_not_needed",
            {"not_needed": ["torque", "shaft"]},
            "not_needed",
            ("torque", "shaft"),
            "Change the areas not needed",
        ),
        ("set_print", {"bed_x_mm": 300.0}, "print.bed_x_mm", 300.0, "Change the printer’s bed x"),
        ("set_stack", {"stack_id": "main", "turns": 2}, "stacks.0.turns", 2, "Change main’s turns"),
        (
            "set_lane",
            {"lane_id": "mint", "station_deg": 90.0},
            "lanes.0.station_deg",
            90.0,
            "Change Mint’s station",
        ),
        (
            "set_follower",
            {"lane_id": "mint", "offset_mm": 3.0},
            "lanes.0.follower.offset_mm",
            3.0,
            "Change Mint’s offset",
        ),
        (
            "set_disc",
            {"lane_id": "mint", "thickness_mm": 6.0},
            "lanes.0.disc.thickness_mm",
            6.0,
            "Change Mint’s thickness",
        ),
        (
            "set_load",
            {"lane_id": "mint", "friction_n": 1.0},
            "lanes.0.load.friction_n",
            1.0,
            "Change Mint’s friction",
        ),
        ("set_rules", {"rules": []}, "rules", (), "Change the rules"),
        ("set_flow", {"flow": None}, "flow", None, "Remove the flow"),
        ("set_drive", {"drive": None}, "drive", None, "Remove the drive"),
        ("set_measured", {"measured": []}, "measured", (), "Change what was measured"),
        ("set_materials", {"materials": []}, "materials", (), "Change the materials"),
    ],
)
def test_fields_are_set(name: str, arguments: dict[str, Any], path: str, value: object, step: str) -> None:
    made = apply_edit(tea(), name, **arguments)
    found: Any = made.project
    for key in path.split("."):
        found = found[int(key)] if key.isdigit() else getattr(found, key)
    assert found == value
    assert made.name == step


def test_another_bearing_brings_its_own_radius_and_width() -> None:
    # 608 is 22 mm wide across and 7 mm thick, 624 is 13 and 5 mm (ISO 15, as printed in size charts).
    first = edited("set_follower", lane_id="mint", bearing="608")
    second = edited("set_follower", first, lane_id="mint", bearing="624")
    sizes = [(p.lanes[0].follower.roller_radius_mm, p.lanes[0].follower.width_mm) for p in (first, second)]
    assert sizes == [(11, 7), (6.5, 5)]
    plain = edited("set_follower", second, lane_id="mint", bearing=None).lanes[0].follower
    assert (plain.bearing, plain.roller_radius_mm) == (None, 6.5)
    with pytest.raises(EditError, match=r"the bearing 624 has 6\.5 mm"):
        edited("set_follower", second, lane_id="mint", roller_radius_mm=5.0)


def test_a_drive_and_materials_are_given() -> None:
    source = MotorSource(kind="motor", rated_speed_rpm=60.0, rated_torque_nm=0.5, turn="clockwise")
    step = apply_edit(tea(), "set_drive", drive=Drive(source=source))
    assert (step.project.drive.source, step.name) == (source, "Change the drive")
    oak = Material(name="oak", modulus_gpa=11.0, poisson=0.3, contact_mpa=12.0)
    wooden = edited(
        "set_lane", edited("set_materials", materials=[oak]), lane_id="mint", disc=Disc(material="oak")
    )
    with pytest.raises(EditError, match=r'lanes\[0\].disc.material: "oak" is not one of the materials'):
        edited("set_materials", wooden, materials=[])


@pytest.mark.parametrize(
    ("name", "arguments", "words"),
    [
        ("set_shaft", {"speed_rpm": -1.0}, "speed_rpm: must be at least 0.001, got -1"),
        ("set_shaft", {"speed_max_rpm": 1.0}, "speed_max_rpm: must be at least speed_rpm"),
        ("set_limits", {"pressure_angle_deg": float("nan")}, "pressure_angle_deg: must be a finite number"),
        ("set_lane", {"lane_id": "mint", "stack": "side"}, 'no stack "side"'),
        ("set_lane", {"lane_id": "mint", "id": "x"}, 'the id "mint" stays'),
        ("set_stack", {"stack_id": "main", "id": "x"}, 'the id "main" stays'),
        ("set_stack", {"stack_id": "mian"}, 'no stack "mian"; did you mean "main"'),
        ("set_stack", {"stack_id": "main", "order": ("mnt",)}, 'no lane "mnt"'),
        ("set_follower", {"lane_id": "mint", "roller_radius_mm": -1.0}, "must be at least 0, got -1"),
        ("set_disc", {"lane_id": "mint", "material": "cheese"}, '"cheese" is not one of the materials'),
        (
            "set_rules",
            {"rules": [Order(kind="order", first=MINT, then=LevelState(lane="x", level="y"))]},
            'no lane "x"',
        ),
        ("set_flow", {"flow": Flow(gates=(Gate(id="g", state=MINT, source="none"),))}, 'no magazine "none"'),
        ("rename_lane", {"lane_id": "mint", "name": "x" * 201}, "201 characters"),
        ("delete_lane", {"lane_id": "mnt"}, 'no lane "mnt"; did you mean "mint"'),
    ],
)
def test_what_cannot_be_set(name: str, arguments: dict[str, Any], words: str) -> None:
    with pytest.raises(EditError) as caught:
        apply_edit(tea(), name, **arguments)
    assert words in str(caught.value)


def test_an_unknown_field_is_a_slip_of_the_program() -> None:
    with pytest.raises(TypeError, match="Shaft has no field sped_rpm"):
        apply_edit(tea(), "set_shaft", sped_rpm=5.0)


def test_a_load_may_be_taken_away() -> None:
    loaded = edited("set_load", lane_id="mint", friction_n=1.0)
    assert loaded.lane("mint").load == Load(friction_n=1.0)
    assert edited("set_lane", loaded, lane_id="mint", load=None) == tea()


def test_stacks() -> None:
    two = edited("add_stack", stack=Stack(id="side"))
    assert [stack.id for stack in two.stacks] == ["main", "side"]
    with pytest.raises(EditError, match='"main" is stacks\\[0\\] already'):
        edited("add_stack", stack=Stack(id="main"))
    assert edited("delete_stack", two, stack_id="side") == tea()
    with pytest.raises(EditError, match="main carries Mint, Rose and Elder"):
        edited("delete_stack", two, stack_id="main")
    with pytest.raises(EditError, match="has 0 entries"):
        edited("delete_stack", machine(), stack_id="main")
