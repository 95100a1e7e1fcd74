"""The case: one eye of one patient, all the way round."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from zonule.case.axis_visit import AxisVisit
from zonule.case.eye import Eye
from zonule.case.operation import Operation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, SignedPlan
from zonule.case.review import Review


class Stage(StrEnum):
    """The five stages, in order."""

    MEASURE = "measure"
    PLAN = "plan"
    OPERATE = "operate"
    REVIEW = "review"
    LEARN = "learn"


@dataclass(frozen=True, slots=True)
class Case:
    """Everything on record about one eye's way through the clinic."""

    key: str
    patient: Patient
    side: Side
    eye: Eye
    fellow: Eye | None = None
    listed_on: date | None = None
    intent: Intent = field(default_factory=Intent)
    signed: SignedPlan | None = None
    operation: Operation | None = None
    review: Review | None = None
    axis_visits: tuple[AxisVisit, ...] = ()
    """Every look at the marks of a toric lens, earliest first."""
    revision: int = 0
    """Grows with every change; a save that names an older one is refused."""

    @property
    def stage(self) -> Stage:
        """The stage that is open now."""
        if self.review is not None:
            return Stage.LEARN
        if self.operation is not None:
            return Stage.REVIEW
        if self.signed is not None:
            return Stage.OPERATE
        return Stage.PLAN if self.intent.target_refraction_dpt is not None else Stage.MEASURE


def case_key(patient_key: str, side: Side) -> str:
    """The key of a case, as people type it."""
    return f"{patient_key}-{side}"
