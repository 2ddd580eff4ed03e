"""Every rule's whole text."""

from __future__ import annotations

import pytest

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef
from shaftscore.judge.findings import RULES, Cure, Finding, Severity, Words, found, words
from tests.machines import at, gate, lane, machine, within

FLAP = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
MACHINE = machine(
    gate("Sencha", 120, 132),
    gate("Mint", 139.5, 151.5),
    lane("Chute flap", ("shut", 0, 30), ("cup", 54, 280), ("tray", 304, 315), levels=FLAP, guarded=("cup",)),
    gate("Rose", 240, 252),
)
SENCHA, MINT, ROSE = at("sencha", "open"), at("mint", "open"), at("rose", "open")
CUP = at("chute-flap", "cup")
RISE: dict[str, str] = {"move": "rise", "to_level": "up"}


def cured(sentence: str) -> Cure:
    return Cure(sentence=sentence)


CASES: list[tuple[Finding, Words]] = [
    (
        found(
            "overlap",
            ("sencha", "mint"),
            span=Arcs.between(133.88, 137.61),
            value=3.72,
            limit=3.6,
            subjects=(SENCHA, MINT),
            cure=cured("Start Mint open at 146.9°, 7.4° later."),
            how="overlap",
            seconds=0.1033,
        ),
        Words(
            "Overlap",
            "Sencha, Mint",
            "133.9° to 137.6°",
            "Both are open for 3.7° (103 ms); a gap of 3.6° is required.",
            "Start Mint open at 146.9°, 7.4° later.",
        ),
    ),
    (
        found(
            "overlap",
            ("sencha", "chute-flap"),
            span=Arcs.between(100, 102),
            value=2.0,
            limit=0.0,
            subjects=(SENCHA, CUP),
            how="overlap",
            seconds=0.0556,
        ),
        Words(
            "Overlap",
            "Sencha, Chute flap",
            "100.0° to 102.0°",
            "Sencha is open while Chute flap is at cup for 2.0° (56 ms).",
            "",
        ),
    ),
    (
        found(
            "overlap",
            ("sencha", "mint"),
            span=Arcs.between(359, 1),
            value=2.0,
            limit=3.6,
            subjects=(within("sencha", 8, 10), within("mint", 8, 10)),
            how="gap",
            seconds=0.0556,
        ),
        Words(
            "Overlap",
            "Sencha, Mint",
            "359.0° to 1.0°",
            "Only 2.0° (56 ms) apart; a gap of 3.6° is required.",
            "",
        ),
    ),
    (
        found(
            "overlap",
            ("sencha", "mint"),
            span=Arcs.between(10, 12),
            value=2.0,
            limit=0.0,
            subjects=(within("sencha", 8, 10), within("mint", 8, 10)),
            how="overlap",
            seconds=1.5,
        ),
        Words(
            "Overlap",
            "Sencha, Mint",
            "10.0° to 12.0°",
            "Both are within 8.0 mm to 10.0 mm for 2.0° (1.50 s).",
            "",
        ),
    ),
    (
        found(
            "no-time",
            ("mint",),
            span=Arcs.between(149.5, 151.5),
            value=2.0,
            subjects=(BlockRef("mint", 0), BlockRef("mint", 1)),
            cure=cured("End Mint open at 148.0°, 3.5° earlier."),
            from_level="open",
            to_level="closed",
        ),
        Words(
            "No time",
            "Mint",
            "149.5° to 151.5°",
            "No time to move from open to closed: the blocks overlap by 2.0°.",
            "End Mint open at 148.0°, 3.5° earlier.",
        ),
    ),
    (
        found(
            "no-time",
            ("mint",),
            span=Arcs.span(150, 0),
            value=0.0,
            from_level="open",
            to_level="closed",
        ),
        Words("No time", "Mint", "150.0°", "No time to move from open to closed: the blocks touch.", ""),
    ),
    (
        found(
            "pass-through",
            ("chute-flap",),
            span=Arcs.between(334.7, 337.2),
            value=2.5,
            subjects=(CUP, BlockRef("chute-flap", 0)),
            cure=cured("Put shut between cup and tray: 8 mm."),
            seconds=0.07,
            from_level="tray",
            to_level="shut",
        ),
        Words(
            "Pass-through",
            "Chute flap",
            "334.7° to 337.2°",
            "Sweeps guarded cup for 2.5° (70 ms), tray to shut.",
            "Put shut between cup and tray: 8 mm.",
        ),
    ),
    (
        found(
            "interlock",
            ("chute-flap", "rose"),
            span=Arcs.between(262, 266.2),
            value=4.2,
            subjects=(ROSE, CUP),
            cure=cured("End Chute flap cup at 266.2°, 4.2° later."),
            kind="requires",
        ),
        Words(
            "Interlock",
            "Chute flap, Rose",
            "262.0° to 266.2°",
            "Chute flap is not at cup while Rose opens: 4.2° missing from 262.0°.",
            "End Chute flap cup at 266.2°, 4.2° later.",
        ),
    ),
    (
        found(
            "interlock",
            ("mint", "chute-flap"),
            span=Arcs.between(262, 266.2),
            value=4.2,
            subjects=(CUP, within("mint", 0, 1)),
            kind="requires",
        ),
        Words(
            "Interlock",
            "Mint, Chute flap",
            "262.0° to 266.2°",
            "Mint is not within 0.0 mm to 1.0 mm while Chute flap is at cup: 4.2° missing from 262.0°.",
            "",
        ),
    ),
    (
        found(
            "interlock",
            ("sencha", "mint"),
            span=Arcs.between(100, 119.5),
            value=0.5417,
            limit=0.6,
            subjects=(SENCHA, MINT),
            kind="order",
            side="min",
        ),
        Words(
            "Interlock",
            "Sencha, Mint",
            "100.0° to 119.5°",
            "Mint open begins 542 ms after Sencha open; at least 600 ms required.",
            "",
        ),
    ),
    (
        found("interlock", ("sencha", "mint"), span=Arcs.full(), subjects=(SENCHA, MINT), kind="order"),
        Words(
            "Interlock",
            "Sencha, Mint",
            "the whole turn",
            "Mint open never begins after Sencha open.",
            "",
        ),
    ),
    (
        found(
            "starvation",
            ("rose",),
            span=Arcs.span(174.4, 0),
            turn=3,
            value=1,
            cure=cured("Feed at least 6.0 per min."),
            item="scoop",
            fed_per_min=3.0,
            gives_per_min=6.0,
        ),
        Words(
            "Starvation",
            "Rose",
            "turn 3, 174.4°",
            "Runs empty in turn 3, short by 1 scoop: supplied at 3.0 per min, consumed at 6.0 per min.",
            "Feed at least 6.0 per min.",
        ),
    ),
    (
        found("starvation", ("rose",), turn=1, value=2, item="scoop"),
        Words("Starvation", "Rose", "turn 1", "Runs empty in turn 1, short by 2 scoops.", ""),
    ),
    (
        found(
            "collision",
            ("sencha", "mint"),
            span=Arcs.span(160, 2),
            turn=1,
            value=0.04,
            limit=0.12,
            channel="Chute",
        ),
        Words(
            "Collision",
            "Sencha, Mint",
            "turn 1, 160.0°",
            "Sencha and Mint may meet in Chute: 40 ms apart, 120 ms required, travel spread counted.",
            "",
        ),
    ),
    (
        found("collision", ("mint",), value=0.04, limit=0.12, channel="Chute"),
        Words(
            "Collision",
            "Mint",
            "",
            "Two items of Mint may meet in Chute: 40 ms apart, 120 ms required, travel spread counted.",
            "",
        ),
    ),
    (
        found("double-release", ("mint",), value=2, limit=1, subjects=(MINT,), open_s=0.9, item="scoop"),
        Words("Double release", "Mint", "", "Open 900 ms lets 2 scoops through; 1 is intended.", ""),
    ),
    (
        found(
            "missed-release",
            ("mint",),
            value=0,
            limit=2,
            subjects=(MINT,),
            open_s=1.2,
            item="berry",
            reload_s=0.2,
        ),
        Words(
            "Missed release",
            "Mint",
            "",
            "Open 1.20 s lets 0 berries through; 2 are intended: reloaded for 200 ms before.",
            "",
        ),
    ),
    (
        found(
            "misrouted",
            ("chute-flap", "mint"),
            span=Arcs.between(152, 155.5),
            turn=1,
            between="cup and tray",
            item="scoop",
        ),
        Words(
            "Misrouted",
            "Chute flap, Mint",
            "turn 1, 152.0°",
            "Chute flap is between cup and tray when Mint arrives, 152.0° to 155.5°.",
            "",
        ),
    ),
    (
        found("wrong-order", (), turn=1, outlet="Cup", got="Mint", expected="Sencha"),
        Words("Wrong order", "", "turn 1", "Cup gets Mint before Sencha; Sencha is expected first.", ""),
    ),
    (
        found("wrong-order", (), turn=1, outlet="Cup", got="Mint", expected="Sencha", why="swap"),
        Words("Wrong order", "", "turn 1", "Cup may get Mint before Sencha; Sencha is expected first.", ""),
    ),
    (
        found("wrong-order", (), turn=1, outlet="Cup", got="Mint", expected=""),
        Words("Wrong order", "", "turn 1", "Cup gets Mint, which is not expected.", ""),
    ),
    (
        found("wrong-order", (), turn=1, outlet="Cup", got="", expected="Mint"),
        Words("Wrong order", "", "turn 1", "Cup does not get Mint, which is expected.", ""),
    ),
    (
        found(
            "pressure-angle",
            ("rose",),
            span=Arcs.between(316, 322),
            value=32.3,
            limit=30.0,
            cure=cured("Give the rise 22.0°, or base radius 27.0 mm."),
            at_deg=319.7,
            **RISE,
        ),
        Words(
            "Pressure angle",
            "Rose",
            "319.7°",
            "32.3° on the rise to up, 2.3° over the limit of 30.0°.",
            "Give the rise 22.0°, or base radius 27.0 mm.",
        ),
    ),
    (
        found("pressure-angle", ("rose",), value=46.0, limit=45.0, move="fall", to_level=""),
        Words("Pressure angle", "Rose", "", "46.0° on the fall, 1.0° over the limit of 45.0°.", ""),
    ),
    (
        found("self-locking", ("rose",), value=70.0, limit=62.1, at_deg=12.0, **RISE),
        Words(
            "Self-locking",
            "Rose",
            "12.0°",
            "70.0° on the rise to up; the guide locks from 62.1° on.",
            "",
        ),
    ),
    (
        found("undercut", ("rose",), value=-1.9, how="convex", roller_mm=6.0, path_mm=4.1),
        Words(
            "Undercut",
            "Rose",
            "",
            "Roller radius 6.0 mm is over the path's 4.1 mm: the edge would need −1.9 mm.",
            "",
        ),
    ),
    (
        found("undercut", ("rose",), value=-1.9, how="hollow", roller_mm=6.0, path_mm=4.1),
        Words(
            "Undercut",
            "Rose",
            "",
            "Roller radius 6.0 mm is over the hollow of the path, 4.1 mm, on the groove's outer flank.",
            "",
        ),
    ),
    (
        found("undercut", ("rose",), value=-1.9, how="face"),
        Words(
            "Undercut",
            "Rose",
            "",
            "The face cannot touch the whole edge: it would need a radius of −1.9 mm.",
            "",
        ),
    ),
    (
        found("undercut", ("rose",), how="corner"),
        Words(
            "Undercut",
            "Rose",
            "",
            "The motion has a corner here: the follower cannot touch both of its sides.",
            "",
        ),
    ),
    (
        found("undercut", ("rose",), span=Arcs.span(90, 0), value=-0.24, how="distant", other_deg=131.0),
        Words("Undercut", "Rose", "90.0°", "The edge here is cut away by 0.2 mm from 131.0°.", ""),
    ),
    (
        found("sharp-crest", ("rose",), value=0.62, limit=1.0),
        Words("Sharp crest", "Rose", "", "Crest of 0.6 mm; 1.0 mm required.", ""),
    ),
    (
        found("tight-hollow", ("rose",), value=6.2, limit=6.5, roller_mm=6.0),
        Words("Tight hollow", "Rose", "", "Hollow of 6.2 mm for a roller of 6.0 mm; 6.5 mm required.", ""),
    ),
    (
        found("knife-edge", ("rose",), value=0.0),
        Words(
            "Knife edge",
            "Rose",
            "",
            "The roller's radius is 0.0 mm: a knife edge wears fast and is for study only.",
            "",
        ),
    ),
    (
        found("velocity-jump", ("rose",), value=20.0, where="start", **RISE),
        Words(
            "Velocity jump",
            "Rose",
            "",
            "The velocity jumps by 20.0 mm/s at the start of the rise to up.",
            "",
        ),
    ),
    (
        found("acceleration-jump", ("rose",), value=0.8, limit=3.0, to_level="up"),
        Words(
            "Acceleration jump",
            "Rose",
            "",
            "A step in acceleration costs 0.8 N of 3.0 N contact force, on the way to up.",
            "",
        ),
    ),
    (
        found("drop-late", ("rose",), value=2.0, seconds=0.0556, to_level="down"),
        Words("Drop late", "Rose", "", "Lands 2.0° (56 ms) after down begins.", ""),
    ),
    (
        found("drop-one-way", ("rose",), to_level="down"),
        Words(
            "Drop one way",
            "Rose",
            "",
            "The drop to down has a steep edge: do not turn the machine backwards here.",
            "",
        ),
    ),
    (
        found("face-width", ("rose",), value=24.0, limit=17.8),
        Words("Face width", "Rose", "", "Contact runs 3.1 mm past the face.", ""),
    ),
    (
        found("float", ("rose",), value=9.4, limit=12.0),
        Words("Float", "Rose", "", "Loses contact above 9.4 rev/min; the machine runs at 12.0.", ""),
    ),
    (
        found(
            "weak-spring",
            ("rose",),
            value=0.789,
            limit=1.5,
            how="sticks",
            at_deg=44.5,
            available_n=0.4,
            required_n=0.507,
            friction="Damp tea",
            others=1,
        ),
        Words(
            "Weak spring",
            "Rose",
            "44.5°",
            "Sticks at 44.5°: 0.40 N return the follower, friction and inertia hold it with 0.51 N (Damp "
            "tea). Also in 1 other stretch of the turn.",
            "",
        ),
    ),
    (
        found(
            "weak-spring",
            ("rose",),
            severity=Severity.WARNING,
            value=0.97,
            limit=1.5,
            how="weakest-sticks",
            at_deg=44.5,
            available_n=11.64,
            required_n=12.0,
            friction="",
            others=0,
        ),
        Words(
            "Weak spring",
            "Rose",
            "44.5°",
            "The weakest spring within its tolerance sticks at 44.5°: 11.6 N return the follower, friction "
            "and inertia hold it with 12.0 N.",
            "",
        ),
    ),
    (
        found(
            "weak-spring",
            ("rose",),
            severity=Severity.WARNING,
            value=1.284,
            limit=1.5,
            how="reserve",
            at_deg=44.5,
            available_n=0.5136,
            required_n=0.4,
            friction="Damp tea",
            others=0,
        ),
        Words(
            "Weak spring",
            "Rose",
            "44.5°",
            "Reserve 1.28 at 44.5°, at least 1.50 required: 0.51 N return the follower, friction and inertia "
            "hold it with 0.40 N (Damp tea).",
            "",
        ),
    ),
    (
        found("spring-solid", ("rose",), value=9.0, limit=9.6, at_deg=120.0),
        Words(
            "Spring solid",
            "Rose",
            "120.0°",
            "The coils touch at 120.0°: 9.0 mm are left for a solid length of 9.6 mm.",
            "",
        ),
    ),
    (
        found("spring-stress", ("rose",), value=1254.4, limit=1105.5, how="stress", at_deg=120.0),
        Words(
            "Spring stress",
            "Rose",
            "120.0°",
            "Peak 1254 MPa of 1106 MPa allowed in the wire, at 120.0°.",
            "",
        ),
    ),
    (
        found("spring-stress", ("rose",), value=21.25, limit=18.4, how="buckles", at_deg=120.0, place=1),
        Words(
            "Spring stress",
            "Rose",
            "120.0°",
            "Compressed by 21.2 mm at 120.0°; without a guide it buckles from 18.4 mm on.",
            "",
        ),
    ),
    (
        found("contact-stress", ("rose",), value=31.4, limit=30.0, at_deg=44.5),
        Words("Contact stress", "Rose", "44.5°", "Peak 31.4 MPa of 30.0 MPa allowed, at 44.5°.", ""),
    ),
    (
        found("contact-stress", ("rose",), value=30.04, limit=30.0, at_deg=44.5),
        Words("Contact stress", "Rose", "44.5°", "Peak 30.04 MPa of 30.00 MPa allowed, at 44.5°.", ""),
    ),
    (
        found(
            "weak-gear",
            (),
            value=37.79,
            limit=15.0,
            cure=cured("Face width 11.0 mm in stage 2."),
            stage=2,
            wheel="driver",
            teeth=12,
        ),
        Words(
            "Weak gear",
            "",
            "",
            "Stage 2: 37.8 MPa of 15.0 MPa allowed at the root of the driver’s 12 teeth.",
            "Face width 11.0 mm in stage 2.",
        ),
    ),
    (
        found("weak-stage", (), value=20.0, limit=16.7, stack="Tens", what="slots"),
        Words(
            "Weak stage",
            "",
            "",
            "Tens: 20.0 MPa of 16.7 MPa allowed in the slots of its Geneva wheel.",
            "",
        ),
    ),
    (
        found("weak-stage", (), value=450.0, limit=300.0, stack="Tens", what="speed"),
        Words(
            "Weak stage",
            "",
            "",
            "Tens: the pin of its Geneva stage moves at 0.45 m/s; a printed wheel bears 0.3 m/s.",
            "",
        ),
    ),
    (
        found("weak-stage", (), value=20.0, limit=16.7, stack="Tens", what="teeth"),
        Words("Weak stage", "", "", "Tens: 20.0 MPa of 16.7 MPa allowed in the teeth of its stage.", ""),
    ),
    (
        found("weak-stage", (), value=200.0, limit=150.0, stack="Tens", what="tooth speed"),
        Words(
            "Weak stage",
            "",
            "",
            "Tens: the counted teeth of its stage move at 0.2 m/s; a printed wheel bears 0.15 m/s.",
            "",
        ),
    ),
    (
        found("weak-gear", (), value=20.0, limit=15.0, stack="Feed shaft", wheel="driven wheel", teeth=18),
        Words(
            "Weak gear",
            "",
            "",
            "Feed shaft: 20.0 MPa of 15.0 MPa allowed at the root of the driven wheel’s 18 teeth.",
            "",
        ),
    ),
    (
        found("bad-part", (), value=0.0, limit=0.0, why="Stage 1: a wheel of 5 teeth is not made."),
        Words("Bad part", "", "", "Stage 1: a wheel of 5 teeth is not made.", ""),
    ),
    (
        found("overload", (), value=0.71, limit=0.58, at_deg=44.5),
        Words("Overload", "", "44.5°", "Peak 0.71 N·m of 0.58 N·m allowed, at 44.5°.", ""),
    ),
    (
        found(
            "shaft-bends",
            ("mint", "rose", "sencha"),
            value=0.2376,
            limit=0.1,
            cure=cured("Use a rod of 10 mm, which the bore allows."),
            stack="",
            what="deflection",
            at_deg=40.0,
        ),
        Words(
            "Shaft bends",
            "Mint, Rose, Sencha",
            "40.0°",
            "The shaft bends by 0.238 mm at Mint and over the limit at 2 other discs; "
            "at most 0.100 mm allowed, the tolerance of the profile.",
            "Use a rod of 10 mm, which the bore allows.",
        ),
    ),
    (
        found(
            "shaft-bends",
            (),
            severity=Severity.ERROR,
            value=240.0,
            limit=156.7,
            stack="Feed shaft",
            what="stress",
            at_deg=40.0,
        ),
        Words(
            "Shaft bends",
            "",
            "40.0°",
            "Feed shaft: bending stress 240.0 MPa in the rod; at most 156.7 MPa allowed.",
            "",
        ),
    ),
    (
        found(
            "joint-opens",
            ("mint",),
            value=0.92,
            limit=0.41,
            stack="Feed shaft",
            side="above",
            clamp_n=120.0,
            at_deg=240.0,
        ),
        Words(
            "Joint opens",
            "Mint",
            "240.0°",
            "A bending moment of 0.920 N·m opens the joint above the disc of Mint; "
            "the clamp of Feed shaft, 120 N, holds 0.410 N·m after creep.",
            "",
        ),
    ),
    (
        found(
            "interference",
            ("sencha", "rose"),
            value=-0.8,
            limit=0.5,
            first="Sencha's follower",
            second="Rose's disc",
            at_deg=251.0,
        ),
        Words(
            "Interference",
            "Sencha, Rose",
            "251.0°",
            "Sencha's follower overlaps Rose's disc by 0.8 mm at 251.0°.",
            "",
        ),
    ),
    (
        found(
            "interference",
            ("sencha", "rose"),
            value=0.2,
            limit=0.5,
            first="Sencha's follower",
            second="Rose's disc",
            at_deg=251.0,
        ),
        Words(
            "Interference",
            "Sencha, Rose",
            "251.0°",
            "Sencha's follower passes Rose's disc at 0.2 mm; 0.5 mm required, at 251.0°.",
            "",
        ),
    ),
    (
        found("wrong-hand", (), shaft_turn="counterclockwise", program_turn="clockwise"),
        Words(
            "Wrong hand",
            "",
            "",
            "The drive train turns the shaft counterclockwise; the program is for clockwise.",
            "",
        ),
    ),
    (
        found("off-speed", (), value=6.4, limit=6.0),
        Words(
            "Off speed",
            "",
            "",
            "The drive train turns the shaft at 6.4 rev/min; the project says 6.0 rev/min.",
            "",
        ),
    ),
    (
        found("weak-part", ("rose",), value=0.8, limit=1.2, part="Wall between bore and rim"),
        Words("Weak part", "Rose", "", "Wall between bore and rim is 0.8 mm; 1.2 mm required.", ""),
    ),
    (
        found("bad-part", ("rose",), value=-0.34, limit=0.0, part="Wall between dogs and rim"),
        Words("Bad part", "Rose", "", "Wall between dogs and rim is −0.3 mm; the part cannot be made.", ""),
    ),
    (
        found(
            "off-edge",
            ("rose",),
            value=1.24,
            limit=2.1,
            cure=Cure(sentence="Set the followers on the built stack."),
            how="worst",
            what="Roller",
            tolerance_mm=2.36,
        ),
        Words(
            "Off edge",
            "Rose",
            "",
            "Roller keeps 1.2 mm of contact in the worst case (± 2.4 mm along the shaft); 2.1 mm required.",
            "Set the followers on the built stack.",
        ),
    ),
    (
        found("off-edge", ("rose",), value=1.24, limit=2.1, how="drawn", what="Flat face", tolerance_mm=0.5),
        Words(
            "Off edge",
            "Rose",
            "",
            "Flat face has 1.2 mm of contact with the rim as drawn; 2.1 mm required.",
            "",
        ),
    ),
    (
        found(
            "off-edge",
            ("rose",),
            value=-0.27,
            limit=0.0,
            how="touch",
            first="Rose's lever",
            second="Mint's disc",
            tolerance_mm=1.3,
        ),
        Words(
            "Off edge",
            "Rose",
            "",
            "Rose's lever can touch Mint's disc: in the worst case (± 1.3 mm along the shaft) they overlap "
            "by 0.3 mm.",
            "",
        ),
    ),
    (
        found("between-layers", ("rose",), value=5.1, part="Disc", low_mm=5.0, high_mm=5.2),
        Words(
            "Between layers",
            "Rose",
            "",
            "Disc thickness 5.1 mm is no whole number of layers; 5 mm and 5.2 mm can be printed.",
            "",
        ),
    ),
    (
        found("too-large", ("rose",), value=112.4, limit=110.0),
        Words("Too large", "Rose", "", "Disc radius 112.4 mm; 110.0 mm may be made.", ""),
    ),
    (
        found("thin-margin", ("rose",), value=0.038),
        Words(
            "Thin margin",
            "Rose",
            "",
            "Works as drawn, but about 3.8 % of built machines would fail; Rose contributes most.",
            "",
        ),
    ),
    (
        found("thin-margin", ("rose",), value=0.038, cause="seat", seat_mm=0.2),
        Words(
            "Thin margin",
            "Rose",
            "",
            "Works as drawn, but about 3.8 % of built machines would fail; discs that sit up to 0.20 mm off "
            "their axis contribute most, at Rose most of all.",
            "",
        ),
    ),
    (
        found(
            "unlikely",
            ("rose",),
            value=0.74,
            cause="play",
            play_deg=4.25,
            law="as-they-lie",
            cure=cured("Turn all discs clockwise while tightening, or use two pins at 18.0 mm (±0.3°)."),
        ),
        Words(
            "Unlikely",
            "Rose",
            "",
            "Each disc can turn ±4.2° on its shaft; about 74.0 % of built machines would fail when tightened "
            "as they lie; Rose contributes most.",
            "Turn all discs clockwise while tightening, or use two pins at 18.0 mm (±0.3°).",
        ),
    ),
    (
        found("unlikely", (), value=0.3, cause="play", play_deg=1.0, law="loose"),
        Words(
            "Unlikely",
            "",
            "",
            "Each disc can turn ±1.0° on its shaft while the machine runs; about 30.0 % of built machines "
            "would fail.",
            "",
        ),
    ),
    (
        found(
            "free-part",
            ("rose", "mint"),
            stack="Main shaft",
            bore="round",
            clearance_mm=0.2,
            unknown=0,
        ),
        Words(
            "Free part",
            "Rose, Mint",
            "",
            "Rose and Mint turn freely on Main shaft: nothing in their round bores holds them.",
            "",
        ),
    ),
    (
        found(
            "free-part",
            ("rose",),
            value=0.4,
            limit=0.9,
            stack="Main shaft",
            bore="hex",
            clearance_mm=0.9,
            unknown=0,
        ),
        Words(
            "Free part",
            "Rose",
            "",
            "Turns freely on Main shaft: nothing in its hexagonal bore of 0.90 mm clearance holds it; the "
            "clamp carries 0.40 N·m, 0.90 N·m required.",
            "",
        ),
    ),
    (
        found(
            "joint-slips",
            ("rose", "mint"),
            value=0.62,
            limit=0.35,
            stack="Main shaft",
            play_deg=4.25,
        ),
        Words(
            "Joint slips",
            "Rose, Mint",
            "",
            "The joint of Rose and 1 more joint on Main shaft takes up to 0.62 N·m; the clamp carries "
            "0.35 N·m by friction, so the play of ±4.2° comes back.",
            "",
        ),
    ),
    (
        found("not-checked", (), what="Rules of kind order"),
        Words("Not checked", "", "", "Rules of kind order are not checked by this version.", ""),
    ),
    (
        found("not-checked", ("rose",), why="It has no blocks: there is nothing to check."),
        Words("Not checked", "Rose", "", "It has no blocks: there is nothing to check.", ""),
    ),
]


