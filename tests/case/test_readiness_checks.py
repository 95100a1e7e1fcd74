"""Is this eye ready to be measured and listed at all?"""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import codes, severities, the_one
from fakes.examples import ordinary_readiness
from zonule.case.eye import ContactLens, Look, Readiness
from zonule.case.finding import Finding, Severity
from zonule.case.readiness_checks import readiness_findings

WARNING, NOTE = Severity.WARNING, Severity.NOTE


def found(**changes: Any) -> list[Finding]:
    return readiness_findings(ordinary_readiness(**changes))


def test_an_eye_that_is_ready_raises_nothing() -> None:
    assert found() == []


def test_questions_nobody_answered_are_named() -> None:
    finding = the_one(readiness_findings(Readiness()), "readiness-unanswered")
    assert (finding.severity, finding.where) == (NOTE, "readiness")
    for question in ("contact lenses", "tear film", "macula", "fundus", "eye pressure"):
        assert question in finding.sentence


def test_only_open_questions_are_named() -> None:
    sentence = the_one(found(macula=None), "readiness-unanswered").sentence
    assert "macula" in sentence
    assert "fundus" not in sentence


@pytest.mark.parametrize(
    ("worn", "days", "too_recent"),
    [
        (ContactLens.SOFT, 6.0, True),
        (ContactLens.SOFT, 7.0, False),
        (ContactLens.RIGID, 27.0, True),
        (ContactLens.RIGID, 28.0, False),
    ],
)
def test_contact_lenses_stay_out_long_enough(worn: ContactLens, days: float, too_recent: bool) -> None:
    findings = found(contact_lens=worn, contact_lens_out_days=days)
    assert codes(findings, WARNING) == ({"contact-lens-too-recent"} if too_recent else set())


def test_contact_lenses_out_nobody_knows_how_long_are_a_warning() -> None:
    finding = the_one(found(contact_lens=ContactLens.RIGID), "contact-lens-out-unknown")
    assert finding.severity is WARNING
    assert "28 days" in finding.sentence


@pytest.mark.parametrize("place", ["tear_film", "macula", "fundus"])
@pytest.mark.parametrize(("look", "word"), [(Look.DOUBTFUL, "doubtful"), (Look.NOT_SEEN, "not-seen")])
def test_a_doubtful_look_and_one_that_was_not_possible_are_warnings(
    place: str, look: Look, word: str
) -> None:
    findings = found(**{place: look})
    assert codes(findings) == {f"{place.replace('_', '-')}-{word}"}
    assert severities(findings) == {WARNING}
    assert findings[0].where == f"readiness.{place}"


@pytest.mark.parametrize(("pressure_mmhg", "unusual"), [(21.0, False), (22.0, True), (5.0, True)])
def test_an_unusual_pressure_is_looked_into(pressure_mmhg: float, unusual: bool) -> None:
    assert codes(found(pressure_mmhg=pressure_mmhg), WARNING) == ({"unusual-pressure"} if unusual else set())


@pytest.mark.parametrize(("pupil_mm", "small"), [(5.0, False), (4.5, True)])
def test_a_small_pupil_is_prepared_for_and_not_measured_again(pupil_mm: float, small: bool) -> None:
    findings = found(dilated_pupil_mm=pupil_mm)
    assert codes(findings, WARNING) == ({"small-pupil"} if small else set())
    assert not any("second device" in one.sentence for one in findings)


@pytest.mark.parametrize("changes", [{"pressure_mmhg": 120.0}, {"dilated_pupil_mm": 0.2}])
def test_an_impossible_pressure_or_pupil_blocks(changes: dict[str, float]) -> None:
    assert the_one(found(**changes), "impossible-value").severity is Severity.BLOCKING
