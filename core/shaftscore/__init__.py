"""Shaftscore's library: the model of a machine and what follows from it; Python and numpy, without Qt.

What this module offers is public: `load`, `save`, `examine`, `apply_edit`, `arrange`, `export`, `verify`,
`sample_folder`, and the classes of `__all__`. Everything else is internal and may change. A first look:

>>> import shaftscore
>>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
>>> report = shaftscore.examine(project)
>>> report.count(shaftscore.Severity.ERROR)
0

Whoever works on the library reads its rooms in the order in which a project is solved: `base`, `built`
(the physics of a machine as it is built), `model` (what the maker says), `edits` (how it changes),
`kinematics` (the output over the turn, and the disc that makes it), `solution`, `stack`, `judge` (what is
wrong with it), `placing` (where blocks could be) and `make` (the parts). None bears the name of a public
function, which it would replace once it is imported.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shaftscore.base.errors import Cancelled, EditError, ExportError, ProjectError, ShaftscoreError
    from shaftscore.base.progress import Progress
    from shaftscore.edits import BlockRef, Edited
    from shaftscore.judge.findings import Cure, Finding, Severity
    from shaftscore.judge.report import Report
    from shaftscore.make.exporting import ExportResult, FolderCheck
    from shaftscore.model import Block, Lane, Project, Shaft, Stack
    from shaftscore.placing import Aim, Arrangement, Refusal

_HOMES = {
    "Arrangement": "shaftscore.placing",
    "Block": "shaftscore.model",
    "BlockRef": "shaftscore.edits",
    "Cancelled": "shaftscore.base.errors",
    "Cure": "shaftscore.judge.findings",
    "EditError": "shaftscore.base.errors",
    "Edited": "shaftscore.edits",
    "ExportError": "shaftscore.base.errors",
    "ExportResult": "shaftscore.make.exporting",
    "Finding": "shaftscore.judge.findings",
    "FolderCheck": "shaftscore.make.exporting",
    "Lane": "shaftscore.model",
    "Progress": "shaftscore.base.progress",
    "Project": "shaftscore.model",
    "ProjectError": "shaftscore.base.errors",
    "Refusal": "shaftscore.placing",
    "Report": "shaftscore.judge.report",
    "Severity": "shaftscore.judge.findings",
    "Shaft": "shaftscore.model",
    "ShaftscoreError": "shaftscore.base.errors",
    "Stack": "shaftscore.model",
}
"""The module of each public class, imported when it is first asked for: the library then loads at once."""

__all__ = [
    "Arrangement",
    "Block",
    "BlockRef",
    "Cancelled",
    "Cure",
    "EditError",
    "Edited",
    "ExportError",
    "ExportResult",
    "Finding",
    "FolderCheck",
    "Lane",
    "Progress",
    "Project",
    "ProjectError",
    "Refusal",
    "Report",
    "Severity",
    "Shaft",
    "ShaftscoreError",
    "Stack",
    "apply_edit",
    "arrange",
    "examine",
    "export",
    "load",
    "sample_folder",
    "save",
    "verify",
]


def __getattr__(name: str) -> object:
    """Return a public class. Raises AttributeError for any other name."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def sample_folder() -> Path:
    """Return the folder of the sample projects.

    >>> import shaftscore
    >>> sorted(path.stem for path in shaftscore.sample_folder().glob("tea_*.shaft"))
    ['tea_blender', 'tea_blender_first_draft']
    """
    from shaftscore.base import samples

    return samples.sample_folder()


def load(path: Path | str) -> Project:
    """Return the project of a file. Raises ProjectError with all faults of the file, OSError from the disk.

    >>> import shaftscore
    >>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
    >>> project.name, len(project.lanes)
    ('Tea blender', 10)
    """
    from shaftscore.model import load_project

    return load_project(Path(path))


def save(project: Project, path: Path | str) -> None:
    """Write a project to a file, whole or not at all: a crash leaves the old file. Raises OSError.

    >>> import shaftscore, tempfile, pathlib
    >>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = pathlib.Path(folder) / "mine.shaft"
    ...     shaftscore.save(project, path)
    ...     shaftscore.load(path) == project
    True
    """
    from shaftscore.base.whole_files import write_whole
    from shaftscore.model import saved_form

    write_whole(Path(path), saved_form(project))


