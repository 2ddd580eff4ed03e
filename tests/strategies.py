"""Hypothesis strategies for records, lanes and whole projects.

`lanes(clean=True)` gives lanes whose program has time for every move, so that they can be solved;
otherwise blocks may overlap, touch and repeat levels. `projects()` gives whole projects that load: every
reference leads somewhere. Angles lie on a grid of 1e-3 degree unless asked otherwise, as edits leave them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args

from hypothesis import strategies as st

from shaftscore.model import (
    FORMAT,
    VERSION,
    Block,
    Bore,
    Branch,
    Channel,
    CrankSource,
    Disc,
    Diverter,
    Dogs,
    Drive,
    Exclusive,
    Flow,
    Gate,
    Lane,
    LawName,
    LevelState,
    Limits,
    LinkPoint,
    Load,
    Magazine,
    Material,
    Measured,
    MotionPoint,
    MotorSource,
    Order,
    Outlet,
    Pins,
    Print,
    Project,
    RangeState,
    Reload,
    Requires,
    Rod,
    Shaft,
    Stack,
    Stage,
    Supply,
    SwingingRoller,
    Tolerances,
    TranslatingFlat,
    TranslatingRoller,
    Window,
)
from shaftscore.model.materials import BUILT_IN

LAWS = get_args(LawName)
MOVE_LAWS = tuple(law for law in LAWS if law not in ("drop", "constant-velocity"))
"""Laws that suit any move between two dwells."""

DIRECTIONS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""The characters of Unicode's property Bidi_Control (PropList.txt)."""

letters = st.characters(exclude_categories=["Cs", "Cc"], exclude_characters=f"{DIRECTIONS}\ufffe\uffff")
texts = st.text(letters | st.sampled_from("\t\n\r"), max_size=12)
names = st.text(letters | st.sampled_from("\t\n\r"), min_size=1, max_size=12)
turns = st.sampled_from(["clockwise", "counterclockwise"])


def grid(least: float, most: float, per_unit: int = 1000) -> st.SearchStrategy[float]:
    """Return numbers on a grid of 1 / per_unit, both ends included."""
    whole = st.integers(round(least * per_unit), round(most * per_unit))
    return whole.map(lambda count: count / per_unit)


angles = grid(0, 359.999)
lengths = grid(0, 360)


