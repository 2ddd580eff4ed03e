"""Truth tables: inputs that run through the steps, and what each lane does for each combination of them.

A text has a statement a line; words are divided by tabs, commas, semicolons or spaces.

- A *head* names inputs and lanes: `p q A1 B2`. A word that is no lane (id, code or name) is an input.
- A *row* below it gives a bit for each input (0, 1, or - for either) and a level for each lane: its name
  or first letters; 1 is the lane's painted level and 0 rest where no level begins so; - says nothing.
- An *expression*: `A1 = p and not q`, or `A1 left = p and not q` for another level than the painted one.
- A *course*: `p: 0 0 1 1` says how an input runs through the steps, again and again.

Inputs without a course count up in binary, the first input as the highest digit, one step a count. What no
row and no true expression says is rest. Two statements contradict each other where they give a lane different
levels for the same combination of inputs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from shaftscore.base.errors import EditError
from shaftscore.base.wording import listed
from shaftscore.edits.state_table.typed import read_level
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.program.expressions import BooleanExpression, read_expression
from shaftscore.program.frames import Frames, ProgramFrame, painted, ranked_levels
from shaftscore.program.meaning import PaintMeaning, ProgramDraft

MOST_INPUTS, MOST_LINES = 10, 1_100
"""Most inputs, and most lines of a table."""

Bits = tuple[int, ...]
"""A combination of the inputs, in their order: 0 or 1 each."""

_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


@dataclass(frozen=True)
class TruthStatement:
    """A row or an expression: its line, counted from 1, its lanes' levels by lane id, and when it holds.

    bits: 0, 1 or None (either) for each input of the head; for a row. expression: for an expression.
    """

    line: int
    levels: Mapping[str, str]
    bits: Mapping[str, int] = field(default_factory=dict)
    expression: BooleanExpression | None = None

    def holds(self, values: Mapping[str, bool]) -> bool:
        """Return whether it holds for values of the inputs."""
        if self.expression is not None:
            return self.expression.value(values)
        return all(values[name] == bool(bit) for name, bit in self.bits.items())


@dataclass(frozen=True)
class LineFault:
    """A line, counted from 1, that cannot be used, and why."""

    line: int
    message: str


@dataclass(frozen=True)
class TruthTable:
    """What a text says: its inputs in order, their courses, the statements, and the faults of its lines."""

    inputs: tuple[str, ...]
    courses: Mapping[str, Bits]
    statements: tuple[TruthStatement, ...]
    faults: tuple[LineFault, ...]

    @property
    def lanes(self) -> tuple[str, ...]:
        """Ids of the lanes that the table gives levels of, in order."""
        return tuple(dict.fromkeys(lane_id for one in self.statements for lane_id in one.levels))

    @property
    def period(self) -> int:
        """Count of combinations through which the inputs without a course run."""
        return 1 << sum(name not in self.courses for name in self.inputs)


def read_truth_table(project: Project, draft: ProgramDraft, text: str) -> TruthTable:
    """Read a truth table for the lanes that have a place, with the faults of its lines."""
    return _TruthReader(project, draft).read(text)


def combination_at(table: TruthTable, step: int) -> dict[str, bool]:
    """Return the values of the inputs in a step, counted from 0."""
    counting = [name for name in table.inputs if name not in table.courses]
    values = {name: bool(course[step % len(course)]) for name, course in table.courses.items()}
    for place, name in enumerate(reversed(counting)):
        values[name] = bool(step % table.period >> place & 1)
    return values


def contradictions_of(table: TruthTable) -> tuple[LineFault, ...]:
    """Return the lines that contradict another one, each naming the other, in the order of the lines."""
    found: dict[int, str] = {}
    for bits in product((False, True), repeat=len(table.inputs)):
        values = dict(zip(table.inputs, bits, strict=True))
        said: dict[str, tuple[int, str]] = {}
        for one in table.statements:
            if not one.holds(values):
                continue
            for lane_id, level in one.levels.items():
                line, other = said.setdefault(lane_id, (one.line, level))
                if other != level:
                    where = ", ".join(f"{name} = {int(bit)}" for name, bit in values.items())
                    found.setdefault(line, f"says {other}, line {one.line} says {level} for {where}")
                    found.setdefault(one.line, f"says {level}, line {line} says {other} for {where}")
    return tuple(LineFault(line, found[line]) for line in sorted(found))


def frames_of_truth(table: TruthTable, draft: ProgramDraft) -> Frames:
    """Return the draft's frames with the table's lanes painted as it says.

    Raises EditError if it has faults or contradicts itself.
    """
    faults = (*table.faults, *contradictions_of(table))
    if faults:
        raise EditError(f"line {faults[0].line}: {faults[0].message}")
    if not table.statements:
        raise EditError("the table has no rows and no expressions")
    return tuple(_framed(table, draft, frame, step) for step, frame in enumerate(draft.frames))


def _framed(table: TruthTable, draft: ProgramDraft, frame: ProgramFrame, step: int) -> ProgramFrame:
    values, levels = combination_at(table, step), dict[str, str]()
    for one in table.statements:
        if one.holds(values):
            levels |= one.levels
    for lane_id in table.lanes:
        frame = painted(frame, [lane_id], paint_of(draft.meanings[lane_id], levels.get(lane_id)))
    return frame


def paint_of(meaning: PaintMeaning, level: str | None) -> str | None:
    """Return what is painted so that a lane is at a level (None: at rest) in a step.

    Rest is not painted, but for lanes that would else stay where they are.
    """
    wanted = meaning.rest if level is None else level
    return None if wanted == meaning.rest and meaning.kind != "stay" else wanted


def on_level(project: Project, lane_id: str, meaning: PaintMeaning) -> str:
    """Return the level that stands for 1: the highest but rest; rest where there is no other."""
    others = [level for level in ranked_levels(project, lane_id) if level != meaning.rest]
    return others[-1] if others else meaning.rest


class _TruthReader:
    """Reads a text line by line; what cannot be read becomes a fault of its line."""

    def __init__(self, project: Project, draft: ProgramDraft) -> None:
        self._project, self._draft = project, draft
        self._lanes = dict(_names(project, draft.grid.lanes))
        self._head: list[str] = []
        self._inputs: dict[str, None] = {}
        self._courses: dict[str, Bits] = {}
        self._statements: list[TruthStatement] = []
        self._faults: list[LineFault] = []

    def read(self, text: str) -> TruthTable:
        """Read the whole text."""
        lines = text.splitlines()
        if len(lines) > MOST_LINES:
            self._faults.append(LineFault(MOST_LINES, f"{MOST_LINES:,} lines are the most"))
        for number, line in enumerate(lines[:MOST_LINES], start=1):
            try:
                self._read_line(number, line.strip())
            except EditError as error:
                self._faults.append(LineFault(number, str(error)))
        if len(self._inputs) > MOST_INPUTS:
            names = listed([*self._inputs][MOST_INPUTS:])
            self._faults.append(LineFault(1, f"{MOST_INPUTS} inputs are the most; {names} is one too many"))
            return TruthTable((), {}, (), tuple(self._faults))
        return TruthTable(tuple(self._inputs), self._courses, tuple(self._statements), tuple(self._faults))

    def _read_line(self, number: int, line: str) -> None:
        if not line:
            return
        if "=" in line:
            self._read_expression(number, *line.split("=", 1))
        elif ":" in line:
            self._read_course(*line.split(":", 1))
        elif not self._head:
            self._read_head(_cells(line))
        else:
            self._read_row(number, _cells(line))

    def _read_expression(self, number: int, left: str, right: str) -> None:
        lane_id, level = self._target(left.strip())
        expression = read_expression(right)
        for name in expression.names:
            if name.casefold() in self._lanes:
                raise EditError(f'"{name}" is a lane; an expression is made of inputs')
        self._inputs |= dict.fromkeys(expression.names)
        self._statements.append(TruthStatement(number, {lane_id: level}, expression=expression))

    def _target(self, left: str) -> tuple[str, str]:
        """Return the lane, and its level, that an expression is for."""
        exact = self._lanes.get(left.casefold())
        if exact is not None:
            return exact, on_level(self._project, exact, self._draft.meanings[exact])
        name, _, word = left.rpartition(" ")
        lane_id = self._lanes.get(name.strip().casefold())
        if lane_id is None:
            raise EditError(f'there is no lane "{left}" with a place in the grid')
        lane = self._project.lane(lane_id)
        level = read_level(word, lane.levels, lane.label)
        return lane_id, level or self._draft.meanings[lane_id].rest

    def _read_course(self, name: str, bits: str) -> None:
        name = _input(name.strip())
        course = [bit for bit in bits if not bit.isspace() and bit != ","]
        if not course or set(course) - {"0", "1"}:
            raise EditError(f"{name} runs through 0 and 1, got {bits.strip() or 'nothing'}")
        self._inputs.setdefault(name)
        self._courses[name] = tuple(map(int, course))

    def _read_head(self, words: Sequence[str]) -> None:
        head = [self._lanes.get(word.casefold(), "") or f" {_input(word)}" for word in words]
        doubles = [word for word, own in zip(words, head, strict=True) if head.count(own) > 1]
        if doubles:
            raise EditError(f'"{doubles[0]}" is in the head twice')
        self._head = head
        self._inputs |= dict.fromkeys(own.strip() for own in head if own.startswith(" "))

    def _read_row(self, number: int, words: Sequence[str]) -> None:
        if len(words) != len(self._head):
            raise EditError(f"the head has {len(self._head)} columns, this row has {len(words)}")
        bits: dict[str, int] = {}
        levels: dict[str, str] = {}
        for own, word in zip(self._head, words, strict=True):
            if own.startswith(" "):
                bits |= _bit(own.strip(), word)
            elif word not in ("-", ""):
                levels[own] = self._level(self._project.lane(own), word)
        self._statements.append(TruthStatement(number, levels, bits))

    def _level(self, lane: Lane, word: str) -> str:
        meaning = self._draft.meanings[lane.id]
        if word in ("0", "1") and not any(level.startswith(word) for level in lane.levels):
            return on_level(self._project, lane.id, meaning) if word == "1" else meaning.rest
        return read_level(word, lane.levels, lane.label) or meaning.rest


def _names(project: Project, lane_ids: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Yield what lanes may be called, without regard to case, with their ids; ids win."""
    for key in ("name", "code", "id"):
        for lane_id in reversed(lane_ids):
            word = getattr(project.lane(lane_id), key)
            if word:
                yield word.casefold(), lane_id


def _cells(line: str) -> list[str]:
    """Split a line: by tabs where there are any, else semicolons, else commas, else spaces."""
    mark = next((mark for mark in "\t;," if mark in line), None)
    return line.split() if mark is None else [cell.strip() for cell in line.split(mark)]


def _input(word: str) -> str:
    if not _NAME.fullmatch(word):
        raise EditError(f'"{word}" is neither a lane with a place in the grid nor a name for an input')
    if word.lower() in ("and", "or", "xor", "not"):
        raise EditError(f'"{word}" is a word of expressions; give the input another name')
    return word


def _bit(name: str, word: str) -> dict[str, int]:
    if word in ("-", "x", "X"):
        return {}
    if word not in ("0", "1"):
        raise EditError(f'{name} is 0, 1 or -, got "{word}"')
    return {name: int(word)}
