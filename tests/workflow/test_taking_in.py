"""Take in what devices measured, and ask what they cannot know."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import (
    LENS_NAME,
    SURGEON,
    ordinary_eye,
    ordinary_history,
    ordinary_keratometry,
    ordinary_lens,
    ordinary_patient,
    ordinary_readiness,
)
from fakes.memory_record import MemoryRecord
from workflow.clinic import INTENT, KEY, NOW, TODAY, clean_eye, clinic
from zonule.case.biometry import Biometry, Keratometry, Meridian
from zonule.case.eye import ContactLens, CornealSurgery, Eye, History, Look
from zonule.case.finding import Finding, Severity
from zonule.case.intake import IncomingEye, Intake
from zonule.case.measured import Measured
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent
from zonule.case.refraction import Refraction
from zonule.errors import ChangedMeanwhileError, OutOfRangeError, StorageError
from zonule.workflow.measure import answer, take_in, trust
from zonule.workflow.ports import Act

NO_CORNEA = Keratometry(flat=Meridian(), steep=Meridian())
LEFT_KEY = "demo-0042-left"
LATER = date(2026, 11, 9)


def incoming(
    eye: Eye | None = None, patient: Patient | None = None, row: int = 2, **more: Any
) -> IncomingEye:
    return IncomingEye(patient or ordinary_patient(), eye or ordinary_eye(), f"row {row}", **more)


def intake(*eyes: IncomingEye, file: str = "week.csv", findings: tuple[Finding, ...] = ()) -> Intake:
    return Intake(file, f"digest of {file}", eyes, findings)


def other_eye(**changes: Any) -> Eye:
    return ordinary_eye(Side.LEFT, **{"axial_length_mm": 23.45, "flat_power_dpt": 43.1} | changes)


def cornea_only() -> Eye:
    return Eye(
        Side.RIGHT, Biometry(ordinary_keratometry(42.0, 43.0), measured_on=LATER, device="Keratometer B")
    )


def length_only(length_mm: float = 24.1) -> Eye:
    return Eye(Side.RIGHT, Biometry(NO_CORNEA, axial_length_mm=Measured(length_mm), measured_on=LATER))


def taken_in(record: MemoryRecord, *eyes: IncomingEye, file: str = "week.csv") -> Any:
    return take_in(record, intake(*eyes, file=file), who="Clerk", now=NOW)


def test_two_eyes_become_two_cases_and_one_line_in_the_trail() -> None:
    record = MemoryRecord()
    report = taken_in(record, incoming(listed_on=TODAY), incoming(other_eye(), row=3))
    assert report.added == (KEY, LEFT_KEY)
    assert (report.unchanged, report.already_imported) == ((), False)
    assert (record.case(KEY).listed_on, record.case(KEY).fellow) == (TODAY, other_eye())
    assert [(entry.verb, entry.who, entry.subject) for entry in record.trail()] == [
        ("import", "Clerk", "week.csv")
    ]


def test_the_same_file_a_second_time_adds_nothing() -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    before = (record.case(KEY), record.trail())
    report = taken_in(record, incoming())
    assert (report.added, report.unchanged, report.already_imported) == ((), (), True)
    assert the_one(report.findings, "already-imported").severity is Severity.NOTE
    assert (record.case(KEY), record.trail()) == before


def test_the_same_eye_in_another_file_is_unchanged() -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    report = taken_in(record, incoming(), file="again.csv")
    assert (report.added, report.unchanged) == ((), (KEY,))


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_keratometry_file_and_a_length_file_make_one_eye(order: tuple[int, int]) -> None:
    record = MemoryRecord()
    files = (incoming(cornea_only()), incoming(length_only()))
    for number in order:
        taken_in(record, files[number], file=f"{number}.csv")
    biometry = record.case(KEY).eye.biometry
    assert biometry.keratometry.mean_k_dpt == pytest.approx(42.5)
    assert biometry.axial_length_mm is not None
    assert biometry.axial_length_mm.value == 24.1


def test_two_rows_of_one_file_make_one_eye() -> None:
    record = MemoryRecord()
    report = taken_in(record, incoming(cornea_only(), row=2), incoming(length_only(), row=3))
    assert report.added == (KEY,)
    biometry = record.case(KEY).eye.biometry
    assert biometry.axial_length_mm is not None
    assert biometry.keratometry.mean_k_dpt == pytest.approx(42.5)
    assert "axial-length-missing" not in codes(report.findings)
    assert "cornea-missing" not in codes(report.findings)


def test_the_doubts_are_those_of_the_eye_as_it_stands_on_record() -> None:
    record = MemoryRecord()
    first = taken_in(record, incoming(cornea_only()))
    assert "axial-length-missing" in codes(first.findings)
    second = taken_in(record, incoming(length_only()), file="lengths.csv")
    assert "axial-length-missing" not in codes(second.findings)


@pytest.mark.parametrize(
    ("changes", "word"),
    [({"name": "Ben Alder"}, "name"), ({"born_on": date(1950, 1, 1)}, "date of birth")],
)
def test_another_person_under_the_same_key_is_refused_and_the_other_rows_are_kept(
    changes: dict[str, Any], word: str
) -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    stranger = incoming(ordinary_eye(axial_length_mm=26.0), ordinary_patient(**changes), row=7)
    neighbour = incoming(ordinary_eye(), ordinary_patient("demo-0043", name="Ida Fenn"), row=8)
    report = taken_in(record, stranger, neighbour, file="next.csv")
    finding = the_one(report.findings, "another-person")
    assert finding.severity is Severity.BLOCKING
    assert finding.where == "next.csv, row 7"
    assert f"another {word}" in finding.sentence
    assert report.added == ("demo-0043-right",)
    assert record.case(KEY).eye == ordinary_eye()
    assert record.patient("demo-0042") == ordinary_patient()


def test_two_people_under_one_key_in_one_file_are_told_apart() -> None:
    record = MemoryRecord()
    stranger = incoming(other_eye(), ordinary_patient(name="Ben Alder"), row=3)
    report = taken_in(record, incoming(row=2), stranger)
    assert the_one(report.findings, "another-person").where == "week.csv, row 3"
    assert report.added == (KEY,)
    assert record.patient("demo-0042") == ordinary_patient()


@pytest.mark.parametrize("name", ["WINTERBOURNE, Ada", "Ada  Winterbourne", "Winterbourne^Ada"])
def test_one_name_written_otherwise_is_the_same_person(name: str) -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    report = taken_in(record, incoming(other_eye(), ordinary_patient(name=name)), file="next.csv")
    assert "another-person" not in codes(report.findings)


def test_a_file_without_names_does_not_take_the_name_away() -> None:
    record = MemoryRecord()
    nameless = Patient("demo-0042")
    taken_in(record, incoming(), incoming(other_eye(), nameless, row=3))
    assert record.patient("demo-0042") == ordinary_patient()


def test_an_older_file_does_not_replace_a_newer_measurement_and_says_so() -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    old = incoming(ordinary_eye(axial_length_mm=23.2, measured_on=date(2025, 1, 9)))
    report = taken_in(record, old, file="old.csv")
    finding = the_one(report.findings, "older-than-record")
    assert (finding.severity, finding.where) == (
        Severity.WARNING,
        "old.csv, row 2, biometry.measured_on",
    )
    assert record.case(KEY).eye.biometry.measured("axial_length_mm") == Measured(23.5)


def test_two_lengths_of_one_eye_from_one_day_are_told() -> None:
    record = MemoryRecord()
    report = taken_in(record, incoming(length_only(24.1), row=2), incoming(length_only(23.1), row=3))
    finding = the_one(report.findings, "told-twice-differently")
    assert (finding.severity, finding.where) == (Severity.WARNING, "week.csv, row 3, biometry")
    assert "axial length" in finding.sentence


def test_a_file_that_contradicts_the_history_is_told_and_the_record_kept() -> None:
    record = MemoryRecord()
    taken_in(record, incoming(ordinary_eye(corneal_surgery=CornealSurgery.MYOPIC_LASER)))
    report = taken_in(record, incoming(ordinary_eye()), file="next.csv")
    finding = the_one(report.findings, "corneal-surgery-differs")
    assert "no surgery" in finding.sentence
    assert "myopic laser" in finding.sentence
    assert record.case(KEY).eye.history.corneal_surgery is CornealSurgery.MYOPIC_LASER


def test_each_doubt_names_file_row_and_field() -> None:
    report = taken_in(MemoryRecord(), incoming(ordinary_eye(axial_length_mm=27.0), row=12))
    assert the_one(report.findings, "second-look").where == "week.csv, row 12, biometry.axial_length_mm"


def test_findings_of_the_reading_are_passed_on() -> None:
    told = Finding(Severity.BLOCKING, "unreadable-row", "Row 5 has a comma too many.", "week.csv, row 5")
    report = take_in(MemoryRecord(), intake(incoming(), findings=(told,)), who="Clerk", now=NOW)
    assert told in report.findings
    assert report.added == (KEY,)


def test_a_clean_pair_of_eyes_is_taken_in_without_a_word() -> None:
    assert taken_in(MemoryRecord(), incoming(), incoming(other_eye(), row=3)).findings == ()


def test_a_target_and_a_lens_in_the_file_begin_the_draft() -> None:
    record = clinic_without_cases()
    taken_in(record, incoming(target_refraction_dpt=-0.25, lens_model=LENS_NAME))
    assert record.case(KEY).intent == Intent(lens_model=LENS_NAME, target_refraction_dpt=-0.25)


def test_a_later_file_begins_a_draft_that_nobody_has_begun() -> None:
    record = clinic_without_cases()
    taken_in(record, incoming(cornea_only()))
    taken_in(record, incoming(length_only(), target_refraction_dpt=-0.25), file="lengths.csv")
    assert record.case(KEY).intent.target_refraction_dpt == -0.25


def test_a_file_does_not_overwrite_what_the_surgeon_drafted() -> None:
    record = clinic()
    taken_in(record, incoming(clean_eye(axial_length_mm=24.2), target_refraction_dpt=-2.0))
    assert record.case(KEY).intent == INTENT


def test_a_lens_that_the_catalogue_does_not_know_is_named_and_not_chosen() -> None:
    record = clinic_without_cases()
    report = taken_in(record, incoming(lens_model="Unheard Of", target_refraction_dpt=0.0))
    assert the_one(report.findings, "lens-unknown").where == "week.csv, row 2, lens_model"
    assert record.case(KEY).intent == Intent(target_refraction_dpt=0.0)


def clinic_without_cases() -> MemoryRecord:
    record = MemoryRecord()
    with record.act(who=SURGEON, verb="fill", subject="catalogue", at=NOW) as act:
        act.put_lens(ordinary_lens())
    return record


class FailingAct:
    """An act whose second eye cannot be written."""

    def __init__(self, act: Act) -> None:
        self._act = act
        self._eyes = 0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._act, name)

    def put_eye(self, patient_key: str, eye: Eye) -> bool:
        self._eyes += 1
        if self._eyes == 2:
            raise StorageError("The disk is full.")
        return self._act.put_eye(patient_key, eye)


class FailingRecord(MemoryRecord):
    """A record that fails in the middle of an act."""

    @contextmanager
    def act(self, **how: Any) -> Iterator[Act]:
        with super().act(**how) as act:
            yield FailingAct(act)


def test_nothing_is_half_saved_when_the_record_fails_in_the_middle() -> None:
    record = FailingRecord()
    with pytest.raises(StorageError, match="disk is full"):
        taken_in(record, incoming(), incoming(other_eye(), row=3))
    assert record.listings() == ()
    assert record.patient("demo-0042") is None
    assert record.eye("demo-0042", Side.RIGHT) is None
    assert record.trail() == ()
    assert not record.has_source("digest of week.csv")


# --- answers ----------------------------------------------------------------------------------------------


def answered(record: MemoryRecord, revision: int, **changes: Any) -> int:
    history = changes.pop("history", ordinary_history())
    readiness = ordinary_readiness(answered_on=None, **changes)
    return answer(record, KEY, history=history, readiness=readiness, revision=revision, who=SURGEON, now=NOW)


def test_answers_are_dated_and_kept_with_the_measurements() -> None:
    record = clinic(ordinary_eye())
    before = record.case(KEY)
    revision = answered(record, before.revision, macula=Look.DOUBTFUL)
    case = record.case(KEY)
    assert case.revision == revision
    assert (case.eye.readiness.macula, case.eye.readiness.answered_on) == (Look.DOUBTFUL, TODAY)
    assert case.eye.biometry == before.eye.biometry
    assert '"macula":"doubtful"' in record.trail(KEY)[0].detail


def test_answers_to_a_page_that_went_stale_are_refused() -> None:
    record = clinic(ordinary_eye())
    stale = record.case(KEY).revision
    answered(record, stale)
    with pytest.raises(ChangedMeanwhileError):
        answered(record, stale, macula=Look.DOUBTFUL)
    assert record.case(KEY).eye.readiness.macula is Look.GOOD


def test_what_can_be_trusted_is_told_gravest_first() -> None:
    record = clinic(ordinary_eye(axial_length_mm=27.0, flat_power_dpt=44.0, steep_power_dpt=43.0))
    found = trust(record.case(KEY), TODAY)
    assert found[0].severity is Severity.BLOCKING
    assert {"flat-steep-swapped", "second-look", "lengths-differ", "readiness-unanswered"} <= codes(found)
    assert trust(clinic().case(KEY), TODAY) == ()


def test_a_case_taken_in_can_be_trusted_as_its_findings_say() -> None:
    record = MemoryRecord()
    taken_in(record, incoming(replace(ordinary_eye(), readiness=ordinary_readiness())))
    assert codes(trust(record.case(KEY), TODAY)) == {"fellow-eye-missing"}


@pytest.mark.parametrize(
    "glasses",
    [
        Refraction(500.0),
        Refraction(0.0, -60.0, 90.0),
        Refraction(0.0, -0.5, 720.0),
        Refraction(0.5, vertex_mm=-12.0),
    ],
)
def test_glasses_that_cannot_be_are_not_recorded(glasses: Refraction) -> None:
    record = clinic()
    with pytest.raises(OutOfRangeError):
        answered(record, record.case(KEY).revision, history=History(CornealSurgery.NONE, glasses))


def test_contact_lenses_cannot_have_been_out_for_less_than_no_time() -> None:
    record = clinic()
    worn = {"contact_lens": ContactLens.SOFT, "contact_lens_out_days": -3.0}
    with pytest.raises(OutOfRangeError, match="without contact lenses"):
        answered(record, record.case(KEY).revision, **worn)


def test_a_second_device_is_compared_with_the_first_and_the_first_is_kept() -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    report = taken_in(record, incoming(cornea_only()), file="second.csv")
    finding = the_one(report.findings, "devices-differ-in-power")
    assert finding.where == "second.csv, row 2, biometry.other_corneas.0"
    (kept,) = record.case(KEY).eye.biometry.other_corneas
    assert kept.device == "Biometer A"
    assert kept.keratometry.mean_k_dpt == pytest.approx(43.5)
    assert "told-twice-differently" not in codes(report.findings)


def test_two_devices_of_one_day_do_not_contradict_each_other_as_one_would() -> None:
    record = MemoryRecord()
    taken_in(record, incoming(cornea_only()))
    again = replace(cornea_only().biometry, keratometry=ordinary_keratometry(43.0, 44.0))
    one_device = taken_in(record, incoming(Eye(Side.RIGHT, again)), file="same.csv")
    assert "told-twice-differently" in codes(one_device.findings)
    other = replace(again, keratometry=ordinary_keratometry(43.1, 44.0), device="Keratometer C")
    two_devices = taken_in(record, incoming(Eye(Side.RIGHT, other)), file="other.csv")
    assert "told-twice-differently" not in codes(two_devices.findings)


def test_a_second_device_of_another_time_is_not_dropped_without_a_word() -> None:
    record = MemoryRecord()
    taken_in(record, incoming())
    old = replace(cornea_only().biometry, measured_on=date(2026, 6, 1))
    report = taken_in(record, incoming(Eye(Side.RIGHT, old)), file="old.csv")
    finding = the_one(report.findings, "cornea-not-compared")
    assert "Keratometer B" in finding.sentence
    assert record.case(KEY).eye.biometry.other_corneas == ()


def test_strong_glasses_that_a_file_may_bring_can_be_typed_as_well() -> None:
    record = clinic()
    case = record.case(KEY)
    answer(
        record,
        KEY,
        history=ordinary_history(glasses=Refraction(-28.0, -11.0, 90.0)),
        readiness=ordinary_readiness(),
        revision=case.revision,
        who="Clerk",
        now=NOW,
    )
    assert record.case(KEY).eye.history.glasses == Refraction(-28.0, -11.0, 90.0)
