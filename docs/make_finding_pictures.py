"""Makes the guide's picture of every finding: a sample broken in one way, as the diagram shows it.

Run where there is a display: `xvfb-run -a .venv/bin/python docs/make_finding_pictures.py [rule ...]`.
Each picture has the rulers, the strips of the lanes concerned, what is wrong itself where that is a shape or
a torque (the disc, the follower in plan, the torque plot), and the finding's own words below.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from make_pictures import settle  # noqa: E402
from make_stage_pictures import made_view  # noqa: E402

from shaftscore.base.samples import sample_folder  # noqa: E402
from shaftscore.edits import apply_edit  # noqa: E402
from shaftscore.judge.findings import Finding  # noqa: E402
from shaftscore.judge.findings.words import words  # noqa: E402
from shaftscore.judge.report import examine  # noqa: E402
from shaftscore.model import CoilSpring, Lane, Load, Project, replaced  # noqa: E402
from shaftscore.model.loader import load_project  # noqa: E402
from shaftscore.model.shaft import Rod  # noqa: E402
from shaftscore_app.document import Document  # noqa: E402
from shaftscore_app.runtime.jobs import Jobs  # noqa: E402
from shaftscore_app.theme import Theme  # noqa: E402
from shaftscore_app.timing.widget import TimingDiagram  # noqa: E402
from shaftscore_app.views.table import SeenView  # noqa: E402
from tests.core.test_seedling_sower import ERRORS, WARNINGS, sower  # noqa: E402

PICTURES = ROOT / "docs" / "guide" / "pictures" / "findings"
WIDTH, MOST_LANES = 900, 4
WORDS = 76

THINGS: dict[str, tuple[str, int]] = {
    **dict.fromkeys(
        ("undercut", "sharp-crest", "tight-hollow", "pressure-angle", "knife-edge", "too-large", "bad-part"),
        ("disc", 420),
    ),
    "interference": ("followers", 460),
    "overload": ("load", 300),
    "velocity-jump": ("motion", 420),
    "acceleration-jump": ("motion", 420),
}
"""By rule the view that shows the thing itself, and its height, px."""


def sample(name: str) -> Project:
    """Load a sample."""
    return load_project(sample_folder() / f"{name}.shaft")


def hurried(project: Project) -> Project:
    """Lift the cup by a law with steps in its acceleration, in a machine that may turn faster."""
    stepped = apply_edit(project, "set_lane", lane_id="cup_lift", law="parabolic").project
    heavy = apply_edit(stepped, "set_load", lane_id="cup_lift", moving_mass_g=500.0).project
    return apply_edit(heavy, "set_shaft", speed_max_rpm=20.0).project


def late(project: Project) -> Project:
    """Let the hammer rest before it can have landed."""
    lane = project.lane("hammer")
    drop, hold = lane.blocks
    early = replaced(lane, blocks=(replaced(drop, start_deg=56.0), hold))
    return replaced(project, lanes=tuple(early if one is lane else one for one in project.lanes))


def unfinished(project: Project) -> Project:
    """Add a lane that nobody has drawn yet."""
    lane = Lane(
        id="lamp", name="Lamp", group=project.lanes[0].group, levels={"off": 0.0, "on": 6.0}, code="D1"
    )
    return replaced(project, lanes=(*project.lanes, lane))


def sprung(project: Project, spring: dict[str, object]) -> Project:
    """Return the machine with a spring of these dimensions at the cup's lift."""
    load = Load(moving_mass_g=150.0, friction_n=1.0, spring=CoilSpring.model_validate(spring))
    return apply_edit(project, "set_lane", lane_id="cup_lift", load=load).project


