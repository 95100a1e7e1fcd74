"""Signing a plan with cylinder and axis, and noticing later what changed about them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from case.doubts import codes
from fakes.examples import SURGEON, ordinary_incision_lesson
from fakes.memory_record import MemoryRecord
from workflow.clinic import INTENT, KEY, NOW, clean_lens, clinic, plan_of, sign
from zonule.case.incision import Place
from zonule.case.plan import Intent, SignedPlan
from zonule.case.toric import CorneaModelName, MarkingName
from zonule.errors import ChangedMeanwhileError, InputError, NotApplicableError, OutOfRangeError
from zonule.workflow.plan import changes_since_signing, save_intent, signed_plan_doubts

STEPS = (1.0, 1.5, 2.25)
WISHED = replace(
    INTENT,
    incision_meridian_deg=180.0,
    incision_width_mm=2.2,
    incision_flattening_dpt=0.1,
    cornea_model=CorneaModelName.ANTERIOR,
    marking=MarkingName.UPRIGHT_INK,
    lens_cylinder_dpt=1.5,
)


def toric_clinic(**changes: Any) -> MemoryRecord:
    return clinic(lens=clean_lens(cylinders_dpt=STEPS), intent=replace(WISHED, **changes))


@pytest.fixture(scope="module")
def record() -> MemoryRecord:
    made = toric_clinic()
    sign(made)
    return made


@pytest.fixture
def signed(record: MemoryRecord) -> SignedPlan:
    found = record.case(KEY).signed
    assert found is not None
    return found


def test_cylinder_and_whole_degrees_of_the_plans_meridian_are_signed(signed: SignedPlan) -> None:
    assert (signed.intent.lens_cylinder_dpt, signed.intent.lens_meridian_deg) == (1.5, 95.0)
    assert signed.request.toric is not None
    assert signed.request.toric.lens_meridian_deg == 95.0


def test_what_was_shown_of_cylinder_and_axis_is_kept(signed: SignedPlan) -> None:
    shown = signed.displayed
    assert (shown["lens_cylinder_dpt"], shown["lens_meridian_deg"]) == ("1.50", "95")
    assert shown["cornea_model"] == "anterior"
    assert signed.predicted_residual_dpt is not None
    assert shown["residual_dpt"] == f"{signed.predicted_residual_dpt:.2f}"
    assert {"residual_within_0_50"} <= shown.keys()


def test_a_toric_plan_just_signed_raises_no_doubt_and_nothing_changed(
    record: MemoryRecord, signed: SignedPlan
) -> None:
    assert signed_plan_doubts(signed) == ()
    assert changes_since_signing(record.case(KEY), record) == ()


def test_a_lens_with_cylinders_is_not_signed_before_one_or_none_is_chosen() -> None:
    with pytest.raises(InputError, match="Choose which"):
        sign(toric_clinic(lens_cylinder_dpt=None), reasons="Seen.")
    none = sign(toric_clinic(lens_cylinder_dpt=0.0), reasons="Seen.")
    assert (none.intent.lens_cylinder_dpt, none.intent.lens_meridian_deg) == (0.0, None)
    assert none.displayed["lens_cylinder_dpt"] == "0.00"


def test_a_plan_whose_written_meridian_is_flipped_is_not_signed() -> None:
    with pytest.raises(NotApplicableError):
        sign(toric_clinic(lens_meridian_deg=5.0), reasons="Meant so.")


def test_a_meridian_written_within_rounding_is_signed_as_written() -> None:
    assert sign(toric_clinic(lens_meridian_deg=96.0)).intent.lens_meridian_deg == 96.0


def test_another_question_about_the_cylinder_needs_another_look() -> None:
    record = toric_clinic()
    shown = plan_of(record).asked
    moved = replace(WISHED, incision_meridian_deg=90.0)
    revision = save_intent(record, KEY, moved, revision=record.case(KEY).revision, who="x", now=NOW)
    with pytest.raises(ChangedMeanwhileError):
        sign(record, asked=shown, revision=revision)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"incision_meridian_deg": 90.0}, "the incision"),
        ({"lens_cylinder_dpt": 1.0}, "the cylinder"),
        ({"lens_meridian_deg": 94.0}, "the cylinder"),
        ({"cornea_model": CorneaModelName.SAVINI_NAESER}, "the cylinder"),
    ],
)
def test_a_change_after_signing_is_told(change: dict[str, Any], words: str) -> None:
    record = toric_clinic()
    sign(record)
    case = record.case(KEY)
    later: Intent = replace(case.intent, **change)
    save_intent(record, KEY, later, revision=case.revision, who="x", now=NOW)
    (found,) = changes_since_signing(record.case(KEY), record)
    assert words in found.sentence


def test_a_stored_residual_that_was_altered_is_noticed(signed: SignedPlan) -> None:
    altered = replace(signed, predicted_residual_dpt=0.9)
    assert "signed-plan-altered" in codes(signed_plan_doubts(altered))


@pytest.mark.parametrize(
    "nonsense",
    [
        {"incision_width_mm": 22.0},
        {"incision_flattening_dpt": 4.0},
        {"lens_cylinder_dpt": -1.5},
        {"lens_meridian_deg": 181.0},
    ],
)
def test_a_draft_that_cannot_be_is_refused(nonsense: dict[str, Any]) -> None:
    record = clinic()
    with pytest.raises(OutOfRangeError):
        save_intent(
            record, KEY, replace(INTENT, **nonsense), revision=record.case(KEY).revision, who="x", now=NOW
        )


def test_the_lesson_of_this_surgeon_place_and_width_is_read_from_the_record() -> None:
    record = toric_clinic(incision_flattening_dpt=None)
    about = ordinary_incision_lesson(surgeon=SURGEON, flattening_dpt=0.35)
    changes: tuple[dict[str, Any], ...] = (
        {"surgeon": "M. Hale"},
        {"place": Place.SUPERIOR},
        {"width_mm": 2.4},
    )
    others = [ordinary_incision_lesson(**one) for one in changes]
    with record.act(who=SURGEON, verb="fill", subject=KEY, at=NOW) as act:
        for one in (*others, about):
            act.add_incision_lesson(one)
    found = plan_of(record)
    assert found.request.incision_lesson == about
    assert found.toric is not None
    assert found.toric.incision is not None
    assert found.toric.incision.flattening_dpt == 0.35


def test_without_a_width_no_lesson_is_read() -> None:
    record = toric_clinic(incision_width_mm=None)
    with record.act(who=SURGEON, verb="fill", subject=KEY, at=NOW) as act:
        act.add_incision_lesson(ordinary_incision_lesson())
    assert plan_of(record).request.incision_lesson is None
