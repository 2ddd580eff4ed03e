"""The export of a project: examine it, make every part, prove each file, then put all in place at once.

Called by the command line and, in a process of its own, by the editor. Nothing is seen in the folder
until all of it is there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from core.errors import ExportError
from core.export import sheet, step
from core.export.changes import Changes, changes_since, kept_file
from core.export.formats import chosen_formats, planned_files
from core.export.manifest import (
    FileEntry,
    file_entry,
    kept_entry,
    manifest_bytes,
    manifest_of,
    owned_names,
    part_entry,
    read_manifest,
)
from core.export.order import Item, Order, Planned
from core.export.outcome import ExportResult, FaultyProjectError, ProofError
from core.export.staging import Staging, staging
from core.export.states import own_spans
from core.export.threemf import too_large
from core.findings import Finding, Severity, words
from core.model import Lane, Project, Stack
from core.progress import Progress, Share, Silent
from core.proof import DiscProof, ProofTask, prove
from core.report import Report, examine
from core.solids import Part, SolidError, coupon_part, disc_part, spacer_part
from core.solution import LaneSolution
from core.stack import discs_in_order, stack_plan
from core.wording import counted

NAMED = 3
"""This many findings or faults are named in one message; of the others it gives the number."""

SHAPED, PLACED = 0.2, 1.0
"""Fractions of the work at which all parts are shaped, and all files written."""


def export_project(
    project: Project | Report,
    out: Path,
    formats: Sequence[str] | None = None,
    *,
    only_changed: bool = False,
    despite_errors: bool = False,
    progress: Progress | None = None,
) -> ExportResult:
    """Write the parts of a project to a folder.

    formats: names of `core.export.formats.FORMATS`, all that exist if None. only_changed: leave the files
    of parts whose geometry is what it was as they are (the followers are run over them all the same).
    despite_errors: write what can be made although the project has errors. Raises FaultyProjectError,
    ProofError, Cancelled, or ExportError for all else; the folder then is as it was.
    """
    chosen = chosen_formats(formats)
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = project if isinstance(project, Report) else examine(project)
    if not despite_errors:
        _refuse_errors(report)
    order = _order(report, chosen, Share(progress, 0.05, SHAPED), despite_errors)
    with staging(out) as stage:
        return _write(order, stage, Share(progress, SHAPED, PLACED), only_changed)


def _refuse_errors(report: Report) -> None:
    errors = [finding for finding in report.findings if finding.severity is Severity.ERROR]
    if errors:
        named = _first([_sentence(finding, report.project) for finding in errors])
        raise FaultyProjectError(
            f"{counted(len(errors), 'error')} in the project, nothing was written: {named}"
        )


def _first(sentences: Sequence[str]) -> str:
    """Name the first few, and give the number of the others."""
    rest = f" and {len(sentences) - NAMED} more" if len(sentences) > NAMED else ""
    return f"{'; '.join(sentences[:NAMED])}{rest}"


def _sentence(finding: Finding, project: Project) -> str:
    told = words(finding, project)
    return f"{told.title} ({', '.join(filter(None, (told.lanes, told.where)))})"


def _order(report: Report, formats: tuple[str, ...], progress: Progress, despite_errors: bool) -> Order:
    """Gather the parts, stack by stack from the bottom; notes name what cannot be made."""
    project = report.project
    lanes = [lane for stack in project.stacks for lane in discs_in_order(project, stack)]
    items: list[Item] = []
    notes: list[str] = []
    for number, lane in enumerate(lanes):
        progress.report(number / len(lanes), f"Shaping {lane.label}")
        made = _disc(report, lane)
        if isinstance(made, Item):
            items.append(made)
        elif despite_errors:
            notes.append(made)
        else:
            raise FaultyProjectError(f"{made}; nothing was written")
    if not items:
        raise ExportError("there is no disc to export: no lane of the project makes one")
    items += [_whole(lambda: spacer_part(project, stack, count)) for stack, count in _spacers(project)]  # noqa: B023
    items += [_whole(lambda: coupon_part(project, stack)) for stack in _used(project)]  # noqa: B023
    notes += [note for item in items for note in item.part.notes] + too_large(project, items)
    order = Order(report, tuple(items), tuple(notes), formats)
    return replace(order, notes=(*order.notes, *step.notes(order), *sheet.notes(order)))


def _disc(report: Report, lane: Lane) -> Item | str:
    """Make one lane's disc, or say why it has none."""
    solved = report.solution.lanes[lane.id]
    if solved.profile is None or solved.motion is None:
        return f"no disc for {lane.label}: {_why(solved)}"
    try:
        part = disc_part(report.project, lane, solved.profile)
    except SolidError as error:
        return f"no disc for {lane.label}: {error}"
    return Item(part, solved.profile, own_spans(report.project, lane, solved.motion))


