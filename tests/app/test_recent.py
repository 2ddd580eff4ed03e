"""What is kept by its last use has a bound."""

from __future__ import annotations

from shaftscore_app.runtime.recent import RecentThings


def test_the_one_unused_for_longest_makes_room() -> None:
    made: list[int] = []
    kept = RecentThings[int](3)

    def get(key: int) -> int:
        return kept.get(key, lambda: made.append(key) or key)

    for key in (1, 2, 3, 1, 4, 1, 3):
        assert get(key) == key
    assert made == [1, 2, 3, 4]
    assert get(2) == 2
    assert made == [1, 2, 3, 4, 2]
    assert len(kept) == 3
