"""The part of the plan page about a torn capsule."""

from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from zonule.case.backup import Backup
from zonule.case.lens import LensModel
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
    assert "Have these ready beside Meadow One 20.5 D." in said
    assert "<td>three-piece Meadow Three</td>" in said
    assert "must not lie in the sulcus" in said
    assert "from memory of common practice" in said


def test_a_lens_named_like_markup_is_shown_as_text() -> None:
    said = shown(asked(three_piece("<b>Sedge</b>")))
    assert "&lt;b&gt;Sedge&lt;/b&gt;" in said
    assert "<b>" not in said


def test_without_a_power_there_is_no_table_and_the_reason_stands_there() -> None:
    said = shown(backup_lenses(single_piece(), None, 0.0, {}, ()))
    assert "<table>" not in said
    assert "No method may be counted" in said
