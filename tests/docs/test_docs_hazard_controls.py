"""Controls of the hazard log that no other test holds."""

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from workflow.clinic import KEY, operation_for, signed_clinic
from zonule import wiring
from zonule.errors import InputError
from zonule.workflow.operate import record_operation

FAR_EAST = timezone(timedelta(hours=13))
EARLY_THERE = datetime(2026, 11, 17, 8, 0, tzinfo=FAR_EAST)
"""Still the 16th in Greenwich."""


@pytest.fixture
def a_machine_in_the_far_east(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "XXX-13")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("a_machine_in_the_far_east")
def test_the_day_of_a_moment_is_the_day_on_the_clinics_wall() -> None:
    moment = wiring.now()
    assert moment.utcoffset() == timedelta(hours=13)
    assert wiring.today() in {moment.date(), wiring.now().date()}


def test_this_mornings_operation_is_not_refused_as_the_future_far_from_greenwich() -> None:
    record = signed_clinic()
    case = record.case(KEY)
    done = operation_for(case, operated_on=EARLY_THERE.date())
    tomorrow = replace(done, operated_on=EARLY_THERE.date() + timedelta(days=1))
    with pytest.raises(InputError, match="future"):
        record_operation(record, KEY, tomorrow, revision=case.revision, who="R. Calder", now=EARLY_THERE)
    record_operation(record, KEY, done, revision=case.revision, who="R. Calder", now=EARLY_THERE)
    assert record.case(KEY).operation == done
