"""The figures on the page of the ray-traced eye are what the code gives, and its picture is the one drawn."""

import math
import re
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location

from docs.manual import ROOT, table_rows, text_of
from zonule.science.lens_power import four_surface_lens, ray_traced
from zonule.science.lens_power.ray_traced import RayTracedEye
from zonule.science.optics.best_glasses import Pupil, Refraction
from zonule.science.optics.lens_design import GENERIC_DESIGN, LensDesign, shape_for_power
from zonule.science.optics.pseudophakic_eye import refraction
from zonule.science.optics.surfaces import lens_tilted

MINUS = "\N{MINUS SIGN}"
PAGE = "docs/explanation/the-ray-traced-eye.md"
MEASURED = (23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
EYE = ray_traced.ray_traced_eye(*MEASURED)
POWER_DPT = float(ray_traced.lens_power_dpt(EYE, 0.0))


def of_design(design: LensDesign) -> RayTracedEye:
    return EYE._replace(known_lens=shape_for_power(POWER_DPT, design))


CHANGED: dict[str, Callable[[], RayTracedEye]] = {
    "pinhole, as in the classical formulas": lambda: EYE._replace(pupil=Pupil(0.02)),
    "pupil of 2 mm": lambda: EYE._replace(pupil=Pupil(2.0)),
    "pupil of 4 mm": lambda: EYE._replace(pupil=Pupil(4.0)),
    "pupil of 5 mm": lambda: EYE._replace(pupil=Pupil(5.0)),
    "Q 0.00": lambda: EYE._replace(anterior_conic=0.0),
    f"Q {MINUS}0.50": lambda: EYE._replace(anterior_conic=-0.5),
    f"Q {MINUS}0.20": lambda: EYE._replace(posterior_conic=-0.2),
    "6.3 mm": lambda: EYE._replace(posterior_radius_mm=6.3),
    "0.25 mm further forward": lambda: EYE._replace(lens_centre_mm=EYE.lens_centre_mm - 0.25),
    "front twice as strong as the mean, back plane": lambda: of_design(
        GENERIC_DESIGN._replace(shape_factor=1.0)
    ),
    "back twice as strong as the mean, front plane": lambda: of_design(
        GENERIC_DESIGN._replace(shape_factor=-1.0)
    ),
    f"both with Q {MINUS}4": lambda: of_design(GENERIC_DESIGN._replace(front_conic=-4.0, back_conic=-4.0)),
    "index 1.55": lambda: of_design(GENERIC_DESIGN._replace(refractive_index=1.55)),
}


def tilted() -> Refraction:
    whole = ray_traced.with_lens(EYE, POWER_DPT)
    front, back = lens_tilted(whole.lens_front, whole.lens_back, 10.0, 0.0)
    return refraction(whole._replace(lens_front=front, lens_back=back))


def shown(value: float) -> str:
    return f"{value:+.2f} D".replace("-", MINUS)


def test_what_each_assumption_moves_is_on_the_page() -> None:
    rows = {cells[1]: cells[2] for cells in table_rows(PAGE, "What it assumes") if len(cells) == 3}
    seen = tilted()
    cylinder = 2.0 * math.hypot(float(seen.j0_dpt), float(seen.j45_dpt))
    assert rows.pop("tilted by 10°") == (
        f"{shown(float(seen.spherical_equivalent_dpt))}, and {cylinder:.2f} D of cylinder"
    )
    found = {name: shown(float(ray_traced.refraction_dpt(eye(), POWER_DPT))) for name, eye in CHANGED.items()}
    assert rows == found


def test_the_powers_and_assumptions_of_the_average_eye_are_on_the_page() -> None:
    page = " ".join(text_of(PAGE).split())
    thin = float(four_surface_lens.lens_power_dpt(four_surface_lens.four_surface_eye(*MEASURED), 0.0))
    assert f"thin lens for plano has {thin:.2f} D; by rays" in page
    assert f"3 mm, it has {POWER_DPT:.2f} D" in page
    design = GENERIC_DESIGN
    assert f"{design.optic_mm:.1f} mm wide, {design.edge_mm:g} mm thick at the edge" in page
    assert f"index {design.refractive_index:g}. It is nobody's product" in page
    assert f"pupil of {EYE.pupil.diameter_mm:g} mm" in page
    assert f"Q {MINUS}{-EYE.anterior_conic:.2f}" in page
    assert f"Q {MINUS}{-EYE.posterior_conic:.2f}" in page
    low, high = ray_traced.POWERS_DPT
    assert f"outside {MINUS}{-low:g} to {high:g} D" in page
    assert f"{ray_traced.HALF_A_LENS_MM:g} mm from cornea or retina" in page


def test_a_tenth_of_a_millimetre_of_length_is_what_the_page_says() -> None:
    longer = EYE._replace(axial_length_mm=EYE.axial_length_mm + 0.1)
    moved = abs(float(ray_traced.refraction_dpt(longer, POWER_DPT)))
    assert f"each is {moved:.2f} D in an average eye" in " ".join(text_of(PAGE).split())


def test_the_picture_of_the_page_is_the_one_that_is_drawn() -> None:
    spec = spec_from_file_location("draw_ray_traced_eye", ROOT / "tools" / "draw_ray_traced_eye.py")
    assert spec is not None
    assert spec.loader is not None
    tool = module_from_spec(spec)
    spec.loader.exec_module(tool)
    assert re.search(r"\]\(\.\./pictures/ray-traced-eye\.svg\)", text_of(PAGE))
    assert (ROOT / "docs" / "pictures" / "ray-traced-eye.svg").read_text(encoding="utf-8") == tool.drawing()
