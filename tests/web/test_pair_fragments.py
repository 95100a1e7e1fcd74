"""The parts of the plan page about the second eye and both eyes, rendered alone."""

import re
from html import unescape
from types import SimpleNamespace

from fakes.pairs import blended_outlook, operated_outlook, ordinary_pair, ordinary_second_eye
from zonule.case.finding import note
from zonule.case.pair import PairWishes, Strategy
from zonule.case.second_eye import SecondEye
from zonule.drawings import pair_sentences
from zonule.drawings.pair import pair_drawing
from zonule.web.pages import template_environment


def rendered(name: str, **values: object) -> str:
    environment = template_environment()
    environment.globals["pair_sentences"] = pair_sentences
    return environment.get_template(name).render(**values)


def text_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def pair_page(pair: object, **values: object) -> str:
    return rendered("both_eyes.html", plan=SimpleNamespace(pair=pair), **values)


def test_the_second_eye_shows_each_method_and_what_was_added() -> None:
    plan = SimpleNamespace(second_eye=ordinary_second_eye())
    said = text_of(rendered("second_eye.html", plan=plan))
    assert "SRK/T +0.60 D +0.30 D" in said
    assert "went from 20.5 D to 21.0 D" in said
    assert "leaves 75 % of the variance" in said


def test_a_first_eye_that_is_not_used_shows_its_reasons_and_no_table() -> None:
    reason = note("first-eye-not-in-bag", "First eye: its lens sits in the sulcus, not in the bag.", "fellow")
    second = SecondEye(used=False, weight=0.5, reasons=(reason.sentence,), findings=(reason,))
    page = rendered("second_eye.html", plan=SimpleNamespace(second_eye=second))
    assert "in the sulcus" in text_of(page)
    assert "<table" not in page


def test_both_eyes_show_their_odds_and_what_the_patient_does_not_want() -> None:
    drawing = pair_drawing(blended_outlook())
    page = pair_page(ordinary_pair(), pair_drawings=[SimpleNamespace(wide=drawing, narrow=drawing)])
    said = text_of(page)
    assert "22.5 D, 70 in 100" in said
    assert "in focus 65 cm" in said
    assert "1.42 D \u00b1 0.62 D 55 44" in said
    assert "Without glasses: arm's length (screen) matters most." in said
    assert page.count("<svg") == 2


def test_both_eyes_say_what_was_not_asked() -> None:
    pair = ordinary_pair(
        wishes=PairWishes(),
        strategies=(blended_outlook(beyond_tolerated=None, left=operated_outlook()),),
        not_shown=((Strategy.BLENDED, "Which eye leads is not recorded."),),
    )
    said = text_of(pair_page(pair))
    assert "not asked" in said
    assert "achieved; in focus 1.5 m" in said
    assert "not worked out. Which eye leads is not recorded." in said


def test_words_of_a_patient_cannot_become_markup() -> None:
    pair = ordinary_pair()
    (task,) = pair.wishes.tasks
    tried = PairWishes(tasks=(type(task)(task.distance, task.importance, "<script>x</script>"),))
    assert "<script>" not in pair_page(ordinary_pair(wishes=tried))
