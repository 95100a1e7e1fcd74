"""Values from outside this code: published numbers first, independently computed ones after them."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from reference.reference_rows import reference_rows, row_name
from zonule.science.lens_power import haigis, holladay_1, srk_t
from zonule.science.lens_power.flags import IMAGINARY_ROOT
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_position_mm, lens_power_dpt, refraction_dpt
from zonule.science.optics.four_surface import (
    Cornea,
    ThickLens,
    equivalent_corneal_power_dpt,
    equivalent_lens_power_dpt,
    surface_power_dpt,
    thick_lens_refraction_dpt,
    thin_lens_power_dpt,
    thin_lens_refraction_dpt,
    vergence_behind_cornea_dpt,
)
from zonule.science.optics.keratometry import corneal_power_dpt, implied_keratometric_index
from zonule.science.statistics.outcomes import outcome_summary
from zonule.science.uncertainty.spread import (
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    error_law,
    fraction_within,
)

A_CONSTANT = 118.4
GULLSTRAND = Cornea(7.7, 6.8, 0.5)
LAW_OF_MANY_EYES = error_law(ROUTINE_SCALE_DPT, 0.0, 0.0)


def expect(row: dict[str, str], found: object) -> None:
    expected, tolerance = float(row["expected"]), float(row["tolerance"])
    shortfall = abs(float(np.asarray(found)) - expected)
    assert shortfall <= tolerance, (
        f"{found} for {expected} ({row['source']}, {row['table']}: {row['reason']})"
    )


def eye_of(row: dict[str, str]) -> EyeNumbers:
    depth = row.get("anterior_chamber_depth_mm") or "nan"
    return EyeNumbers(float(row["axial_length_mm"]), float(row["mean_k_dpt"]), float(depth))


def seen_by(method: str, eye: EyeNumbers) -> ThinLensEye:
    formula = FORMULAS[method]
    return seen_eye(formula, eye, formula.first_guess(A_CONSTANT))


@pytest.mark.parametrize("row", reference_rows("lens_power"), ids=row_name)
def test_the_four_formulas_give_the_reference_values(row: dict[str, str]) -> None:
    seen = seen_by(row["formula"], eye_of(row))
    beyond_depth_mm = 0.05 if row["formula"] == "hoffer_q" else 0.0
    answers: dict[str, Callable[[], object]] = {
        "lens_position_mm": lambda: seen.lens_position_mm - beyond_depth_mm,
        "power_dpt": lambda: lens_power_dpt(seen, float(row["asked_dpt"])),
        "refraction_dpt": lambda: refraction_dpt(seen, float(row["asked_dpt"])),
    }
    expect(row, answers[row["quantity"]]())


def srk_t_edge_at_k_45_mm() -> float:
    """Where SRK/T loses its real corneal height, found by halving between flagged and unflagged lengths."""

    def is_imaginary(length_mm: float) -> float:
        return (int(srk_t.thin_lens_eye(length_mm, 45.0, A_CONSTANT).flags) & IMAGINARY_ROOT) - 0.5

    edge: float = optimize.bisect(is_imaginary, 25.0, 36.0, xtol=1e-6)
    return edge


def mean_absolute_error_of_the_law_dpt() -> float:
    law = stats.t(DEGREES_OF_FREEDOM, scale=ROUTINE_SCALE_DPT)
    half, _ = integrate.quad(lambda error: error * law.pdf(error), 0.0, math.inf)
    return 2.0 * float(half)


def refraction_per_lens_power_at_20_dpt() -> float:
    seen = seen_eye(FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1), [A_CONSTANT])
    return float(refraction_dpt(seen, 20.5) - refraction_dpt(seen, 19.5))


def keratometric_index(power_dpt: object) -> float:
    return float(implied_keratometric_index(7.7, float(np.asarray(power_dpt))))


PUBLISHED: dict[str, Callable[[], object]] = {
    "srk_t_edge_at_k_45_mm": srk_t_edge_at_k_45_mm,
    "keratometric_power_of_7_50_mm_dpt": lambda: corneal_power_dpt(7.5),
    "front_surface_power_over_keratometric": lambda: (
        surface_power_dpt(7.7, 1.0, 1.3771) / corneal_power_dpt(7.7)
    ),
    "refraction_per_lens_power_at_20_dpt": refraction_per_lens_power_at_20_dpt,
    "equivalent_corneal_power_dpt": lambda: equivalent_corneal_power_dpt(GULLSTRAND),
    "keratometric_index_of_equivalent_power": lambda: keratometric_index(
        equivalent_corneal_power_dpt(GULLSTRAND)
    ),
    "keratometric_index_of_back_vertex_power": lambda: keratometric_index(
        vergence_behind_cornea_dpt(GULLSTRAND, 0.0)
    ),
    "law_within_0_50": lambda: fraction_within(0.5, 0.0, 0.0, LAW_OF_MANY_EYES),
    "law_within_1_00": lambda: fraction_within(1.0, 0.0, 0.0, LAW_OF_MANY_EYES),
    "law_mae_dpt": mean_absolute_error_of_the_law_dpt,
}


@pytest.mark.parametrize("row", reference_rows("published"), ids=row_name)
def test_published_numbers_come_out(row: dict[str, str]) -> None:
    expect(row, PUBLISHED[row["quantity"]]())


@pytest.mark.parametrize("row", reference_rows("intermediates"), ids=row_name)
def test_what_the_formulas_compute_on_the_way_is_as_written_down(row: dict[str, str]) -> None:
    length, power = float(row["axial_length_mm"]), float(row["mean_k_dpt"])
    if row["formula"] == "haigis_triple":
        triple = haigis.thin_lens_eye(length, power, 3.1, -1.0, 0.25, 0.22)
        answer = triple.lens_position_mm if row["unit"] == "mm" else lens_power_dpt(triple, 0.0)
        expect(row, answer)
        return
    seen = seen_by(row["formula"], EyeNumbers(length, power, math.nan))
    without_factor = holladay_1.thin_lens_eye(length, power, 0.0)
    answers: dict[str, object] = {
        "optical_length_mm": seen.optical_length_mm,
        "corneal_power_dpt": seen.corneal_power_dpt,
        "corneal_height_mm": seen.lens_position_mm - 1.877928,
        "iris_plane_mm": without_factor.lens_position_mm,
        "depth_beyond_constants_mm": seen.lens_position_mm - 0.05 - 5.198688 + 0.99166,
    }
    expect(row, answers[row["quantity"]])


def slope(function: Callable[[float], object], at: float, step: float) -> float:
    ahead, behind = (float(np.asarray(function(at + half))) for half in (step, -step))
    return (ahead - behind) / (2.0 * step)


@pytest.mark.parametrize(
    "row", [row for row in reference_rows("sensitivities") if row["lens_power_dpt"]], ids=row_name
)
def test_a_thin_lens_that_stays_in_its_place_has_the_reference_sensitivities(row: dict[str, str]) -> None:
    length, power = float(row["axial_length_mm"]), float(row["mean_k_dpt"])
    lens = float(row["lens_power_dpt"])
    position = float(np.asarray(lens_position_mm(331.5 * power / 337.5, length, lens, 0.0)))

    def refraction(length: float, power: float, position: float, lens: float) -> object:
        return refraction_dpt(ThinLensEye(331.5 * power / 337.5, length, position, 0), lens)

    slopes = {
        "refraction_per_length": lambda: slope(lambda x: refraction(x, power, position, lens), length, 1e-4),
        "refraction_per_k": lambda: slope(lambda x: refraction(length, x, position, lens), power, 1e-4),
        "refraction_per_position": lambda: slope(
            lambda x: refraction(length, power, x, lens), position, 1e-4
        ),
        "refraction_per_power": lambda: slope(lambda x: refraction(length, power, position, x), lens, 1e-4),
    }
    expect(row, slopes[row["quantity"]]())


@pytest.mark.parametrize(
    "row", [row for row in reference_rows("sensitivities") if not row["lens_power_dpt"]], ids=row_name
)
def test_whole_formulas_have_the_reference_sensitivities(row: dict[str, str]) -> None:
    method, quantity = row["quantity"].split()
    eye = eye_of(row)

    def power(numbers: EyeNumbers) -> object:
        return lens_power_dpt(seen_by(method, numbers), 0.0)

    at_length, at_k = float(eye.axial_length_mm), float(eye.mean_k_dpt)
    slopes = {
        "power_per_length": lambda: slope(lambda x: power(eye._replace(axial_length_mm=x)), at_length, 1e-4),
        "power_per_k": lambda: slope(lambda x: power(eye._replace(mean_k_dpt=x)), at_k, 1e-4),
    }
    expect(row, slopes[quantity]())


@pytest.mark.parametrize("row", reference_rows("four_surface"), ids=row_name)
def test_the_four_surface_chain_gives_the_reference_values_both_ways(row: dict[str, str]) -> None:
    radius = float(row["anterior_radius_mm"])
    cornea = Cornea(radius, 0.84 * radius, float(row["corneal_thickness_mm"]))
    length, position = float(row["axial_length_mm"]), float(row["lens_position_mm"])
    wanted = float(row["refraction_dpt"])
    expect(row, thin_lens_power_dpt(cornea, length, position, wanted))
    back = thin_lens_refraction_dpt(cornea, length, position, float(row["expected"]))
    assert float(np.asarray(back)) == pytest.approx(wanted, abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", reference_rows("thick_lens"), ids=row_name)
def test_a_thick_lens_gives_what_ray_matrices_give(row: dict[str, str]) -> None:
    cornea = Cornea(7.75, 6.45, 0.55)
    lens = ThickLens(surface_power_dpt(12.0, 1.336, 1.46), surface_power_dpt(-11.0, 1.46, 1.336), 0.90, 1.46)

    def refraction(front_mm: float) -> object:
        return thick_lens_refraction_dpt(cornea, 23.56945, front_mm, lens, vertex_mm=0.0)

    answers: dict[str, Callable[[], object]] = {
        "equivalent_corneal_power_dpt": lambda: equivalent_corneal_power_dpt(cornea),
        "equivalent_lens_power_dpt": lambda: equivalent_lens_power_dpt(lens),
        "refraction_in_place_dpt": lambda: refraction(4.50),
        "refraction_0_25_mm_forward_dpt": lambda: refraction(4.25),
        "refraction_0_25_mm_back_dpt": lambda: refraction(4.75),
    }
    expect(row, answers[row["quantity"]]())


@pytest.mark.parametrize("row", reference_rows("normal_law"), ids=row_name)
def test_the_summary_of_normal_errors_is_what_the_normal_law_says(row: dict[str, str]) -> None:
    count = 20001
    quantiles = stats.norm.ppf((np.arange(count) + 0.5) / count)
    summary = outcome_summary(float(row["sd_dpt"]) * quantiles)
    answers = {"mae_dpt": summary.mae_dpt, "median_ae_dpt": summary.median_ae_dpt, **summary.within}
    expect(row, answers[row["quantity"]])
