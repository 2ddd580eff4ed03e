"""The command line: check, table, export, verify, arrange, faults, demo, desktop, and the editor.

Exit codes: 0 well; 1 errors in the project (or a proof that failed); 2 bad input, usage or disk; 130
cancelled. Bad input goes to stderr, the file and the number of faults on the first line, then a line a
fault. What a command needs is imported inside it, so that each starts as fast as it can and none but the
editor loads Qt.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, ParamSpec

import typer

from shaftscore.base.errors import Cancelled, ProjectError, ShaftscoreError
from shaftscore.base.wording import did_you_mean
from shaftscore_app.runtime import memory

if TYPE_CHECKING:
    from shaftscore.model import Project
    from shaftscore.model.loader import LoadedProject

GOOD, FOUND_ERRORS, BAD, CANCELLED = 0, 1, 2, 130
"""Exit codes; see the module's text."""

EDIT = "edit"
"""The command behind `shaftscore [FILE]`."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Cam discs for machines in which one motor does everything. Without a command: the editor.",
    epilog=f"shaftscore [FILE] opens the editor. Exit codes: {GOOD} well, {FOUND_ERRORS} errors in the "
    f"project, {BAD} bad input, usage or disk, {CANCELLED} cancelled.",
)

FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="A project, *.shaft.", show_default=False)]


class Exit(Exception):  # noqa: N818 - an exit code on its way up, not a failure of the program
    """Ends the command with a code; its message goes to stderr."""

    def __init__(self, code: int, message: str) -> None:
        self.code = code
        super().__init__(message)


P = ParamSpec("P")


def _version(asked: bool) -> None:
    if not asked:
        return
    from importlib.metadata import PackageNotFoundError, version

    try:
        print(f"shaftscore {version('shaftscore')}")
    except PackageNotFoundError:
        print("shaftscore, run from a checkout")
    raise typer.Exit


@app.callback()
def options(
    _version: Annotated[
        bool, typer.Option("--version", help="Print the version and end.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Take the options that stand before a command."""


def ends(body: Callable[P, int]) -> Callable[P, None]:
    """Make a command end the process with the exit code that its body gives, or that its failure means."""

    @wraps(body)
    def run(*args: P.args, **options: P.kwargs) -> None:
        raise typer.Exit(exit_code_of(lambda: body(*args, **options)))

    return run


def exit_code_of(body: Callable[[], int]) -> int:
    """Run a command's body; its failures become one message on stderr and a code."""
    try:
        code = body()
        sys.stdout.flush()
    except (KeyboardInterrupt, Cancelled):
        print("Cancelled.", file=sys.stderr)
        return CANCELLED
    except BrokenPipeError:
        return _reader_gone()
    except (Exit, ShaftscoreError, OSError) as error:
        print(error, file=sys.stderr)
        return error.code if isinstance(error, Exit) else BAD
    return code


@app.command(EDIT, hidden=True)
@ends
def edit(file: Annotated[Path | None, typer.Argument(metavar="[FILE]")] = None) -> int:
    """Open the editor, with a project if one is named."""
    if file is not None and not file.exists():
        hint = did_you_mean(str(file), command_names())
        raise Exit(BAD, f"{file}: there is no such file or command{f'; {hint}' if hint else ''}")
    from shaftscore_app.cli.editor import open_editor  # loads Qt

    return open_editor(file)


@app.command()
@ends
def check(
    file: FileArgument,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    lanes: Annotated[
        str | None, typer.Option(metavar="ID,ID", help="Look at these lanes and the rules within them only.")
    ] = None,
) -> int:
    """Judge a project and print its findings; exit code 1 if some are errors."""
    from shaftscore.judge.findings import Severity
    from shaftscore.judge.report import examine
    from shaftscore_app.cli.checking import print_report

    loaded = _loaded_file(file)
    report = examine(loaded.project, lanes=_chosen(loaded.project, lanes))
    print_report(report, as_json=json, migrated=loaded.is_migrated)
    memory.set_aside()
    return FOUND_ERRORS if report.count(Severity.ERROR) else GOOD


