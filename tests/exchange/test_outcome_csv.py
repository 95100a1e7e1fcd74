"""The outcome table, one row an operated eye."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange.documents import UNTIMED, codes, places, table
from zonule.case.eye import CornealSurgery
from zonule.case.operation import Complication, Fixation
from zonule.case.outcome import OutcomeRow
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.errors import ExchangeError
from zonule.exchange.outcome_csv import COLUMNS, read_outcome_csv

ROW = {
    "patient_key": "audit-1",
    "eye": "left",
    "surgeon": "R. Calder",
    "operated_on": "2026-03-02",
    "axial_length_mm": "23.5",
    "flat_power_dpt": "43.0",
    "steep_power_dpt": "44.0",
    "steep_meridian_deg": "95",
    "keratometric_index": "1.3375",
    "anterior_chamber_depth_mm": "3.1",
    "biometer": "Biometer A",
    "corneal_surgery": "none",
    "lens_model": "Meadow One",
    "a_constant": "118.4",
    "lens_power_dpt": "21.0",
    "fixation": "bag",
    "complication": "none",
    "refracted_on": "2026-04-06",
    "sphere_dpt": "0.25",
    "cylinder_dpt": "-0.5",
    "axis_deg": "180",
    "vertex_mm": "12",
    "lane_m": "6",
    "acuity_logmar": "0.0",
}


def outcome(**changes: str) -> dict[str, str]:
    return {**ROW, **changes}


def read(*rows: dict[str, str]) -> tuple[tuple[OutcomeRow, ...], set[str]]:
    taken, findings = read_outcome_csv(table(*rows), file="audit.csv")
    return taken, places(findings)


def test_a_row_is_read_in_all_its_columns() -> None:
    assert set(ROW) == set(COLUMNS)
    (one,), found = read(outcome())
    assert found == set()
    assert one == OutcomeRow(
        patient_key="audit-1",
        eye=Side.LEFT,
        surgeon="R. Calder",
        operated_on=date(2026, 3, 2),
        axial_length_mm=23.5,
        flat_power_dpt=43.0,
        steep_power_dpt=44.0,
        steep_meridian_deg=95.0,
        keratometric_index=1.3375,
        anterior_chamber_depth_mm=3.1,
        biometer="Biometer A",
        corneal_surgery=CornealSurgery.NONE,
        lens_model="Meadow One",
        a_constant=118.4,
        lens_power_dpt=21.0,
        fixation=Fixation.BAG,
        complication=Complication.NONE,
        refracted_on=date(2026, 4, 6),
        refraction=Refraction(0.25, -0.5, 180.0, 12.0, 6.0),
        acuity_logmar=0.0,
        row=2,
    )
    assert one.days_after == 35
    assert one.mean_k_dpt == pytest.approx(43.5)


def test_an_optional_cell_left_empty_is_absent() -> None:
    (one,), found = read({"patient_key": "audit-1", "eye": "right"})
    assert found == set()
    assert (one.operated_on, one.axial_length_mm, one.fixation, one.refraction) == (None, None, None, None)
    assert one.corneal_surgery is CornealSurgery.UNKNOWN
    assert (one.days_after, one.mean_k_dpt) == (None, None)


def test_mean_k_is_told_on_the_1_3375_scale() -> None:
    (one,), _ = read(outcome(keratometric_index="1.332"))
    assert one.mean_k_dpt == pytest.approx(43.5 * 0.3375 / 0.332)


def test_powers_without_an_index_make_no_mean_k() -> None:
    (one,), _ = read(outcome(keratometric_index=""))
    assert one.mean_k_dpt is None


@pytest.mark.parametrize(
    ("cells", "field"),
    [
        ({"eye": "OS"}, "eye"),
        ({"patient_key": ""}, "patient_key"),
        ({"refracted_on": "2026-03-01"}, "refracted_on"),
        ({"lens_power_dpt": "21 D"}, "lens_power_dpt"),
        ({"lane_m": "0"}, "lane_m"),
        ({"cylinder_dpt": "-75"}, "cylinder_dpt"),
        ({"axis_deg": ""}, "sphere_dpt"),
        ({"fixation": "capsule"}, "fixation"),
        ({"keratometric_index": "1"}, "keratometric_index"),
        ({"steep_meridian_deg": "181"}, "steep_meridian_deg"),
    ],
)
def test_a_bad_cell_costs_its_row_and_no_other(cells: dict[str, str], field: str) -> None:
    taken, found = read(outcome(**cells), outcome(patient_key="audit-2"))
    assert [one.patient_key for one in taken] == ["audit-2"]
    assert found == {f"audit.csv, row 2, {field}"}


def test_an_eye_that_stands_twice_counts_not_at_all() -> None:
    taken, found = read(outcome(), outcome(patient_key="audit-2"), outcome(sphere_dpt="-1"))
    assert [one.patient_key for one in taken] == ["audit-2"]
    assert found == {"audit.csv, row 2, eye", "audit.csv, row 4, eye"}


def test_decimal_commas_are_read_between_semicolons() -> None:
    cells = {name: cell.replace(".", ",") if name != "surgeon" else cell for name, cell in ROW.items()}
    taken, findings = read_outcome_csv(table(cells, delimiter=";"), file="audit.csv")
    assert taken == read(outcome())[0]
    assert codes(findings) == {"semicolons"}


@UNTIMED
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        read_outcome_csv(data, file="any")
    except ExchangeError as error:
        assert str(error)  # noqa: PT017 - being readable is what is asked of the refusal
