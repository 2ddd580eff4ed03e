"""What people type into cells of the state table: levels by name or first letters, and lengths."""

from __future__ import annotations

import re
from collections.abc import Iterable

from shaftscore.base.angles import TURN
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, listed, parse_angle, parse_number, plain
from shaftscore.edits.base import rounded

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


def read_length(
    text: str, *, step_deg: float, speed_rpm: float, turns: int = 1, name: str = "Dwell"
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
