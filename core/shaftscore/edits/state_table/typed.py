"""What people type into cells of the state table: levels by name or first letters, and lengths."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

from shaftscore.base.angles import TURN
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, listed, parse_angle, parse_number, plain
from shaftscore.edits.base import rounded
from shaftscore.edits.state_table.visits import THEN, StepCell, StepVisit, VisitDwell, ending, parts_of

AUTO = ("", "auto", "–", "-")
"""What stands for a length that follows from the others."""

_STEPS = re.compile(r"\s*([^a-z]+?)\s*steps?\s*", re.IGNORECASE)


def read_level(text: str, levels: Iterable[str], label: str) -> str | None:
    """Read a level: its name, in any case, or enough first letters; None for an empty cell.

    label: of the lane, for the message. Raises EditError if no level, or more than one, begins so.
    """
    typed = text.strip()
    if not typed:
        return None
    known = list(levels)
    if typed in known:
        return typed
    for match in (str.__eq__, str.startswith):
        found = [level for level in known if match(level.casefold(), typed.casefold())]
        if len(found) == 1:
            return found[0]
        if found:
            raise EditError(f'"{typed}" may be {listed(found[:5])} of {label}; type more of it')
    hint = did_you_mean(typed, known)
    names = ", ".join(known) or "none"
    raise EditError(f'"{typed}" is not one of {label}\'s levels ({names})' + (f"; {hint}" if hint else ""))


def read_cell(text: str, levels: Iterable[str], label: str, before: str | None = None) -> StepCell:
    """Read a cell: a level as `read_level`, or levels with "then" between them ("amber, then release").

    before: the level to which a cell that ends with "then" goes back. Raises EditError if a level is not
    known, or the same one follows itself.
    """
    known, parts = list(levels), parts_of(text)
    if len(parts) == 1 or text.strip().casefold() in (level.casefold() for level in known):
        return read_level(text, known, label)
    back = before if not parts[-1] else read_level(parts[-1], known, label)
    read = [read_level(part, known, label) for part in parts[:-1]]
    named = [level for level in [*read, back] if level is not None]
    if len(named) < len(parts):
        raise EditError(f'"{text.strip()}" leaves a level open; write it as in: {THEN.join(known[:2])}')
    if any(one == after for one, after in pairwise(named)):
        raise EditError(f'"{text.strip()}" names the same level twice in a row')
    return StepVisit(tuple(VisitDwell(level) for level in named[:-1]), named[-1])


def read_column(texts: Sequence[str], levels: Iterable[str], label: str) -> tuple[StepCell, ...]:
    """Read the cells of a lane, step after step, as `read_cell`; raises EditError as that does."""
    known, cells = list(levels), list[StepCell]()
    given = [part for text in reversed(texts) for part in reversed(parts_of(text)) if part]
    before = read_level(given[0], known, label) if given else None
    for text in texts:
        cells.append(read_cell(text, known, label, before))
        before = ending(cells[-1]) or before
    return tuple(cells)


def read_length(
    text: str, *, step_deg: float, speed_rpm: float, turns: float = 1, name: str = "Dwell"
) -> float | None:
    """Read the length of a dwell or a move, degrees: "12", "12°", "0.5 s" or "0.5 steps"; None for auto.

    step_deg: size of a step. speed_rpm: of the master shaft; turns: that the lane's stack makes a cycle.
    name: what it is, for the message. Raises EditError with the text at fault.
    """
    typed = text.strip()
    if typed.casefold() in AUTO:
        return None
    steps = _STEPS.fullmatch(typed)
    try:
        if steps is not None:
            deg = parse_number(steps[1]) * step_deg
        else:
            deg = parse_angle(typed, speed_rpm=speed_rpm, turns=turns)
    except ValueError as error:
        raise EditError(f"{error}; a length is like 12°, 0.5 s or 0.5 steps") from error
    if not 0 <= deg <= TURN:
        raise EditError(f"{name} {plain(deg)}° is not 0° to 360°")
    return rounded(round(deg, 5))
