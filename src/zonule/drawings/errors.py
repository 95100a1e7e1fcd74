"""How far own eyes ended from what was predicted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil

from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import plain_text, signed_text
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, rectangle, text

BIN_DPT = 0.25
_BAND_BINS = 2
_LEAST_BINS, _MOST_BINS = 6, 8
_ROUNDING_DPT = 1e-9
_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_SIDE_PX, _TOP_PX, _PLOT_PX, _BELOW_PX = 14.0, 44.0, 200.0, 68.0
_LEAST_EYE_PX = 22.0
_WIDE_PX = 480


def errors_drawing(errors_dpt: Sequence[float], *, width: int = 720) -> Drawing:
    """Prediction errors in bins of a quarter dioptre, with the band of half a dioptre.

    Parameters
    ----------
    errors_dpt
        Achieved minus predicted, dioptres; negative is more short-sighted than predicted. An error on a limit
        counts in the bin nearer zero, so that the band holds exactly the eyes within 0.50 D.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    if not len(errors_dpt):
        said = text((0, 22), "No reviewed eyes yet.", size=_PLAIN_PX, fill=PAPER.ink)
        return picture(
            "errors",
            (0, 0, width, 32),
            [said],
            title="Prediction errors",
            description="No reviewed eyes yet.",
        )
    bins = Counter(_bin(error) for error in errors_dpt)
    reach = min(max(_LEAST_BINS, *(abs(number) for number in bins)), _MOST_BINS)
    beyond = sum(count for number, count in bins.items() if abs(number) > reach)
    content = [*_ground(reach, width), *_bars(bins, reach, width), *_scale(reach, beyond, width)]
    within = sum(count for number, count in bins.items() if abs(number) <= _BAND_BINS)
    return picture(
        "errors",
        (0, 0, width, _TOP_PX + _PLOT_PX + _BELOW_PX),
        content,
        title="Prediction errors of reviewed eyes",
        description=f"{within} of {len(errors_dpt)} eyes ended within half a dioptre of the prediction.",
    )


def _bin(error_dpt: float) -> int:
    """Bins count from 1 on either side of zero; an error of exactly zero lies in bin 1.

    Examples
    --------
    >>> _bin(0.25), _bin(0.26), _bin(-0.5), _bin(0.0)
    (1, 2, -2, 1)
    """
    number = max(1, ceil(abs(error_dpt) / BIN_DPT - _ROUNDING_DPT))
    return number if error_dpt >= 0 else -number


def _edge(number: int, reach: int, width: int) -> float:
    """Where the edge `number` bins from zero lies."""
    return width / 2 + number * (width - 2 * _SIDE_PX) / (2 * reach)


def _ground(reach: int, width: int) -> list[Element]:
    left, right = _edge(-_BAND_BINS, reach, width), _edge(_BAND_BINS, reach, width)
    band = rectangle((left, _TOP_PX), (right - left, _PLOT_PX), fill=PAPER.accent_wash, class_="band")
    middle = width / 2
    zero = line((middle, _TOP_PX), (middle, _TOP_PX + _PLOT_PX), Stroke(PAPER.accent, 1.6))
    said = text((middle, 15), "as predicted", size=_PLAIN_PX, fill=PAPER.accent, anchor="middle", bold=True)
    shaded = text(
        (middle, 33), "shaded: within half a dioptre", size=_SMALL_PX, fill=PAPER.muted, anchor="middle"
    )
    return [band, said, shaded, zero]


def _bars(bins: Counter[int], reach: int, width: int) -> list[Element]:
    shown = {number: count for number, count in bins.items() if abs(number) <= reach}
    each = min(_LEAST_EYE_PX, (_PLOT_PX - 22) / max(shown.values(), default=1))
    bottom, parts = _TOP_PX + _PLOT_PX, []
    for number in sorted(shown):
        inner, outer = (number - 1, number) if number > 0 else (number, number + 1)
        left, right = _edge(inner, reach, width) + 1.5, _edge(outer, reach, width) - 1.5
        top = bottom - each * shown[number]
        fill = PAPER.accent if abs(number) <= _BAND_BINS else PAPER.body_outline
        parts.append(rectangle((left, top), (right - left, bottom - top), fill=fill, class_="bar"))
        at = ((left + right) / 2, top - 5)
        parts.append(text(at, str(shown[number]), size=_SMALL_PX, fill=PAPER.ink, anchor="middle"))
    return parts


def _scale(reach: int, beyond: int, width: int) -> list[Element]:
    bottom = _TOP_PX + _PLOT_PX
    parts = [line((_SIDE_PX, bottom), (width - _SIDE_PX, bottom), Stroke(PAPER.muted, 1))]
    step = 2 if width >= _WIDE_PX else 4
    for number in range(-(reach // step) * step, reach + 1, step):
        said = signed_text(number * BIN_DPT, 1)
        at = (_edge(number, reach, width), bottom + 17)
        parts.append(text(at, said, size=_SMALL_PX, fill=PAPER.muted, anchor="middle"))
    row = bottom + 40
    said = "than predicted, D"
    if beyond:
        said += f"; {beyond} farther than {plain_text(reach * BIN_DPT, 1)} D"
    return [
        *parts,
        text((0, row), "more short-sighted", size=_SMALL_PX, fill=PAPER.muted),
        text((width, row), "more long-sighted", size=_SMALL_PX, fill=PAPER.muted, anchor="end"),
        text((width / 2, row + 20), said, size=_SMALL_PX, fill=PAPER.muted, anchor="middle"),
    ]