@pytest.mark.parametrize(("finding", "expected"), CASES, ids=lambda case: getattr(case, "rule", ""))
def test_whole_text(finding: Finding, expected: Words) -> None:
    assert words(finding, MACHINE) == expected


def test_every_rule_has_a_text_here() -> None:
    assert {finding.rule for finding, _ in CASES} == set(RULES)


def test_severity_is_the_rules_own_unless_given() -> None:
    assert found("overlap", ()).severity is Severity.ERROR
    assert found("acceleration-jump", ()).severity is Severity.NOTE
    assert found("acceleration-jump", (), severity=Severity.WARNING).severity is Severity.WARNING


def test_an_unknown_rule_is_refused() -> None:
    with pytest.raises(KeyError, match="overlaps"):
        found("overlaps", ())


def test_key_does_not_change_with_place_and_amount() -> None:
    one = found("overlap", ("a", "b"), span=Arcs.span(10, 2), value=2.0, subjects=(SENCHA, MINT))
    other = found("overlap", ("a", "b"), span=Arcs.span(40, 3), value=3.0, subjects=(SENCHA, MINT))
    assert one.key == other.key != found("overlap", ("a", "b"), subjects=(SENCHA, MINT), place=1).key


def test_findings_sort_by_severity_then_turn_then_angle() -> None:
    late, early = (found("overlap", ("a",), span=Arcs.span(start, 1)) for start in (200, 10))
    flow = found("starvation", ("a",), span=Arcs.span(5, 0), turn=2)
    warning = found("knife-edge", ("a",))
    assert sorted([warning, flow, late, early], key=lambda f: f.order) == [early, late, flow, warning]
