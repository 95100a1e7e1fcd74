"""The page about corneas after surgery shows what the examples give, and promises what the law does."""

import re
from functools import cache

import pytest
from scipy import stats

from docs.manual import ROOT, code_words, section, table_rows, text_of
from docs.test_docs_numbers import as_shown
from zonule import wiring
from zonule.case import applicability
from zonule.case.plan import Plan
from zonule.science.lens_power import double_k
from zonule.science.lens_power.corrected_cornea import shammas_hyperopic
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Family, formulas_for, missing, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt
from zonule.science.uncertainty.operated_cornea import AFTER_KERATOTOMY_SCALE_DPT, AFTER_LASER_SCALE_DPT
from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM, ROUTINE_SCALE_DPT
from zonule.workflow.forecast import plan_eye

PAGE = "docs/explanation/corneas-after-surgery.md"
LASER, LONG_SIGHT = "An eye after laser for short sight", "An eye after laser for long sight"
CUTS, KERATOCONUS = "An eye after radial keratotomy", "Keratoconus and grafts"


def said(heading: str) -> str:
    return " ".join(section(PAGE, heading).split())


@cache
def plan_on_page(heading: str) -> Plan:
    """The plan of the example that a section names."""
    (file,) = (word for word in code_words(section(PAGE, heading)) if word.startswith("examples/"))
    _, request, _ = wiring.read_eye_request(str(ROOT / file))
    return plan_eye(request, wiring.today())


@pytest.mark.parametrize("heading", [LASER, LONG_SIGHT, CUTS, KERATOCONUS])
def test_the_methods_of_an_example_are_those_of_its_plan(heading: str) -> None:
    rows = {cells[0]: cells for cells in table_rows(PAGE, heading) if len(cells) == 3}
    methods = {FORMULAS[one.method].name: one for one in plan_on_page(heading).methods}
    assert rows.keys() == methods.keys()
    for name, one in methods.items():
        assert as_shown(one.power_for_target_dpt, rows[name][1])
        assert rows[name][2] == ("yes" if one.counts else "no")


@pytest.mark.parametrize("heading", [LASER, LONG_SIGHT, CUTS])
def test_the_best_power_of_an_example_and_its_chance_are_as_told(heading: str) -> None:
    odds = plan_on_page(heading).odds
    found = re.search(
        r"([\d.]+) D lands within half a dioptre (?:of the aim )?in (\d+) of 100", said(heading)
    )
    assert found is not None
    assert odds is not None
    assert float(found.group(1)) == odds.best_power_dpt
    (best,) = (one for one in odds.predictions if one.lens_power_dpt == odds.best_power_dpt)
    assert best.spread is not None
    assert as_shown(100.0 * best.spread.within_0_50, found.group(2))


def test_the_measurements_of_the_examples_are_as_told() -> None:
    for heading in (LASER, LONG_SIGHT, CUTS, KERATOCONUS):
        biometry = plan_on_page(heading).request.eye.biometry
        length = biometry.axial_length_mm
        assert length is not None
        told = f"{length.value:.2f} mm, {biometry.keratometry.mean_k_dpt:.2f} D"
        assert f"`: {told}" in said(heading)
    history = plan_on_page(LASER).request.eye.history
    assert f"changed by {history.treated_at_cornea_dpt:.2f} D at the cornea" in said(LASER)
    assert f"lens for {plan_on_page(CUTS).request.target_refraction_dpt:.2f} D" in said(CUTS)


def test_the_corrected_corneas_of_the_example_are_those_of_its_plan() -> None:
    rows = {cells[0]: cells[1] for cells in table_rows(PAGE, LASER) if len(cells) == 2}
    corneas = {one.name: one.power_dpt for one in plan_on_page(LASER).corneas}
    assert rows.keys() == corneas.keys()
    assert all(as_shown(power, rows[name]) for name, power in corneas.items())


def test_how_far_the_methods_lie_apart_is_as_told() -> None:
    agreement = plan_on_page(LASER).agreement
    assert agreement is not None
    assert not agreement.agrees
    assert agreement.most_myopic == "masket"
    told = (
        f"{agreement.disagreement_dpt:.2f} D of refraction apart, more than the "
        f"{agreement.own_spread_dpt:.2f} D that each"
    )
    assert told in said(LASER)


