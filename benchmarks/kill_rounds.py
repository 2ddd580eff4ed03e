"""Rounds of kill -9 while a program edits, keeps its draft and saves, each followed by recovery.

Run with `python -m benchmarks.kill_rounds [rounds] [seed]`. A child process does what the editor does,
without a window: edits, `Keeper`, `Versions`, `write_whole`. It dies either at a random moment, killed from
outside, or just before, half way through or just after a random call that writes (`write`, `fsync`,
`replace`, `unlink`). The parent then recovers as the next start does, compares with the very projects that
the child made, and the next round goes on from what was found. Nine rounds in ten keep the draft fifty times
as often as the editor does, so that many more writes are hit; the others keep it as the editor does, for up
to four seconds.

What must hold: the file always reads, and holds a project that was saved, no older than the last save that
was reported as done; a draft that was reported as kept is found; nothing older than two seconds is lost.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from itertools import count
from pathlib import Path
from typing import Any

from shaftscore.base.errors import EditError
from shaftscore.base.samples import sample_folder
from shaftscore.base.whole_files import write_whole
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Project
from shaftscore.model.base import replaced
from shaftscore.model.loader import load_project, read_project
from shaftscore.model.saved import saved_form
from shaftscore_app.keeping import Keeper, PersonStore
from shaftscore_app.keeping.journal import Head
from shaftscore_app.keeping.keeper import EVERY_S
from shaftscore_app.runtime.files import Stamp

MOST_LOST_S = 2.0
FAST_S = EVERY_S / 50
LONGEST_FAST_S, LONGEST_SLOW_S = 0.25, 4.0
CALLS = ("write", "fsync", "replace", "unlink")
SAMPLE = "tea_blender.shaft"


class LostError(AssertionError):
    """Something was lost that must not be."""


@dataclass
class KillFigures:
    """What the rounds came to."""

    rounds: int = 0
    died_in_a_call: int = 0
    edits: int = 0
    saves: int = 0
    drafts_found: int = 0
    edits_lost: int = 0
    oldest_lost_s: float = 0.0
    leftover_files: int = 0


def steps(start: Project, seed: int) -> Iterator[Project]:
    """Yield the projects of a round, the same for child and parent: each an edit of the one before."""
    chance, project = random.Random(seed), start
    for number in count(1):
        lane = chance.choice([lane for lane in project.lanes if lane.blocks])
        ref = BlockRef(lane.id, chance.randrange(len(lane.blocks)))
        with suppress(EditError):  # no room there: only the number is new
            project = apply_edit(
                project, "place_block", ref=ref, start_deg=chance.randrange(3600) / 10
            ).project
        project = replaced(project, notes=str(number))
        yield project


# The child


def work(place: Path, start: Project, seed: int, slow: bool, pipe: int) -> None:
    """Edit, keep and save until killed; reports through a pipe what is done. Never returns."""
    chance = random.Random(seed + 1)
    report = os.write
    store, file = PersonStore(place / "data"), place / "machine.shaft"
    keeper = Keeper(store.drafts, time.monotonic, every_s=EVERY_S if slow else FAST_S)
    if chance.random() < 0.5:
        die_in_a_call(chance)
    for number, project in enumerate(steps(start, seed), start=1):
        report(pipe, b"edit %d %f\n" % (number, time.monotonic()))
        stamp = Stamp.of(file)
        keeper.note(Head(file, file.name, stamp.digest if stamp else ""), project, "Move", number)
        keeper.tick()
        if not keeper.is_behind:
            report(pipe, b"kept %d\n" % number)
        if chance.random() < 0.2 and (sync := keeper.syncing()):
            sync()
        if chance.random() < (0.01 if slow else 0.05):
            store.versions.keep(file)
            write_whole(file, saved_form(project))
            report(pipe, b"saved %d\n" % number)
            keeper.forget()
        if slow:
            select.select([], [], [], 0.01)


def die_in_a_call(chance: random.Random) -> None:
    """Let the process die at a random call that writes: before it, half way through, or after it."""
    left = [chance.randrange(1, 40)]
    when = chance.choice(("before", "half", "after"))

    def dying(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **options: Any) -> Any:
            left[0] -= 1
            if left[0] > 0:
                return real(*arguments, **options)
            if when == "half" and name == "write":
                real(arguments[0], arguments[1][: len(arguments[1]) // 2])
            if when == "after":
                real(*arguments, **options)
            os.kill(os.getpid(), signal.SIGKILL)
            return None

        return call

    for name in CALLS:
        setattr(os, name, dying(name, getattr(os, name)))


# The parent


def killed(place: Path, start: Project, seed: int, slow: bool) -> tuple[list[list[str]], float, bool]:
    """Run a child and kill it; return what it reported, when it was dead, and whether it died in a call."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            work(place, start, seed, slow, writing)
        finally:
            os._exit(1)
    os.close(writing)
    chance = random.Random(seed + 2)
    end = time.monotonic() + chance.uniform(0, LONGEST_SLOW_S if slow else LONGEST_FAST_S)
    reported = read_reports(reading, end)
    died = time.monotonic()
    os.kill(child, signal.SIGKILL)
    reported += read_reports(reading, None)
    _, status = os.waitpid(child, 0)
    os.close(reading)
    if not os.WIFSIGNALED(status):
        raise LostError(f"round of seed {seed}: the child ended by itself, status {status}")
    lines = reported.decode().split("\n")[:-1]
    return [line.split() for line in lines], died, died < end


