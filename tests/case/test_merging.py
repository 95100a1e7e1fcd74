"""Two accounts of one eye put together."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fakes.examples import (
    MEASURED_ON,
    ordinary_biometry,
    ordinary_eye,
    ordinary_keratometry,
    ordinary_readiness,
)
from zonule.case.biometry import (
    Biometry,
    ChamberFrom,
    Keratometry,
    LengthConvention,
    LensStatus,
    Meridian,
    Method,
)
from zonule.case.eye import CornealSurgery, Eye, History, Look, Readiness
from zonule.case.measured import Measured
from zonule.case.merging import merged
from zonule.case.patient import Side
from zonule.case.refraction import Refraction

LATER, EARLIER = date(2026, 11, 5), date(2024, 3, 1)
NO_CORNEA = Keratometry(flat=Meridian(), steep=Meridian())


def account(biometry: Biometry, history: History | None = None, readiness: Readiness | None = None) -> Eye:
    return Eye(Side.RIGHT, biometry, history or History(), readiness or Readiness())


def cornea_only(on: date = LATER, device: str = "Keratometer B") -> Eye:
    return account(Biometry(ordinary_keratometry(42.0, 43.0), measured_on=on, device=device))


def length_only(on: date = LATER, **changes: object) -> Eye:
    alone = Biometry(NO_CORNEA, axial_length_mm=Measured(24.1), measured_on=on, device="Biometer C")
    return account(replace(alone, **changes))  # type: ignore[arg-type]


def test_the_first_account_is_taken_as_it_is() -> None:
    assert merged(None, cornea_only()) == cornea_only()


def test_a_cornea_and_a_length_from_two_files_make_one_eye() -> None:
    eye = merged(cornea_only(), length_only())
    assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(42.5)
    assert eye.biometry.axial_length_mm is not None
    assert eye.biometry.axial_length_mm.value == 24.1


def test_the_order_of_two_files_does_not_matter_to_the_numbers() -> None:
    one, other = merged(cornea_only(), length_only()), merged(length_only(), cornea_only())
    for eye in (one, other):
        assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(42.5)
        assert eye.biometry.measured("axial_length_mm") is not None


def test_the_same_account_twice_changes_nothing() -> None:
    assert merged(ordinary_eye(), ordinary_eye()) == ordinary_eye()


def test_the_same_number_from_another_file_is_not_a_new_number() -> None:
    known = ordinary_eye(axial_length_mm=Measured(23.5, source="a.csv: row 2"))
    again = ordinary_eye(axial_length_mm=Measured(23.5, source="b.csv: row 9"))
    assert merged(known, again) == known


def test_a_later_measurement_replaces_the_earlier() -> None:
    eye = merged(ordinary_eye(), length_only())
    assert eye.biometry.measured("axial_length_mm") == Measured(24.1)
    assert eye.biometry.measured_on == LATER


def test_an_earlier_measurement_does_not_replace_the_later() -> None:
    eye = merged(ordinary_eye(), length_only(on=EARLIER))
    assert eye.biometry.measured("axial_length_mm") == Measured(23.5)
    assert eye.biometry.measured_on == MEASURED_ON


def test_an_earlier_measurement_fills_what_was_missing_and_keeps_its_day() -> None:
    known = ordinary_eye(lens_thickness_mm=None)
    eye = merged(known, length_only(on=EARLIER, lens_thickness_mm=Measured(4.2)))
    assert eye.biometry.lens_thickness_mm == Measured(4.2, on=EARLIER, device="Biometer C")


def test_a_number_kept_from_another_visit_keeps_its_day_and_device() -> None:
    eye = merged(ordinary_eye(), cornea_only())
    assert eye.biometry.axial_length_mm == Measured(23.5, on=MEASURED_ON, device="Biometer A")
    assert eye.biometry.measured_on == LATER


def test_a_new_length_does_not_borrow_the_method_of_the_old_one() -> None:
    known = ordinary_eye(method=Method.OPTICAL, length_convention=LengthConvention.COMPOSITE)
    eye = merged(known, length_only())
    assert (eye.biometry.method, eye.biometry.length_convention) == (None, None)


def test_a_cornea_alone_leaves_the_length_its_method() -> None:
    eye = merged(ordinary_eye(), cornea_only())
    assert eye.biometry.method is Method.OPTICAL


def test_a_new_depth_does_not_borrow_the_surface_of_the_old_one() -> None:
    known = ordinary_eye(chamber_from=ChamberFrom.EPITHELIUM)
    new = length_only(anterior_chamber_depth_mm=Measured(2.6))
    assert merged(known, new).biometry.chamber_from_epithelium_mm is None


def test_where_a_depth_starts_can_be_added_afterwards() -> None:
    known = ordinary_eye(chamber_from=None)
    added = account(Biometry(NO_CORNEA, chamber_from=ChamberFrom.EPITHELIUM))
    assert merged(known, added).biometry.chamber_from_epithelium_mm == 3.1


def test_an_undated_measurement_does_not_borrow_a_date() -> None:
    undated = length_only(measured_on=None)
    assert merged(ordinary_eye(), undated).biometry.measured_on is None


def test_repeats_go_with_the_value_they_belong_to() -> None:
    known = ordinary_eye(
        repeats={"axial_length_mm": (23.49, 23.51), "flat_power_dpt": (42.9, 43.1)},
    )
    eye = merged(known, length_only())
    assert eye.biometry.repeats == {"flat_power_dpt": (42.9, 43.1)}


def test_what_is_said_of_lens_and_vitreous_is_kept_when_a_file_is_silent() -> None:
    eye = merged(ordinary_eye(lens_status=LensStatus.CLEAR), length_only())
    assert eye.biometry.lens_status is LensStatus.CLEAR


def test_an_eye_file_that_says_no_surgery_does_not_undo_a_laser_on_record() -> None:
    known = ordinary_eye(corneal_surgery=CornealSurgery.MYOPIC_LASER)
    assert merged(known, ordinary_eye()).history.corneal_surgery is CornealSurgery.MYOPIC_LASER


def test_a_silent_file_leaves_history_and_answers_alone() -> None:
    known = ordinary_eye(readiness=ordinary_readiness())
    eye = merged(known, cornea_only())
    assert (eye.history, eye.readiness) == (known.history, known.readiness)


def test_a_file_answers_what_nobody_had_answered() -> None:
    known = account(ordinary_biometry(), readiness=Readiness(macula=Look.DOUBTFUL))
    told = History(CornealSurgery.NONE, Refraction(-2.0))
    new = account(ordinary_biometry(), told, ordinary_readiness())
    eye = merged(known, new)
    assert eye.history == told
    assert (eye.readiness.macula, eye.readiness.fundus) == (Look.DOUBTFUL, Look.GOOD)


def test_newer_glasses_replace_older_ones_and_older_ones_do_not() -> None:
    newer = account(ordinary_biometry(measured_on=LATER), History(glasses=Refraction(-2.0)))
    older = account(ordinary_biometry(measured_on=EARLIER), History(glasses=Refraction(-2.0)))
    assert merged(ordinary_eye(), newer).history.glasses == Refraction(-2.0)
    assert merged(ordinary_eye(), older).history.glasses == ordinary_eye().history.glasses


def readings_of(eye: Eye) -> list[tuple[Any, ...]]:
    return [(one.device, one.measured_on, one.keratometry.mean_k_dpt) for one in eye.biometry.other_corneas]


def test_another_devices_cornea_is_kept_beside_the_one_that_took_its_place() -> None:
    eye = merged(ordinary_eye(), cornea_only())
    assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(42.5)
    assert readings_of(eye) == [("Biometer A", MEASURED_ON, pytest.approx(43.5))]


def test_an_earlier_cornea_of_another_device_is_kept_beside_the_later() -> None:
    known = account(replace(ordinary_biometry(), measured_on=LATER))
    eye = merged(known, cornea_only(on=MEASURED_ON))
    assert eye.biometry.keratometry.mean_k_dpt == pytest.approx(43.5)
    assert readings_of(eye) == [("Keratometer B", MEASURED_ON, pytest.approx(42.5))]


def test_the_same_device_again_replaces_its_own_reading() -> None:
    assert readings_of(merged(ordinary_eye(), cornea_only(device="biometer  A"))) == []
    twice = merged(merged(ordinary_eye(), cornea_only()), cornea_only())
    assert readings_of(twice) == [("Biometer A", MEASURED_ON, pytest.approx(43.5))]


def test_of_each_other_device_the_latest_reading_is_kept() -> None:
    eye = ordinary_eye()
    for on, device in ((date(2026, 10, 9), "C"), (date(2026, 10, 20), "C"), (LATER, "D")):
        eye = merged(eye, cornea_only(on=on, device=device))
    assert [(name, on) for name, on, _ in readings_of(eye)] == [
        ("C", date(2026, 10, 20)),
        ("Biometer A", MEASURED_ON),
    ]


def test_a_cornea_of_another_time_is_not_compared() -> None:
    assert readings_of(merged(ordinary_eye(), cornea_only(on=EARLIER))) == []


def test_a_cornea_by_a_nameless_device_cannot_be_told_from_another() -> None:
    assert readings_of(merged(ordinary_eye(), cornea_only(device=""))) == []


def test_a_length_alone_leaves_the_other_readings_of_the_cornea() -> None:
    eye = merged(merged(ordinary_eye(), cornea_only()), length_only())
    assert [name for name, _, _ in readings_of(eye)] == ["Biometer A"]


def test_an_eye_with_two_readings_told_twice_is_the_same_eye() -> None:
    eye = merged(ordinary_eye(), cornea_only())
    assert merged(eye, eye) == eye


def test_the_meridian_of_the_back_goes_with_its_radius() -> None:
    known = ordinary_eye(posterior_steep_radius_mm=6.2, posterior_steep_meridian_deg=85.0)
    assert merged(known, cornea_only()).biometry.posterior_steep_meridian_deg == 85.0
    new = length_only(posterior_steep_radius_mm=Measured(6.3))
    assert merged(known, new).biometry.posterior_steep_meridian_deg is None
