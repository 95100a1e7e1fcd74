"""Which measurement is worth repeating, from whole eyes."""

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from zonule.case.quantity import QUANTITIES
from zonule.case.worth import InputWorth, Repeated, Worth
from zonule.drawings.worth_sentences import worth_sentence
from zonule.science.lens_power.formulas import UNTOUCHED, EyeNumbers, seen_eye
from zonule.science.uncertainty.propagation import (
    AVERAGE_EYE,
    PUBLISHED_SDS,
    average_eye_variance_dpt2,
    drawn_eyes,
    measurement_variance,
)
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, error_law, fraction_within
from zonule.workflow.worth import worth_repeating

POWERS = np.arange(6.0, 34.5, 0.5)
METHODS = [(formula, formula.first_guess(118.4)) for formula in UNTOUCHED.values()]
BY_CONTACT = PUBLISHED_SDS._replace(axial_length_mm=0.15)


@cache
def worth_of(eye: EyeNumbers, sds: EyeNumbers) -> Worth:
    centres = np.median(
        [formula.optics.refraction_dpt(seen_eye(formula, eye, own), POWERS) for formula, own in METHODS],
        axis=0,
    )
    variances = mean_variances(eye, sds)
    average = np.mean([average_eye_variance_dpt2(formula.key, tuple(own)) for formula, own in METHODS])
    law = error_law(ROUTINE_SCALE_DPT, float(average), variances)
    chosen = int(fraction_within(0.5, 0.0, centres, law).argmax())
    return worth_repeating(METHODS, eye, sds, POWERS, centres, chosen, law, 0.0, seed=3)


def mean_variances(eye: EyeNumbers, sds: EyeNumbers) -> NDArray[np.float64]:
    drawn = drawn_eyes(eye, sds, seed=5)
    found = [measurement_variance(formula, own, drawn, POWERS).variance_dpt2 for formula, own in METHODS]
    return np.asarray(np.mean(found, axis=0))


def part(worth: Worth, name: str) -> InputWorth:
    return next(one for one in worth.inputs if name in one.quantities)


def test_in_an_ordinary_eye_measured_by_light_the_cornea_leaves_most_doubt() -> None:
    # Langenbucher 2025 and the range over nine biometers: the mean K contributes most, then the length.
    worth = worth_of(AVERAGE_EYE, PUBLISHED_SDS)
    assert [one.quantities[0] for one in worth.inputs][:2] == ["mean_k_dpt", "axial_length_mm"]


def test_a_length_by_contact_is_what_to_measure_again() -> None:
    most = worth_of(AVERAGE_EYE, BY_CONTACT).most
    assert most is not None
    assert most.quantities == ("axial_length_mm",)


def test_in_a_short_eye_the_length_buys_more_than_in_an_average_one() -> None:
    def gain(eye: EyeNumbers) -> float:
        worth = worth_of(eye, BY_CONTACT)
        return part(worth, "axial_length_mm").repeated[0].within_0_50 - worth.within_0_50

    assert gain(AVERAGE_EYE._replace(axial_length_mm=21.0)) > gain(AVERAGE_EYE) + 0.01


def test_a_formula_no_measurement_can_help_says_so() -> None:
    worth = worth_of(AVERAGE_EYE, PUBLISHED_SDS._replace(mean_k_dpt=0.02))
    assert worth.most is None
    assert worth_sentence(worth) == (
        "No measurement is worth repeating for its scatter: the formula, not the biometer, limits this eye."
    )


@pytest.mark.parametrize("sds", [PUBLISHED_SDS, BY_CONTACT], ids=["by light", "by contact"])
def test_contributions_add_up_to_what_was_simulated(sds: EyeNumbers) -> None:
    worth = worth_of(AVERAGE_EYE, sds)
    simulated = mean_variances(AVERAGE_EYE, sds)[list(POWERS).index(worth.lens_power_dpt)]
    assert sum(one.sd_dpt**2 for one in worth.inputs) == pytest.approx(simulated, rel=0.03)
    assert worth.measurement_sd_dpt**2 == pytest.approx(simulated)
    assert sum(one.first_order for one in worth.inputs) == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("name", ["axial_length_mm", "mean_k_dpt"])
def test_the_chance_if_confirmed_is_that_of_an_eye_measured_so_well(name: str) -> None:
    # Another way to the same number: the eye drawn again with the scatter of the mean of four readings.
    worth = worth_of(AVERAGE_EYE, BY_CONTACT)
    better = BY_CONTACT._replace(**{name: getattr(BY_CONTACT, name) / 2.0})
    again = worth_of(AVERAGE_EYE, better)
    assert again.lens_power_dpt == worth.lens_power_dpt
    promised = part(worth, name).repeated[0]
    assert promised.more_readings == 3
    assert promised.within_0_50_if_confirmed == pytest.approx(again.within_0_50, abs=0.003)


def test_the_sentence_says_what_to_do_and_what_it_buys() -> None:
    worth = Worth(
        lens_power_dpt=20.5,
        within_0_50=0.681,
        measurement_sd_dpt=0.3,
        inputs=(
            InputWorth(("mean_k_dpt",), 0.4, 0.4, 0.15, (Repeated(3, 0.683, 0.69), Repeated(5, 0.684, 0.69))),
            InputWorth(
                ("axial_length_mm",), 0.6, 0.6, 0.26, (Repeated(3, 0.69, 0.71), Repeated(5, 0.70, 0.72))
            ),
        ),
    )
    assert worth_sentence(worth) == (
        "Measuring axial length three more times and choosing the power from the mean of all readings would "
        "raise the chance of landing within half a dioptre from 68 to 69 in 100."
    )


def test_a_gain_that_three_readings_do_not_show_is_told_for_five() -> None:
    repeated = (Repeated(3, 0.684, 0.69), Repeated(5, 0.695, 0.70))
    worth = Worth(20.5, 0.681, 0.3, (InputWorth(("axial_length_mm",), 1.0, 1.0, 0.3, repeated),))
    assert "five more times" in worth_sentence(worth)
    assert "from 68 to 70 in 100" in worth_sentence(worth)


def test_an_eye_whose_history_alone_is_read_has_nothing_to_repeat() -> None:
    assert Worth(20.5, 0.5, 0.0, ()).most is None


def test_everything_that_a_formula_reads_has_a_name_in_words() -> None:
    assert QUANTITIES.keys() == set(EyeNumbers._fields)
