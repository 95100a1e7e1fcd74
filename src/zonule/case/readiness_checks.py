"""Whether an eye is ready to be measured and listed at all."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.eye import ContactLens, Look, Readiness
from zonule.case.finding import Finding, Severity, note, warning
from zonule.case.limits import LIMITS, limit_finding

OUT_DAYS = {ContactLens.SOFT: 7.0, ContactLens.RIGID: 28.0}
"""How long lenses stay out before keratometry: the UK college's advice as quoted in goudie-2018."""

QUESTIONS = {
    "contact_lens": "contact lenses",
    "tear_film": "tear film",
    "macula": "macula",
    "fundus": "fundus",
    "pressure_mmhg": "eye pressure",
}

_LOOKS = {
    "tear_film": (
        (
            "The tear film is doubtful. Keratometry scatters on a poor tear film; treat the surface and "
            "measure again."
        ),
        "The tear film has not been looked at.",
        "epitropoulos-2015",
    ),
    "macula": (
        (
            "The macula is doubtful. Get a scan before promising an outcome or choosing a lens that splits "
            "light."
        ),
        "The macula has not been looked at.",
        "common practice, no source",
    ),
    "fundus": (
        "The fundus is doubtful. Have it examined before listing.",
        (
            "The fundus could not be seen. Do an ultrasound scan before listing; the risk of the operation "
            "is higher."
        ),
        "narendran-2009",
    ),
}


def readiness_findings(readiness: Readiness, prefix: str = "") -> list[Finding]:
    """What stands in the way of measuring or listing this eye, and what nobody has asked yet."""
    place = f"{prefix}readiness."
    return [
        *_unanswered(readiness, place),
        *_contact_lens(readiness, place),
        *_looks(readiness, place),
        *_numbers(readiness, place),
    ]


def _unanswered(readiness: Readiness, place: str) -> Iterator[Finding]:
    open_questions = [QUESTIONS[name] for name in readiness.unanswered]
    if open_questions:
        yield note(
            "readiness-unanswered",
            f"Not yet recorded for this eye: {', '.join(open_questions)}.",
            place.removesuffix("."),
        )


def _contact_lens(readiness: Readiness, place: str) -> Iterator[Finding]:
    worn = readiness.contact_lens
    if worn is None or worn is ContactLens.NONE:
        return
    needed = OUT_DAYS[worn]
    out = readiness.contact_lens_out_days
    if out is None:
        yield warning(
            "contact-lens-out-unknown",
            f"The patient wears {worn} contact lenses, and it is not recorded for how long they had been "
            f"out. They should stay out {needed:.0f} days.",
            f"{place}contact_lens_out_days",
            "goudie-2018",
        )
    elif out < needed:
        yield warning(
            "contact-lens-too-recent",
            f"{worn.capitalize()} contact lenses had been out {out:g} days; {needed:.0f} are advised before "
            "keratometry. Measure again later, until two sets agree.",
            f"{place}contact_lens_out_days",
            "goudie-2018",
        )


def _looks(readiness: Readiness, place: str) -> Iterator[Finding]:
    for name, (doubtful, not_seen, source) in _LOOKS.items():
        look = getattr(readiness, name)
        if look is Look.DOUBTFUL:
            yield warning(f"{name.replace('_', '-')}-doubtful", doubtful, f"{place}{name}", source)
        elif look is Look.NOT_SEEN:
            yield warning(f"{name.replace('_', '-')}-not-seen", not_seen, f"{place}{name}", source)


def _numbers(readiness: Readiness, place: str) -> Iterator[Finding]:
    for quantity, told in (("pressure_mmhg", _pressure), ("dilated_pupil_mm", _pupil)):
        value = getattr(readiness, quantity)
        doubt = None if value is None else limit_finding(quantity, value, f"{place}{quantity}")
        if doubt is not None:
            yield doubt if doubt.severity is Severity.BLOCKING else told(value, doubt.where)


def _pressure(pressure_mmhg: float, where: str) -> Finding:
    low, high = LIMITS["pressure_mmhg"].usual
    return warning(
        "unusual-pressure",
        f"The eye pressure of {pressure_mmhg:g} mmHg lies outside the usual {low:g} to {high:g} mmHg. "
        "Measure it again and have it looked into before listing.",
        where,
    )


def _pupil(pupil_mm: float, where: str) -> Finding:
    return warning(
        "small-pupil",
        f"The pupil opened to {pupil_mm:g} mm only. Ask about drugs for the prostate, and have what holds a "
        "small pupil ready.",
        where,
    )
