"""The export of a project: examine it, make every part, prove each file, then put all in place at once.

Called by the command line and, in a process of its own, by the editor. Nothing is seen in the folder
until all of it is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from shaftscore.base.beside import Alone, Beside
from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.base.wording import counted
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import Report, examine, verdict_json, verdict_lines
from shaftscore.make.assembly import AssemblyProof, assembly_json, assembly_of
from shaftscore.make.exporting.changes import Changes, changes_since, kept_file
from shaftscore.make.exporting.formats import (
    FORMATS,
    chosen_formats,
    format_named,
    planned_files,
    planned_for,
)
from shaftscore.make.exporting.gather import gather
from shaftscore.make.exporting.left import LeftFiles, left_files, program_hash, superseded
from shaftscore.make.exporting.manifest import (
    FileEntry,
    copies_of,
    entry_of,
    estimates_entry,
    file_entry,
    findings_by_code,
    kept_entry,
    manifest_bytes,
    manifest_of,
    owned_names,
    part_entry,
    read_manifest,
    serves_printer,
)
from shaftscore.make.exporting.outcome import (
    AnotherMachineError,
    ExportResult,
    FaultyProjectError,
    ProofError,
    RemovedFile,
)
from shaftscore.make.exporting.owner import refuse_another
from shaftscore.make.exporting.parts import PartMaker, WrittenFile, single_files
from shaftscore.make.exporting.proved import ProvedMaker
from shaftscore.make.exporting.reading import verdict_of
from shaftscore.make.exporting.staging import Staging, staging
from shaftscore.make.files.estimate import PrintEstimate
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.proof import DiscProof, FileVerdict, FitProof, Judge
from shaftscore.make.solids import SolidError
from shaftscore.model import Project

NAMED = 3
"""This many findings or faults are named in one message; of the others it gives the number."""

SHAPED, PLACED = 0.2, 1.0
"""Fractions of the work at which all parts are shaped, and all files written."""

PARTS_SHARE = 0.5
"""Fraction of the work on the files at which those of single parts are made and read back."""

MADE_SHARE = 0.7
"""Fraction of the work on the files at which all but the last are made and read back."""

PROVED_SHARE = 0.3
"""Fraction of the rest at which the assembly is proved; then the files that state it are made."""


def export_project(
    project: Project | Report,
    out: Path,
    formats: Sequence[str] | None = None,
    *,
    only_changed: bool = False,
    despite_errors: bool = False,
    replace_other: bool = False,
    progress: Progress | None = None,
    beside: Beside | None = None,
) -> ExportResult:
    """Write the parts of a project to a folder.

    formats: names of `make.exporting.formats.FORMATS`, all that exist if None. only_changed: leave the files
    of parts whose geometry is what it was as they are (the followers are run over them all the same).
    despite_errors: write what can be made although the project has errors. replace_other: another machine's
    export that is in the folder gives way. beside: where files of single parts, and manuals, are made,
    here if None. Raises FaultyProjectError, AnotherMachineError, ProofError, Cancelled, or ExportError for
    all else; the folder then is as it was.
    """
    chosen = chosen_formats(formats)
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = project if isinstance(project, Report) else examine(project)
    if not despite_errors:
        _refuse_errors(report)
    order = gather(report, chosen, Share(progress, 0.05, SHAPED), despite_errors)
    with staging(out) as stage:
        how = _How(beside or Alone(), only_changed, despite_errors, replace_other)
        return _write(order, stage, Share(progress, SHAPED, PLACED), how)


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
    said = words(finding, project)
    place = ", ".join(filter(None, (said.lanes, said.where)))
    return f"{said.title} ({place})" if place else f"{said.title}: {said.what}"


@dataclass(frozen=True)
class _How:
    """How files are written, as `export_project` was called."""

    beside: Beside
    only_changed: bool
    despite_errors: bool
    replace_other: bool


def _write(order: MakeOrder, stage: Staging, progress: Progress, how: _How) -> ExportResult:
    """Write, prove and place all files."""
    before = read_manifest(stage.out)
    owned = owned_names(before, stage.out)
    other = _other(before, order, stage, how.replace_other)
    before = None if other is not None else before
    changes = changes_since(before, order.items, stage.out)
    order = replace(order, fresh=changes.fresh) if how.only_changed else order
    planned = planned_files(order)
    kept = _kept(before, stage.out, planned, changes) if how.only_changed else {}
    stage.refuse_foreign([file.name for file in planned if file.name not in kept], owned)
    left = left_files(before, stage.out, order, changes)
    made = _Making(order, stage, kept, how)
    made.make_parts(planned, Share(progress, 0.0, PARTS_SHARE))
    made.make_all(planned, Share(progress, PARTS_SHARE, MADE_SHARE))
    notes = (*order.notes, *_judge(order, made.verdicts))
    assembly = made.make_last(planned, Share(progress, MADE_SHARE, 1.0))
    notes = (*notes, *_judge_assembly(order, assembly))
    progress.report(1.0, "Putting the files in place")
    removed = _removed(other or (), left, superseded(before, stage.out, order, made.files), made.files)
    proofs = (*made.proofs, *left.proofs)
    verdict = FileVerdict(proofs=proofs, fits=made.fits)
    together = None if assembly is None else assembly_json(assembly)
    manifest = _manifest(order, [*made.files, *left.kept], verdict, notes, removed) | {"assembly": together}
    kept_names = tuple(entry.name for entry in made.kept.values())
    stage.commit(manifest_bytes(manifest), owned.difference(kept_names, left.names))
    written = tuple(file.name for file in planned if file.name not in made.kept)
    return ExportResult(
        out=stage.out,
        files=written,
        kept=kept_names,
        manifest=manifest,
        proofs=proofs,
        changes=changes,
        notes=notes,
        left=left.names,
        removed=removed,
        verdict=verdict_lines(order.report),
        fits=made.fits,
        assembly=assembly,
    )


def _other(
    before: Mapping[str, object] | None, order: MakeOrder, stage: Staging, replace_other: bool
) -> tuple[RemovedFile, ...] | None:
    """Return the files of another machine that go, None if there is none.

    Raises AnotherMachineError unless replace_other.
    """
    try:
        refuse_another(before, order.report.project, order.items, stage.out)
    except AnotherMachineError as error:
        if not replace_other:
            raise
        why = f'it belongs to the other machine, "{error.theirs}"'
        there = sorted(name for name in owned_names(before, stage.out) if (stage.out / name).exists())
        return tuple(RemovedFile(name, why) for name in there)
    return None


def _removed(
    other: Sequence[RemovedFile],
    left: LeftFiles,
    given_way: Iterable[RemovedFile],
    files: Sequence[FileEntry],
) -> tuple[RemovedFile, ...]:
    """Return what goes, without names that are written again."""
    names = {file.name for file in files}
    return tuple(file for file in (*other, *left.removed, *given_way) if file.name not in names)


def _manifest(
    order: MakeOrder,
    files: Sequence[FileEntry],
    verdict: FileVerdict,
    notes: Sequence[str],
    removed: Sequence[RemovedFile],
) -> dict[str, object]:
    there = {*order.formats, *(format_named(file.format) for file in files)}
    found = findings_by_code(files, verdict)
    return manifest_of(
        order.report.project.name,
        [name for name in FORMATS if name in there],
        [part_entry(item, found[item.part.code], _need(order, item)) for item in order.items],
        files,
        notes,
        program=program_hash(order),
        removed=removed,
        verdict=verdict_json(order.report),
        fits=[found.recorded() for found in order.stack_fits],
        estimates=estimates_entry(order),
    )


def _need(order: MakeOrder, item: OrderedPart) -> PrintEstimate | None:
    """Return what a part needs on a printer, None if no file of the order serves one."""
    return item.estimate(order.report.project) if serves_printer(order) else None


def _kept(
    before: Mapping[str, object] | None, out: Path, planned: Sequence[Planned], changes: Changes
) -> dict[str, FileEntry]:
    """Return the old files that serve as well as planned ones, by the planned name."""
    found = ((file.name, kept_file(before, out, file, changes)) for file in planned)
    return {name: kept_entry(entry) for name, entry in found if entry is not None}


class _Making:
    """Files being made and judged; kept: old files that still serve, by planned name."""

    def __init__(self, order: MakeOrder, stage: Staging, kept: Mapping[str, FileEntry], how: _How) -> None:
        self.kept = dict(kept)
        self.files: list[FileEntry] = []
        self.verdicts: list[FileVerdict] = []
        self._order, self._stage, self._how, self._judge = order, stage, how, Judge()
        self._written: dict[str, WrittenFile] = {}

    @property
    def proofs(self) -> tuple[DiscProof, ...]:
        """What the followers found so far."""
        return tuple(proof for verdict in self.verdicts for proof in verdict.proofs)

    @property
    def fits(self) -> tuple[FitProof, ...]:
        """What was found of the fits so far."""
        return tuple(fit for verdict in self.verdicts for fit in verdict.fits)

    def make_parts(self, planned: Sequence[Planned], progress: Progress) -> None:
        """Make the files of single parts, but those that are kept, and judge them."""
        files = single_files([file for file in planned if file.name not in self.kept])
        order = self._order
        with_bodies = serves_printer(order) and order.fresh is None
        items = list(order.items if with_bodies else files)
        own = [files.get(item, []) for item in items]
        maker = PartMaker(order.report.project, items, own, self._stage.folder, with_bodies, self._judge)
        progress.report(0.0, "Making the parts")
        for number, made in enumerate(self._how.beside.each(maker, len(items)), start=1):
            maker.take(made)
            self._written |= {file.name: file for file in made.files}
            progress.report(number / len(items), f"Making {items[made.number].part.code}")

    def make_all(self, planned: Sequence[Planned], progress: Progress) -> None:
        """Make all files but those that are kept or made, or are made last, and judge all of them."""
        for number, file in enumerate(planned):
            progress.report(number / len(planned), f"Making {file.name}")
            self._keep(file)
            written = self._written.get(file.name)
            if written is not None:
                self._stage.added(file.name)
                self.files.append(entry_of(file, written.bytes, written.sha256))
                self.verdicts.append(written.verdict)
            elif file.name not in self.kept and file.make_proved is None:
                self._write(file, _data(file))

    def make_last(self, planned: Sequence[Planned], progress: Progress) -> AssemblyProof | None:
        """Prove the assembly of what was read back, at a few angles, and make the files that state proofs.

        Returns None where nothing was read back.
        """
        files = [file for file in planned if file.make_proved is not None and file.name not in self.kept]
        maker = ProvedMaker(self._order, files, self.proofs, self.fits, self._how.despite_errors)
        found: list[AssemblyProof | None] = []
        made: dict[int, bytes] = {}

        def report() -> None:
            left = [file.name for number, file in enumerate(files) if number not in made]
            if left:
                progress.report(
                    PROVED_SHARE + (1 - PROVED_SHARE) * len(made) / len(files), f"Making {left[0]}"
                )

        def prove() -> None:
            share = Share(progress, 0.0, PROVED_SHARE)
            found.append(assembly_of(self._order, self._judge.bodies, self.fits, share))
            report()

        for number, data in self._how.beside.each(maker, len(files), prove):
            made[number] = data
            report()
        for number, file in enumerate(files):
            self._write(file, made[number])
        names = [self.kept[file.name].name if file.name in self.kept else file.name for file in planned]
        place = {name: number for number, name in enumerate(names)}
        self.files.sort(key=lambda entry: place[entry.name])
        return found[0]

    def _write(self, file: Planned, data: bytes) -> None:
        """Write a file, read it back and judge it."""
        path = self._stage.write(file.name, data)
        self.files.append(file_entry(file, data))
        self.verdicts.append(verdict_of(file, path, self._order.items, self._judge, own=True))

    def _keep(self, file: Planned) -> None:
        """Keep an old file if it holds; one that does not is remade."""
        entry = self.kept.get(file.name)
        if entry is None:
            return
        try:
            old = planned_for(self._order, file.format, entry.name, entry.parts)
            verdict = verdict_of(old, self._stage.out / entry.name, self._order.items, self._judge)
        except ExportError:
            verdict = None
        if verdict is None or verdict.faults:
            del self.kept[file.name]
            return
        self.files.append(replace(entry, copies=entry.copies or copies_of(old)))
        self.verdicts.append(verdict)


def _data(file: Planned) -> bytes:
    try:
        return file.make()
    except SolidError as error:
        raise ExportError(f"no file {file.name}: {error}") from error


def _judge(order: MakeOrder, verdicts: Sequence[FileVerdict]) -> list[str]:
    """Raise ProofError unless every file holds; a disc with errors of its own is noted instead.

    Such a disc is only here because the export was asked for despite them: an undercut disc cannot
    do what its program says, and the errors have said so.
    """
    faulty = _faulty(order)
    lanes = {item.part.code: item.part.lane_id for item in order.items}
    faults = [fault for verdict in verdicts for fault in verdict.faults]
    failed = [fault for fault in faults if lanes.get(fault.part) not in faulty]
    if failed:
        said = _first([fault.text for fault in failed])
        place = _place(failed[0].part, lanes, verdicts)
        raise ProofError(f"the files do not do what the program says, nothing was written: {said}", place)
    return [fault.text for fault in faults]


def _faulty(order: MakeOrder) -> set[str]:
    """Return the ids of lanes with errors of their own."""
    errors = (finding for finding in order.report.findings if finding.severity is Severity.ERROR)
    return {lane for finding in errors for lane in finding.lanes}


def _judge_assembly(order: MakeOrder, assembly: AssemblyProof | None) -> list[str]:
    """Raise ProofError unless the parts go together; a fault of lanes with errors of their own is noted."""
    faults = () if assembly is None else assembly.faults
    faulty = _faulty(order)
    failed = [fault for fault in faults if not faulty.intersection(fault.lanes)]
    if failed:
        said = _first([fault.what for fault in failed])
        first = failed[0]
        place = None
        if first.lanes and first.worst_deg is not None:
            lane = order.report.solution.lanes[first.lanes[0]]
            place = lane.lane.id, lane.course.own_at(first.worst_deg / float(lane.course.cycles))
        raise ProofError(f"the parts do not go together, nothing was written: {said}", place)
    return [fault.what for fault in faults]


def _place(
    code: str, lanes: Mapping[str, str | None], verdicts: Sequence[FileVerdict]
) -> tuple[str, float] | None:
    """Find the lane of a part and the angle at which its follower first goes wrong, if it does."""
    proofs = (proof for verdict in verdicts for proof in verdict.proofs if proof.faults)
    wrong = next((proof for proof in proofs if proof.part == code), None)
    return None if wrong is None else (str(lanes[code]), wrong.fault_at_deg)
