"""What an outlet gets against what it expects, compared with trying every arrangement."""

from __future__ import annotations

from collections import Counter
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from shaftscore.judge.flow.order import Came, compared

NAMES = st.sampled_from(["nut", "pin", "cap"])


@st.composite
def arrivals(draw: st.DrawFn) -> Came:
    earliest, width = draw(st.integers(0, 12)), draw(st.integers(0, 3))
    return Came(draw(NAMES), 0, 0, earliest, earliest + width)


def possible_orders(came: list[Came]) -> set[tuple[str, ...]]:
    """All orders in which the items can arrive, at any instants of their windows (a tie can go both ways)."""
    return {
        tuple(item.name for item in order)
        for order in permutations(came)
        if all(
            order[i].earliest_us < order[j].latest_us or _same_or_before(order[i], order[j])
            for i in range(len(order))
            for j in range(i + 1, len(order))
        )
    }


def _same_or_before(first: Came, second: Came) -> bool:
    """Whether `first` may come before `second`: not wholly after it."""
    return first.earliest_us <= second.latest_us and (
        first.earliest_us < second.latest_us or first.place <= second.place
    )


def fits(order: tuple[str, ...], expects: list[str], lacking: list[str]) -> bool:
    """Whether an order is what is expected, less some of what is lacking."""
    rest = list(expects)
    left_out = Counter(lacking)
    for name in order:
        while rest and rest[0] != name:
            if not left_out[rest[0]]:
                return False
            left_out[rest.pop(0)] -= 1
        if not rest:
            return False
        rest.pop(0)
    return not Counter(rest) - left_out


@given(st.lists(arrivals(), max_size=5), st.lists(NAMES, max_size=5), st.lists(NAMES, max_size=2))
def test_an_outlet_is_right_only_if_every_possible_order_is(
    came: list[Came], expects: list[str], lacking: list[str]
) -> None:
    right = all(fits(order, expects, lacking) for order in possible_orders(came))
    if compared(came, expects, lacking) is None:
        assert right


@given(st.lists(arrivals(), max_size=5), st.lists(NAMES, max_size=2))
def test_what_comes_one_after_another_is_right_as_it_comes(came: list[Came], lacking: list[str]) -> None:
    clear = [
        Came(item.name, 0, 0, 10 * place, 10 * place + item.latest_us - item.earliest_us)
        for place, item in enumerate(came)
    ]
    names = [item.name for item in clear]
    assert compared(clear, names) is None
    for place in range(len(names) + 1):
        more = [*names[:place], *lacking, *names[place:]]
        assert compared(clear, more, lacking) is None
        assert (compared(clear, more) is None) == (not lacking)


def test_the_first_mismatch_is_told_with_the_item_that_should_be_there() -> None:
    came = [Came("pin", 1, 1, 5, 6), Came("nut", 0, 0, 9, 9)]
    mismatch = compared(came, ["nut", "pin"])
    assert mismatch is not None
    assert (mismatch.got, mismatch.expected, mismatch.other, mismatch.why) == (
        came[0],
        "nut",
        came[1],
        "order",
    )


def test_a_possible_swap_is_told_with_both_items() -> None:
    came = [Came("nut", 0, 0, 0, 5), Came("pin", 1, 1, 4, 9)]
    mismatch = compared(came, ["nut", "pin"])
    assert mismatch is not None
    assert (mismatch.got, mismatch.other, mismatch.why) == (came[1], came[0], "swap")
