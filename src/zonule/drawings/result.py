"""What one eye got against what it was promised."""

from __future__ import annotations

from math import ceil, floor

from zonule.case.review import Review
from zonule.drawings.ink import PAPER
from zonule.drawings.marks import mark
from zonule.drawings.numbers import refraction_text, signed_text
from zonule.drawings.svg import Anchor, Drawing, Element, Stroke, line, picture, polygon, text

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_SIDE_PX, _ROW_PX, _HEIGHT_PX = 24.0, 72.0, 150.0
_BAND_DPT, _LEAST_REACH_DPT, _ROOM_DPT, _TICK_DPT = 0.5, 1.25, 0.4, 0.5
_ROOM_FOR_WORDS_PX = 90.0


def result_drawing(expected_dpt: float, review: Review, *, width: int = 720) -> Drawing:
    """One refraction on a line: what was expected, what was found, and the band of half a dioptre.

    Parameters
    ----------
    expected_dpt
        Spherical equivalent expected of the power implanted, dioptres, at 12 mm and 6 m.
    review
        The refraction found; compared at 12 mm and 6 m.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    found_dpt = review.refraction.reported_equivalent_dpt
    reach = max(_LEAST_REACH_DPT, abs(found_dpt - expected_dpt) + _ROOM_DPT)
    per_dpt = (width - 2 * _SIDE_PX) / (2 * reach)

    def x(refraction_dpt: float) -> float:
        return width / 2 + (refraction_dpt - expected_dpt) * per_dpt

    low, high = x(expected_dpt - _BAND_DPT), x(expected_dpt + _BAND_DPT)
    corners = [(low, _ROW_PX - 30), (high, _ROW_PX - 30), (high, _ROW_PX + 30), (low, _ROW_PX + 30)]
    first, last = ceil((expected_dpt - reach) / _TICK_DPT), floor((expected_dpt + reach) / _TICK_DPT)
    ticks = [_tick(x(step * _TICK_DPT), step * _TICK_DPT) for step in range(first, last + 1)]
    said = f"Expected {refraction_text(expected_dpt)}, found {refraction_text(found_dpt)}."
    content = [
        polygon(corners, fill=PAPER.accent_wash, class_="band"),
        line((_SIDE_PX, _ROW_PX), (width - _SIDE_PX, _ROW_PX), Stroke(PAPER.muted, 1)),
        *(part for tick in ticks for part in tick),
        *_expected(x(expected_dpt), expected_dpt),
        *_found(x(found_dpt), found_dpt, width),
    ]
    box = (0.0, 0.0, float(width), _HEIGHT_PX)
    return picture("result", box, content, title="Refraction found against expected", description=said)


def _tick(x: float, refraction_dpt: float) -> list[Element]:
    return [
        line((x, _ROW_PX - 4), (x, _ROW_PX + 4), Stroke(PAPER.muted, 1)),
        text(
            (x, _ROW_PX + 47),
            signed_text(refraction_dpt, 1),
            size=_SMALL_PX,
            fill=PAPER.muted,
            anchor="middle",
        ),
    ]


def _expected(x: float, refraction_dpt: float) -> list[Element]:
    said = f"expected {refraction_text(refraction_dpt)}"
    return [
        line((x, _ROW_PX - 30), (x, _ROW_PX + 30), Stroke(PAPER.accent, 2)),
        text((x, 16), said, size=_PLAIN_PX, fill=PAPER.accent, anchor="middle", bold=True),
        text((x, 33), "shaded: within half a dioptre", size=_SMALL_PX, fill=PAPER.muted, anchor="middle"),
    ]


def _found(x: float, refraction_dpt: float, width: int) -> list[Element]:
    at = min(max(x, _ROOM_FOR_WORDS_PX), width - _ROOM_FOR_WORDS_PX)
    anchor: Anchor = "middle"
    said = f"found {refraction_text(refraction_dpt)}"
    return [
        mark("diamond", (x, _ROW_PX), 8, fill=PAPER.ink),
        text((at, _ROW_PX + 70), said, size=_PLAIN_PX, fill=PAPER.ink, anchor=anchor, bold=True),
    ]