def read_reports(reading: int, until: float | None) -> bytes:
    """Read what is reported until a time, or to the end."""
    reported = b""
    while True:
        rest = None if until is None else max(0.0, until - time.monotonic())
        if until is not None and (rest == 0.0 or not select.select([reading], [], [], rest)[0]):
            return reported
        part = os.read(reading, 65536)
        if not part:
            return reported
        reported += part


def number_of(project: Project) -> int:
    return int(project.notes or 0)


def one_round(place: Path, start: Project, seed: int, slow: bool, figures: KillFigures) -> Project:
    """Kill a child, recover as the next start does, and give what was recovered."""
    store, file = PersonStore(place / "data"), place / "machine.shaft"
    before = load_project(file)
    reported, died, in_call = killed(place, start, seed, slow)
    edits = {int(words[1]): float(words[2]) for words in reported if words[0] == "edit"}
    last_kept = max((int(words[1]) for words in reported if words[0] in ("kept", "saved")), default=0)
    last_saved = max((int(words[1]) for words in reported if words[0] == "saved"), default=0)
    made = [start, *(project for project, _ in zip(steps(start, seed), range(len(edits) + 1), strict=False))]

    saved = load_project(file)
    number = number_of(saved) if saved != before else 0
    if number < last_saved or (number and saved != made[number]):
        raise LostError(f"seed {seed}: the file holds step {number}, {last_saved} was saved")
    found, project = number, made[number] if number else start
    for draft in store.drafts.left():
        kept = draft.kept
        if kept.project is None or kept.trouble:
            raise LostError(f"seed {seed}: a draft cannot be read: {kept.trouble}")
        if kept.project != made[kept.steps]:
            raise LostError(f"seed {seed}: the draft is not step {kept.steps}")
        figures.drafts_found += 1
        if kept.steps > found:
            found, project = kept.steps, kept.project
        draft.remove()
    if found < last_kept:
        raise LostError(f"seed {seed}: step {found} was found, {last_kept} was kept")
    lost = [at for step, at in edits.items() if step > found]
    oldest = died - min(lost, default=died)
    if oldest > MOST_LOST_S:
        raise LostError(f"seed {seed}: a step of {oldest:.2f} s before the end was lost")
    for version in store.versions.of(file):
        load_project(version.path)
    figures.rounds += 1
    figures.died_in_a_call += in_call
    figures.edits += len(edits)
    figures.saves += sum(words[0] == "saved" for words in reported)
    figures.edits_lost += len(lost)
    figures.oldest_lost_s = max(figures.oldest_lost_s, oldest)
    figures.leftover_files = max(figures.leftover_files, len(list(place.glob(".*.part"))))
    return replaced(project, notes="")


def run(rounds: int, seed: int, place: Path, slow_share: float = 0.1) -> KillFigures:
    """Run the rounds in an empty folder. Raises LostError where something was lost."""
    project = read_project((sample_folder() / SAMPLE).read_bytes(), SAMPLE)
    project = replaced(project, notes="")
    write_whole(place / "machine.shaft", saved_form(project))
    chance, figures = random.Random(seed), KillFigures()
    for number in range(rounds):
        project = one_round(place, project, seed * 10_000 + number * 3, chance.random() < slow_share, figures)
    return figures


def main() -> int:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as folder:
        figures = run(rounds, seed, Path(folder))
    print(json.dumps({"seed": seed, **asdict(figures)}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