def _why(solved: LaneSolution) -> str:
    """Say why a lane has no motion or no profile."""
    if solved.no_profile is not None:
        return solved.no_profile.what
    if solved.no_motion is None:
        return "its motion is not computed"
    if solved.no_motion.reason == "clash":
        return "blocks of different levels overlap or touch"
    return solved.no_motion.what or "the lane has no block"


def _spacers(project: Project) -> Iterator[tuple[Stack, int]]:
    """Give the stacks that need spacers, and how many."""
    for stack in project.stacks:
        count = sum(layer.lane_id is None for layer in stack_plan(project, stack).layers)
        if count:
            yield stack, count


def _used(project: Project) -> Iterator[Stack]:
    """Give the stacks that carry discs."""
    return (stack for stack in project.stacks if discs_in_order(project, stack))


def _whole(make: Callable[[], Part]) -> Item:
    """Make a part that no follower runs on, or say why it cannot be made."""
    try:
        return Item(make(), None, ())
    except SolidError as error:
        raise ExportError(str(error)) from error


def _write(order: Order, stage: Staging, progress: Progress, only_changed: bool) -> ExportResult:
    """Write, prove and place all files."""
    before = read_manifest(stage.out)
    owned = owned_names(before, stage.out)
    changes = changes_since(before, order.items, stage.out)
    order = replace(order, fresh=changes.fresh) if only_changed else order
    planned = planned_files(order)
    kept = _kept(before, stage.out, planned, changes) if only_changed else {}
    stage.refuse_foreign([file.name for file in planned if file.name not in kept], owned)
    files, proofs = _make(planned, kept, stage, progress)
    notes = (*order.notes, *_judge(order, proofs))
    progress.report(1.0, "Putting the files in place")
    parts = [part_entry(item, files, proofs) for item in order.items]
    manifest = manifest_of(order.report.project.name, order.formats, parts, files, notes)
    kept_names = tuple(entry.name for entry in kept.values())
    stage.commit(manifest_bytes(manifest), owned.difference(kept_names))
    written = tuple(file.name for file in planned if file.name not in kept)
    return ExportResult(stage.out, written, kept_names, manifest, tuple(proofs), changes, notes)


def _kept(
    before: Mapping[str, object] | None, out: Path, planned: Sequence[Planned], changes: Changes
) -> dict[str, FileEntry]:
    """Give the old files that serve as well as planned ones, by the planned name."""
    found = ((file.name, kept_file(before, out, file, changes)) for file in planned)
    return {name: kept_entry(entry) for name, entry in found if entry is not None}


def _make(
    planned: Sequence[Planned], kept: Mapping[str, FileEntry], stage: Staging, progress: Progress
) -> tuple[list[FileEntry], list[DiscProof]]:
    """Make all files but the kept ones, and run the followers over all of them."""
    files: list[FileEntry] = []
    proofs: list[DiscProof] = []
    for number, file in enumerate(planned):
        progress.report(number / len(planned), f"Making {file.name}")
        entry = kept.get(file.name)
        if entry is None:
            data = _data(file, proofs)
            entry, path = file_entry(file, data), stage.write(file.name, data)
        else:
            path = stage.out / entry.name
        files.append(entry)
        if not (file.whole and file.name in kept):
            proofs += _proofs(file, entry.name, path)
    return files, proofs


def _data(file: Planned, proofs: Sequence[DiscProof]) -> bytes:
    try:
        return file.make() if file.make_proved is None else file.make_proved(tuple(proofs))
    except SolidError as error:
        raise ExportError(f"no file {file.name}: {error}") from error


def _proofs(file: Planned, name: str, path: Path) -> list[DiscProof]:
    """Read a file back and run the followers over it."""
    return [prove(name, _task(item, file), rim) for item, rim in file.rims(path)]


def _task(item: Item, file: Planned) -> ProofTask:
    if item.profile is None:
        raise ValueError(f"no follower runs on {item.part.code}")
    contour = item.part.contour_mm if file.corrected else 0.0
    return ProofTask(item.part.code, item.profile, item.spans, contour)


def _judge(order: Order, proofs: Sequence[DiscProof]) -> list[str]:
    """Raise ProofError unless every disc holds; a disc with errors of its own is noted instead.

    Such a disc is only here because the export was asked for despite them: an undercut disc cannot
    do what its program says, and the errors have said so.
    """
    errors = (finding for finding in order.report.findings if finding.severity is Severity.ERROR)
    faulty = {lane for finding in errors for lane in finding.lanes}
    lanes = {item.part.code: item.part.lane_id for item in order.items}
    failed = [proof for proof in proofs if proof.faults and lanes.get(proof.part) not in faulty]
    if failed:
        said = _first([fault for proof in failed for fault in proof.faults])
        place = (str(lanes[failed[0].part]), failed[0].fault_at_deg)
        raise ProofError(f"the files do not do what the program says, nothing was written: {said}", place)
    return [fault for proof in proofs for fault in proof.faults]
