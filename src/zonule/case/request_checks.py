"""Doubts about what was asked: eyes, lens and target, before any formula answers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from zonule.case.applicability import length_cautions, refusals
from zonule.case.eye import Eye
from zonule.case.eye_checks import eye_findings
from zonule.case.finding import Finding, Severity, blocking, note, warning
from zonule.case.lens_checks import lens_findings
from zonule.case.material_checks import material_findings
from zonule.case.pair import AIM_RANGE_DPT
from zonule.case.pair_checks import pair_findings
from zonule.case.plan import PlanRequest
from zonule.case.readiness_checks import readiness_findings
from zonule.case.refraction import Refraction

ANISOMETROPIA_DPT = 2.0
"""Difference between the eyes' refractions that many people do not tolerate (common practice, no source)."""


_LACKING = ("axial-length-missing", "cornea-missing", "date-missing", "method-missing")


def request_findings(request: PlanRequest, today: date) -> list[Finding]:
    """Every doubt about a request before any formula has been asked."""
    found = eye_findings(request.eye, today)
    if request.fellow is not None:
        found += _fellow_findings(request.fellow, today)
    found += pair_findings(request.eye, request.fellow)
    found += readiness_findings(request.eye.readiness)
    found += refusals(request.eye)
    found += length_cautions(request.eye)
    if request.lens is None:
        found.append(
            blocking(
                "lens-missing",
                "No lens has been chosen. Name a lens, or give its constants and powers.",
                "lens",
            )
        )
    else:
        found += lens_findings(request.lens, request.eye)
        found += material_findings(request.lens, request.eye)
    return found + list(_target_findings(request))


def _fellow_findings(fellow: Eye, today: date) -> list[Finding]:
    """Doubts about the fellow eye, each saying so: they do not block this eye, and a lack is only noted."""
    found = (
        finding for finding in eye_findings(fellow, today, "fellow.") if finding.severity is not Severity.NOTE
    )
    return [
        replace(
            finding,
            severity=Severity.NOTE if finding.code in _LACKING else Severity.WARNING,
            sentence=f"Fellow eye: {finding.sentence}",
        )
        for finding in found
    ]


def _target_findings(request: PlanRequest) -> Iterator[Finding]:
    target = request.target_refraction_dpt
    if target is None:
        yield blocking(
            "target-missing",
            "No target refraction has been chosen. It is never assumed; agree it with the patient and enter "
            "it.",
            "target_refraction_dpt",
        )
        return
    low, high = AIM_RANGE_DPT
    if not low <= target <= high:
        yield blocking(
            "impossible-target",
            f"A target of {target:+.2f} D lies outside {low:+.0f} to {high:+.0f} D. Check the sign.",
            "target_refraction_dpt",
        )
    elif target > 0:
        yield warning(
            "hyperopic-target",
            f"The target is {target:+.2f} D, long-sighted. If a short-sighted aim was meant, correct the "
            "sign.",
            "target_refraction_dpt",
        )
    difference = aim_difference_dpt(request)
    if difference is not None and abs(difference) > ANISOMETROPIA_DPT:
        yield warning(
            "anisometropia",
            f"This target would leave the two eyes {abs(difference):.1f} D apart, more than "
            f"{ANISOMETROPIA_DPT:g} D: this eye at {target:+.2f} D, {_fellow_words(request)} at "
            f"{target - difference:+.2f} D. Many people do not tolerate that in glasses. Plan the second "
            "eye, a contact lens or another target.",
            "target_refraction_dpt",
        )
    elif difference is not None:
        yield note(
            "anisometropia-left",
            f"This target would leave the two eyes {abs(difference):.1f} D apart by "
            f"{_fellow_words(request)}.",
            "target_refraction_dpt",
        )
    elif request.fellow is not None:
        yield note(
            "fellow-glasses-missing",
            "The fellow eye's glasses are not recorded, so the difference that the aim would leave is "
            "unknown.",
            "fellow.history.glasses",
        )


def aim_difference_dpt(request: PlanRequest) -> float | None:
    """The difference the target would leave: this aim minus what the fellow eye achieved, or its glasses."""
    seen = _fellow_refraction(request)
    if seen is None or request.target_refraction_dpt is None:
        return None
    return request.target_refraction_dpt - seen.reported_equivalent_dpt


def _fellow_refraction(request: PlanRequest) -> Refraction | None:
    """Of an operated fellow eye what it achieved; its old glasses say nothing any more."""
    if request.fellow_outcome is not None:
        return request.fellow_outcome.refraction
    return None if request.fellow is None else request.fellow.history.glasses


def _fellow_words(request: PlanRequest) -> str:
    return "the fellow eye's glasses" if request.fellow_outcome is None else "what the fellow eye achieved"
