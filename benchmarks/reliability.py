"""Measures what docs/guide/reliability.md says, and writes that page.

Run with `python -m benchmarks.reliability [part ...]`; parts: kills, bad, fuzz, tampered, geometry,
forged, names, soak, all of them if none is named. FUZZ_ROUNDS and SOAK_EVENTS in the environment make
those parts shorter.
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

from benchmarks import bad_input, forged, hostile, kill_rounds, soak, tampered

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
pointing at the file it names. A pipe, a device or a file with a second name (a hard link) is refused.
What the file held before is kept, the last five times (*File > Earlier versions*), with the rights of the
file and in a folder that only its owner reads. A file that another program wrote meanwhile is never
written over unasked. Where a disk is full or can only be read, the work stays open and a message says what
to do.

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

An unexpected error saves the draft and is reported once, with where the work is saved; the window goes
on. The report names no folder, file or lane, and is sent nowhere. Errors of threads and of second
processes are handled in the same place.

## Versions of the file format

Files of every earlier version are read; tests hold files of each with every field set. A newer version
is refused. An unknown field is reported with its place, and never dropped.
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


def fuzzed() -> list[dict[str, Any]]:
    """Read right files whose bytes were changed at random."""
    rounds = int(os.environ.get("FUZZ_ROUNDS", hostile.ROUNDS))
    return [{**asdict(one), "holds": not one.errors} for one in hostile.fuzz(rounds)]


def changed() -> dict[str, Any]:
    """Change exported files."""
    found = tampered.survey()
    return {**asdict(found), "holds": not found.missed}


def reshaped() -> dict[str, Any]:
    """Change the geometry in exported files, with their hashes renewed."""
    found = tampered.geometry()
    return {**asdict(found), "holds": not found.missed}


def forgeries() -> dict[str, Any]:
    """Export into folders whose manifests lie."""
    found = forged.survey()
    return {**asdict(found), "holds": not found.wrong}


def named() -> dict[str, Any]:
    """Try characters that no text may hold, and names that try to break out of files."""
    found = hostile.names_survey()
    return {**asdict(found), "holds": not (found.let_through or found.trouble)}


PARTS: dict[str, Callable[[], Any]] = {
    "kills": kills,
    "bad": bad,
    "fuzz": fuzzed,
    "tampered": changed,
    "geometry": reshaped,
    "forged": forgeries,
    "names": named,
    "soak": soaked,
}


def kills_text(found: dict[str, Any]) -> str:
    return f"""## Killed at any moment

{found["rounds"]} rounds of kill -9 while a program edits, keeps its draft and saves (seed {found["seed"]});
{found["died_in_a_call"]} of them just before, half way through or just after a call that writes. After each
round the file was read and the draft recovered, and both compared with the very projects that were made.

| what | figure |
|---|---|
| edits, saves, drafts found | {found["edits"]:,}, {found["saves"]}, {found["drafts_found"]} |
| files or drafts that could not be read | 0 |
| saves or drafts lost after they had been reported as done | 0 |
| oldest edit that was lost | {found["oldest_lost_s"]:.2f} s (2 s at most) |

"""


def bad_text(found: list[dict[str, Any]]) -> str:
    rows = "\n".join(
        f"| {one['case']} | {one['megabytes']:.1f} | {one['seconds']:.2f} | {one['mebibytes']:.0f} "
        f"| {one['said'].removeprefix('bad: ')[:70]} |"
        for one in found
    )
    worst_s, worst_mib = (max(one[key] for one in found) for key in ("seconds", "mebibytes"))
    return f"""## Bad input

The worst of each kind up to 60 MB, each in a process of its own. Required: refused within
{bad_input.MOST_S:g} s and {bad_input.MOST_MIB:g} MiB, libraries included. Worst: {worst_s:.2f} s and
{worst_mib:.0f} MiB. Seconds are of the processor, imports of libraries included. Tests hold more than
1,500 malformed projects, fuzz every reader, and require exit code 2 and a line a fault.

| file | MB | s | MiB | said |
|---|---|---|---|---|
{rows}

"""


def fuzz_text(found: list[dict[str, Any]]) -> str:
    rows = "\n".join(
        f"| {one['reader']} | {one['rounds']:,} | {one['refused']:,} | {one['read']:,} | {one['errors']} |"
        for one in found
    )
    rounds = sum(one["rounds"] for one in found)
    return f"""## Changed at random

{rounds:,} right files, each with one to four places overwritten, cut out, doubled or swapped (seed
{hostile.SEED}), were given to their readers. A file is read, or refused with a reason; anything else counts
as an error.

| file | rounds | refused | read | errors |
|---|---|---|---|---|
{rows}

"""


def tampered_text(found: dict[str, Any]) -> str:
    return f"""## Exported files that were changed

{found["tried"]} times a file of an export was changed ({", ".join(tampered.CHANGES)}).
The manifest's hashes did not notice {len(found["missed"])}.

"""


def geometry_text(found: dict[str, Any]) -> str:
    return f"""## Wrong geometry under a right hash

{found["tried"]} times the geometry in a file was changed with another library (bores, dogs and rims scaled,
turned and moved, thickness, mirrored or moved copies, lines added, hidden or removed) and the hash in the
manifest was renewed. Checked with the project, and with the manifest's figures alone: {len(found["missed"])}
passed.

"""


def forged_text(found: dict[str, Any]) -> str:
    return f"""## Manifests that lie

An export replaces and removes only files that the manifest in the folder names. {found["tried"]} forged
manifests named files elsewhere, a person's own files, folders, links and pipes, or had values that no export
writes: {len(found["wrong"])} were believed. The others ended in one line, with every file as it was.

"""


def names_text(found: dict[str, Any]) -> str:
    return f"""## Names that try to break out

{found["characters"]} characters that XML has no place for, that terminals obey or that change the direction
of writing: {found["let_through"]} were let through in a name; the others are refused with their place. A
machine with names full of markup, of other formats' commands and of formulas was exported:
{found["files"]} files, opened with lxml, lib3mf, ezdxf, pypdf and a CSV reader; {len(found["trouble"])}
complaints.

"""


def soak_text(found: dict[str, Any]) -> str:
    return f"""## An hour of editing

{found["events"]:,} random events in a window (edits, undo, drags, views closed and opened, dialogs, saves,
themes, files); 3,600 are an hour's worth, one a second.

| what | after the warm-up | at the end |
|---|---|---|
| memory | {found["warm_mib"]:.0f} MiB | {found["end_mib"]:.0f} MiB ({found["growth"]:+.1%}; 5 % at most) |
| Qt objects of the window | {found["warm_objects"]:,} | {found["end_objects"]:,} |
| errors | | {found["errors"]} |

"""


TEXTS: dict[str, Callable[[Any], str]] = {
    "kills": kills_text,
    "bad": bad_text,
    "fuzz": fuzz_text,
    "tampered": tampered_text,
    "geometry": geometry_text,
    "forged": forged_text,
    "names": names_text,
    "soak": soak_text,
}


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
    measured = [one for found in figures.values() for one in (found if isinstance(found, list) else [found])]
    return 0 if all(one.get("holds", True) for one in measured) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
