"""One ordinary case, told as small functions; each takes only what a test wants to be different.

People, clinic and lenses are invented.
"""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime
from typing import Any

from zonule.case.axis_visit import AxisVisit
from zonule.case.biometry import (
    Biometry,
    ChamberFrom,
    Keratometry,
    LengthConvention,
    LensStatus,
    Meridian,
    Method,
    Vitreous,
)
from zonule.case.case import Case, case_key
from zonule.case.eye import ContactLens, CornealSurgery, Eye, History, Look, Readiness
from zonule.case.incision import IncisionLesson, Place
from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.case.lesson import Lesson
from zonule.case.measured import Measured
from zonule.case.operation import Complication, Fixation, Operation
from zonule.case.patient import Patient, Sex, Side
from zonule.case.plan import Intent, PlanRequest, SignedPlan
from zonule.case.refraction import Refraction
from zonule.case.review import Review

MEASURED_ON = date(2026, 11, 2)
LISTED_ON = date(2026, 11, 16)
SIGNED_AT = datetime(2026, 11, 9, 8, 30, tzinfo=UTC)
LENS_NAME = "Meadow One"
SURGEON = "R. Calder"


def ordinary_patient(key: str = "demo-0042", **changes: Any) -> Patient:
    """A woman of 75."""
    return replace(Patient(key, "Ada Winterbourne", date(1951, 3, 2), Sex.FEMALE), **changes)


def ordinary_keratometry(
    flat_power_dpt: float = 43.0, steep_power_dpt: float = 44.0, **changes: Any
) -> Keratometry:
    """A cornea of 43.0 by 44.0 D, given as powers with their index."""
    cornea = Keratometry(
        flat=Meridian(power_dpt=Measured(flat_power_dpt)),
        steep=Meridian(power_dpt=Measured(steep_power_dpt)),
        steep_meridian_deg=95.0,
        keratometric_index=1.3375,
    )
    return replace(cornea, **changes)


def ordinary_biometry(**changes: Any) -> Biometry:
    """An eye of 23.5 mm; a plain number for a measured quantity becomes `Measured`."""
    biometry = Biometry(
        keratometry=ordinary_keratometry(),
        axial_length_mm=Measured(23.5),
        anterior_chamber_depth_mm=Measured(3.1),
        chamber_from=ChamberFrom.EPITHELIUM,
        lens_thickness_mm=Measured(4.5),
        corneal_thickness_um=Measured(540.0),
        white_to_white_mm=Measured(11.9),
        measured_on=MEASURED_ON,
        device="Biometer A",
        method=Method.OPTICAL,
        length_convention=LengthConvention.COMPOSITE,
        lens_status=LensStatus.CATARACT,
        vitreous=Vitreous.NATURAL,
    )
    return replace(
        biometry,
        **{name: value if name in _PLAIN else _measured(value) for name, value in changes.items()},
    )


_PLAIN = {"posterior_steep_meridian_deg"}
"""Numbers that carry no spread of their own."""


def ordinary_history(**changes: Any) -> History:
    """An untouched cornea and weak glasses."""
    glasses = Refraction(sphere_dpt=0.5, cylinder_dpt=-0.5, axis_deg=90.0, vertex_mm=12.0)
    return replace(History(CornealSurgery.NONE, glasses), **changes)


def ordinary_readiness(**changes: Any) -> Readiness:
    """Every question answered, and nothing to worry about."""
    answers = Readiness(
        contact_lens=ContactLens.NONE,
        tear_film=Look.GOOD,
        macula=Look.GOOD,
        fundus=Look.GOOD,
        pressure_mmhg=15.0,
        dilated_pupil_mm=7.0,
        answered_on=MEASURED_ON,
    )
    return replace(answers, **changes)


def ordinary_eye(side: Side = Side.RIGHT, **changes: Any) -> Eye:
    """An ordinary eye; a change may name a field of the eye, its biometry, its cornea or its history.

    Its readiness is unanswered. `ordinary_eye(axial_length_mm=26.0, flat_power_dpt=41.0)` is an eye of
    26 mm with a flatter cornea.
    """
    own = _taken(changes, _names(Eye))
    cornea = _taken(changes, _names(Keratometry) | {"flat_power_dpt", "steep_power_dpt"})
    history = _taken(changes, _names(History))
    biometry = {"keratometry": ordinary_keratometry(**cornea), **changes}
    eye = Eye(side=side, biometry=ordinary_biometry(**biometry), history=ordinary_history(**history))
    return replace(eye, **own)


def ordinary_lens(name: str = LENS_NAME, a_constant: float | None = 118.4, **changes: Any) -> LensModel:
    """A lens of A 118.4, made from 6 to 30 D by half dioptres."""
    lens = LensModel(name, PowerRange(6.0, 30.0, 0.5), LensConstants(a_constant=a_constant))
    return replace(lens, **changes)


