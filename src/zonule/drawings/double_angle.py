"""The astigmatism of many eyes, each a point in the double-angle plot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, cos, radians, sin

import numpy as np

from zonule.drawings.ink import PAPER
from zonule.drawings.labels import wrapped
from zonule.drawings.numbers import axis_text, plain_text, size_text
from zonule.drawings.svg import Anchor, Drawing, Element, Stroke, circle, line, picture, polygon, text
from zonule.errors import MissingMeasurementError, NotDefinedError
from zonule.science.astigmatism.aggregate import Aggregate, Ellipse, aggregate, centroid_ellipse, data_ellipse
from zonule.science.astigmatism.vectors import Astigmatism

RING_DPT = 0.5
_LEAST_RINGS = 3
_OUTLINE_POINTS = 96
_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_LABEL_PX = 62.0
_LINE_PX, _ROW_PX = 21.0, 16.0
_LEGEND_LEFT_PX = 34.0
_MERIDIANS_DEG = (180, 45, 90, 135)
_SOME_LEFT_OUT = 20
"""With fewer eyes the outline leaves none out."""
_Told = tuple[Callable[[float], list[Element]], str]
"""How a mark is drawn at a height, and what it is."""
_TITLE = "Astigmatism of many eyes, double-angle plot"


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where the plot lies on the paper."""

    width: float
    reach_dpt: float

    @property
    def radius(self) -> float:
        return self.width / 2.0 - _LABEL_PX

    @property
    def bottom(self) -> float:
        return 2.0 * self.middle[1]

    @property
    def middle(self) -> tuple[float, float]:
        return self.width / 2.0, self.radius + 2.0 * _LINE_PX

    def at(self, x_dpt: float, y_dpt: float) -> tuple[float, float]:
        """A point of the plot; counter-clockwise is counter-clockwise on the paper too."""
        scale = self.radius / self.reach_dpt
        return self.middle[0] + scale * x_dpt, self.middle[1] - scale * y_dpt

    def outline(self, ellipse: Ellipse) -> list[tuple[float, float]]:
        return self.points(ellipse.outline(_OUTLINE_POINTS))

    def points(self, vectors: Astigmatism) -> list[tuple[float, float]]:
        """Where each of many vectors lies."""
        x_dpt, y_dpt = np.atleast_1d(vectors.x_dpt), np.atleast_1d(vectors.y_dpt)
        return [self.at(float(x), float(y)) for x, y in zip(x_dpt, y_dpt, strict=True)]


