"""zonule review: the published arithmetic of turning a lens, the advice, and what is refused."""

from __future__ import annotations

import json
from cmath import exp, pi
from pathlib import Path
from typing import Any

import pytest

from cli.command import here

EXAMPLE = Path(__file__).parents[2] / "examples" / "reviews" / "turned-lens.json"


def answer(tmp_path: Path, status: int = 0, **keys: Any) -> dict[str, Any]:
    """The answer to a review file with these keys in place of the usual ones."""
    asked: dict[str, Any] = {
        "zonule": 1,
        "eye": "right",
        "refraction": {"sphere_dpt": 1.0, "cylinder_dpt": -2.0, "axis_deg": 140, "vertex_mm": 0, "lane_m": 6},
        "operated_on": "2026-11-02",
        "refracted_on": "2026-11-12",
        "lens": {"cylinder_at_cornea_dpt": 2.6, "meridian_deg": 10},
        "plan": {"target_refraction_dpt": 0.0},
    }
    file = tmp_path / "review.json"
    wanted = {name: value for name, value in (asked | keys).items() if value is not None}
    file.write_text(json.dumps(wanted), encoding="utf-8")
    told = here("review", file, "--json")
    assert told.status == status, told.out + told.err
    read: dict[str, Any] = json.loads(told.out)
    return read


def refraction(sphere: float, cylinder: float, axis: float, **more: Any) -> dict[str, Any]:
    return {
        "sphere_dpt": sphere,
        "cylinder_dpt": cylinder,
        "axis_deg": axis,
        "vertex_mm": 0,
        "lane_m": 6,
    } | more


def lens(cylinder: float, meridian: float) -> dict[str, Any]:
    return {"cylinder_at_cornea_dpt": cylinder, "meridian_deg": meridian}


@pytest.mark.parametrize(
    ("written", "cylinder", "meridian", "to_correct", "best", "turn", "left", "then", "advice"),
    [
        ((0.347, -0.695, 140), 2.00, 100, (2.000, 90.0), 90.0, -10.0, 0.00, None, "rotate"),
        ((0.50, -1.00, 40), 2.00, 95, (2.524, 105.9), 105.9, 10.9, 0.52, (0.26, 15.9), "do_not_rotate"),
        ((0.25, -1.50, 30), 2.00, 80, (2.700, 96.6), 96.6, 16.6, 0.70, (-0.15, 6.6), "rotate"),
        ((1.00, -2.00, 140), 2.60, 10, (3.545, 26.9), 26.9, 16.9, 0.94, (0.47, 116.9), "rotate"),
        ((0.50, -1.25, 165), 2.06, 85, (3.263, 81.2), 81.2, -3.8, 1.20, None, "do_not_rotate"),
    ],
)
def test_the_five_worked_turns_come_out(
    tmp_path: Path,
    written: tuple[float, float, float],
    cylinder: float,
    meridian: float,
    to_correct: tuple[float, float],
    best: float,
    turn: float,
    left: float,
    then: tuple[float, float] | None,
    advice: str,
) -> None:
    """Crossed-cylinder algebra at the corneal plane (holladay-1998), worked by hand for each row."""
    found = answer(tmp_path, refraction=refraction(*written), lens=lens(cylinder, meridian))
    assert found["to_correct"]["magnitude_dpt"] == pytest.approx(to_correct[0], abs=1e-3)
    assert found["to_correct"]["steep_meridian_deg"] == pytest.approx(to_correct[1], abs=0.06)
    assert found["best_meridian_deg"] == pytest.approx(best, abs=0.06)
    assert found["rotate_deg"] == pytest.approx(turn, abs=0.06)
    assert found["cylinder_now_dpt"] == pytest.approx(-written[1], abs=1e-9)
    assert found["cylinder_after_dpt"] == pytest.approx(left, abs=6e-3)
    assert found["advice"] == advice
    if then is not None:
        at_cornea = found["refraction_after_at_cornea"]
        assert at_cornea["sphere_dpt"] == pytest.approx(then[0], abs=6e-3)
        assert at_cornea["cylinder_dpt"] == pytest.approx(-left, abs=6e-3)
        assert at_cornea["axis_deg"] == pytest.approx(then[1], abs=0.06)


def test_a_good_gain_is_advised_within_the_window(tmp_path: Path) -> None:
    found = answer(tmp_path)
    assert (found["advice"], found["because"]) == ("rotate", [])
    assert "7 to 21 days" in found["sentence"]


def test_a_small_gain_is_advised_against(tmp_path: Path) -> None:
    found = answer(tmp_path, refraction=refraction(0.5, -1.25, 165), lens=lens(2.06, 85))
    assert (found["advice"], found["because"]) == ("do_not_rotate", ["small_gain"])
    assert found["gain_dpt"] == pytest.approx(0.05, abs=6e-3)