def examine(project: Project) -> Report:
    """Return what is known of a project: every lane solved, all findings, flow, loads, margin and chance.

    >>> import shaftscore
    >>> draft = shaftscore.load(shaftscore.sample_folder() / "tea_blender_first_draft.shaft")
    >>> report = shaftscore.examine(draft)
    >>> sorted({finding.rule for finding in report.findings if finding.severity is shaftscore.Severity.ERROR})
    ['overlap', 'pass-through', 'starvation']

    Arrays are at hand by lane: motion in mm by angle in degrees, the disc's outline (n, 2) in mm.

    >>> mint = report.solution.lanes["mint"]
    >>> mint.motion.at([0.0, 90.0, 180.0])[0].shape
    (3,)
    >>> mint.profile.outline().shape[1]
    2
    """
    from shaftscore.judge.report import examine as examined

    return examined(project)


def apply_edit(project: Project, name: str, /, **arguments: object) -> Edited:
    """Return a project with an edit made, by the edit's name; a finding's cure names one.

    Raises EditError if there is no edit of that name or it cannot be made.

    >>> import shaftscore
    >>> draft = shaftscore.load(shaftscore.sample_folder() / "tea_blender_first_draft.shaft")
    >>> report = shaftscore.examine(draft)
    >>> cure = next(finding.cure for finding in report.findings if finding.rule == "pass-through")
    >>> cured = shaftscore.apply_edit(draft, cure.edit, **cure.arguments).project
    >>> any(finding.rule == "pass-through" for finding in shaftscore.examine(cured).findings)
    False
    """
    from shaftscore import edits

    return edits.apply_edit(project, name, **arguments)


def arrange(
    project: Project, prefer: Aim = "margin", seed: int = 0, progress: Progress | None = None
) -> Arrangement | Refusal:
    """Return placements of all blocks that hold every rule, or why there are none.

    prefer: what comes first, "margin", "torque" or "least-change". seed: the same seed gives the same
    answer. Raises placing.ArrangeError where a lane cannot be arranged, Cancelled if `progress` does.

    >>> import shaftscore
    >>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
    >>> found = shaftscore.arrange(project, prefer="least-change")
    >>> isinstance(found, shaftscore.Arrangement)
    True
    """
    from shaftscore import placing

    return placing.arrange(project, prefer, seed, progress)


def export(
    project: Project,
    folder: Path | str,
    formats: Sequence[str] | None = None,
    *,
    despite_errors: bool = False,
    progress: Progress | None = None,
) -> ExportResult:
    """Write the parts of a project to a folder, each file read back and proved.

    formats: some of "3mf", "stl", "step", "dxf", "svg", "csv", "manual" (or "pdf"); if None, all that can be
    written here.
    despite_errors: write what can be made although the project has errors. Raises ExportError, Cancelled;
    the folder is then as it was.

    >>> import shaftscore, tempfile
    >>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     written = shaftscore.export(project, folder, ["dxf"])
    ...     sorted(file for file in written.files if file.startswith("A1"))
    ['A1-K_bracket-of-assam.dxf', 'A1-L_lever-of-assam.dxf', 'A1_assam.dxf']
    """
    from shaftscore.make import exporting

    return exporting.export_project(
        project, Path(folder), formats, despite_errors=despite_errors, progress=progress
    )


def verify(folder: Path | str, project: Project | None = None, *, full: bool = False) -> FolderCheck:
    """Compare the files of an earlier export with their hashes, and their parts with a project.

    project: what the parts should be and do; None compares with what the manifest records. full: at the
    finest step. Raises ExportError if there is no export in the folder.

    >>> import shaftscore, tempfile
    >>> project = shaftscore.load(shaftscore.sample_folder() / "tea_blender.shaft")
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = shaftscore.export(project, folder, ["dxf"])
    ...     shaftscore.verify(folder, project).faults
    ()
    """
    from shaftscore.make import exporting

    return exporting.check_folder(project, Path(folder), full=full)
