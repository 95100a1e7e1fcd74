"""The example files say what their names promise."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from exchange.documents import CONTRACT_EYE, EXAMPLES, TODAY, places
from zonule.case.eye import CornealSurgery
from zonule.case.finding import Severity
from zonule.case.plan import PlanRequest
from zonule.case.request_checks import request_findings
from zonule.exchange.biometry_file import read_biometry
from zonule.exchange.eye_file import read_eye_request
from zonule.workflow.forecast import plan_eye

EYE_FILES = sorted(EXAMPLES.glob("*.json"))


def request_of(name: str) -> PlanRequest:
    path = EXAMPLES / f"{name}.json"
    return read_eye_request(path.read_bytes(), file=path.name)[1]


def codes_of(name: str) -> set[str]:
    findings = request_findings(request_of(name), TODAY)
    return {finding.code for finding in findings if finding.severity is not Severity.NOTE}


@pytest.mark.parametrize("path", EYE_FILES, ids=lambda path: path.stem)
def test_every_example_is_read_without_a_finding(path: Path) -> None:
    assert read_eye_request(path.read_bytes(), file=path.name)[2] == ()


def test_the_ordinary_eye_is_the_example_of_the_contract_and_gives_no_warning() -> None:
    written = json.loads((EXAMPLES / "ordinary-eye.json").read_text(encoding="utf-8"))
    assert {**written["biometry"], "device": "any name"} == CONTRACT_EYE["biometry"]
    assert written["history"] == CONTRACT_EYE["history"]
    assert codes_of("ordinary-eye") == set()


@pytest.mark.parametrize(
    ("name", "length_mm", "mean_k_dpt", "surgery"),
    [
        ("long-eye", 29.1, 42.75, CornealSurgery.NONE),
        ("steep-cornea", 26.0, 49.0, CornealSurgery.NONE),
        ("laser-unknown", 26.0, 38.0, CornealSurgery.UNKNOWN),
    ],
)
def test_an_unusual_eye_is_as_unusual_as_it_says(
    name: str, length_mm: float, mean_k_dpt: float, surgery: CornealSurgery
) -> None:
    eye = request_of(name).eye
    assert eye.biometry.axial_length_mm is not None
    assert eye.biometry.axial_length_mm.value == length_mm
    assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(mean_k_dpt, abs=0.005)
    assert eye.history.corneal_surgery is surgery


def test_the_conflicting_cornea_is_stopped_by_its_conflict() -> None:
    assert "radius-power-conflict" in codes_of("conflicting-cornea")


def test_the_unequal_eyes_are_warned_of() -> None:
    assert "lengths-differ" in codes_of("unequal-eyes")


def test_the_clinic_brings_seven_eyes_and_names_the_bad_row() -> None:
    intake = read_biometry((EXAMPLES / "clinic.csv").read_bytes(), file="clinic.csv", today=TODAY)
    assert len(intake.eyes) == 7
    assert places(intake.findings) == {"clinic.csv, row 7, axial_length_mm"}


@pytest.mark.parametrize(
    ("name", "length_mm", "mean_k_dpt", "surgery"),
    [
        ("after-laser", 26.0, 38.0, CornealSurgery.MYOPIC_LASER),
        ("after-hyperopic-laser", 22.5, 46.0, CornealSurgery.HYPEROPIC_LASER),
        ("after-radial-keratotomy", 25.8, 38.6, CornealSurgery.RADIAL_KERATOTOMY),
        ("keratoconus", 24.5, 49.0, CornealSurgery.KERATOCONUS),
    ],
)
def test_a_diseased_or_operated_cornea_is_named_and_warned_of(
    name: str, length_mm: float, mean_k_dpt: float, surgery: CornealSurgery
) -> None:
    eye = request_of(name).eye
    assert eye.biometry.axial_length_mm is not None
    assert eye.biometry.axial_length_mm.value == length_mm
    assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(mean_k_dpt, abs=0.005)
    assert eye.history.corneal_surgery is surgery
    assert {"cornea-operated", "no-published-correction"} & codes_of(name)


def test_a_plan_of_each_example_is_as_its_name_promises() -> None:
    plans = {path.stem: plan_eye(request_of(path.stem), TODAY) for path in EYE_FILES}
    nothing = {name for name, plan in plans.items() if not plan.methods and not plan.corneas}
    assert nothing == {"conflicting-cornea", "laser-unknown"}
    assert {name for name, plan in plans.items() if plan.odds is None} == nothing | {
        "steep-cornea",
        "keratoconus",
    }
    assert {name for name, plan in plans.items() if plan.corneas} == {"after-laser", "after-hyperopic-laser"}
    assert {name for name, plan in plans.items() if plan.pair is not None} == {"two-targets"}
    second = {name: plan.second_eye for name, plan in plans.items() if plan.second_eye is not None}
    assert second.keys() == {"second-eye"}
    assert second["second-eye"].used
    assert second["second-eye"].shift_dpt > 0.0


def test_keratoconus_without_its_back_surface_gets_no_number() -> None:
    request = request_of("keratoconus")
    biometry = replace(request.eye.biometry, posterior_flat_radius_mm=None, posterior_steep_radius_mm=None)
    plan = plan_eye(replace(request, eye=replace(request.eye, biometry=biometry)), TODAY)
    assert plan.methods == ()
    assert "no-published-correction" in {
        finding.code for finding in plan.findings if finding.severity is Severity.BLOCKING
    }
