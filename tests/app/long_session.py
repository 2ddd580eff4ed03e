"""Arguments for every edit, drawn at random from what a project holds; some of them cannot be made."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from random import Random
from typing import Any, get_args

from shaftscore.edits import BlockRef
from shaftscore.edits.copies import clip_of
from shaftscore.edits.state_table import Timing, read_states
from shaftscore.model import (
    Bore,
    Drive,
    Duty,
    Exclusive,
    Lane,
    LawName,
    LevelState,
    MachineFrame,
    Material,
    Measured,
    MotionPoint,
    MotorSource,
    Project,
    Stack,
    Stage,
    TranslatingFlat,
    TranslatingRoller,
)

Arguments = dict[str, Any]
Maker = Callable[[Project, Random], Arguments]

NAMES = ("Assam", "Rose", "Gate", "", "Wippe „links“", "x" * 201)
LEVELS = ({"in": 0.0, "out": 6.0}, {"a": 0.0, "b": 4.0, "c": 9.0}, {"only": 2.0})
LAWS = get_args(LawName)


def _deg(random: Random) -> float:
    """Return an angle: on the grid of steps, of halves, or anywhere."""
    return random.choice(
        (random.randrange(0, 720, 30) * 1.0, random.randrange(0, 1440) / 2.0, random.uniform(-360, 720))
    )


def _lane(project: Project, random: Random) -> Lane:
    return random.choice(project.lanes)


def _ref(project: Project, random: Random) -> BlockRef:
    lanes = [lane for lane in project.lanes if lane.blocks] or project.lanes
    lane = random.choice(lanes)
    return BlockRef(lane.id, random.randrange(max(1, len(lane.blocks))))


def _refs(project: Project, random: Random) -> list[BlockRef]:
    return list({_ref(project, random): None for _ in range(random.randint(1, 4))})


DATES = ("2026-11-27", "2026-12-01", "2026-13-01")
"""Days of notes and sheets; the last one is none."""


def _end(project: Project, random: Random) -> str:
    outlets = [] if project.flow is None else [outlet.id for outlet in project.flow.outlets]
    return random.choice([*outlets, "nowhere"])


def _magazine(project: Project, random: Random) -> str:
    magazines = [] if project.flow is None else [magazine.id for magazine in project.flow.magazines]
    return random.choice([*magazines, "nowhere"])


def _level(lane: Lane, random: Random) -> str:
    return random.choice(
        [*lane.levels, "nowhere"] if random.random() < 0.1 else [*lane.levels] or ["nowhere"]
    )


def _level_of(ref: BlockRef, project: Project, random: Random) -> str:
    return _level(project.lane(ref.lane_id), random)


def _state(project: Project, random: Random) -> LevelState:
    lane = _lane(project, random)
    return LevelState(lane=lane.id, level=_level(lane, random))


def _some(values: Sequence[Any], random: Random) -> tuple[Any, ...]:
    return tuple(value for value in values if random.random() < 0.6)


def _place(project: Project, random: Random) -> Arguments:
    ref = _ref(project, random)
    level = random.choice((None, _level_of(ref, project, random)))
    neighbours = random.choice(("give", "stay"))
    return {"ref": ref, "start_deg": _deg(random), "level": level, "neighbours": neighbours}


def _rules(project: Project, random: Random) -> Arguments:
    states = list({_state(project, random): None for _ in range(3)})
    made = [Exclusive(kind="exclusive", states=tuple(states), gap_deg=2.0)] if len(states) > 1 else []
    return {"rules": [*_some(project.rules, random), *made]}


def _columns(project: Project, random: Random) -> Arguments:
    lane = _lane(project, random)
    count = len(read_states(project, lane).column)
    column = tuple(random.choice((None, _level(lane, random))) for _ in range(count))
    timing = Timing(random.choice((None, 4.0, 12.0)), random.choice((6.0, 15.0)))
    return {"columns": {lane.id: column}, "timings": random.choice(({}, {lane.id: timing}))}


def _points(project: Project, random: Random) -> Arguments:
    points = [MotionPoint(theta_deg=deg, output_mm=random.uniform(0, 8)) for deg in (0.0, 90.0, 180.0, 270.0)]
    return {"lane_id": _lane(project, random).id, "points": points}


def _lane_fields(project: Project, random: Random) -> Arguments:
    fields: Sequence[Arguments] = (
        {"law": random.choice(LAWS)},
        {"station_deg": random.uniform(-10, 370)},
        {"band_mm": random.choice((None, 0.4, 50.0))},
        {"follower": TranslatingFlat(kind="translating-flat", face_width_mm=20.0)},
        {"follower": TranslatingRoller(kind="translating-roller", roller_radius_mm=4.0, offset_mm=2.0)},
        {"name": random.choice(NAMES)},
        {"id": "another"},
    )
    return {"lane_id": _lane(project, random).id, **random.choice(fields)}


def _drive(_project: Project, random: Random) -> Arguments:
    motor = MotorSource(kind="motor", rated_speed_rpm=60.0, rated_torque_nm=0.5, turn="clockwise")
    stage = Stage(driver_teeth=12, driven_teeth=random.choice((60, 120)), kind="external")
    return {"drive": random.choice((None, Drive(source=motor, stages=(stage,))))}


def _stack(project: Project, random: Random) -> Arguments:
    fields: Sequence[Arguments] = (
        {"turns": random.randint(1, 3)},
        {"spacer_mm": random.choice((3.0, -1.0))},
        {"bore": Bore(shape="square", across_mm=10.0)},
        {"name": random.choice(NAMES)},
    )
    return {"stack_id": random.choice(project.stacks).id, **random.choice(fields)}


def _of_lane(**fields: Callable[[Lane, Random], Any]) -> Maker:
    """Make arguments about a lane."""

    def make(project: Project, random: Random) -> Arguments:
        lane = _lane(project, random)
        return {"lane_id": lane.id, **{key: value(lane, random) for key, value in fields.items()}}

    return make


def _of_block(**fields: Callable[[Random], Any]) -> Maker:
    """Make arguments about a block."""
    return lambda project, random: {
        "ref": _ref(project, random),
        **{key: value(random) for key, value in fields.items()},
    }


def _of_blocks(**fields: Callable[[Random], Any]) -> Maker:
    """Make arguments about some blocks."""
    return lambda project, random: {
        "refs": _refs(project, random),
        **{key: value(random) for key, value in fields.items()},
    }


def _fields(**choices: Sequence[Any]) -> Maker:
    """Make one field of several, with one of its values."""

    def make(_project: Project, random: Random) -> Arguments:
        key = random.choice([*choices])
        return {key: random.choice(choices[key])}

    return make


ARGUMENTS: Mapping[str, Maker] = {
    "place_block": _place,
    "stretch_block": _of_block(
        start_deg=lambda r: r.choice((None, _deg(r))), end_deg=lambda r: r.choice((None, _deg(r)))
    ),
    "duplicate_lanes": lambda p, r: {"lane_ids": [_lane(p, r).id]},
    "gates_from_blocks": lambda p, r: {"refs": _refs(p, r), "source": _magazine(p, r), "to": None},
    "set_block_level": lambda p, r: {"ref": (ref := _ref(p, r)), "level": _level_of(ref, p, r)},
    "add_block": _of_lane(
        start_deg=lambda _lane, r: _deg(r),
        level=_level,
        length_deg=lambda _lane, r: r.choice((None, 0.0, 12.0, 400.0)),
    ),
    "delete_blocks": _of_blocks(),
    "move_blocks": _of_blocks(by_deg=_deg),
    "duplicate_blocks": _of_blocks(by_deg=_deg),
    "repeat_blocks": _of_blocks(times=lambda r: r.randint(0, 6)),
    "paste_blocks": lambda p, r: {"clip": clip_of(p, _refs(p, r)), "at_deg": _deg(r)},
    "mirror_blocks": _of_blocks(about_deg=lambda r: r.choice((None, _deg(r)))),
    "shift_each": lambda p, r: {"shifts": [(_lane(p, r).id, _deg(r)) for _ in range(2)]},
    "shift_lanes": lambda p, r: {"lane_ids": [_lane(p, r).id], "by_deg": _deg(r)},
    "insert_time": lambda _p, r: {"at_deg": _deg(r), "by_deg": r.uniform(-5, 40)},
    "set_locked": _of_blocks(locked=lambda r: r.random() < 0.3),
    "set_block_law": _of_block(law=lambda r: r.choice((None, *LAWS))),
    "set_window": lambda p, r: {
        "ref": _ref(p, r),
        **r.choice(
            ({"earliest_deg": _deg(r), "latest_deg": _deg(r)}, dict.fromkeys(("earliest_deg", "latest_deg")))
        ),
    },
    "set_least_length": _of_block(least_deg=lambda r: r.choice((None, 3.0, -1.0))),
    "add_lane": lambda p, r: {
        "name": r.choice(NAMES),
        "group": r.choice(("", "Row")),
        "levels": r.choice(LEVELS),
        "after": r.choice((None, *p.lane_index)),
    },
    "delete_lane": _of_lane(),
    "delete_lanes": lambda p, r: {"lane_ids": [_lane(p, r).id, _lane(p, r).id]},
    "rename_lane": _of_lane(name=lambda _lane, r: r.choice(NAMES)),
    "move_lane": _of_lane(place=lambda _lane, r: r.randint(-1, 8)),
    "group_lanes": lambda p, r: {
        "lane_ids": [_lane(p, r).id, _lane(p, r).id],
        "group": r.choice(("", "Row")),
    },
    "set_lane": _lane_fields,
    "set_kind": _of_lane(kind=lambda _lane, r: r.choice(("disc", "index", "points"))),
    "set_levels": lambda p, r: {
        "lane_id": (lane := _lane(p, r)).id,
        "levels": {level + "!": mm for level, mm in lane.levels.items()},
        "renamed": r.choice(({}, {level: level + "!" for level in lane.levels})),
    },
    "use_law": _of_lane(law=lambda _lane, r: r.choice(LAWS)),
    "set_points": _points,
    "set_follower": lambda p, r: {"lane_id": _lane(p, r).id, **_fields(body_width_mm=(None, 6.0, 0.0))(p, r)},
    "set_length": lambda p, r: {
        "lane_id": _lane(p, r).id,
        "path": r.choice(["follower.body_width_mm", "parts.arm_mm", "parts.spring_hook_mm"]),
        "value_mm": r.choice([None, 12.0, 60.0, -1.0]),
    },
    "set_disc": lambda p, r: {
        "lane_id": _lane(p, r).id,
        **_fields(base_radius_mm=("auto", 45.0, -1.0), thickness_mm=(4.0, 0.5))(p, r),
    },
    "set_discs": lambda p, r: {
        "lane_ids": [_lane(p, r).id, _lane(p, r).id],
        **_fields(thickness_mm=(4.0, 0.5))(p, r),
    },
    "set_load": lambda p, r: {
        "lane_id": _lane(p, r).id,
        **_fields(moving_mass_g=(0.0, 30.0), spring_preload_n=(2.0, -2.0))(p, r),
    },
    "size_base_circles": lambda _p, _r: {},
    "set_name": _fields(name=NAMES),
    "set_names": lambda _p, r: {"name": r.choice(NAMES), "notes": r.choice(("", "A note"))},
    "set_notes": _fields(notes=("", "two\nlines", "\u2028")),
    "set_shaft": _fields(speed_rpm=(3.0, 6.0, -1.0), steps=(4, 12, (0.0, 90.0, 80.0), (5.0, 100.0))),
    "set_limits": _fields(pressure_angle_deg=(25.0, 30.0, 95.0)),
    "set_tolerances": _fields(profile_mm=(0.1, 0.2, -1.0)),
    "set_print": _fields(bed_x_mm=(180.0, 220.0, 0.0)),
    "set_duty": lambda _p, r: {
        "duty": r.choice((None, Duty(hours_per_day=8.0, days_per_year=250.0, years=5.0)))
    },
    "set_stage": lambda _p, r: {"number": r.choice((1, 2)), "face_mm": r.choice((8.0, None, -1.0))},
    "spread_followers": lambda p, r: {"stations": {_lane(p, r).id: r.choice((0.0, 120.0, 400.0))}},
    "set_frame": lambda _p, r: {"frame": r.choice((None, MachineFrame(), MachineFrame(material="no such")))},
    "set_not_needed": lambda _p, r: {"not_needed": r.choice(((), ("torque",), ("torque", "torque")))},
    "set_drive": _drive,
    "set_rules": _rules,
    "set_flow": lambda p, r: {"flow": r.choice((None, p.flow))},
    "set_materials": _fields(
        materials=((), (Material(name="Nylon", modulus_gpa=2.0, poisson=0.39, contact_mpa=25.0),))
    ),
    "set_measured": lambda p, r: {
        "measured": r.choice(
            (
                (),
                (
                    Measured(
                        lane=(state := _state(p, r)).lane,
                        level=state.level,
                        edge="begin",
                        angle_deg=12.5,
                        sense="forward",
                    ),
                ),
            )
        )
    },
    "set_stack": _stack,
    "add_stack": lambda _p, r: {"stack": Stack(id=r.choice(("second", "main")), turns=r.randint(1, 2))},
    "delete_stack": lambda p, r: {"stack_id": r.choice(p.stacks).id},
    "write_states": _columns,
    "rewrite_states": lambda p, r: {"lane_ids": [_lane(p, r).id]},
    "set_stacks": lambda p, r: {"stacks": r.sample(p.stacks, len(p.stacks))},
    "set_home": lambda _p, r: {"angle_deg": r.choice((None, _deg(r)))},
    "add_note": lambda _p, r: {"date": r.choice(DATES), "text": r.choice(("Printed A1.", "", "two\nlines"))},
    "start_sheet": lambda _p, r: {"date": r.choice(DATES)},
    "tick": lambda p, r: {
        "angle_deg": _deg(r),
        "seen": {(state := _state(p, r)).lane: r.choice((state.level, 3.5, None))},
    },
    "count_items": lambda p, r: {"end": _end(p, r), "items": (r.randrange(5), None, r.randrange(5))},
    "forget": lambda _p, r: {"angle_deg": _deg(r)},
}
"""For every edit of the table what it may be called with."""
