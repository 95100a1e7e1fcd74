"""The part of the plan page about a torn capsule."""

from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from zonule.case.backup import Backup
from zonule.case.lens import LensModel, Material, PowerRange
from zonule.case.operation import Fixation
from zonule.drawings import backup_sentences
from zonule.web.pages import template_environment
from zonule.workflow.backup import backup_lenses


def shown(backup: Backup) -> str:
    environment = template_environment()
    environment.globals.update(backup_sentences=backup_sentences)
    said = environment.from_string(
        '{% from "backup.html" import backup_section %}{{ backup_section(backup) }}'
    ).render(backup=backup)
    return " ".join(said.split())


def asked(*lenses: LensModel) -> Backup:
    return backup_lenses(single_piece(), 20.5, 0.0, numbers_of(), lenses)


def test_each_lens_has_its_row_with_place_power_and_rule() -> None:
    said = shown(asked(three_piece(), chamber_lens()))
    assert said.count('<tr><th scope="row">') == 3
    assert said.count('<th scope="rowgroup" colspan="4">') == 3
    assert "Have these ready beside Meadow One 20.5 D." in said
    assert '<th scope="row">three-piece Meadow Three</th>' in said
    assert "must not lie in the sulcus" in said
    assert "from memory of common practice" in said


def test_a_lens_not_made_in_the_power_is_named_in_one_line_and_has_no_row() -> None:
    weak = three_piece("Meadow Weak", powers=PowerRange(-10.0, 5.0, 1.0))
    said = shown(asked(three_piece(), weak))
    assert '<th scope="row">three-piece Meadow Weak</th>' not in said
    assert (
        "Not made in the power needed: Meadow Weak (sulcus 19.6 D and sulcus, optic captured 20.4 D)." in said
    )
    assert "it is made from" not in said


def test_a_place_for_which_no_lens_is_made_says_what_would_be_needed() -> None:
    weak = PowerRange(-10.0, 5.0, 1.0)
    said = shown(asked(three_piece("Meadow Weak", powers=weak)))
    assert "No lens on record is made in the power needed here, 19.6 D." in said
    both = asked(three_piece("Meadow Weak", powers=weak), three_piece("Meadow Faint", 117.4, powers=weak))
    ends = sorted(one.power_for_target_dpt for one in both.at(Fixation.SULCUS))
    assert f"needed here, {ends[0]:.1f} to {ends[1]:.1f} D." in shown(both)
    assert '<th scope="row">three-piece' not in said


def test_what_holds_for_a_lens_in_two_places_is_said_once_with_both() -> None:
    said = shown(asked(three_piece(material=Material.SILICONE)))
    assert said.count("oil clings to such a lens") == 1
    assert "sulcus; sulcus captured" in said


def test_no_tick_stands_beside_doubts() -> None:
    assert "tick" not in shown(asked(three_piece(material=Material.SILICONE), chamber_lens()))


def test_a_lens_named_like_markup_is_shown_as_text() -> None:
    said = shown(asked(three_piece("<b>Sedge</b>")))
    assert "&lt;b&gt;Sedge&lt;/b&gt;" in said
    assert "<b>" not in said


def test_without_a_power_there_is_no_table_and_the_reason_stands_there() -> None:
    said = shown(backup_lenses(single_piece(), None, 0.0, {}, ()))
    assert "<table>" not in said
    assert "No method may be counted" in said