def double_angle_drawing(
    eyes: Astigmatism, *, outline: Astigmatism | None = None, width: int = 560
) -> Drawing:
    """Each eye at its magnitude and twice its steep meridian, with the centroid and both ellipses of 95 %.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, all finite.
    outline
        Corners of the convex outline around 95 % of these eyes, where it is to be drawn too.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    if not np.size(eyes.x_dpt):
        return _no_eyes(width)
    ellipses = _ellipses(eyes)
    plot = _Plot(width, _reach_dpt(eyes, ellipses))
    found = aggregate(eyes)
    told = _told(found, ellipses, outline)
    legend, bottom = _legend(plot, told)
    content = [
        *_ground(plot, found.centroid),
        *_regions(plot, ellipses),
        *([] if outline is None else [polygon(plot.points(outline), stroke=_OF_MOST, class_="outline")]),
        *(circle(point, 3.2, fill=PAPER.ink, class_="eye") for point in plot.points(eyes)),
        *_cross(plot, found.centroid),
        *legend,
    ]
    box = (0, 0, width, bottom)
    description = " ".join(sentence for _, sentence in told)
    return picture("double-angle", box, content, title=_TITLE, description=description)


def _no_eyes(width: int) -> Drawing:
    said = "No eyes yet."
    content = [text((0, 22), said, size=_PLAIN_PX, fill=PAPER.ink)]
    return picture("double-angle", (0, 0, width, 32), content, title=_TITLE, description=said)


def _ellipses(eyes: Astigmatism) -> tuple[Ellipse, Ellipse] | None:
    """Of the data and of the centroid; None where these eyes have none."""
    try:
        return data_ellipse(eyes), centroid_ellipse(eyes)
    except (MissingMeasurementError, NotDefinedError):
        return None


def _reach_dpt(eyes: Astigmatism, ellipses: tuple[Ellipse, Ellipse] | None) -> float:
    """The outermost ring: nothing that is drawn lies beyond it."""
    shown = [eyes] if ellipses is None else [eyes, ellipses[0].outline(_OUTLINE_POINTS)]
    farthest_dpt = max(float(np.max(each.magnitude_dpt)) for each in shown)
    rings = max(_LEAST_RINGS, ceil(farthest_dpt / RING_DPT))
    step = ceil(rings / (2 * _LEAST_RINGS))
    return RING_DPT * step * ceil(rings / step)


def _ring_step_dpt(reach_dpt: float) -> float:
    return RING_DPT * ceil(round(reach_dpt / RING_DPT) / (2 * _LEAST_RINGS))


def _ground(plot: _Plot, centroid: Astigmatism) -> list[Element]:
    """Rings and spokes; rings say their size on the side away from the eyes."""
    step_dpt = _ring_step_dpt(plot.reach_dpt)
    side = -1.0 if centroid.x_dpt > 0.0 else 1.0
    across, anchor = side * sin(radians(22.5)), _anchor(side)
    scale, parts = plot.radius / plot.reach_dpt, []
    for meridian in _MERIDIANS_DEG:
        parts.extend(_spoke(plot, meridian))
    for ring in range(1, round(plot.reach_dpt / step_dpt) + 1):
        size_dpt = ring * step_dpt
        parts.append(
            circle(plot.middle, scale * size_dpt, stroke=Stroke(PAPER.body_outline, 0.9), class_="ring")
        )
        at = plot.at(size_dpt * across, -size_dpt * cos(radians(22.5)))
        label_at, said = (at[0] + 3 * side, at[1] + 13), f"{plain_text(size_dpt, 1)} D"
        parts.append(_ring_label(label_at, said, anchor))
    return parts


def _ring_label(at: tuple[float, float], said: str, anchor: Anchor) -> Element:
    return text(at, said, size=_SMALL_PX, fill=PAPER.muted, anchor=anchor, class_="ring-label")


def _anchor(side: float) -> Anchor:
    """Of a text beside a point, so that it runs away from it."""
    return "start" if side > 0.0 else "end"


def _spoke(plot: _Plot, meridian_deg: int) -> list[Element]:
    twice = radians(2 * meridian_deg)
    across, up = cos(twice), sin(twice)
    end = plot.at(plot.reach_dpt * across, plot.reach_dpt * up)
    beyond = (end[0] + 8 * across, end[1] + 5 - 16 * up)
    anchor: Anchor = "middle" if abs(across) < abs(up) else _anchor(across)
    rule = {180: "against", 90: "with"}.get(meridian_deg)
    parts = [
        line(plot.middle, end, Stroke(PAPER.grid, 1)),
        text(
            beyond, axis_text(meridian_deg), size=_PLAIN_PX, fill=PAPER.ink, anchor=anchor, class_="meridian"
        ),
    ]
    if rule:
        for row, said in enumerate((rule, "the rule"), start=1):
            at = (beyond[0], beyond[1] + row * 15)
            parts.append(text(at, said, size=_SMALL_PX, fill=PAPER.muted, anchor=anchor))
    return parts


def _regions(plot: _Plot, ellipses: tuple[Ellipse, Ellipse] | None) -> list[Element]:
    if ellipses is None:
        return []
    data, middle = ellipses
    return [
        polygon(plot.outline(data), stroke=_OF_DATA, class_="data-ellipse"),
        polygon(plot.outline(middle), fill=PAPER.accent_wash, stroke=_OF_CENTROID, class_="centroid-ellipse"),
    ]


_OF_DATA = Stroke(PAPER.ink, 1.4)
_OF_CENTROID = Stroke(PAPER.accent, 2.4)
_OF_MOST = Stroke(PAPER.muted, 0.9)


def _cross(plot: _Plot, centroid: Astigmatism) -> list[Element]:
    return _cross_at(plot.at(float(centroid.x_dpt), float(centroid.y_dpt)), "centroid")


def _cross_at(at: tuple[float, float], class_: str | None = None) -> list[Element]:
    x, y = at
    stroke = Stroke(PAPER.accent, 2.6)
    return [
        line((x - 7, y), (x + 7, y), stroke, class_=class_),
        line((x, y - 7), (x, y + 7), stroke),
    ]


def _legend(plot: _Plot, told: list[_Told]) -> tuple[list[Element], float]:
    """Every mark and what it is, below the plot; and where the last line ends."""
    row_px, parts = plot.bottom + _LINE_PX, []
    for mark, sentence in told:
        parts.extend(mark(row_px - 4))
        for said in wrapped(sentence, plot.width - _LEGEND_LEFT_PX, _SMALL_PX):
            parts.append(text((_LEGEND_LEFT_PX, row_px), said, size=_SMALL_PX, fill=PAPER.ink))
            row_px += _ROW_PX
        row_px += _LINE_PX - _ROW_PX
    return parts, row_px - _ROW_PX / 2


def _told(
    found: Aggregate, ellipses: tuple[Ellipse, Ellipse] | None, outline: Astigmatism | None
) -> list[_Told]:
    """Each mark with its sentence."""
    eyes = "1 eye" if found.eyes == 1 else f"{found.eyes} eyes"
    middle = found.centroid
    mean, size = size_text(found.mean_magnitude_dpt), size_text(float(middle.magnitude_dpt))
    told: list[_Told] = [
        (_dot, f"{eyes}, at the {middle.plane}. Mean magnitude {mean}: not the centroid."),
        (
            lambda row_px: _cross_at((14, row_px)),
            f"Cross: centroid, the mean vector, {size} at {axis_text(float(middle.steep_meridian_deg))}.",
        ),
    ]
    if ellipses is None:
        told.append((lambda _: [], "No ellipses: they need three or more eyes that do not lie on one line."))
    else:
        told.extend(_told_of_ellipses(*ellipses))
    if outline is not None:
        whose = "95 of 100 of these eyes lie" if found.eyes >= _SOME_LEFT_OUT else "all of these eyes lie"
        sentence = f"Thin outline with corners: {whose} in it, whatever law their vectors follow."
        told.append((_stroke(_OF_MOST), sentence))
    return told


def _told_of_ellipses(data: Ellipse, centre: Ellipse) -> list[_Told]:
    of_centre = "Small ellipse: the true centroid lies here, with 95 % confidence"
    of_data = "Large ellipse: 95 of 100 further eyes lie here, if vectors are normal"
    return [
        (_stroke(_OF_CENTROID), f"{of_centre}; half axes {_halves(centre)}."),
        (_stroke(_OF_DATA), f"{of_data}; half axes {_halves(data)}."),
    ]


def _dot(row_px: float) -> list[Element]:
    return [circle((14, row_px), 3.2, fill=PAPER.ink)]


def _stroke(one: Stroke) -> Callable[[float], list[Element]]:
    return lambda row_px: [line((2, row_px), (26, row_px), one)]


def _halves(ellipse: Ellipse) -> str:
    return f"{plain_text(ellipse.semi_major_dpt, 2)} and {size_text(ellipse.semi_minor_dpt)}"
