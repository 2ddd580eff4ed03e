"""Programs built from a hidden answer are always solved; those that cannot be give a core that is least."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import wrap
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Lane, Project, Window, replaced
from shaftscore.placing import Arrangement, Refusal, arrange
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.search import Search
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import solve
from tests.machines import at, block, exclusive, lane, machine, order, requires

ENOUGH_S = 20.0


def gate(name: str, begin: float, long: float, move: float) -> Lane:
    closed = 360.0 - long - 2 * move
    start = wrap(begin + long + move)
    return lane(name, block("open", begin, begin + long), block("closed", start, start + closed))


@st.composite
def hidden(draw: st.DrawFn) -> Project:
    """Return a project that holds: gates that open one after the other, with rules that say so."""
    count = draw(st.integers(2, 4))
    each = 360 // count
    lanes, rules = [], []
    for number in range(count):
        move = draw(st.integers(22, 30))
        long = draw(st.integers(0, max(0, each - 2 * move - 4)))
        spare = each - 2 * move - long
        begin = wrap(
            number * each + move + draw(st.integers(0, max(0, spare))) + draw(st.integers(0, 9)) / 10
        )
        lanes.append(gate(f"G{number}", float(begin), float(long), float(move)))
    states = [at(one.id, "open") for one in lanes]
    rules.append(exclusive(*states, gap_deg=draw(st.integers(0, 3)) / 2))
    if draw(st.booleans()):
        rules.append(requires(states[0], at(lanes[1].id, "closed"), lead_s=0.1))
    if draw(st.booleans()):
        rules.append(order(states[0], states[1], min_s=0.5))
    return machine(*lanes, rules=tuple(rules))


def scrambled(project: Project, turns: list[int], windows: list[int]) -> Project:
    """Turn each lane by whole steps; keep some starts within windows that hold the hidden answer."""
    lanes = []
    for one, turn, room in zip(project.lanes, turns, windows, strict=True):
        blocks = []
        for old in one.blocks:
            start = wrap(round(old.start_deg + turn / 10, 6))
            earliest = wrap(round(old.start_deg - room / 10, 6))
            window = (
                Window(earliest_deg=earliest, latest_deg=earliest + room / 5) if old.level == "open" else None
            )
            blocks.append(replaced(old, start_deg=start, end_deg=start + old.length_deg, window=window))
        lanes.append(replaced(one, blocks=tuple(blocks)))
    return replaced(project, lanes=tuple(lanes))


def model_of(project: Project) -> tuple[Arranging, Search]:
    model = arranging(solve(project), Shortest(project))
    return model, Search(model.problem, 1, model.margin)


def timing_errors(project: Project) -> list[str]:
    found = examine(project, stage=QUICK).findings
    return [finding.rule for finding in found if finding.severity is Severity.ERROR]


@settings(max_examples=12)
@given(
    hidden(),
    st.lists(st.integers(0, 3599), min_size=4, max_size=4),
    st.lists(st.integers(0, 300), min_size=4, max_size=4),
)
def test_a_hidden_answer_is_always_found(project: Project, turns: list[int], rooms: list[int]) -> None:
    if timing_errors(project):
        return  # the moves beside one another are too long for the gap: no answer was hidden
    count = len(project.lanes)
    puzzle = scrambled(project, turns[:count], rooms[:count])
    model, search = model_of(puzzle)
    answer = search.solve(None, ENOUGH_S)
    assert answer.found
    assert not timing_errors(model.arranged(answer.values))


@settings(max_examples=8)
@given(st.integers(100, 130), st.integers(0, 40), st.integers(1, 60))
def test_a_core_cannot_hold_and_does_without_any_one_member(start: int, room: int, gap: int) -> None:
    lanes = [gate(name, float(start), 10.0, 30.0) for name in ("A", "B", "C")]
    window = Window(earliest_deg=float(start), latest_deg=float(start + room / 10))
    lanes = [
        replaced(
            one, blocks=tuple(replaced(b, window=window if b.level == "open" else None) for b in one.blocks)
        )
        for one in lanes
    ]
    rules = (
        exclusive(at("a", "open"), at("b", "open"), gap_deg=float(gap)),
        requires(at("c", "open"), at("a", "open")),
    )
    project = machine(*lanes, rules=rules)
    found = arrange(project, seed=1)
    assert isinstance(found, Refusal)
    assert found.minimal
    _, search = model_of(project)
    assert search.solve(None, ENOUGH_S, reasons=frozenset(found.core)).status == "infeasible"
    for member in found.core:
        rest = frozenset(reason for reason in found.core if reason != member)
        assert search.solve(None, ENOUGH_S, reasons=rest).found, member
    assert len(found.texts) == len(found.core)


def test_the_least_relaxation_makes_it_possible_and_a_tenth_less_does_not() -> None:
    window = Window(earliest_deg=100.0, latest_deg=101.0)
    lanes = [
        lane(name, block("open", 100, 110, window=window), block("closed", 160, 300 + 90, locked=True))
        for name in ("A", "B")
    ]
    project = machine(*lanes, rules=(exclusive(at("a", "open"), at("b", "open"), gap_deg=1.0),))
    found = arrange(project, seed=1)
    assert isinstance(found, Refusal)
    assert not found.relaxations or all(r.by_deg > 0 for r in found.relaxations)
    free = replaced(
        project,
        lanes=tuple(
            replaced(o, blocks=tuple(replaced(b, locked=False) for b in o.blocks)) for o in project.lanes
        ),
    )
    refused = arrange(free, seed=1)
    assert isinstance(refused, Refusal)
    widened = next(r for r in refused.relaxations if r.reason is not None and r.reason.kind == "window")
    assert widened.reason is not None
    for more, kind in ((widened.by_deg, Arrangement), (widened.by_deg - 0.2, Refusal)):
        wide = Window(earliest_deg=wrap(100.0 - more), latest_deg=wrap(100.0 - more) + 1.0 + 2 * more)
        index = project.lane_index[str(widened.reason.of)]
        one = free.lanes[index]
        blocks = tuple(replaced(b, window=wide) if b.level == "open" else b for b in one.blocks)
        changed = tuple(replaced(o, blocks=blocks) if o is one else o for o in free.lanes)
        assert isinstance(arrange(replaced(free, lanes=changed), seed=1), kind)
