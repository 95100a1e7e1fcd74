"""Which way round a toric lens would turn: its marks now and at their best on a dial, with an arrow."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, degrees, radians, sin

from zonule.case.patient import Side
from zonule.case.rotation import RotationReview
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import axis_text
from zonule.drawings.rotation_sentences import turn_text
from zonule.drawings.svg import (
    Anchor,
    Drawing,
    Element,
    Stroke,
    circle,
    line,
    picture,
    polygon,
    polyline,
    text,
)

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_WIDTH_PX, _HEIGHT_PX = 340.0, 346.0
_CENTRE, _RADIUS_PX = (170.0, 150.0), 104.0
_ARC_PX, _HEAD_PX, _HEAD_HALF_PX = 78.0, 11.0, 6.0
_KEY_TOP_PX, _KEY_LEFTS_PX, _SAMPLE_PX = 308.0, (6.0, 138.0, 226.0), 22.0
_LEAST_ARROW_DEG = 2.0
"""A shorter turn leaves no room for an arrow; the words say it."""
_ARC_STEPS = 24

_NOW = Stroke(PAPER.ink, 3.0)
_BEST = Stroke(PAPER.accent, 3.0, (8.0, 4.0))
_PLANNED = Stroke(PAPER.muted, 2.0, (2.0, 4.0))


def turn_dial(review: RotationReview, side: Side) -> Drawing:
    """Where the marks lie, where they would leave least, and the shorter way round, as the examiner sees it.

    Parameters
    ----------
    review
        What turning would bring.
    side
        Whose nose and temple are written on the dial.
    """
    lies_deg, best_deg = review.outcome.lens_meridian_deg, review.best_meridian_deg
    planned = review.outcome.planned
    content = [
        circle(_CENTRE, _RADIUS_PX, stroke=Stroke(PAPER.muted, 1.2)),
        *_degrees(),
        *_sides(side),
        *([] if planned is None else [_through(planned.lens_meridian_deg, _PLANNED, "planned")]),
        _through(best_deg, _BEST, "best"),
        _through(lies_deg, _NOW, "now"),
        *_arrow(lies_deg, review.rotate_by_deg),
        *_key(review),
    ]
    box = (0.0, 0.0, _WIDTH_PX, _HEIGHT_PX)
    title = "Which way round the lens would turn"
    return picture("turn-dial", box, content, title=title, description=_said(review))


def _said(review: RotationReview) -> str:
    planned = review.outcome.planned
    meant = "" if planned is None else f" They were planned at {axis_text(planned.lens_meridian_deg)}."
    return (
        f"The marks lie at {axis_text(review.outcome.lens_meridian_deg)} and would leave least at "
        f"{axis_text(review.best_meridian_deg)}: turn {turn_text(review.rotate_by_deg)} as the examiner sees "
        f"the eye.{meant}"
    )


def _on_dial(direction_deg: float, radius: float) -> tuple[float, float]:
    """A point on the dial; degrees run counter-clockwise, rows of a picture run down."""
    angle = radians(direction_deg)
    return _CENTRE[0] + radius * cos(angle), _CENTRE[1] - radius * sin(angle)


def _through(meridian_deg: float, stroke: Stroke, class_: str) -> Element:
    ends = (_on_dial(meridian_deg, _RADIUS_PX), _on_dial(meridian_deg + 180.0, _RADIUS_PX))
    return line(*ends, stroke, class_)


def _degrees() -> Iterator[Element]:
    """Every 30 degrees of the upper half."""
    for degree in range(0, 181, 30):
        ends = (_on_dial(degree, _RADIUS_PX), _on_dial(degree, _RADIUS_PX + 6))
        yield line(*ends, Stroke(PAPER.muted, 1.2))
        x, y = _on_dial(degree, _RADIUS_PX + 20)
        yield text((x, y + 4), f"{degree}\u00b0", size=_SMALL_PX, fill=PAPER.muted, anchor="middle")


def _sides(side: Side) -> Iterator[Element]:
    """Facing the patient, the right eye's nose is on the viewer's right."""
    words = ("temple", "nose") if side is Side.RIGHT else ("nose", "temple")
    places: tuple[tuple[float, Anchor], ...] = ((6.0, "start"), (_WIDTH_PX - 6.0, "end"))
    for word, (at, anchor) in zip(words, places, strict=True):
        yield text((at, _CENTRE[1] + 26), word, size=_SMALL_PX, fill=PAPER.ink, anchor=anchor)
    said = f"{side.value} eye, as the examiner sees it"
    yield text((_WIDTH_PX / 2, 14), said, size=_SMALL_PX, fill=PAPER.muted, anchor="middle")


def _arrow(start_deg: float, turn_deg: float) -> Iterator[Element]:
    """From the marks to their best place by the shorter way, at both ends of the lens."""
    if abs(turn_deg) < _LEAST_ARROW_DEG:
        return
    for begin in (start_deg, start_deg + 180.0):
        steps = (begin + turn_deg * step / _ARC_STEPS for step in range(_ARC_STEPS + 1))
        yield polyline([_on_dial(step, _ARC_PX) for step in steps], Stroke(PAPER.accent, 2.4), "way")
        yield polygon(_head(begin + turn_deg, turn_deg), fill=PAPER.accent, class_="head")


def _head(end_deg: float, turn_deg: float) -> list[tuple[float, float]]:
    """A triangle whose tip is the end of the arc."""
    length_deg = min(degrees(_HEAD_PX / _ARC_PX), abs(turn_deg))
    back_deg = end_deg - (length_deg if turn_deg > 0.0 else -length_deg)
    sides = [_on_dial(back_deg, _ARC_PX + half) for half in (_HEAD_HALF_PX, -_HEAD_HALF_PX)]
    return [_on_dial(end_deg, _ARC_PX), *sides]


def _key(review: RotationReview) -> Iterator[Element]:
    named = [
        (_NOW, f"marks now {axis_text(review.outcome.lens_meridian_deg)}"),
        (_BEST, f"best {axis_text(review.best_meridian_deg)}"),
    ]
    planned = review.outcome.planned
    if planned is not None:
        named.append((_PLANNED, f"planned {axis_text(planned.lens_meridian_deg)}"))
    for left, (stroke, said) in zip(_KEY_LEFTS_PX, named, strict=False):
        yield line((left, _KEY_TOP_PX), (left + _SAMPLE_PX, _KEY_TOP_PX), stroke)
        yield text((left + _SAMPLE_PX + 5, _KEY_TOP_PX + 4), said, size=_SMALL_PX, fill=PAPER.ink)
    way = f"best turn: {turn_text(review.rotate_by_deg)}"
    at = (_WIDTH_PX / 2, _KEY_TOP_PX + 28)
    yield text(at, way, size=_PLAIN_PX, fill=PAPER.accent, anchor="middle", bold=True)
