"""zonule audit against errors computed here, from the published algebra and by bisection alone."""

from __future__ import annotations

import csv
import io
import math
import statistics
from collections.abc import Callable
from pathlib import Path

import pytest

from cli.command import here
from zonule.storage.sql_record import open_record

A_CONSTANT = 118.6
COLUMNS = (
    *("patient_key", "eye", "surgeon", "operated_on", "axial_length_mm", "flat_power_dpt", "steep_power_dpt"),
    *("steep_meridian_deg", "keratometric_index", "anterior_chamber_depth_mm", "biometer", "corneal_surgery"),
    *("lens_model", "a_constant", "lens_power_dpt", "fixation", "complication", "refracted_on"),
    *("sphere_dpt", "cylinder_dpt", "axis_deg", "vertex_mm", "lane_m", "acuity_logmar"),
)
EYES = (
    # axial length, flat K, steep K, lens power, sphere, cylinder
    (23.50, 43.00, 44.00, 20.5, 0.25, -0.50),
    (22.10, 44.25, 45.00, 24.0, -0.75, 0.00),
    (24.95, 42.50, 43.25, 17.0, 0.00, -0.75),
    (23.05, 43.75, 44.50, 22.0, -0.50, -0.25),
    (24.15, 42.00, 42.50, 20.5, 0.50, -1.00),
    (25.65, 42.75, 44.00, 14.5, -1.00, -0.50),
    (21.80, 45.00, 45.75, 23.5, 1.25, -0.50),
)


def srk_t_power_dpt(a: float, length: float, k: float, refraction: float) -> float:
    """Lens power for a refraction at 12 mm (retzlaff-1990, eqs 1 to 13; from memory)."""
    radius = 337.5 / k
    corrected = length if length <= 24.2 else -3.446 + 1.716 * length - 0.0237 * length**2
    width = -5.41 + 0.58412 * corrected + 0.098 * k
    height = radius - math.sqrt(radius**2 - width**2 / 4)
    depth = height + (0.62467 * a - 68.747) - 3.336
    optical = length + 0.65696 - 0.02029 * length
    vertex, aqueous, cornea = 12.0, 1.336, 0.333

    def bracket(distance: float) -> float:
        plain = aqueous * radius - cornea * distance
        return plain - 0.001 * refraction * (vertex * plain + distance * radius)

    return 1000 * aqueous * bracket(optical) / ((optical - depth) * bracket(depth))


def zero(of: Callable[[float], float], low: float, high: float) -> float:
    """Where a monotonic function is nothing, by halving."""
    falls = of(low) > of(high)
    for _ in range(80):
        middle = (low + high) / 2
        if (of(middle) > 0) is falls:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def errors(a: float) -> list[float]:
    """Achieved minus predicted of each eye."""
    found = []
    for length, flat, steep, power, sphere, cylinder in EYES:
        k = (flat + steep) / 2
        predicted = zero(lambda at: srk_t_power_dpt(a, length, k, at) - power, -9, 9)  # noqa: B023 - used at once
        found.append(sphere + cylinder / 2 - predicted)
    return found


def row(number: int, **changes: str) -> dict[str, str]:
    length, flat, steep, power, sphere, cylinder = EYES[number % len(EYES)]
    written = {
        "patient_key": f"audit-{number}",
        "eye": "right" if number % 2 else "left",
        "surgeon": "R. Calder",
        "operated_on": "2026-01-12",
        "axial_length_mm": f"{length}",
        "flat_power_dpt": f"{flat}",
        "steep_power_dpt": f"{steep}",
        "steep_meridian_deg": "90",
        "keratometric_index": "1.3375",
        "anterior_chamber_depth_mm": "3.1",
        "biometer": "Biometer A",
        "corneal_surgery": "none",
        "lens_model": "Meadow One",
        "a_constant": f"{A_CONSTANT}",
        "lens_power_dpt": f"{power}",
        "fixation": "bag",
        "complication": "none",
        "refracted_on": "2026-02-20",
        "sphere_dpt": f"{sphere}",
        "cylinder_dpt": f"{cylinder}",
        "axis_deg": "90" if cylinder else "",
        "vertex_mm": "12",
        "lane_m": "6",
        "acuity_logmar": "0.0",
    }
    return {**written, **changes}


def table(*rows: dict[str, str]) -> bytes:
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


WHOLE = tuple(row(number) for number in range(len(EYES)))