def test_a_sphere_that_is_off_is_advised_against(tmp_path: Path) -> None:
    found = answer(tmp_path, refraction=refraction(2.0, -2.0, 140))
    assert (found["advice"], found["because"]) == ("do_not_rotate", ["sphere"])
    aimed = answer(tmp_path, refraction=refraction(2.0, -2.0, 140), plan={"target_refraction_dpt": 1.0})
    assert aimed["advice"] == "rotate"


def test_before_a_week_it_waits_and_after_three_the_bag_is_named(tmp_path: Path) -> None:
    early = answer(tmp_path, refracted_on="2026-11-05")
    assert (early["advice"], early["because"], early["days_after"]) == ("wait", ["too_early"], 3)
    late = answer(tmp_path, refracted_on="2026-12-20")
    assert late["advice"] == "rotate"
    assert "bag-may-hold" in {one["code"] for one in late["findings"]}


def test_the_causes_add_up_to_what_is_left(tmp_path: Path) -> None:
    plan = {
        "corneal": {"magnitude_dpt": 3.4, "steep_meridian_deg": 25},
        "lens_meridian_deg": 25,
        "incision": {"meridian_deg": 180, "flattening_dpt": 0.1},
    }
    cornea = {
        "flat_power_dpt": 42.0,
        "steep_power_dpt": 45.0,
        "steep_meridian_deg": 25,
        "keratometric_index": 1.3375,
    }
    after = cornea | {"steep_power_dpt": 45.4}
    found = answer(tmp_path, plan=plan, keratometry_before=cornea, keratometry_after=after)
    assert [one["cause"] for one in found["causes"]] == ["planned", "turned", "incision", "rest"]
    total = sum(one["magnitude_dpt"] * complex_at(one["steep_meridian_deg"]) for one in found["causes"])
    assert total == pytest.approx(2.0 * complex_at(50.0), abs=1e-9)


def complex_at(meridian: float) -> complex:
    return exp(2j * pi * meridian / 180.0)


def test_the_sweep_goes_all_round_and_holds_the_present_and_the_best(tmp_path: Path) -> None:
    sweep = answer(tmp_path)["sweep"]
    by_meridian = {one["lens_meridian_deg"]: one["cylinder_dpt"] for one in sweep}
    assert list(by_meridian) == [float(degree) for degree in range(1, 181)]
    assert by_meridian[10.0] == pytest.approx(2.0, abs=1e-9)
    assert min(by_meridian, key=lambda one: by_meridian[one]) == 27.0


def test_axis_0_is_180_and_a_vertex_that_is_missing_is_said(tmp_path: Path) -> None:
    found = answer(
        tmp_path,
        refraction={"sphere_dpt": 0.5, "cylinder_dpt": -1.0, "axis_deg": 0},
        lens=lens(2.0, 0),
    )
    assert {"vertex-not-given", "lane-missing"} <= {one["code"] for one in found["findings"]}
    same = answer(
        tmp_path,
        refraction={"sphere_dpt": 0.5, "cylinder_dpt": -1.0, "axis_deg": 180, "vertex_mm": 12},
        lens=lens(2.0, 180),
    )
    assert found["cylinder_after_dpt"] == pytest.approx(same["cylinder_after_dpt"], abs=1e-12)


def test_plus_and_minus_cylinder_give_one_answer(tmp_path: Path) -> None:
    minus = answer(tmp_path, refraction=refraction(0.5, -1.0, 40))
    plus = answer(tmp_path, refraction=refraction(-0.5, 1.0, 130))
    assert minus["rotate_deg"] == pytest.approx(plus["rotate_deg"], abs=1e-9)


def test_a_cylinder_told_at_the_cornea_by_its_plane_is_taken(tmp_path: Path) -> None:
    told = answer(tmp_path, lens={"cylinder_dpt": 2.6, "plane": "cornea", "meridian_deg": 10})
    assert told["rotate_deg"] == answer(tmp_path)["rotate_deg"]


def test_without_a_plan_it_says_what_a_turn_can_take_away_and_what_it_cannot(tmp_path: Path) -> None:
    found = answer(tmp_path)
    assert [one["cause"] for one in found["causes"]] == ["place", "strength"]
    total = sum(one["magnitude_dpt"] * complex_at(one["steep_meridian_deg"]) for one in found["causes"])
    assert total == pytest.approx(2.0 * complex_at(50.0), abs=1e-9)
    assert found["causes"][1]["magnitude_dpt"] == pytest.approx(found["cylinder_after_dpt"], abs=1e-9)
    assert found["lens_too_weak_by_dpt"] == pytest.approx(0.945, abs=1e-3)
    assert {"plan-not-given", "lens-does-not-match"} <= {one["code"] for one in found["findings"]}


