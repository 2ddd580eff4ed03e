"""The demonstration: the shipped sample, solved, checked and exported, then opened in the editor."""

from __future__ import annotations

from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import examine
from shaftscore.model.loader import load_project
from shaftscore_app.cli.checking import report_lines
from shaftscore_app.cli.editor import open_editor, why_no_editor
from shaftscore_app.cli.exporting import print_export

SAMPLE = "tea_blender.shaft"
"""The sample that is shown."""


def run_demo(out: Path) -> int:
    """Copy the sample to `out`, check it, export its discs beside it, and open it.

    Gives 0 where there is no display or no Qt (with one line that says so); else the code of what went
    wrong, or the editor's.
    """
    file = copied_sample(out)
    report = examine(load_project(file))
    for text, _ in report_lines(report):
        print(text)
    code = print_export(report, out / "discs", None)
    if code:
        return code
    reason = why_no_editor()
    if reason:
        print(f"{reason} The project: {file}")
        return 0
    return open_editor(file)


def copied_sample(out: Path) -> Path:
    """Copy the sample into the folder, which is made if need be; a copy that is there stays.

    Raises ExportError with one line where the disk refuses.
    """
    data = (sample_folder() / SAMPLE).read_bytes()
    file = out / SAMPLE
    try:
        out.mkdir(parents=True, exist_ok=True)
        if not file.exists():
            file.write_bytes(data)
    except OSError as error:
        raise ExportError(f"{file}: {error.strerror or error}") from error
    return file
