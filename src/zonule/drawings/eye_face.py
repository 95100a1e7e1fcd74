"""The eye from in front, to scale in millimetres, from this eye's own numbers."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, sin

from zonule.case.case import Case
from zonule.case.lens import LensModel
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.drawings.eye_view import DASHES, View
from zonule.drawings.ink import Ink, ink_for
from zonule.drawings.labels import Label, Labels
from zonule.drawings.lens_line import lens_line, lens_sample, level_ink
from zonule.drawings.numbers import axis_text, degrees_text
from zonule.drawings.seats import SEEN
from zonule.drawings.seen_eye import LensMarks, Ring, State, seen_eye
from zonule.drawings.svg import (
    Anchor,
    Drawing,
    Element,
    Stroke,
    circle,
    line,
    picture,
    polygon,
    rectangle,
    text,
)

_OPTIC_DASHES = (0.9, 0.25)
"""Longer than those of the capsulorhexis, so that the two planned circles are told apart."""
_BAR_MM = 5
_SMALL, _PLAIN, _TITLE = 0.66, 0.74, 1.1
_ROW = 1.12
_MARK = 0.26
_EDGE_MM = 0.15
_UPRIGHT = 0.5
_ASIDES_DEG = (0, 6, -6, 10, -10, 14, -14)
_FARTHER_ASIDES_DEG = (18, -18, 22, -22, 26, -26)
"""How far a label may stand beside what it names, the nearest first; farther for labels of three lines."""


def eye_face(
    case: Case, *, seat: Seat | None = None, dark: bool = False, lens: LensModel | None = None
) -> Drawing:
    """An eye from in front, in true proportion, turned to a seat.

    Parameters
    ----------
    case
        Whose eye; what is not on record is drawn dotted or left out, and said.
    seat
        None as the examiner faces the patient; else as the surgeon sees the eye from that seat.
    dark
        For the theatre display.
    lens
        The lens in the intent, for its optic; the signed one when it is left out.

    Returns
    -------
    Drawing
        One unit of the viewBox is one millimetre.
    """
    view = View(seen_eye(case, lens), seat, ink_for(dark=dark))
    rows = view.eye.sentences
    half, top = view.half_width_mm, -view.half_width_mm - 0.9
    below = view.limbus_mm + 3.9
    content = [
        *_ground(view),
        *(part for ring in view.eye.rings for part in _ring(ring, view)),
        *_scale(view),
        *_steep_marks(view),
        *level_ink(view),
        *(part for marks in view.eye.lens_marks for part in lens_line(marks, view)),
        *_wedge(_wedge_corners(view), view),
        *_labels(view).elements,
        *_title(view, top),
        *_bar(view, below),
        *_key(view, below + 1.5),
    ]
    height = below + 1.5 + _ROW * len(rows) + 0.3 - top
    title = f"{view.eye.side.capitalize()} eye, {SEEN[seat]}"
    said = "; ".join(rows)
    return picture(
        "eye-face",
        (-half, top, 2 * half, height),
        content,
        title=title,
        description=f"{said}.",
        data_side=view.eye.side,
        data_turn_deg=view.turn_deg,
        data_incision_deg=view.eye.incision_deg if view.eye.incision_state is State.PLANNED else None,
    )


def _ground(view: View) -> list[Element]:
    parts = [circle((0, 0), view.limbus_mm, fill=view.ink.iris)]
    if view.eye.pupil is not None:
        parts.append(circle((0, 0), view.eye.pupil.diameter_mm / 2, fill=view.ink.pupil))
    return parts


def _ring(ring: Ring, view: View) -> list[Element]:
    """A ring in a line that shows on its ground; at the very edge of the pupil, on a strip of paper."""
    radius, class_ = ring.diameter_mm / 2, ring.name.split()[-1]
    pupil, parts = view.eye.pupil, []
    stroke = _line_of(ring, view.ink)
    if pupil is not None and ring not in {pupil, view.eye.limbus}:
        inside_mm = pupil.diameter_mm / 2 - radius
        if inside_mm > _EDGE_MM:
            stroke = _line_of(ring, view.ink, on_pupil=True)
        elif inside_mm > -_EDGE_MM:
            parts.append(circle((0, 0), radius, stroke=Stroke(view.ink.paper, 0.26)))
    return [*parts, circle((0, 0), radius, stroke=stroke, class_=class_)]


def _line_of(ring: Ring, ink: Ink, *, on_pupil: bool = False) -> Stroke:
    if ring.name == "lens optic":
        dashes = _OPTIC_DASHES if ring.state is State.PLANNED else ()
        return Stroke(ink.on_pupil if on_pupil else ink.ink, 0.12, dashes)
    if ring.state in {State.PLANNED, State.DONE}:
        return Stroke(ink.accent_on_pupil if on_pupil else ink.accent, 0.12, DASHES[ring.state])
    return Stroke(ink.ink, 0.12, DASHES[ring.state], "round" if ring.state is State.NOT_MEASURED else "butt")


def _scale(view: View) -> list[Element]:
    ticks = []
    for direction in range(0, 360, 10):
        is_long = direction % 30 == 0
        stroke = Stroke(view.ink.muted, 0.07 if is_long else 0.045)
        outer = view.limbus_mm + (0.6 if is_long else 0.42)
        ticks.append(line(view.point(view.limbus_mm + 0.2, direction), view.point(outer, direction), stroke))
    return ticks


def _steep_ends(view: View) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    steep = view.eye.steep_meridian_deg
    if steep is None:
        return []
    # Meridian 0 is meridian 180, so both are marked from the same start.
    ends = (steep % 180, steep % 180 + 180)
    return [(view.point(view.limbus_mm - 0.45, end), view.point(view.limbus_mm + 0.75, end)) for end in ends]


def _steep_marks(view: View) -> list[Element]:
    stroke = Stroke(view.ink.accent, _MARK)
    return [line(inner, outer, stroke, class_="steep") for inner, outer in _steep_ends(view)]


def _wedge_corners(view: View) -> list[tuple[float, float]]:
    at = view.eye.incision_deg
    if at is None:
        return []
    base = view.limbus_mm + 0.8
    return [view.point(view.limbus_mm - 0.3, at), view.point(base, at - 5.5), view.point(base, at + 5.5)]


def _wedge(corners: list[tuple[float, float]], view: View) -> list[Element]:
    """A wedge that points at the limbus; the record says where an incision is, not how wide."""
    if not corners:
        return []
    is_done = view.eye.incision_state is State.DONE
    fill = view.ink.amber if is_done else view.ink.paper
    stroke = Stroke(view.ink.amber, 0.12, () if is_done else (0.24, 0.15))
    return [polygon(corners, fill=fill, stroke=stroke, class_="incision")]


def _labels(view: View) -> Labels:
    labels, eye = Labels(gap=0.12), view.eye
    for mark in _steep_ends(view):
        labels.keep_clear(mark)
    if eye.incision_deg is not None:
        labels.place(_incision_labels(view, eye.incision_deg))
        labels.keep_clear(_wedge_corners(view))
    for marks in eye.lens_marks:
        labels.place(_lens_labels(view, marks))
    if eye.steep_meridian_deg is not None:
        steep = list(_steep_labels(view, eye.steep_meridian_deg))
        # Beside the marks of a lens the words may have no room; mark and key still say it.
        labels.place_any_free(steep) if eye.lens_marks else labels.place(steep)
    for word, direction in _sides(view).items():
        labels.place(_side_words(view, word, direction))
    for direction in range(0, 360, 30):
        at_point = view.point(view.limbus_mm + 1.25, direction)
        labels.place_any_free([Label((str(direction),), at_point, _SMALL, view.ink.muted, class_="scale")])
    return labels


def _sides(view: View) -> dict[str, float]:
    """Which way nose and temple lie: facing the patient, the right eye's nose is on the viewer's right."""
    nasal = 0.0 if view.eye.side is Side.RIGHT else 180.0
    return {"nasal": nasal, "temporal": 180.0 - nasal, "superior": 90.0, "inferior": 270.0}


def _outside(
    view: View, at: float, lines: tuple[str, ...], fill: str, class_: str, beyond_mm: float = 0.0
) -> Label:
    """A label just outside the scale: one line above and below the eye, several beside it."""
    shown = radians(view.shown_deg(at))
    if abs(cos(shown)) < _UPRIGHT:
        at_point = view.point(view.limbus_mm + 1.5 + beyond_mm, at)
        return Label((" ".join(lines),), at_point, _PLAIN, fill, "middle", True, class_)
    anchor: Anchor = "start" if cos(shown) > 0 else "end"
    return Label(lines, view.point(view.limbus_mm + 1.1, at), _PLAIN, fill, anchor, True, class_)


def _incision_labels(view: View, at: float) -> list[Label]:
    """At the incision, or a little to one side of it."""
    lines = ("incision", degrees_text(at))
    return [_outside(view, at + aside, lines, view.ink.amber, "incision-label") for aside in _ASIDES_DEG]


def _lens_labels(view: View, marks: LensMarks) -> list[Label]:
    """At an end of the line, or a little to one side of it, or a row farther out."""
    word = "marks" if len(view.eye.lens_marks) == 1 else marks.how.split()[0]
    lines = ("lens", word, axis_text(marks.meridian_deg))
    return [
        _outside(view, end + aside, lines, view.ink.ink, "lens-label", beyond_mm)
        for beyond_mm in (0.0, 1.0)
        for aside in (*_ASIDES_DEG, *_FARTHER_ASIDES_DEG)
        for end in _ends_from_above(view, marks.meridian_deg)
    ]


def _steep_labels(view: View, steep: float) -> Iterator[Label]:
    """At the upper end of the meridian, or at the other one when that is taken."""
    lines = ("steep", axis_text(steep))
    for end in _ends_from_above(view, steep):
        yield _outside(view, end, lines, view.ink.accent, "steep-label")


def _ends_from_above(view: View, meridian: float) -> list[float]:
    ends = (meridian % 180, meridian % 180 + 180)
    return sorted(ends, key=lambda end: -sin(radians(view.shown_deg(end))))


def _side_words(view: View, word: str, direction: float) -> list[Label]:
    """Above and below in the middle; left and right a little below or above the horizontal."""
    x, y = view.point(1.0, direction)
    radius, fill = view.limbus_mm, view.ink.ink
    if abs(y) > _UPRIGHT:
        said = f"{word}, where the surgeon sits" if view.seat is not None and y > 0 else word
        rows = (radius + 2.35, radius + 2.8, *(() if y > 0 else (radius + 3.5,)))
        return [
            Label((said,), (0.0, row if y > 0 else -row), _PLAIN, fill, "middle", class_="side")
            for row in rows
        ]
    anchor: Anchor = "start" if x > 0 else "end"
    return [
        Label((word,), ((radius + 0.75) * (1 if x > 0 else -1), row), _PLAIN, fill, anchor, class_="side")
        for row in (1.75, -1.75, 2.3, -2.3, 0.3, -0.3, 2.9, -2.9, 3.5, -3.5, 4.1, -4.1)
    ]


def _title(view: View, top: float) -> list[Element]:
    half, ink = view.half_width_mm - 0.2, view.ink
    return [
        text((-half, top + 1.2), f"{view.eye.side.capitalize()} eye", size=_TITLE, fill=ink.ink, bold=True),
        text((half, top + 1.2), SEEN[view.seat], size=_PLAIN, fill=ink.muted, anchor="end"),
    ]


def _bar(view: View, row: float) -> list[Element]:
    start, stroke = -_BAR_MM / 2, Stroke(view.ink.muted, 0.07)
    ticks = [
        line((start + mm, row - (0.35 if mm in {0, _BAR_MM} else 0.2)), (start + mm, row), stroke)
        for mm in range(_BAR_MM + 1)
    ]
    label = text((start + _BAR_MM + 0.35, row + 0.1), f"{_BAR_MM} mm", size=_SMALL, fill=view.ink.muted)
    return [line((start, row), (start + _BAR_MM, row), stroke), *ticks, label]


def _key(view: View, top: float) -> list[Element]:
    left, parts = -view.half_width_mm + 0.3, []
    by_sentence = {ring.sentence: ring for ring in view.eye.rings}
    for index, sentence in enumerate(view.eye.sentences):
        row = top + _ROW * index
        parts += _sample(sentence, by_sentence.get(sentence), left, row, view)
        parts.append(text((left + 2.2, row + 0.24), sentence, size=_PLAIN, fill=view.ink.ink, class_="key"))
    return parts


def _sample(sentence: str, ring: Ring | None, left: float, row: float, view: View) -> list[Element]:
    """What the thing looks like in the drawing, at the start of its line in the key."""
    middle = left + 0.85
    if ring is not None and ring is view.eye.pupil:
        stroke = Stroke(view.ink.ink, 0.12)
        return [rectangle((left, row - 0.3), (1.7, 0.6), fill=view.ink.pupil, stroke=stroke)]
    if ring is not None:
        return [line((left, row), (left + 1.7, row), _line_of(ring, view.ink))]
    if sentence.startswith("incision"):
        corners = [(middle + 0.5, row), (middle - 0.5, row - 0.4), (middle - 0.5, row + 0.4)]
        return _wedge(corners, view)
    if sentence.startswith("steep") and view.eye.steep_meridian_deg is not None:
        return [line((middle, row - 0.42), (middle, row + 0.42), Stroke(view.ink.accent, _MARK))]
    return lens_sample(sentence, left, row, view)