def test_what_an_uncorrected_formula_would_cost_is_as_told() -> None:
    plan = plan_on_page(LASER)
    seen = seen_eye(FORMULAS["srk_t"], EyeNumbers(26.0, 38.0, 3.4), [118.4])
    left = plan.expected_of(19.0)
    assert left is not None
    assert f"would ask for {float(lens_power_dpt(seen, 0.0)):.2f} D" in said(LASER)
    assert f"19.0 D leaves this eye at +{left.refraction_dpt:.2f} D" in said(LASER)
    assert "srk_t" in {one.method for one in plan.refused}


def test_the_hyperopic_example_is_corrected_upwards_and_lacks_its_record() -> None:
    plan = plan_on_page(LONG_SIGHT)
    (correction,) = plan.corneas
    assert f"to {correction.power_dpt:.2f} D" in said(LONG_SIGHT)
    assert "masket_hyperopic" in {one.method for one in plan.refused}
    zero = re.search(r"zero at ([\d.]+) D", said(LONG_SIGHT))
    assert zero is not None
    assert shammas_hyperopic(float(zero.group(1))).power_dpt == pytest.approx(float(zero.group(1)), abs=0.005)


def test_the_keratoconus_is_shown_as_the_page_says() -> None:
    plan = plan_on_page(KERATOCONUS)
    assert plan.odds is None
    assert plan.agreement is None
    assert plan.worth is None
    assert {FORMULAS[one.method].family for one in plan.methods} == {Family.ANATOMICAL}
    assert all(one.spread is None for method in plan.methods for one in method.predictions)


def test_the_promised_shares_are_those_of_the_law() -> None:
    scales = {
        "untouched": ROUTINE_SCALE_DPT,
        "after laser of either kind": AFTER_LASER_SCALE_DPT,
        "after radial keratotomy": AFTER_KERATOTOMY_SCALE_DPT,
    }
    rows = {cells[0]: cells[1:3] for cells in table_rows(PAGE, "What is promised")}
    assert rows.keys() == scales.keys()
    for name, scale in scales.items():
        law = stats.t(DEGREES_OF_FREEDOM, scale=scale)
        for limit, cell in zip((0.5, 1.0), rows[name], strict=True):
            assert as_shown(100.0 * (2.0 * law.cdf(limit) - 1.0), cell)


def test_every_method_after_surgery_is_named_where_its_need_puts_it() -> None:
    rows = {cells[0]: cells[1:] for cells in table_rows(PAGE, "What is shown")}
    surgeries = {
        "laser for short sight": "myopic_laser",
        "laser for long sight": "hyperopic_laser",
        "radial keratotomy": "radial_keratotomy",
    }
    assert rows.keys() == surgeries.keys()
    without_history = EyeNumbers(24.0, 43.0, 3.1, 4.5, 0.55, 6.4)
    for words, surgery in surgeries.items():
        for formula in formulas_for(surgery).values():
            if formula.family is Family.ANATOMICAL:
                continue
            cell = rows[words][1 if missing(formula, without_history) else 0]
            plain, _, method = formula.name.partition(", ")
            assert (plain if not method.startswith("double") else "double-K") in cell, formula.key


def test_limits_and_effects_on_the_page_are_those_in_use() -> None:
    refused = said("What is refused")
    assert f"under {applicability.FLAT_AFTER_LASER_K_DPT:g} D and over" in refused
    assert f"over {applicability.LONG_AFTER_LASER_MM:g} mm" in refused
    assert f"{double_k.ASSUMED_BEFORE_DPT:g} D before surgery" in refused
    lengths = said("Long and short eyes")
    assert f"Over {applicability.LONG_EYE_MM:g} mm" in lengths
    assert f"Under {applicability.SHORT_EYE_MM:g} mm" in lengths


def test_the_page_names_every_method_by_its_page() -> None:
    for page in ("shammas", "haigis-after-laser", "double-k", "masket", "corrected-corneas", "long-eyes"):
        assert f"../methods/{page}.md" in text_of(PAGE)
