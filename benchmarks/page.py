"""The guide's page about speed, from the stored figures of one run."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

Row = Mapping[str, Any]

COPY, SINES, CALLS, EVENTS, PROCESS, WRITE, FRAME = (
    "test_copying_64_lanes_of_3600_angles_with_three_derivatives",
    "test_sines_of_64_lanes_of_3600_angles",
    "test_a_thousand_calls_of_numpy_on_65_values",
    "test_120000_events_through_a_heap",
    "test_starting_an_empty_python",
    "test_writing_64_MiB_to_a_file",
    "one frame of a screen, 16.7 ms",
)
"""Names of the bounds. What moves no more data and calculates no less cannot be faster than its bound."""

FRAME_S = 1 / 60

SOLVE = """Lanes that are solved together are evaluated together: runs of outputs, intervals at levels, places
on smooth pieces, pressure angle and curvature each take one call a law for 16 lanes. What is left is a lane's
own records and findings, some hundreds of calls (profile below). One edit, which is what a person waits for,
solves the lanes that it touches alone, to the same digits."""

NOTES: dict[str, tuple[str, str]] = {
    "A whole solve with all live findings, then": (SOLVE, SINES),
    "A whole solve with all live findings, 64": (
        "The plain program uses the same formulas at every angle, and finds to 0.1 degree only.",
        SINES,
    ),
    "Where the whole solve": (
        "One solve under Python's profiler, which itself makes calls slow. Parts call one another, so their "
        "shares do not add up. A thousand calls of numpy, among the bounds, show what calls cost.",
        "",
    ),
    "How work grows": (
        "Processor time of the largest size, and how it grows from the smallest: 1 is in proportion. In the "
        "quick stage flow and chance stand in as they were; gates run with their flow, without the chance.",
        "",
    ),
    "One edit of 64": ("A plain program knows no edit and starts over.", CALLS),
    "64 discs solved": ("The radius is the exact root of the limit that governs.", SINES),
    "One block moved": (
        "Processor time. Only what the edit touches is solved; all findings are up to date after.",
        FRAME,
    ),
    "One block of 64": (
        "Processor time. What takes longer than a frame (shafts, drive, chance) stands in meanwhile.",
        FRAME,
    ),
    "The whole report of a sower": (
        "Processor time of the whole report. A search has no bound by the machine.",
        "",
    ),
    "One lane read": ("Ours gives the exact law; the pieces are a fit, with the error stated.", COPY),
    "Profile of one disc": ("The buffer is an approximation of the same curve, with the error stated.", COPY),
    "State intervals": ("Both find when each lane is at each level; samples miss what is shorter.", SINES),
    "Flow": (
        "The same network with identical events; both release the same number of items. The bound is that "
        "of a program that keeps its events in order by a heap; ours keeps none and stays under it.",
        EVENTS,
    ),
    "Start-up": ("Memory is each process's own peak.", PROCESS),
    "Start of the editor": ("From the start of the process, libraries included.", PROCESS),
    "Free zones": ("Worked out while a block is held, so within a frame.", FRAME),
    "Overlaps": ("The same overlaps, by exact intervals and by samples.", SINES),
    "Tolerances": (
        "Processor time. The first two judge the same drawn machines and agree; the third also draws them.",
        SINES,
    ),
    "Body of one disc": (
        "The first row has what a printed disc needs: two chamfers, marks, a keyed bore. The other library "
        "makes the plain prism; ours as bare takes longer, since every body is checked to be closed.",
        CALLS,
    ),
    "STL of one disc": ("Ours also writes the part's code and true normals, and is read back.", COPY),
    "64 discs to": ("The whole process, with every file read back and proved by the roller.", WRITE),
    "Everything that": (
        "Processor time of the whole process from its start, with flow, loads and chance. The samples are "
        "whole machines with frames, followers' parts and drives, which all are judged.",
        "",
    ),
    "The chance of": (
        "Processor time of a process that finds the chance as `check` does, and then judges 100,000, as "
        "near a limit; beside it that of each, and by how much more memory the process has at its peak.",
        "",
    ),
    "Export in every": ("The whole process, every file read back and proved.", WRITE),
    "Arrange": (
        "Each in a process of its own; the time is the processor time of the whole process. A search has no "
        "bound by the machine.",
        "",
    ),
    "Frames": (
        "The time is of the whole run in a real window; what counts is the frame, from the mouse event until "
        "all that it changed is painted. The bound is one frame of a screen, 16.7 ms.",
        "",
    ),
    "Playing with": (
        "Processor time of the whole process, all threads, while the shaft turns at the machine's speed in "
        "a real window; of the views that share a place one is in front. How often the cursor moves follows"
        " what a frame costs: play takes a fifth of one processor, in 10 to 30 frames a second.",
        "",
    ),
    "One nudge": (
        "Processor time of the whole process, all threads, from an arrow key until all views are painted "
        "with all findings, those that come late included. The window's share is its own thread's; the rest"
        " is the whole examination beside it.",
        "",
    ),
    "The editor at rest": (
        "Five seconds in which nobody does anything, after everything was up to date. Memory is that of the"
        " process once what was freed is given back, three seconds after the last job.",
        "",
    ),
    "A machine of 12 gates from": (
        "The same figures by both, equal to 0.01 degrees and 0.01 mm. The notebook is as a skilled person "
        "would write it with numpy, scipy, shapely and trimesh (benchmarks/by_notebook), sampled at a tenth"
        " of a degree. With files ours also makes marks, chamfers, spacers and coupon, reads every file "
        "back and proves it by a roller, which takes most of its time; without, it judges all that `check` "
        "judges.",
        "",
    ),
    "A machine of 12 selectors": (
        "Real keys and mouse through the X server build a machine of 3 banks of 4 selectors with 3 levels, "
        "a flap, 6 magazines, 24 gates and a chute: typed, nothing pasted from elsewhere. What a person "
        "would take is by the keystroke-level model of Card, Moran and Newell (1980), its times from memory: "
        "K, a key, 0.28 s; B, a button down or up, 0.1 s; P, pointing, 1.1 s; H, a hand to the mouse or "
        "back, 0.4 s; M, preparing a step, 1.35 s. The person knows the program and makes no mistakes. The "
        "median is that of the run by the script.",
        "",
    ),
    "The longest pauses": (
        "How long the window handled no event, in processor time of its thread. Every command, dialog, view "
        "and some edits are done once. What is missed by all is a change of theme or text size: every "
        "widget is styled and laid out, and then everything is painted.",
        "",
    ),
}
"""What is compared, by how a table's title begins, and the bound that it is held against."""

