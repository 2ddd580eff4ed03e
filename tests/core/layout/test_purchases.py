"""What is bought for followers, counted by hand."""

from __future__ import annotations

from shaftscore.layout.followers import follower_layout
from shaftscore.layout.purchases import follower_purchases
from shaftscore.solution import solve
from tests.follower_machine import follower_machine


def bought(name: str) -> list[tuple[str, str, int]]:
    project = follower_machine()
    layout = follower_layout(project, solve(project).lanes[name])
    assert layout is not None
    return [(one.what, one.size, one.count) for one in follower_purchases(layout)]


def test_a_lever_on_a_bearing() -> None:
    """Bearing 5 mm, lever 5 mm, two washers of 1 mm, lock nut 5 mm: 17 mm, so M4 x 20.

    Rod: lever's top at 22 mm, frame 8 mm below the stack, 14 mm more: 44 mm.
    """
    assert sorted(bought("lever")) == sorted(
        [
            ("screw", "M4 x 20", 1),
            ("lock nut", "M4", 1),
            ("washer", "for M4, 1 mm", 2),
            ("rod", "diameter 4 mm, 44 mm", 1),
            ("washer", "for 4 mm", 2),
            ("shaft ring", "for 4 mm", 2),
            ("screw", "M3 x 16", 2),
            ("lock nut", "M3", 2),
        ]
    )


def test_a_slide_and_a_straight_line_lever() -> None:
    """Links of 5 mm with a washer between and a lock nut of 4 mm: 15 mm, so M3 x 16."""
    assert [one for one in bought("slide") if one[0] in ("rod", "screw")] == [
        ("screw", "M4 x 20", 1),
        ("screw", "M3 x 16", 4),
    ]
    straight = bought("straight")
    assert ("screw", "M3 x 16", 2) in straight
    assert ("screw", "M3 x 16", 4) in straight
    assert [one for one in straight if one[0] == "rod"] == [("rod", "diameter 4 mm, 55 mm", 2)]
