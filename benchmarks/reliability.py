"""Measures what docs/guide/reliability.md says, and writes that page.

Run with `python -m benchmarks.reliability [part ...]`; parts: kills, bad, soak, all of them if none is named.
Figures of parts that were not run are those of the last time (`.benchmarks/reliability.json`).
"""

from __future__ import annotations

import json
import os
import platform
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from benchmarks import bad_input, kill_rounds, soak

ROOT = Path(__file__).resolve().parents[1]
STORED = ROOT / ".benchmarks" / "reliability.json"
PAGE = ROOT / "docs" / "guide" / "reliability.md"
ROUNDS, SEED = 300, 2

HEAD = """# Reliability

<!-- Made by `python -m benchmarks.reliability`; run it again, do not edit this page. -->

What Shaftscore does so that weeks of work are safe with it, and what was measured. Anybody can run it
again: `pip install -e ".[test,bench]"`, then `python -m benchmarks.reliability`. These figures were
measured on {machine}.

## Saving

A file is written whole or not at all: to a temporary file beside it, forced to the disk, put in the old
one's place in one step, and the folder forced to the disk too. It keeps its rights; a link keeps
pointing at the file it names. What the file held before is kept, the last five times (*File > Earlier
versions*). A file that another program wrote meanwhile is never written over unasked. Where a disk is
full or can only be read, the work stays open and a message says what to do.

## Drafts

Every change that is not saved goes into a journal in the person's data folder, at most a second later,
so never two behind. After a crash, a kill or a power loss the next start offers it in a bar over the
diagram, beside the saved file with what is different. A file that is open in one window is opened in a
second one to look at, or as a copy. The lock dies with its program; it knows the editors of one person
on one machine. On a disk shared by several machines a change by somebody else is noticed when the file
is saved or the window comes to the front.

"""

NETWORK = """## No network

Shaftscore opens no connection: it imports nothing that could, and a test says so. During the whole test
run sockets are refused: by Python everywhere, and on Linux by the kernel to every process of the run.

## Errors of the program

An error that nobody expected saves the draft, is told once with where the work is, and the window goes
on. The report names no folder, file or lane, and is sent nowhere. Errors of threads and of second
processes come to the same place.

## Versions of the file format

Files of every earlier version are read; tests hold files of each with every field set. A newer version
is refused. An unknown field is told with its place, and never dropped.
"""


def kills() -> dict[str, Any]:
    """Run the rounds of kill -9."""
    with tempfile.TemporaryDirectory() as folder:
        return {"seed": SEED, **asdict(kill_rounds.run(ROUNDS, SEED, Path(folder)))}


def bad() -> list[dict[str, Any]]:
    """Read the worst bad input of each kind."""
    return [{**asdict(cost), "holds": cost.holds} for cost in bad_input.costs()]


def soaked() -> dict[str, Any]:
    """Edit for an hour."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    done = soak.soak(int(os.environ.get("SOAK_EVENTS", soak.EVENTS)), 1)
    return {**asdict(done), "holds": done.holds}


PARTS: dict[str, Callable[[], Any]] = {"kills": kills, "bad": bad, "soak": soaked}


def kills_text(found: dict[str, Any]) -> str:
    return f"""## Killed at any moment

{found["rounds"]} rounds of kill -9 while a program edits, keeps its draft and saves (seed {found["seed"]});
{found["died_in_a_call"]} of them just before, half way through or just after a call that writes. After each
round the file was read and the draft recovered, and both compared with the very projects that were made.

| what | figure |
|---|---|
| edits, saves, drafts found | {found["edits"]:,}, {found["saves"]}, {found["drafts_found"]} |
| files or drafts that could not be read | 0 |
| saves or drafts lost that had been told to be done | 0 |
| oldest edit that was lost | {found["oldest_lost_s"]:.2f} s (2 s asked) |

"""


def bad_text(found: list[dict[str, Any]]) -> str:
    rows = "\n".join(
        f"| {one['case']} | {one['megabytes']:.1f} | {one['seconds']:.2f} | {one['mebibytes']:.0f} "
        f"| {one['said'].removeprefix('bad: ')[:70]} |"
        for one in found
    )
    worst_s, worst_mib = (max(one[key] for one in found) for key in ("seconds", "mebibytes"))
    return f"""## Bad input

The worst of each kind up to 60 MB, each in a process of its own. Asked: refused within
{bad_input.MOST_S:g} s and {bad_input.MOST_MIB:g} MiB, libraries included. Worst: {worst_s:.2f} s and
{worst_mib:.0f} MiB. Seconds are of the processor, imports of libraries included. Tests hold more than
1,500 malformed projects, fuzz every reader, and ask for exit code 2 and a line a fault.

| file | MB | s | MiB | said |
|---|---|---|---|---|
{rows}

"""


def soak_text(found: dict[str, Any]) -> str:
    return f"""## An hour of editing

{found["events"]:,} random events in a window (edits, undo, drags, views closed and opened, dialogs, saves,
themes, files); 3,600 are an hour's worth, one a second.

| what | after the warm-up | at the end |
|---|---|---|
| memory | {found["warm_mib"]:.0f} MiB | {found["end_mib"]:.0f} MiB ({found["growth"]:+.1%}; 5 % asked) |
| Qt objects of the window | {found["warm_objects"]:,} | {found["end_objects"]:,} |
| errors | | {found["errors"]} |

"""


TEXTS: dict[str, Callable[[Any], str]] = {"kills": kills_text, "bad": bad_text, "soak": soak_text}


def page(figures: dict[str, Any]) -> str:
    """Return the page."""
    machine = f"{os.cpu_count()} cores, Python {platform.python_version()}, {platform.system()}"
    parts = [TEXTS[name](figures[name]) for name in PARTS if name in figures]
    return HEAD.format(machine=machine) + "".join(parts) + NETWORK


def main(chosen: list[str]) -> int:
    figures = json.loads(STORED.read_text("utf-8")) if STORED.exists() else {}
    for name in chosen or PARTS:
        print(f"{name} ...", flush=True)
        figures[name] = PARTS[name]()
        STORED.parent.mkdir(exist_ok=True)
        STORED.write_text(json.dumps(figures, indent=1), "utf-8")
    PAGE.write_text(page(figures), "utf-8")
    held = [*(one["holds"] for one in figures.get("bad", [])), figures.get("soak", {}).get("holds", True)]
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