@pytest.mark.parametrize("vertex", [0, 12, 14])
@pytest.mark.parametrize("sphere", [0.25, 1.25])
def test_half_a_dioptre_of_sphere_is_judged_alike_at_every_plane(
    tmp_path: Path, sphere: float, vertex: float
) -> None:
    """Written spherical equivalents of -0.50 and +0.50 D; moved to 12 mm they are a little more or less."""
    written = refraction(sphere, -1.5, 30, vertex_mm=vertex)
    assert answer(tmp_path, refraction=written, lens=lens(2.0, 80))["because"] == []


def test_the_sphere_is_judged_at_6_m(tmp_path: Path) -> None:
    """A lane of 2 m adds a third of a dioptre: -0.37 D in it are -0.70 D at 6 m."""
    near = answer(tmp_path, refraction=refraction(0.63, -2.0, 140, lane_m=2))
    assert near["because"] == ["sphere"]
    assert near["equivalent_off_aim_dpt"] == pytest.approx(-0.70, abs=0.03)
    assert answer(tmp_path, refraction=refraction(0.63, -2.0, 140))["because"] == []


def test_a_gain_that_few_would_have_is_doubted(tmp_path: Path) -> None:
    found = answer(tmp_path, refraction=refraction(0.347, -0.695, 140), lens=lens(2.0, 100))
    assert found["advice"] == "rotate"
    assert found["odds"]["gains_0_50"] < 0.5
    assert "gain-unlikely" in {one["code"] for one in found["findings"]}


def test_a_cylinder_that_nothing_explains_asks_for_another_look(tmp_path: Path) -> None:
    plan = {"corneal": {"magnitude_dpt": 1.0, "steep_meridian_deg": 100}, "lens_meridian_deg": 12}
    assert "cylinder-unexplained" in {one["code"] for one in answer(tmp_path, plan=plan)["findings"]}


def test_no_answer_holds_a_null_or_a_number_that_is_none(tmp_path: Path) -> None:
    read = json.dumps(answer(tmp_path, operated_on=None, plan=None))
    assert "null" not in read
    assert "NaN" not in read


def test_marks_seen_where_a_slip_would_put_them_are_asked_about(tmp_path: Path) -> None:
    planned = {"corneal": {"magnitude_dpt": 2.0, "steep_meridian_deg": 20}, "lens_meridian_deg": 20}
    for seen in (110, 160):
        found = answer(tmp_path, lens=lens(2.0, seen), plan=planned)
        assert "seen-axis-looks-like-a-slip" in {one["code"] for one in found["findings"]}


@pytest.mark.parametrize(
    ("keys", "where", "words"),
    [
        ({"refraction": refraction(0.5, -1.0, 181)}, "refraction.axis_deg", "180"),
        ({"refraction": refraction(0.5, -1.0, -5)}, "refraction.axis_deg", "0"),
        ({"refraction": {"sphere_dpt": 0.5, "cylinder_dpt": -1.0}}, "refraction", "no axis"),
        ({"refraction": {"sphere_dpt": 0.5}}, "refraction.cylinder_dpt", "needed"),
        ({"lens": {"cylinder_dpt": 3.0, "meridian_deg": 90}}, "lens", "At which plane"),
        ({"lens": {"cylinder_at_lens_dpt": 3.0, "meridian_deg": 90}}, "lens", "own lens position"),
        ({"lens": {"meridian_deg": 90}}, "lens", "missing"),
        ({"lens": {"cylinder_dpt": 3.0, "plane": "lens", "meridian_deg": 90}}, "lens", "own lens position"),
        ({"lens": lens(2.0, 90) | {"cylinder_dpt": 3.0}}, "lens", "more than once"),
        ({"lens": lens(0.0, 90)}, "lens.cylinder_at_cornea_dpt", "0.25 or more"),
        ({"lens": lens(2.0, 190)}, "lens.meridian_deg", "180"),
        ({"refracted_on": "2026-11-01"}, "file", "before it was operated"),
        ({"plan": {"lens_meridian_deg": 20}}, "plan", "both"),
        ({"colour": 1}, "colour", "not"),
        ({"eye": "OD"}, "eye", "right"),
    ],
)
def test_what_cannot_be_is_refused_by_its_place(
    tmp_path: Path, keys: dict[str, Any], where: str, words: str
) -> None:
    (found,) = answer(tmp_path, status=2, **keys)["findings"]
    assert found["where"] == where or where == "file"
    assert words in found["sentence"]


def test_standard_input_is_read() -> None:
    told = here("review", "-", given=EXAMPLE.read_bytes())
    assert told.status == 0
    assert told.out.startswith("RIGHT EYE")


def test_the_example_reads_aloud() -> None:
    told = " ".join(here("review", EXAMPLE).out.split())
    assert "The numbers speak against turning the lens. It would gain 0.48 D" in told
    assert "11\u00b0 counter-clockwise as the examiner sees the eye, to 106\u00b0" in told
    assert "from the lens lying elsewhere than planned" in told
