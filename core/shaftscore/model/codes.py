"""Lane codes: the short marks on discs ("B3"), given at load to lanes that have none.

Groups take letters in order of appearance, the lanes in a group take numbers. A code that is there
is kept for ever, since a disc with it may have been made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from string import ascii_uppercase

from shaftscore.model.base import replaced
from shaftscore.model.lanes import Lane

_MOST = 99
"""Lanes that one letter can number."""


def with_codes(lanes: Sequence[Lane]) -> tuple[Lane, ...]:
    """Return the lanes, each with a code; a lane that had one stays the same object.

    A group whose lanes carry codes already goes on with the letters of the first of them; other groups
    take, in order of appearance, letters that no code bears. Numbers run from 1 past those taken. There
    are more codes (69,498) than lanes in any file.
    """
    if all(lane.code is not None for lane in lanes):
        return tuple(lanes)
    letters = _letters(lanes)
    taken = {lane.code for lane in lanes if lane.code is not None}
    spare = [other for other in _all_letters() if other not in letters.values()]
    supply = {group: _codes_of([own, *spare, *_all_letters()], taken) for group, own in letters.items()}
    return tuple(
        lane if lane.code is not None else replaced(lane, code=next(supply[lane.group])) for lane in lanes
    )


def _letters(lanes: Sequence[Lane]) -> Mapping[str, str]:
    """Choose the letters of every group."""
    chosen: dict[str, str] = {}
    for lane in lanes:
        if lane.code is not None:
            chosen.setdefault(lane.group, _letters_of(lane.code))
    used = {_letters_of(lane.code) for lane in lanes if lane.code is not None}
    free = (letters for letters in _all_letters() if letters not in used)
    for lane in lanes:
        if lane.group not in chosen:
            chosen[lane.group] = next(free, "A")
    return chosen


def _letters_of(code: str) -> str:
    return code.rstrip("0123456789")


def _all_letters() -> Iterator[str]:
    yield from ascii_uppercase
    yield from (first + second for first in ascii_uppercase for second in ascii_uppercase)


def _codes_of(letters: Iterable[str], taken: set[str]) -> Iterator[str]:
    """Yield the free codes in order, going on with the next letters past number 99."""
    for own in letters:
        for count in range(1, _MOST + 1):
            code = f"{own}{count}"
            if code not in taken:
                taken.add(code)
                yield code
