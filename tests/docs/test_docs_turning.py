"""Numbers and pictures of the page about turning a lens, checked against the code they come from."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location

import pytest

from docs.manual import ROOT, table_rows, text_of
from zonule import wiring
from zonule.case.follow_up import TURNING_DAYS
from zonule.case.rotation import Advice, ResidualCause
from zonule.drawings.numbers import axis_text, plain_text, size_text
from zonule.drawings.rotation_sentences import CAUSE_WORDS, turn_text
from zonule.drawings.toric_sentences import vector_text
from zonule.science.astigmatism.rotation_odds import MERIDIAN_SD_DEG, REFRACTION_SD_DPT, WORTH_DPT
from zonule.workflow.rotation import (
    LEFT_OVER_DPT,
    SPHERE_OFF_DPT,
    TURN_SD_DEG,
    UNEXPLAINED_DPT,
    rotation_review,
)
from zonule.workflow.turning import MOVED_DEG

PAGE = "docs/how-to/turn-a-toric-lens.md"
EYE, OUTCOME, FINDINGS = wiring.read_review_file(
    str(ROOT / "examples" / "reviews" / "lens-off-its-plan.json")
)
REVIEW = rotation_review(OUTCOME)


def words() -> str:
    return " ".join(text_of(PAGE).split())


def test_the_parts_of_the_example_are_what_the_code_gives() -> None:
    rows = {cells[0]: cells[1] for cells in table_rows(PAGE, "Why the cylinder is there")}
    told = {CAUSE_WORDS[one.kind].partition(":")[0]: vector_text(one.part) for one in REVIEW.causes}
    assert rows == told
    assert [one.kind for one in REVIEW.causes][2] is ResidualCause.INCISION
    assert f"In the example {size_text(float(REVIEW.seen.magnitude_dpt))} are left" in words()


def test_what_stands_under_the_pictures_is_what_they_show() -> None:
    said = words()
    now, best = axis_text(OUTCOME.lens_meridian_deg), axis_text(REVIEW.best_meridian_deg)
    assert f"Marks now at {now}, best at {best}: {turn_text(REVIEW.rotate_by_deg)} as the examiner" in said
    left = size_text(float(REVIEW.after.magnitude_dpt))
    assert f"{size_text(float(REVIEW.seen.magnitude_dpt))} now, {left} at best" in said


def test_the_example_speaks_for_turning_and_raises_no_doubt() -> None:
    assert REVIEW.advice is Advice.ROTATE
    assert (FINDINGS, REVIEW.findings) == ((), ())


def test_the_scatters_and_limits_of_the_page_are_those_in_use() -> None:
    said = words()
    assert f"is off by {size_text(REFRACTION_SD_DPT)} (our choice)" in said
    assert f"read to {plain_text(MERIDIAN_SD_DEG, 1)} degrees" in said
    assert f"({plain_text(TURN_SD_DEG, 1)} degrees, from memory)" in said
    assert f"more than {MOVED_DEG:g} degrees away" in said
    assert WORTH_DPT == SPHERE_OFF_DPT == LEFT_OVER_DPT == 0.5
    assert UNEXPLAINED_DPT == 1.0
    assert tuple(weeks * 7 for weeks in (1, 3)) == TURNING_DAYS
    assert "usually 1 to 3 weeks after the operation" in said


def drawn() -> dict[str, str]:
    spec = spec_from_file_location("draw_turned_lens", ROOT / "tools" / "draw_turned_lens.py")
    assert spec is not None
    assert spec.loader is not None
    tool = module_from_spec(spec)
    spec.loader.exec_module(tool)
    made: dict[str, str] = tool.drawings()
    return made


@pytest.mark.parametrize("name", ["turn-dial.svg", "turn-sweep.svg"])
def test_a_picture_of_the_page_is_the_one_that_the_code_draws(name: str) -> None:
    assert f"(../pictures/{name})" in text_of(PAGE)
    found = (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8")
    assert found == drawn()[name], "run python tools/draw_turned_lens.py"
