"""Boolean expressions as people type them: "p and not q", "(a or b) xor c", with 0 and 1 as constants.

Operators from the tightest: not, and, xor, or; brackets as usual. Names are those of inputs: letters, digits
and underscores, not beginning with a digit. Words of operators may be written in any case. The parser is a
recursive descent over a bounded text and never runs what it reads.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shaftscore.base.errors import EditError

MOST_TEXT = 2_000
"""Longest expression, characters."""

MOST_DEPTH = 60
"""Deepest nesting of brackets and of not."""

_WORD = re.compile(r"\s*([A-Za-z_][A-Za-z0-9_]*|[01](?![A-Za-z0-9_])|[()])")
_OPERATORS = ("and", "or", "xor", "not")

Values = Mapping[str, bool]


@dataclass(frozen=True)
class BooleanExpression:
    """An expression that was read: its text, the inputs that it names, in order, and what it comes to."""

    text: str
    names: tuple[str, ...]
    value: Callable[[Values], bool]


def read_expression(text: str) -> BooleanExpression:
    """Read an expression; raises EditError that says what is wrong and where."""
    if len(text) > MOST_TEXT:
        raise EditError(f"an expression has {MOST_TEXT:,} characters at most, got {len(text):,}")
    reader = _ExpressionReader(_words(text))
    value = reader.read_or()
    reader.refuse_rest()
    return BooleanExpression(text.strip(), tuple(dict.fromkeys(reader.names)), value)


def _words(text: str) -> list[str]:
    """Split an expression into words, brackets and constants."""
    words, at = [], 0
    while text[at:].strip():
        found = _WORD.match(text, at)
        if found is None:
            rest = text[at:].split(maxsplit=1)[0]
            raise EditError(f'"{rest}" is not understood; write names of inputs, and, or, xor, not, 0, 1')
        word = found[1]
        words.append(word.lower() if word.lower() in _OPERATORS else word)
        at = found.end()
    if not words:
        raise EditError("an expression is missing")
    return words


class _ExpressionReader:
    """Reads words from left to right, one method an operator."""

    def __init__(self, words: list[str]) -> None:
        self._words, self._at, self._depth = words, 0, 0
        self.names: list[str] = []

    @property
    def _next(self) -> str:
        return self._words[self._at] if self._at < len(self._words) else ""

    def _take(self) -> str:
        word = self._next
        self._at += 1
        return word

    def read_or(self) -> Callable[[Values], bool]:
        """Read terms joined by or."""
        terms = [self._read_xor()]
        while self._next == "or":
            self._take()
            terms.append(self._read_xor())
        return terms[0] if len(terms) == 1 else lambda values: any(term(values) for term in terms)

    def _read_xor(self) -> Callable[[Values], bool]:
        terms = [self._read_and()]
        while self._next == "xor":
            self._take()
            terms.append(self._read_and())
        return terms[0] if len(terms) == 1 else lambda values: sum(term(values) for term in terms) % 2 == 1

    def _read_and(self) -> Callable[[Values], bool]:
        terms = [self._read_not()]
        while self._next == "and":
            self._take()
            terms.append(self._read_not())
        return terms[0] if len(terms) == 1 else lambda values: all(term(values) for term in terms)

    def _read_not(self) -> Callable[[Values], bool]:
        if self._next != "not":
            return self._read_one()
        self._take()
        with_not = self._deeper(self._read_not)
        return lambda values: not with_not(values)

    def _read_one(self) -> Callable[[Values], bool]:
        word = self._take()
        if word == "(":
            inside = self._deeper(self.read_or)
            if self._take() != ")":
                raise EditError("a closing bracket is missing")
            return inside
        if word in ("0", "1"):
            return lambda _values: word == "1"
        if not word or word in _OPERATORS or word == ")":
            before = f' after "{self._words[self._at - 2]}"' if self._at > 1 else ""
            got = f', got "{word}"' if word else ""
            raise EditError(f"an input is missing{before}{got}")
        self.names.append(word)
        return lambda values: values[word]

    def _deeper(self, read: Callable[[], Callable[[Values], bool]]) -> Callable[[Values], bool]:
        self._depth += 1
        if self._depth > MOST_DEPTH:
            raise EditError(f"brackets and not are nested more than {MOST_DEPTH} deep")
        inside = read()
        self._depth -= 1
        return inside

    def refuse_rest(self) -> None:
        """Refuse words after the end. Raises EditError."""
        if self._next:
            what = (
                "a bracket too many"
                if self._next == ")"
                else f'and, or or xor is missing before "{self._next}"'
            )
            raise EditError(what)
