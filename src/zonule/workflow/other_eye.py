"""The other eye of the same patient."""

from __future__ import annotations

from zonule.case.case import Case, case_key
from zonule.errors import NotInRecordError
from zonule.workflow.ports import Record


def other_eyes_case(record: Record, case: Case) -> Case | None:
    """The other eye's case, when it has one; an eye may be on record only to compare with."""
    try:
        return record.case(case_key(case.patient.key, case.side.other))
    except NotInRecordError:
        return None
