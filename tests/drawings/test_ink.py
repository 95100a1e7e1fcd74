from __future__ import annotations

import pytest

from zonule.drawings.ink import DARK, PAPER, Ink

TEXT, LINE = 4.5, 3.0
"""Least contrast of text and of lines that matter: WCAG 2.2, success criteria 1.4.3 and 1.4.11."""

INKS = [pytest.param(PAPER, id="paper"), pytest.param(DARK, id="dark")]


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    shares = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_has_the_contrast_that_the_standard_says() -> None:
    assert _contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("colour", ["ink", "muted", "accent", "amber"])
def test_text_can_be_read_on_paper_and_on_washes(ink: Ink, colour: str) -> None:
    for ground in (ink.paper, ink.accent_wash, ink.amber_wash):
        assert _contrast(getattr(ink, colour), ground) >= TEXT


@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("colour", ["ink", "muted", "accent", "amber", "body_outline"])
def test_lines_that_matter_can_be_seen_on_paper_and_band(ink: Ink, colour: str) -> None:
    assert _contrast(getattr(ink, colour), ink.paper) >= LINE
    assert _contrast(getattr(ink, colour), ink.accent_wash) >= LINE


@pytest.mark.parametrize("ink", INKS)
def test_rings_can_be_seen_on_iris_and_pupil(ink: Ink) -> None:
    for colour in (ink.ink, ink.accent):
        assert _contrast(colour, ink.iris) >= LINE
    for colour in (ink.on_pupil, ink.accent_on_pupil):
        assert _contrast(colour, ink.pupil) >= LINE


@pytest.mark.parametrize("ink", INKS)
def test_the_middle_of_a_distribution_can_be_seen_on_it(ink: Ink) -> None:
    assert _contrast(ink.ink, ink.body_within) >= LINE
    assert _contrast(ink.ink, ink.body) >= LINE
    assert _contrast(ink.paper, ink.accent) >= LINE
