"""What about an eye keeps formulas from it, or makes them unsure."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import LensStatus, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import COMMON_PRACTICE, Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE

FLAT_AFTER_LASER_K_DPT = 40.0
LONG_AFTER_LASER_MM = 25.0
KERATOCONUS_ASKED_K_DPT = 48.0
"""Mean corneal power from which keratoconus is asked and odds are withheld (common practice, no source)."""

LONG_EYE_MM = 25.0
SHORT_EYE_MM = 22.0

_TOUCHED = {
    CornealSurgery.MYOPIC_LASER: "had laser for short sight",
    CornealSurgery.HYPEROPIC_LASER: "had laser for long sight",
    CornealSurgery.RADIAL_KERATOTOMY: "had radial keratotomy",
    CornealSurgery.KERATOCONUS: "has keratoconus",
    CornealSurgery.GRAFT: "carries a graft",
}
_WITHOUT_CORRECTION = (CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT)
_AFTER = {
    CornealSurgery.MYOPIC_LASER: (
        (
            "Expect 50 to 60 eyes in 100 within half a dioptre, not the 73 of untouched corneas. Tell "
            "the patient so."
        ),
        "after-laser-series",
    ),
    CornealSurgery.HYPEROPIC_LASER: (
        (
            "Expect 50 to 60 eyes in 100 within half a dioptre, not the 73 of untouched corneas; the methods "
            "rest on series of 24 eyes and fewer."
        ),
        "after-laser-series",
    ),
    CornealSurgery.RADIAL_KERATOTOMY: (
        (
            "Fewer than half of such eyes end within half a dioptre; the cornea changes through the day and "
            "drifts to long sight over years. An aim of -0.50 to -1.00 D is common practice, and a "
            "refraction before three months says little."
        ),
        "radial-keratotomy-2022",
    ),
}


def refusals(eye: Eye) -> list[Finding]:
    """What about cornea and contents keeps every formula from this eye (blocking), or makes them unsure."""
    return [*_cornea(eye), *_contents(eye)]


def keratoconus_asked(eye: Eye) -> Finding | None:
    """The question that a very steep cornea raises."""
    mean_k = eye.biometry.keratometry.mean_k_dpt
    if mean_k is None or mean_k < KERATOCONUS_ASKED_K_DPT:
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
    surgery = eye.history.corneal_surgery
    if surgery in _WITHOUT_CORRECTION:
        yield from _no_correction(eye, surgery)
    elif surgery in _AFTER:
        words, source = _AFTER[surgery]
        yield warning(
            "cornea-operated",
            f"This cornea {_TOUCHED[surgery]}. Formulas for untouched corneas are refused; those for such "
            f"corneas stand side by side, and none is right for every eye. {words}",
            "history.corneal_surgery",
            source,
        )
        yield from _history_before(eye)
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


def untouched_only(eye: Eye) -> Finding | None:
    """Why formulas for untouched corneas are refused; None where they are not."""
    surgery = eye.history.corneal_surgery
    if surgery not in _TOUCHED:
        return None
    return note(
        "cornea-not-untouched",
        f"This cornea {_TOUCHED[surgery]}. The formula is for untouched corneas and would miss by a dioptre "
        "or more.",
        "history.corneal_surgery",
        "aramberri-2003",
    )


def has_no_correction(eye: Eye) -> bool:
    """Whether no published method is known for such a cornea, so that only its measured optics remain."""
    return eye.history.corneal_surgery in _WITHOUT_CORRECTION


def odds_withheld(eye: Eye) -> str:
    """Why no spread may be promised for this eye; empty when one may."""
    if has_no_correction(eye):
        return (
            "No spread has been published for such a cornea in anything we have read. The numbers show "
            "what the optics of this eye give, and not how far off they may be."
        )
    if keratoconus_asked(eye) is not None:
        return "The cornea is so steep that the published spread, that of ordinary corneas, does not hold."
    return ""


def _no_correction(eye: Eye, surgery: CornealSurgery) -> Iterator[Finding]:
    """Keratoconus and graft: no published correction is known here, so only measured surfaces count."""
    shift = (
        "Its front reading is far too strong or too weak for the axis of sight, and long-sighted surprises "
        "are usual"
        if surgery is CornealSurgery.KERATOCONUS
        else "Its power changes while sutures come out and with every further graft"
    )
    where, source = "history.corneal_surgery", OWN_RANGE
    if eye.biometry.posterior_radius_mm is None:
        yield blocking(
            "no-published-correction",
            f"This cornea {_TOUCHED[surgery]}. {shift}. No published correction for it is built in, and "
            "without a measured back surface nothing can stand in for one, so no number is given. Measure "
            "both surfaces by tomography.",
            where,
            source,
        )
        return
    yield warning(
        "no-published-correction",
        f"This cornea {_TOUCHED[surgery]}. {shift}. No published correction for it is built in. What is "
        "shown follows from both surfaces as measured; no odds are given, and no formula tuned on ordinary "
        "corneas is used.",
        where,
        source,
    )


def _history_before(eye: Eye) -> Iterator[Finding]:
    history = eye.history
    before = (history.flat_power_before_dpt, history.steep_power_before_dpt)
    if None in before and any(value is not None for value in before):
        yield warning(
            "before-half-known",
            "Only one meridian of the cornea before surgery is given. Both are needed; it is not used.",
            "history.flat_power_before_dpt",
            OWN_RANGE,
        )
    treated = history.treated_at_cornea_dpt
    sign = {CornealSurgery.MYOPIC_LASER: -1.0, CornealSurgery.HYPEROPIC_LASER: 1.0}.get(
        history.corneal_surgery
    )
    if treated is not None and sign is not None and treated * sign < 0.0:
        yield blocking(
            "treatment-sign",
            f"A change of {treated:+g} D does not go with the surgery recorded: laser for short sight "
            "changes the refraction by a minus number, laser for long sight by a plus number. Correct one "
            "of them.",
            "history.treated_at_cornea_dpt",
            OWN_RANGE,
        )


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
            "This eye has no lens. The chamber depth does not mean what the formulas expect, and a lens in "
            "the bag may not be possible.",
            "biometry.lens_status",
        )
