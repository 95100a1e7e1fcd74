"""What to have ready, in words: short, and never a number that was not computed."""

import math

import pytest

from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from zonule.case.backup import PLACES, Backup
from zonule.case.lens import LensModel, PowerRange
from zonule.case.operation import Fixation
from zonule.drawings.backup_sentences import (
    backup_row,
    backup_sentence,
    barred_sentence,
    first_rows,
    more_sentence,
    own_constants_sentence,
    place_words,
    unchanged_sentence,
)
from zonule.workflow.backup import backup_lenses


def asked(*lenses: LensModel, target: float = 0.0, depth: float = 3.1, power: float | None = 20.5) -> Backup:
    return backup_lenses(single_piece(), power, target, numbers_of(depth_mm=depth), lenses)


def lines(backup: Backup) -> list[str]:
    return [backup_sentence(found, backup.target_refraction_dpt) for found in backup.lenses]


def test_a_lens_in_its_place_is_one_line_with_power_aim_expectation_and_rule() -> None:
    assert lines(asked(three_piece(), chamber_lens())) == [
        "Sulcus, three-piece Meadow Three: 19.5 D for plano, expected +0.11 D (step rule: 19.5 D).",
        "Sulcus, optic captured, three-piece Meadow Three: 20.5 D for plano, expected \u22120.09 D.",
        "Anterior chamber, Meadow Gate: 17.0 D for plano, expected +0.11 D.",
    ]


def test_an_aim_other_than_plano_is_written_out() -> None:
    assert "for \u22120.25 D" in lines(asked(three_piece(), target=-0.25))[0]


def test_without_a_lens_the_line_names_an_approximate_power_and_expects_nothing_of_it() -> None:
    assert (
        lines(asked())[0] == "Sulcus, no lens in the catalogue: about 19.6 D for plano (step rule: 19.5 D)."
    )


def test_a_power_that_is_not_made_is_told_as_wanted_and_not_made() -> None:
    row = backup_row(asked(three_piece(powers=PowerRange(10.0, 18.0, 0.5))).at(Fixation.SULCUS)[0])
    assert row.power == "19.6 D, not made"
    assert row.expected == ""


def test_a_rule_without_an_answer_says_so_in_the_sulcus_and_nothing_elsewhere() -> None:
    sulcus, captured, chamber = (backup_row(found).step_rule for found in asked(power=28.25).lenses)
    assert (sulcus, captured, chamber) == ("no answer", "", "")


def test_the_first_rows_are_one_for_each_place_even_where_nothing_was_computed() -> None:
    rows = first_rows(asked(three_piece(), three_piece("Zinnia"), depth=math.nan))
    assert [row.place for row in rows] == [place_words(place) for place in PLACES]
    assert [row.lens for row in rows] == ["three-piece Meadow Three"] * 2 + ["not computed"]
    assert rows[-1].power == ""


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ((), ""),
        (("Zinnia",), "1 more lens on the screen."),
        (("Tansy", "Zinnia"), "2 more lenses on the screen."),
    ],
)
def test_lenses_left_out_of_the_first_rows_are_counted_once_each(names: tuple[str, ...], said: str) -> None:
    assert more_sentence(asked(three_piece(), *(three_piece(name) for name in names))) == said


def test_what_an_unchanged_power_leaves_is_said_with_the_lens_it_is_said_of() -> None:
    said = unchanged_sentence(asked(three_piece()))
    assert said == (
        "The power that Meadow Three needs in the bag, left unchanged in the sulcus, would end at "
        "\u22120.63 D."
    )
    assert "the planned lens's constants" in unchanged_sentence(asked())
    assert unchanged_sentence(backup_lenses(single_piece(), None, 0.0, {}, ())) == ""


def test_what_a_chamber_lens_needs_by_its_own_constants_is_said_of_it_alone() -> None:
    sulcus, _, chamber = asked(three_piece(), chamber_lens()).lenses
    assert own_constants_sentence(sulcus) == ""
    assert own_constants_sentence(chamber) == (
        "By its own constants Meadow Gate would need 17.4 D; the power above is by the iris."
    )


def test_only_the_planned_lens_is_named_as_barred() -> None:
    assert "Meadow One is made in one piece" in barred_sentence(asked(three_piece()))
    free = backup_lenses(three_piece("Aster"), None, 0.0, numbers_of(), (single_piece("Sorrel"),))
    assert barred_sentence(free) == ""