def test_the_summary_of_a_table_is_that_of_errors_computed_by_hand() -> None:
    answer = here("audit", "-", "--json", given=table(*WHOLE))
    assert answer.status == 0, answer.err
    data = answer.data
    assert (data["zonule"], data["eyes"], data["excluded"]) == (1, len(EYES), [])
    (one,) = [one for one in data["methods"] if one["method"] == "srk_t"]
    mine = errors(A_CONSTANT)
    sizes = [abs(error) for error in mine]
    assert one["eyes"] == len(EYES)
    assert one["mean_error_dpt"] == pytest.approx(statistics.mean(mine), abs=2e-3)
    assert one["sd_dpt"] == pytest.approx(statistics.stdev(mine), abs=2e-3)
    assert one["mae_dpt"] == pytest.approx(statistics.mean(sizes), abs=2e-3)
    assert one["median_ae_dpt"] == pytest.approx(statistics.median(sizes), abs=2e-3)
    for limit in ("0.25", "0.50", "0.75", "1.00"):
        assert all(abs(size - float(limit)) > 0.01 for size in sizes), "an error too near a limit to count"
        assert one["within"][limit] == pytest.approx(sum(size <= float(limit) for size in sizes) / len(sizes))


def test_the_constant_it_names_brings_the_mean_error_to_nothing() -> None:
    data = here("audit", "-", "--json", given=table(*WHOLE)).data
    (one,) = [one for one in data["methods"] if one["method"] == "srk_t"]
    mine = zero(lambda a: statistics.mean(errors(a)), 112.0, 125.0)
    assert one["constant_for_zero_mean"] == pytest.approx(mine, abs=5e-3)


def test_a_refraction_at_another_vertex_and_lane_is_brought_to_12_mm_and_6_m() -> None:
    sphere = -3.0
    at_12 = sphere / (1 - 0.002 * sphere)  # from 14 mm: the lens moves 2 mm nearer to the eye
    lane = -1 / 4 + 1 / 6
    plain = here("audit", "-", "--json", given=table(row(1, sphere_dpt="0", cylinder_dpt="0"))).data
    moved = here(
        "audit",
        "-",
        "--json",
        given=table(row(1, sphere_dpt="-3", cylinder_dpt="0", vertex_mm="14", lane_m="4")),
    ).data
    difference = moved["methods"][0]["mean_error_dpt"] - plain["methods"][0]["mean_error_dpt"]
    assert difference == pytest.approx(at_12 + lane, abs=2e-3)


def test_eyes_that_teach_nothing_about_a_formula_are_left_out_with_the_reason() -> None:
    rows = (
        *WHOLE,
        row(10, fixation="sulcus"),
        row(11, complication="capsule_tear"),
        row(12, refracted_on="2026-01-19"),
        row(13, corneal_surgery="myopic_laser"),
        row(14, corneal_surgery=""),
        row(15, axial_length_mm=""),
        row(16, sphere_dpt="", cylinder_dpt="", axis_deg="", vertex_mm="", lane_m=""),
    )
    data = here("audit", "-", "--json", given=table(*rows)).data
    assert data["eyes"] == len(EYES)
    assert sum(one["eyes"] for one in data["excluded"]) == 7
    assert all(one["reason"] for one in data["excluded"])
    (one,) = [one for one in data["methods"] if one["method"] == "srk_t"]
    assert one["mean_error_dpt"] == pytest.approx(statistics.mean(errors(A_CONSTANT)), abs=2e-3)


def test_a_bad_row_is_named_and_the_others_are_counted() -> None:
    answer = here("audit", "-", "--json", given=table(*WHOLE, row(20, axial_length_mm="23.5 mm")))
    assert answer.status == 3
    assert answer.data["eyes"] == len(EYES)
    wheres = [one["where"] for one in answer.data["findings"] if one["severity"] == "blocking"]
    assert any(f"row {len(EYES) + 2}" in where and "axial_length_mm" in where for where in wheres)


def test_the_same_is_said_in_words() -> None:
    said = here("audit", "-", given=table(*WHOLE)).out
    assert said.startswith(f"{len(EYES)} eyes of {len(EYES)} patients count.")
    assert "SRK/T" in said
    assert "achieved minus predicted" in said
    assert here("audit", "-", given=table(row(0))).out.startswith("1 eye of 1 patient counts.")


def test_a_lens_whose_name_looks_like_markup_is_only_a_name() -> None:
    rows = [row(number, lens_model=name) for number, name in enumerate(["[/red]", "[bold]x", "plain"])]
    said = here("audit", "-", given=table(*rows))
    assert said.status == 0, said.err
    assert "[/red]" in said.out
    assert "[bold]x" in said.out


@pytest.mark.parametrize("given", [b"", b"patient_key\n", b"a,b\n1,2\n", b"\x00\xff"])
def test_a_table_that_is_none_is_refused(given: bytes) -> None:
    answer = here("audit", "-", "--json", given=given)
    assert answer.status == 2
    assert answer.err.startswith("zonule: ")
    assert answer.data["findings"]


def test_an_empty_record_is_audited_to_nothing(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    open_record(record).close()
    answer = here("audit", "--record", record, "--json")
    assert (answer.status, answer.data["eyes"], answer.data["methods"]) == (0, 0, [])
