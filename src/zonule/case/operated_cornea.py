"""What surgery or disease of the cornea means for a plan."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE
from zonule.science.lens_power.corrected_cornea import refraction_from_length_and_cornea_dpt

CHANGE_APART_DPT = 2.0
"""How far the change of the reading may lie from the treatment; a reading misses a quarter (our choice)."""
CATARACT_MYOPIA_DPT = 2.0
"""Short sight beyond what length and cornea explain from which the cataract is asked about (our choice)."""

_TOUCHED = {
    CornealSurgery.MYOPIC_LASER: "had laser for short sight",
    CornealSurgery.HYPEROPIC_LASER: "had laser for long sight",
    CornealSurgery.RADIAL_KERATOTOMY: "had radial keratotomy",
    CornealSurgery.KERATOCONUS: "has keratoconus",
    CornealSurgery.GRAFT: "carries a graft",
}
BEFORE_WRONG_WAY_DPT = 0.5
"""Scatter of two readings: how far the cornea before may lie on the wrong side of today's (our choice)."""

_CHANGE_SIGN = {CornealSurgery.MYOPIC_LASER: -1.0, CornealSurgery.HYPEROPIC_LASER: 1.0}
_FLATTENS = {
    CornealSurgery.MYOPIC_LASER: True,
    CornealSurgery.HYPEROPIC_LASER: False,
    CornealSurgery.RADIAL_KERATOTOMY: True,
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


def operated_findings(eye: Eye) -> Iterator[Finding]:
    """What a plan of such a cornea has to say before any method answers."""
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
        yield from _before_on_the_wrong_side(eye, surgery)
        yield from _short_sight_of_the_cataract(eye)


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
    sign = _CHANGE_SIGN.get(history.corneal_surgery)
    if treated is not None and sign is not None and treated * sign < 0.0:
        yield blocking(
            "treatment-sign",
            f"A change of {treated:+g} D does not go with the surgery recorded: laser for short sight "
            "changes the refraction by a minus number, laser for long sight by a plus number. Correct one "
            "of them.",
            "history.treated_at_cornea_dpt",
            OWN_RANGE,
        )


def _before_on_the_wrong_side(eye: Eye, surgery: CornealSurgery) -> Iterator[Finding]:
    """A cornea before surgery that the surgery recorded cannot have turned into today's."""
    flat, steep = eye.history.flat_power_before_dpt, eye.history.steep_power_before_dpt
    mean_k = eye.biometry.keratometry.mean_k_dpt
    if flat is None or steep is None or mean_k is None:
        return
    before = (flat + steep) / 2.0
    flattens = _FLATTENS[surgery]
    wrong_way_dpt = mean_k - before if flattens else before - mean_k
    if wrong_way_dpt <= BEFORE_WRONG_WAY_DPT:
        yield from _change_and_treatment(eye, -wrong_way_dpt)
        return
    turned, other = ("flatter", "steeper") if flattens else ("steeper", "flatter")
    yield blocking(
        "before-wrong-way",
        f"The cornea had {before:.2f} D before surgery and has {mean_k:.2f} D now, which is {other}; the "
        f"surgery recorded makes it {turned}. Powers exchanged, another kind of surgery, or a cornea that "
        "has changed since: find out which, and correct the record.",
        "history.flat_power_before_dpt",
        OWN_RANGE,
    )


def _change_and_treatment(eye: Eye, changed_dpt: float) -> Iterator[Finding]:
    """A cornea that changed by much more or less than what the treatment is said to have achieved."""
    treated = eye.history.treated_at_cornea_dpt
    if treated is None or abs(changed_dpt - abs(treated)) <= CHANGE_APART_DPT:
        return
    yield warning(
        "change-and-treatment-apart",
        f"The reading of the cornea changed by {changed_dpt:.1f} D and the treatment on record by "
        f"{abs(treated):.1f} D. One of the two records is wrong, or the refraction has moved since; methods "
        "that use them will disagree.",
        "history.treated_at_cornea_dpt",
        OWN_RANGE,
    )


def _short_sight_of_the_cataract(eye: Eye) -> Iterator[Finding]:
    """Present glasses that must not be taken for what the laser left."""
    length, mean_k = eye.biometry.axial_length_mm, eye.biometry.keratometry.mean_k_dpt
    glasses = eye.history.glasses
    if length is None or mean_k is None or glasses is None:
        return
    expected_dpt = float(refraction_from_length_and_cornea_dpt(length.value, mean_k))
    if glasses.reported_equivalent_dpt < expected_dpt - CATARACT_MYOPIA_DPT:
        yield note(
            "cataract-short-sight",
            f"Length and cornea together suggest a refraction of about {expected_dpt:+.1f} D, and the "
            f"glasses have {glasses.reported_equivalent_dpt:+.1f} D. The difference may be the cataract's "
            "own short sight: do not take these glasses for what the surgery left.",
            "history.glasses",
            "rosa-2010",
        )