def floats(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most, allow_nan=False)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def some(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Return keyword arguments in which each field may be absent."""
    return st.fixed_dictionaries({}, optional=fields)


@st.composite
def levels(draw: st.DrawFn, *, least: int = 1, most: int = 4) -> dict[str, float]:
    """Return named levels of different heights, mm, in any order."""
    count = draw(st.integers(least, most))
    found = draw(st.lists(names, min_size=count, max_size=count, unique=True))
    heights = draw(st.lists(st.integers(0, 400), min_size=count, max_size=count, unique=True))
    return {name: height / 8 for name, height in zip(found, heights, strict=True)}


@st.composite
def clean_blocks(
    draw: st.DrawFn, known: Sequence[str], least_move_deg: int = 15, least_dwell_deg: int = 0
) -> tuple[Block, ...]:
    """Return blocks with at least `least_move_deg` between them, no two neighbours of one level.

    The blocks are at least `least_dwell_deg` long.
    """
    if len(known) < 2:
        return ()
    count = draw(st.integers(1, 5).map(lambda half: half * 2) if len(known) == 2 else st.integers(2, 10))
    chosen = [known[draw(st.integers(0, len(known) - 1))]]
    for place in range(1, count):
        barred = {chosen[-1]} | ({chosen[0]} if place == count - 1 else set())
        chosen.append(draw(st.sampled_from([name for name in known if name not in barred])))
    spare = 360_000 - count * (least_move_deg + least_dwell_deg) * 1000
    cuts = sorted(draw(st.lists(st.integers(0, spare), min_size=2 * count - 1, max_size=2 * count - 1)))
    parts = [high - low for low, high in zip([0, *cuts], [*cuts, spare], strict=True)]
    start, made = draw(st.integers(0, 359_999)), []
    for place, level in enumerate(chosen):
        dwell, move = parts[2 * place] + least_dwell_deg * 1000, parts[2 * place + 1] + least_move_deg * 1000
        begin = start % 360_000
        made.append(Block(level=level, start_deg=begin / 1000, end_deg=(begin + dwell) / 1000))
        start += dwell + move
    return tuple(made)


@st.composite
def any_blocks(draw: st.DrawFn, known: Sequence[str]) -> tuple[Block, ...]:
    """Return blocks anywhere, with everything that a block may carry."""
    if not known:
        return ()
    return tuple(draw(st.lists(blocks(known), max_size=6)))


@st.composite
def blocks(draw: st.DrawFn, known: Sequence[str]) -> Block:
    start, length = draw(angles), draw(lengths)
    least = draw(st.sampled_from(["min_length_deg", "min_length_s"]))
    fields = draw(
        some(
            locked=st.booleans(),
            window=windows(),
            law=st.sampled_from(LAWS),
            least=lengths,
        )
    )
    if "least" in fields:
        fields[least] = fields.pop("least")
    return Block(level=draw(st.sampled_from(list(known))), start_deg=start, end_deg=start + length, **fields)


@st.composite
def windows(draw: st.DrawFn) -> Window:
    earliest = draw(angles)
    return Window(earliest_deg=earliest, latest_deg=min(720.0, earliest + draw(lengths)))


@st.composite
def links(draw: st.DrawFn, reach: float) -> tuple[LinkPoint, ...]:
    """Return a linkage's table from 0 to at least `reach` of output, mm."""
    steps = draw(st.lists(st.tuples(grid(0.1, 5), grid(0.1, 5)), min_size=1, max_size=4))
    rows = [LinkPoint(roller_mm=0.0, output_mm=0.0)]
    for roller, output in steps:
        last = rows[-1]
        rows.append(LinkPoint(roller_mm=last.roller_mm + roller, output_mm=last.output_mm + output))
    if rows[-1].output_mm < reach:
        rows.append(LinkPoint(roller_mm=rows[-1].roller_mm + 10.0, output_mm=reach + 1.0))
    return tuple(rows)


@st.composite
def followers(draw: st.DrawFn, reach: float = 0.0) -> TranslatingRoller | SwingingRoller | TranslatingFlat:
    """Return any follower; reach: the highest output that it must give, mm."""
    common: dict[str, Any] = draw(
        some(
            groove_clearance_mm=grid(0, 1),
            link_play_mm=grid(0, 2),
            width_mm=grid(1, 20),
            body_width_mm=grid(1, 20),
            material=st.sampled_from(list(BUILT_IN)),
            contact_friction=grid(0, 1),
        )
    )
    kind = draw(st.sampled_from(["translating-roller", "swinging-roller", "translating-flat"]))
    if kind == "translating-flat":
        common |= draw(some(output_ratio=floats(0.1, 10)) | some(link=links(reach)))
        return TranslatingFlat(kind=kind, face_width_mm=draw(grid(1, 100)), **common)
    common |= draw(some(closure=st.sampled_from(["spring", "groove"])))
    common["roller_radius_mm"] = draw(grid(0.5, 20))
    if kind == "translating-roller":
        common |= draw(some(output_ratio=floats(0.1, 10)) | some(link=links(reach)))
        return TranslatingRoller(kind=kind, **common, **draw(_translating))
    common |= draw(some(output_arm_mm=grid(5, 200)) | some(link=links(reach)))
    arm = {"arm_mm": draw(grid(40, 100)), "pivot_distance_mm": draw(grid(40, 100)), "pivot_side": draw(turns)}
    return SwingingRoller(kind=kind, **common, **arm, **draw(some(pivot_rod_mm=grid(1, 10))))


_translating = some(
    offset_mm=grid(-4, 4) | st.just("auto"),
    guide_length_mm=grid(1, 100),
    overhang_mm=grid(0, 100),
    guide_friction=grid(0, 1),
    guide_start_mm=grid(0, 200),
)
discs = some(
    base_group=names,
    thickness_mm=grid(4, 20),
    material=st.sampled_from(list(BUILT_IN)),
    edge_chamfer_mm=grid(0, 1),
    groove_depth_mm=grid(1, 3.5),
    rim_mm=grid(1, 10),
).map(lambda fields: Disc(**fields)) | some(base_radius_mm=grid(5, 100)).map(lambda fields: Disc(**fields))
loads = some(
    moving_mass_g=floats(0, 1e4),
    friction_n=floats(0, 100),
    spring_preload_n=floats(0, 100),
    spring_rate_n_per_mm=floats(0, 100),
    external_n=floats(-100, 100),
    at=st.sampled_from(["roller", "output"]),
).map(lambda fields: Load(**fields))


@st.composite
def lanes(draw: st.DrawFn, own_id: str = "lane", *, clean: bool = False, plain: bool = False) -> Lane:
    """Return a lane of kind disc.

    clean: there is time for every move, and every law suits any move. plain: nothing but levels, blocks
    and law.
    """
    known = draw(levels(least=2 if clean else 1))
    made = draw(clean_blocks(list(known)) if clean else any_blocks(list(known)))
    law = draw(st.sampled_from(MOVE_LAWS if clean else LAWS))
    if plain:
        return Lane(id=own_id, levels=known, blocks=made, law=law)
    fields = draw(
        some(
            name=texts,
            group=texts,
            guarded=st.lists(st.sampled_from(list(known)), unique=True, max_size=2).map(tuple),
            station_deg=grid(-360, 360),
            offset_deg=grid(-360, 360),
            load=loads,
            disc=discs,
        )
    )
    follower = draw(_follower_for(fields.get("disc", Disc()), max(known.values())))
    return Lane(id=own_id, levels=known, blocks=made, law=law, follower=follower, **fields)


def _follower_for(disc: Disc, reach: float) -> st.SearchStrategy[Any]:
    """Return followers that can stand on a disc."""
    if disc.base_radius_mm == "auto":
        return followers(reach)
    return st.just(TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0))


