"""Quantities as text, and typed text as quantities: the only place that does either.

Text is English in the C locale: a decimal point, a minus sign (U+2212), a space before every unit
except the degree sign. A measured value is rounded to the nearest; a number that is an order ("End at
148.0°") is rounded to the safe side, `up_to` or `down_to`. Typed text may hold either minus sign, a
decimal comma, and any unit that the quantity can be given in.
"""

from __future__ import annotations

import difflib
import math
import re
import sys
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal

from shaftscore.base.angles import Arcs

MINUS = "\u2212"
"""The minus sign of typography, used in all text for people."""

_DASHES = str.maketrans({MINUS: "-", "\u2013": "-", "\ufe63": "-", "\uff0d": "-"})
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*", re.DOTALL)
_STEP = re.compile(rf"\s*(?:step|st\.?|#)\s*({_NUMBER})\s*", re.IGNORECASE)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_SLACK = 1e-9


def number(value: float, decimals: int = 1) -> str:
    """Write a number in any unit with a fixed count of decimals; minus is U+2212, -0 is written 0."""
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        digits = text[1:]
        return digits if not digits.strip("0.") else MINUS + digits
    return text


def plain(value: float, decimals: int = 6) -> str:
    """Write a number in any unit with as many decimals as it needs, at most `decimals` ("10", "0.25")."""
    text = number(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def degrees(value: float, decimals: int = 1) -> str:
    """Write an angle in degrees: "3.7°"."""
    return f"{number(value, decimals)}°"


def millimetres(value: float, decimals: int = 1) -> str:
    """Write a length in mm: "12.0 mm"."""
    return f"{number(value, decimals)} mm"


def seconds(value: float, decimals: int = 2) -> str:
    """Write a time in s; in whole ms where it is under 1 s: "4.17 s", "103 ms"."""
    milli = number(value * 1000, 0)
    if abs(value) < 1 and milli not in ("1000", MINUS + "1000"):
        return f"{milli} ms"
    return f"{number(value, decimals)} s"


def rpm(value: float, decimals: int = 1) -> str:
    """Write a speed in revolutions per minute: "12.0 rev/min"."""
    return f"{number(value, decimals)} rev/min"


def newtons(value: float, decimals: int = 1) -> str:
    """Write a force in N: "5.2 N"."""
    return f"{number(value, decimals)} N"


def newton_metres(value: float, decimals: int = 2) -> str:
    """Write a torque in N·m: "0.71 N·m"."""
    return f"{number(value, decimals)} N·m"


def megapascals(value: float, decimals: int = 1) -> str:
    """Write a pressure or stress in MPa: "28.4 MPa"."""
    return f"{number(value, decimals)} MPa"


def percent(value: float, decimals: int = 0) -> str:
    """Write a share that is given in per cent: "71 %"."""
    return f"{number(value, decimals)} %"


def per_minute(value: float, decimals: int = 1) -> str:
    """Write a rate in 1/min: "6.0 per min"."""
    return f"{number(value, decimals)} per min"


def ago(seconds_gone: float) -> str:
    """Write how long ago something was: "14 s ago", "3 min ago", "2 h ago"."""
    for size, unit in ((3600.0, "h"), (60.0, "min")):
        if seconds_gone >= size:
            return f"{int(seconds_gone / size)} {unit} ago"
    return f"{max(0, int(seconds_gone))} s ago"


def time_of_day(when: datetime, now: datetime) -> str:
    """Write a moment as a clock shows it: "14:02", of another day "24 Nov, 14:02", of another year with it.

    when, now: in one time zone, the reader's.
    """
    text = f"{when.hour:02d}:{when.minute:02d}"
    if when.date() == now.date():
        return text
    year = "" if when.year == now.year else f" {when.year}"
    return f"{when.day} {_MONTHS[when.month - 1]}{year}, {text}"


def plural(noun: str) -> str:
    """Return the plural of a maker's word by the rules of English spelling ("scoop" to "scoops")."""
    if re.search(r"(s|x|z|ch|sh)$", noun, re.IGNORECASE):
        return noun + "es"
    if re.search(r"[^aeiou]y$", noun, re.IGNORECASE):
        return noun[:-1] + "ies"
    return noun + "s"


def counted(count: int, noun: str) -> str:
    """Write a count with its noun: "1 scoop", "2 scoops"."""
    amount = number(count, 0)
    return f"{amount} {noun}" if abs(count) == 1 else f"{amount} {plural(noun)}"


def part_name(part_id: str) -> str:
    """Return the name that an id of the flow holds: `main_chute` is "Main chute"."""
    spaced = part_id.replace("_", " ").strip() or part_id
    return f"{spaced[:1].upper()}{spaced[1:]}"


def angle_range(arcs: Arcs, decimals: int = 1) -> str:
    """Write where a set of angles lies: "133.9° to 137.6°"; several stretches with commas.

    The full turn is "the whole turn", a single angle is "at 30.0°", the empty set is "nowhere".
    """
    if arcs.is_full:
        return "the whole turn"
    return ", ".join(_stretch(part, decimals) for part in arcs) or "nowhere"


def _stretch(part: Arcs, decimals: int) -> str:
    if part.length == 0:
        return f"at {degrees(part.start, decimals)}"
    return f"{degrees(part.start, decimals)} to {degrees(part.end, decimals)}"


def listed(words: Sequence[str]) -> str:
    """Join words as a sentence does: "a", "a and b", "a, b and c"."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def up_to(value: float, step: float) -> float:
    """Round up to a multiple of `step`, in its unit; what lies on one but for its last digits stays.

    Raises ValueError if step is not greater than 0.
    """
    count = _steps(value, step)
    return _multiple(math.ceil(count - _slack(count)), step)


def down_to(value: float, step: float) -> float:
    """Round down to a multiple of `step`, in its unit; what lies on one but for its last digits stays.

    Raises ValueError if step is not greater than 0.
    """
    count = _steps(value, step)
    return _multiple(math.floor(count + _slack(count)), step)


def _steps(value: float, step: float) -> float:
    if not step > 0:
        raise ValueError(f"a rounding step is greater than 0, got {step!r}")
    return value / step


def _slack(count: float) -> float:
    """Return how far a count of steps may be off a whole number by rounding alone."""
    return _SLACK + 4 * sys.float_info.epsilon * abs(count)


def _multiple(count: int, step: float) -> float:
    """Return count x step as the number that a person would write (0.3, not 0.30000000000000004)."""
    return float(count * Decimal(repr(float(step)))) + 0.0


def did_you_mean(word: str, choices: Iterable[str]) -> str:
    """Return `did you mean "open"?` for the choice most like `word`; empty where none is like it."""
    known = {choice.casefold(): choice for choice in choices}
    near = difflib.get_close_matches(word.casefold(), known, n=1, cutoff=0.6)
    return f'did you mean "{known[near[0]]}"?' if near else ""


def parse_number(text: str) -> float:
    """Read a typed number in any unit: either minus sign, a decimal point or comma.

    Raises ValueError with the text where it is not one finite number.
    """
    value, unit = _quantity(text)
    if unit:
        raise ValueError(f'"{text}" is not a number')
    return value


def _quantity(text: str) -> tuple[float, str]:
    """Split typed text into its number and what follows it."""
    match = _QUANTITY.fullmatch(text.translate(_DASHES))
    if match is None:
        raise ValueError(f'"{text}" is not a number')
    value = float(match[1].replace(",", "."))
    if not math.isfinite(value):
        raise ValueError(f'"{text}" is too large')
    return value, match[2]


KILOGRAM_FORCE_N = 9.80665
"""Weight of a kilogram at the standard acceleration of free fall (9.806 65 m/s², exact by its definition)."""

POUND_FORCE_N = 0.45359237 * KILOGRAM_FORCE_N
"""Weight of a pound, which is 0.453 592 37 kg exactly."""

_ARMS_M = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Arms at which motors' torques are stated, metres."""


def _weighed(unit: str, force_n: float) -> dict[str, float]:
    """Return the torques of a unit of weight at each arm, N·m, as data sheets write them."""
    marks = ("·", "")
    return {f"{unit}{mark}{arm}": force_n * by for arm, by in _ARMS_M.items() for mark in marks}


_UNITS: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "µm": 1e-3, "um": 1e-3, "in": 25.4, '"': 25.4},
    "s": {"s": 1.0, "sec": 1.0, "ms": 1e-3, "min": 60.0},
    "rev/min": {"rev/min": 1.0, "rpm": 1.0, "1/min": 1.0, "rev/s": 60.0, "1/s": 60.0},
    "N": {
        "n": 1.0,
        "kn": 1000.0,
        "mn": 1e-3,
        "kgf": KILOGRAM_FORCE_N,
        "gf": KILOGRAM_FORCE_N / 1000,
        "lbf": POUND_FORCE_N,
    },
    "N·m": {
        "n·m": 1.0,
        "nm": 1.0,
        "n m": 1.0,
        "n*m": 1.0,
        "n·cm": 0.01,
        "ncm": 0.01,
        "n·mm": 1e-3,
        "nmm": 1e-3,
        "mn·m": 1e-3,
        "mnm": 1e-3,
        **_weighed("kg", KILOGRAM_FORCE_N),
        **_weighed("kgf", KILOGRAM_FORCE_N),
        **_weighed("kp", KILOGRAM_FORCE_N),
        **_weighed("g", KILOGRAM_FORCE_N / 1000),
        **_weighed("gf", KILOGRAM_FORCE_N / 1000),
        **_weighed("lb", POUND_FORCE_N),
        **_weighed("lbf", POUND_FORCE_N),
        **_weighed("oz", POUND_FORCE_N / 16),
        **_weighed("ozf", POUND_FORCE_N / 16),
    },
    "N/mm": {"n/mm": 1.0, "n/m": 1e-3, "n/cm": 0.1},
    "g": {"g": 1.0, "kg": 1000.0},
    "%": {"%": 1.0, "per cent": 1.0, "percent": 1.0},
    "°": {"°": 1.0, "deg": 1.0, "degrees": 1.0, "degree": 1.0, "rad": math.degrees(1.0)},
    "per min": {"per min": 1.0, "/min": 1.0, "1/min": 1.0, "per s": 60.0, "/s": 60.0, "1/s": 60.0},
    "GPa": {"gpa": 1.0, "mpa": 1e-3},
    "MPa": {"mpa": 1.0, "gpa": 1000.0, "n/mm²": 1.0, "n/mm2": 1.0},
    "g/cm³": {"g/cm³": 1.0, "g/cm3": 1.0, "kg/m³": 1e-3, "kg/m3": 1e-3},
    "mm³/s": {"mm³/s": 1.0, "mm3/s": 1.0, "cm³/s": 1000.0, "cm3/s": 1000.0},
    "mm³/(N·km)": {"mm³/(n·km)": 1.0, "mm3/(n·km)": 1.0, "mm³/(n·m)": 1000.0, "mm3/(n·m)": 1000.0},
    "h": {"h": 1.0, "hours": 1.0, "hour": 1.0, "min": 1 / 60},
    "days": {"days": 1.0, "day": 1.0, "d": 1.0, "weeks": 7.0, "week": 7.0},
    "years": {"years": 1.0, "year": 1.0, "a": 1.0, "months": 1 / 12, "month": 1 / 12},
    "coils": {"coils": 1.0, "coil": 1.0},
    "": {"": 1.0},
}
"""For each unit that a field shows, the units that may be typed and their size in it."""


