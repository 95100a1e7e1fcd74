"""The odds: where eyes like this end with each lens power."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle

import numpy as np

from zonule.case.plan import MethodResult, Plan, Prediction
from zonule.drawings.errors import errors_drawing
from zonule.drawings.ink import PAPER
from zonule.drawings.law import density_per_dpt
from zonule.drawings.marks import MARK_NAMES, mark
from zonule.drawings.methods import methods_drawing
from zonule.drawings.numbers import chance_text, in_100_text, power_text, refraction_text
from zonule.drawings.odds_frame import (
    BAND_DPT,
    PLAIN_PX,
    SMALL_PX,
    Lane,
    OddsFrame,
    odds_frame,
)
from zonule.drawings.result import result_drawing
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, polygon, text
from zonule.drawings.words import is_same_power, method_name, prediction_of

__all__ = ["errors_drawing", "methods_drawing", "odds_drawing", "result_drawing"]

_MANY_LANES_FROM_PX, _MANY, _FEW = 800, 11, 9
_OUTLINE_POINTS = 81
_LEAST_SHARE_OF_PEAK = 0.025
"""Tails thinner than this are not drawn: they would be a hairline on the base line."""
_NOTHING_TO_DRAW_PX = 64


def odds_drawing(plan: Plan, *, chosen_power_dpt: float | None, width: int = 960) -> Drawing:
    """Where refraction may end for each lens power, and how often it lands within half a dioptre.

    Parameters
    ----------
    plan
        The plan; one without odds shows what each method predicts, and says why there are no odds.
    chosen_power_dpt
        The power to mark, when the surgeon has chosen one.
    width
        Width in CSS pixels at which the drawing will be shown; below 560 the powers run down the page.

    Returns
    -------
    Drawing
        One unit of the viewBox is one pixel.
    """
    if plan.odds is None:
        return _without_odds(plan, chosen_power_dpt, width)
    aim, best = _aim_dpt(plan), plan.odds.best_power_dpt
    shown = _window(plan.odds.predictions, best, chosen_power_dpt, width)
    lanes = tuple(_lane(one, best, chosen_power_dpt) for one in shown)
    frame = odds_frame(lanes, tuple(one.refraction_dpt for one in shown), aim, width)
    tallest = max((_peak(one) for one in shown), default=0.0)
    bodies = [part for index, one in enumerate(shown) for part in _body(frame, index, one, tallest)]
    return picture(
        "odds",
        (0, 0, frame.width_px, frame.height_px),
        [*frame.ground, *bodies, *frame.aim],
        title=f"Odds for each lens power, aim {refraction_text(aim)}",
        description=" ".join(_sentence(one, lane.word) for one, lane in zip(shown, lanes, strict=True)),
    )


def _aim_dpt(plan: Plan) -> float:
    """The target. A plan that predicts anything has one; one that does not draws nothing about it."""
    return plan.request.target_refraction_dpt or 0.0


def _window(
    predictions: tuple[Prediction, ...], best_dpt: float, chosen_dpt: float | None, width: int
) -> tuple[Prediction, ...]:
    """The powers about the best one; about the chosen one when that would be left out."""
    count = _MANY if width >= _MANY_LANES_FROM_PX else _FEW
    shown = _around(predictions, best_dpt, count)
    if chosen_dpt is None or prediction_of(shown, chosen_dpt) is not None:
        return shown
    return _around(predictions, chosen_dpt, count)


def _around(predictions: tuple[Prediction, ...], centre_dpt: float, count: int) -> tuple[Prediction, ...]:
    nearest = min(
        range(len(predictions)), key=lambda at: abs(predictions[at].lens_power_dpt - centre_dpt), default=0
    )
    first = max(0, min(nearest - count // 2, len(predictions) - count))
    return predictions[first : first + count]


def _lane(prediction: Prediction, best_dpt: float | None, chosen_dpt: float | None) -> Lane:
    power, spread = prediction.lens_power_dpt, prediction.spread
    is_chosen = is_same_power(power, chosen_dpt)
    word = "chosen" if is_chosen else "best odds" if is_same_power(power, best_dpt) else ""
    return Lane(power, "" if spread is None else in_100_text(spread.within_0_50), word, is_chosen)


def _peak(prediction: Prediction) -> float:
    if prediction.spread is None:
        return 0.0
    at = np.array([prediction.refraction_dpt])
    return float(density_per_dpt(at, prediction.refraction_dpt, prediction.spread.sd_dpt)[0])


def _body(frame: OddsFrame, lane: int, prediction: Prediction, tallest: float) -> list[Element]:
    """Half a violin: the part inside the band is filled darker, so that its area is the chance."""
    spread, centre = prediction.spread, prediction.refraction_dpt
    is_chosen = frame.lanes[lane].is_chosen
    if spread is None:
        ends = frame.point(frame.in_lane(lane, 0), centre), frame.point(frame.in_lane(lane, 1), centre)
        return [line(*ends, Stroke(PAPER.ink, 2), class_="middle")]
    whole = _outline(frame, lane, prediction, tallest, (frame.low_dpt, frame.high_dpt))
    inside = (frame.aim_dpt - BAND_DPT, frame.aim_dpt + BAND_DPT)
    within = _outline(frame, lane, prediction, tallest, inside)
    outer, inner = (PAPER.accent_body, PAPER.accent) if is_chosen else (PAPER.body, PAPER.body_within)
    outline = Stroke(PAPER.accent if is_chosen else PAPER.body_outline, 1.4 if is_chosen else 0.9)
    height = _peak(prediction) / tallest
    tick = frame.point(frame.in_lane(lane, 0), centre), frame.point(frame.in_lane(lane, height), centre)
    return [
        polygon(whole, fill=outer),
        *([polygon(within, fill=inner)] if within else []),
        polygon(whole, stroke=outline, class_="chosen" if is_chosen else "body"),
        line(*tick, Stroke(PAPER.paper if is_chosen else PAPER.ink, 2), class_="middle"),
    ]


def _outline(
    frame: OddsFrame, lane: int, prediction: Prediction, tallest: float, limits: tuple[float, float]
) -> list[tuple[float, float]]:
    """The outline of a distribution between limits, where it is thick enough to be seen."""
    spread, centre = prediction.spread, prediction.refraction_dpt
    if spread is None:
        return []
    refractions = np.linspace(*limits, _OUTLINE_POINTS)
    density = density_per_dpt(refractions, centre, spread.sd_dpt)
    seen = density >= _LEAST_SHARE_OF_PEAK * _peak(prediction)
    heights = [(float(r), float(d) / tallest) for r, d in zip(refractions[seen], density[seen], strict=True)]
    if not heights:
        return []
    base = frame.in_lane(lane, 0)
    curve = [frame.point(frame.in_lane(lane, height), refraction) for refraction, height in heights]
    return [frame.point(base, heights[0][0]), *curve, frame.point(base, heights[-1][0])]


def _sentence(prediction: Prediction, word: str) -> str:
    said = f"{power_text(prediction.lens_power_dpt)}: expected {refraction_text(prediction.refraction_dpt)}"
    if prediction.spread is not None:
        said += f", within half a dioptre in {chance_text(prediction.spread.within_0_50)}"
    return said + (f", {word}." if word else ".")


def _without_odds(plan: Plan, chosen_dpt: float | None, width: int) -> Drawing:
    """What each method predicts, as dots; no distributions, and the reason why."""
    why = plan.no_odds_because or "No method counts for this eye."
    if not plan.methods:
        return _only_words(f"No odds. {why}", width)
    aim = _aim_dpt(plan)
    centre = float(np.median([method.power_for_target_dpt for method in plan.methods]))
    shown = [_window(method.predictions, centre, chosen_dpt, width) for method in plan.methods]
    lanes = tuple(_lane(Prediction(one.lens_power_dpt, 0.0), None, chosen_dpt) for one in shown[0])
    everything = tuple(one.refraction_dpt for row in shown for one in row)
    frame = odds_frame(lanes, everything, aim, width)
    legend = _legend(plan.methods, frame, why)
    dots = [
        mark(shape, frame.point(index + 0.25 + 0.5 * place, one.refraction_dpt), 5.5, fill=PAPER.ink)
        for place, shape, row in zip(_places(len(shown)), cycle(MARK_NAMES), shown)
        for index, one in enumerate(row)
    ]
    said = [
        f"{method_name(method.method)}: "
        + ", ".join(f"{power_text(one.lens_power_dpt)} {refraction_text(one.refraction_dpt)}" for one in row)
        for method, row in zip(plan.methods, shown, strict=True)
    ]
    return picture(
        "odds",
        (0, 0, frame.width_px, frame.height_px + _legend_height(plan.methods)),
        [*frame.ground, *frame.aim, *dots, *legend],
        title="Predicted refraction for each lens power, without odds",
        description=f"{why} {'. '.join(said)}.",
    )


def _places(count: int) -> list[float]:
    return [(index + 0.5) / count for index in range(count)]


def _legend_height(methods: Sequence[MethodResult]) -> float:
    return 34.0 + 22.0 * len(methods)


def _legend(methods: Sequence[MethodResult], frame: OddsFrame, why: str) -> list[Element]:
    top = frame.height_px + 14
    parts = [text((0, top), f"No odds: {why}", size=PLAIN_PX, fill=PAPER.amber, bold=True, class_="why")]
    for index, (shape, method) in enumerate(zip(cycle(MARK_NAMES), methods)):
        row = top + 26 + 22 * index
        parts.append(mark(shape, (8, row - 4.5), 5.5, fill=PAPER.ink))
        parts.append(text((24, row), method_name(method.method), size=SMALL_PX, fill=PAPER.ink))
    return parts


def _only_words(sentence: str, width: int) -> Drawing:
    said = text((0, 38), sentence, size=PLAIN_PX, fill=PAPER.amber, bold=True)
    return picture("odds", (0, 0, width, _NOTHING_TO_DRAW_PX), [said], title="No odds", description=sentence)
