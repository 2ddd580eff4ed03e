"""Mutants: one wrong change for each rule on which the main job rests, and the test that must notice it.

A *mutant* replaces one text of one file of the library, as a slip of the pen or a misread formula would.
Its tests must fail with it. Add a row with each new rule: break the rule by hand, and name the one short
test that shows it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Mutant:
    """One wrong change: the file within `core/shaftscore`, its text, what stands there instead, its tests."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


MUTANTS = (
    # angles and intervals
    Mutant(
        "wrap-gives-360",
        "base/angles.py",
        "return 0.0 if rest >= TURN else rest + 0.0",
        "return rest + 0.0",
        ("tests/core/base/test_angles.py::test_wrap",),
    ),
    Mutant(
        "interval-without-its-ends",
        "base/angles.py",
        "ahead(start, angle) <= length + ANGLE_DEG or ahead(angle, start) <= ANGLE_DEG",
        "0 < ahead(start, angle) < length",
        ("tests/core/base/test_angles.py::test_length_and_membership",),
    ),
    Mutant(
        "k-theta-of-states",
        "kinematics/motion/states.py",
        "(interval.span.start + TURN * turn) / turns, interval.span.length / turns",
        "interval.span.start / turns + turn, interval.span.length / turns",
        (
            "tests/core/kinematics/motion/test_states.py::test_a_stack_that_turns_k_times_lists_each_state_k_times",
        ),
    ),
    # motion
    Mutant(
        "cycloid-turned-over",
        "kinematics/motion/laws/harmonic.py",
        "((-1 / (2 * pi), 2 * pi, 0.0),)",
        "((1 / (2 * pi), 2 * pi, 0.0),)",
        ("tests/published/test_motion_laws.py",),
    ),
    # rules between lanes
    Mutant(
        "gap-added-to-the-slack",
        "rules/exclusive.py",
        "np.where(full, -shorter, np.maximum(way, -shorter)) - gap",
        "np.where(full, -shorter, np.maximum(way, -shorter)) + gap",
        ("tests/core/judge/checks/test_margin.py::test_exclusive_counts_above_the_gap",),
    ),
    Mutant(
        "gap-just-met-is-broken",
        "base/tolerance.py",
        "return value < limit - LIMIT * scale",
        "return value <= limit",
        ("tests/core/judge/checks/test_exclusive.py::test_a_gap_that_is_just_met_is_enough",),
    ),
    Mutant(
        "pairs-through-0-forgotten",
        "rules/exclusive.py",
        "for turn in (0.0, TURN):",
        "for turn in (0.0,):",
        ("tests/core/judge/checks/test_exclusive.py::test_the_sweep_finds_what_comparing_all_pairs_finds",),
    ),
    Mutant(
        "degrees-a-second",
        "rules/nominal.py",
        "return 6.0 * project.shaft.speed_rpm",
        "return 360.0 * project.shaft.speed_rpm",
        (
            "tests/core/judge/checks/test_interlock.py"
            "::test_lead_and_lag_in_seconds_count_at_the_nominal_speed",
        ),
    ),
    Mutant(
        "lead-and-lag-swapped",
        "rules/requires.py",
        "return lead or 0.0, lag or 0.0",
        "return lag or 0.0, lead or 0.0",
        ("tests/core/judge/checks/test_interlock.py::test_requires_tells_what_is_missing_and_where",),
    ),
    Mutant(
        "headway-of-drawn-machines-alone",
        "rules/headway.py",
        "behind + second.latest - second.earliest), asked)",
        "behind + second.latest - second.earliest), 1.1 * asked)",
        ("tests/core/rules/test_one_meaning.py",),
    ),
    Mutant(
        "harms-added-without-squares",
        "rules/survival.py",
        "SIGMAS * float(np.sqrt(np.sum((sigmas * each) ** 2)))",
        "SIGMAS * float(np.sum(sigmas * each))",
        ("tests/core/judge/spread/test_slacks.py::test_two_discs_add_up_as_the_root_of_squares",),
    ),
    # the flow of items
    Mutant(
        "starvation-by-angle-not-by-time",
        "judge/flow/verdicts.py",
        "key=lambda row: row[:3]",
        "key=lambda row: row[1:3]",
        (
            "tests/core/judge/flow/test_rules.py"
            "::TestStarvation::test_an_opening_that_runs_through_0_starves_after_the_one_before_it",
        ),
    ),
    Mutant(
        "item-that-arrives-just-in-time-is-late",
        "judge/flow/engine.py",
        "while line and line[0] <= time:",
        "while line and line[0] < time:",
        ("tests/core/judge/flow/test_against_simpy.py::test_same_events_as_simpy",),
    ),
    Mutant(
        "headway-counted-twice",
        "judge/flow/meetings.py",
        "behind + second.latest - second.earliest), headway)",
        "behind + second.latest - second.earliest), 2 * headway)",
        ("tests/core/judge/flow/test_rules.py",),
    ),
    # the disc
    Mutant(
        "pressure-angle-sign",
        "kinematics/profiles/trace.py",
        "return np.asarray(self.placement.direction * np.degrees(np.angle(lean)))",
        "return np.asarray(np.degrees(np.angle(lean)))",
        (
            "tests/core/kinematics/profiles/test_trace.py"
            "::test_an_in_line_roller_leans_forward_on_the_rise_and_back_on_the_fall",
        ),
    ),
    Mutant(
        "offset-on-the-other-side",
        "kinematics/followers/translating.py",
        "rows[0] = along + lift_mm - 1j * self.offset_mm",
        "rows[0] = along + lift_mm + 1j * self.offset_mm",
        (
            "tests/core/kinematics/profiles/test_trace.py"
            "::test_a_positive_offset_helps_the_rise_of_a_counterclockwise_disc_alone",
        ),
    ),
    Mutant(
        "offset_deg-sign",
        "kinematics/profiles/trace.py",
        "(theta_deg + self.offset_deg)",
        "(theta_deg - self.offset_deg)",
        ("tests/core/make/asbuilt/test_as_built.py::test_a_positive_offset_brings_the_lane_later",),
    ),
    Mutant(
        "undercut-only-beyond-the-roller",
        "kinematics/profiles/profile.py",
        "if place.value <= 0 and",
        "if place.value <= -self.model.roller_radius_mm and",
        (
            "tests/core/kinematics/profiles/test_undercut.py"
            "::test_a_crest_under_the_rollers_radius_is_an_undercut_at_its_exact_place",
        ),
    ),
    Mutant(
        "undercut-on-the-hollow-side",
        "kinematics/profiles/undercut.py",
        'turns > 0 if flank == "inner" else turns < 0',
        'turns < 0 if flank == "inner" else turns > 0',
        (
            "tests/core/kinematics/profiles/test_undercut.py"
            "::test_corners_are_undercut_on_their_convex_side_alone",
        ),
    ),
    Mutant(
        "wall-without-the-fit",
        "kinematics/profiles/limits.py",
        "_bore_radius(stack.bore) + stack.fit_clearance_mm + WALL_MM",
        "_bore_radius(stack.bore) + WALL_MM",
        (
            "tests/core/kinematics/profiles/test_sizing.py"
            "::test_a_round_disc_leaves_a_wall_about_what_it_sits_on",
        ),
    ),
    Mutant(
        "crest-without-the-roller",
        "kinematics/profiles/limits.py",
        "crest = at.model.roller_radius_mm + max(limits.crest_mm, LEAST_CREST_MM)",
        "crest = max(limits.crest_mm, LEAST_CREST_MM)",
        (
            "tests/core/kinematics/profiles/test_sizing.py"
            "::test_a_crest_radius_governs_where_the_angle_is_free",
        ),
    ),
    # forces, torque and the drive
    Mutant(
        "torque-of-contact-friction-helps",
        "judge/loads/forces.py",
        "(driving + rubbing) / 1000",
        "(driving - rubbing) / 1000",
        (
            "tests/core/judge/loads/test_forces.py"
            "::test_contact_friction_drags_at_the_contact_radius_in_a_dwell",
        ),
    ),
    Mutant(
        "friction-that-helps-the-fall",
        "judge/loads/forces.py",
        "self.case.friction_n(load, self.direction)",
        "self.case.friction_n(load, np.abs(self.direction))",
        ("tests/core/judge/loads/test_forces.py::test_friction_alone_is_the_work_of_a_turn",),
    ),
    Mutant(
        "torque-of-the-least-friction",
        "judge/loads/cases.py",
        "TORQUE = LoadCase(1.0, 1.0, 1.0)",
        "TORQUE = LoadCase(0.0, 0.0, 1.0)",
        (
            "tests/core/judge/loads/test_reserve.py"
            "::test_torque_takes_the_strongest_spring_and_the_most_friction",
        ),
    ),
    Mutant(
        "inertia-that-helps-the-fall",
        "built/reserve.py",
        "np.maximum(-np.asarray(acceleration_m_s2), 0.0)",
        "-np.asarray(acceleration_m_s2)",
        ("tests/core/built/test_reserve.py::test_only_an_acceleration_towards_the_disc_asks_for_force",),
    ),
    Mutant(
        "rests-that-never-stick",
        "judge/loads/reserve.py",
        "resting[number] = falls",
        "resting[number] = False",
        (
            "tests/core/judge/loads/test_reserve.py"
            "::test_it_sticks_where_the_springs_force_has_become_too_small",
        ),
    ),
    Mutant(
        "weakest-spring-that-is-not-weaker",
        "judge/loads/cases.py",
        "LEAST_CONTACT = LoadCase(0.0, 1.0, -1.0)",
        "LEAST_CONTACT = LoadCase(0.0, 1.0, 0.0)",
        ("tests/core/judge/loads/test_reserve.py::test_the_edges_of_error_and_warning",),
    ),
    Mutant(
        "guide-that-helps",
        "judge/loads/forces.py",
        "np.cos(alpha) - lean",
        "np.cos(alpha) + lean",
        ("tests/core/judge/loads/test_forces.py::test_a_guide_with_overhang_locks",),
    ),
    Mutant(
        "k-theta-of-torque",
        "judge/loads/course.py",
        "np.asarray(wrap(circle_deg * course.turns)), 1.0",
        "np.asarray(wrap(circle_deg)), 1.0",
        (
            "tests/core/judge/loads/test_forces.py"
            "::test_a_stack_that_turns_three_times_a_cycle_weighs_three_times",
        ),
    ),
    Mutant(
        "efficiency-of-a-stack-gains-torque",
        "judge/loads/camshaft.py",
        "stack.turns / stack.efficiency",
        "stack.turns * stack.efficiency",
        (
            "tests/core/judge/loads/test_forces.py"
            "::test_a_stack_that_turns_three_times_a_cycle_weighs_three_times",
        ),
    ),
    Mutant(
        "efficiency-of-the-worst-stage-alone",
        "judge/loads/drive.py",
        "return prod(stage.efficiency_used for stage in drive.stages)",
        "return min((stage.efficiency_used for stage in drive.stages), default=1.0)",
        ("tests/published/test_gear_trains.py::test_losses_multiply",),
    ),
    Mutant(
        "every-bevel-reverses",
        "judge/loads/drive.py",
        "bool(stage.reverses_used) if stage.kind in ANGLED",
        "True if stage.kind in ANGLED",
        ("tests/published/test_gear_trains.py::test_sense_of_rotation",),
    ),
    # the chance
    Mutant(
        "normal-interval-for-wilsons",
        "judge/spread/wilson.py",
        "sqrt(share * (1 - share) / drawn + spread / (4 * drawn))",
        "sqrt(share * (1 - share) / drawn)",
        ("tests/core/judge/spread/test_draws.py::test_wilson",),
    ),
    # what is made
    Mutant(
        "zero-mark-a-quarter-turn-off",
        "make/solids/marks.py",
        "return face.draw([np.array([start, outer], dtype=complex)])",
        "return face.draw([1j * np.array([start, outer], dtype=complex)])",
        (
            "tests/core/make/exporting/test_files.py"
            "::test_the_marked_face_is_the_top_and_the_zero_mark_points_along_x",
        ),
    ),
    Mutant(
        "thickness-of-the-first-disc",
        "stack/plan.py",
        "Layer(lane.id, height, height + lane.disc.thickness_mm)",
        "Layer(lane.id, height, height + project.lanes[0].disc.thickness_mm)",
        ("tests/core/stack/test_plan.py::test_discs_follow_the_order_with_spacers_between",),
    ),
    Mutant(
        "fit-clearance-on-the-diameter",
        "stack/bore.py",
        "radius = bore.across_mm / 2 + grow_mm\n    if radius",
        "radius = (bore.across_mm + grow_mm) / 2\n    if radius",
        ("tests/core/make/exporting/test_files.py::test_bores_carry_the_fit_clearance",),
    ),
    Mutant(
        "3mf-in-inches",
        "make/files/threemf.py",
        "model.SetUnit(lib3mf.ModelUnit.MilliMeter)",
        "model.SetUnit(lib3mf.ModelUnit.Inch)",
        (
            "tests/core/make/exporting/test_formats.py"
            "::test_3mf_is_a_package_of_the_specification_in_millimetres",
        ),
    ),
    Mutant(
        "chord-error-ten-times-as-large",
        "base/tolerance.py",
        "CHORD_MM = 0.002",
        "CHORD_MM = 0.02",
        (
            "tests/core/kinematics/profiles/test_outline.py"
            "::test_files_are_within_the_chord_error_that_the_guide_promises",
        ),
    ),
    Mutant(
        "chord-error-not-closed",
        "kinematics/profiles/outline.py",
        "if np.all((errors <= chord_mm) |",
        "if np.all((errors <= 4 * chord_mm) |",
        (
            "tests/core/kinematics/profiles/test_outline.py"
            "::test_no_chord_is_farther_from_the_curve_than_allowed",
        ),
    ),
    # heights and walls
    Mutant(
        "heights-without-the-parts-below",
        "judge/heights/stacks.py",
        '1 if stack.followers_set == "built" else below,',
        "1,",
        ("tests/core/judge/heights/test_heights.py::test_heights_and_widths_by_hand",),
    ),
    Mutant(
        "walls-without-the-printer",
        "stack/walls.py",
        "return min(self.thick_mm, self.printed_mm)",
        "return self.thick_mm",
        ("tests/core/judge/checks/test_walls.py::test_what_is_missing_is_an_error_and_stops_the_export",),
    ),
)