_JOINED = re.compile(r"\s*[·*x×.-]\s*|\s+")
"""What people write between the parts of a unit."""


def parse_quantity(text: str, unit: str) -> float:
    """Read typed text as a quantity in `unit` ("mm", "s", "N·m", ...); a bare number has that unit.

    Raises ValueError naming the text where it is no number or its unit does not fit, KeyError where
    `unit` is unknown.
    """
    units = _UNITS[unit]
    value, typed = _quantity(text)
    if not typed:
        return value
    plainly = typed.casefold().replace("⋅", "·")
    factor = units.get(plainly, units.get(_JOINED.sub("·", plainly)))
    if factor is None:
        raise ValueError(f'"{text}": "{typed}" is not a unit of {unit or "a plain number"}')
    return value * factor


def parse_angle(
    text: str, *, speed_rpm: float | None = None, step_starts_deg: Sequence[float] = (), turns: float = 1
) -> float:
    """Read a typed angle, degrees: "150", "150°", "2.6 rad", "4.17 s" or "step 6" (steps count from 1).

    speed_rpm: of the master shaft, to turn a time into an angle (of a stack that makes `turns` turns a
    cycle). step_starts_deg: start angles of the steps, master angles. Angles are not wrapped. Raises
    ValueError naming the text where it is no angle, or names a step that is not there.
    """
    step = _STEP.fullmatch(text.translate(_DASHES))
    if step is not None:
        return _step_start(text, step[1], step_starts_deg) * turns
    value, unit = _quantity(text)
    time = _UNITS["s"].get(unit.casefold())
    if time is not None:
        if speed_rpm is None:
            raise ValueError(f'"{text}": a time is no angle where no speed is known')
        return value * time * 6.0 * speed_rpm * turns
    return parse_quantity(text, "°")


def _step_start(text: str, typed: str, starts: Sequence[float]) -> float:
    if not typed.isdigit() or not 1 <= int(typed) <= len(starts):
        raise ValueError(f'"{text}": steps run from 1 to {len(starts)}')
    return starts[int(typed) - 1]
