"""What is asked of the tables: a whole case in one statement, and a line of the day list."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import (
    ColumnElement,
    FromClause,
    Row,
    ScalarSelect,
    Select,
    bindparam,
    exists,
    func,
    select,
)

from zonule.case.axis_visit import AxisVisit
from zonule.case.case import Case, Stage
from zonule.case.eye import Eye
from zonule.case.operation import Operation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, SignedPlan
from zonule.case.review import Review
from zonule.storage.documents import from_document, from_document_if_any, many_from_document
from zonule.storage.schema import axis_visits, cases, eyes, operations, patients, reviews, signed_plans
from zonule.workflow.ports import Listing

AnyRow = Row[*tuple[Any, ...]]
AnySelect = Select[*tuple[Any, ...]]

_eye, _fellow, _version = eyes.alias("eye"), eyes.alias("fellow"), eyes.alias("version")


@cache
def every_case() -> AnySelect:
    """Cases with all that is current about them; one statement, so that it is one moment's truth."""
    found = (
        cases.join(patients, patients.c.key == cases.c.patient_key)
        .join(_eye, _eye.c.number == _current_eye(_version.c.side == cases.c.side))
        .outerjoin(_fellow, _fellow.c.number == _current_eye(_version.c.side != cases.c.side))
        .outerjoin(signed_plans, _is_latest(signed_plans))
        .outerjoin(operations, _is_latest(operations))
        .outerjoin(reviews, _is_latest(reviews))
        .outerjoin(axis_visits, _is_latest(axis_visits))
    )
    return select(
        cases.c.key,
        cases.c.side,
        cases.c.listed_on,
        cases.c.revision,
        cases.c.intent,
        patients.c.document.label("patient"),
        _eye.c.document.label("eye"),
        _fellow.c.document.label("fellow"),
        signed_plans.c.document.label("signed"),
        operations.c.document.label("operation"),
        reviews.c.document.label("review"),
        axis_visits.c.document.label("axis_visits"),
    ).select_from(found)


@cache
def one_case() -> AnySelect:
    """The same for one `key`."""
    return every_case().where(cases.c.key == bindparam("key"))


@cache
def reviewed_cases() -> AnySelect:
    """The same for cases with a review."""
    return every_case().where(reviews.c.number.is_not(None))


@cache
def toric_cases() -> AnySelect:
    """The same for cases operated `since` a day with a lens that has cylinder."""
    return every_case().where(
        operations.c.operated_on >= bindparam("since"), operations.c.lens_cylinder_dpt > 0.0
    )


def case_from(row: AnyRow) -> Case:
    """The case that a row of `every_case` tells of."""
    return Case(
        key=row.key,
        patient=from_document(Patient, row.patient),
        side=Side(row.side),
        eye=from_document(Eye, row.eye),
        fellow=from_document_if_any(Eye, row.fellow),
        listed_on=row.listed_on,
        intent=from_document(Intent, row.intent),
        signed=from_document_if_any(SignedPlan, row.signed),
        operation=from_document_if_any(Operation, row.operation),
        review=from_document_if_any(Review, row.review),
        axis_visits=many_from_document(AxisVisit, row.axis_visits),
        revision=row.revision,
    )


@cache
def every_listing() -> AnySelect:
    """Lines of the day list; of the large documents only whether they exist."""
    found = cases.join(patients, patients.c.key == cases.c.patient_key)
    return select(
        cases.c.key,
        cases.c.side,
        cases.c.listed_on,
        cases.c.intent,
        patients.c.document.label("patient"),
        signed_plans.c.number.is_not(None).label("signed"),
        signed_plans.c.lens_model,
        signed_plans.c.lens_power_dpt,
        _has_any(operations).label("operated"),
        _has_any(reviews).label("reviewed"),
    ).select_from(found.outerjoin(signed_plans, _is_latest(signed_plans)))


@cache
def listings_of_a_day() -> AnySelect:
    """The same for one day, `on`."""
    return every_listing().where(cases.c.listed_on == bindparam("on"))


@cache
def undated_listings() -> AnySelect:
    """The same for cases that have no day yet."""
    return every_listing().where(cases.c.listed_on.is_(None))


def listing_from(row: AnyRow) -> Listing:
    """The line that a row of `every_listing` tells of."""
    return Listing(
        case_key=row.key,
        patient=from_document(Patient, row.patient),
        side=Side(row.side),
        listed_on=row.listed_on,
        stage=stage_of(
            aimed=from_document(Intent, row.intent).target_refraction_dpt is not None,
            signed=bool(row.signed),
            operated=bool(row.operated),
            reviewed=bool(row.reviewed),
        ),
        lens_model=row.lens_model,
        lens_power_dpt=row.lens_power_dpt,
    )


def stage_of(*, aimed: bool, signed: bool, operated: bool, reviewed: bool) -> Stage:
    """What `Case.stage` says, from what exists; a test holds the two together."""
    if reviewed:
        return Stage.LEARN
    if operated:
        return Stage.REVIEW
    if signed:
        return Stage.OPERATE
    return Stage.PLAN if aimed else Stage.MEASURE


def day_list_order(listing: Listing) -> tuple[date, str, str, bool]:
    """By day, undated last; then by patient, right eye first."""
    return (
        listing.listed_on or date.max,
        listing.patient.name.casefold(),
        listing.patient.key,
        listing.side is Side.LEFT,
    )


def _current_eye(of_side: ColumnElement[bool]) -> ScalarSelect[Any]:
    versions = select(func.max(_version.c.number)).where(_version.c.patient_key == cases.c.patient_key)
    return versions.where(of_side).scalar_subquery()


def _is_latest(table: FromClause) -> ColumnElement[bool]:
    version = table.alias()
    latest = select(func.max(version.c.number)).where(version.c.case_key == cases.c.key).scalar_subquery()
    return table.c.number == latest


def _has_any(table: FromClause) -> ColumnElement[bool]:
    return exists().where(table.c.case_key == cases.c.key)