@app.command()
@ends
def table(
    file: FileArgument,
    lane: Annotated[str, typer.Option(metavar="ID", help="The lane.")],
    every: Annotated[float, typer.Option(metavar="DEG", help="Step of the angle, degrees.")] = 1.0,
    cycle: Annotated[
        int | None,
        typer.Option(metavar="K", help="By the master's angle in this cycle; else by the stack's own angle."),
    ] = None,
) -> int:
    """Print a lane's motion, profile and loads by angle, as CSV."""
    import csv

    from shaftscore.make.table import TableError, angles, cycle_table, lane_table

    project = _loaded(file)
    (lane_id,) = _chosen(project, lane, single=True) or ()
    try:
        theta = angles(every)
    except TableError as error:
        raise Exit(BAD, f"--every: {error}") from error
    try:
        lines = (
            lane_table(project, lane_id, theta)
            if cycle is None
            else cycle_table(project, lane_id, cycle, theta)
        )
        csv.writer(sys.stdout, lineterminator="\n").writerows(lines)
    except TableError as error:
        raise Exit(FOUND_ERRORS, str(error)) from error
    return GOOD


@app.command()
@ends
def export(
    file: FileArgument,
    out: Annotated[Path, typer.Option(metavar="DIR", help="The folder for the files.")],
    formats: Annotated[
        str | None, typer.Option(metavar="NAMES", help="Formats, with commas; all if left out.")
    ] = None,
    only_changed: Annotated[
        bool, typer.Option("--only-changed", help="Write only what differs from what is in the folder.")
    ] = False,
    despite_errors: Annotated[
        bool, typer.Option("--despite-errors", help="Write although the project has errors.")
    ] = False,
) -> int:
    """Write the parts of a project, each file and the assembly of all parts proved against the program."""
    from shaftscore_app.cli.exporting import print_export

    project = _loaded(file)
    chosen = None if formats is None else _listed(formats, "--formats")
    return print_export(project, out, chosen, only_changed=only_changed, despite_errors=despite_errors)


