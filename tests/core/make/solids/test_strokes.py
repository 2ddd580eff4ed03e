"""Our own letters: all there, all different, in their place."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import hausdorff_distance
from shapely.geometry import LineString, MultiLineString
from shapely.ops import unary_union

from shaftscore.make.solids.strokes import GRID_HEIGHT, GRID_WIDTH, LETTERS, text_strokes, text_width


def drawn(text: str) -> MultiLineString:
    strokes = text_strokes(text, GRID_HEIGHT)
    return unary_union([LineString([(p.real, p.imag) for p in stroke]) for stroke in strokes])


def test_all_code_characters_are_there() -> None:
    assert {*"ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-"} == LETTERS


def test_letters_stay_within_their_height_and_width() -> None:
    for letter in LETTERS:
        points = np.concatenate(text_strokes(letter, GRID_HEIGHT))
        assert np.abs(points.imag).max() <= GRID_HEIGHT / 2 + 0.25
        assert np.abs(points.real).max() <= GRID_WIDTH / 2 + 0.25


def test_no_two_letters_look_alike() -> None:
    shapes = {letter: drawn(letter) for letter in sorted(LETTERS)}
    for first, one in shapes.items():
        for second, other in shapes.items():
            if first < second:
                assert hausdorff_distance(one, other, densify=0.02) > 0.6, (first, second)


def test_text_is_centred_and_as_wide_as_it_says() -> None:
    points = np.concatenate(text_strokes("HH", 3.0))
    assert points.real.max() - points.real.min() == pytest.approx(text_width("HH") / 2)
    assert points.mean() == pytest.approx(0, abs=0.05)


def test_a_letter_that_is_not_there_is_named() -> None:
    with pytest.raises(ValueError, match="no glyph for 'a'"):
        text_strokes("Ba", 5.0)


def test_no_stroke_leaves_its_grid() -> None:
    """Marks are placed by the boxes of their texts: what stuck out would come too near to an edge."""
    for letter in LETTERS:
        points = np.concatenate(text_strokes(letter, GRID_HEIGHT))
        assert np.abs(points.real).max() <= GRID_WIDTH / 2 + 1e-9
        assert np.abs(points.imag).max() <= GRID_HEIGHT / 2 + 1e-9
