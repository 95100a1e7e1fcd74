"""Whether the methods agree on one lens power."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from zonule.case.plan import MethodResult, Plan, Prediction, prediction_of
from zonule.drawings.ink import PAPER
from zonule.drawings.labels import text_width
from zonule.drawings.law import middle_half_dpt
from zonule.drawings.numbers import power_text, refraction_text, signed_text
from zonule.drawings.svg import Drawing, Element, Stroke, circle, line, picture, polygon, text
from zonule.drawings.words import method_name

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_TOP_PX, _ROW_PX, _BELOW_PX, _RIGHT_PX, _GAP_PX = 26.0, 30.0, 58.0, 64.0, 14.0
_BAND_DPT, _LEAST_REACH_DPT, _ROOM_DPT, _LEAST_PX_PER_DPT = 0.5, 1.0, 0.15, 80.0
_NARROW_BELOW_PX, _NARROW_ROW_PX, _STRIP_PX = 480, 50.0, 13.0
_TOGETHER = "together"


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    prediction: Prediction
    counts: bool
    is_together: bool = False

    @property
    def reach_dpt(self) -> tuple[float, float]:
        """Where the middle half of eyes lies; the prediction itself without a spread."""
        spread, centre = self.prediction.spread, self.prediction.refraction_dpt
        return (centre, centre) if spread is None else middle_half_dpt(centre, spread.law)

    @property
    def sentence(self) -> str:
        """The row in words."""
        said = f"{self.name} {refraction_text(self.prediction.refraction_dpt)}"
        return said if self.counts else f"{said} (not counted)"


@dataclass(frozen=True, slots=True)
class _Scale:
    left_px: float
    right_px: float
    low_dpt: float
    high_dpt: float
    row_px: float
    names_above: bool
    """On a phone each name stands above its line."""

    def bottom_px(self, rows: int) -> float:
        """The lower end of this many rows."""
        return _TOP_PX + self.row_px * rows

    def bar_px(self, index: int) -> float:
        """The height at which a row's line lies."""
        return _TOP_PX + self.row_px * (index + (0.72 if self.names_above else 0.5))

    def strips_px(self, rows: int) -> list[tuple[float, float]]:
        """From where to where the ground is drawn: not behind names that stand above their lines."""
        if not self.names_above:
            return [(_TOP_PX - 4, self.bottom_px(rows))]
        return [(self.bar_px(row) - _STRIP_PX, self.bar_px(row) + _STRIP_PX) for row in range(rows)]

    def ticks(self) -> list[float]:
        """Half dioptres, or whole ones where there is little room."""
        per_dpt = (self.right_px - self.left_px) / (self.high_dpt - self.low_dpt)
        step = 0.5 if per_dpt >= _LEAST_PX_PER_DPT else 1.0
        return [at * step for at in range(ceil(self.low_dpt / step), floor(self.high_dpt / step) + 1)]

    def x(self, refraction_dpt: float) -> float:
        share = (refraction_dpt - self.low_dpt) / (self.high_dpt - self.low_dpt)
        return self.left_px + share * (self.right_px - self.left_px)


