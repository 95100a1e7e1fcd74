"""What each method predicts for each lens power, where no honest odds can be given."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from zonule.case.plan import MethodResult, Plan, Prediction
from zonule.drawings.ink import PAPER
from zonule.drawings.labels import wrapped
from zonule.drawings.marks import MARK_NAMES, mark
from zonule.drawings.numbers import power_text, refraction_text
from zonule.drawings.odds_frame import PLAIN_PX, SMALL_PX, OddsFrame, lane_of, odds_frame, window
from zonule.drawings.svg import Drawing, Element, picture, text
from zonule.drawings.words import method_name

_LINE_PX, _MARK_PX = 22.0, 5.5


def predictions_drawing(plan: Plan, *, chosen_power_dpt: float | None, width: int) -> Drawing:
    """Dots without distributions, and the reason why there are no odds."""
    why = f"No odds. {plan.no_odds_because or 'No method counts for this eye.'}"
    if not plan.methods:
        lines = _lines(why, width, 24.0)
        height = 24.0 + _LINE_PX * len(lines)
        return picture("odds", (0, 0, width, height), lines, title="No odds", description=why)
    fit = [method for method in plan.methods if method.fit]
    centre = median(method.power_for_target_dpt for method in fit or plan.methods)
    shown = [window(method.predictions, centre, chosen_power_dpt, width) for method in plan.methods]
    lanes = tuple(lane_of(Prediction(one.lens_power_dpt, 0.0), None, chosen_power_dpt) for one in shown[0])
    refractions = tuple(one.refraction_dpt for row in shown for one in row)
    frame = odds_frame(lanes, refractions, plan.aim_dpt, width)
    below = [*_lines(why, width, frame.height_px + 16), *_legend(plan.methods, why, frame)]
    height = frame.height_px + 24 + _LINE_PX * len(below) - _LINE_PX * len(plan.methods)
    said = [_sentence(method, row) for method, row in zip(plan.methods, shown, strict=True)]
    return picture(
        "odds",
        (0, 0, frame.width_px, height),
        [*frame.ground, *frame.aim, *_dots(shown, frame), *below],
        title="Predicted refraction for each lens power, without odds",
        description=" ".join([why, *said]),
    )


def _lines(sentence: str, width: float, top: float) -> list[Element]:
    lines = wrapped(sentence, width, PLAIN_PX)
    return [
        text((0, top + _LINE_PX * index), said, size=PLAIN_PX, fill=PAPER.amber, bold=True, class_="why")
        for index, said in enumerate(lines)
    ]


def _shape(index: int) -> str:
    return MARK_NAMES[index % len(MARK_NAMES)]


def _dots(shown: list[tuple[Prediction, ...]], frame: OddsFrame) -> Iterator[Element]:
    """One mark for each method and power, side by side in its lane."""
    for index, row in enumerate(shown):
        place = 0.2 + 0.6 * (index + 0.5) / len(shown)
        for lane, one in enumerate(row):
            at = frame.point(lane + place, one.refraction_dpt)
            yield mark(_shape(index), at, _MARK_PX, fill=PAPER.ink)


def _legend(methods: tuple[MethodResult, ...], why: str, frame: OddsFrame) -> list[Element]:
    top = frame.height_px + 16 + _LINE_PX * len(wrapped(why, frame.width_px, PLAIN_PX))
    parts = []
    for index, method in enumerate(methods):
        row = top + _LINE_PX * index
        name = method_name(method.method) + (", constants are a first guess" if method.first_guess else "")
        parts.append(mark(_shape(index), (8, row - 4.5), _MARK_PX, fill=PAPER.ink))
        parts.append(text((24, row), name, size=SMALL_PX, fill=PAPER.ink))
    return parts


def _sentence(method: MethodResult, row: tuple[Prediction, ...]) -> str:
    listed = (f"{power_text(one.lens_power_dpt)} {refraction_text(one.refraction_dpt)}" for one in row)
    return f"{method_name(method.method)}: {', '.join(listed)}."
