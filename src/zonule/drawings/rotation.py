"""The cylinder that a toric lens would leave at each meridian: where it lies, was meant, and does best."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

from zonule.case.rotation import RotationReview
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import axis_text, plain_text, size_text
from zonule.drawings.svg import Anchor, Drawing, Element, Stroke, circle, line, picture, polyline, text

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_LEFT_PX, _RIGHT_PX, _TOP_PX, _HEIGHT_PX = 44.0, 14.0, 64.0, 190.0
_HALF_DPT = 0.5


def sweep_drawing(review: RotationReview, *, width: int = 720) -> Drawing:
    """Cylinder against lens meridian.

    Parameters
    ----------
    review
        Its sweep is the line; present, planned and best meridian are marked.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    top_dpt = max(1.0, ceil(max(cylinder for _, cylinder in review.sweep) * 2.0) / 2.0)
    room = width - _LEFT_PX - _RIGHT_PX

    def at(meridian_deg: float, cylinder_dpt: float) -> tuple[float, float]:
        across = _LEFT_PX + room * meridian_deg / 180.0
        return across, _TOP_PX + _HEIGHT_PX * (1.0 - cylinder_dpt / top_dpt)

    content = [*_scale(at, top_dpt), *_curve(review, at), *_marks(review, at)]
    box = (0.0, 0.0, float(width), _TOP_PX + _HEIGHT_PX + 44.0)
    title = "Cylinder left with the lens at each meridian"
    return picture("sweep", box, content, title=title, description=_said(review))


_At = Callable[[float, float], tuple[float, float]]


def _said(review: RotationReview) -> str:
    lies, best = axis_text(review.outcome.lens_meridian_deg), axis_text(review.best_meridian_deg)
    said = (
        f"Now at {lies}: {size_text(float(review.seen.magnitude_dpt))}. Least at {best}: "
        f"{size_text(float(review.after.magnitude_dpt))}."
    )
    planned = review.outcome.planned
    return said if planned is None else f"{said} Planned for {axis_text(planned.lens_meridian_deg)}."


def _scale(at: _At, top_dpt: float) -> list[Element]:
    parts: list[Element] = []
    steps = int(top_dpt / _HALF_DPT)
    every = max(1, ceil(steps / 6))
    for step in range(0, steps + 1, every):
        size = step * _HALF_DPT
        parts.append(line(at(0, size), at(180, size), Stroke(PAPER.grid, 1)))
        x, y = at(0, size)
        parts.append(
            text((x - 6, y + 4), plain_text(size, 1), size=_SMALL_PX, fill=PAPER.muted, anchor="end")
        )
    x, y = at(180, _HALF_DPT)
    parts.append(line(at(0, _HALF_DPT), (x, y), Stroke(PAPER.accent, 1.2, (5.0, 4.0)), class_="half"))
    parts.append(text((x, y - 5), "0.50 D", size=_SMALL_PX, fill=PAPER.accent, anchor="end"))
    for meridian in range(0, 181, 30):
        x, y = at(meridian, 0.0)
        parts.append(line((x, y), (x, y + 5), Stroke(PAPER.muted, 1)))
        parts.append(
            text((x, y + 19), f"{meridian}\u00b0", size=_SMALL_PX, fill=PAPER.muted, anchor="middle")
        )
    x, y = at(0, 0.0)
    parts.append(text((x, y + 37), "where the marks lie", size=_SMALL_PX, fill=PAPER.muted))
    parts.append(text((2, 12), "cylinder left at the cornea, D", size=_SMALL_PX, fill=PAPER.muted))
    return parts


def _curve(review: RotationReview, at: _At) -> list[Element]:
    """The sweep, closed at 0, which is 180; its lowest point lies between whole degrees."""
    lowest = (review.best_meridian_deg, float(review.after.magnitude_dpt))
    points = sorted([(0.0, review.sweep[-1][1]), *review.sweep, lowest])
    return [polyline([at(*point) for point in points], Stroke(PAPER.ink, 1.8), class_="sweep")]


def _marks(review: RotationReview, at: _At) -> list[Element]:
    planned = review.outcome.planned
    marks = [
        ("now", review.outcome.lens_meridian_deg, float(review.seen.magnitude_dpt), PAPER.ink, 0),
        ("best", review.best_meridian_deg, float(review.after.magnitude_dpt), PAPER.accent, 1),
    ]
    parts = [part for mark in marks for part in _mark(*mark, at)]
    if planned is not None:
        x, _ = at(planned.lens_meridian_deg, 0.0)
        dashes = Stroke(PAPER.amber, 1.6, (4.0, 4.0))
        parts.append(line((x, _TOP_PX), (x, _TOP_PX + _HEIGHT_PX), dashes, class_="planned"))
        said = f"planned {axis_text(planned.lens_meridian_deg)}"
        parts.append(_label(x, 60.0, said, PAPER.amber, at))
    return parts


def _mark(name: str, meridian_deg: float, cylinder_dpt: float, fill: str, row: int, at: _At) -> list[Element]:
    x, y = at(meridian_deg, cylinder_dpt)
    top = 30.0 + 15.0 * row
    said = f"{name} {axis_text(meridian_deg)}: {size_text(cylinder_dpt)}"
    return [
        line((x, _TOP_PX), (x, y), Stroke(fill, 1.2), class_=name),
        circle((x, y), 4.5, fill=fill, class_=name),
        _label(x, top, said, fill, at),
    ]


def _label(x: float, y: float, said: str, fill: str, at: _At) -> Element:
    """Beside its line, to the side that has room."""
    middle, _ = at(90.0, 0.0)
    anchor: Anchor = "start" if x < middle else "end"
    shift = 5.0 if x < middle else -5.0
    return text((x + shift, y), said, size=_PLAIN_PX, fill=fill, anchor=anchor, bold=True)