@st.composite
def states(draw: st.DrawFn, known: Sequence[Lane]) -> LevelState | RangeState:
    """Return a state of one of the lanes."""
    lane = draw(st.sampled_from(list(known)))
    if lane.levels and draw(st.booleans()):
        return LevelState(lane=lane.id, level=draw(st.sampled_from(list(lane.levels))))
    low, high = sorted([draw(grid(0, 60)), draw(grid(0, 60))])
    return RangeState(lane=lane.id, from_mm=low, to_mm=high)


@st.composite
def rules(draw: st.DrawFn, known: Sequence[Lane]) -> Exclusive | Requires | Order:
    kind = draw(st.sampled_from(["exclusive", "requires", "order"]))
    unit, other = draw(st.permutations(["deg", "s"]))
    if kind == "exclusive":
        members = draw(st.lists(states(known), min_size=2, max_size=4, unique_by=str))
        return Exclusive(kind=kind, states=tuple(members), **draw(some(**{f"gap_{unit}": grid(0, 60)})))
    first, second = draw(states(known)), draw(states(known))
    if kind == "requires":
        spans = draw(some(**{f"lead_{unit}": grid(0, 60), f"lag_{other}": grid(0, 60)}))
        return Requires(kind=kind, when=first, need=second, **spans)
    least = draw(grid(0, 10))
    return Order(kind=kind, first=first, then=second, **draw(some(min_s=st.just(least), max_s=grid(10, 20))))


@st.composite
def flows(draw: st.DrawFn, known: Sequence[Lane]) -> Flow:
    """Return a network in which every way leads onward to an outlet."""
    supplies = tuple(
        Supply(id=f"supply-{n}", **draw(some(rate_per_min=floats(0.1, 100))))
        for n in range(draw(st.integers(1, 2)))
    )
    outlets = tuple(
        Outlet(id=f"outlet-{n}", **draw(some(expects=st.lists(names, max_size=3).map(tuple))))
        for n in range(draw(st.integers(1, 2)))
    )
    ends = [outlet.id for outlet in outlets]
    magazines = tuple(
        draw(_magazine(n, [supply.id for supply in supplies])) for n in range(draw(st.integers(1, 3)))
    )
    channels: list[Channel] = []
    for n in range(draw(st.integers(0, 3))):
        channels.append(draw(_channel(n, ends, known)))
        ends.append(channels[-1].id)
    gates = tuple(
        draw(_gate(n, [magazine.id for magazine in magazines], ends, known))
        for n in range(draw(st.integers(0, 3)))
    )
    return Flow(
        supplies=supplies, magazines=magazines, channels=tuple(channels), outlets=outlets, gates=gates
    )


@st.composite
def _magazine(draw: st.DrawFn, n: int, sources: Sequence[str]) -> Magazine:
    capacity = draw(st.integers(1, 50))
    fields = draw(
        some(
            source=st.sampled_from(list(sources)), travel_s=grid(0, 10), start_count=st.integers(0, capacity)
        )
    )
    return Magazine(id=f"magazine-{n}", capacity=capacity, **fields)