def ordinary_intent(**changes: Any) -> Intent:
    """Aim for the distance with 21.0 D."""
    intent = Intent(
        lens_model=LENS_NAME,
        target_refraction_dpt=0.0,
        surgeon=SURGEON,
        lens_power_dpt=21.0,
        incision_meridian_deg=180.0,
        capsulorhexis_mm=5.2,
    )
    return replace(intent, **changes)


def ordinary_request(side: Side = Side.RIGHT, **changes: Any) -> PlanRequest:
    """What the ordinary plan is computed from."""
    request = PlanRequest(
        eye=ordinary_eye(side), lens=ordinary_lens(), target_refraction_dpt=0.0, surgeon=SURGEON
    )
    return replace(request, **changes)


def ordinary_signed_plan(side: Side = Side.RIGHT, digest: str = "a" * 64, **changes: Any) -> SignedPlan:
    """A signed plan whose numbers are made up to look ordinary; nothing was computed for it."""
    plan = SignedPlan(
        request=ordinary_request(side),
        intent=ordinary_intent(),
        predicted_refraction_dpt=-0.12,
        method_predictions_dpt={"srk_t": -0.15, "holladay_1": -0.12, "hoffer_q": -0.05},
        displayed={"lens_power_dpt": "21.0", "predicted_refraction_dpt": "-0.12"},
        reasons="",
        signed_by=SURGEON,
        signed_at=SIGNED_AT,
        software_version="0.1.0",
        seed=42,
        digest=digest,
    )
    return replace(plan, **changes)


def ordinary_operation(plan_digest: str = "a" * 64, **changes: Any) -> Operation:
    """The planned lens, in the bag, without trouble."""
    operation = Operation(
        plan_digest=plan_digest,
        operated_on=LISTED_ON,
        surgeon=SURGEON,
        lens_model=LENS_NAME,
        lens_power_dpt=21.0,
        fixation=Fixation.BAG,
        complication=Complication.NONE,
        lens_serial="SN-0001",
        capsulorhexis_mm=5.1,
    )
    return replace(operation, **changes)


def ordinary_review(**changes: Any) -> Review:
    """A stable refraction a quarter dioptre more myopic than predicted."""
    review = Review(
        refracted_on=date(2026, 12, 21),
        refraction=Refraction(sphere_dpt=-0.25, cylinder_dpt=-0.25, axis_deg=90.0, lane_m=6.0),
        days_after=35,
        error_dpt=-0.255,
        method_errors_dpt={"srk_t": -0.225, "holladay_1": -0.255, "hoffer_q": -0.325},
        acuity_logmar=0.0,
    )
    return replace(review, **changes)


def ordinary_lesson(**changes: Any) -> Lesson:
    """What twenty ordinary eyes have taught about one method."""
    lesson = Lesson(
        key="r-calder-srk-t-meadow-one",
        surgeon=SURGEON,
        method="srk_t",
        lens_model=LENS_NAME,
        constants=(118.4,),
        first_on=date(2026, 1, 12),
        last_on=date(2026, 9, 28),
        eyes=20,
        mean_error_dpt=-0.2,
        weight=0.6,
        offset_dpt=-0.12,
        offset_sd_dpt=0.07,
        scale_dpt=0.36,
        learned_on=date(2026, 10, 5),
    )
    return replace(lesson, **changes)


def ordinary_axis_visit(**changes: Any) -> AxisVisit:
    """The marks of a toric lens a day after the operation."""
    return replace(AxisVisit(date(2026, 11, 17), 92.0), **changes)


def ordinary_incision_lesson(**changes: Any) -> IncisionLesson:
    """What thirty eyes have taught about one kind of incision."""
    lesson = IncisionLesson(
        key="r-calder-temporal-2-2",
        surgeon=SURGEON,
        place=Place.TEMPORAL,
        width_mm=2.2,
        first_on=date(2026, 1, 12),
        last_on=date(2026, 9, 28),
        eyes=30,
        weight=0.7,
        own_flattening_dpt=0.32,
        flattening_dpt=0.28,
        torque_dpt=-0.04,
        scatter_dpt2=(0.09, 0.01, 0.08),
        centroid_sd_dpt=0.06,
        learned_on=date(2026, 10, 5),
    )
    return replace(lesson, **changes)


def ordinary_case(side: Side = Side.RIGHT, **changes: Any) -> Case:
    """A case that has been measured and listed; nothing is planned yet."""
    patient = ordinary_patient()
    case = Case(case_key(patient.key, side), patient, side, ordinary_eye(side), listed_on=LISTED_ON)
    return replace(case, **changes)


def _measured(value: Any) -> Any:
    return Measured(float(value)) if isinstance(value, int | float) else value


def _names(record: type) -> frozenset[str]:
    return frozenset(one.name for one in fields(record))


def _taken(changes: dict[str, Any], names: frozenset[str]) -> dict[str, Any]:
    return {name: changes.pop(name) for name in tuple(changes) if name in names}
