from __future__ import annotations

import pytest

from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.labels import BlockText, place_labels

TEXT = BlockText("open", "12.0°", "o")


def measure(text: str) -> float:
    """Return every letter 10 px."""
    return 10.0 * len(text)


def part(left: float, right: float, *, cut: bool = False) -> SeenPiece:
    return SeenPiece(left, right, left - cut, right, 0.0)


def placed(*parts: SeenPiece, cursor: float | None = None, taken: float = 0.0) -> list[tuple[str, float]]:
    labels = place_labels(parts, TEXT, measure, cursor_x=cursor, taken=taken)
    return [(label.text, label.left) for label in labels]


@pytest.mark.parametrize(
    ("width", "labels"),
    [
        (130.0, [("open", 7.0), ("12.0°", 73.0)]),
        (129.9, [("open", 44.95)]),
        (44.0, [("open", 2.0)]),
        (43.9, [("o", 16.95)]),
        (12.0, [("o", 1.0)]),
        (11.9, []),
    ],
)
def test_what_is_written_depends_on_the_room(width: float, labels: list[tuple[str, float]]) -> None:
    assert placed(part(0.0, width)) == [(text, pytest.approx(left)) for text, left in labels]


def test_a_cut_part_needs_more_room_for_the_name() -> None:
    assert placed(part(0.0, 53.9, cut=True)) == [("o", pytest.approx(21.95))]
    assert placed(part(0.0, 54.0, cut=True)) == [("open", 7.0)]


def test_a_wrapped_block_is_labelled_in_each_part_with_room_for_the_name() -> None:
    assert placed(part(0.0, 60.0, cut=True), part(800.0, 930.0, cut=True)) == [
        ("open", 10.0),
        ("open", 807.0),
        ("12.0°", 873.0),
    ]


def test_the_letter_stands_once_and_only_where_no_part_has_room() -> None:
    assert placed(part(0.0, 20.0, cut=True), part(800.0, 830.0, cut=True)) == [("o", 810.0)]
    assert placed(part(0.0, 20.0, cut=True), part(800.0, 860.0, cut=True)) == [("open", 810.0)]


def test_a_letter_that_two_levels_share_is_not_written() -> None:
    assert place_labels([part(0.0, 30.0)], BlockText("open", "12.0°", None), measure) == ()


def test_the_cursor_pushes_a_label_to_its_right() -> None:
    assert placed(part(0.0, 200.0), cursor=20.0) == [("open", 27.0), ("12.0°", 143.0)]


def test_without_room_at_its_right_a_label_stands_left_of_the_cursor() -> None:
    assert placed(part(0.0, 110.0), cursor=68.0) == [("open", 21.0)]


def test_a_label_without_room_beside_the_cursor_is_left_out() -> None:
    assert placed(part(0.0, 50.0), cursor=25.0) == []


def test_a_pushed_name_never_meets_the_length() -> None:
    for cursor in range(0, 200, 3):
        labels = place_labels([part(0.0, 140.0)], TEXT, measure, cursor_x=float(cursor))
        assert labels
        if len(labels) == 2:
            name, length = sorted(labels, key=lambda label: label.left)
            assert name.right + 6.0 <= length.left
        for label in labels:
            assert not label.left < cursor < label.right


def test_a_padlock_takes_room_before_the_name() -> None:
    assert placed(part(0.0, 60.0), taken=16.0) == [("open", 18.0)]


def test_a_block_cut_by_the_view_keeps_its_label_in_sight() -> None:
    axis = Axis(0.0, 400.0, 100.0, 4.0)
    pieces = list(axis.pieces(80.0, 60.0))
    (label,) = [made for made in place_labels(pieces, TEXT, measure) if made.is_name]
    assert label.left >= 0.0
    assert label.right <= 160.0
