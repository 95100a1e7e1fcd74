"""The page about the other lens: its numbers are those that the program gives."""

import re

import numpy as np
import pytest

from docs.manual import section, table_rows, text_of
from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from zonule.case.backup import Backup, BackupLens
from zonule.drawings.backup_sentences import backup_row
from zonule.drawings.numbers import plain_text, refraction_text
from zonule.science.lens_power.moved_lens import (
    ANTERIOR_CHAMBER,
    OPTIC_CAPTURED,
    SULCUS,
    Forward,
    moved_power_dpt,
    sulcus_step,
)
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.workflow.backup import backup_lenses

PAGE = "docs/how-to/have-the-other-lens-ready.md"


def worked() -> Backup:
    return backup_lenses(single_piece(), 20.5, 0.0, numbers_of(), (three_piece(), chamber_lens()))


def cells(found: BackupLens) -> list[str]:
    row = backup_row(found)
    needed = f"{plain_text(found.power_for_target_dpt, 2)} D"
    assert found.model is not None
    return [row.place, found.model, row.power, row.expected, needed, row.wanted_range, row.step_rule]


def test_the_worked_example_is_what_the_program_gives() -> None:
    assert list(table_rows(PAGE, "A worked example")) == [cells(found) for found in worked().lenses]


def test_the_numbers_in_its_text_are_those_of_the_program() -> None:
    text = " ".join(section(PAGE, "A worked example").split())
    sulcus, _, chamber = worked().lenses
    assert sulcus.bag_power_dpt is not None
    assert sulcus.unchanged_refraction_dpt is not None
    assert chamber.own_constants_power_dpt is not None
    for said in (
        f"would need {plain_text(sulcus.bag_power_dpt, 2)} D. Its bag power of 20.5 D",
        f"would end at {refraction_text(sulcus.unchanged_refraction_dpt)}.",
        f"Meadow Gate would need {plain_text(chamber.own_constants_power_dpt, 2)} D",
    ):
        assert said in text, said


def test_the_equation_of_the_page_is_the_one_that_is_used() -> None:
    (equation,) = re.findall(r"```text\nP = (.*)\n```", text_of(PAGE))
    names = {"L": 23.7, "d": 5.1, "x": 0.5, "K": 43.2, "R": 0.0}
    told = eval(equation, {"__builtins__": {}}, names)  # noqa: S307 - a line of our own page
    eye = ThinLensEye(names["K"], names["L"], names["d"], 0)
    assert told == pytest.approx(float(np.asarray(moved_power_dpt(eye, names["x"], 0.0))), abs=1e-9)


@pytest.mark.parametrize(
    ("place", "forward"),
    [("sulcus", SULCUS), ("sulcus, optic captured", OPTIC_CAPTURED), ("anterior chamber", ANTERIOR_CHAMBER)],
)
def test_the_distances_of_the_page_are_those_that_are_used(place: str, forward: Forward) -> None:
    (row,) = (row for row in table_rows(PAGE, "How it is computed") if row[0] == place)
    told = [float(number) for number in re.findall(r"[\d.]+", f"{row[2]} {row[3]}".replace("\u2212", "-"))]
    middle_mm, least_mm, most_mm = forward
    assert told == [middle_mm, abs(least_mm), most_mm]
    assert ("\u2212" in row[3]) == (least_mm < 0.0)


def test_the_rows_of_the_step_rule_are_those_that_are_read() -> None:
    for bag, off in table_rows(PAGE, "The step rule"):
        step = -float(re.findall(r"[\d.]+", off)[0]) if off != "nothing" else 0.0
        ends = [float(number) for number in re.findall(r"[\d.]+", bag)]
        inside = [ends[0] - 0.5] if bag.startswith("below") else ends
        assert [float(np.asarray(sulcus_step(one).step_dpt)) for one in inside] == [step] * len(inside), bag
    for gap in (9.0, 17.25, 28.25):
        assert f"{gap:g} D" in section(PAGE, "The step rule").replace("9.0 D", "9 D")
        assert int(sulcus_step(gap).flags)
