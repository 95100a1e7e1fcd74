"""The odds: where eyes like this end with each lens power."""

from __future__ import annotations

import numpy as np

from zonule.case.plan import Plan, Prediction
from zonule.drawings.ink import PAPER
from zonule.drawings.law import density_per_dpt
from zonule.drawings.numbers import chance_text, power_text, refraction_text
from zonule.drawings.odds_frame import BAND_DPT, OddsFrame, lane_of, odds_frame, window
from zonule.drawings.predictions import predictions_drawing
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, polygon

_OUTLINE_POINTS = 81
_LEAST_SHARE_OF_PEAK = 0.025
"""Tails thinner than this are not drawn: they would be a hairline on the base line."""


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
        return predictions_drawing(plan, chosen_power_dpt=chosen_power_dpt, width=width)
    aim, best = plan.aim_dpt, plan.odds.best_power_dpt
    shown = window(plan.odds.predictions, best, chosen_power_dpt, width)
    lanes = tuple(lane_of(one, best, chosen_power_dpt) for one in shown)
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


def _peak(prediction: Prediction) -> float:
    if prediction.spread is None:
        return 0.0
    at = np.array([prediction.refraction_dpt])
    return float(density_per_dpt(at, prediction.refraction_dpt, prediction.spread.law)[0])


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
        *([polygon(within, fill=inner, class_="chosen-within" if is_chosen else "within")] if within else []),
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
    density = density_per_dpt(refractions, centre, spread.law)
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
