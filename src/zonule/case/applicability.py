"""What about an eye keeps formulas from it, or makes them unsure."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import CorneaKind, LensStatus, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import COMMON_PRACTICE, Finding, blocking, warning
from zonule.case.limits import OWN_RANGE
from zonule.case.operated_cornea import has_no_correction, operated_findings, untouched_only

FLAT_AFTER_LASER_K_DPT = 40.0
LONG_AFTER_LASER_MM = 25.0
KERATOCONUS_ASKED_K_DPT = 48.0
"""Mean corneal power from which keratoconus is asked and odds are withheld (common practice, no source)."""

LONG_EYE_MM = 25.0
SHORT_EYE_MM = 22.0


def refusals(eye: Eye) -> list[Finding]:
    """What about cornea and contents keeps every formula from this eye (blocking), or makes them unsure."""
    return [*_cornea(eye), *_contents(eye)]


def keratoconus_asked(eye: Eye) -> Finding | None:
    """The question that a very steep cornea raises; not asked where its answer is on record."""
    mean_k = eye.biometry.keratometry.mean_k_dpt
    if mean_k is None or mean_k < KERATOCONUS_ASKED_K_DPT or has_no_correction(eye):
        return None
    return warning(
        "keratoconus-asked",
        f"The mean corneal power is {mean_k:.2f} D. Is this keratoconus? Look at the topography before you "
        "go on. The published spread is that of ordinary corneas, so no odds are given.",
        "history.corneal_surgery",
        COMMON_PRACTICE,
    )


def length_cautions(eye: Eye) -> Iterator[Finding]:
    """What is known about these formulas in long and short eyes."""
    length = eye.biometry.axial_length_mm
    if length is None:
        return
    if length.value > LONG_EYE_MM and untouched_only(eye) is None:
        yield warning(
            "long-eye",
            f"In 125 eyes longer than {LONG_EYE_MM:g} mm these formulas ended hyperopic on average: Hoffer "
            "Q by 0.36 D, Holladay 1 by 0.53 D, SRK/T by 0.74 D. Other series found the contrary. Variants "
            "with an adjusted length stand beside them, not counted.",
            "biometry.axial_length_mm",
            "tsang-2003",
        )
    elif length.value < SHORT_EYE_MM:
        yield warning(
            "short-eye",
            f"The eye is shorter than {SHORT_EYE_MM:g} mm. At 21 mm an error in lens position costs half as "
            "much again as in an average eye, and one in length a third more; lenses above 30 D may be "
            "labelled up to 1 D off. Expect a wider spread than is shown.",
            "biometry.axial_length_mm",
            "short-eyes",
        )


def _cornea(eye: Eye) -> Iterator[Finding]:
    yield from operated_findings(eye)
    surgery = eye.history.corneal_surgery
    mean_k, length = eye.biometry.keratometry.mean_k_dpt, eye.biometry.axial_length_mm
    if (
        surgery is CornealSurgery.UNKNOWN
        and mean_k is not None
        and length is not None
        and mean_k < FLAT_AFTER_LASER_K_DPT
        and length.value > LONG_AFTER_LASER_MM
    ):
        yield blocking(
            "possible-laser",
            f"A flat cornea ({mean_k:.2f} D) on a long eye ({length.value:.2f} mm) looks like laser for "
            "short sight, and nobody has recorded whether there was any. Ask, look at the topography and "
            "record the answer; until then no formula for untouched corneas may be used.",
            "history.corneal_surgery",
            OWN_RANGE,
        )


def odds_withheld(eye: Eye) -> str:
    """Why no spread may be promised for this eye; empty when one may."""
    if has_no_correction(eye):
        return (
            "No spread has been published for such a cornea in anything we have read. The numbers show "
            "what the optics of this eye give, and not how far off they may be."
        )
    if eye.biometry.lens_status is LensStatus.APHAKIC:
        return "This eye has no lens, and the published spread is of lenses in the bag of eyes that had one."
    if eye.biometry.keratometry.kind is CorneaKind.TOTAL:
        return (
            "The corneal power is that of the whole cornea, and lens constants are found with the power of "
            "its front."
        )
    if keratoconus_asked(eye) is not None:
        return "The cornea is so steep that the published spread, that of ordinary corneas, does not hold."
    return ""


def _contents(eye: Eye) -> Iterator[Finding]:
    if eye.biometry.vitreous in (Vitreous.SILICONE_OIL, Vitreous.GAS):
        filling = "silicone oil" if eye.biometry.vitreous is Vitreous.SILICONE_OIL else "gas"
        yield blocking(
            "vitreous-replaced",
            f"The eye is filled with {filling}. It changes both the measured length and the refraction, and "
            "no published correction for it is built in, so no number is given. Measure again when it is "
            "out, or plan from the fellow eye with great care.",
            "biometry.vitreous",
            "axial-length-methods",
        )
    elif eye.biometry.vitreous is Vitreous.VITRECTOMISED:
        yield warning(
            "vitrectomised",
            "The vitreous was removed. An optical length stands, but the lens may settle deeper than usual "
            "and zonules may be weak; how much wider that makes the spread has not been published to us, "
            "so expect more than is shown.",
            "biometry.vitreous",
        )
    if eye.biometry.lens_status is LensStatus.PSEUDOPHAKIC:
        yield blocking(
            "already-pseudophakic",
            "This eye already has an artificial lens. These formulas plan a first lens; an exchange or a "
            "second lens is another calculation.",
            "biometry.lens_status",
        )
    elif eye.biometry.lens_status is LensStatus.APHAKIC:
        yield warning(
            "aphakic",
            "This eye has no lens. The chamber depth does not mean what the formulas expect and is not "
            "used, and a lens in the bag may not be possible. What is shown is for the bag; no odds are "
            "given.",
            "biometry.lens_status",
        )
