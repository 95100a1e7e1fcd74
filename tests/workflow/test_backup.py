"""What to have ready in case the capsule tears."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.backups import METHODS, chamber_lens, numbers_of, single_piece, three_piece
from fakes.examples import ordinary_lens
from zonule.case.backup import Backup, BackupLens
from zonule.case.finding import Severity
from zonule.case.lens import Focus, LensConstants, LensModel, Material, PowerRange
from zonule.case.operation import Fixation
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt
from zonule.workflow.backup import backup_candidates, backup_lenses

READY = (three_piece(), chamber_lens())


def asked(
    *lenses: LensModel,
    planned: LensModel | None = None,
    power: float | None = 20.5,
    target: float = 0.0,
    eyes: dict[str, EyeNumbers] | None = None,
) -> Backup:
    return backup_lenses(
        planned or single_piece(), power, target, numbers_of() if eyes is None else eyes, lenses
    )


def only(backup: Backup, place: Fixation) -> BackupLens:
    (found,) = backup.at(place)
    return found


def codes(backup: Backup) -> set[str]:
    return {finding.code for finding in backup.findings}


def test_a_bag_power_of_20_5_in_an_average_eye_is_19_5_to_20_in_the_sulcus() -> None:
    """Common practice, no source; the step rule is from memory."""
    found = only(asked(*READY), Fixation.SULCUS)
    assert found.bag_power_dpt == pytest.approx(20.56, abs=0.01)
    assert 19.5 <= found.power_for_target_dpt <= 20.0
    assert found.power_dpt in {19.5, 20.0}
    assert found.step_rule_dpt == 19.5


def test_an_unchanged_power_half_a_millimetre_forward_leaves_about_six_tenths_of_short_sight() -> None:
    left = only(asked(*READY), Fixation.SULCUS).unchanged_refraction_dpt
    assert left == pytest.approx(-0.6, abs=0.1)


def test_the_three_places_ask_for_weaker_and_weaker_lenses_the_further_forward_they_are() -> None:
    backup = asked(*READY)
    captured, sulcus, chamber = (
        only(backup, place).power_for_target_dpt
        for place in (Fixation.SULCUS_CAPTURED, Fixation.SULCUS, Fixation.ANTERIOR_CHAMBER)
    )
    assert 20.6 > captured > sulcus > chamber > 15.0


@given(
    length=st.floats(20.5, 34.0),
    mean_k=st.floats(39.0, 48.0),
    depth=st.floats(2.2, 4.2),
    target=st.floats(-3, 1),
)
def test_the_power_for_the_target_lies_within_its_range_and_the_nearest_made_is_offered(
    length: float, mean_k: float, depth: float, target: float
) -> None:
    backup = asked(*READY, target=target, eyes=numbers_of(length, mean_k, depth))
    assert {found.position for found in backup.lenses} == {
        Fixation.SULCUS,
        Fixation.SULCUS_CAPTURED,
        Fixation.ANTERIOR_CHAMBER,
    }
    for found in backup.lenses:
        lowest, highest = found.power_range_dpt
        assert lowest <= found.power_for_target_dpt <= highest
        if found.power_dpt is not None:
            assert abs(found.power_dpt - found.power_for_target_dpt) <= 0.25 + 1e-9


def test_a_minus_lens_needs_less_minus_in_the_sulcus_and_its_range_runs_upwards() -> None:
    minus = three_piece(powers=PowerRange(-10.0, 5.0, 0.5))
    found = only(asked(minus, eyes=numbers_of(33.0, 44.0)), Fixation.SULCUS)
    lowest, highest = found.power_range_dpt
    assert found.bag_power_dpt is not None
    assert found.bag_power_dpt < lowest < found.power_for_target_dpt < highest < 0.0


def test_each_candidate_is_computed_with_its_own_constants() -> None:
    by_name = {
        found.model: found.power_for_target_dpt
        for found in asked(three_piece("High", 119.0), three_piece("Low", 118.0)).at(Fixation.SULCUS)
    }
    assert by_name["High"] > by_name["Low"] + 0.5


def test_a_constant_found_in_a_shorter_lane_moves_the_power_of_its_lens() -> None:
    here = only(asked(three_piece(constants_lane_m=6.0)), Fixation.SULCUS)
    near = only(asked(three_piece(constants_lane_m=4.0)), Fixation.SULCUS)
    assert near.power_for_target_dpt - here.power_for_target_dpt == pytest.approx(-0.12, abs=0.03)


def test_the_numbers_are_the_middle_of_the_methods_that_count_for_the_lens() -> None:
    haigis = {**numbers_of(), "haigis": EyeNumbers(23.5, 43.5, 3.1)}
    converted = only(asked(three_piece(), eyes=haigis), Fixation.SULCUS)
    assert converted.methods == METHODS
    own = three_piece(constants=LensConstants(a_constant=118.4, haigis=(1.0, 0.4, 0.1)))
    assert only(asked(own, eyes=haigis), Fixation.SULCUS).methods == (*METHODS, "haigis")


def test_the_bag_power_beside_is_what_the_methods_say_of_that_lens_in_the_bag() -> None:
    found = only(
        asked(three_piece(a_constant=118.0), eyes={"srk_t": EyeNumbers(23.5, 43.5, 3.1)}), Fixation.SULCUS
    )
    seen = seen_eye(FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1), (118.0,))
    assert found.bag_power_dpt == pytest.approx(float(np.asarray(lens_power_dpt(seen, 0.0))), abs=1e-9)


def test_a_single_piece_planned_lens_is_named_as_barred_and_never_offered() -> None:
    backup = asked(*READY)
    (barred,) = backup.not_offered
    assert (barred.model, barred.position) == ("Meadow One", Fixation.SULCUS)
    assert [finding.code for finding in barred.findings] == ["single-piece-in-sulcus"]
    assert "Meadow One" not in {found.model for found in backup.lenses}


def test_a_three_piece_planned_lens_is_its_own_backup_and_stands_first() -> None:
    backup = asked(three_piece("Aster"), planned=three_piece("Zinnia"))
    assert [found.model for found in backup.at(Fixation.SULCUS)] == ["Zinnia", "Aster"]
    assert not backup.not_offered


def test_a_lens_of_unrecorded_haptics_is_asked_about_once() -> None:
    backup = asked(three_piece("Sedge", haptic=None), planned=ordinary_lens())
    assert [(one.model, one.findings[0].code) for one in backup.not_offered] == [
        ("Meadow One", "haptic-unknown"),
        ("Sedge", "haptic-unknown"),
    ]


def test_a_toric_plan_falls_back_on_no_toric_lens_and_says_what_is_lost() -> None:
    toric = three_piece("Meadow Turn", cylinders_dpt=(1.5,))
    backup = asked(*READY, planned=toric)
    assert "Meadow Turn" not in {found.model for found in backup.lenses}
    assert {one.findings[0].code for one in backup.not_offered} == {"backup-needs-the-bag"}
    assert "backup-does-less" in codes(backup)
    assert "backup-does-less" not in codes(asked(*READY))


def test_a_catalogue_without_such_lenses_says_so_and_gives_an_orientation_only() -> None:
    backup = asked()
    assert [finding.where for finding in backup.findings if finding.code == "no-backup-lens"] == [
        "backup.sulcus",
        "backup.anterior_chamber",
    ]
    assert len(backup.lenses) == 3
    for found in backup.lenses:
        assert found.model is None
        assert found.power_dpt is None
        assert found.refraction_dpt is None
    assert "no-backup-lens" not in codes(asked(*READY))


def test_an_orientation_reads_the_step_rule_at_the_planned_power() -> None:
    assert only(asked(power=20.5), Fixation.SULCUS).step_rule_dpt == 19.5
    assert only(asked(power=17.0), Fixation.SULCUS).step_rule_dpt == 16.5
    assert only(asked(power=None), Fixation.SULCUS).step_rule_dpt == 19.5


def test_between_the_rows_of_the_step_rule_nothing_is_read_and_that_is_said() -> None:
    found = only(asked(power=28.25), Fixation.SULCUS)
    assert found.step_rule_dpt is None
    assert [finding.code for finding in found.findings] == ["between-step-rows"]


def test_a_step_rule_that_is_far_from_the_optics_is_told_apart() -> None:
    found = only(asked(power=28.5), Fixation.SULCUS)
    assert [finding.code for finding in found.findings] == ["step-rule-apart"]


def test_a_bag_power_that_is_not_made_is_ruled_by_its_half_dioptre_and_leaves_nothing_unchanged() -> None:
    found = only(asked(three_piece(powers=PowerRange(10.0, 20.0, 0.5))), Fixation.SULCUS)
    assert found.power_dpt == 19.5
    assert found.step_rule_dpt == 19.5
    assert found.unchanged_refraction_dpt is None


def test_a_captured_optic_and_a_chamber_lens_have_no_step_rule() -> None:
    backup = asked(*READY)
    assert only(backup, Fixation.SULCUS_CAPTURED).step_rule_dpt is None
    assert only(backup, Fixation.ANTERIOR_CHAMBER).step_rule_dpt is None


def test_without_a_measured_depth_no_power_is_given_for_the_chamber() -> None:
    backup = asked(*READY, eyes=numbers_of(depth_mm=math.nan))
    assert not backup.at(Fixation.ANTERIOR_CHAMBER)
    assert "chamber-depth-for-backup" in codes(backup)
    assert backup.at(Fixation.SULCUS)


def test_a_deeper_chamber_asks_for_a_stronger_chamber_lens_and_leaves_the_sulcus_alone() -> None:
    shallow, deep = (asked(*READY, eyes=numbers_of(depth_mm=depth)) for depth in (2.7, 3.5))
    chamber = Fixation.ANTERIOR_CHAMBER
    assert only(deep, chamber).power_for_target_dpt > only(shallow, chamber).power_for_target_dpt + 0.8
    assert only(deep, Fixation.SULCUS) == only(shallow, Fixation.SULCUS)


def test_the_power_at_the_iris_does_not_depend_on_the_planned_lens() -> None:
    one, other = (asked(*READY, planned=single_piece(a_constant=a)) for a in (118.0, 119.4))
    chamber = Fixation.ANTERIOR_CHAMBER
    assert only(one, chamber).power_for_target_dpt == pytest.approx(
        only(other, chamber).power_for_target_dpt, abs=1e-9
    )


def test_a_chamber_lens_whose_constant_belongs_in_the_bag_is_found_out() -> None:
    mixed_up = only(asked(chamber_lens(a_constant=118.9)), Fixation.ANTERIOR_CHAMBER)
    assert [finding.code for finding in mixed_up.findings] == ["chamber-ways-differ"]
    usual = only(asked(chamber_lens(a_constant=115.2)), Fixation.ANTERIOR_CHAMBER)
    assert usual.findings == ()
    assert usual.own_constants_power_dpt == pytest.approx(usual.power_for_target_dpt, abs=0.5)


def test_a_candidate_without_constants_is_not_computed_and_that_is_said() -> None:
    backup = asked(three_piece(a_constant=None))
    without = [one for one in backup.not_offered if one.model == "Meadow Three"]
    assert [one.findings[0].code for one in without] == ["backup-without-constants"] * 2
    assert only(backup, Fixation.SULCUS).model is None


def test_a_power_that_is_not_made_is_not_rounded_to_the_last_one_that_is() -> None:
    found = only(asked(three_piece(powers=PowerRange(10.0, 18.0, 0.5))), Fixation.SULCUS)
    assert found.power_dpt is None
    assert found.refraction_dpt is None
    assert [finding.code for finding in found.findings] == ["backup-power-not-made"]


def test_a_lens_that_is_not_made_in_the_power_stands_behind_those_that_are() -> None:
    backup = asked(three_piece("Aster", powers=PowerRange(-10.0, 5.0, 1.0)), three_piece("Zinnia"))
    assert [found.model for found in backup.at(Fixation.SULCUS)] == ["Zinnia", "Aster"]


def test_silicone_is_named_since_a_torn_capsule_brings_oil_nearer() -> None:
    found = only(asked(three_piece(material=Material.SILICONE)), Fixation.SULCUS)
    assert [finding.code for finding in found.findings] == ["silicone-backup"]


def test_an_unrecorded_focus_is_asked_about() -> None:
    found = only(asked(three_piece(focus=None)), Fixation.SULCUS)
    assert [finding.code for finding in found.findings] == ["backup-focus-unknown"]


def test_without_a_method_that_counts_there_is_no_power_at_all() -> None:
    backup = asked(*READY, eyes={})
    assert backup.lenses == ()
    assert codes(backup) == {"no-backup-power"}


def test_the_answer_does_not_depend_on_the_order_of_the_catalogue() -> None:
    lenses = (three_piece("Aster"), three_piece("Briar", 118.9), chamber_lens())
    assert asked(*lenses) == asked(*reversed(lenses))


def test_nothing_about_another_lens_stops_the_plan_from_the_list_of_all() -> None:
    for backup in (asked(), asked(*READY), asked(*READY, planned=ordinary_lens())):
        assert all(finding.severity is not Severity.BLOCKING for finding in backup.findings)


def test_candidates_are_the_lenses_that_may_lie_elsewhere_by_name_without_the_planned_one() -> None:
    planned = three_piece("Zinnia")
    catalogue = (
        planned,
        *reversed(READY),
        single_piece("Sorrel"),
        replace(three_piece("Tansy"), haptic=None),
        three_piece("Turn", cylinders_dpt=(1.5,)),
        three_piece("Many", focus=Focus.SEVERAL),
    )
    assert [one.name for one in backup_candidates(planned, catalogue)] == ["Meadow Gate", "Meadow Three"]
