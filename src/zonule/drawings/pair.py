"""Both eyes on one scale: where each may end, and at which distance it sees without glasses."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from zonule.case.pair import EyeOutlook, StrategyOutlook
from zonule.drawings.ink import PAPER
from zonule.drawings.law import density_per_dpt
from zonule.drawings.numbers import (
    PLUS_MINUS,
    chance_text,
    power_text,
    refraction_text,
    signed_text,
    size_text,
)
from zonule.drawings.pair_sentences import clear_distance_text, strategy_name
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, polygon, text
from zonule.science.optics.working_distance import clear_distance_m

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_TOP_PX, _ROW_PX, _BELOW_PX, _LEFT_PX, _RIGHT_PX = 4.0, 84.0, 66.0, 80.0, 22.0
_NARROW_BELOW_PX = 480
_ROOM_DPT, _LEAST_SPAN_DPT, _HALF_DPT = 1.4, 4.0, 0.5
_OUTLINE_POINTS = 121
_LEAST_SHARE_OF_PEAK = 0.02
_BODY_SHARE = 0.62
"""Of a row's height, for the tallest distribution."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """Refractions along the page, one dioptre as wide everywhere."""

    low_dpt: float
    high_dpt: float
    width: float

    def x(self, refraction_dpt: float) -> float:
        """Where a refraction lies."""
        share = (refraction_dpt - self.low_dpt) / (self.high_dpt - self.low_dpt)
        return _LEFT_PX + share * (self.width - _LEFT_PX - _RIGHT_PX)

    @property
    def whole(self) -> list[int]:
        """Whole dioptres in range."""
        return list(range(ceil(self.low_dpt), floor(self.high_dpt) + 1))


def pair_drawing(strategy: StrategyOutlook, *, width: int = 720) -> Drawing:
    """Both eyes' refractions on one dioptre axis, with the distances that are in focus.

    Parameters
    ----------
    strategy
        One way of aiming both eyes.
    width
        Width in CSS pixels at which the drawing will be shown; one unit of the viewBox is one pixel.

    Returns
    -------
    Drawing
        The right eye above the left; areas are chances, the same area in both rows.
    """
    scale = _scale(strategy, width)
    peaks = [float(density_per_dpt(np.array([0.0]), 0.0, eye.law)[0]) for eye in strategy.eyes]
    rows = [part for row, eye in enumerate(strategy.eyes) for part in _row(scale, row, eye, max(peaks))]
    return picture(
        "pair",
        (0, 0, width, _TOP_PX + 2 * _ROW_PX + _BELOW_PX),
        [*_ground(scale), *rows, *_difference(scale, strategy)],
        title=f"Both eyes: {strategy_name(strategy.strategy)}",
        description=" ".join(_said(eye) for eye in strategy.eyes),
    )


def _scale(strategy: StrategyOutlook, width: int) -> _Scale:
    """Whole dioptres that hold both eyes, at least four of them."""
    ends = [eye.refraction_dpt for eye in strategy.eyes]
    ends += [eye.target_dpt for eye in strategy.eyes if eye.target_dpt is not None]
    low, high = floor(min(ends) - _ROOM_DPT), ceil(max(ends) + _ROOM_DPT)
    spare = max(0.0, _LEAST_SPAN_DPT - (high - low))
    return _Scale(low - spare / 2.0, high + spare / 2.0, float(width))


def _base(row: int) -> float:
    return _TOP_PX + (row + 1) * _ROW_PX - 12.0


def _ground(scale: _Scale) -> list[Element]:
    bottom = _TOP_PX + 2 * _ROW_PX
    parts: list[Element] = []
    for whole in scale.whole:
        x = scale.x(whole)
        parts += [
            line((x, _TOP_PX), (x, bottom), Stroke(PAPER.grid, 1)),
            text((x, bottom + 16), signed_text(whole, 0), size=_SMALL_PX, fill=PAPER.muted, anchor="middle"),
        ]
    every = 1 if scale.width >= _NARROW_BELOW_PX else 2
    far = [whole for whole in scale.whole if whole <= 0 and whole % every == 0]
    parts += [
        text((scale.x(one), bottom + 34), _short(one), size=_SMALL_PX, fill=PAPER.muted, anchor="middle")
        for one in far
    ]
    return [
        *parts,
        text((0, bottom + 16), "D", size=_SMALL_PX, fill=PAPER.muted),
        text((0, bottom + 34), "in focus", size=_SMALL_PX, fill=PAPER.muted),
    ]


