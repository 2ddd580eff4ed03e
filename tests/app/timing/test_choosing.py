"""Which blocks a rectangle selects, and where a dragged lane goes: pure."""

from __future__ import annotations

import pytest

from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.rows import Shown, lay_out
from shaftscore.make.drawing.timing.shapes import highest_mm
from shaftscore.model import Project
from shaftscore_app.timing.choosing import Box, blocks_in
from shaftscore_app.timing.reordering import gap_at, moved_by, moved_to
from tests.app.timing.machines import gate, machine


def frame_of(project: Project, shown: Shown | None = None, axis: Axis | None = None) -> Frame:
    return Frame(1200, 500, axis or Axis.whole(176, 900), lay_out(project, shown or Shown()), 0.0, 1.0)


def three() -> Project:
    return machine(gate("A", 60), gate("B", 200), gate("C", 355, group="Others"))


def box(frame: Frame, project: Project, lanes: tuple[str, str], degs: tuple[float, float]) -> Box:
    rows = [frame.rows.of_lane(own) for own in lanes]
    strips = [frame.strip(row, highest_mm(project.lane(row.lane_id))) for row in rows if row and row.lane_id]
    return (frame.axis.x(degs[0]), strips[0].top, frame.axis.x(degs[1]), strips[1].bottom)


@pytest.mark.parametrize(
    ("lanes", "degs", "found"),
    [
        (("a", "b"), (50, 220), [("a", 60.0), ("b", 200.0)]),
        (("a", "a"), (50, 220), [("a", 60.0)]),
        (("a", "b"), (65, 220), [("b", 200.0)]),  # cut by the side: not in it
        (("c", "c"), (-8, 9), [("c", 355.0)]),  # through 0
        (("a", "c"), (-10, 370), [("a", 60.0), ("b", 200.0), ("c", 355.0), ("c", 31.0)]),
    ],
)
def test_a_rectangle_holds_what_begins_and_ends_in_it(
    lanes: tuple[str, str], degs: tuple[float, float], found: list[tuple[str, float]]
) -> None:
    project = three()
    frame = frame_of(project)
    refs = blocks_in(project, frame, box(frame, project, lanes, degs))
    starts = {(ref.lane_id, project.lane(ref.lane_id).blocks[ref.index].start_deg) for ref in refs}
    assert starts == set(found)


def test_what_is_not_drawn_is_not_selected() -> None:
    project = three()
    frame = frame_of(project, Shown(hidden={"b"}, closed={"Others"}))
    refs = blocks_in(project, frame, (0.0, 0.0, 1200.0, 500.0))
    assert {ref.lane_id for ref in refs} == {"a"}


# Lanes among lanes


def order(project: Project) -> list[tuple[str, str]]:
    return [(lane.id, lane.group) for lane in project.lanes]


def test_the_gap_is_above_or_below_the_row_under_the_pointer() -> None:
    frame = frame_of(three())
    row = frame.rows.of_lane("b")
    assert row is not None
    top = frame.top_of(row)
    above, below = gap_at(frame, top + 3), gap_at(frame, top + row.height - 3)
    assert above is not None
    assert below is not None
    assert (above.beside, above.after, above.y) == ("b", False, top)
    assert (below.beside, below.after, below.y) == ("b", True, top + row.height)
    head = gap_at(frame, frame.top_of(frame.rows.rows[0]) + 2)
    assert head is not None
    assert (head.beside, head.after) == ("a", False)
    last = gap_at(frame, 480)
    assert last is not None
    assert (last.beside, last.after) == ("c", True)
    assert gap_at(frame_of(machine()), 100) is None


def test_a_lane_takes_the_group_where_it_goes() -> None:
    project = three()
    edited = moved_to(project, "a", "c", after=True)
    assert edited is not None
    assert order(edited.project) == [("b", "Gates"), ("c", "Others"), ("a", "Others")]
    assert moved_to(project, "a", "b", after=False) is None
    assert moved_to(project, "a", "a", after=True) is None


def test_keys_move_a_lane_through_the_groups() -> None:
    project, seen = three(), []
    for _ in range(3):
        edited = moved_by(project, "a", 1)
        if edited is None:
            break
        project = edited.project
        seen.append(order(project))
    assert seen == [
        [("b", "Gates"), ("a", "Gates"), ("c", "Others")],
        [("b", "Gates"), ("a", "Others"), ("c", "Others")],
        [("b", "Gates"), ("c", "Others"), ("a", "Others")],
    ]
    assert moved_by(project, "a", 1) is None
    up = moved_by(project, "c", -1)
    assert up is not None
    assert order(up.project)[1] == ("c", "Gates")
