"""The sheet of home and restart: where home is, what is where, and the way back; and what a hand feels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from shaftscore.base.wording import counted, degrees, millimetres, newton_metres, part_name
from shaftscore.bringup.hand_torque import HandTorque
from shaftscore.bringup.home import HomeAngle, RestartCard, RestartRow
from shaftscore.bringup.over_round import too_long
from shaftscore.bringup.sheets import (
    FINGER_CAUTION,
    PINCH_CAUTION,
    SPRING_CAUTION,
    OperationSheet,
    SheetTable,
    listed,
)
from shaftscore.model import Project, Stack

RESTART_HEADS = ("Stopped between", "Empty first", "Turn by hand", "At most", "May come out")
HOME_HEADS = ("Lane", "Level", "Output")
HAND_HEADS = ("Discs", "Last one", "Greatest torque", "At", "Springs")


def restart_sheet(card: RestartCard) -> OperationSheet:
    """Return the home angle and the way back to it from every stretch."""
    turn = card.project.shaft.turn
    rows = tuple(restart_row(row, turn, card.home.angle_deg) for row in card.rows)
    tables = (
        SheetTable("Stopped elsewhere", RESTART_HEADS, rows),
        SheetTable("Lanes at home", HOME_HEADS, tuple(home_rows(card.home))),
    )
    sentences = [*home_sentences(card.home)]
    if card.one_way:
        sentences.append(f"Never turn back over the drop of {listed(card.one_way)}.")
    sentences += cycle_sentences(card)
    cautions = (PINCH_CAUTION, FINGER_CAUTION, SPRING_CAUTION)
    return OperationSheet(home_head(card.home), tuple(sentences), tables, cautions)


MOST_ALIKE = 6
"""Cycles that look alike which are named."""


def cycle_sentences(card: RestartCard) -> Iterator[str]:
    """Yield what the lanes at home tell of the cycle, and how the slow stacks are set to the first one."""
    telling, home = card.telling, degrees(card.home.angle_deg)
    if card.items_are_late:
        yield too_long(card.project)
    if telling is None:
        return
    yield (
        f"The dial shows no cycle: a round is {counted(telling.cycles, 'cycle')}. Angles and rows hold in "
        "all of them; the lanes at home are those of cycle 1."
    )
    if telling.is_told:
        yield "The levels of the lanes at home tell the cycle."
    else:
        alike = [f"{one:,}" for one in telling.like_first[1:]]
        like = f", as in cycles {listed(alike, MOST_ALIKE)}" if alike else ""
        yield (
            f"The levels of the lanes at home tell {telling.told:,} of {telling.cycles:,} cycles{like}: "
            "after a power loss read the marks of the slow stacks."
        )
    own = listed([f"{label} {degrees(at)}" for label, at in telling.own_deg.items()])
    yield (
        f"To start again from cycle 1, turn to home at {home} until the slow stacks are at these angles of "
        f"their own turns: {own}. That takes at most {counted(telling.cycles - 1, 'turn')} forward."
    )


def home_head(home: HomeAngle) -> str:
    """Return where home is, in a sentence."""
    return f"Home is at {degrees(home.angle_deg)}, {'set in the project' if home.given else 'chosen'}."


def home_sentences(home: HomeAngle) -> Iterator[str]:
    """Yield what holds at home."""
    if home.is_quiet:
        yield from _quiet(home)
        return
    if home.moving:
        yield f"{listed(home.moving)} {'moves' if len(home.moving) == 1 else 'move'} there."
    if home.channels:
        yield f"An item may be on its way in {listed([part_name(one) for one in home.channels])}."
    if not home.given:
        yield "There is no angle at which all lanes rest and no item is on its way."


def _quiet(home: HomeAngle) -> Iterator[str]:
    if home.stretch.is_full:
        yield "Nothing moves at any angle."
    elif home.stretch.length:
        start, end = degrees(home.stretch.start), degrees(home.stretch.end)
        yield f"From {start} to {end} all lanes rest and no item is on its way: all of it counts as home."


def home_rows(home: HomeAngle) -> Iterator[tuple[str, str, str]]:
    """Yield the rows of the lanes at home."""
    for place in home.places:
        yield place.label, place.level or "between levels", millimetres(place.output_mm)


def restart_row(row: RestartRow, turn: str, home_deg: float) -> tuple[str, ...]:
    """Return the cells of one stretch; turn: sense in which the machine runs."""
    other = "clockwise" if turn == "counterclockwise" else "counterclockwise"
    stretch = f"{degrees(row.start_deg, 0)} to {degrees(row.end_deg or 360.0, 0)}"
    comes_out = [counted(many, name) for name, many in row.comes_out.items()]
    return (
        f"{stretch}, {row.name}" if row.name else stretch,
        listed([part_name(one) for one in row.take_out]) or "nothing",
        f"{other if row.goes_back else turn} to {degrees(home_deg)}",
        degrees(row.turn_deg, 0),
        listed(comes_out) or "nothing",
    )


def hand_table(project: Project, stack: Stack, steps: Sequence[HandTorque]) -> SheetTable:
    """Return what a hand feels while a stack is put together."""
    name = f"Torque by hand, {stack.label}" if len(project.stacks) > 1 else "Torque by hand"
    return SheetTable(name, HAND_HEADS, tuple(map(_hand_row, steps)))


def _hand_row(step: HandTorque) -> tuple[str, ...]:
    unknown = f", {len(step.unknown)} not described" if step.unknown else ""
    peaks = ", ".join(degrees(angle, 0) for angle in step.peaks_deg)
    torque = (newton_metres(step.torque_nm) if isfinite(step.torque_nm) else "a guide locks") + unknown
    return str(step.discs), step.added, torque, peaks, "push on" if step.pushes_on else "hold"