HEAD = """# Speed

<!-- Made by `python -m benchmarks`; `python -m benchmarks --page FILE...` makes the tables of some files. -->

Each table was measured in one run on one machine ({machine}); what counts is the ratio within a table:
another machine, or the same one while others use it, may take half or twice as long. The first row
of a table is 1.0; *of the bound* is how many times as long a row takes as what this machine could not do
faster, measured in the same run (Bounds of this machine). A target is stated where there is one.

"""


def write_page(stored: Path, page: Path) -> None:
    """Write the page from pytest-benchmark's JSON."""
    page.write_text(_page_text(stored), encoding="utf-8")


def _page_text(stored: Path) -> str:
    data = json.loads(stored.read_text(encoding="utf-8"))
    groups: dict[str, list[Row]] = {}
    for row in data["benchmarks"]:
        groups.setdefault(row["group"] or row["name"], []).append(row)
    cpu = data["machine_info"].get("cpu", {})
    machine = f"{cpu.get('count', '?')} cores, Python {data['machine_info']['python_version']}"
    bounds = {row["name"]: row["stats"]["median"] for row in data["benchmarks"]} | {FRAME: FRAME_S}
    tables = (_table(name, rows, bounds) for name, rows in groups.items())
    return HEAD.format(machine=machine) + "\n".join(tables)


def update_page(stored: Path, page: Path) -> None:
    """Write the tables of a run of some files into the page; all others stay."""
    _, *known = page.read_text(encoding="utf-8").split("\n## ")
    tables = {table.partition("\n")[0]: table.strip("\n") for table in known}
    head, *measured = _page_text(stored).split("\n## ")
    tables |= {table.partition("\n")[0]: table.strip("\n") for table in measured}
    text = "\n".join([head.strip("\n") + "\n", *(f"## {table}\n" for table in tables.values())])
    page.write_text(text, encoding="utf-8")


def _note(name: str, bounds: Mapping[str, float]) -> tuple[str, float | None]:
    """Describe what a table compares and which bound its rows are held against; returns the bound, s."""
    text, bound = next((note for begin, note in NOTES.items() if name.startswith(begin)), ("", ""))
    if bound not in bounds:
        return text, None
    named = bound.removeprefix("test_").replace("_", " ")
    return f"{text} The bound: {named}.", bounds[bound]


def _table(name: str, rows: Sequence[Row], bounds: Mapping[str, float]) -> str:
    first = rows[0]["stats"]["median"]
    text, bound = _note(name, bounds)
    lines = [
        f"## {name}",
        "",
        *([text, ""] if text else []),
        "| what | median | of the first row |" + (" of the bound |" if bound else "") + " also |",
        "|---|---|---|" + ("---|" if bound else "") + "---|",
    ]
    for row in rows:
        median = row["stats"]["median"]
        extra = ", ".join(f"{key}: {value}" for key, value in row["extra_info"].items())
        ratios = [median / first, *([median / bound] if bound else [])]
        cells = [_name(row), _time(median), *(f"{ratio:.3g}" for ratio in ratios), extra]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def _name(row: Row) -> str:
    name = str(row["name"]).removeprefix("test_").replace("_", " ")
    return name.replace("[", " (").replace("]", ")")


def _time(seconds: float) -> str:
    for unit, scale in (("s", 1.0), ("ms", 1e3), ("µs", 1e6)):
        if seconds * scale >= 1:
            return f"{seconds * scale:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"
