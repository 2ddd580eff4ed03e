"""The export of a project: examine it, make every disc, prove each file, then put all in place at once.

Called by the command line and, in a process of its own, by the editor. Nothing is seen in the folder
until all of it is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from core.angles import Arcs
from core.errors import ExportError
from core.export.formats import FORMATS, chosen_formats
from core.export.manifest import (
    FileEntry,
    PartEntry,
    file_entry,
    geometry_hash,
    manifest_bytes,
    manifest_of,
    owned_names,
    proof_entry,
    read_manifest,
)
from core.export.names import file_stem
from core.export.outcome import ExportResult, FaultyProjectError, ProofError
from core.export.staging import Staging, staging
from core.export.states import own_spans
from core.findings import Finding, Severity, words
from core.model import Lane, Project
from core.profiles import Profile
from core.progress import Progress, Share, Silent
from core.proof import DiscProof, ProofTask, prove
from core.report import Report, examine
from core.solids import DiscPart, SolidError, disc_part
from core.solution import LaneSolution
from core.stack import discs_in_order
from core.tolerance import CHORD_MM
from core.wording import counted

NAMED = 3
"""This many findings or files are named in one message; of the others it gives the number."""


@dataclass(frozen=True)
class _Job:
    """A disc to make: its lane, part, profile and what its files are held against."""

    lane: Lane
    part: DiscPart
    profile: Profile
    spans: tuple[Arcs, ...]

    @property
    def stem(self) -> str:
        return file_stem(self.part.code, self.lane.name)


@dataclass(frozen=True)
class _Order:
    """All that is to be written: the discs, in which formats, and what was noted on the way."""

    report: Report
    jobs: tuple[_Job, ...]
    notes: tuple[str, ...]
    formats: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all files, part by part."""
        return tuple(_name(job, kind) for job in self.jobs for kind in self.formats)


def export_project(
    project: Project | Report,
    out: Path,
    formats: Sequence[str] | None = None,
    *,
    despite_errors: bool = False,
    progress: Progress | None = None,
) -> ExportResult:
    """Write the parts of a project to a folder.

    formats: names of `core.export.formats.FORMATS`, all that exist if None. despite_errors: write what
    can be made although the project has errors. Raises FaultyProjectError, ProofError, Cancelled, or
    ExportError for all else; the folder then is as it was.
    """
    chosen = chosen_formats(formats)
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = project if isinstance(project, Report) else examine(project)
    if not despite_errors:
        _refuse_errors(report)
    jobs, notes = _jobs(report, Share(progress, 0.05, 0.2), despite_errors)
    if not jobs:
        raise ExportError("there is no disc to export: no lane of the project makes one")
    with staging(out) as stage:
        return _write(_Order(report, tuple(jobs), tuple(notes), chosen), stage, Share(progress, 0.2, 1.0))


def _refuse_errors(report: Report) -> None:
    errors = [finding for finding in report.findings if finding.severity is Severity.ERROR]
    if errors:
        named = [_sentence(finding, report.project) for finding in errors[:NAMED]]
        rest = f" and {len(errors) - NAMED} more" if len(errors) > NAMED else ""
        raise FaultyProjectError(
            f"{counted(len(errors), 'error')} in the project, nothing was written: {'; '.join(named)}{rest}"
        )


def _sentence(finding: Finding, project: Project) -> str:
    told = words(finding, project)
    return f"{told.title} ({', '.join(filter(None, (told.lanes, told.where)))})"


def _jobs(report: Report, progress: Progress, despite_errors: bool) -> tuple[list[_Job], list[str]]:
    """Gather the discs, stack by stack from the bottom; notes name what cannot be made."""
    project = report.project
    lanes = [lane for stack in project.stacks for lane in discs_in_order(project, stack)]
    jobs: list[_Job] = []
    notes: list[str] = []
    for number, lane in enumerate(lanes):
        progress.report(number / len(lanes), f"Shaping {lane.label}")
        made = _job(report, lane)
        if isinstance(made, _Job):
            jobs.append(made)
            notes += made.part.notes
        elif despite_errors:
            notes.append(made)
        else:
            raise FaultyProjectError(f"{made}; nothing was written")
    return jobs, notes


