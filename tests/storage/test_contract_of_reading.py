"""What every record promises about reading, and about many at once, whatever it is kept in."""

from __future__ import annotations

import hashlib
import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import product

import pytest

from fakes.acts import open_case, ordinary_act
from fakes.examples import (
    LENS_NAME,
    LISTED_ON,
    ordinary_incision_lesson,
    ordinary_intent,
    ordinary_lens,
    ordinary_lesson,
    ordinary_operation,
    ordinary_patient,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.case import Stage
from zonule.case.incision import Place
from zonule.case.patient import Side
from zonule.case.plan import Intent
from zonule.errors import ChangedMeanwhileError
from zonule.workflow.ports import Record, TrailEntry

NEXT_DAY = LISTED_ON + timedelta(days=1)


# The day list


@pytest.mark.parametrize("known", list(product((False, True), repeat=4)))
def test_the_day_list_tells_the_stage_that_the_case_tells(record: Record, known: tuple[bool, ...]) -> None:
    aimed, signed, operated, reviewed = known
    key = open_case(record)
    with ordinary_act(record) as act:
        if aimed:
            act.put_intent(key, ordinary_intent(), revision=0)
        if signed:
            act.add_signed_plan(key, ordinary_signed_plan())
        if operated:
            act.add_operation(key, ordinary_operation())
        if reviewed:
            act.add_review(key, ordinary_review())
    (line,) = record.listings()
    assert line.stage is record.case(key).stage


def test_an_aim_of_nought_is_an_aim(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_intent(key, Intent(target_refraction_dpt=0.0), revision=0)
    assert record.listings()[0].stage is Stage.PLAN


def test_the_day_list_shows_the_lens_of_the_signed_plan_and_never_of_a_draft(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(lens_power_dpt=25.0), revision=0)
    assert (record.listings()[0].lens_model, record.listings()[0].lens_power_dpt) == (None, None)
    for power_dpt in (20.5, 21.0):
        with ordinary_act(record) as act:
            act.add_signed_plan(key, ordinary_signed_plan(intent=ordinary_intent(lens_power_dpt=power_dpt)))
    (line,) = record.listings()
    assert (line.lens_model, line.lens_power_dpt) == (LENS_NAME, 21.0)


def test_the_day_list_goes_by_day_then_name_then_side_and_ends_with_the_undated(record: Record) -> None:
    late, early = ordinary_patient("p1", name="aurora lake"), ordinary_patient("p2", name="Zeno Hill")
    namesake = ordinary_patient("p0", name="Zeno Hill")
    undated = ordinary_patient("p3", name="Abel Marsh")
    for patient, side, day in (
        (undated, Side.RIGHT, None),
        (early, Side.LEFT, LISTED_ON),
        (early, Side.RIGHT, LISTED_ON),
        (late, Side.RIGHT, NEXT_DAY),
        (namesake, Side.LEFT, NEXT_DAY),
        (late, Side.LEFT, LISTED_ON),
    ):
        open_case(record, patient, side, day)
    assert [line.case_key for line in record.listings()] == [
        "p1-left",
        "p2-right",
        "p2-left",
        "p1-right",
        "p0-left",
        "p3-right",
    ]
    assert [line.case_key for line in record.listings(on=NEXT_DAY)] == ["p1-right", "p0-left"]
    assert [line.case_key for line in record.undated()] == ["p3-right"]
    assert record.days() == ((LISTED_ON, 3), (NEXT_DAY, 2))


def test_a_case_can_be_moved_to_another_day_and_off_the_list(record: Record) -> None:
    key = open_case(record)
    for day in (NEXT_DAY, None):
        with ordinary_act(record) as act:
            act.put_case(key, "demo-0042", Side.RIGHT, day)
        assert record.case(key).listed_on == day
    assert record.listings(on=LISTED_ON) == record.listings(on=NEXT_DAY) == ()
    assert record.days() == ()


def test_reviewed_cases_come_in_order_of_operation(record: Record) -> None:
    for patient, day in (("p1", date(2026, 3, 9)), ("p2", date(2026, 1, 5)), ("p3", date(2026, 2, 2))):
        key = open_case(record, ordinary_patient(patient))
        with ordinary_act(record) as act:
            act.add_operation(key, ordinary_operation(operated_on=day))
            if patient != "p3":
                act.add_review(key, ordinary_review())
    reviewed = record.reviewed_cases()
    assert [case.key for case in reviewed] == ["p2-right", "p1-right"]
    assert reviewed == tuple(record.case(case.key) for case in reviewed)


def test_toric_cases_are_those_whose_latest_operation_has_cylinder_since_a_day(record: Record) -> None:
    since = date(2026, 2, 2)
    for patient, day, cylinders_dpt in (
        ("p1", date(2026, 3, 9), (2.25,)),
        ("p2", since, (1.5,)),
        ("p3", date(2026, 2, 1), (1.5,)),
        ("p4", date(2026, 2, 9), (None,)),
        ("p5", date(2026, 2, 9), (0.0,)),
        ("p6", date(2026, 2, 9), (1.5, None)),
        ("p7", date(2026, 2, 9), (None, 1.5)),
    ):
        key = open_case(record, ordinary_patient(patient))
        for cylinder_dpt in cylinders_dpt:
            with ordinary_act(record) as act:
                act.add_operation(key, ordinary_operation(operated_on=day, lens_cylinder_dpt=cylinder_dpt))
    found = record.toric_cases(since)
    assert [case.key for case in found] == ["p2-right", "p7-right", "p1-right"]
    assert found == tuple(record.case(case.key) for case in found)


# The catalogue, lessons, sources


def test_the_catalogue_is_kept_by_name(record: Record) -> None:
    with ordinary_act(record) as act:
        for name in ("Meadow Two", "Brook", "Meadow One"):
            act.put_lens(ordinary_lens(name))
        act.put_lens(ordinary_lens("Brook", a_constant=119.0))
    assert [lens.name for lens in record.lenses()] == ["Brook", "Meadow One", "Meadow Two"]
    assert record.lens("Brook") == ordinary_lens("Brook", a_constant=119.0)


def test_a_lesson_takes_the_place_of_its_predecessor_only(record: Record) -> None:
    other = ordinary_lesson(method="haigis", constants=(1.3, 0.4, 0.1))
    newer = ordinary_lesson(key="newer", eyes=30)
    for lesson in (ordinary_lesson(), other, newer):
        with ordinary_act(record) as act:
            act.add_lesson(lesson)
    assert record.lessons() == (other, newer)


def test_an_incision_lesson_takes_the_place_of_its_predecessor_only(record: Record) -> None:
    others = (
        ordinary_incision_lesson(place=Place.SUPERIOR),
        ordinary_incision_lesson(width_mm=2.75),
        ordinary_incision_lesson(surgeon="Z. Other"),
    )
    newer = ordinary_incision_lesson(key="newer", eyes=40)
    for lesson in (ordinary_incision_lesson(), *others, newer):
        with ordinary_act(record) as act:
            act.add_incision_lesson(lesson)
    assert record.incision_lessons() == (others[0], newer, others[1], others[2])


def test_a_file_is_remembered_by_its_digest(record: Record) -> None:
    for file in ("eyes.csv", "eyes again.csv"):
        with ordinary_act(record) as act:
            act.add_source("c" * 64, file)
    assert record.has_source("c" * 64)
    assert not record.has_source("d" * 64)


# The trail


def test_every_act_leaves_one_line_in_the_trail(record: Record) -> None:
    noon_in_kathmandu = datetime(2026, 11, 9, 12, 0, 0, 250, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    with record.act(
        who="R. Calder", verb="signs", subject="demo-0042-right", at=noon_in_kathmandu, detail="21.0 D"
    ):
        pass
    (entry,) = record.trail()
    assert (entry.number, entry.who, entry.verb) == (1, "R. Calder", "signs")
    assert (entry.subject, entry.detail) == ("demo-0042-right", "21.0 D")
    assert entry.at == noon_in_kathmandu
    assert entry.at.isoformat() == "2026-11-09T06:15:00.000250+00:00"


def test_the_trail_is_read_newest_first_by_subject_and_within_a_limit(record: Record) -> None:
    for subject in ("a", "b", "a", "a", "b"):
        with ordinary_act(record, subject):
            pass
    assert [entry.number for entry in record.trail()] == [5, 4, 3, 2, 1]
    assert [entry.number for entry in record.trail("a")] == [4, 3, 1]
    assert [entry.number for entry in record.trail("a", limit=2)] == [4, 3]
    assert record.trail(limit=0) == record.trail(limit=-1) == ()


def test_each_line_is_chained_to_the_one_before(record: Record) -> None:
    for subject in ("first", "second", "third: Ångström"):
        with ordinary_act(record, subject):
            pass
    before = ""
    for entry in reversed(record.trail()):
        assert entry.digest == _digest_by_hand(entry, before)
        before = entry.digest
    assert record.broken_trail_entries() == ()


def _digest_by_hand(entry: TrailEntry, before: str) -> str:
    plain = asdict(entry) | {"at": entry.at.astimezone(UTC).isoformat(), "digest": before}
    present = {name: value for name, value in plain.items() if value != ""}
    text = json.dumps(present, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


# Many at once


def test_acts_at_once_lose_nothing(record: Record) -> None:
    def save(worker: int) -> None:
        for turn in range(10):
            open_case(record, ordinary_patient(f"p{worker}-{turn}"))

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(save, range(4)))
    assert len(record.listings()) == 40
    assert [entry.number for entry in record.trail()] == list(range(40, 0, -1))
    assert record.broken_trail_entries() == ()


def test_of_two_who_save_at_once_one_is_told(record: Record) -> None:
    key = open_case(record)

    def save(power_dpt: float) -> str:
        try:
            with ordinary_act(record) as act:
                act.put_intent(key, ordinary_intent(lens_power_dpt=power_dpt), revision=0)
        except ChangedMeanwhileError:
            return "told"
        return "saved"

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(save, (20.0, 21.0))) == ["saved", "told"]
    assert record.case(key).revision == 1
