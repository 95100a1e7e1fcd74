"""What is said of many eyes' astigmatism: plain, with its doubt beside it."""

import pytest

from fakes.examples import SURGEON
from fakes.refracted import cornea, left, refracted_case, toric_case, visit
from workflow.clinic import TODAY
from workflow.test_incision_lessons import cut
from zonule.case.astigmatism_results import AstigmatismResults, TurnFrom
from zonule.case.case import Case
from zonule.case.patient import Side
from zonule.drawings import astigmatism_results_sentences as say
from zonule.workflow.astigmatism_results import results_from
from zonule.workflow.incision_lessons import incisions_from


def results(*cases: Case) -> AstigmatismResults:
    return results_from(cases, ())


def scattered(count: int) -> list[Case]:
    """Eyes that end as their front reading says, but for a little that points everywhere."""
    return [
        refracted_case(
            number, before=cornea(1.2, 180.0), refraction=left(1.2 + 0.05 * (number % 3), 176.0 + number % 8)
        )
        for number in range(count)
    ]


def test_the_headline_says_size_share_and_mean_vector() -> None:
    found = results(
        refracted_case(0, refraction=left(0.4, 90.0)), refracted_case(1, refraction=left(0.8, 90.0))
    )
    assert say.headline_sentence(found) == (
        "In 2 eyes the refraction left 0.60 D of cylinder on average at the cornea; 50 in 100 have half a "
        "dioptre or less. Their mean vector is 0.60 D at 90\u00b0."
    )


def test_wherever_p_stands_second_eyes_are_owned_up_to() -> None:
    eyes = [
        refracted_case(
            number, side=side, refraction=left(0.3 + 0.1 * number, 20.0 * number + (side is Side.LEFT))
        )
        for number in range(3)
        for side in Side
    ]
    group = results(*eyes).residual
    assert group is not None
    said = say.group_sentence(group)
    assert "(p " in said
    assert (
        "3 of these are second eyes of a patient. Two eyes of one are not independent, so p is too small."
        in said
    )


def test_the_model_that_missed_least_is_named_with_the_doubt_about_few_eyes() -> None:
    said = " ".join(say.model_sentences(results(*scattered(12))))
    assert said.startswith("Front reading as it is missed least: 0.12 D on average, more than 99 in 100 eyes")
    assert "picked as the best of 5 after looking" in said
    assert "12 eyes are few: do not change the model you plan on for them." in said
    assert "are few" not in " ".join(say.model_sentences(results(*scattered(60))))


def test_a_difference_that_chance_can_make_is_called_so() -> None:
    goggin_right = [
        refracted_case(number, before=cornea(1.3, 180.0), refraction=left(1.41 * 1.3, 180.0))
        for number in range(7)
    ]
    front_right = refracted_case(8, before=cornea(1.3, 180.0), refraction=left(1.3, 180.0))
    said = " ".join(say.model_sentences(results(*goggin_right, front_right)))
    assert (
        "only the first came within half a dioptre in 7, only the other in 1. Chance can do that (p 0.070)."
        in said
    )
    more = [
        refracted_case(20 + number, before=cornea(1.3, 180.0), refraction=left(1.41 * 1.3, 180.0))
        for number in range(7)
    ]
    surer = " ".join(say.model_sentences(results(*goggin_right, *more, front_right)))
    assert "More than chance usually makes (p under 0.001)." in surer


@pytest.mark.parametrize("between", TurnFrom)
def test_where_nobody_looked_the_page_says_what_is_missing(between: TurnFrom) -> None:
    (turns,) = [one for one in results(refracted_case()).turns if one.between is between]
    assert say.turns_sentence(turns).startswith("No ")


def test_few_lenses_say_little() -> None:
    found = results(toric_case(left_deg=94.0, axis_visits=(visit(1, 84.0),)))
    (turns,) = [one for one in found.turns if one.between is TurnFrom.PLAN_TO_VISIT]
    assert say.turns_sentence(turns) == (
        "1 lens: 6.0\u00b0 either way on average, the farthest 6\u00b0. Taken together they lie 6.0\u00b0 "
        "clockwise. So few say little of a lens."
    )


def test_an_incision_is_told_beside_the_published_effect_and_the_mean_of_sizes_is_disowned() -> None:
    found = incisions_from([cut(number) for number in range(20)], (), TODAY)
    (group,) = found.groups
    assert say.incision_heading(group) == f"Temporal, 2.2 mm, {SURGEON}"
    said = say.incision_sentence(group)
    assert "flattened its meridian by +0.50 D in the mean of vectors. Published: 0.15 D." in said
    assert "Your eyes count for 65 %, so plans would take +0.38 D." in said
    assert "The mean of sizes, 0.50 D, has no direction and is never used." in said


def test_an_incision_that_plans_take_wrong_goes_before_the_judgement_of_models() -> None:
    cases = [cut(number) for number in range(20)]
    before = incisions_from(cases, (), TODAY)
    assert say.incision_first_sentence(before).startswith("Look at your incisions first")
    lesson = before.groups[0].proposed
    assert lesson is not None
    assert say.incision_first_sentence(incisions_from(cases, (lesson,), TODAY)) == ""
    near = incisions_from([cut(number, 0.17) for number in range(20)], (), TODAY)
    assert say.incision_first_sentence(near) == ""