def _job(report: Report, lane: Lane) -> _Job | str:
    """Make one lane's job, or say why it has no disc."""
    solved = report.solution.lanes[lane.id]
    if solved.profile is None or solved.motion is None:
        return f"no disc for {lane.label}: {_why(solved)}"
    try:
        part = disc_part(report.project, lane, solved.profile, CHORD_MM)
    except SolidError as error:
        return f"no disc for {lane.label}: {error}"
    return _Job(lane, part, solved.profile, own_spans(report.project, lane, solved.motion))


def _why(solved: LaneSolution) -> str:
    """Say why a lane has no motion or no profile."""
    if solved.no_profile is not None:
        return solved.no_profile.what
    if solved.no_motion is None:
        return "its motion is not computed"
    if solved.no_motion.reason == "clash":
        return "blocks of different levels overlap or touch"
    return solved.no_motion.what or "the lane has no block"


def _write(order: _Order, stage: Staging, progress: Progress) -> ExportResult:
    """Write, prove and place all files."""
    owned = owned_names(read_manifest(stage.out), stage.out)
    stage.refuse_foreign(order.names, owned)
    files: list[FileEntry] = []
    parts: list[PartEntry] = []
    proofs: list[DiscProof] = []
    for number, job in enumerate(order.jobs):
        progress.report(number / len(order.jobs), f"Making {job.lane.label}")
        own_files, own_proofs = _write_part(job, order.formats, stage)
        files += own_files
        proofs += own_proofs
        parts.append(_part_entry(job, own_files, own_proofs))
    notes = (*order.notes, *_judge(order, proofs))
    progress.report(1.0, "Putting the files in place")
    manifest = manifest_of(order.report.project.name, order.formats, parts, files, notes)
    stage.commit(manifest_bytes(manifest), owned)
    return ExportResult(stage.out, order.names, manifest, tuple(proofs), notes)


def _name(job: _Job, kind: str) -> str:
    return f"{job.stem}.{FORMATS[kind].extension}"


def _write_part(job: _Job, formats: Sequence[str], stage: Staging) -> tuple[list[FileEntry], list[DiscProof]]:
    """Write a disc in every format, then read each file back and run the follower over it."""
    files: list[FileEntry] = []
    proofs: list[DiscProof] = []
    for kind in formats:
        row, name = FORMATS[kind], _name(job, kind)
        try:
            data = row.write(job.part)
        except SolidError as error:
            raise ExportError(f"no file {name}: {error}") from error
        path = stage.write(name, data)
        files.append(file_entry(name, kind, data))
        task = ProofTask(job.profile, job.spans, job.part.contour_mm if row.corrected else 0.0)
        proofs.append(prove(name, task, row.read(path, job.part)))
    return files, proofs


def _part_entry(job: _Job, files: Sequence[FileEntry], proofs: Sequence[DiscProof]) -> PartEntry:
    return PartEntry(
        lane=job.lane.id,
        code=job.part.code,
        name=job.lane.name,
        stack=job.part.stack_id,
        hash=geometry_hash(job.part, job.profile),
        files=tuple(file.name for file in files),
        proof=tuple(proof_entry(proof) for proof in proofs),
    )


def _judge(order: _Order, proofs: Sequence[DiscProof]) -> list[str]:
    """Raise ProofError unless every file holds; a disc with errors of its own is noted instead.

    Such a disc is only here because the export was asked for despite them: an undercut disc cannot
    do what its program says, and the errors have said so.
    """
    errors = (finding for finding in order.report.findings if finding.severity is Severity.ERROR)
    faulty = {lane for finding in errors for lane in finding.lanes}
    excused = {_name(job, kind) for job in order.jobs if job.lane.id in faulty for kind in order.formats}
    failed = [fault for proof in proofs if proof.file not in excused for fault in proof.faults]
    if failed:
        rest = f" and {len(failed) - NAMED} more" if len(failed) > NAMED else ""
        raise ProofError(
            "the files do not do what the program says, nothing was written: "
            f"{'; '.join(failed[:NAMED])}{rest}"
        )
    return [fault for proof in proofs for fault in proof.faults]
