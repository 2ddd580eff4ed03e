"""Quantities as text and back."""

from __future__ import annotations

import math
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base import wording as w
from shaftscore.base.angles import Arcs
from tests.strategies import floats


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (w.degrees(3.66), "3.7°"),
        (w.degrees(-3.66), "\u22123.7°"),
        (w.degrees(-0.04), "0.0°"),
        (w.degrees(360), "360.0°"),
        (w.degrees(1.23456, 3), "1.235°"),
        (w.millimetres(12), "12.0 mm"),
        (w.millimetres(8.0, 0), "8 mm"),
        (w.seconds(0.1034), "103 ms"),
        (w.seconds(4.17), "4.17 s"),
        (w.seconds(0.9994), "999 ms"),
        (w.seconds(0.9996), "1.00 s"),
        (w.seconds(-0.9996), "\u22121.00 s"),
        (w.seconds(-0.02), "\u221220 ms"),
        (w.seconds(0), "0 ms"),
        (w.rpm(9.44), "9.4 rev/min"),
        (w.newtons(5.2), "5.2 N"),
        (w.newton_metres(0.708), "0.71 N·m"),
        (w.megapascals(28.44), "28.4 MPa"),
        (w.percent(71.2), "71 %"),
        (w.percent(3.8, 1), "3.8 %"),
        (w.per_minute(6), "6.0 per min"),
        (w.counted(1, "scoop"), "1 scoop"),
        (w.counted(2, "scoop"), "2 scoops"),
        (w.counted(0, "scoop"), "0 scoops"),
        (w.counted(-1, "tooth mark"), "\u22121 tooth mark"),
        (w.counted(3, "berry"), "3 berries"),
        (w.counted(3, "tray"), "3 trays"),
        (w.counted(2, "box"), "2 boxes"),
        (w.counted(2, "dish"), "2 dishes"),
        (w.plain(10.0), "10"),
        (w.plain(0.25), "0.25"),
        (w.plain(-0.5), "\u22120.5"),
        (w.plain(100), "100"),
        (w.plain(1e-9), "0"),
        (w.listed([]), ""),
        (w.listed(["a"]), "a"),
        (w.listed(["a", "b"]), "a and b"),
        (w.listed(["a", "b", "c"]), "a, b and c"),
        (w.angle_range(Arcs.between(133.9, 137.6)), "133.9° to 137.6°"),
        (w.angle_range(Arcs.between(350, 10)), "350.0° to 10.0°"),
        (w.angle_range(Arcs.span(30, 0)), "at 30.0°"),
        (w.angle_range(Arcs.full()), "the whole turn"),
        (w.angle_range(Arcs.empty()), "nowhere"),
        (w.angle_range(Arcs.of([(10, 5), (100, 5)])), "10.0° to 15.0°, 100.0° to 105.0°"),
    ],
)
def test_text(text: str, expected: str) -> None:
    assert text == expected


@pytest.mark.parametrize(
    ("value", "step", "up", "down"),
    [
        (146.81, 0.1, 146.9, 146.8),
        (146.9, 0.1, 146.9, 146.9),
        (0.3, 0.1, 0.3, 0.3),
        (0.1 + 0.2, 0.1, 0.3, 0.3),
        (-0.05, 0.1, 0.0, -0.1),
        (359.95, 0.1, 360.0, 359.9),
        (7, 5, 10, 5),
        (27.01, 0.5, 27.5, 27.0),
    ],
)
def test_rounding_to_the_safe_side(value: float, step: float, up: float, down: float) -> None:
    assert w.up_to(value, step) == up
    assert w.down_to(value, step) == down


@given(floats(-1e5, 1e5), st.sampled_from([0.001, 0.01, 0.1, 0.5, 1.0, 5.0]))
def test_a_number_in_an_order_is_on_its_safe_side_and_near(value: float, step: float) -> None:
    up, down = w.up_to(value, step), w.down_to(value, step)
    slack = 1e-8 * step + 1e-14 * abs(value)
    assert down - slack <= value <= up + slack
    assert up - value < step * (1 + 1e-6) + slack
    assert value - down < step * (1 + 1e-6) + slack
    for rounded in (up, down):
        assert math.isclose(rounded / step, round(rounded / step), abs_tol=1e-6)
        assert w.up_to(rounded, step) == rounded == w.down_to(rounded, step)


@given(floats(-1e5, 1e5), st.sampled_from([(0.1, 1), (0.01, 2), (1.0, 0)]))
def test_the_text_of_a_rounded_number_is_that_number(value: float, step: tuple[float, int]) -> None:
    up = w.up_to(value, step[0])
    assert w.parse_number(w.number(up, step[1])) == up


def test_a_rounding_step_is_greater_than_nothing() -> None:
    with pytest.raises(ValueError, match="greater than 0, got 0"):
        w.up_to(1.0, 0)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("150", 150),
        (" 1.5 ", 1.5),
        ("1,5", 1.5),
        ("-3", -3),
        ("\u22123,25", -3.25),
        ("+4", 4),
        (".5", 0.5),
        (",5", 0.5),
        ("5.", 5),
        ("1e-3", 0.001),
    ],
)
def test_typed_numbers(text: str, value: float) -> None:
    assert w.parse_number(text) == value