@st.composite
def _channel(draw: st.DrawFn, n: int, ends: Sequence[str], known: Sequence[Lane]) -> Channel:
    least, most = sorted([draw(grid(0, 5)), draw(grid(0, 5))])
    to: str | Diverter = draw(st.sampled_from(list(ends)))
    if draw(st.booleans()):
        lane = draw(st.sampled_from(list(known)))
        ways = draw(st.lists(st.tuples(states([lane]), st.sampled_from(list(ends))), min_size=1, max_size=3))
        to = Diverter(lane=lane.id, by_state=tuple(Branch(state=state, to=end) for state, end in ways))
    return Channel(
        id=f"channel-{n}", travel_min_s=least, travel_max_s=most, to=to, **draw(some(headway_s=grid(0, 0.3)))
    )


@st.composite
def _gate(
    draw: st.DrawFn, n: int, sources: Sequence[str], ends: Sequence[str], known: Sequence[Lane]
) -> Gate:
    state = draw(states(known))
    own = [lane for lane in known if lane.id == state.lane]
    fields = draw(some(to=st.sampled_from(list(ends)), item=names, reload=_reload(own)))
    if draw(st.booleans()):
        fields |= {"mode": "stream", "item_s": draw(grid(0.1, 5)), "items": draw(st.integers(0, 5))}
    return Gate(id=f"gate-{n}", state=state, source=draw(st.sampled_from(list(sources))), **fields)


def _reload(own: Sequence[Lane]) -> st.SearchStrategy[Reload]:
    return st.builds(lambda state, item_s: Reload(state=state, item_s=item_s), states(own), grid(0, 5))


@st.composite
def shafts(draw: st.DrawFn) -> Shaft:
    speed = draw(floats(0.1, 200))
    starts = st.lists(angles, min_size=1, max_size=6, unique=True).map(lambda found: tuple(sorted(found)))
    fields = draw(
        some(
            speed_max_rpm=floats(200, 400), steps=st.integers(1, 24) | starts, step_names=st.just(("first",))
        )
    )
    return Shaft(turn=draw(turns), speed_rpm=speed, **fields)


@st.composite
def stages(draw: st.DrawFn) -> Stage:
    kind = draw(st.sampled_from(["external", "internal", "belt", "chain", "bevel", "worm"]))
    fields = {"reverses": draw(st.booleans())} if kind in ("bevel", "worm") else {}
    teeth = st.integers(1, 100)
    return Stage(
        driver_teeth=draw(teeth),
        driven_teeth=draw(teeth),
        kind=kind,
        **fields,
        **draw(some(efficiency=floats(0.1, 1))),
    )


motors = st.builds(
    lambda turn, speed, fields: MotorSource(
        kind="motor", rated_speed_rpm=speed, rated_torque_nm=0.5, turn=turn, **fields
    ),
    turns,
    floats(1, 1000),
    some(stall_torque_nm=floats(0.5, 5), from_below=st.booleans()),
)
cranks = st.builds(
    lambda turn, radius, fields: CrankSource(kind="crank", radius_mm=radius, turn=turn, **fields),
    turns,
    floats(10, 200),
    some(hand_force_n=floats(1, 100)),
)
drives = st.builds(
    lambda source, fields: Drive(source=source, **fields),
    motors | cranks,
    some(stages=st.lists(stages(), max_size=3).map(tuple), torque_reserve=floats(1, 3)),
)
bores = st.sampled_from(
    [
        Bore(),
        Bore(shape="round", across_mm=6.0),
        Bore(shape="d", across_mm=6.0, flat_mm=5.5),
        Bore(shape="square"),
    ]
)
dogs = st.builds(lambda radius: Dogs(radius_mm=radius, width_mm=3.0, height_mm=2.0), grid(6, 20))
rods = st.builds(
    lambda across, below, fields: Rod(across_mm=across, below_mm=below, above_mm=10.0, **fields),
    grid(3, 6),
    grid(0, 50),
    some(bearing=st.sampled_from(["ball", "plain"]), clamp_n=grid(1, 500), material=st.just("steel")),
)
pins = st.builds(
    lambda count, radius: Pins(count=count, radius_mm=radius, across_mm=3.0), st.integers(2, 4), grid(12, 30)
)


@st.composite
def stacks(draw: st.DrawFn, own_id: str, carried: Sequence[str]) -> Stack:
    """Return a stack; carried: ids of the lanes with discs on it."""
    fields = draw(
        some(
            name=texts,
            turns=st.integers(1, 5),
            turn=turns,
            efficiency=floats(0.1, 1),
            order=st.permutations(list(carried)).map(tuple),
            bore=bores,
            dogs=dogs,
            joint_play_deg=grid(0, 5),
            joints=st.sampled_from(["loose", "as-they-lie", "one-way", "lined-up"]),
            followers_set=st.sampled_from(["drawing", "built"]),
            rod=rods,
            pins=pins,
            backlash_deg=grid(0, 5),
            driven_end=st.sampled_from(["bottom", "top"]),
            follower_height_mm=grid(1, 20),
        )
    )
    return Stack(id=own_id, **fields)