def _short(refraction_dpt: float) -> str:
    return clear_distance_text(float(clear_distance_m(refraction_dpt)))


def _row(scale: _Scale, row: int, eye: EyeOutlook, tallest: float) -> list[Element]:
    base, centre = _base(row), scale.x(eye.refraction_dpt)
    height = _BODY_SHARE * _ROW_PX
    body = _outline(scale, eye, base, height / tallest, (scale.low_dpt, scale.high_dpt))
    parts = [
        text((0, base - 14), eye.side.value, size=_PLAIN_PX, fill=PAPER.ink, bold=True, class_="side"),
        text((0, base + 2), _what(eye), size=_SMALL_PX, fill=PAPER.muted),
        polygon(body, fill=PAPER.body if eye.target_dpt is not None else PAPER.grid),
    ]
    if eye.target_dpt is not None:
        band = (eye.target_dpt - _HALF_DPT, eye.target_dpt + _HALF_DPT)
        within = _outline(scale, eye, base, height / tallest, band)
        aim = scale.x(eye.target_dpt)
        parts += [
            *([polygon(within, fill=PAPER.accent_body, class_="within")] if within else []),
            line((aim, base - height), (aim, base + 5), Stroke(PAPER.accent, 1.6, (4, 3)), class_="aim"),
        ]
    said = refraction_text(eye.refraction_dpt)
    return [
        *parts,
        polygon(body, stroke=Stroke(PAPER.body_outline, 1), class_="body"),
        line((scale.x(scale.low_dpt), base), (scale.x(scale.high_dpt), base), Stroke(PAPER.muted, 1)),
        line((centre, base - height), (centre, base), Stroke(PAPER.ink, 2), class_="middle"),
        text(
            (centre, base - height - 5),
            said,
            size=_SMALL_PX,
            fill=PAPER.ink,
            anchor="middle",
            class_="expected",
        ),
    ]


def _what(eye: EyeOutlook) -> str:
    return "achieved" if eye.lens_power_dpt is None else power_text(eye.lens_power_dpt)


def _outline(
    scale: _Scale, eye: EyeOutlook, base: float, unit: float, limits: tuple[float, float]
) -> list[tuple[float, float]]:
    """The outline of a distribution between limits, where it is thick enough to be seen."""
    low, high = max(limits[0], scale.low_dpt), min(limits[1], scale.high_dpt)
    refractions = np.linspace(low, high, _OUTLINE_POINTS)
    density = density_per_dpt(refractions, eye.refraction_dpt, eye.law)
    peak = float(density_per_dpt(np.array([0.0]), 0.0, eye.law)[0])
    seen = density >= _LEAST_SHARE_OF_PEAK * peak
    pairs = zip(refractions[seen].tolist(), density[seen].tolist(), strict=True)
    curve = [(scale.x(refraction), base - unit * height) for refraction, height in pairs]
    return [(curve[0][0], base), *curve, (curve[-1][0], base)] if curve else []


def _difference(scale: _Scale, strategy: StrategyOutlook) -> list[Element]:
    """A bracket as long as the expected difference, below the scale."""
    row = _TOP_PX + 2 * _ROW_PX + 44.0
    right, left = (scale.x(eye.refraction_dpt) for eye in strategy.eyes)
    said = f"apart {size_text(strategy.difference_dpt)} {PLUS_MINUS} {size_text(strategy.difference_sd_dpt)}"
    stroke = Stroke(PAPER.accent, 1.6)
    return [
        line((right, row), (left, row), stroke, class_="difference"),
        *[line((x, row - 4), (x, row + 4), stroke) for x in (right, left)],
        text(
            (min(max((right + left) / 2, _LEFT_PX), scale.width - _LEFT_PX), row + 16),
            said,
            size=_SMALL_PX,
            fill=PAPER.accent,
            anchor="middle",
        ),
    ]


def _said(eye: EyeOutlook) -> str:
    name = f"{eye.side.capitalize()} eye"
    ends = f"{refraction_text(eye.refraction_dpt)}, in focus {clear_distance_text(eye.clear_distance_m)}"
    if eye.target_dpt is None or eye.lens_power_dpt is None or eye.within_half is None:
        return f"{name}: has {ends}."
    return (
        f"{name}: aim {refraction_text(eye.target_dpt)}, {power_text(eye.lens_power_dpt)} "
        f"expected to leave {ends}, within half a dioptre in {chance_text(eye.within_half)}."
    )
