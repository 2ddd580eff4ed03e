"""The quantities that fields show: how each is written, and which units it may be typed in."""

from __future__ import annotations

from functools import partial

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore.model import Block, Stack
from shaftscore_app.document import Document
from shaftscore_app.widgets.field import Quantity


def plain_angle() -> Quantity[float]:
    """Return an angle that is no place on the turn, such as a pressure angle."""
    return Quantity("°", "degrees", _tenths, partial(wording.parse_quantity, unit="°"))


def millimetres(empty: str | None = None) -> Quantity[float]:
    """Return a length, with one decimal at least."""
    return Quantity("mm", "millimetres", _tenths, partial(wording.parse_quantity, unit="mm"), empty)


def whole_number(unit: str, low: int, high: int) -> Quantity[int]:
    """Return a whole number from `low` to `high`; unit: what is counted, which stands in the field."""

    def read(text: str) -> int:
        try:
            value = int(text)
        except ValueError as error:
            raise ValueError(f"A whole number is wanted, got {text[:20] or 'nothing'}") from error
        if not low <= value <= high:
            raise ValueError(f"{low:,} to {high:,} is allowed, got {value:,}")
        return value

    return Quantity(unit, "", str, read)


def angle(
    document: Document, stack: Stack | None = None, empty: str | None = None, unit: str = "°"
) -> Quantity[float]:
    """Return an angle of a stack (the master shaft if None); time or step may be typed too."""
    return Quantity(unit, "degrees", _tenths, partial(read_angle, document, stack), empty)


def read_angle(document: Document, stack: Stack | None, text: str) -> float:
    """Read a typed angle of a stack, as it stands (not wrapped); seconds by its own speed."""
    project = document.project
    shaft = project.shaft
    return wording.parse_angle(
        text,
        speed_rpm=shaft.speed_rpm,
        step_starts_deg=shaft.step_starts_deg,
        turns=1 if stack is None else float(project.rates[stack.id]),
    )


def master_angle(document: Document) -> Quantity[float]:
    """Return an angle of the master shaft, in one turn."""
    return Quantity("°", "degrees", _tenths, lambda text: wrap(read_angle(document, None, text)))


def grid_quantity() -> Quantity[float]:
    """Return the grid of the diagram, degrees."""
    return Quantity("°", "degrees", lambda value: wording.plain(value, 3), _read_grid)


def rpm_quantity() -> Quantity[float]:
    """Return a speed of a shaft."""
    return Quantity(
        "rev/min", "revolutions per minute", _tenths, partial(wording.parse_quantity, unit="rev/min")
    )


Least = tuple[str, float]
"""A least length: "deg" or "s", and the amount."""


def least_length() -> Quantity[Least]:
    """Return the least length of a dwell, in degrees or in seconds, whichever is typed."""
    return Quantity("", "degrees or seconds", _written_least, _read_least, "none")


def least_of(block: Block) -> Least | None:
    """Return the least length of a block."""
    if block.min_length_s is not None:
        return "s", block.min_length_s
    return None if block.min_length_deg is None else ("deg", block.min_length_deg)


def least_degrees(least: Least | None) -> float | None:
    """Return a least length that was given in degrees; None for another one."""
    return least[1] if least is not None and least[0] == "deg" else None


def least_seconds(least: Least | None) -> float | None:
    """Return a least length that was given in seconds; None for another one."""
    return least[1] if least is not None and least[0] == "s" else None


def _written_least(least: Least) -> str:
    return f"{wording.plain(least[1])}°" if least[0] == "deg" else f"{wording.plain(least[1])} s"


def _read_least(text: str) -> Least:
    if text.rstrip().casefold().endswith("s") and not text.casefold().rstrip().endswith("degrees"):
        return "s", wording.parse_quantity(text, "s")
    return "deg", wording.parse_quantity(text, "°")


def text_quantity(spoken: str = "") -> Quantity[str]:
    """Return plain text, stripped."""
    return Quantity("", spoken, str, _read_text, "")


def _read_text(text: str) -> str:
    return text.strip()


def _tenths(value: float) -> str:
    """Write one decimal, or as many as the value has."""
    exact = wording.plain(value)
    return exact if "." in exact else wording.number(value, 1)


def _read_grid(text: str) -> float:
    value = wording.parse_quantity(text, "°")
    if not 0 < value <= 90:
        raise ValueError(f"The grid is more than 0° and at most 90°, got {wording.degrees(value)}")
    return value
