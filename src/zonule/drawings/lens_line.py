"""The meridian of a toric lens on the eye: a line across the optic, marks of the lens at its ends."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.drawings.eye_view import DASHES, View
from zonule.drawings.seen_eye import INK_SENTENCE, LensMarks, State
from zonule.drawings.svg import Element, Stroke, circle, line

_MARKS_INSIDE_MM = (0.3, 0.8, 1.3)
"""How far inside the edge of the optic the three marks of an end lie: that a lens has marks there is common
practice, no source; how many and how far is our choice."""
_MARK_MM, _LINE_MM, _FINE_MM, _INK_MM = 0.18, 0.14, 0.08, 0.18
_BEYOND_LIMBUS_MM = 0.2


def lens_line(marks: LensMarks, view: View) -> list[Element]:
    """A line across the optic, thin from there to the scale; dashed with open marks where it is planned."""
    edge_mm = view.eye.marks_apart_mm / 2
    out_mm = view.limbus_mm + _BEYOND_LIMBUS_MM
    parts: list[Element] = []
    for end_deg in (marks.meridian_deg, marks.meridian_deg + 180.0):
        parts += _radial(view, marks.state, end_deg, (0.0, edge_mm), _LINE_MM)
        parts += _radial(view, marks.state, end_deg, (edge_mm, out_mm), _FINE_MM)
        parts += [
            _mark(view.point(edge_mm - inside, end_deg), marks.state, _colours(view, edge_mm - inside))
            for inside in _MARKS_INSIDE_MM
        ]
    return parts


def level_ink(view: View) -> list[Element]:
    """Two short ticks at the limbus, level as the patient sits."""
    if not view.eye.has_ink:
        return []
    stroke = Stroke(view.ink.ink, _INK_MM)
    inner, outer = view.limbus_mm - 0.95, view.limbus_mm - 0.1
    return [
        line(view.point(inner, end), view.point(outer, end), stroke, class_="level-ink") for end in (0, 180)
    ]


def lens_sample(sentence: str, left: float, row: float, view: View) -> list[Element]:
    """What a sentence of the key about lens or ink looks like in the drawing; nothing for any other."""
    if sentence == INK_SENTENCE:
        return [line((left + 0.4, row), (left + 1.25, row), Stroke(view.ink.ink, _INK_MM))]
    marks = next((one for one in view.eye.lens_marks if one.sentence == sentence), None)
    if marks is None:
        return []
    stroke = Stroke(view.ink.ink, _LINE_MM, DASHES[marks.state])
    colours = (view.ink.ink, view.ink.paper)
    ends = [_mark((left + across, row), marks.state, colours, "lens-sample") for across in (0.3, 1.4)]
    return [line((left, row), (left + 1.7, row), stroke), *ends]


def _colours(view: View, radius_mm: float) -> tuple[str, str]:
    """What shows on the ground at this radius, and the ground."""
    if radius_mm <= view.pupil_mm:
        return view.ink.on_pupil, view.ink.pupil
    return view.ink.ink, view.ink.iris


def _radial(
    view: View, state: State, direction_deg: float, span_mm: tuple[float, float], width: float
) -> Iterator[Element]:
    """A line outward, in two pieces where it crosses the edge of the pupil."""
    start, end = span_mm
    edge = min(max(view.pupil_mm, start), end)
    for inner, outer in ((start, edge), (edge, end)):
        if outer > inner:
            colour, _ = _colours(view, (inner + outer) / 2)
            stroke = Stroke(colour, width, DASHES[state])
            yield line(
                view.point(inner, direction_deg), view.point(outer, direction_deg), stroke, class_="lens-line"
            )


def _mark(
    at: tuple[float, float], state: State, colours: tuple[str, str], class_: str = "lens-mark"
) -> Element:
    colour, ground = colours
    fill = ground if state is State.PLANNED else colour
    return circle(at, _MARK_MM, fill=fill, stroke=Stroke(colour, 0.08), class_=class_)
