"""The follow-up list: toric eyes whose axis has to be looked at, or whose lens may have to be turned."""

from __future__ import annotations

from datetime import date, timedelta

from zonule.case.follow_up import LISTED_DAYS, FollowUp, follow_up
from zonule.workflow.ports import Record


def follow_up_list(record: Record, today: date) -> tuple[FollowUp, ...]:
    """Every eye that has to be seen, the most urgent first."""
    cases = record.toric_cases(today - timedelta(days=LISTED_DAYS))
    found = (follow_up(case, today) for case in cases)
    return tuple(sorted((one for one in found if one is not None), key=lambda one: one.urgency))