@pytest.mark.parametrize(
    "text", ["", " ", "x", "1 2", "1.2.3", "--1", "1,000,000", "nan", "inf", "1e400", "1 mm"]
)
def test_what_is_no_number_is_refused_with_its_text(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a number|is too large") as caught:
        w.parse_number(text)
    assert f'"{text}"' in str(caught.value)


@given(floats(-1e9, 1e9), st.integers(0, 6))
def test_a_number_reads_back_as_written(value: float, decimals: int) -> None:
    assert w.parse_number(w.number(value, decimals)) == pytest.approx(value, abs=0.51 * 10**-decimals)


STARTS = [0.0, 30.0, 95.0]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("150", 150),
        ("150°", 150),
        ("150 deg", 150),
        ("\u221210°", -10),
        ("4.17 s", 4.17 * 36),
        ("500 ms", 18),
        ("0,5 min", 1080),
        ("step 2", 30),
        ("Step 3", 95),
        ("#1", 0),
        ("1 rad", math.degrees(1)),
    ],
)
def test_typed_angles(text: str, value: float) -> None:
    assert w.parse_angle(text, speed_rpm=6, step_starts_deg=STARTS) == pytest.approx(value, abs=1e-12)


def test_an_angle_of_a_stack_that_turns_three_times() -> None:
    """At 6 rev/min a stack that turns three times a cycle turns 108 degrees in a second."""
    assert w.parse_angle("1 s", speed_rpm=6, turns=3) == 108
    assert w.parse_angle("step 2", step_starts_deg=STARTS, turns=3) == 90
    assert w.parse_angle("30°", turns=3) == 30


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x", '"x" is not a number'),
        ("step 0", '"step 0": steps run from 1 to 3'),
        ("step 4", "from 1 to 3"),
        ("step 1.5", "from 1 to 3"),
        ("5 mm", '"mm" is not a unit of °'),
    ],
)
def test_what_is_no_angle(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r"is not|steps run") as caught:
        w.parse_angle(text, speed_rpm=6, step_starts_deg=STARTS)
    assert words in str(caught.value)


def test_a_time_is_no_angle_where_the_speed_is_not_known() -> None:
    with pytest.raises(ValueError, match="no speed"):
        w.parse_angle("1 s")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12", "mm", 12),
        ("1.2 cm", "mm", 12),
        ("1 in", "mm", 25.4),
        ("12 mm", "mm", 12),
        ("103 ms", "s", 0.103),
        ("2 N·cm", "N·m", 0.02),
        ("2 Ncm", "N·m", 0.02),
        ("0.71 N·m", "N·m", 0.71),
        ("0.71 N⋅m", "N·m", 0.71),
        # Weights at an arm: g = 9.80665 m/s² and 1 lb = 0.45359237 kg are exact by definition (NIST SP 811,
        # appendix B; international yard and pound agreement of 1959), 1 in = 25.4 mm.
        ("12 kg cm", "N·m", 12 * 9.80665 * 0.01),
        ("500 g·cm", "N·m", 0.5 * 9.80665 * 0.01),
        ("500 gcm", "N·m", 0.5 * 9.80665 * 0.01),
        ("2 kgf-cm", "N·m", 2 * 9.80665 * 0.01),
        ("3 kg*mm", "N·m", 3 * 9.80665 * 0.001),
        ("40 oz in", "N·m", 40 / 16 * 0.45359237 * 9.80665 * 0.0254),
        ("1 kgf", "N", 9.80665),
        ("1 kg", "g", 1000),
        ("0.1 rev/s", "rev/min", 6),
        ("6 rpm", "rev/min", 6),
        ("5.2 N", "N", 5.2),
        ("71 %", "%", 71),
        ("6.0 per min", "per min", 6),
        ("2 N/cm", "N/mm", 0.2),
        ("8 mm³/s", "mm³/s", 8),
        ("0.01 cm3/s", "mm³/s", 10),
        ("90 min", "h", 1.5),
        ("6 h", "h", 6),
        ("50 weeks", "days", 350),
        ("18 months", "years", 1.5),
        ("9.5 coils", "coils", 9.5),
        ("3", "", 3),
    ],
)
def test_typed_quantities(text: str, unit: str, value: float) -> None:
    assert w.parse_quantity(text, unit) == pytest.approx(value, rel=1e-12)


def test_a_unit_that_does_not_fit() -> None:
    with pytest.raises(ValueError, match='"12 N": "N" is not a unit of mm'):
        w.parse_quantity("12 N", "mm")


@pytest.mark.parametrize(
    ("word", "choices", "hint"),
    [
        ("opne", ["closed", "open"], 'did you mean "open"?'),
        ("OPEN", ["closed", "open"], 'did you mean "open"?'),
        ("xyz", ["closed", "open"], ""),
        ("open", [], ""),
    ],
)
def test_did_you_mean(word: str, choices: list[str], hint: str) -> None:
    assert w.did_you_mean(word, choices) == hint


@given(st.lists(st.text(min_size=1, max_size=20), min_size=1, max_size=5), st.data())
def test_a_hint_names_only_choices(choices: list[str], data: st.DataObject) -> None:
    chosen = data.draw(st.sampled_from(choices))
    hint = w.did_you_mean(chosen + "x" * (len(chosen) > 3), choices)
    assert hint.removeprefix('did you mean "').removesuffix('"?') in choices


@pytest.mark.parametrize(
    ("gone", "text"),
    [(-1.0, "0 s ago"), (14.9, "14 s ago"), (60.0, "1 min ago"), (3599.0, "59 min ago"), (7200.0, "2 h ago")],
)
def test_how_long_ago(gone: float, text: str) -> None:
    assert w.ago(gone) == text


def test_a_time_of_day_names_the_day_only_where_it_is_another() -> None:
    now = datetime(2026, 3, 4, 15, 0)
    assert w.time_of_day(datetime(2026, 3, 4, 14, 2), now) == "14:02"
    assert w.time_of_day(datetime(2026, 3, 3, 9, 5), now) == "3 Mar, 09:05"
    assert w.time_of_day(datetime(2025, 12, 31, 23, 59), now) == "31 Dec 2025, 23:59"
