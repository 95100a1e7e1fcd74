"""How unusual each cause would have to be, as bars against the scatter that is usual."""

from __future__ import annotations

from collections.abc import Callable

from zonule.case.surprise import Cause, Surprise
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import plain_text
from zonule.drawings.surprise_sentences import CAUSE_TITLES, WITHIN_USUAL, how_unusual
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, rectangle, text

MOST_DEVIATIONS = 8.0
"""What lies beyond is drawn to the edge, and its number said."""

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_SIDE_PX, _ROW_PX, _BAR_PX, _TOP_PX, _FOOT_PX = 16.0, 44.0, 12.0, 26.0, 30.0
_ROOM_FOR_NUMBER_PX = 52.0


def causes_drawing(surprise: Surprise, *, width: int = 720) -> Drawing:
    """One bar for each cause that can be weighed: the shorter, the less would have to be wrong.

    Parameters
    ----------
    surprise
        Its causes are drawn in their order, the least unusual on top.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    foot = _TOP_PX + _ROW_PX * len(surprise.causes)
    per_deviation = (width - 2 * _SIDE_PX - _ROOM_FOR_NUMBER_PX) / MOST_DEVIATIONS

    def x(deviations: float) -> float:
        return _SIDE_PX + min(deviations, MOST_DEVIATIONS) * per_deviation

    rows = [_row(one, _TOP_PX + place * _ROW_PX, x) for place, one in enumerate(surprise.causes)]
    said = "; ".join(
        f"{CAUSE_TITLES[one.kind]} {plain_text(one.deviations, 1)}, {how_unusual(one.deviations)}"
        for one in surprise.causes
    )
    content = [
        rectangle(
            (_SIDE_PX, _TOP_PX - 6),
            (x(WITHIN_USUAL) - _SIDE_PX, foot - _TOP_PX + 6),
            fill=PAPER.accent_wash,
            class_="usual",
        ),
        text((_SIDE_PX, 14), "shaded: nothing unusual", size=_SMALL_PX, fill=PAPER.muted),
        *(part for row in rows for part in row),
        *_scale(foot, x),
    ]
    box = (0.0, 0.0, float(width), foot + _FOOT_PX + 14)
    title = "How many times its usual scatter each cause would have to be off"
    return picture("causes", box, content, title=title, description=f"{said}.")


def _row(cause: Cause, top: float, x: Callable[[float], float]) -> list[Element]:
    end = x(cause.deviations)
    beyond = cause.deviations > MOST_DEVIATIONS
    fill = PAPER.accent if cause.deviations <= WITHIN_USUAL else PAPER.body_outline
    number = plain_text(cause.deviations, 1)
    return [
        text((_SIDE_PX + 6, top + 12), CAUSE_TITLES[cause.kind], size=_PLAIN_PX, fill=PAPER.ink, bold=True),
        rectangle((_SIDE_PX, top + 20), (max(end - _SIDE_PX, 1.0), _BAR_PX), fill=fill, class_="cause"),
        text((end + 6, top + 31), f"{number} \u2192" if beyond else number, size=_PLAIN_PX, fill=PAPER.ink),
    ]


def _scale(foot: float, x: Callable[[float], float]) -> list[Element]:
    marks: list[Element] = [line((x(0.0), foot), (x(MOST_DEVIATIONS), foot), Stroke(PAPER.muted, 1))]
    for step in range(0, int(MOST_DEVIATIONS) + 1, 2):
        marks.extend(
            (
                line((x(step), foot), (x(step), foot + 5), Stroke(PAPER.muted, 1)),
                text((x(step), foot + 19), str(step), size=_SMALL_PX, fill=PAPER.muted, anchor="middle"),
            )
        )
    words = "times its usual scatter"
    marks.append(text((x(0.0), foot + 36), words, size=_SMALL_PX, fill=PAPER.muted))
    return marks