def methods_drawing(plan: Plan, power: float, *, width: int = 720) -> Drawing:
    """What each method predicts for one lens power: a dot, and a line over the middle half of eyes.

    Parameters
    ----------
    plan
        The plan.
    power
        The lens power, dioptres; one that the lens is not made in draws nothing but says so.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    rows = _rows(plan, power)
    title = f"What each method expects of {power_text(power)}"
    if not rows:
        said = text((0, 22), f"No method predicts {power_text(power)}.", size=_PLAIN_PX, fill=PAPER.ink)
        return picture("methods", (0, 0, width, 32), [said], title=title, description="No prediction.")
    aim = plan.aim_dpt
    scale = _scale(rows, aim, width)
    bottom = scale.bottom_px(len(rows))
    content = [
        *_ground(scale, aim, len(rows)),
        *(part for index, row in enumerate(rows) for part in _row(row, index, scale, width)),
        _note(rows, bottom),
    ]
    description = "; ".join(row.sentence for row in rows) + "."
    return picture(
        "methods", (0, 0, width, bottom + _BELOW_PX), content, title=title, description=description
    )


def _rows(plan: Plan, power: float) -> list[_Row]:
    rows = [row for method in plan.methods if (row := _method_row(method, power)) is not None]
    together = plan.in_the_odds(power)
    if together is not None:
        rows.append(_Row(_TOGETHER, together, counts=True, is_together=True))
    return rows


def _method_row(method: MethodResult, power: float) -> _Row | None:
    prediction = prediction_of(method.predictions, power)
    return None if prediction is None else _Row(method_name(method.method), prediction, method.fit)


def _scale(rows: list[_Row], aim: float, width: int) -> _Scale:
    ends = [end for row in rows for end in row.reach_dpt]
    reach = max(_LEAST_REACH_DPT, max(abs(end - aim) for end in ends) + _ROOM_DPT)
    is_narrow = width < _NARROW_BELOW_PX
    left = _GAP_PX if is_narrow else max(text_width(_name(row), _PLAIN_PX) for row in rows) + _GAP_PX
    height = _NARROW_ROW_PX if is_narrow else _ROW_PX
    return _Scale(left, width - _RIGHT_PX, aim - reach, aim + reach, height, is_narrow)


def _name(row: _Row) -> str:
    return row.name if row.counts else f"{row.name}, not counted"


def _ground(scale: _Scale, aim: float, rows: int) -> list[Element]:
    bottom, x = scale.bottom_px(rows), scale.x(aim)
    said = f"aim {refraction_text(aim)}"
    return [
        *(part for strip in scale.strips_px(rows) for part in _strip(scale, aim, strip)),
        *(
            text(
                (scale.x(tick), bottom + 17),
                signed_text(tick, 1),
                size=_SMALL_PX,
                fill=PAPER.muted,
                anchor="middle",
            )
            for tick in scale.ticks()
        ),
        text((x, 15), said, size=_SMALL_PX, fill=PAPER.accent, anchor="middle", bold=True),
    ]


def _strip(scale: _Scale, aim: float, strip: tuple[float, float]) -> list[Element]:
    """Half a dioptre about the aim, the dioptres, and the aim."""
    top, bottom = strip
    left, right = scale.x(aim - _BAND_DPT), scale.x(aim + _BAND_DPT)
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    ticks = [scale.x(tick) for tick in scale.ticks()]
    return [
        polygon(corners, fill=PAPER.accent_wash, class_="band"),
        *(line((x, top), (x, bottom), Stroke(PAPER.grid, 1)) for x in ticks),
        line((scale.x(aim), top), (scale.x(aim), bottom), Stroke(PAPER.accent, 1.6), class_="aim"),
    ]


def _row(row: _Row, index: int, scale: _Scale, width: int) -> list[Element]:
    y = scale.bar_px(index)
    low, high = row.reach_dpt
    fill = PAPER.accent if row.is_together else PAPER.ink
    at = scale.x(row.prediction.refraction_dpt), y
    value = refraction_text(row.prediction.refraction_dpt).removesuffix(" D")
    bar = Stroke(PAPER.accent if row.is_together else PAPER.body_outline, 4 if row.is_together else 2.5)
    dot = PAPER.paper if row.is_together or not row.counts else PAPER.ink
    return [
        text(
            (0, y + (-17 if scale.names_above else 5)),
            _name(row),
            size=_PLAIN_PX,
            fill=fill,
            bold=row.is_together,
        ),
        *([line((scale.x(low), y), (scale.x(high), y), bar)] if high > low else []),
        circle(at, 5.5, fill=dot, stroke=Stroke(fill, 2), class_="dot"),
        text((width, y + 5), value, size=_PLAIN_PX, fill=fill, anchor="end", bold=row.is_together),
    ]


def _note(rows: list[_Row], bottom: float) -> Element:
    said = "Refraction, D. Dot: expected."
    if any(row.prediction.spread for row in rows):
        said += " Line: the middle half of eyes."
    return text((0, bottom + 44), said, size=_SMALL_PX, fill=PAPER.muted)
