"""Both eyes together: two eyes of one person are alike, or something explains why not."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import LensStatus
from zonule.case.eye import Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE, SECOND_LOOK
from zonule.science.lens_power.srk_t import thin_lens_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt

LENGTH_DIFFERENCE_MM = 0.3
"""Holladay's screening limit (holladay-1988); it warns unless the glasses explain it."""

MEAN_K_DIFFERENCE_DPT = 0.9
UNEXPLAINED_DPT = (0.5, 1.0)
"""Disagreement between glasses and lengths that counts: half of what is expected, never under the first (two
refractions of one eye agree within it) nor over the second, however long the eye is (our choice)."""

_ROUNDING = 1e-9
"""A difference of decimals that sits on a limit must not be pushed over it by binary fractions."""
_SAID_FROM_DPT = 0.05
_ANY_A_CONSTANT = 118.4
"""Both eyes get the same imagined lens, so its constant hardly matters."""


def pair_findings(eye: Eye, fellow: Eye | None) -> list[Finding]:
    """Doubts that only show when the two eyes stand side by side."""
    if fellow is None:
        return [
            note(
                "fellow-eye-missing",
                "The fellow eye was not given, so the two eyes cannot be compared and the difference that "
                "the aim would leave between them is unknown.",
                "fellow",
            )
        ]
    return [
        *_same_side(eye, fellow),
        *_copied(eye, fellow),
        *_length(eye, fellow),
        *_mean_k(eye, fellow),
    ]


def expected_difference_dpt(eye: Eye, fellow: Eye) -> float | None:
    """How far the eyes would differ with the same lens in both: this eye minus fellow."""
    refractions = [_with_the_same_lens(eye, eye), _with_the_same_lens(eye, fellow)]
    if refractions[0] is None or refractions[1] is None:
        return None
    return refractions[0] - refractions[1]


def glasses_difference_dpt(eye: Eye, fellow: Eye) -> float | None:
    """How far the glasses of the two eyes differ, this eye minus fellow.

    None where they are not both known, or where one eye has lost its own lens: then its glasses tell of the
    lens that was put in, not of the length.
    """
    glasses = (eye.history.glasses, fellow.history.glasses)
    if glasses[0] is None or glasses[1] is None or not (_has_own_lens(eye) and _has_own_lens(fellow)):
        return None
    return glasses[0].reported_equivalent_dpt - glasses[1].reported_equivalent_dpt


def _has_own_lens(eye: Eye) -> bool:
    return eye.biometry.lens_status not in {LensStatus.PSEUDOPHAKIC, LensStatus.APHAKIC}


def _with_the_same_lens(reference: Eye, eye: Eye) -> float | None:
    numbers = [
        (one.biometry.axial_length_mm, one.biometry.keratometry.mean_k_dpt) for one in (reference, eye)
    ]
    if any(length is None or mean_k is None for length, mean_k in numbers):
        return None
    seen = [
        thin_lens_eye(length.value, mean_k, _ANY_A_CONSTANT)
        for length, mean_k in numbers
        if length is not None and mean_k is not None
    ]
    return float(refraction_dpt(seen[1], lens_power_dpt(seen[0], 0.0)))


def _same_side(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    if eye.side is fellow.side:
        yield blocking(
            "same-eye-twice",
            f"The eye and its fellow are both given as the {eye.side} eye. Find out which is which.",
            "fellow.eye",
            OWN_RANGE,
        )


def _copied(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    lengths = (eye.biometry.axial_length_mm, fellow.biometry.axial_length_mm)
    if lengths[0] is None or lengths[1] is None or lengths[0].value != lengths[1].value:
        return
    if (
        eye.biometry.keratometry.powers_dpt == fellow.biometry.keratometry.powers_dpt
        and eye.biometry.keratometry.steep_meridian_deg == fellow.biometry.keratometry.steep_meridian_deg
    ):
        yield warning(
            "eyes-identical",
            "Both eyes have exactly the same length, corneal powers and axis. One eye's numbers may have "
            "been copied into the other. Compare with the printout.",
            "fellow.biometry",
        )


def _length(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    lengths = (eye.biometry.axial_length_mm, fellow.biometry.axial_length_mm)
    if lengths[0] is None or lengths[1] is None:
        return
    difference_mm = lengths[0].value - lengths[1].value
    if abs(difference_mm) <= LENGTH_DIFFERENCE_MM + _ROUNDING:
        return
    expected = expected_difference_dpt(eye, fellow)
    glasses = glasses_difference_dpt(eye, fellow)
    longer = eye.side if difference_mm > 0 else eye.side.other
    opening = f"The {longer} eye is {abs(difference_mm):.2f} mm longer"
    if expected is None or glasses is None:
        yield warning(
            "lengths-differ",
            f"{opening}, more than {LENGTH_DIFFERENCE_MM} mm, and no glasses worn before any operation are "
            "there to explain it. Measure both lengths again.",
            "biometry.axial_length_mm",
            "holladay-1988",
        )
    elif abs(glasses - expected) > _tolerated_dpt(expected):
        yield warning(
            "lengths-differ",
            f"{opening}. By length and cornea the {eye.side} eye should be {_sighted(expected)}; "
            f"by its glasses it is {_sighted(glasses)}. Measure both lengths again before "
            "you trust either.",
            "biometry.axial_length_mm",
            "holladay-1988",
        )
    else:
        yield note(
            "lengths-differ-explained",
            f"{opening}, and the glasses agree: by them the {eye.side} eye is {_sighted(glasses)}.",
            "biometry.axial_length_mm",
            "holladay-1988",
        )


def _tolerated_dpt(expected_dpt: float) -> float:
    least, most = UNEXPLAINED_DPT
    return min(max(least, abs(expected_dpt) / 2.0), most)


def _sighted(difference_dpt: float) -> str:
    """How much more long-sighted (plus) or short-sighted one eye is than the other."""
    if abs(difference_dpt) < _SAID_FROM_DPT:
        return "no different"
    return f"{abs(difference_dpt):.1f} D more {'long' if difference_dpt > 0 else 'short'}-sighted"


def _mean_k(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    means = (eye.biometry.keratometry.mean_k_dpt, fellow.biometry.keratometry.mean_k_dpt)
    if means[0] is None or means[1] is None:
        return
    difference_dpt = abs(means[0] - means[1])
    if difference_dpt > MEAN_K_DIFFERENCE_DPT + _ROUNDING:
        yield warning(
            "corneas-differ",
            f"The mean corneal powers of the two eyes differ by {difference_dpt:.2f} D, more than "
            f"{MEAN_K_DIFFERENCE_DPT} D. Measure both again and look for surgery or ectasia in one of them.",
            "biometry.flat_power_dpt",
            SECOND_LOOK,
        )