@app.command()
@ends
def verify(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="A folder with exported files.", show_default=False)
    ],
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FILE]", help="The project that the files are compared with.", show_default=False
        ),
    ] = None,
    full: Annotated[
        bool,
        typer.Option(
            "--full",
            help="Compare lifts every 0.01° instead of every 0.1°, read every body by itself even where "
            "files hold the same one, and turn the assembly in 1° steps instead of looking at a few angles.",
        ),
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> int:
    """Compare exported files with their manifest and the program; exit code 1 if there are faults.

    Every file is compared with its hash, then read back: with FILE, all shapes, places and lifts against the
    project, and all parts together as they are assembled; without it, shapes and places against the figures
    in the manifest (program not compared).
    """
    from shaftscore_app.cli.verifying import print_verification

    project = None if file is None else _loaded(file)
    return print_verification(project, folder, full=full, as_json=json)


@app.command()
@ends
def arrange(
    file: FileArgument,
    out: Annotated[Path, typer.Option(metavar="FILE", help="The file for the arranged project.")],
    prefer: Annotated[
        str, typer.Option(metavar="AIM", help="Goal: margin, torque or least-change.")
    ] = "margin",
    seed: Annotated[
        int, typer.Option(metavar="N", min=0, max=2**31 - 1, help="The same seed gives the same answer.")
    ] = 0,
    *,
    may_change: Annotated[
        str,
        typer.Option(
            metavar="LIST",
            help="What may change: starts (start times), lengths (dwell lengths), order (order of steps), "
            "discs (disc sizes).",
        ),
    ] = "starts,lengths",
    keep_percent: Annotated[
        float,
        typer.Option(metavar="PERCENT", min=0, max=100, help="Least length of a dwell, of its drawn length."),
    ] = 50.0,
) -> int:
    """Place every block so that all rules hold, or say why that cannot be; exit code 1 if it cannot.

    Nothing worse than the project as drawn is written. Ctrl+C keeps the best found so far.
    """
    from shaftscore.placing import MayChange, aim_named
    from shaftscore_app.cli.arranging import print_arrangement

    project = _loaded(file)
    try:
        aim = aim_named(prefer)
    except ValueError as error:
        raise Exit(BAD, f"--prefer: {error}") from error
    try:
        may = MayChange.named(may_change.split(","), keep_percent)
    except ValueError as error:
        raise Exit(BAD, f"--may-change: {error}") from error
    if out.is_dir() or not out.resolve().parent.is_dir():
        raise Exit(BAD, f"--out: {out} is not a file in a folder that is there")
    return print_arrangement(project, out, aim, seed, may)


@app.command()
@ends
def faults(
    file: FileArgument,
    seen: Annotated[
        Path | None,
        typer.Option(metavar="CSV", help="What was seen; the faults that explain it are printed instead."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> int:
    """Print what likely building faults would look like, by the first step at which they show."""
    from shaftscore_app.cli.faults import print_causes, print_faults

    project = _loaded(file)
    if seen is None:
        print_faults(project, as_json=json)
    else:
        print_causes(project, seen, as_json=json)
    return GOOD


@app.command()
@ends
def demo(
    out: Annotated[Path, typer.Option(metavar="DIR", help="The folder for sample and discs.")] = Path(
        "shaftscore-demo"
    ),
) -> int:
    """Solve, check and export the shipped sample, then open it in the editor where there is a display."""
    from shaftscore_app.cli.demo import run_demo

    return run_demo(out)


@app.command()
@ends
def desktop(
    remove: Annotated[bool, typer.Option("--remove", help="Remove them again.")] = False,
) -> int:
    """Put the editor, its icon and the file type .shaft into your Linux desktop's menu."""
    from shaftscore_app.cli import desktop as entries

    change = entries.remove if remove else entries.install
    for path in change(entries.data_folder()):
        print(f"{'removed' if remove else 'written'}: {path}")
    return GOOD


def _loaded(file: Path) -> Project:
    """Read a project; Exit where it cannot be accepted."""
    return _loaded_file(file).project


def _loaded_file(file: Path) -> LoadedProject:
    """Read a project with the version of its file; Exit where it cannot be accepted."""
    from shaftscore.model.loader import load_file

    try:
        return load_file(file)
    except ProjectError as error:
        raise Exit(BAD, str(error)) from error
    except OSError as error:
        raise Exit(BAD, f"{file}: 1 fault\n{error.strerror or error}") from error


def _listed(text: str, option: str) -> tuple[str, ...]:
    names = tuple(name.strip() for name in text.split(","))
    if not all(names):
        raise Exit(BAD, f'{option}: names with commas between them are asked for, got "{text}"')
    return names


def _chosen(project: Project, text: str | None, *, single: bool = False) -> tuple[str, ...] | None:
    """Read lane ids; Exit for one that is not there."""
    if text is None:
        return None
    ids = (text,) if single else _listed(text, "--lanes")
    for lane_id in ids:
        if lane_id not in project.lane_index:
            hint = did_you_mean(lane_id, project.lane_index)
            raise Exit(BAD, f'there is no lane "{lane_id}"{f"; {hint}" if hint else ""}')
    return ids


def _with_command(arguments: Sequence[str]) -> list[str]:
    """Put the editor's command where none is named: `shaftscore [FILE]`."""
    if arguments and (arguments[0] in command_names() or arguments[0].startswith("-")):
        return list(arguments)
    return [EDIT, *arguments]


def command_names() -> list[str]:
    """Return the names of all commands."""
    commands = app.registered_commands
    return [str(command.name or getattr(command.callback, "__name__", "")) for command in commands]


def _reader_gone() -> int:
    """End quietly where the reader of our output went away (`shaftscore check ... | head`)."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return FOUND_ERRORS


def _utf8() -> None:
    """Write UTF-8 whatever the terminal says; a letter that cannot be written is replaced, never a crash."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")


def main() -> None:
    """Run the command line with the process's arguments and end with its exit code."""
    memory.start()
    _utf8()
    app(_with_command(sys.argv[1:]), prog_name="shaftscore")
