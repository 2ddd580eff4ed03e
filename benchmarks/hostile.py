"""Names that try to break out of files, and bytes that try to break readers.

Run with `python -m benchmarks.hostile [rounds]`. *Names*: each character that no text may hold is refused
with its place, and a machine of hostile names is exported in every format and opened by other libraries.
*Fuzz*: right files with some of their bytes changed, cut, doubled or swapped, for every reader; each is read
or refused, and anything else counts as an error.
"""

from __future__ import annotations

import csv
import json
import random
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from benchmarks.bad_input import READERS
from shaftscore.base.errors import ProjectError, ShaftscoreError
from shaftscore.edits.state_table import read_sheet, split_text
from shaftscore.make.asbuilt.pasted import read_rows
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.manifest import owned_names, read_manifest
from shaftscore.model import Block, Lane, Project, Shaft
from shaftscore.model.loader import load_project, read_project
from shaftscore.model.project import FORMAT, VERSION

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "sample_projects" / "paper_theatre.shaft"
ROUNDS, SEED = 2_000, 5
"""Rounds of each reader."""

CONTROLS = [*range(0x09), 0x0B, 0x0C, *range(0x0E, 0x20), *range(0x7F, 0xA0), 0xFFFE, 0xFFFF]
DIRECTIONS = [0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
"""Unicode 15.1, PropList.txt, property Bidi_Control."""

NAMES = (
    "</title><script>alert(1)</script>",
    "]]><![CDATA[ &amp; &#0; <?pi?>",
    "a\n  0\nLINE\n  8\ncut\n  0\nEOF",
    ") Tj ET Q endstream endobj (",
    "%%uCAD \\P{\\H99;x} \\U+0041",
    "\U0001fffe \ue000 \ufeff\u2028",
    "=HYPERLINK(1)",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "x" * 200,
)


@dataclass(frozen=True)
class NamesFound:
    """characters: tried. let_through: of those. files: exported and opened. trouble: what did not open."""

    characters: int
    let_through: int
    files: int
    trouble: tuple[str, ...]


@dataclass(frozen=True)
class FuzzFound:
    """Rounds of one reader: how many files were refused, read, and answered with anything else."""

    reader: str
    rounds: int
    refused: int
    read: int
    errors: int


def names_survey() -> NamesFound:
    """Try every refused character, then export hostile names and open what was written."""
    passed = sum(not _is_refused(chr(code)) for code in CONTROLS + DIRECTIONS)
    raw = json.loads(SAMPLE.read_bytes())
    for lane, name in zip(raw["lanes"], NAMES, strict=False):
        lane["name"] = lane["group"] = name
    raw["name"] = NAMES[0]
    rest = NAMES[len(raw["lanes"]) :]
    raw["stacks"][0]["name"] = rest[0] if rest else NAMES[0]
    project = read_project(json.dumps(raw).encode(), "hostile")
    with tempfile.TemporaryDirectory() as folder:
        export_project(project, Path(folder), ["3mf", "dxf", "svg", "csv", "pdf"], despite_errors=True)
        made = sorted(path for path in Path(folder).iterdir() if path.name != "manifest.json")
        trouble = tuple(f"{path.name}: {why}" for path in made for why in _trouble(path))
    return NamesFound(len(CONTROLS + DIRECTIONS), passed, len(made), trouble)


def _is_refused(letter: str) -> bool:
    raw = {"format": "shaftscore-project", "version": 1, "shaft": {"turn": "clockwise", "speed_rpm": 6}}
    try:
        read_project(json.dumps({**raw, "name": f"a{letter}"}).encode(), "name")
    except ProjectError as error:
        return error.faults[0].path == "name" and f"U+{ord(letter):04X}" in str(error)
    return False


def _trouble(path: Path) -> Iterator[str]:
    try:
        yield from OPENED[path.suffix](path)
    except Exception as error:  # whatever another library says of the file
        yield f"{type(error).__name__}: {error}"


def _svg(path: Path) -> Iterator[str]:
    from lxml import etree  # of the extra `test`, as the others

    yield from ("a script" for _ in etree.parse(str(path)).getroot().iter("{*}script"))


def _threemf(path: Path) -> Iterator[str]:
    import lib3mf

    reader = lib3mf.get_wrapper().CreateModel().QueryReader("3mf")
    reader.ReadFromFile(str(path))
    if reader.GetWarningCount():
        yield f"{reader.GetWarningCount()} warnings"


def _dxf(path: Path) -> Iterator[str]:
    import ezdxf

    yield from (str(error) for error in ezdxf.readfile(path).audit().errors)


def _pdf(path: Path) -> Iterator[str]:
    import pypdf

    pages = pypdf.PdfReader(path, strict=True).pages
    if not any(page.extract_text() for page in pages):
        yield "no text"


def _csv(path: Path) -> Iterator[str]:
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    yield from (f"a formula: {cell}" for cell in cells if cell[:1] in tuple("=+-@") and not _is_number(cell))


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


OPENED: dict[str, Callable[[Path], Iterator[str]]] = {
    ".svg": _svg,
    ".3mf": _threemf,
    ".dxf": _dxf,
    ".pdf": _pdf,
    ".csv": _csv,
}


def _manifest_of(path: Path) -> object:
    found = read_manifest(path.parent)
    return found and owned_names(found, path.parent)


def _dxf_of(path: Path) -> object:
    from shaftscore.make.proof import read_dxf  # late: its module is heavy

    return read_dxf(path, "A1")


def _two_lanes() -> Project:
    """Return the machine of which the right table and the right measurements speak."""
    lanes = tuple(
        Lane(
            id=name,
            name=name.upper(),
            levels={"shut": 0.0, "open": 5.0},
            blocks=(
                Block(level="open", start_deg=10.0, end_deg=90.0),
                Block(level="shut", start_deg=180.0, end_deg=300.0),
            ),
        )
        for name in ("a", "b")
    )
    shaft = Shaft(turn="clockwise", speed_rpm=6.0, steps=2)
    return Project(format=FORMAT, version=VERSION, shaft=shaft, lanes=lanes)


def _rows_of(path: Path) -> object:
    return read_rows(_two_lanes(), path.read_text("utf-8"))


def _states_of(path: Path) -> object:
    return read_sheet(_two_lanes(), split_text(path.read_text("utf-8")))


FUZZED: dict[str, Callable[[Path], object]] = {
    **READERS,
    "rows": _rows_of,
    "states": _states_of,
    "dxf": _dxf_of,
    "manifest": _manifest_of,
}


def fuzz(rounds: int = ROUNDS, seed: int = SEED) -> list[FuzzFound]:
    """Change right files at random and read them; the same seed makes the same files."""
    with tempfile.TemporaryDirectory() as place:
        right = _right_files(Path(place) / "right")
        return [_fuzzed(reader, data, rounds, seed, Path(place)) for reader, data in right.items()]


def _right_files(folder: Path) -> dict[str, bytes]:
    """Return a right file for every reader."""
    export_project(load_project(SAMPLE), folder, ["stl", "dxf", "3mf"], despite_errors=True)
    first = {kind: sorted(folder.glob(f"*.{kind}"))[0].read_bytes() for kind in ("stl", "dxf", "3mf")}
    return {
        **first,
        "project": SAMPLE.read_bytes(),
        "manifest": (folder / "manifest.json").read_bytes(),
        "points": b"theta_deg,output_mm\n" + b"".join(b"%d,%d\n" % (n * 10, n % 7) for n in range(36)),
        "states": b"Step\tA\tB\n1\topen\tshut\n2\tshut\topen\n",
        "rows": b"a\topen\tbegin\t12.5\tforward\n",
    }


def _fuzzed(reader: str, right: bytes, rounds: int, seed: int, folder: Path) -> FuzzFound:
    chance = random.Random(f"{seed} {reader}")
    path = folder / ("manifest.json" if reader == "manifest" else f"bad.{reader}")
    path.write_bytes(right)
    FUZZED[reader](path)  # else the rounds would measure nothing
    counts = {"refused": 0, "read": 0, "errors": 0}
    for _ in range(rounds):
        path.write_bytes(_changed(right, chance))
        counts[_outcome(FUZZED[reader], path)] += 1
    path.unlink()
    return FuzzFound(reader, rounds, **counts)


def _outcome(read: Callable[[Path], object], path: Path) -> str:
    try:
        read(path)
    except (ShaftscoreError, UnicodeDecodeError):  # the readers of text get it decoded
        return "refused"
    except Exception as error:  # what fuzzing looks for
        print(f"{path.name}: {type(error).__name__}: {error}", file=sys.stderr)
        return "errors"
    return "read"


def _changed(data: bytes, chance: random.Random) -> bytes:
    """Return bytes changed in one to four places: overwritten, cut out, doubled, or swapped."""
    made = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        at, length = chance.randrange(len(made) + 1), chance.choice((1, 1, 2, 4, 8, 64))
        piece = made[at : at + length]
        made[at : at + length] = chance.choice(
            (
                chance.randbytes(len(piece)),
                b"",
                piece * 2,
                piece[::-1],
                chance.choice((b"\x00", b"\xff" * 4, b"-1", b"1e999", b"NaN", b'"', b"[[[[", b"null")),
            )
        )
    return bytes(made)


def main() -> int:
    found = names_survey()
    print(found)
    rounds = fuzz(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
    for one in rounds:
        print(one)
    return 1 if found.let_through or found.trouble or any(one.errors for one in rounds) else 0


if __name__ == "__main__":
    sys.exit(main())
