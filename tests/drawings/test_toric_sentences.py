"""Cylinder and axis in sentences and as bars."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from drawings.drawn import root
from workflow.clinic import TODAY, clean_lens, clean_request
from zonule.case.incision import Incision
from zonule.case.plan import Plan
from zonule.case.toric import CorneaModelName, MarkingName, ToricOption, ToricPlan, ToricWishes
from zonule.drawings import toric_sentences
from zonule.drawings.sentences import what_changed_sentence
from zonule.drawings.toric import cylinders_drawing
from zonule.workflow.forecast import plan_eye

WISHES = ToricWishes(cornea_model=CorneaModelName.ANTERIOR, marking=MarkingName.UPRIGHT_INK)
CUT = Incision(180.0, 2.2, 0.1)


def plan(wishes: ToricWishes = WISHES, incision: Incision | None = CUT, **changes: Any) -> Plan:
    asked = {"lens": clean_lens(cylinders_dpt=(1.0, 1.5)), "toric": wishes, "incision": incision}
    return plan_eye(clean_request(**asked | changes), TODAY)


def toric(**changes: Any) -> ToricPlan:
    answer = plan(**changes).toric
    assert answer is not None
    return answer


def option(answer: ToricPlan, cylinder: float) -> ToricOption:
    found = answer.option(cylinder)
    assert found is not None
    return found


def test_the_cornea_is_followed_from_the_reading_to_after_the_incision() -> None:
    said = toric_sentences.cornea_sentence(toric(wishes=replace(WISHES, cornea_model=None)))
    assert said.startswith(
        "The reading is 1.00 D at 95\u00b0. By Abulafia and Koch 2016 the whole cornea has "
    )
    assert "After the incision it has " in said


def test_a_reading_planned_on_as_it_is_is_told_once() -> None:
    assert toric_sentences.cornea_sentence(toric(incision=None)) == "The reading is 1.00 D at 95\u00b0."


def test_an_option_tells_marks_residual_and_chance() -> None:
    answer = toric()
    said = toric_sentences.option_sentence(answer, option(answer, 1.5))
    assert re.fullmatch(
        r"1\.50 D of cylinder, marks at 95\u00b0, should leave \d\.\d\d D( at \d+\u00b0)?; "
        r"\d+ in 100 eyes like this end with half a dioptre or less\.",
        said,
    )
    assert toric_sentences.option_sentence(answer, answer.without).startswith("Without cylinder the lens ")


def test_the_cost_of_both_slips_is_told_with_their_meridians() -> None:
    answer = toric()
    chosen = option(answer, 1.5)
    said = toric_sentences.slips_sentence(answer, chosen)
    assert said == (
        f"Set 90\u00b0 off, at 5\u00b0, it would leave {chosen.flipped_dpt:.2f} D; mirrored, at 85\u00b0, "
        f"{chosen.mirrored_dpt:.2f} D."
    )


def test_torsion_is_named_only_where_it_is_not_removed() -> None:
    assert "no turn of the eye" in toric_sentences.turn_sentence(toric())
    lying = toric(wishes=replace(WISHES, marking=MarkingName.LYING))
    assert "turn of the eye on lying down (SD 4.9" in toric_sentences.turn_sentence(lying)


def test_a_moved_incision_is_told_with_what_it_moved() -> None:
    said = what_changed_sentence(plan(), plan(incision=Incision(90.0, 2.2, 0.4)))
    assert said.startswith("The incision is now at 90\u00b0, 2.2 mm wide, flattening 0.40 D: ")
    assert "the cylinder left went from" in said


def test_a_chosen_cylinder_is_told() -> None:
    chosen = replace(WISHES, lens_cylinder_dpt=1.0)
    assert what_changed_sentence(plan(), plan(chosen)).startswith("The cylinder is now 1.00 D")
    none = replace(WISHES, lens_cylinder_dpt=0.0)
    assert what_changed_sentence(plan(chosen), plan(none)).startswith("No cylinder is wanted: ")


def test_a_plan_that_did_not_move_says_so() -> None:
    assert what_changed_sentence(plan(), plan()) == "Nothing moved."


def test_each_bar_is_as_long_as_its_chances() -> None:
    answer = toric()
    tree = root(cylinders_drawing(answer, 1.5, width=720))
    wide = [float(one.get("width", "0")) for one in tree.iter() if one.get("class") == "share"]
    assert len(wide) == 4 * 3
    for place, one in enumerate(answer.all_options):
        assert abs(sum(wide[4 * place : 4 * place + 4]) - 628.0 * one.within[-1]) < 0.01


def test_the_drawing_says_every_option_in_words() -> None:
    answer = toric()
    said = cylinders_drawing(answer, None).description
    for one in answer.all_options:
        assert toric_sentences.option_sentence(answer, one) in said
