"""Logic and codes of the program maker against published tables and against Python's own operators."""

from __future__ import annotations

import operator
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from shaftscore.program.expressions import read_expression
from shaftscore.program.sequences import CountingSequence, frames_of_sequence, gray_code
from tests.core.program.test_sources import ons, switches

SEVEN_SEGMENTS = """
0 1111110
1 0110000
2 1101101
3 1111001
4 0110011
5 1011011
6 1011111
7 1110000
8 1111111
9 1111011
"""
"""Outside value: the truth table of a decoder from decimal digits to seven segments, outputs a to g, as
published at teachics.org ("BCD to 7 segment decoder"). Decoders that draw 6 without its top and 9 without its
foot (the families 7447 and 4511, from memory) differ from it in segment a of 6 and d of 9 alone."""


def test_seven_segments_show_the_published_truth_table() -> None:
    project, draft = switches(7, steps=10)
    frames = frames_of_sequence(project, draft, CountingSequence("up", "segments"))
    rows = [line.split() for line in SEVEN_SEGMENTS.split("\n") if line]
    assert [(str(digit), shown) for digit, shown in enumerate(ons(frames, draft))] == [
        (digit, shown) for digit, shown in rows
    ]


GRAY_3 = ("000", "001", "011", "010", "110", "111", "101", "100")
"""Outside value: F. Gray, Pulse code communication, US patent 2,632,058 (1953): the reflected binary code of
three digits (digits from memory; the reflection below is its definition there)."""


def test_the_gray_code_is_the_reflected_binary_code() -> None:
    """A code of n + 1 digits is that of n with 0 before it, then the same backwards with 1 before it."""
    assert tuple(f"{gray_code(number):03b}" for number in range(8)) == GRAY_3
    reflected = [""]
    for digits in range(1, 11):
        reflected = [f"0{code}" for code in reflected] + [f"1{code}" for code in reversed(reflected)]
        assert [f"{gray_code(number):0{digits}b}" for number in range(2**digits)] == reflected


NAMES = ("p", "q", "r")
PYTHON = st.recursive(
    st.sampled_from([*NAMES, "0", "1"]),
    lambda inner: st.one_of(
        inner.map(lambda one: f"not {one}"),
        inner.map(lambda one: f"({one})"),
        st.tuples(inner, st.sampled_from(["and", "or"]), inner).map(" ".join),
    ),
    max_leaves=12,
)
"""Expressions that Python reads too, with as few brackets as come."""


@given(PYTHON)
def test_expressions_mean_what_python_says_they_mean(text: str) -> None:
    """Every row of the truth table, by Python's own reading of the same text."""
    read, compiled = read_expression(text), compile(text, "expression", "eval")
    for bits in product((False, True), repeat=len(NAMES)):
        values = dict(zip(NAMES, bits, strict=True))
        assert read.value(values) == bool(eval(compiled, {}, values))


Tree = tuple[str, bool]
BINARY = {"and": (operator.and_, 3), "xor": (operator.xor, 2), "or": (operator.or_, 1)}


@st.composite
def trees(draw: st.DrawFn, depth: int = 4) -> tuple[str, int, tuple[bool, ...]]:
    """Return a text with only the brackets that it needs, its binding, and its truth table by operators."""
    kind = draw(st.sampled_from(["name", "not", *BINARY] if depth else ["name"]))
    if kind == "name":
        place = draw(st.integers(0, 2))
        return NAMES[place], 5, tuple(bits[place] for bits in product((False, True), repeat=3))
    left = draw(trees(depth - 1))
    if kind == "not":
        text = left[0] if left[1] >= 4 else f"({left[0]})"
        return f"not {text}", 4, tuple(not value for value in left[2])
    right, (does, binds) = draw(trees(depth - 1)), BINARY[kind]
    texts = [one[0] if one[1] >= binds else f"({one[0]})" for one in (left, right)]
    return f" {kind} ".join(texts), binds, tuple(map(does, left[2], right[2]))


@given(trees())
def test_operators_bind_as_documented(tree: tuple[str, int, tuple[bool, ...]]) -> None:
    """Not binds tightest, then and, xor, or."""
    text, _, table = tree
    read = read_expression(text.replace("and", "AND"))
    found = [
        read.value(dict(zip(NAMES, bits, strict=True))) for bits in product((False, True), repeat=len(NAMES))
    ]
    assert found == list(table)
