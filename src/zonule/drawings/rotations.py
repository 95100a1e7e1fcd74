"""How far toric lenses turned, with the limits that the standards ask for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil, floor

from zonule.drawings.astigmatism_results_sentences import limit_text
from zonule.drawings.ink import PAPER
from zonule.drawings.labels import wrapped
from zonule.drawings.numbers import plain_text
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, rectangle, text
from zonule.science.astigmatism.rotation_results import RotationResults

BIN_DEG = 2.5
_REACH_DEG = 25.0
"""Farther turns are told, not drawn."""
_ROUNDING_DEG = 1e-9
_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_SIDE_PX, _TOP_PX, _PLOT_PX, _BELOW_PX, _ROW_PX = 14.0, 14.0, 150.0, 50.0, 17.0
_LEAST_EYE_PX = 18.0
_TICKS_DEG = (-20, -10, -5, 0, 5, 10, 20)
_TITLE = "How far toric lenses turned"
_LIMIT = Stroke(PAPER.accent, 1.6)


def rotations_drawing(turns_deg: Sequence[float], results: RotationResults, *, width: int = 720) -> Drawing:
    """Turns in bins of 2.5 degrees about the meridian of the first look.

    Parameters
    ----------
    turns_deg
        One an eye, degrees, plus counter-clockwise. A turn on an edge counts in the bin nearer zero, so that
        the bars between two limits hold exactly the eyes that turned no farther.
    results
        The figures of the same eyes.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    bins = Counter(_bin(turn) for turn in turns_deg)
    reach = round(_REACH_DEG / BIN_DEG)
    beyond = sum(count for number, count in bins.items() if not -reach <= number < reach)
    sentences = [*(limit_text(one, results.eyes) for one in results.limits), *_beyond_sentence(beyond)]
    rows = [row for said in sentences for row in wrapped(said, width, _SMALL_PX)]
    top = _TOP_PX + _PLOT_PX + _BELOW_PX
    content = [
        *_limits(results, width),
        *_bars({number: count for number, count in bins.items() if -reach <= number < reach}, width),
        *_scale(width),
        *_said(rows, top),
    ]
    return picture(
        "rotations",
        (0, 0, width, top + _ROW_PX * len(rows) + 6),
        content,
        title=_TITLE,
        description=" ".join((_summary(results), *sentences)),
    )


def _bin(turn_deg: float) -> int:
    """Number of the bin, 0 for the first counter-clockwise one, -1 for the first clockwise one.

    Examples
    --------
    >>> _bin(0.0), _bin(2.5), _bin(2.6), _bin(-2.5), _bin(-2.6)
    (0, 0, 1, -1, -2)
    """
    if turn_deg >= 0.0:
        return max(0, ceil(turn_deg / BIN_DEG - _ROUNDING_DEG) - 1)
    return min(-1, floor(turn_deg / BIN_DEG + _ROUNDING_DEG))


def _across(angle_deg: float, width: int) -> float:
    """Clockwise turns lie on the left, counter-clockwise ones on the right."""
    return width / 2 + angle_deg * (width / 2 - _SIDE_PX) / _REACH_DEG


def _limits(results: RotationResults, width: int) -> list[Element]:
    parts = []
    for one in results.limits:
        for side in (-1.0, 1.0):
            across = _across(side * one.limit.at_most_deg, width)
            parts.append(line((across, _TOP_PX - 6), (across, _TOP_PX + _PLOT_PX), _LIMIT, class_="limit"))
    return parts


def _bars(bins: dict[int, int], width: int) -> list[Element]:
    each = min(_LEAST_EYE_PX, (_PLOT_PX - 20) / max(bins.values(), default=1))
    bottom, parts = _TOP_PX + _PLOT_PX, []
    for number, count in sorted(bins.items()):
        left, right = _across(number * BIN_DEG, width) + 1.0, _across((number + 1) * BIN_DEG, width) - 1.0
        top = bottom - each * count
        parts.append(
            rectangle((left, top), (right - left, bottom - top), fill=PAPER.body_outline, class_="bar")
        )
        at = ((left + right) / 2, top - 4)
        parts.append(text(at, str(count), size=_SMALL_PX, fill=PAPER.ink, anchor="middle"))
    return parts


def _scale(width: int) -> list[Element]:
    bottom = _TOP_PX + _PLOT_PX
    parts = [line((_SIDE_PX, bottom), (width - _SIDE_PX, bottom), Stroke(PAPER.muted, 1))]
    for angle in _TICKS_DEG:
        at = (_across(angle, width), bottom + 17)
        said = f"{plain_text(abs(angle), 0)}\u00b0"
        parts.append(text(at, said, size=_SMALL_PX, fill=PAPER.muted, anchor="middle"))
    return [
        *parts,
        text((0, bottom + 38), "clockwise", size=_SMALL_PX, fill=PAPER.muted),
        text((width, bottom + 38), "counter-clockwise", size=_SMALL_PX, fill=PAPER.muted, anchor="end"),
    ]


def _said(rows: Sequence[str], top: float) -> list[Element]:
    return [
        text((0, top + _ROW_PX * (place + 1)), said, size=_SMALL_PX, fill=PAPER.ink)
        for place, said in enumerate(rows)
    ]


def _summary(results: RotationResults) -> str:
    eyes = "1 lens" if results.eyes == 1 else f"{results.eyes} lenses"
    return f"{eyes}, turned by {plain_text(results.mean_absolute_deg, 1)}\u00b0 on average, either way."


def _beyond_sentence(beyond: int) -> list[str]:
    if not beyond:
        return []
    are = "is" if beyond == 1 else "are"
    return [f"{beyond} turned farther than {_REACH_DEG:g}\u00b0 and {are} not drawn."]