PRESSED = {"kind": "compression", "wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 10.0}


def on_a_rod(project: Project, **rod: object) -> Project:
    """Put a machine on a rod."""
    made = Rod(**{"below_mm": 22.0, "above_mm": 24.0, **rod})  # type: ignore[arg-type]
    return apply_edit(project, "set_stack", stack_id=project.stacks[0].id, rod=made).project


def swollen(project: Project) -> Project:
    """Let every part be thicker or thinner by up to 0.25 mm, all the same way."""
    return apply_edit(project, "set_tolerances", thickness_common_mm=0.25).project


def hollow(project: Project) -> Project:
    """Let discs have a bore that leaves them no wall."""
    return joined(project, bore={"shape": "round", "across_mm": 74.0})


def uneven(project: Project) -> Project:
    """Let the cup's disc be as thick as no number of layers."""
    return apply_edit(project, "set_disc", lane_id="cup_lift", thickness_mm=5.1).project


def joined(project: Project, **fields: object) -> Project:
    """Set the joints of the first stack."""
    return apply_edit(project, "set_stack", stack_id=project.stacks[0].id, **fields).project


def hurried_stage(project: Project) -> Project:
    """Turn a counter so fast that the pin of its Geneva stage knocks."""
    return apply_edit(project, "set_shaft", speed_rpm=120.0, speed_max_rpm=150.0).project


def clamped(project: Project) -> Project:
    """Clamp the stack so weakly that its joints slip."""
    rod = {"across_mm": 10.0, "below_mm": 10.0, "above_mm": 10.0, "clamp_n": 100.0}
    return joined(project, joints="one-way", fit_clearance_mm=0.1, rod=rod)


def close_to_the_limit(project: Project) -> Project:
    """Print keys badly on discs that are turned one way."""
    close = joined(project, joints="one-way", fit_clearance_mm=0.05)
    return apply_edit(close, "set_tolerances", disc_angle_deg=3.2).project


@dataclass(frozen=True)
class Case:
    """A project and the finding to show of it."""

    rule: str
    make: Callable[[], Project]


def crowded(project: Project) -> Project:
    """Put the followers of the tea blender's cup lift and shaker at nearly one station."""
    return apply_edit(project, "spread_followers", stations={"cup_lift": 225.0}).project


def cases() -> Iterator[Case]:
    """Yield a case for every rule."""
    seen = {"free-part", "joint-slips", "thin-margin", "unlikely", "interference", "bad-part"}
    yield Case("interference", lambda: crowded(sample("tea_blender")))
    yield Case("free-part", lambda: joined(sample("tea_blender"), bore={"shape": "round", "across_mm": 10.0}))
    yield Case("joint-slips", lambda: clamped(sample("tea_blender")))
    yield Case("thin-margin", lambda: close_to_the_limit(sample("tea_blender")))
    lying = {"joints": "as-they-lie", "fit_clearance_mm": 0.2}
    yield Case("unlikely", lambda: joined(sample("tea_blender"), **lying))
    for change, rules in [*ERRORS.values(), *WARNINGS.values()]:
        for rule in sorted(rules - seen):
            seen.add(rule)
            yield Case(rule, lambda change=change: change(sower()))  # type: ignore[misc]
    yield Case("acceleration-jump", lambda: hurried(sample("tea_blender")))
    yield Case("drop-one-way", lambda: sample("paper_theatre"))
    yield Case("drop-late", lambda: late(sample("paper_theatre")))
    weak = {"spring_preload_n": 0.4, "spring_rate_n_per_mm": 0.02, "friction_n": 0.39}
    yield Case(
        "weak-spring",
        lambda: apply_edit(sample("tea_blender"), "set_load", lane_id="rose", **weak).project,
    )
    solid = {**PRESSED, "free_mm": 22.0, "installed_mm": 18.0}
    yield Case("spring-solid", lambda: sprung(sample("tea_blender"), solid))
    stressed = {**PRESSED, "active_coils": 4.0, "free_mm": 36.0, "installed_mm": 25.0}
    yield Case("spring-stress", lambda: sprung(sample("tea_blender"), stressed))
    yield Case("shaft-bends", lambda: on_a_rod(sample("tea_blender"), across_mm=5.0))
    yield Case("joint-opens", lambda: on_a_rod(sample("tea_blender"), across_mm=10.0, clamp_n=120.0))
    small = {"number": 1, "module_mm": 0.8, "face_mm": 3.0}
    yield Case("weak-gear", lambda: apply_edit(sample("tea_blender"), "set_stage", **small).project)
    yield Case("weak-stage", lambda: hurried_stage(sample("tally_board")))
    yield Case("bad-part", lambda: hollow(sample("tea_blender")))
    yield Case("off-edge", lambda: swollen(sample("tea_blender")))
    yield Case("between-layers", lambda: uneven(sample("tea_blender")))
    yield Case("not-checked", lambda: unfinished(sample("tea_blender")))


def picture(theme: Theme, project: Project, finding: Finding) -> QImage:
    """Draw a finding of a project."""
    document = Document(project)
    diagram = TimingDiagram(document, theme)
    theme.apply_to(diagram)
    diagram.resize(WIDTH, 4000)
    diagram.ensurePolished()
    document.select_finding(finding.key)
    whole = diagram.grab().toImage()
    parts = [QRect(0, 0, WIDTH, round(diagram.frame.lanes_top))]
    rows = [diagram.frame.rows.of_lane(lane) for lane in finding.lanes[:MOST_LANES]]
    for row in rows:
        if row is not None:
            parts.append(QRect(0, round(diagram.frame.top_of(row)), WIDTH, round(row.height)))
    if not any(rows):
        parts = []
    shown = thing(theme, project, finding)
    high = 0 if shown is None else shown.height()
    made = QImage(WIDTH, sum(part.height() for part in parts) + high + WORDS, QImage.Format.Format_RGB32)
    made.fill(theme.color("panel"))
    painter = QPainter(made)
    y = 0
    for part in parts:
        painter.drawImage(QPointF(0, y), whole, QRectF(part))
        y += part.height()
    if shown is not None:
        painter.drawImage(QPointF((WIDTH - shown.width()) / 2, y), shown)
    write(painter, theme, finding, project, y + high)
    painter.end()
    diagram.deleteLater()
    return made


def thing(theme: Theme, project: Project, finding: Finding) -> QImage | None:
    """Draw what a finding is about, by the view that shows it, at its angle; None where none does."""
    if finding.rule not in THINGS:
        return None
    name, high = THINGS[finding.rule]
    app, jobs = QApplication.instance(), Jobs()
    assert isinstance(app, QApplication)
    document = Document(project, jobs=jobs)
    view = made_view(name, document, theme, jobs)
    theme.apply_to(view)
    view.resize(WIDTH - 40 if name != "disc" else 620, high)
    view.show()
    if isinstance(view, SeenView):
        view.set_seen(True)
    settle(app, document, jobs)
    if finding.lanes:
        document.select_lane(finding.lanes[0])
    at = finding.facts.get("at_deg", finding.start_deg)
    document.set_cursor(float(at) if isinstance(at, int | float) else 0.0)
    settle(app, document, jobs)
    made = view.grab().toImage()
    view.close()
    jobs.close()
    return made


def write(painter: QPainter, theme: Theme, finding: Finding, project: Project, top: int) -> None:
    """Write a finding's sign and words."""
    severity = str(finding.severity)
    painter.drawPixmap(12, top + 10, theme.pixmap(f"severity-{severity}", 16, severity, 1.0))
    painter.setPen(theme.color("text"))
    painter.setFont(theme.font(12, 600))
    said = words(finding, project)
    line = QRectF(36, top + 8, WIDTH - 48, 20)
    heading = "   ".join(text for text in (said.title, said.lanes, said.where) if text)
    painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, heading)
    painter.setFont(theme.font(12))
    painter.drawText(line.translated(0, 20), Qt.AlignmentFlag.AlignVCenter, said.what)
    painter.drawText(line.translated(0, 40), Qt.AlignmentFlag.AlignVCenter, said.cure)


def main(rules: list[str]) -> int:
    """Make all pictures, or those of the rules named."""
    app = QApplication(sys.argv[:1])
    PICTURES.mkdir(parents=True, exist_ok=True)
    for case in cases():
        if rules and case.rule not in rules:
            continue
        project = case.make()
        report = examine(project)
        of_rule = [one for one in report.findings if one.rule == case.rule]
        finding = next((one for one in of_rule if one.lanes), of_rule[0])
        for choice in ("light", "dark"):
            theme = Theme(app, choice)
            picture(theme, project, finding).save(str(PICTURES / f"{case.rule}_{choice}.png"))
            theme.leave()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
