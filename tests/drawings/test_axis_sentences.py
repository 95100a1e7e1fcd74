"""The looks at the marks and the follow-up list in words."""

from __future__ import annotations

import pytest

from case.test_follow_up import day, needed, toric_case
from zonule.drawings.axis_sentences import days_sentence, need_sentence, seen_marks, window_sentence

OFF = (1, 110.0)


def test_each_look_is_a_line_beside_the_plan_and_beside_the_operation() -> None:
    first, second = seen_marks(toric_case(97.0, (1, 91.0)))
    assert (first.occasion, first.meridian, first.beside_plan, first.since_operation) == (
        "End of the operation",
        "97\u00b0",
        "2 degrees counter-clockwise of the plan",
        "",
    )
    assert (second.day, second.occasion, second.beside_plan, second.since_operation) == (
        "17 November 2026",
        "Axis visit",
        "4 degrees clockwise of the plan",
        "6 degrees clockwise",
    )


def test_nothing_is_said_of_turning_where_nobody_saw_how_it_was_left() -> None:
    (only,) = seen_marks(toric_case(None, (1, 91.0)))
    assert only.since_operation == ""


def test_without_a_planned_meridian_it_says_so() -> None:
    (only,) = seen_marks(toric_case(None, (1, 91.0), signed=None))
    assert only.beside_plan == "no meridian was planned"


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0, "Axis visit due from tomorrow to 23 November 2026."),
        (1, "Axis visit due by 23 November 2026, in 6 days."),
        (6, "Axis visit due by 23 November 2026, tomorrow."),
        (7, "Axis visit due by 23 November 2026, today."),
        (8, "Axis visit overdue since yesterday. Window for turning closes in 13 days."),
        (20, "Axis visit overdue since 13 days ago. Window for turning closes tomorrow."),
        (22, "Window for turning closed yesterday, on 7 December 2026."),
    ],
)
def test_an_axis_visit_says_how_long_it_has(days: int, words: str) -> None:
    assert window_sentence(needed(toric_case(), days)) == words


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (2, "Window for turning opens in 5 days, closes 7 December 2026."),
        (7, "Window for turning closes in 14 days, on 7 December 2026."),
        (21, "Window for turning closes today, on 7 December 2026."),
        (24, "Window for turning closed 3 days ago, on 7 December 2026."),
    ],
)
def test_a_lens_far_off_says_how_long_it_can_be_turned(days: int, words: str) -> None:
    assert window_sentence(needed(toric_case(95.0, OFF), days)) == words


def test_what_is_needed_is_said_with_where_it_was_seen() -> None:
    assert need_sentence(needed(toric_case(), 3)) == "Nobody has looked at the marks since the operation."
    assert need_sentence(needed(toric_case(95.0, OFF), 3)) == (
        "Marks 15 degrees counter-clockwise of the plan (axis visit, 17 November 2026)."
    )
    assert need_sentence(needed(toric_case(95.0, (1, 5.0)), 3)).endswith(
        "This looks like a slip of reading: look again before anything is done."
    )


def test_the_days_are_said_to_be_common_practice() -> None:
    said = days_sentence(day(0))
    assert "day 1 to day 7" in said
    assert "day 7 to day 21" in said
    assert "common practice, no source" in said