tolerances = some(
    disc_angle_deg=grid(0, 2), profile_mm=grid(0, 1), rate_percent=grid(0, 50), follower_z_mm=grid(0, 1)
).map(lambda fields: Tolerances(**fields))
limits = some(
    pressure_angle_deg=grid(10, 60), crest_radius_mm=grid(0, 3), max_disc_radius_mm=grid(20, 300)
).map(lambda fields: Limits(**fields))
prints = some(bed_x_mm=grid(100, 400), contour_mm=grid(-1, 1)).map(lambda fields: Print(**fields))
materials = st.builds(
    lambda name: Material(name=name, modulus_gpa=3.0, poisson=0.35, contact_mpa=20.0), names
)


@st.composite
def _extra_lanes(draw: st.DrawFn, carrier: Lane) -> list[Lane]:
    """Return lanes of the other kinds: a table of points, a rider on the disc of `carrier`, an index part."""
    at = sorted(draw(st.sets(st.integers(0, 359), min_size=3, max_size=8)))
    points = tuple(MotionPoint(theta_deg=float(deg), output_mm=draw(grid(0, 20))) for deg in at)
    table = Lane(id="table", kind="points", points=points, **draw(some(station_deg=grid(0, 360))))
    rider = Lane(id="rider", kind="rider", disc_of=carrier.id, stack=carrier.stack)
    pitch = draw(grid(1, 50))
    part = Lane(
        id="part",
        kind="index",
        levels={"rest": 0.0, "next": pitch},
        **draw(some(band_mm=st.just(pitch / 10))),
    )
    return draw(st.permutations([table, rider, part]))[: draw(st.integers(0, 3))]


@st.composite
def projects(draw: st.DrawFn, *, clean: bool = False, most_lanes: int = 4) -> Project:
    """Return a whole project that loads; clean: every lane has time for its moves."""
    stack_ids = [f"stack-{n}" for n in range(draw(st.integers(1, 3)))]
    made = [draw(lanes(f"lane-{n}", clean=clean)) for n in range(draw(st.integers(0, most_lanes)))]
    made = [_on(lane, draw(maybe(st.sampled_from(stack_ids)))) for lane in made]
    if made and draw(st.booleans()):
        made += draw(_extra_lanes(made[0]))
    carried = {
        own: [lane.id for lane in made if lane.has_disc and (lane.stack or stack_ids[0]) == own]
        for own in stack_ids
    }
    known = [_with_states(lane, made) for lane in made]
    fields: dict[str, Any] = draw(
        some(
            name=texts,
            notes=texts,
            drive=drives,
            tolerances=tolerances,
            limits=limits,
            print=prints,
            materials=st.lists(materials, max_size=2, unique_by=lambda material: material.name).map(tuple),
        )
    )
    if known:
        fields |= draw(some(rules=st.lists(rules(known), max_size=3).map(tuple), flow=flows(known)))
        leveled = [lane for lane in made if lane.levels]
        fields |= draw(some(measured=st.lists(_measured(leveled), max_size=2).map(tuple))) if leveled else {}
    return Project(
        format=FORMAT,
        version=VERSION,
        shaft=draw(shafts()),
        stacks=tuple(draw(stacks(own, carried[own])) for own in stack_ids),
        lanes=tuple(made),
        **fields,
    )


def _with_states(lane: Lane, made: Sequence[Lane]) -> Lane:
    """Return a lane as states name it: a rider with the levels of the lane on whose disc it rides."""
    if lane.disc_of is None:
        return lane
    (host,) = (other for other in made if other.id == lane.disc_of)
    return Lane(id=lane.id, levels=host.levels)


def _on(lane: Lane, stack: str | None) -> Lane:
    return (
        lane
        if stack is None
        else Lane(**{key: getattr(lane, key) for key in lane.model_fields_set}, stack=stack)
    )


@st.composite
def _measured(draw: st.DrawFn, known: Sequence[Lane]) -> Measured:
    lane = draw(st.sampled_from(list(known)))
    return Measured(
        lane=lane.id,
        level=draw(st.sampled_from(list(lane.levels))),
        edge=draw(st.sampled_from(["begin", "end"])),
        angle_deg=draw(angles),
        sense=draw(st.sampled_from(["forward", "backward"])),
    )
