"""Frames from pictures: text art, and images as brightness of their pixels.

Text art: a line a row, an empty line between frames. `.`, `-`, `_` and 0 are rest, `#`, `*`, `x`, `o`, `@`
the painted level, 1 to 9 a level by its rank from the lowest; where a text has no other digits than 0 and
1, 1 is the painted level. An image is divided into as many frames, side by side and below one another, as
have the shape of the grid; a cell is painted where it is dark on average.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shaftscore.base.errors import EditError
from shaftscore.model.project import Project
from shaftscore.program.frames import MOST_FRAMES, ProgramFrame, painted, ranked_levels
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.places import places_of
from shaftscore.program.truth import on_level, paint_of

Pixels = Sequence[Sequence[float]]
"""Rows of brightness: 0 dark, 1 light."""

Marks = Sequence[str]
"""Rows of a frame of text art."""

REST_MARKS, PAINT_MARKS = ".-_ 0", "#*xXoO@"
MOST_TEXT = 2_000_000
"""Longest text that is read, characters."""

DARK = 0.5
"""A cell darker than this on average is painted."""


def frames_of_text(project: Project, draft: ProgramDraft, text: str) -> list[ProgramFrame]:
    """Return frames of text art. Raises EditError for a mark that is not known, or art beyond the grid."""
    if len(text) > MOST_TEXT:
        raise EditError(f"the text has {len(text):,} characters; {MOST_TEXT:,} are the most")
    pictures = _pictures(text)
    if not pictures:
        raise EditError("there is no picture in the text")
    if len(pictures) > MOST_FRAMES:
        raise EditError(f"the text has {len(pictures)} pictures; {MOST_FRAMES} are the most")
    digits = {mark for picture in pictures for row in picture for mark in row if mark.isdigit()}
    is_binary = digits <= {"0", "1"}
    return [_of_marks(project, draft, picture, is_binary=is_binary) for picture in pictures]


def art_of(project: Project, draft: ProgramDraft, frame: ProgramFrame) -> str:
    """Return a frame as text art: ranks as digits, those over 9 as 9, and points for all else."""
    return "\n".join("".join(_mark(project, frame, lane_id) for lane_id in row) for row in draft.grid.cells)


def _mark(project: Project, frame: ProgramFrame, lane_id: str | None) -> str:
    level = None if lane_id is None else frame.level(lane_id)
    if lane_id is None or level is None:
        return "."
    return str(min(9, ranked_levels(project, lane_id).index(level) + 1))


def _pictures(text: str) -> list[list[str]]:
    """Cut a text into pictures: lines with empty ones between."""
    found: list[list[str]] = [[]]
    for line in text.splitlines():
        if line.strip():
            found[-1].append(line.rstrip())
        elif found[-1]:
            found.append([])
    return [picture for picture in found if picture]


def _of_marks(project: Project, draft: ProgramDraft, rows: Marks, *, is_binary: bool) -> ProgramFrame:
    grid = draft.grid
    if len(rows) > grid.rows or max(map(len, rows)) > grid.columns:
        size = f"{len(rows)} rows and {max(map(len, rows))} columns"
        raise EditError(f"a picture has {size}; the grid has {grid.rows} and {grid.columns}")
    frame = ProgramFrame()
    for row, line in enumerate(rows):
        for column, mark in enumerate(line):
            level = _rank(mark, is_binary=is_binary)
            lane_id = grid.cells[row][column]
            if lane_id is not None:
                frame = _with(project, draft, frame, lane_id, level)
    return frame


def _rank(mark: str, *, is_binary: bool) -> int | None:
    """Return the rank that a mark stands for, counted from 1; 0 for the painted level, None for rest."""
    if mark in REST_MARKS:
        return None
    if mark in PAINT_MARKS or (is_binary and mark == "1"):
        return 0
    if mark in "123456789":
        return int(mark)
    raise EditError(f'"{mark}" is not a mark of text art; write . for rest, # or 1 to 9 for a level')


def _with(
    project: Project, draft: ProgramDraft, frame: ProgramFrame, lane_id: str, rank: int | None
) -> ProgramFrame:
    meaning, levels = draft.meanings[lane_id], ranked_levels(project, lane_id)
    if rank is None:
        level = None
    elif rank == 0:
        level = on_level(project, lane_id, meaning)
    else:
        level = levels[min(rank, len(levels)) - 1]
    return painted(frame, [lane_id], paint_of(meaning, level))


def tiles_of(width: int, height: int, rows: int, columns: int) -> tuple[int, int]:
    """Return how many frames an image of `width` x `height` pixels holds, across and down.

    The image is divided into the fewest tiles whose cells are as good as square; 1 and 1 where none are.
    """
    best, error = (1, 1), _unevenness(width, height, rows, columns)
    for down in range(1, min(height // rows, 64) + 1):
        across = max(1, round(width * rows * down / (height * columns)))
        found = _unevenness(width / across, height / down, rows, columns)
        if across * columns <= width and found < error - 0.02:
            best, error = (across, down), found
    return best


def _unevenness(width: float, height: float, rows: int, columns: int) -> float:
    """Return by how much the longer side of a cell exceeds the shorter, as a share."""
    wide, high = width / columns, height / rows
    return max(wide, high) / min(wide, high) - 1


def frames_of_pixels(
    project: Project, draft: ProgramDraft, images: Iterable[Pixels], *, light_on_dark: bool = False
) -> list[ProgramFrame]:
    """Return frames of images, each a row of pixels a line, 0 dark to 1 light.

    light_on_dark: light cells are painted instead of dark ones. Raises EditError if an image has fewer pixels
    than the grid has places, or there are too many frames.
    """
    grid, found = draft.grid, list[ProgramFrame]()
    for pixels in images:
        height, width = len(pixels), len(pixels[0]) if pixels else 0
        if height < grid.rows or width < grid.columns:
            size = f"{width} x {height} pixels"
            raise EditError(f"the image has {size}; the grid has {grid.columns} x {grid.rows} places")
        across, down = tiles_of(width, height, grid.rows, grid.columns)
        for tile in range(across * down):
            box = _box(tile % across, across, width), _box(tile // across, down, height)
            found.append(_of_tile(project, draft, pixels, box, light_on_dark))
        if len(found) > MOST_FRAMES:
            raise EditError(f"the image has more than {MOST_FRAMES} pictures")
    return found


Span = tuple[float, float]


def _box(place: int, count: int, size: float) -> Span:
    return size * place / count, size * (place + 1) / count


def _of_tile(
    project: Project, draft: ProgramDraft, pixels: Pixels, box: tuple[Span, Span], light_on_dark: bool
) -> ProgramFrame:
    grid, frame = draft.grid, ProgramFrame()
    (left, right), (top, bottom) = box
    for lane_id, row, column in places_of(grid):
        across, down = _box(column, grid.columns, right - left), _box(row, grid.rows, bottom - top)
        light = _mean(pixels, (left + across[0], left + across[1]), (top + down[0], top + down[1]))
        is_on = light > DARK if light_on_dark else light < DARK
        frame = _with(project, draft, frame, lane_id, 0 if is_on else None)
    return frame


def _mean(pixels: Pixels, across: Span, down: Span) -> float:
    """Return the mean brightness of a rectangle; the pixels whose middles lie in it, at least one."""
    columns, rows = _within(across), _within(down)
    values = [pixels[row][column] for row in rows for column in columns]
    return sum(values) / len(values)


def _within(span: Span) -> range:
    start, end = round(span[0]), round(span[1])
    return range(start, end) if end > start else range(int(span[0]), int(span[0]) + 1)
