"""Sign a plan, and tell later whether it still says what it said."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import SURGEON, ordinary_lens, ordinary_lesson
from fakes.memory_record import MemoryRecord
from workflow.clinic import (
    INTENT,
    KEY,
    NOW,
    clean_eye,
    clean_fellow,
    clinic,
    operate,
    plan_of,
    sign,
    signed_clinic,
)
from zonule.case.eye import CornealSurgery, Readiness
from zonule.case.finding import Severity
from zonule.case.lens import LensConstants
from zonule.case.plan import FearedSide, SignedPlan
from zonule.errors import (
    ChangedMeanwhileError,
    InconsistentRecordError,
    InputError,
    NotApplicableError,
    OutOfRangeError,
)
from zonule.workflow import plan as plan_module
from zonule.workflow.plan import (
    changes_since_signing,
    findings_with_choice,
    save_intent,
    signed_plan_doubts,
    standing_warnings,
)


@pytest.fixture(scope="module")
def signed() -> SignedPlan:
    record = clinic()
    with record.act(who=SURGEON, verb="fill", subject=KEY, at=NOW) as act:
        act.add_lesson(ordinary_lesson())
    return sign(record)


def test_a_signed_plan_is_frozen_as_it_was_shown(signed: SignedPlan) -> None:
    assert signed.intent.lens_power_dpt == 20.5
    assert signed.displayed["lens_power_dpt"] == "20.50"
    assert signed.displayed["predicted_refraction_dpt"] == f"{signed.predicted_refraction_dpt:.2f}"
    assert signed.displayed["target_refraction_dpt"] == "0.00"
    assert {"sd_dpt", "within_0_50"} <= signed.displayed.keys()
    assert (signed.signed_by, signed.signed_at, signed.case_key) == (SURGEON, NOW, KEY)


def test_a_converted_haigis_is_not_in_a_signed_plan(signed: SignedPlan) -> None:
    assert signed.method_predictions_dpt.keys() == {"srk_t", "holladay_1", "hoffer_q"}


def test_a_signed_plan_keeps_each_method_before_its_offset(signed: SignedPlan) -> None:
    assert signed.method_predictions_dpt["srk_t"] == pytest.approx(0.0445, abs=5e-5)


def test_a_plan_just_signed_raises_no_doubt(signed: SignedPlan) -> None:
    assert signed_plan_doubts(signed) == ()


def test_signing_writes_plan_draft_and_trail_in_one_act() -> None:
    record = clinic()
    one = sign(record)
    case = record.case(KEY)
    assert (case.signed, case.intent.lens_power_dpt) == (one, 20.5)
    entry = record.trail(KEY)[0]
    assert (entry.verb, entry.who, entry.detail) == ("sign plan", SURGEON, one.digest)


def test_a_new_signature_names_the_plan_it_replaces() -> None:
    record = clinic()
    first = sign(record)
    second = sign(record, power_dpt=21.0)
    assert (first.replaces, second.replaces) == ("", first.digest)


# --- the hash ---------------------------------------------------------------------------------------------


def changed(signed: SignedPlan) -> dict[str, SignedPlan]:
    """The signed plan, with one thing altered at a time that the hash has to cover."""
    request, lens = signed.request, signed.request.lens
    assert lens is not None
    requests = {
        "length": replace(request, eye=clean_eye(axial_length_mm=23.51)),
        "answer": replace(request, eye=clean_eye(corneal_surgery=CornealSurgery.UNKNOWN)),
        "fellow": replace(request, fellow=clean_fellow(axial_length_mm=23.5)),
        "constant": replace(request, lens=replace(lens, constants=LensConstants(118.41))),
        "lane": replace(request, lens=replace(lens, constants_lane_m=5.9)),
        "target": replace(request, target_refraction_dpt=-0.01),
        "feared side": replace(request, feared_side=FearedSide.MYOPIC),
        "surgeon": replace(request, surgeon="M. Hale"),
        "lesson": replace(request, lessons=(ordinary_lesson(offset_dpt=-0.13),)),
        "no lesson": replace(request, lessons=()),
    }
    others = {
        "power": replace(signed, intent=replace(signed.intent, lens_power_dpt=21.0)),
        "incision": replace(signed, intent=replace(signed.intent, incision_meridian_deg=90.0)),
        "version": replace(signed, software_version="0.0.9"),
        "seed": replace(signed, seed=signed.seed + 1),
        "decimals": replace(signed, displayed={**signed.displayed, "predicted_refraction_dpt": "0.99"}),
        "reasons": replace(signed, reasons="None."),
        "signature": replace(signed, signed_by="M. Hale"),
        "moment": replace(signed, signed_at=signed.signed_at + timedelta(seconds=1)),
        "replaced plan": replace(signed, replaces="b" * 64),
        "case": replace(signed, case_key="demo-0042-left"),
        "warnings": replace(signed, warnings=signed_warnings(signed)),
    }
    return {name: replace(signed, request=one) for name, one in requests.items()} | others


def signed_warnings(signed: SignedPlan) -> Any:
    weak = replace(signed, predicted_refraction_dpt=9.9)
    return signed_plan_doubts(weak)


def test_the_hash_covers_everything_that_was_put_in_or_shown(
    signed: SignedPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    altered = changed(signed)
    monkeypatch.setattr(plan_module, "_differs_when_computed_anew", lambda _signed: False)
    missed = [
        name for name, one in altered.items() if "signed-plan-altered" not in codes(signed_plan_doubts(one))
    ]
    assert missed == []


def test_the_hash_covers_no_computed_number(signed: SignedPlan, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_module, "_differs_when_computed_anew", lambda _signed: False)
    by_method = {method: value + 1.0 for method, value in signed.method_predictions_dpt.items()}
    for one in (
        replace(signed, predicted_refraction_dpt=signed.predicted_refraction_dpt + 1.0),
        replace(signed, method_predictions_dpt=by_method),
    ):
        assert signed_plan_doubts(one) == ()


@pytest.mark.parametrize("error_dpt", [0.0009, -0.0009])
def test_a_thousandth_of_a_dioptre_between_machines_is_no_alteration(
    signed: SignedPlan, error_dpt: float
) -> None:
    moved = replace(signed, predicted_refraction_dpt=signed.predicted_refraction_dpt + error_dpt)
    assert signed_plan_doubts(moved) == ()


def test_a_stored_prediction_that_was_altered_is_found(signed: SignedPlan) -> None:
    moved = replace(signed, predicted_refraction_dpt=signed.predicted_refraction_dpt + 0.0011)
    finding = the_one(signed_plan_doubts(moved), "signed-plan-altered")
    assert finding.severity is Severity.BLOCKING
    assert "Do not use it" in finding.sentence


def test_an_altered_prediction_of_one_method_is_found(signed: SignedPlan) -> None:
    by_method = {**signed.method_predictions_dpt, "hoffer_q": 0.5}
    assert "signed-plan-altered" in codes(
        signed_plan_doubts(replace(signed, method_predictions_dpt=by_method))
    )
    without = {"srk_t": signed.method_predictions_dpt["srk_t"]}
    assert "signed-plan-altered" in codes(signed_plan_doubts(replace(signed, method_predictions_dpt=without)))


def test_another_version_that_computes_otherwise_is_named_and_not_called_tampering(
    signed: SignedPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(plan_module, "__version__", "9.9.9")
    moved = replace(signed, predicted_refraction_dpt=signed.predicted_refraction_dpt + 0.2)
    finding = the_one(signed_plan_doubts(moved), "signed-plan-differs")
    assert finding.severity is Severity.WARNING
    assert "9.9.9" in finding.sentence


def test_a_formula_added_later_alters_no_signed_plan_hash(
    signed: SignedPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    from zonule.science.lens_power.formulas import FORMULAS

    monkeypatch.setitem(FORMULAS, "newer", replace(FORMULAS["srk_t"], key="newer"))
    monkeypatch.setattr(plan_module, "__version__", "9.9.9")
    assert "signed-plan-altered" not in codes(signed_plan_doubts(signed))


# --- when no plan can be signed ---------------------------------------------------------------------------


def refused(record: MemoryRecord, error: type[Exception], words: str, **changes: Any) -> None:
    """Signing is refused, and nothing of it stays on record."""
    before = (record.case(KEY), record.trail())
    with pytest.raises(error, match=words):
        sign(record, **changes)
    assert (record.case(KEY), record.trail()) == before


def test_a_blocking_finding_cannot_be_signed_away() -> None:
    touched = clinic(clean_eye(corneal_surgery=CornealSurgery.KERATOCONUS))
    refused(touched, NotApplicableError, "must be resolved", reasons="I know what I do.")


def test_standing_warnings_want_a_reason() -> None:
    record = clinic(clean_eye(lens_thickness_mm=6.0))
    for reasons in ("", "   "):
        refused(record, InputError, "Write in a sentence why", reasons=reasons)
    one = sign(record, reasons=" Measured twice. ")
    assert one.reasons == "Measured twice."
    assert codes(one.warnings) == {"second-look"}


def test_unanswered_questions_of_readiness_want_a_reason_too() -> None:
    record = clinic(clean_eye(readiness=Readiness()))
    assert codes(standing_warnings(plan_of(record), None)) == {"readiness-unanswered"}
    refused(record, InputError, "Write in a sentence why")


@pytest.mark.parametrize("who", ["", "  "])
def test_a_plan_is_signed_by_a_person(who: str) -> None:
    refused(clinic(), InputError, "type your name", who=who)


def test_a_stale_page_cannot_be_signed() -> None:
    record = clinic()
    seen = record.case(KEY).revision
    save_intent(record, KEY, replace(INTENT, capsulorhexis_mm=5.0), revision=seen, who=SURGEON, now=NOW)
    refused(record, ChangedMeanwhileError, "changed", revision=seen)


def test_a_lens_constant_that_changed_after_the_plan_was_shown_stops_the_signature() -> None:
    record = clinic()
    shown = plan_of(record).asked
    with record.act(who="Clerk", verb="change lens", subject="lens", at=NOW) as act:
        act.put_lens(ordinary_lens(a_constant=118.7, constants_lane_m=6.0))
    refused(record, ChangedMeanwhileError, "changed after this plan was shown", asked=shown)


def test_a_lesson_accepted_after_the_plan_was_shown_stops_the_signature() -> None:
    record = clinic()
    shown = plan_of(record).asked
    with record.act(who=SURGEON, verb="accept lesson", subject="lesson", at=NOW) as act:
        act.add_lesson(ordinary_lesson())
    refused(record, ChangedMeanwhileError, "a lesson changed", asked=shown)


def test_a_measurement_that_changed_after_the_plan_was_shown_stops_the_signature() -> None:
    record = clinic()
    shown = plan_of(record).asked
    with record.act(who="Clerk", verb="import", subject="file", at=NOW) as act:
        act.put_eye("demo-0042", clean_eye(axial_length_mm=23.6))
    refused(record, ChangedMeanwhileError, "measurements", asked=shown)


@pytest.mark.parametrize("power_dpt", [20.25, 31.0, 0.0])
def test_a_power_nobody_makes_cannot_be_signed(power_dpt: float) -> None:
    refused(clinic(), InconsistentRecordError, "not a power in which this lens is made", power_dpt=power_dpt)


def test_an_eye_that_no_formula_fits_is_not_told_that_the_power_is_not_made() -> None:
    only_haigis = ordinary_lens(constants=LensConstants(haigis=(-1.0, 0.25, 0.22)), constants_lane_m=6.0)
    record = clinic(clean_eye(anterior_chamber_depth_mm=None, chamber_from=None), lens=only_haigis)
    refused(record, NotApplicableError, "No formula may stand for this eye")


def test_no_plan_is_signed_after_the_operation() -> None:
    record = signed_clinic()
    operate(record)
    refused(record, InconsistentRecordError, "operation on this eye is on record", power_dpt=21.0)


def test_a_steep_eye_without_odds_can_be_signed_with_a_reason_and_shows_no_chance() -> None:
    record = clinic(clean_eye(flat_power_dpt=48.2, steep_power_dpt=48.6, axial_length_mm=22.5))
    one = sign(record, reasons="Topography is regular.")
    assert "within_0_50" not in one.displayed
    assert signed_plan_doubts(one) == ()


# --- the draft --------------------------------------------------------------------------------------------


def test_a_draft_with_a_lens_nobody_has_is_refused() -> None:
    record = clinic()
    draft = replace(INTENT, lens_model="Unheard Of")
    with pytest.raises(InputError, match="not in the catalogue"):
        save_intent(record, KEY, draft, revision=record.case(KEY).revision, who=SURGEON, now=NOW)


def test_a_draft_says_in_the_trail_what_it_was_before() -> None:
    record = clinic()
    draft = replace(INTENT, target_refraction_dpt=-0.5)
    revision = save_intent(record, KEY, draft, revision=record.case(KEY).revision, who=SURGEON, now=NOW)
    assert (record.case(KEY).intent, record.case(KEY).revision) == (draft, revision)
    detail = record.trail(KEY)[0].detail
    assert '"target_refraction_dpt":0' in detail
    assert '"target_refraction_dpt":-0.5' in detail


def test_a_draft_that_holds_no_number_is_refused() -> None:
    record = clinic()
    draft = replace(INTENT, target_refraction_dpt=float("nan"))
    with pytest.raises(OutOfRangeError):
        save_intent(record, KEY, draft, revision=record.case(KEY).revision, who=SURGEON, now=NOW)


# --- what changed since -----------------------------------------------------------------------------------


def test_nothing_has_changed_right_after_the_signature() -> None:
    record = clinic()
    assert changes_since_signing(record.case(KEY), record) == ()
    sign(record)
    assert changes_since_signing(record.case(KEY), record) == ()


def test_a_measurement_taken_in_after_the_signature_is_told() -> None:
    record = signed_clinic()
    with record.act(who="Clerk", verb="import", subject="file", at=NOW) as act:
        act.put_eye("demo-0042", clean_eye(axial_length_mm=24.1))
    finding = the_one(changes_since_signing(record.case(KEY), record), "changed-since-signing")
    assert finding.severity is Severity.WARNING
    assert "the eye." in finding.sentence


def test_a_lens_and_an_aim_changed_after_the_signature_are_told() -> None:
    record = signed_clinic()
    with record.act(who="Clerk", verb="change lens", subject="lens", at=NOW) as act:
        act.put_lens(ordinary_lens(a_constant=118.7))
        draft = replace(record.case(KEY).intent, target_refraction_dpt=-0.5)
        act.put_intent(KEY, draft, record.case(KEY).revision)
    sentence = the_one(changes_since_signing(record.case(KEY), record), "changed-since-signing").sentence
    assert "the lens, the aim" in sentence


def test_a_plan_signed_for_another_case_is_not_to_be_used(signed: SignedPlan) -> None:
    record = clinic()
    case = replace(record.case(KEY), signed=replace(signed, case_key="demo-0043-right"))
    finding = the_one(changes_since_signing(case, record), "signed-for-another-case")
    assert finding.severity is Severity.BLOCKING


@pytest.mark.parametrize(("power_dpt", "side"), [(18.5, "long-sighted"), (22.5, "short-sighted")])
def test_a_power_far_from_the_aim_asks_whether_it_was_meant(power_dpt: float, side: str) -> None:
    record = clinic()
    far = the_one(findings_with_choice(plan_of(record), power_dpt), "power-far-from-aim")
    assert side in far.sentence
    refused(record, InputError, "Write in a sentence why", power_dpt=power_dpt)
    assert codes(sign(record, power_dpt=power_dpt, reasons="Wanted.").warnings) == {"power-far-from-aim"}


def test_a_power_near_the_aim_raises_no_doubt_of_its_own() -> None:
    plan = plan_of(clinic())
    for power_dpt in (None, 20.5, 21.5):
        assert findings_with_choice(plan, power_dpt) == plan.findings


def test_a_renamed_file_changes_no_odds() -> None:
    eye = clean_eye()
    length = eye.biometry.axial_length_mm
    assert length is not None
    renamed = replace(length, source="another-name.csv, row 9", device="another word for it")
    moved = replace(eye, biometry=replace(eye.biometry, axial_length_mm=renamed))
    assert plan_of(clinic(moved)).odds == plan_of(clinic(eye)).odds
