"""What a method had to do to answer for one eye, in the surgeon's words."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.finding import Finding, note, warning
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import Family, Formula

_FLAG_SENTENCES = {
    FormulaFlag.IMAGINARY_ROOT: (
        "imaginary-branch",
        (
            "In SRK/T this eye has no real corneal height (the root is imaginary). The number shown sets the "
            "root to zero, which is known to leave such eyes hyperopic; it is kept out of the odds."
        ),
        "aramberri-2005",
    ),
    FormulaFlag.NEAR_IMAGINARY_ROOT: (
        "near-imaginary-branch",
        (
            "This eye is close to the edge of SRK/T, where lens position runs away with corneal "
            "power. SRK/T is kept out of the odds."
        ),
        "aramberri-2005",
    ),
    FormulaFlag.LENGTH_BEYOND_TURN: (
        "beyond-srk-t",
        "Beyond 36 mm SRK/T moves the lens forward as the eye grows. It is kept out of the odds.",
        "retzlaff-1990",
    ),
    FormulaFlag.RADIUS_CLAMPED: (
        "radius-clamped",
        "Holladay 1 treats every cornea steeper than 48.2 D alike when it places the lens.",
        "holladay-1988",
    ),
    FormulaFlag.WIDTH_CLAMPED: (
        "width-clamped",
        (
            "Holladay 1 places the lens of every eye longer than 25.3 mm alike, which leaves long eyes "
            "hyperopic."
        ),
        "holladay-1988",
    ),
    FormulaFlag.LONG_EYE_STEP: (
        "long-eye-step",
        (
            "The length is within half a millimetre of the one from which this adjustment is published. "
            "There the answer jumps; look at the unadjusted formula beside it."
        ),
        "wang-2011",
    ),
    FormulaFlag.LENGTH_CLAMPED: (
        "length-clamped",
        "Hoffer Q stops moving the lens outside 18.5 to 31 mm.",
        "hoffer-1993",
    ),
}


def method_findings(formula: Formula, flags: FormulaFlag, *, first_guess: bool) -> Iterator[Finding]:
    """What its flags and its constants mean for this eye."""
    where = f"methods.{formula.method}"
    if flags & FormulaFlag.IMAGINARY_ROOT:
        flags &= ~FormulaFlag.NEAR_IMAGINARY_ROOT
    if flags & FormulaFlag.BEFORE_ASSUMED:
        yield note(
            "before-assumed",
            "The corneal power before surgery is not known; 43.5 D is taken to place the lens. One dioptre "
            "more or less moves the lens power by up to 0.5 D with SRK/T, by less with Holladay 1 and "
            "least with Hoffer Q.",
            where,
            "aramberri-2003",
        )
    for bit, (code, sentence, source) in _FLAG_SENTENCES.items():
        if flags & bit:
            yield warning(code, sentence, where, source)
    if first_guess and formula.family is Family.ANATOMICAL:
        yield note(
            "general-lens-place",
            f"{formula.name} places the lens by a general share of the old lens's thickness (C 0.39, from "
            "memory), not by one found for this lens. Its power can be off by a dioptre; it stands beside "
            "the others and gives no odds.",
            where,
            "olsen-2014",
        )
    elif first_guess and formula.constant_names != ("a_constant",):
        kept_out = "" if formula.converted_fit_for_odds else " It is kept out of the odds."
        yield note(
            "first-guess-constant",
            f"The {formula.name} constant was converted from the A-constant: a first guess, not an "
            "optimised one." + kept_out,
            where,
            "constant-conversion",
        )
