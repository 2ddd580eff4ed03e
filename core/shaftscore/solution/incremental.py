"""The one way of reuse: results that are kept while what they were made from is the same.

A result has a *key*, what it *reads* and how it is *made*. It is taken over from the store before as long as
the store holds it under the same key with the same reads; else it is recomputed, with the inner store of what
is made within it: the part of a result whose own reads did not change is then still taken over. Many like
results (lanes, rules) are kept in runs, so that what an edit leaves alone is not looked at one by one.

An examination is done in one of two stages. In the *full* one every result is of the present project, and
whole. The *quick* one, for a frame of the editor, lets late results stand in as they were last made, and may
leave something out (cures, say): such results are not *whole* and are recomputed in the full stage.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from operator import is_
from types import MappingProxyType
from typing import Any, TypeVar

from shaftscore.kinematics.profiles import LaneLimits

Result = TypeVar("Result")
Item = TypeVar("Item")

Reads = tuple[object, ...]
"""Records (compared by identity) and plain values (by equality) that a result depends on."""

_PLAIN = (str, int, float, LaneLimits)


class ExaminationStage(Enum):
    """How much of an examination is done: what a frame of the editor has time for, or everything."""

    QUICK = "quick"
    FULL = "full"


QUICK, FULL = ExaminationStage.QUICK, ExaminationStage.FULL


@dataclass(frozen=True, slots=True)
class KeptResult:
    """A result with what it was made from; inner: what was kept within it; is_whole: nothing is left out."""

    reads: Reads
    value: Any
    inner: Kept
    is_whole: bool


Kept = Mapping[Hashable, KeptResult]
"""Results by their keys."""

NOTHING: Kept = MappingProxyType({})
"""The store before the first examination."""


@dataclass(eq=False)
class Incremental:
    """Results of one examination: `before` are those of the one before, `now` is for the next.

    whole_only: whether what is not whole is recomputed, as the full stage does. made: how many were made,
    those within others included. is_whole: whether all of `now` is whole and of the present project.
    """

    before: Kept = field(default_factory=dict)
    stage: ExaminationStage = FULL
    whole_only: bool = True
    now: dict[Hashable, KeptResult] = field(default_factory=dict)
    made: int = 0
    is_whole: bool = True

    def keep(self, key: Hashable, reads: Reads, make: Callable[[Incremental], Result]) -> Result:
        """Return the result under a key if it reads the same, else make it, with the store of what is inside.

        Raises what `make` raises.
        """
        kept = self.now.get(key) or self.before.get(key)
        if kept is None or (self.whole_only and not kept.is_whole) or not same_reads(kept.reads, reads):
            kept = self._made(key, reads, make)
        self.now[key] = kept
        if not kept.is_whole:
            self.is_whole = False
        value: Result = kept.value
        return value

    def holds(self, key: Hashable, reads: Reads) -> bool:
        """Return whether `keep` would take a result over."""
        kept = self.now.get(key) or self.before.get(key)
        return kept is not None and self._fits(kept, reads)

    def inside(self, key: Hashable) -> Incremental:
        """Return a store of what was kept within the last result under a key; it is empty without one."""
        kept = self.before.get(key)
        return Incremental(NOTHING if kept is None else kept.inner, self.stage, self.whole_only)

    def keep_together(self, key: Hashable, reads: Reads, make: Callable[[Incremental], Result]) -> Result:
        """Return what is made of many results at once, as `keep`; they are kept beside it, in this store.

        While it reads the same none of them is looked at by itself. Else each is taken over where it reads
        the same, whatever it was together with before. Raises what `make` raises.
        """
        kept = self.before.get(key)
        if kept is None or not self._fits(kept, reads):
            inside = Incremental(self.before, self.stage, self.whole_only)
            kept = KeptResult(reads, make(inside), inside.now, inside.is_whole)
            self.made += inside.made
        self.now.update(kept.inner)
        self.now[key] = kept
        if not kept.is_whole:
            self.is_whole = False
        value: Result = kept.value
        return value

    def keep_alike(self, key: Hashable, reads: Reads, make: Callable[[], Result]) -> Result:
        """Return a plain value as `keep` does; where a new one equals the last, the last itself.

        What reads it is then kept, although records changed that it was read from. Raises what `make` raises.
        """
        kept = self.before.get(key)
        if kept is None or not same_reads(kept.reads, reads):
            value = make()
            self.made += 1
            kept = KeptResult(
                reads, kept.value if kept is not None and kept.value == value else value, NOTHING, True
            )
        self.now[key] = kept
        found: Result = kept.value
        return found

    def keep_late(
        self, key: Hashable, reads: Reads, make: Callable[[Incremental], Result]
    ) -> tuple[Result | None, bool]:
        """Return a result that takes longer than a frame, and whether it is of the present project.

        In the quick stage the last one stands in where it reads something else now; None without a last one.
        Raises what `make` raises.
        """
        if self.stage is FULL:
            return self.keep(key, reads, make), True
        return self.stand_in(key, reads)

    def stand_in(self, key: Hashable, reads: Reads) -> tuple[Any, bool]:
        """Return what was last kept under a key, and whether it reads the same; None without it."""
        kept = self.before.get(key)
        if kept is None or not self._fits(kept, reads):
            return self.last(key), False
        self.now[key] = kept
        self.is_whole = self.is_whole and kept.is_whole
        return kept.value, True

    def last(self, key: Hashable) -> Any:
        """Return what was last kept under a key, whatever it read, and keep it on; None without it."""
        kept = self.before.get(key)
        self.is_whole = False
        if kept is None:
            return None
        self.now[key] = kept
        return kept.value

    def reads_rather(self, key: Hashable, reads: Reads) -> None:
        """Note what a result of this examination reads, where that is only known once it is made."""
        self.now[key] = replace(self.now[key], reads=reads)

    def leave_out(self) -> None:
        """Note that something is left out of the result that is being made."""
        self.is_whole = False

    def _fits(self, kept: KeptResult, reads: Reads) -> bool:
        return (kept.is_whole or not self.whole_only) and same_reads(kept.reads, reads)

    def _made(self, key: Hashable, reads: Reads, make: Callable[[Incremental], Result]) -> KeptResult:
        inside = self.inside(key)
        value = make(inside)
        self.made += 1 + inside.made
        return KeptResult(reads, value, inside.now or NOTHING, inside.is_whole)


RUN = 16
"""So many like results are kept together: an edit looks at each run, and at all of those that it changes."""


def runs_of(items: Sequence[Item]) -> Iterator[tuple[int, Sequence[Item]]]:
    """Yield the number of each run of like results, counted from 0, and what each of them is made from."""
    for number, first in enumerate(range(0, len(items), RUN)):
        yield number, items[first : first + RUN]


def same_reads(first: Reads, second: Reads) -> bool:
    """Return whether two results read the same: plain values by equality, all else by identity."""
    if len(first) != len(second):
        return False
    return all(map(is_, first, second)) or all(  # the usual case, and quickly seen
        a is b or (isinstance(a, _PLAIN) and a == b) for a, b in zip(first, second, strict=True)
    )
